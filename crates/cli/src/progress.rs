//! Telling a person at a terminal what takes long. Everybody else is told nothing.

use std::io::{self, IsTerminal, Write};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::{Duration, Instant};

/// What takes less is not told of.
const LONG: Duration = Duration::from_secs(1);

/// Works, and says what is being done if that takes long.
pub(crate) fn while_telling<T>(doing: &str, work: impl FnOnce() -> T) -> T {
    if !io::stderr().is_terminal() {
        return work();
    }
    thread::scope(|scope| {
        let (done, is_done) = channel::<()>();
        scope.spawn(move || {
            if is_done.recv_timeout(LONG) == Err(RecvTimeoutError::Timeout) {
                tell(doing);
            }
        });
        let worked = work();
        drop(done);
        worked
    })
}

/// Tells of steps, once the first second is over.
pub(crate) struct Told {
    since: Instant,
    is_heard: bool,
}

impl Told {
    pub(crate) fn begin() -> Self {
        Self { since: Instant::now(), is_heard: io::stderr().is_terminal() }
    }

    pub(crate) fn tell(&self, doing: &str) {
        if self.is_heard && self.since.elapsed() >= LONG {
            tell(doing);
        }
    }
}

fn tell(doing: &str) {
    let _ = writeln!(io::stderr(), "{doing} ...");
}
