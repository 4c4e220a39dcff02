//! Events that measurements of the store write.

use lastmicron_job::event::{Event, Id};
use lastmicron_record::Sealed;

pub(crate) fn id(n: u64) -> Id {
    let [a, b, c, d, e, f, g, h] = n.to_be_bytes();
    Id::made_at(1_714_550_000_000 + n, [a, b, c, d, e, f, g, h, 7, 7])
}

pub(crate) fn event(n: u64, job: u64, body: &str) -> Sealed {
    let [own, job, device] = [id(n), id(job), id(9)];
    let json = format!(r#"{{"id":"{own}","job":"{job}","when":"2024-05-01T09:30:00+02:00","device":"{device}","who":"J.","body":{body}}}"#);
    Sealed::seal(serde_json::from_str::<Event>(&json).unwrap()).unwrap()
}

pub(crate) fn reading(n: u64, job: u64) -> Sealed {
    let (tenths, x, y) = (n % 10, 50 + n * 37 % 1300, 50 + n * 61 % 1050);
    let body = format!(
        r#"{{"kind":"reading-taken","panel":"bonnet","x_mm":"{x}","y_mm":"{y}","value":{{"number":"63.{tenths}","unit":"um"}},"session":"survey"}}"#
    );
    event(n, job, &body)
}
