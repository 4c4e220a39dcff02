//! The database: its tables, how it is opened, and how one of an earlier version is brought up.

use std::path::Path;

use lastmicron_job::event::Id;
use lastmicron_record::Head;
use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use super::{look, people, rows};
use crate::error::StoreError;
use crate::report::{Damage, References, Report};

/// Which program's file this is: "lmic".
const APPLICATION_ID: i64 = 0x6c6d_6963;

/// Bytes to which the log is cut when it begins anew. Judgement: four times what it has when nobody reads for long; while a backup is made it grows beyond.
const MOST_LEFT_OF_LOG: i64 = 16 * 1024 * 1024;

/// Pages that a connection holds beside the one that writes records, KiB. Judgement: the system holds the file's pages as well, and one for all; with SQLite's 2,000 each, what the app
/// holds grew for hours, since the connections beyond the first are seldom used and fill slowly.
const PAGES_HELD_KIB: i64 = 256;

/// `arrival` is the order in which events came into the whole store. `entry` is append-only; `head` has the end of each job's record, so that
/// entries lost at its end, or a whole record lost, show.
const FIRST: &str = "
    CREATE TABLE entry (
        arrival INTEGER PRIMARY KEY,
        id TEXT NOT NULL UNIQUE,
        job TEXT NOT NULL,
        seq INTEGER NOT NULL,
        received TEXT NOT NULL,
        previous TEXT NOT NULL,
        event TEXT NOT NULL,
        hash TEXT NOT NULL,
        UNIQUE (job, seq)
    ) STRICT;
    CREATE TABLE head (
        job TEXT NOT NULL PRIMARY KEY,
        seq INTEGER NOT NULL,
        hash TEXT NOT NULL
    ) STRICT, WITHOUT ROWID;
";

/// `checkpoint` is append-only, with the public keys by which each note is checked: a copy of the database needs nothing else to be looked at. Two checkpoints
/// of a job are the same when their notes are: a key signs one text in one way. `erased` has the sheets that were erased, so that they are not waited for.
pub(super) const SECOND: &str = "
    CREATE TABLE checkpoint (
        number INTEGER PRIMARY KEY,
        job TEXT NOT NULL,
        note TEXT NOT NULL,
        keys TEXT NOT NULL,
        kept TEXT NOT NULL,
        hash TEXT NOT NULL,
        UNIQUE (job, note)
    ) STRICT;
    CREATE TABLE erased (
        sheet TEXT NOT NULL PRIMARY KEY
    ) STRICT, WITHOUT ROWID;
";

/// The versions of the tables: 1 is [`FIRST`], and each step makes the next of the one before.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tables {
    steps: &'static [&'static str],
}

/// What a look at a database gives: what was found, where each job's record ends, and what events refer to.
pub(crate) type Looked = (Report, Vec<(Id, Head)>, References);

impl Tables {
    /// What this program knows. A step that was released is never changed, and new ones come behind it.
    pub(crate) const KNOWN: Self = Self { steps: &[SECOND, people::TABLES] };

    /// What the first program knew.
    #[cfg(test)]
    pub(crate) const ONE: Self = Self { steps: &[] };

