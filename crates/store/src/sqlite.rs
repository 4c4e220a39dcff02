//! A store in one SQLite file, with photographs in a folder beside it.

mod checkpoints;
mod erased;
mod group;
mod look;
mod people;
mod readers;
mod rows;
mod schema;
mod writer;

use std::collections::BTreeSet;
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use lastmicron_job::event::{Digest, Id, When};
use lastmicron_record::{Entry, Head, Sealed};
use rusqlite::Connection;

use crate::backup::{self, Backup, BackupKey, EncryptedBackup, Encrypting, MANIFEST, PRIVATE, Source, UNFINISHED};
use crate::error::StoreError;
use crate::folder::{make_folder, sync_folder, sync_name};
use crate::kept::Kept;
use crate::parts::{Part, Parted, Parts, There};
use crate::report::Report;
use crate::room::{Gauge, Room};
use crate::store::{KeptCheckpoint, Outcome, Store};
use readers::Readers;
pub(crate) use schema::Tables;
use writer::Writer;

/// The database's name in its folder.
pub(crate) const DATABASE: &str = "record.sqlite";
/// The folder of what is kept beside it.
pub(crate) const KEPT: &str = "kept";
/// The folder in which a backup is made and looked at before it is encrypted.
const ENCRYPTING: &str = "encrypting";
/// The folder of what came in part.
const PARTS: &str = "parts";
/// The file by which one process holds the folder.
const LOCK: &str = "lock";

/// Records in one SQLite file: one thread writes, many read. docs/decisions/store.md says why so.
#[derive(Debug)]
pub struct Sqlite {
    // In the order in which they are let go: the writer after the readers, since the last to go writes the log into the database, and the folder last.
    readers: Readers,
    writer: Option<Writer>,
    kept: Kept,
    folder: PathBuf,
    tables: Tables,
    gauge: Gauge,
    parts: Parts,
    people: Option<people::Tables>,
    is_damaged: Arc<AtomicBool>,
    _lock: Option<File>,
}

impl Sqlite {
    /// The version of the tables that this program writes.
    pub const SCHEMA: i64 = Tables::KNOWN.version();

    /// Opens the record in a folder, or begins one there.
    ///
    /// # Errors
    /// [`StoreError::Newer`] for what a later version wrote, [`StoreError::Older`] for what an earlier one did and [`bring_up`](Self::bring_up) was not
    /// asked for, [`StoreError::InUse`] while another process has it open, and what else may be wrong with it.
    pub fn open(folder: &Path) -> Result<Self, StoreError> {
        Self::open_prepared(folder, Tables::KNOWN, |_| Ok(()))
    }

    /// Opens the record in a folder to be read, whoever else has it open and writes to it. Nothing in it is made or changed.
    ///
    /// # Errors
    /// As [`open`](Self::open), and [`StoreError::NoRecord`] where none is.
    pub fn open_to_read(folder: &Path) -> Result<Self, StoreError> {
        refuse_what_is_no_record(folder)?;
        let path = folder.join(DATABASE);
        if !path.exists() {
            return Err(StoreError::NoRecord(folder.to_owned()));
        }
        let store = Self {
            writer: None,
            people: None,
            readers: Readers::of(path, Tables::KNOWN),
            kept: Kept::at(folder.join(KEPT)),
            parts: Parts::of(folder.join(PARTS)),
            folder: folder.to_owned(),
            tables: Tables::KNOWN,
            gauge: Gauge::of_disk(folder.to_owned()),
            is_damaged: Arc::default(),
            _lock: None,
        };
        // What can't be read is told now.
        store.readers.with(|_| Ok(()))?;
        Ok(store)
    }

    /// The same, and people in it can be changed: a code is made while the app runs.
    ///
    /// # Errors
    /// As [`open_to_read`](Self::open_to_read).
    pub fn open_for_people(folder: &Path) -> Result<Self, StoreError> {
        let store = Self::open_to_read(folder)?;
        Ok(Self { people: Some(people::Tables::open(&folder.join(DATABASE))?), ..store })
    }

