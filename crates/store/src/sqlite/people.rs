//! People and what they are known by, as tables beside the records.

use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

use lastmicron_access::{Device, Grant, Holding, Kept, KeptCode, Link, Person, Role};
use lastmicron_job::event::{Digest, Id};
use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension, Row, TransactionBehavior, params};

use super::{Sqlite, schema};
use crate::error::StoreError;
use crate::people::{People, SignIn, SignedIn};

/// `code.person` is empty for the code that makes the first owner. `device.previous` is the hash of what the device had before the last sign-in.
pub(super) const TABLES: &str = "
    CREATE TABLE person (
        id TEXT NOT NULL PRIMARY KEY,
        name TEXT NOT NULL,
        role TEXT NOT NULL,
        secret TEXT,
        since_s INTEGER NOT NULL,
        removed_s INTEGER
    ) STRICT, WITHOUT ROWID;
    CREATE UNIQUE INDEX person_name ON person (name) WHERE removed_s IS NULL;
    CREATE TABLE device (
        id TEXT NOT NULL PRIMARY KEY,
        name TEXT NOT NULL,
        is_shared INTEGER NOT NULL,
        person TEXT NOT NULL,
        since_s INTEGER NOT NULL,
        signed_in_s INTEGER NOT NULL,
        active_s INTEGER NOT NULL,
        is_locked INTEGER NOT NULL,
        token TEXT NOT NULL UNIQUE,
        previous TEXT UNIQUE
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE been_at (
        device TEXT NOT NULL,
        person TEXT NOT NULL,
        PRIMARY KEY (device, person)
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE code (
        hash TEXT NOT NULL PRIMARY KEY,
        person TEXT UNIQUE,
        new_secret INTEGER NOT NULL,
        ends_s INTEGER NOT NULL
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE link (
        id TEXT NOT NULL PRIMARY KEY,
        job TEXT NOT NULL,
        since_s INTEGER NOT NULL,
        ends_s INTEGER NOT NULL,
        is_withdrawn INTEGER NOT NULL,
        token TEXT NOT NULL UNIQUE
    ) STRICT, WITHOUT ROWID;
";

const PERSON: &str = "SELECT id, name, role, secret, since_s, removed_s FROM person";
const DEVICE: &str = "SELECT id, name, is_shared, person, since_s, signed_in_s, active_s, is_locked, token FROM device";
const LINK: &str = "SELECT id, job, since_s, ends_s, is_withdrawn FROM link";

/// How long a change waits for another that is being written. Judgement: a commit takes some milliseconds; what takes seconds is no commit.
const PATIENCE: Duration = Duration::from_secs(5);

/// The connection that writes them. Records have a thread of their own: a sign-in waits for its commit, and no record for more than one sign-in.
#[derive(Debug)]
pub(super) struct Tables {
    path: PathBuf,
    /// None after a commit failed: what became of it is known only to whoever opens the database anew.
    connection: Mutex<Option<Connection>>,
}

impl Tables {
    /// Opens them in a database that is there.
    pub(super) fn open(path: &Path) -> Result<Self, StoreError> {
        Ok(Self { path: path.to_owned(), connection: Mutex::new(Some(connected(path)?)) })
    }
}

fn connected(path: &Path) -> Result<Connection, StoreError> {
    let connection = schema::open_beside(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.busy_timeout(PATIENCE)?;
    Ok(connection)
}

impl Sqlite {
    fn change<T>(&self, change: impl FnOnce(&Connection) -> Result<T, StoreError>) -> Result<T, StoreError> {
        self.change_where(change, |_| true)
    }

    /// Changes people: all of it, or nothing where what came of it is not to be kept.
    fn change_where<T>(
        &self,
        change: impl FnOnce(&Connection) -> Result<T, StoreError>,
        is_kept: impl FnOnce(&T) -> bool,
    ) -> Result<T, StoreError> {
        if self.is_damaged.load(Ordering::Acquire) {
            return Err(StoreError::Damaged("damage was found before".to_owned()));
        }
        let people = self.people.as_ref().ok_or(StoreError::Closed)?;
        let mut held = people.connection.lock().unwrap_or_else(PoisonError::into_inner);
        let mut connection = held.take().map_or_else(|| connected(&people.path), Ok)?;
        let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        let changed = change(&transaction)?;
        if is_kept(&changed) {
            transaction.commit()?;
        } else {
            transaction.rollback()?;
        }
        *held = Some(connection);
        Ok(changed)
    }

    fn all<T>(&self, sql: &str, of: impl Fn(&Row<'_>) -> Result<T, StoreError>) -> Result<Vec<T>, StoreError> {
        self.readers.with(|connection| {
            let mut statement = connection.prepare_cached(sql)?;
            let mut rows = statement.query([])?;
            let mut all = Vec::new();
            while let Some(row) = rows.next()? {
                all.push(of(row)?);
            }
            Ok(all)
        })
    }

    fn one<T>(&self, sql: &str, key: &str, of: impl Fn(&Row<'_>) -> Result<T, StoreError>) -> Result<Option<T>, StoreError> {
        self.readers.with(|connection| connection.prepare_cached(sql)?.query_row([key], |row| Ok(of(row))).optional()?.transpose())
    }
}

impl People for Sqlite {
    fn people(&self) -> Result<Vec<Person>, StoreError> {
        self.all(&format!("{PERSON} ORDER BY id"), person)
    }

    fn put_person(&self, person: &Person) -> Result<bool, StoreError> {
        self.change(|connection| put_person(connection, person))
    }

    fn devices(&self) -> Result<Vec<Device>, StoreError> {
        self.all(&format!("{DEVICE} ORDER BY id"), device)
    }

    fn device(&self, token: Digest) -> Result<Option<(Device, Holding)>, StoreError> {
        let token = token.to_string();
        self.one(&format!("{DEVICE} WHERE token = ?1 OR previous = ?1"), &token, |row| {
            let holding = if row.get::<_, String>(8)? == token { Holding::Current } else { Holding::Previous };
            Ok((device(row)?, holding))
        })
    }

    fn been_at(&self, device: Id) -> Result<Vec<Id>, StoreError> {
        self.readers.with(|connection| {
            let mut statement = connection.prepare_cached("SELECT person FROM been_at WHERE device = ?1 ORDER BY person")?;
            let mut rows = statement.query([device.to_string()])?;
            let mut all = Vec::new();
            while let Some(row) = rows.next()? {
                all.push(read(row, 0)?);
            }
            Ok(all)
        })
    }

    fn sign_in(&self, SignIn { code, person, device, must_be_known, token }: &SignIn) -> Result<SignedIn, StoreError> {
        let sign_in = |connection: &Connection| {
            if let Some(code) = code
                && connection.execute("DELETE FROM code WHERE hash = ?1", [code.to_string()])? == 0
            {
                return Ok(SignedIn::CodeGone);
            }
            // What was read before a PIN was looked at may have been made unknown or removed meanwhile.
            if (*must_be_known && !is_known(connection, device.id)?) || is_removed(connection, device.person)? {
                return Ok(SignedIn::Gone);
            }
            if let Some(person) = person
                && !keep_secret(connection, person)?
                && !put_person(connection, person)?
            {
                return Ok(SignedIn::NameTaken);
            }
            put_device(connection, device, *token)?;
            Ok(SignedIn::Done)
        };
        self.change_where(sign_in, |signed_in| *signed_in == SignedIn::Done)
    }

    fn remove(&self, person: Id, removed_s: i64) -> Result<bool, StoreError> {
        let id = person.to_string();
        self.change(|connection| {
            // No owner removes the last one, nor do two remove each other.
            let sql = "UPDATE person SET removed_s = ?2, secret = NULL WHERE id = ?1 AND removed_s IS NULL
                AND EXISTS (SELECT 1 FROM person WHERE role = ?3 AND removed_s IS NULL AND id <> ?1)";
            if connection.execute(sql, params![id, removed_s, Role::Owner.to_string()])? == 0 {
                return Ok(false);
            }
            connection.execute("DELETE FROM been_at WHERE device IN (SELECT id FROM device WHERE person = ?1 AND is_shared = 0)", [&id])?;
            connection.execute("DELETE FROM device WHERE person = ?1 AND is_shared = 0", [&id])?;
            Ok(true)
        })
    }

    fn seen(&self, device: Id, active_s: i64) -> Result<(), StoreError> {
        let sql = "UPDATE device SET active_s = ?2, previous = NULL WHERE id = ?1";
        self.change(|connection| Ok(connection.execute(sql, params![device.to_string(), active_s]).map(drop)?))
    }

    fn lock(&self, device: Id) -> Result<(), StoreError> {
        let sql = "UPDATE device SET is_locked = 1 WHERE id = ?1";
        self.change(|connection| Ok(connection.execute(sql, [device.to_string()]).map(drop)?))
    }

    fn revoke(&self, device: Id) -> Result<(), StoreError> {
        self.change(|connection| {
            for sql in ["DELETE FROM device WHERE id = ?1", "DELETE FROM been_at WHERE device = ?1"] {
                connection.execute(sql, [device.to_string()])?;
            }
            Ok(())
        })
    }

    fn put_code(&self, KeptCode { hash, grant, ends_s }: &KeptCode) -> Result<(), StoreError> {
        let (person, new_secret) = match grant {
            Grant::FirstOwner => (None, true),
            Grant::Device { person, new_secret } => (Some(person.to_string()), *new_secret),
        };
        self.change(|connection| {
            connection.execute("DELETE FROM code WHERE person IS ?1", [&person])?;
            let sql = "INSERT INTO code (hash, person, new_secret, ends_s) VALUES (?1, ?2, ?3, ?4)";
            Ok(connection.execute(sql, params![hash.to_string(), person, new_secret, ends_s]).map(drop)?)
        })
    }

    fn code(&self, hash: Digest) -> Result<Option<KeptCode>, StoreError> {
        self.one("SELECT person, new_secret, ends_s FROM code WHERE hash = ?1", &hash.to_string(), |row| {
            let grant = match row.get::<_, Option<String>>(0)? {
                Some(person) => Grant::Device { person: person.parse().map_err(|error| damaged(&error))?, new_secret: row.get(1)? },
                None => Grant::FirstOwner,
            };
            Ok(KeptCode { hash, grant, ends_s: row.get(2)? })
        })
    }

    fn links(&self) -> Result<Vec<Link>, StoreError> {
        self.all(&format!("{LINK} ORDER BY id"), link)
    }

    fn put_link(&self, link: &Link, token: Digest) -> Result<(), StoreError> {
        let Link { id, job, since_s, ends_s, is_withdrawn } = link;
        let sql = "INSERT INTO link (id, job, since_s, ends_s, is_withdrawn, token) VALUES (?1, ?2, ?3, ?4, ?5, ?6)";
        let values = params![id.to_string(), job.to_string(), since_s, ends_s, is_withdrawn, token.to_string()];
        self.change(|connection| Ok(connection.execute(sql, values).map(drop)?))
    }

    fn link(&self, token: Digest) -> Result<Option<Link>, StoreError> {
        self.one(&format!("{LINK} WHERE token = ?1"), &token.to_string(), link)
    }

    fn withdraw(&self, link: Id) -> Result<(), StoreError> {
        let sql = "UPDATE link SET is_withdrawn = 1 WHERE id = ?1";
        self.change(|connection| Ok(connection.execute(sql, [link.to_string()]).map(drop)?))
    }
}

fn damaged(what: &dyn std::fmt::Display) -> StoreError {
    StoreError::Damaged(what.to_string())
}

/// A column that was written as an id, a hash or a role.
fn read<T: std::str::FromStr<Err: std::fmt::Display>>(row: &Row<'_>, column: usize) -> Result<T, StoreError> {
    row.get::<_, String>(column)?.parse().map_err(|error: T::Err| damaged(&error))
}

fn person(row: &Row<'_>) -> Result<Person, StoreError> {
    let secret = row.get::<_, Option<String>>(3)?.map(Kept::of);
    Ok(Person { id: read(row, 0)?, name: row.get(1)?, role: read(row, 2)?, secret, since_s: row.get(4)?, removed_s: row.get(5)? })
}

fn device(row: &Row<'_>) -> Result<Device, StoreError> {
    Ok(Device {
        id: read(row, 0)?,
        name: row.get(1)?,
        is_shared: row.get(2)?,
        person: read(row, 3)?,
        since_s: row.get(4)?,
        signed_in_s: row.get(5)?,
        active_s: row.get(6)?,
        is_locked: row.get(7)?,
    })
}

fn link(row: &Row<'_>) -> Result<Link, StoreError> {
    Ok(Link { id: read(row, 0)?, job: read(row, 1)?, since_s: row.get(2)?, ends_s: row.get(3)?, is_withdrawn: row.get(4)? })
}

fn is_known(connection: &Connection, device: Id) -> Result<bool, StoreError> {
    Ok(connection.query_row("SELECT 1 FROM device WHERE id = ?1", [device.to_string()], |_| Ok(())).optional()?.is_some())
}

fn is_removed(connection: &Connection, person: Id) -> Result<bool, StoreError> {
    let sql = "SELECT 1 FROM person WHERE id = ?1 AND removed_s IS NOT NULL";
    Ok(connection.query_row(sql, [person.to_string()], |_| Ok(())).optional()?.is_some())
}

/// Keeps another secret of somebody who is there: nothing else of them changes by a sign-in. False where there is nobody.
fn keep_secret(connection: &Connection, person: &Person) -> Result<bool, StoreError> {
    let sql = "UPDATE person SET secret = ?2 WHERE id = ?1";
    Ok(connection.execute(sql, params![person.id.to_string(), person.secret.as_ref().map(Kept::text)])? > 0)
}

/// False where somebody else who was not removed has the name.
fn put_person(connection: &Connection, person: &Person) -> Result<bool, StoreError> {
    let Person { id, name, role, secret, since_s, removed_s } = person;
    let sql = "INSERT INTO person (id, name, role, secret, since_s, removed_s) VALUES (?1, ?2, ?3, ?4, ?5, ?6)
        ON CONFLICT (id) DO UPDATE SET name = ?2, role = ?3, secret = ?4, removed_s = ?6";
    let values = params![id.to_string(), name, role.to_string(), secret.as_ref().map(Kept::text), since_s, removed_s];
    match connection.execute(sql, values) {
        Err(error) if error.sqlite_error_code() == Some(ErrorCode::ConstraintViolation) => Ok(false),
        put => Ok(put.map(|_| true)?),
    }
}

fn put_device(connection: &Connection, device: &Device, token: Digest) -> Result<(), StoreError> {
    let Device { id, name, is_shared, person, since_s, signed_in_s, active_s, is_locked } = device;
    let (id, person) = (id.to_string(), person.to_string());
    let sql = "INSERT INTO device (id, name, is_shared, person, since_s, signed_in_s, active_s, is_locked, token)
        VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)
        ON CONFLICT (id) DO UPDATE SET name = ?2, is_shared = ?3, person = ?4, signed_in_s = ?6, active_s = ?7, is_locked = ?8, token = ?9, previous = token";
    connection.execute(sql, params![id, name, is_shared, person, since_s, signed_in_s, active_s, is_locked, token.to_string()])?;
    connection.execute("INSERT OR IGNORE INTO been_at (device, person) VALUES (?1, ?2)", [id, person])?;
    Ok(())
}