    /// The same, and more steps behind them.
    #[cfg(test)]
    pub(crate) fn then(self, steps: &[&'static str]) -> Self {
        Self { steps: [self.steps, steps].concat().leak() }
    }

    /// The version that this program writes.
    pub(crate) const fn version(self) -> i64 {
        1 + self.steps.len().cast_signed() as i64
    }

    /// Opens the database for writing, or makes it.
    pub(super) fn open(self, path: &Path) -> Result<Connection, StoreError> {
        let mut connection = Connection::open(path)?;
        let found = found(&connection, path)?;
        if let Some(found) = found {
            self.present(found)?;
        }
        write_ahead(&connection)?;
        if found.is_none() {
            let transaction = connection.transaction()?;
            transaction.execute_batch(FIRST)?;
            self.step_up(&transaction, 1)?;
            transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
            transaction.commit()?;
        }
        settle(&connection, path)?;
        Ok(connection)
    }

    /// Opens the database for reading; it is there.
    pub(super) fn open_to_read(self, path: &Path) -> Result<Connection, StoreError> {
        let connection = open_to_read(path)?;
        self.present(found(&connection, path)?.ok_or_else(|| StoreError::NotARecord(path.to_owned()))?)?;
        Ok(connection)
    }

    /// Refuses every version but the present one.
    const fn present(self, found: i64) -> Result<(), StoreError> {
        let known = self.version();
        if found > known {
            Err(StoreError::Newer { found, known })
        } else if found < known {
            Err(StoreError::Older { found, known })
        } else {
            Ok(())
        }
    }

    fn step_up(self, connection: &Connection, from: i64) -> Result<(), StoreError> {
        let done = usize::try_from(from - 1).unwrap_or(usize::MAX);
        for step in self.steps.get(done..).unwrap_or_default() {
            connection.execute_batch(step)?;
        }
        Ok(connection.pragma_update(None, "user_version", self.version())?)
    }

    /// Brings a database of an earlier version up, all the way or not at all. What comes of it is looked at before it holds, and what was seen is given.
    pub(crate) fn bring_up(self, path: &Path) -> Result<Looked, StoreError> {
        let mut connection = Connection::open(path)?;
        let Some(from) = found(&connection, path)? else { return Err(StoreError::NotARecord(path.to_owned())) };
        if from > self.version() {
            return Err(StoreError::Newer { found: from, known: self.version() });
        }
        connection.pragma_update(None, "synchronous", "FULL")?;
        let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        self.step_up(&transaction, from)?;
        let (report, references) = look::at_everything(&transaction)?;
        if let Some(damage) = report.damage.first() {
            return Err(StoreError::Damaged(format!("brought up to version {}: {damage}; it was left as it was", self.version())));
        }
        let jobs = rows::jobs(&transaction)?;
        transaction.commit()?;
        Ok((report, jobs, references))
    }

    /// Where each job's record ends in a database of this version or an earlier one; nothing is looked at.
    pub(crate) fn ends(path: &Path) -> Result<Vec<(Id, Head)>, StoreError> {
        rows::jobs(&open_to_read(path)?)
    }

    /// Writes the database as it is at this moment into a new file, whoever writes to it meanwhile. The file is on the disk when this returns.
    ///
    /// Not by steps of the database's backup interface: where another connection writes, those begin anew at every write, and come to no end.
    pub(crate) fn copy(self, from: &Path, to: &Path) -> Result<(), StoreError> {
        let connection = open_to_read(from)?;
        let name = to.to_str().ok_or_else(|| StoreError::Io { path: to.to_owned(), what: "this name is no text".to_owned() })?;
        connection.execute("VACUUM INTO ?1", [name])?;
        let synced = std::fs::File::options().write(true).open(to).and_then(|file| file.sync_all());
        synced.map_err(|error| StoreError::io(to, &error))
    }

    /// The version of the tables of a record's database.
    pub(crate) fn version_of(self, path: &Path) -> Result<i64, StoreError> {
        found(&open_to_read(path)?, path)?.ok_or_else(|| StoreError::NotARecord(path.to_owned()))
    }

    /// Looks at all of a database that nobody writes to. One of an earlier version is copied and brought up first: that it can be is part of its being whole.
    pub(crate) fn look(self, path: &Path) -> Result<Looked, StoreError> {
        let found = self.version_of(path)?;
        if found > self.version() {
            return Err(StoreError::Newer { found, known: self.version() });
        }
        if found < self.version() {
            let beside = tempfile::tempdir().map_err(|error| StoreError::io(path, &error))?;
            let copy = beside.path().join("copy.sqlite");
            self.copy(path, &copy)?;
            return self.bring_up(&copy);
        }
        let connection = open_to_read(path)?;
        let (report, references) = look::at_everything(&connection).or_else(damage)?;
        // Where the tables can't be read, that is in the report.
        let jobs = if report.damage.is_empty() { rows::jobs(&connection)? } else { Vec::new() };
        Ok((report, jobs, references))
    }
}

/// What can't be read is found, too.
fn damage(error: StoreError) -> Result<(Report, References), StoreError> {
    match error {
        StoreError::Damaged(what) => Ok((Report { damage: vec![Damage::Database(what)], ..Report::default() }, References::new())),
        other => Err(other),
    }
}

/// The version of a record's tables; none for a new database.
fn found(connection: &Connection, path: &Path) -> Result<Option<i64>, StoreError> {
    let number = |name: &str| connection.pragma_query_value(None, name, |row| row.get::<_, i64>(0));
    let (application, version) = (number("application_id")?, number("user_version")?);
    let tables: i64 = connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    match (application, version, tables) {
        (0, 0, 0) => Ok(None),
        (APPLICATION_ID, 1.., 1..) => Ok(Some(version)),
        (APPLICATION_ID, _, _) => Err(StoreError::Damaged(format!("a record of version {version} with {tables} tables"))),
        _ if has_our_tables(connection)? => Err(StoreError::Damaged("the record's heading is not as it was written".to_owned())),
        _ => Err(StoreError::NotARecord(path.to_owned())),
    }
}

/// Whether a database has the first tables of a record, whatever its heading says.
fn has_our_tables(connection: &Connection) -> Result<bool, StoreError> {
    let of_ours = "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name IN ('entry', 'head')";
    Ok(connection.query_row(of_ours, [], |row| row.get::<_, i64>(0))? == 2)
}

/// What is committed is on the disk when the commit returns, and readers never wait for the writer.
fn write_ahead(connection: &Connection) -> Result<(), StoreError> {
    let mode: String = connection.pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0))?;
    if mode != "wal" {
        return Err(StoreError::Database(format!("this disk can't hold a write-ahead log (journal_mode {mode}): use another one")));
    }
    connection.pragma_update_and_check(None, "journal_size_limit", MOST_LEFT_OF_LOG, |row| row.get::<_, i64>(0))?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    mistrust(connection)
}

