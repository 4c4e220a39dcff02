//! Why a store could not do what it was asked for.

use std::io;
use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

use crate::room::STOP_BELOW;

/// Why a store could not do what it was asked for. Nothing that was acknowledged before is touched by it.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum StoreError {
    /// No room on the disk.
    #[error("the disk is full: nothing was taken, and what was there can be read. Make room, and send it again")]
    Full,
    /// The disk did not take what was written, did not say that it is there, or did not give what was asked for.
    #[error(
        "the disk fails or refuses ({0}): nothing was acknowledged, and what was there can be read. Send it again; where that goes on, see to the disk, and to who may write there"
    )]
    Disk(String),
    /// So little room that nothing more is taken.
    #[error(
        "the disk has {} MB free, and below {} MB nothing is taken: what was there can be read. Make room, and send it again: the app goes on by itself",
        free / 1_000_000,
        STOP_BELOW / 1_000_000
    )]
    Low {
        /// Bytes that are free.
        free: u64,
    },
    /// Opened only to be read.
    #[error("this record was opened to be read: nothing was taken")]
    OnlyRead,
    /// Something is where a backup was to be.
    #[error("{}: something is here already, and a backup takes the place of nothing: name another place. What ends with .partial is left of a backup that came to no end, and may be removed once none is being made", .0.display())]
    Exists(PathBuf),
    /// The folder that a backup was to be in is not there. It is not made: where a stick is out, that would be on the system's disk.
    #[error("{}: there is no such folder. Where it is on a stick or another machine, put that in or connect it; else make the folder first", .0.display())]
    NoFolder(PathBuf),
    /// A place in a backup, where something was to be put.
    #[error("{}: that is in the backup {}, which would be another then: name another place", place.display(), backup.display())]
    InABackup {
        /// Where it was to be.
        place: PathBuf,
        /// The backup.
        backup: PathBuf,
    },
    /// Something is where a backup was to be restored.
    #[error("{}: this folder is not empty, and a backup is restored into an empty one only: name another", .0.display())]
    NotEmpty(PathBuf),
    /// A restoring that came to no end.
    #[error("{}: a backup was being restored here and that came to no end: empty the folder and restore it again", .0.display())]
    Unfinished(PathBuf),
    /// A backup, opened as if it were a record.
    #[error("{}: this is a backup, which is never written to: restore it into an empty folder, and open that", .0.display())]
    IsABackup(PathBuf),
    /// What lies beside records, without them.
    #[error("{}: what lies beside records is here, and the records themselves (record.sqlite) are gone: nothing is begun in their place. Put the file back, or restore the last backup into an empty folder", .0.display())]
    Lost(PathBuf),
    /// Records, or what is left of a backup that lost its manifest, given as a backup.
    #[error("{}: there is no manifest.json here: these are records, which --data names, or a backup that lost it and can't be checked any more", .0.display())]
    NoManifest(PathBuf),
    /// No record is there.
    #[error("{}: there are no records here", .0.display())]
    NoRecord(PathBuf),
    /// Not a backup.
    #[error("{}: this is no backup: {why}", path.display())]
    NotABackup {
        /// Where.
        path: PathBuf,
        /// What is lacking.
        why: String,
    },
    /// An encrypted backup that a key does not open.
    #[error("{}: this key does not open it: it was encrypted for another, or its first lines were changed. Give the key that it was made for", .0.display())]
    WrongKey(PathBuf),
    /// A text that is no key.
    #[error(
        "this is no backup key: one begins with AGE-SECRET-KEY-1 and has 58 letters and digits behind that, and a misread one shows. Look at the sheet again"
    )]
    NotAKey,
    /// The secret half of another key.
    #[error("this is the key of other backups: what is encrypted here is for {0}. Look for the sheet that names it")]
    OtherKey(String),
    /// Backups are encrypted for a key already.
    #[error("{}: backups are encrypted for a key already, which was checked. To make another, take this file away first, and keep the sheet of the old key as long as its backups", .0.display())]
    KeyInUse(PathBuf),
    /// The note of the key can't be read.
    #[error("{}: the note of the backup key can't be read ({why}): no backup is made. Take it away, and make a key again; backups are plain until that one was checked", path.display())]
    KeyNote {
        /// The note.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// Nothing can be encrypted.
    #[error("nothing can be encrypted: {0}")]
    Encrypting(String),
    /// A backup that is not as it was made.
    #[error("{}: this backup is not as it was made ({why}): use another, and look at the disk that it is on", path.display())]
    DamagedBackup {
        /// Where.
        path: PathBuf,
        /// What shows.
        why: String,
    },
    /// A backup that a later version of this program made.
    #[error(
        "this backup is of version {found}, and this program reads versions up to {known}: use the program that made it, or a later one"
    )]
    NewerBackup {
        /// The backup's version.
        found: u64,
        /// The latest that is known.
        known: u64,
    },
    /// Written by an earlier version of this program, and not brought up to this one yet.
    #[error(
        "this record is of version {found}, and this program's are of version {known}: start the app once, which makes a backup and brings it up"
    )]
    Older {
        /// The record's version.
        found: i64,
        /// This program's.
        known: i64,
    },
    /// Written by a later version of this program.
    #[error(
        "this record is of version {found}, and this program knows versions up to {known}: use the program that wrote it, or a later one"
    )]
    Newer {
        /// The record's version.
        found: i64,
        /// The latest that is known.
        known: i64,
    },
    /// A database of something else.
    #[error("{}: this is no record of jobs: give another folder", .0.display())]
    NotARecord(PathBuf),
    /// Another process has it open.
    #[error("{}: another program has this record open, most likely the app, which lastmicron serve has started: end that first (Ctrl+C where it was started)", .0.display())]
    InUse(PathBuf),
    /// What is on the disk is not what was written.
    #[error("what is on the disk is not what was written ({0}): nothing more is taken. Restore the last backup that was verified")]
    Damaged(String),
    /// A checkpoint that is not of a record here as it stands.
    #[error("this checkpoint is not kept: {0}")]
    NotHeld(String),
    /// More bytes than are kept.
    #[error("{found} bytes: at most {most} are kept of one thing")]
    TooLarge {
        /// How many.
        found: usize,
        /// How many are.
        most: usize,
    },
    /// The writer is gone.
    #[error("the record is closed: start the program again")]
    Closed,
    /// Disk or permissions.
    #[error("{}: {what}", path.display())]
    Io {
        /// Where.
        path: PathBuf,
        /// What the system says.
        what: String,
    },
    /// Anything else that the database says.
    #[error("the database says: {0}")]
    Database(String),
}