    fn open_prepared(folder: &Path, tables: Tables, prepare: impl FnOnce(&Connection) -> rusqlite::Result<()>) -> Result<Self, StoreError> {
        backup::refuse_in_a_backup(folder)?;
        make_folder(folder).and_then(|()| sync_name(folder)).map_err(|error| StoreError::io(folder, &error))?;
        refuse_what_is_no_record(folder)?;
        let lock = lock(folder)?;
        let path = folder.join(DATABASE);
        let connection = tables.open(&path)?;
        prepare(&connection)?;
        let kept = Kept::open(folder.join(KEPT))?;
        let is_damaged = Arc::new(AtomicBool::new(false));
        sync_folder(folder).map_err(|error| StoreError::io(folder, &error))?;
        // They stay open, so that there is a log to read by where the writer has to open the database anew and the disk has no room for one.
        let readers = Readers::of(path.clone(), tables);
        readers.open()?;
        let people = people::Tables::open(&path)?;
        let again = path;
        let writer = Writer::start(connection, move || tables.open(&again), Arc::clone(&is_damaged))
            .map_err(|error| StoreError::io(folder, &error))?;
        Ok(Self {
            people: Some(people),
            writer: Some(writer),
            readers,
            kept,
            folder: folder.to_owned(),
            tables,
            gauge: Gauge::of_disk(folder.to_owned()),
            parts: Parts::of(folder.join(PARTS)),
            is_damaged,
            _lock: Some(lock),
        })
    }

    /// The same, with something else to tell how many bytes are free; none where it can't be told.
    #[must_use]
    pub fn with_free(self, free: impl Fn() -> Option<u64> + Send + Sync + 'static) -> Self {
        Self { gauge: Gauge::new(free), ..self }
    }

    /// Makes a backup of everything at a place where nothing is, whatever is taken meanwhile: what was acknowledged before this was called is in it. It has that
    /// name only once it was looked at and found whole. `made` is the time here.
    ///
    /// # Errors
    /// [`StoreError`]: then nothing has that name. [`StoreError::Damaged`] for what can't be backed up whole: where the damage is here, nothing more is taken.
    pub fn back_up(&self, target: &Path, made: When) -> Result<Backup, StoreError> {
        let database = self.folder.join(DATABASE);
        let source = Source { database: &database, kept: &self.kept, gauge: &self.gauge, tables: self.tables };
        backup::make(&source, target, made).map_err(|error| self.looked_after(error))
    }

    /// The same as one file, encrypted for a key: a plain copy is made beside the record, looked at, encrypted, and taken away; the file is read back. That it opens
    /// is for whoever has the key to see: [`verify_encrypted`](crate::verify_encrypted).
    ///
    /// # Errors
    /// As [`back_up`](Self::back_up), and [`StoreError::Encrypting`].
    pub fn back_up_encrypted(&self, target: &Path, key: &BackupKey, made: When) -> Result<EncryptedBackup, StoreError> {
        self.encrypted_with(&PRIVATE, target, key, made)
    }

    fn encrypted_with(&self, private: &[&str], target: &Path, key: &BackupKey, made: When) -> Result<EncryptedBackup, StoreError> {
        let database = self.folder.join(DATABASE);
        let source = Source { database: &database, kept: &self.kept, gauge: &self.gauge, tables: self.tables };
        let private = private.iter().map(|name| self.folder.join(name)).collect();
        let by = Encrypting { staging: Self::staging(&self.folder), key, private };
        backup::make_encrypted(&source, &by, target, made).map_err(|error| self.looked_after(error))
    }

    /// The folder beside a record in which backups are made that are to be encrypted: what is left in it came to no end.
    #[must_use]
    pub fn staging(folder: &Path) -> PathBuf {
        folder.join(ENCRYPTING)
    }

    /// Is damage that a backup met with here, or on the disk that it was made on? Looking tells, and heeds it.
    fn looked_after(&self, error: StoreError) -> StoreError {
        whose(error, || self.verify())
    }

    /// Brings a record that an earlier version wrote up to this one: a backup of it is made and looked at first. It is brought up whole or left as it was.
    ///
    /// # Errors
    /// [`StoreError`].
    pub fn bring_up(folder: &Path, backup: &Path, made: When) -> Result<Backup, StoreError> {
        Self::bring_up_to(Tables::KNOWN, folder, backup, made)
    }

    fn bring_up_to(tables: Tables, folder: &Path, backup: &Path, made: When) -> Result<Backup, StoreError> {
        refuse_what_is_no_record(folder)?;
        let _lock = lock(folder)?;
        let (database, kept, gauge) = (folder.join(DATABASE), Kept::at(folder.join(KEPT)), Gauge::of_disk(folder.to_owned()));
        let backup = backup::make(&Source { database: &database, kept: &kept, gauge: &gauge, tables }, backup, made)
            .map_err(|error| whose(error, || tables.look(&database).map(|(report, ..)| report)))?;
        tables.bring_up(&database)?;
        Ok(backup)
    }

