//! How long a large record takes: to be looked at when the app starts, to be looked at whole, backed up while devices write, and restored.
//!
//! `cargo run --release -p lastmicron-store --example large [MB OF EVENTS] [MB OF PHOTOGRAPHS]`

#![expect(clippy::unwrap_used, clippy::print_stdout, reason = "a measurement that fails is none")]

mod pen;

use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use lastmicron_job::event::When;
use lastmicron_store::{Sqlite, Store, restore, verify_backup};

use pen::{event, reading};

/// Devices that write during a backup, and how often each does.
const DEVICES: u64 = 50;
const EVERY: Duration = Duration::from_millis(200);
/// Events of a job, and bytes of a photograph, as a phone makes it.
const OF_A_JOB: u64 = 400;
const PHOTOGRAPH: usize = 3_000_000;
/// Entries that the app looks at when it starts (`serve.rs` of `cli`).
const LOOKED_AT_FIRST: u64 = 20_000;

fn now() -> When {
    "2024-05-01T07:30:01Z".parse().unwrap()
}

/// Numbers that look like chance: photographs don't pack.
fn noise(seed: u64) -> Vec<u8> {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state.to_le_bytes()
    };
    (0..PHOTOGRAPH / 8).flat_map(|_| next()).collect()
}

fn main() {
    let megabytes = |n: usize, otherwise: u64| std::env::args().nth(n).map_or(otherwise, |mb| mb.parse().unwrap());
    let (of_events, of_photographs) = (megabytes(1, 170), megabytes(2, 830));
    let room = tempfile::tempdir_in(".").unwrap();
    let record = room.path().join("record");
    let events = fill(&record, of_events * 1_000_000, of_photographs * 1_000_000);
    let database = std::fs::metadata(record.join("record.sqlite")).unwrap().len();
    println!("{events} events in {:.0} MB, and {of_photographs} MB of photographs", database as f64 / 1e6);

    let began = Instant::now();
    let store = Sqlite::open(&record).unwrap();
    let looked = store.verify_newest(LOOKED_AT_FIRST).unwrap();
    assert!(looked.damage.is_empty());
    println!("opened, and {} entries looked at: {:.2} s", looked.entries, began.elapsed().as_secs_f64());

    let began = Instant::now();
    assert!(store.verify().unwrap().damage.is_empty());
    println!("looked at whole: {:.1} s", began.elapsed().as_secs_f64());

    println!("devices alone: {}", times(written(&store, 1, || thread::sleep(Duration::from_secs(10)))));
    let backup = record.join("backups").join("one");
    let began = Instant::now();
    let mut took = Duration::ZERO;
    let devices = written(&store, 2, || {
        store.back_up(&backup, now()).unwrap();
        took = began.elapsed();
    });
    println!("backed up and looked at: {:.1} s; devices meanwhile: {}", took.as_secs_f64(), times(devices));
    drop(store);

    let began = Instant::now();
    let restored = restore(&backup, &room.path().join("restored")).unwrap();
    println!("restored and looked at: {:.1} s, {} events", began.elapsed().as_secs_f64(), restored.report.entries);
    assert_eq!(restored.report, verify_backup(&backup).unwrap().report);
}

fn fill(record: &Path, of_events: u64, of_photographs: u64) -> u64 {
    let store = Sqlite::open(record).unwrap();
    let database = record.join("record.sqlite");
    let mut n = 0;
    while std::fs::metadata(&database).unwrap().len() < of_events {
        let job = 1 + n / OF_A_JOB;
        store.append((n..n + OF_A_JOB).map(|n| reading(1_000_000 + n, job)).collect(), now()).unwrap();
        n += OF_A_JOB;
    }
    let photographs = of_photographs / PHOTOGRAPH as u64;
    for i in 0..photographs {
        let digest = store.keep(&noise(i + 1)).unwrap();
        let named = event(100_000_000 + i, 1 + i % (n / OF_A_JOB), &format!(r#"{{"kind":"photograph-attached","photograph":"{digest}"}}"#));
        store.append(vec![named], now()).unwrap();
    }
    n + photographs
}

/// How long each write of many devices takes while something is done, from when it was due.
fn written(store: &Sqlite, part: u64, does: impl FnOnce()) -> Vec<Duration> {
    let is_done = AtomicBool::new(false);
    let mut took: Vec<Duration> = thread::scope(|scope| {
        let devices: Vec<_> = (0..DEVICES)
            .map(|device| {
                let is_done = &is_done;
                scope.spawn(move || {
                    let mut next = Instant::now() + EVERY * u32::try_from(device).unwrap() / u32::try_from(DEVICES).unwrap();
                    let mut took = Vec::new();
                    for i in 0.. {
                        thread::sleep(next.saturating_duration_since(Instant::now()));
                        if is_done.load(Ordering::Relaxed) {
                            break;
                        }
                        let n = 1_000_000_000 * part + 1_000_000 * device + i;
                        store.append(vec![reading(n, 1 + device)], now()).unwrap();
                        took.push(next.elapsed());
                        next += EVERY;
                    }
                    took
                })
            })
            .collect();
        does();
        is_done.store(true, Ordering::Relaxed);
        devices.into_iter().flat_map(|device| device.join().unwrap()).collect()
    });
    took.sort();
    took
}

fn times(took: Vec<Duration>) -> String {
    let at = |share: f64| took[((took.len() - 1) as f64 * share) as usize].as_secs_f64() * 1e3;
    format!("{} writes, p50 {:.1} ms, p99 {:.1} ms, longest {:.0} ms", took.len(), at(0.5), at(0.99), at(1.0))
}