impl StoreError {
    pub(crate) fn io(path: &Path, error: &io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::Full,
            _ => Self::Io { path: path.to_owned(), what: error.to_string() },
        }
    }
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        use rusqlite::Error;
        let code = error.sqlite_error_code();
        match error {
            _ if code == Some(ErrorCode::DiskFull) => Self::Full,
            _ if matches!(code, Some(ErrorCode::SystemIoFailure | ErrorCode::CannotOpen)) => Self::Disk(error.to_string()),
            _ if matches!(code, Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase)) => Self::Damaged(error.to_string()),
            // The tables are strict and only texts and numbers were written: what reads as neither was changed.
            Error::FromSqlConversionFailure(..)
            | Error::InvalidColumnType(..)
            | Error::IntegralValueOutOfRange(..)
            | Error::Utf8Error(..) => Self::Damaged(error.to_string()),
            _ => Self::Database(error.to_string()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn error_of(sql: &str) -> StoreError {
        let connection = rusqlite::Connection::open_in_memory().unwrap();
        connection.query_row(sql, [], |row| row.get::<_, String>(0)).unwrap_err().into()
    }

    #[test]
    fn a_text_that_is_none_any_more_is_damage_and_a_question_that_cannot_be_asked_is_not() {
        assert!(matches!(error_of("SELECT CAST(x'ff' AS TEXT)"), StoreError::Damaged(_)));
        assert!(matches!(error_of("SELECT 7"), StoreError::Damaged(_)));
        assert!(matches!(error_of("SELECT nothing"), StoreError::Database(_)));
    }
}
