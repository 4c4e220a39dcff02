//! How much room the disk has.

use std::fmt;
use std::path::{Path, PathBuf};

use crate::error::StoreError;

/// Free room below which it is said, bytes. Judgement: a job with its photographs is some 100 MB: there is time to make room before the next ones end.
pub const WARN_BELOW: u64 = 500_000_000;
/// Free room below which nothing more is taken, bytes. Judgement: a disk that is full to the last byte keeps the whole machine from working, and what is
/// there can't even be tidied; larger, and small machines stop early.
pub const STOP_BELOW: u64 = 100_000_000;

/// Whether there is room, where something is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Room {
    /// Enough.
    Enough,
    /// Less than [`WARN_BELOW`].
    Low {
        /// Bytes that are free.
        free: u64,
    },
}

/// Bytes that are free on the disk that a folder is on; none where the system doesn't tell.
#[must_use]
pub fn free_bytes(folder: &Path) -> Option<u64> {
    fs4::available_space(folder).ok()
}

/// What tells how many bytes are free; none where it can't be told.
pub(crate) struct Gauge(Box<dyn Fn() -> Option<u64> + Send + Sync>);

impl fmt::Debug for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Gauge")
    }
}

impl Gauge {
    /// Of the disk that a folder is on.
    pub(crate) fn of_disk(folder: PathBuf) -> Self {
        Self::new(move || free_bytes(&folder))
    }

    pub(crate) fn new(free: impl Fn() -> Option<u64> + Send + Sync + 'static) -> Self {
        Self(Box::new(free))
    }

    pub(crate) fn room(&self) -> Result<Room, StoreError> {
        match (self.0)() {
            Some(free) if free < STOP_BELOW => Err(StoreError::Low { free }),
            Some(free) if free < WARN_BELOW => Ok(Room::Low { free }),
            Some(_) | None => Ok(Room::Enough),
        }
    }
}