    /// After damage was found, nothing more is taken.
    fn heed(&self, error: &StoreError) {
        if matches!(error, StoreError::Damaged(_)) {
            self.is_damaged.store(true, Ordering::Release);
        }
    }

    fn heeded(&self, report: Report) -> Report {
        if !report.damage.is_empty() {
            self.is_damaged.store(true, Ordering::Release);
        }
        report
    }
}

/// Damage that a backup met with: the record's where a look finds it there, and the backup's otherwise.
fn whose(error: StoreError, look: impl FnOnce() -> Result<Report, StoreError>) -> StoreError {
    if !matches!(error, StoreError::Damaged(_) | StoreError::DamagedBackup { .. }) {
        return error;
    }
    match look() {
        Ok(Report { damage, .. }) if !damage.is_empty() => StoreError::Damaged(backup::summed_up(&damage)),
        Err(damaged @ StoreError::Damaged(_)) => damaged,
        _ => error,
    }
}

fn refuse_what_is_no_record(folder: &Path) -> Result<(), StoreError> {
    if folder.join(UNFINISHED).exists() {
        return Err(StoreError::Unfinished(folder.to_owned()));
    }
    if folder.join(MANIFEST).exists() {
        return Err(StoreError::IsABackup(folder.to_owned()));
    }
    if is_lost(folder) { Err(StoreError::Lost(folder.to_owned())) } else { Ok(()) }
}

/// Whether a folder had records, and has them no more: whoever begins new ones there covers up that they are lost.
fn is_lost(folder: &Path) -> bool {
    let has_kept = || std::fs::read_dir(folder.join(KEPT)).is_ok_and(|mut shelves| shelves.next().is_some());
    !folder.join(DATABASE).exists() && (backup::LastBackup::read(folder).is_some() || has_kept())
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
        self.room()?;
        self.writer.as_ref().ok_or(StoreError::OnlyRead)?.append(events, received)
    }

    fn events(&self, job: Id, from: u64) -> Result<Vec<Entry>, StoreError> {
        self.readers.with(|connection| rows::events(connection, job, from))
    }

    fn jobs(&self) -> Result<Vec<(Id, Head)>, StoreError> {
        self.readers.with(rows::jobs)
    }

    fn keep(&self, bytes: &[u8]) -> Result<Digest, StoreError> {
        self.room()?;
        self.kept.keep(bytes)
    }

    fn keep_part(&self, part: Part<'_>, received: &When) -> Result<Parted, StoreError> {
        self.room()?;
        // Whose last answer was lost sends what is there whole by now.
        match self.there(part.digest)? {
            There::Whole => Ok(Parted::Taken(There::Whole)),
            There::Bytes(_) => self.parts.take(part, received, |bytes| self.kept.keep(bytes)),
        }
    }

    fn there(&self, digest: Digest) -> Result<There, StoreError> {
        if let Some(there) = self.parts.there(digest) {
            return Ok(There::Bytes(there));
        }
        match self.kept.is_settled(digest) {
            Ok(true) => Ok(There::Whole),
            // What is damaged is wanted anew.
            Ok(false) | Err(StoreError::Damaged(_)) => Ok(There::Bytes(0)),
            Err(error) => Err(error),
        }
    }

    fn kept(&self, digest: Digest) -> Result<Option<Vec<u8>>, StoreError> {
        self.kept.read(digest)
    }

    fn erase(&self, digest: Digest) -> Result<bool, StoreError> {
        // Noted first: whoever is stopped in between erases it again.
        self.writer.as_ref().ok_or(StoreError::OnlyRead)?.alone(move |connection| erased::note(connection, digest))?;
        self.kept.erase(digest)
    }

    fn erased(&self) -> Result<BTreeSet<Digest>, StoreError> {
        let noted = self.readers.with(erased::noted)?;
        Ok(noted.into_iter().filter(|sheet| !self.kept.path(*sheet).exists()).collect())
    }

    fn keep_checkpoint(&self, checkpoint: KeptCheckpoint) -> Result<(), StoreError> {
        self.room()?;
        // Looked at beside the writer, whom a long record would hold up; meanwhile it can only grow.
        let held = self.readers.with(|connection| checkpoints::held(connection, &checkpoint.note, &checkpoint.keys))?;
        let writer = self.writer.as_ref().ok_or(StoreError::OnlyRead)?;
        writer.alone(move |connection| checkpoints::keep(connection, held.job, &checkpoint))
    }

    fn checkpoints(&self, job: Id) -> Result<Vec<KeptCheckpoint>, StoreError> {
        self.readers.with(|connection| checkpoints::of(connection, job))
    }

    fn room(&self) -> Result<Room, StoreError> {
        if self.writer.is_none() {
            return Err(StoreError::OnlyRead);
        }
        if self.is_damaged.load(Ordering::Acquire) {
            return Err(StoreError::Damaged("damage was found before".to_owned()));
        }
        self.gauge.room()
    }

    fn verify_newest(&self, entries: u64) -> Result<Report, StoreError> {
        let looked = self.readers.with(|connection| look::at_newest(connection, entries));
        looked.map(|report| self.heeded(report)).inspect_err(|error| self.heed(error))
    }

    fn verify(&self) -> Result<Report, StoreError> {
        let (mut report, references) = self.readers.with(look::at_everything).inspect_err(|error| self.heed(error))?;
        self.kept.verify(&references, &mut report)?;
        Ok(self.heeded(report))
    }
}

