//! Which backup was the last that was looked at and found whole.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use lastmicron_job::event::When;
use serde::{Deserialize, Serialize};

use crate::error::StoreError;
use crate::folder::sync_folder;

/// The note's name beside the record.
const NOTE: &str = "last-backup.json";

/// The last backup that was whole when it was looked at, as noted beside the record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LastBackup {
    /// When it was begun.
    pub made: When,
    /// When it was last looked at.
    pub verified: When,
    /// Where it was then.
    pub folder: PathBuf,
}

impl LastBackup {
    /// The note beside the record in a folder; none where there is none that can be read.
    #[must_use]
    pub fn read(record: &Path) -> Option<Self> {
        serde_json::from_slice(&fs::read(record.join(NOTE)).ok()?).ok()
    }

    /// Notes it beside a record, in place of an earlier one.
    ///
    /// # Errors
    /// [`StoreError`] when it can't be written.
    pub fn note(&self, record: &Path) -> Result<(), StoreError> {
        if Self::read(record).is_some_and(|noted| noted.made.seconds_since(&self.made) > 0) {
            return Ok(());
        }
        let text = serde_json::to_string_pretty(self).map_err(|error| StoreError::Database(error.to_string()))?;
        let written = || {
            let mut beside = tempfile::NamedTempFile::new_in(record)?;
            beside.write_all(text.as_bytes())?;
            beside.as_file().sync_all()?;
            beside.persist(record.join(NOTE)).map_err(|error| error.error)?;
            sync_folder(record)
        };
        written().map_err(|error| StoreError::io(record, &error))
    }
}
