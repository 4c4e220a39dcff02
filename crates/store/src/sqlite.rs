//! A store in one SQLite file, with photographs in a folder beside it.

mod group;
mod look;
mod readers;
mod rows;
mod schema;
mod writer;

use std::fs::{self, File, TryLockError};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use lastmicron_job::event::{Digest, Id, When};
use lastmicron_record::{Entry, Head, Sealed};
use rusqlite::Connection;

use crate::error::StoreError;
use crate::kept::{Kept, sync_folder};
use crate::report::Report;
use crate::store::{Outcome, Store};
use readers::Readers;
use writer::Writer;

/// The database's name in its folder.
const DATABASE: &str = "record.sqlite";
/// The folder of what is kept beside it.
const KEPT: &str = "kept";
/// The file by which one process holds the folder.
const LOCK: &str = "lock";

/// Records in one SQLite file: one thread writes, many read. docs/decisions/store.md says why so.
#[derive(Debug)]
pub struct Sqlite {
    // In the order in which they are let go: the folder last.
    writer: Writer,
    readers: Readers,
    kept: Kept,
    is_damaged: Arc<AtomicBool>,
    _lock: File,
}

impl Sqlite {
    /// Opens the record in a folder, or begins one there.
    ///
    /// # Errors
    /// [`StoreError::Newer`] for what a later version wrote, [`StoreError::InUse`] while another process has it open, and what else may be wrong with it.
    pub fn open(folder: &Path) -> Result<Self, StoreError> {
        Self::open_prepared(folder, |_| Ok(()))
    }

    fn open_prepared(folder: &Path, prepare: impl FnOnce(&Connection) -> rusqlite::Result<()>) -> Result<Self, StoreError> {
        fs::create_dir_all(folder).map_err(|error| StoreError::io(folder, &error))?;
        let lock = lock(folder)?;
        let path = folder.join(DATABASE);
        let connection = schema::open(&path)?;
        prepare(&connection)?;
        sync_folder(folder).map_err(|error| StoreError::io(folder, &error))?;
        let is_damaged = Arc::new(AtomicBool::new(false));
        Ok(Self {
            writer: Writer::start(connection, Arc::clone(&is_damaged)).map_err(|error| StoreError::io(folder, &error))?,
            readers: Readers::of(path),
            kept: Kept::open(folder.join(KEPT))?,
            is_damaged,
            _lock: lock,
        })
    }
}

fn lock(folder: &Path) -> Result<File, StoreError> {
    let path = folder.join(LOCK);
    let file = File::options().create(true).truncate(false).write(true).open(&path).map_err(|error| StoreError::io(&path, &error))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(StoreError::InUse(folder.to_owned())),
        Err(TryLockError::Error(error)) => Err(StoreError::io(&path, &error)),
    }
}

impl Store for Sqlite {
    fn append(&self, events: Vec<Sealed>, received: When) -> Result<Vec<Outcome>, StoreError> {
        if self.is_damaged.load(Ordering::Acquire) {
            return Err(StoreError::Damaged("damage was found before".to_owned()));
        }
        if events.is_empty() { Ok(Vec::new()) } else { self.writer.append(events, received) }
    }

    fn events(&self, job: Id, from: u64) -> Result<Vec<Entry>, StoreError> {
        self.readers.with(|connection| rows::events(connection, job, from))
    }

    fn jobs(&self) -> Result<Vec<(Id, Head)>, StoreError> {
        self.readers.with(rows::jobs)
    }

    fn keep(&self, bytes: &[u8]) -> Result<Digest, StoreError> {
        self.kept.keep(bytes)
    }

    fn kept(&self, digest: Digest) -> Result<Option<Vec<u8>>, StoreError> {
        self.kept.read(digest)
    }

    fn verify(&self) -> Result<Report, StoreError> {
        let looked = self.readers.with(look::at_everything);
        if matches!(looked, Err(StoreError::Damaged(_))) {
            self.is_damaged.store(true, Ordering::Release);
        }
        let (mut report, references) = looked?;
        self.kept.verify(references, &mut report)?;
        if !report.damage.is_empty() {
            self.is_damaged.store(true, Ordering::Release);
        }
        Ok(report)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use lastmicron_job::event::Event;

    fn note(n: u64) -> Sealed {
        let [id, job, device] = [n, 0, 1].map(|n| Id::made_at(1_714_550_000_000 + n, [7; 10]));
        let json = format!(
            r#"{{"id":"{id}","job":"{job}","when":"2024-05-01T09:30:00+02:00","device":"{device}","who":"J.","body":{{"kind":"noted","text":"{}"}}}}"#,
            "x".repeat(900)
        );
        Sealed::seal(serde_json::from_str::<Event>(&json).unwrap()).unwrap()
    }

    fn now() -> When {
        "2024-05-01T07:30:01Z".parse().unwrap()
    }

    #[test]
    fn a_full_disk_is_said_and_loses_nothing_and_goes_on_when_there_is_room() {
        let folder = tempfile::tempdir().unwrap();
        // A disk of 200 kB, as the database sees it.
        let store = Sqlite::open_prepared(folder.path(), |connection| {
            connection.pragma_update_and_check(None, "max_page_count", 50, |row| row.get::<_, i64>(0)).map(|_| ())
        })
        .unwrap();
        let mut taken = 0;
        let refused = loop {
            match store.append(vec![note(10 + taken)], now()) {
                Ok(outcomes) => taken += outcomes.into_iter().map(|outcome| u64::from(outcome.is_ok())).sum::<u64>(),
                Err(error) => break error,
            }
        };
        assert_eq!(refused, StoreError::Full);
        assert!(taken > 50, "{taken} events were taken");
        let job = store.jobs().unwrap()[0];
        assert_eq!((job.1.seq, store.events(job.0, 1).unwrap().len()), (taken, usize::try_from(taken).unwrap()));
        assert_eq!(store.append(vec![note(10 + taken)], now()), Err(StoreError::Full));
        // One that is there already needs no room.
        assert_eq!(store.append(vec![note(10)], now()).unwrap()[0].as_ref().unwrap().seq, 1);
        drop(store);
        let store = Sqlite::open(folder.path()).unwrap();
        assert_eq!(store.append(vec![note(10 + taken)], now()).unwrap()[0].as_ref().unwrap().seq, taken + 1);
        assert_eq!(store.verify().unwrap(), Report { jobs: 1, entries: taken + 1, ..Report::default() });
    }
}
