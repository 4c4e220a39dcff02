//! How fast the store is: 50 devices at 5 events a second, and a job of 20,000 events opened.
//!
//! `cargo run --release -p lastmicron-store --example load [SECONDS]`

#![expect(clippy::unwrap_used, clippy::print_stdout, reason = "a measurement that fails is none")]

mod pen;

use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use lastmicron_job::event::When;
use lastmicron_job::fold::fold;
use lastmicron_record::Sealed;
use lastmicron_store::{Sqlite, Store};

use pen::{event, id, reading};

const DEVICES: u64 = 50;
const EVERY: Duration = Duration::from_millis(200);
const LONG_JOB: u64 = 20_000;

fn set(n: u64, job: u64) -> Sealed {
    let (x, y) = (n * 41 % 900, n * 67 % 700);
    let body = format!(
        r#"{{"kind":"set-done","process":"finish","sections":[{{"panel":"bonnet","x_mm":"{x}","y_mm":"{y}","width_mm":"450","height_mm":"450"}}]}}"#
    );
    event(n, job, &body)
}

fn now() -> When {
    "2024-05-01T07:30:01Z".parse().unwrap()
}

fn main() {
    let seconds = std::env::args().nth(1).map_or(20, |seconds| seconds.parse().unwrap());
    let folder = tempfile::tempdir_in(".").unwrap();
    devices(&folder.path().join("devices"), seconds);
    long_job(&folder.path().join("long"));
}

fn devices(folder: &Path, seconds: u64) {
    let store = Sqlite::open(folder).unwrap();
    let begin = Instant::now();
    let mut took: Vec<Duration> = thread::scope(|scope| {
        let device = |device: u64| {
            let store = &store;
            move || {
                // Devices are not in step.
                thread::sleep(EVERY * u32::try_from(device).unwrap() / u32::try_from(DEVICES).unwrap());
                let mut took = Vec::new();
                let mut next = Instant::now();
                for i in 0..seconds * 5 {
                    let sealed = reading(1_000_000 * (device + 1) + i, 1 + device % 5);
                    // From when it was due: waiting for the one before counts.
                    store.append(vec![sealed], now()).unwrap();
                    took.push(next.elapsed());
                    next += EVERY;
                    thread::sleep(next.saturating_duration_since(Instant::now()));
                }
                took
            }
        };
        let devices: Vec<_> = (0..DEVICES).map(|n| scope.spawn(device(n))).collect();
        devices.into_iter().flat_map(|device| device.join().unwrap()).collect()
    });
    took.sort();
    let at = |share: f64| took[((took.len() - 1) as f64 * share) as usize].as_secs_f64() * 1e3;
    let rate = took.len() as f64 / begin.elapsed().as_secs_f64();
    println!(
        "{DEVICES} devices, {} events, {rate:.0} a second: p50 {:.1} ms, p99 {:.1} ms, max {:.1} ms",
        took.len(),
        at(0.5),
        at(0.99),
        at(1.0)
    );
}

fn long_job(folder: &Path) {
    let store = Sqlite::open(folder).unwrap();
    let opening = [
        r#"{"kind":"vehicle-stated","title":"Sage roadster","substrate":"steel"}"#,
        r#"{"kind":"gauge-stated","accuracy":{"fixed_um":"1","percent":"1"},"repeatability_um":"0.8"}"#,
        r#"{"kind":"process-stated","name":"finish","removal_um":{"mean":"0.4","sd":"0.1"},"minutes_per_m2":"22"}"#,
        r#"{"kind":"panel-stated","name":"bonnet","width_mm":"1400","height_mm":"1150"}"#,
        r#"{"kind":"terms-agreed","floor":{"number":"16","unit":"um"},"risk":"0.02","correction":"0.85","hours":"14"}"#,
    ];
    let opening = opening.into_iter().zip(10..).map(|(body, n)| event(n, 1, body));
    let rest = (100..).take(usize::try_from(LONG_JOB).unwrap() - 5).map(|n| if n % 10 == 0 { set(n, 1) } else { reading(n, 1) });
    let events: Vec<Sealed> = opening.chain(rest).collect();
    let begin = Instant::now();
    for part in events.chunks(500) {
        store.append(part.to_vec(), now()).unwrap();
    }
    println!("{LONG_JOB} events appended, 500 at once, in {:.2} s", begin.elapsed().as_secs_f64());
    drop(store);
    for _ in 0..5 {
        let begin = Instant::now();
        let store = Sqlite::open(folder).unwrap();
        let opened = begin.elapsed();
        let entries = store.events(id(1), 1).unwrap();
        let read = begin.elapsed();
        let standing = fold(entries.iter().map(|entry| &entry.event));
        let folded = begin.elapsed();
        assert!(standing.unusable.is_empty() && standing.job().is_ok());
        let ms = |from: Duration, to: Duration| (to - from).as_secs_f64() * 1e3;
        println!(
            "a job of {} events ({} readings): opened in {:.1} ms, read in {:.1} ms, folded in {:.1} ms",
            entries.len(),
            standing.readings.len(),
            ms(Duration::ZERO, opened),
            ms(opened, read),
            ms(read, folded)
        );
    }
    let begin = Instant::now();
    let report = Sqlite::open(folder).unwrap().verify().unwrap();
    assert!(report.damage.is_empty());
    println!("{} entries verified in {:.0} ms", report.entries, begin.elapsed().as_secs_f64() * 1e3);
}