/// A database that somebody else may have made or changed is believed in nothing.
fn mistrust(connection: &Connection) -> Result<(), StoreError> {
    connection.pragma_update(None, "cell_size_check", true)?;
    Ok(connection.pragma_update(None, "trusted_schema", false)?)
}

/// Writes what stands in the log into the database, and syncs it. A process that was ended, or whose sync failed, may have left events in the log that were never synced: whoever
/// sends them again is told that they are there, and nothing is written for it.
fn settle(connection: &Connection, path: &Path) -> Result<(), StoreError> {
    let is_busy: i64 = connection.query_row("PRAGMA wal_checkpoint(FULL)", [], |row| row.get(0))?;
    if is_busy == 0 { Ok(()) } else { Err(StoreError::InUse(path.to_owned())) }
}

fn open_to_read(path: &Path) -> Result<Connection, StoreError> {
    open_beside(path, OpenFlags::SQLITE_OPEN_READ_ONLY)
}

/// A connection beside the one that writes records.
pub(super) fn open_beside(path: &Path, way: OpenFlags) -> Result<Connection, StoreError> {
    let connection = Connection::open_with_flags(path, way | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    mistrust(&connection)?;
    connection.pragma_update(None, "cache_size", -PAGES_HELD_KIB)?;
    Ok(connection)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_committed_is_synced_whether_the_database_is_new_or_not() {
        let folder = tempfile::tempdir().unwrap();
        for _ in 0..2 {
            let connection = Tables::KNOWN.open(&folder.path().join("record.sqlite")).unwrap();
            // SQLite's documentation of the pragma: 2 is FULL.
            assert_eq!(connection.pragma_query_value(None, "synchronous", |row| row.get::<_, i64>(0)), Ok(2));
            assert_eq!(connection.pragma_query_value(None, "journal_mode", |row| row.get::<_, String>(0)), Ok("wal".to_owned()));
        }
    }

    #[test]
    fn a_log_that_grew_while_somebody_read_is_small_again_afterwards() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("record.sqlite");
        let writer = Tables::KNOWN.open(&path).unwrap();
        let reader = Tables::KNOWN.open_to_read(&path).unwrap();
        let write = || writer.execute("INSERT INTO erased (sheet) VALUES (hex(randomblob(500000)))", []).unwrap();
        let log_bytes = || std::fs::metadata(folder.path().join("record.sqlite-wal")).unwrap().len().cast_signed();
        reader.execute_batch("BEGIN; SELECT count(*) FROM erased").unwrap();
        for _ in 0..20 {
            write();
        }
        assert!(log_bytes() > MOST_LEFT_OF_LOG);
        reader.execute_batch("COMMIT").unwrap();
        // The first writes all of it into the database, the second begins the log anew.
        write();
        write();
        assert!(log_bytes() <= MOST_LEFT_OF_LOG);
    }

    #[test]
    fn what_reads_cannot_write() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("record.sqlite");
        let _writer = Tables::KNOWN.open(&path).unwrap();
        assert!(Tables::KNOWN.open_to_read(&path).unwrap().execute("DELETE FROM entry", []).is_err());
    }
}