#[cfg(test)]
mod brought_up;

#[cfg(test)]
mod tests {
    use super::*;
    use lastmicron_job::event::Event;

    pub(super) fn note(n: u64) -> Sealed {
        let [id, job, device] = [n, 0, 1].map(|n| Id::made_at(1_714_550_000_000 + n, [7; 10]));
        let json = format!(
            r#"{{"id":"{id}","job":"{job}","when":"2024-05-01T09:30:00+02:00","device":"{device}","who":"J.","body":{{"kind":"noted","text":"{}"}}}}"#,
            "x".repeat(900)
        );
        Sealed::seal(serde_json::from_str::<Event>(&json).unwrap()).unwrap()
    }

    pub(super) fn now() -> When {
        "2024-05-01T07:30:01Z".parse().unwrap()
    }

    #[test]
    fn a_full_disk_is_said_and_loses_nothing_and_goes_on_when_there_is_room() {
        let folder = tempfile::tempdir().unwrap();
        // A disk of 200 kB, as the database sees it.
        let store = Sqlite::open_prepared(folder.path(), Tables::KNOWN, |connection| {
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

    #[test]
    fn private_files_go_into_encrypted_backups_alone_and_come_back_readable_by_their_owner() {
        let room = tempfile::tempdir().unwrap();
        let (record, into) = (room.path().join("record"), room.path().join("restored"));
        let store = Sqlite::open(&record).unwrap();
        store.append(vec![note(10)], now()).unwrap();
        std::fs::write(record.join("secret"), "signs").unwrap();
        let identity = backup::BackupIdentity::generate();
        let key = BackupKey { recipient: identity.recipient(), made: now(), checked: Some(now()) };
        let file = room.path().join("one.tar.age");
        let made = store.encrypted_with(&["secret", "not there"], &file, &key, now()).unwrap().backup;
        assert_eq!(store.back_up(&room.path().join("two"), now()).unwrap(), made);
        assert!(!room.path().join("two").join("secret").exists());
        assert_eq!(backup::restore_with(&file, &identity, &into, &now(), &["secret"]), Ok(made));
        assert_eq!(std::fs::read(into.join("secret")).unwrap(), b"signs");
        #[cfg(unix)]
        assert_eq!(std::os::unix::fs::PermissionsExt::mode(&std::fs::metadata(into.join("secret")).unwrap().permissions()) & 0o777, 0o600);
        // A program that does not know the file takes it for no part of a backup.
        let again = room.path().join("again");
        assert!(matches!(backup::restore_with(&file, &identity, &again, &now(), &[]), Err(StoreError::NotABackup { .. })));
        assert!(!again.join("secret").exists() && !again.join(DATABASE).exists());
    }

    #[test]
    fn damage_that_a_backup_met_with_is_the_records_where_it_is_found_there_and_the_backups_otherwise() {
        let of_backup = || StoreError::DamagedBackup { path: "one".into(), why: "cut".to_owned() };
        let damage = crate::report::Damage::Database("a page is not in use".to_owned());
        let found = || Ok(Report { damage: vec![damage.clone()], ..Report::default() });
        assert_eq!(whose(of_backup(), || Ok(Report::default())), of_backup());
        assert_eq!(whose(of_backup(), found), StoreError::Damaged(damage.to_string()));
        assert_eq!(whose(of_backup(), || Err(StoreError::Damaged("no tables".to_owned()))), StoreError::Damaged("no tables".to_owned()));
        // Where it can't be looked, and where something else went wrong, it is told as it was.
        assert_eq!(whose(of_backup(), || Err(StoreError::Full)), of_backup());
        assert_eq!(whose(StoreError::Full, found), StoreError::Full);
    }
}
