//! The app over hours: what it holds, and whether that grows.

use std::fs;
use std::io;
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use super::device::Device;
use super::{App, events};

/// Devices, and how often each sends an event; every so many events it asks for the job's page, and begins another job. Judgement: a busy workshop all day
/// long; with one job for all, what grows would be that job.
const DEVICES: u64 = 10;
const EVERY: Duration = Duration::from_millis(250);
const ASKS_EVERY: u64 = 20;
const OF_A_JOB: u64 = 50;

/// The part of the whole time that is warm-up: caches fill, and of half an hour the first backup is made, ten minutes after the start.
const WARM_UP: f64 = 0.4;

/// What the app holds at one time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Since devices began to send.
    pub at: Duration,
    /// Resident memory, bytes.
    pub resident_bytes: u64,
    /// Descriptors that are open.
    pub descriptors: u64,
    /// Size of the write-ahead log, bytes.
    pub log_bytes: u64,
}

/// What was seen over the whole time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Soak {
    /// In their order.
    pub samples: Vec<Sample>,
    /// Events that were taken.
    pub events: u64,
}

impl Soak {
    fn after_warm_up(&self) -> &[Sample] {
        let end = self.samples.last().map_or(Duration::ZERO, |last| last.at);
        let from = self.samples.partition_point(|sample| sample.at < end.mul_f64(WARM_UP));
        self.samples.get(from..).unwrap_or_default()
    }

    /// By how much resident memory grows in an hour after warm-up, as a share of what it is then: the slope of the least-squares line over its value at the beginning. None for
    /// fewer than three samples.
    #[must_use]
    pub fn growth_an_hour(&self) -> Option<f64> {
        let samples = self.after_warm_up();
        let n = samples.len() as f64;
        if samples.len() < 3 {
            return None;
        }
        let points = || samples.iter().map(|sample| (sample.at.as_secs_f64() / 3600.0, sample.resident_bytes as f64));
        let (mean_h, mean) = points().fold((0.0, 0.0), |(h, bytes), (at, held)| (h + at / n, bytes + held / n));
        let (along, across) = points().fold((0.0, 0.0), |(along, across), (at, held)| {
            (along + (at - mean_h) * (held - mean), across + (at - mean_h) * (at - mean_h))
        });
        let slope = along / across;
        let first_h = points().next().map_or(mean_h, |(at, _)| at);
        Some(slope / (mean + slope * (first_h - mean_h)))
    }

    /// Fewest and most descriptors after warm-up.
    #[must_use]
    pub fn descriptors(&self) -> Option<(u64, u64)> {
        let all = || self.after_warm_up().iter().map(|sample| sample.descriptors);
        all().min().zip(all().max())
    }

    /// The largest the write-ahead log was, bytes.
    #[must_use]
    pub fn largest_log_bytes(&self) -> u64 {
        self.samples.iter().map(|sample| sample.log_bytes).max().unwrap_or_default()
    }
}

/// Has devices send to a built program over an empty folder, and looks every so often at what it holds. Linux tells; `told` is told each time.
///
/// # Errors
/// When the program can't be started or looked at, or answers otherwise than it should.
pub fn soak(program: &Path, records: &Path, sending: Duration, every: Duration, told: impl Fn(&Sample)) -> io::Result<Soak> {
    let app = App::start(program, records)?;
    let began = Instant::now();
    thread::scope(|scope| {
        let address = app.address.as_str();
        let devices: Vec<_> = (0..DEVICES).map(|n| scope.spawn(move || one_device(address, n, began + sending))).collect();
        let mut seen = Soak::default();
        while began.elapsed() + every <= sending {
            thread::sleep(every);
            let sample = sample(&app, records, began.elapsed())?;
            told(&sample);
            seen.samples.push(sample);
        }
        for device in devices {
            seen.events += device.join().unwrap_or_else(|_| Err(io::Error::other("a device stopped")))?;
        }
        Ok(seen)
    })
}

fn sample(app: &App, records: &Path, at: Duration) -> io::Result<Sample> {
    let resident_bytes = app.holds_bytes().ok_or_else(|| io::Error::other("this system does not tell what a process holds"))?;
    let descriptors = fs::read_dir(format!("/proc/{}/fd", app.child.id()))?.count() as u64;
    // Between two writers there is none.
    let log_bytes = fs::metadata(records.join("record.sqlite-wal")).map_or(0, |log| log.len());
    Ok(Sample { at, resident_bytes, descriptors, log_bytes })
}

fn one_device(address: &str, n: u64, until: Instant) -> io::Result<u64> {
    let mut device = Device::at(address)?;
    // Devices don't send in step.
    let mut next = Instant::now() + EVERY.mul_f64(n as f64 / DEVICES as f64);
    let mut sent = 0;
    while next < until {
        thread::sleep(next.saturating_duration_since(Instant::now()));
        let job = 100 + (sent / OF_A_JOB) * DEVICES + n;
        let path = format!("/jobs/{}", events::job(job));
        let event = 100_000_000 + n * 10_000_000 + sent;
        let event = if sent % OF_A_JOB == 0 { events::vehicle(job, event) } else { events::noted(job, event) };
        device.post(&format!("{path}/events?told=first"), &format!("[{event}]"))?;
        sent += 1;
        if sent % ASKS_EVERY == 0 {
            device.get(&path)?;
        }
        next += EVERY;
    }
    Ok(sent)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn growth_is_that_of_the_time_after_warm_up_over_what_is_held_then() {
        // 8 MB more each minute while it warms up; then 100 MB, and 0.1 MB more each minute: 6 MB, or 6 %, an hour.
        let sample = |minute: u64| Sample {
            at: Duration::from_secs(60 * minute),
            resident_bytes: if minute < 12 { 8_000_000 * minute } else { 100_000_000 + 100_000 * (minute - 12) },
            descriptors: if minute < 12 { 40 } else { 20 + minute % 2 },
            log_bytes: 1_000_000 * (minute % 5),
        };
        let soak = Soak { samples: (1..=30).map(sample).collect(), events: 0 };
        assert!((soak.growth_an_hour().unwrap() - 0.06).abs() < 1e-6);
        assert_eq!((soak.descriptors(), soak.largest_log_bytes()), (Some((20, 21)), 4_000_000));
        assert_eq!(Soak::default().growth_an_hour(), None);
    }
}
