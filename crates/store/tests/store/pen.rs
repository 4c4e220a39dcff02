//! Events to keep, chance to try things by, and a folder to keep them in.

use lastmicron_job::event::{Event, Id, When};
use lastmicron_record::Sealed;

/// Numbers that look like chance and are the same every time: splitmix64 (Steele, Lea, Flood, OOPSLA 2014).
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below another.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.next() % u64::try_from(end).unwrap()).unwrap()
    }

    pub(crate) fn shuffle<T>(&mut self, things: &mut [T]) {
        for i in (1..things.len()).rev() {
            things.swap(i, self.below(i + 1));
        }
    }
}

/// The `n`th id that a device makes; jobs and devices have small numbers.
pub(crate) fn id(n: u64) -> Id {
    let [a, b, c, d] = u32::try_from(n).unwrap().to_be_bytes();
    Id::made_at(1_714_550_000_000 + n, [a, b, c, d, 7, 7, 7, 7, 7, 7])
}

pub(crate) fn event(n: u64, job: u64, body: &str) -> Sealed {
    let [own, job, device] = [id(n), id(job), id(9)];
    let json = format!(r#"{{"id":"{own}","job":"{job}","when":"2024-05-01T09:30:00+02:00","device":"{device}","who":"J.","body":{body}}}"#);
    Sealed::seal(serde_json::from_str::<Event>(&json).unwrap()).unwrap()
}

/// A reading.
pub(crate) fn reading(n: u64, job: u64) -> Sealed {
    let (tenths, x) = (n % 10, 100 + n % 800);
    let body = format!(
        r#"{{"kind":"reading-taken","panel":"bonnet","x_mm":"{x}","y_mm":"300","value":{{"number":"63.{tenths}","unit":"um"}},"session":"survey"}}"#
    );
    event(n, job, &body)
}

pub(crate) fn photograph(n: u64, job: u64, digest: impl std::fmt::Display) -> Sealed {
    event(n, job, &format!(r#"{{"kind":"photograph-attached","photograph":"{digest}"}}"#))
}

pub(crate) fn at(second: u32) -> When {
    format!("2024-05-01T07:30:{second:02}Z").parse().unwrap()
}
