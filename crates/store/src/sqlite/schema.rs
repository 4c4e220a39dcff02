//! The database: its tables, and how it is opened.

use std::path::Path;

use rusqlite::{Connection, OpenFlags};

use crate::error::StoreError;

/// Which program's file this is: "lmic".
const APPLICATION_ID: i64 = 0x6c6d_6963;
/// The version of the tables.
const VERSION: i64 = 1;

/// `arrival` is the order in which events came into the whole store. `entry` is append-only; `head` has the end of each job's record, so that
/// entries lost at its end, or a whole record lost, show.
const TABLES: &str = "
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

/// Opens the database for writing, or makes it.
pub(super) fn open(path: &Path) -> Result<Connection, StoreError> {
    let mut connection = Connection::open(path)?;
    let number = |connection: &Connection, name: &str| connection.pragma_query_value(None, name, |row| row.get::<_, i64>(0));
    let (application, version) = (number(&connection, "application_id")?, number(&connection, "user_version")?);
    let tables: i64 = connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    match (application, version, tables) {
        (0, 0, 0) => {}
        (APPLICATION_ID, VERSION, 1..) => {}
        (APPLICATION_ID, found, _) if found > VERSION => return Err(StoreError::Newer { found, known: VERSION }),
        (APPLICATION_ID, _, _) => return Err(StoreError::Damaged(format!("a record of version {version} with {tables} tables"))),
        _ => return Err(StoreError::NotARecord(path.to_owned())),
    }
    write_ahead(&connection)?;
    if tables == 0 {
        let transaction = connection.transaction()?;
        transaction.execute_batch(TABLES)?;
        transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
        transaction.pragma_update(None, "user_version", VERSION)?;
        transaction.commit()?;
    }
    Ok(connection)
}

/// What is committed is on the disk when the commit returns, and readers never wait for the writer.
fn write_ahead(connection: &Connection) -> Result<(), StoreError> {
    let mode: String = connection.pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0))?;
    if mode != "wal" {
        return Err(StoreError::Database(format!("this disk can't hold a write-ahead log (journal_mode {mode}): use another one")));
    }
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "cell_size_check", true)?;
    connection.pragma_update(None, "trusted_schema", false)?;
    Ok(())
}

/// Opens the database for reading; it is there.
pub(super) fn open_to_read(path: &Path) -> rusqlite::Result<Connection> {
    let connection = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    connection.pragma_update(None, "cell_size_check", true)?;
    connection.pragma_update(None, "trusted_schema", false)?;
    Ok(connection)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_committed_is_synced_whether_the_database_is_new_or_not() {
        let folder = tempfile::tempdir().unwrap();
        for _ in 0..2 {
            let connection = open(&folder.path().join("record.sqlite")).unwrap();
            // SQLite's documentation of the pragma: 2 is FULL.
            assert_eq!(connection.pragma_query_value(None, "synchronous", |row| row.get::<_, i64>(0)), Ok(2));
            assert_eq!(connection.pragma_query_value(None, "journal_mode", |row| row.get::<_, String>(0)), Ok("wal".to_owned()));
        }
    }

    #[test]
    fn what_reads_cannot_write() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("record.sqlite");
        let _writer = open(&path).unwrap();
        assert!(open_to_read(&path).unwrap().execute("DELETE FROM entry", []).is_err());
    }
}
