//! Which backup was the last that was looked at and found whole.

use std::fs;
use std::path::{Path, PathBuf};

use lastmicron_job::event::{Digest, When};
use serde::{Deserialize, Serialize};

use super::note;
use crate::error::StoreError;
use crate::folder::sync_folder;

/// The note's name beside the record.
const NOTE: &str = "last-backup.json";

/// The last backup that was whole when it was looked at, as noted beside the record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LastBackup {
    /// When it was begun.
    pub made: When,
    /// When it was last looked at: one that is encrypted, before it was.
    pub verified: When,
    /// Where it was then: a folder, or the file of one that is encrypted.
    pub folder: PathBuf,
    /// The SHA-256 of that file; none for a folder.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sha256: Option<Digest>,
}

impl LastBackup {
    /// The note beside the record in a folder; none where there is none that can be read.
    #[must_use]
    pub fn read(record: &Path) -> Option<Self> {
        serde_json::from_slice(&fs::read(record.join(NOTE)).ok()?).ok()
    }

    /// Takes the note beside a record away, where this is the backup that it names: it is not known to be whole any more.
    ///
    /// # Errors
    /// [`StoreError`] when it can't be taken away.
    pub fn forget(record: &Path, backup: &Path) -> Result<(), StoreError> {
        if Self::read(record).is_none_or(|noted| noted.folder != backup) {
            return Ok(());
        }
        let path = record.join(NOTE);
        fs::remove_file(&path).and_then(|()| sync_folder(record)).map_err(|error| StoreError::io(&path, &error))
    }

    /// Notes it beside a record, in place of an earlier one.
    ///
    /// # Errors
    /// [`StoreError`] when it can't be written.
    pub fn note(&self, record: &Path) -> Result<(), StoreError> {
        if Self::read(record).is_some_and(|noted| noted.made.seconds_since(&self.made) > 0) {
            return Ok(());
        }
        note::write(record, NOTE, self)
    }
}
