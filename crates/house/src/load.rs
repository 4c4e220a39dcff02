//! The app under load: how soon devices are answered, and what it costs.

mod device;
mod events;
mod soak;

use std::io::{self, BufRead as _, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use device::Device;

pub use soak::{Sample, Soak, soak};

/// Devices that send at once, and how often each does.
const DEVICES: u64 = 50;
const EVERY: Duration = Duration::from_millis(200);

/// Events of the long job.
const LONG: u64 = 20_000;

/// Readings that are taken one by one, each answered with the panel's page.
const READ: u64 = 24;

/// What was measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// From the start of the program to the first page.
    pub start: Duration,
    /// What it holds in memory when nothing is asked of it, bytes; none where the system doesn't tell.
    pub idle_bytes: Option<u64>,
    /// Times of answering one event, of many devices at once, shortest first.
    pub events: Vec<Duration>,
    /// Opening the page of a long job, the first time after the start of the program.
    pub long_job: Duration,
    /// Taking a reading and giving the panel's page with its new map and the next place, shortest first.
    pub readings: Vec<Duration>,
}

/// The app as it is started, ended with this.
struct App {
    child: Child,
    address: String,
}

impl Drop for App {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl App {
    fn start(program: &Path, records: &Path) -> io::Result<Self> {
        let mut child =
            Command::new(program).arg("serve").arg("--data").arg(records).args(["--port", "0"]).stdout(Stdio::piped()).spawn()?;
        let mut line = String::new();
        if let Some(out) = child.stdout.take() {
            BufReader::new(out).read_line(&mut line)?;
        }
        let address = line.trim().trim_start_matches("http://").trim_end_matches('/').to_owned();
        Ok(Self { child, address })
    }

    /// Resident memory, bytes: Linux tells it in pages of 4096.
    fn holds_bytes(&self) -> Option<u64> {
        let told = std::fs::read_to_string(format!("/proc/{}/statm", self.child.id())).ok()?;
        told.split(' ').nth(1)?.parse::<u64>().ok().map(|pages| pages * 4096)
    }
}

/// Measures a built program over records in an empty folder, for as long as devices send.
///
/// # Errors
/// When the program can't be started, or answers otherwise than it should.
pub fn measure(program: &Path, records: &Path, sending: Duration) -> io::Result<Load> {
    let begun = Instant::now();
    let app = App::start(program, records)?;
    Device::at(&app.address)?.get("/")?;
    let start = begun.elapsed();
    thread::sleep(Duration::from_secs(2));
    let idle_bytes = app.holds_bytes();
    let events = many_devices(&app.address, sending)?;
    let readings = surveyed(&app.address)?;
    let mut device = Device::at(&app.address)?;
    for batch in events::long_job(LONG) {
        device.post(&format!("/jobs/{}/events", events::job(2)), &batch)?;
    }
    drop(app);
    let app = App::start(program, records)?;
    let mut device = Device::at(&app.address)?;
    device.get("/device")?;
    let begun = Instant::now();
    device.get(&format!("/jobs/{}", events::job(2)))?;
    Ok(Load { start, idle_bytes, events, long_job: begun.elapsed(), readings })
}

fn many_devices(address: &str, sending: Duration) -> io::Result<Vec<Duration>> {
    let until = Instant::now() + sending;
    let sent: Vec<io::Result<Vec<Duration>>> = thread::scope(|scope| {
        let devices: Vec<_> = (0..DEVICES).map(|n| scope.spawn(move || one_device(address, n, until))).collect();
        devices.into_iter().map(|device| device.join().unwrap_or_else(|_| Err(io::Error::other("a device stopped")))).collect()
    });
    let mut all: Vec<Duration> = Vec::new();
    for one in sent {
        all.extend(one?);
    }
    all.sort_unstable();
    Ok(all)
}

fn one_device(address: &str, n: u64, until: Instant) -> io::Result<Vec<Duration>> {
    let mut device = Device::at(address)?;
    let path = format!("/jobs/{}/events?told=first", events::job(1));
    let mut took = Vec::new();
    // Devices don't send in step.
    let mut next = Instant::now() + EVERY.mul_f64(n as f64 / DEVICES as f64);
    let mut count = 0;
    while next < until {
        thread::sleep(next.saturating_duration_since(Instant::now()));
        let event = events::noted(1, 1_000_000 + n * 10_000 + count);
        let begun = Instant::now();
        device.post(&path, &format!("[{event}]"))?;
        took.push(begun.elapsed());
        count += 1;
        next += EVERY;
    }
    Ok(took)
}

fn surveyed(address: &str) -> io::Result<Vec<Duration>> {
    let mut device = Device::at(address)?;
    let path = format!("/jobs/{}", events::job(3));
    device.post(&format!("{path}/events"), &events::car())?;
    let mut took = Vec::new();
    for n in 0..READ {
        let panel = n % events::PANELS;
        let begun = Instant::now();
        device.post(&format!("{path}/events?told=first"), &format!("[{}]", events::reading(panel, 900 + n)))?;
        device.get(&format!("{path}/survey/panel%20{panel}"))?;
        took.push(begun.elapsed());
    }
    took.sort_unstable();
    Ok(took)
}

/// The time that a share of all stays below.
#[must_use]
pub fn quantile(sorted: &[Duration], share: f64) -> Duration {
    let at = (share * sorted.len() as f64).ceil() as usize;
    sorted.get(at.saturating_sub(1).min(sorted.len().saturating_sub(1))).copied().unwrap_or_default()
}
