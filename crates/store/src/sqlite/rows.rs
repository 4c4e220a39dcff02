//! Rows as entries, and entries as rows.

use lastmicron_job::event::{Digest, Id};
use lastmicron_record::{Entry, Head, Sealed};
use rusqlite::{Connection, OptionalExtension, Row, params};

use crate::error::StoreError;
use crate::store::Receipt;

/// The columns that make an entry, in the order in which [`entry`] reads them.
pub(super) const ENTRY: &str = "SELECT seq, received, previous, event, hash FROM entry";

/// An entry from its row, and its event's text as it stands there.
pub(super) fn entry(row: &Row<'_>) -> Result<(Entry, String), StoreError> {
    let text = |column: usize| row.get::<_, String>(column).map_err(|error| damaged(&error));
    let event = text(3)?;
    let entry = Entry {
        seq: row.get::<_, i64>(0).ok().and_then(|seq| u64::try_from(seq).ok()).ok_or_else(|| damaged(&"a number below 1"))?,
        received: text(1)?.parse().map_err(|error| damaged(&error))?,
        previous: text(2)?.parse().map_err(|error| damaged(&error))?,
        event: serde_json::from_str(&event).map_err(|error| damaged(&error))?,
        hash: text(4)?.parse().map_err(|error| damaged(&error))?,
    };
    Ok((entry, event))
}

fn damaged(what: &dyn std::fmt::Display) -> StoreError {
    StoreError::Damaged(what.to_string())
}

pub(super) fn events(connection: &Connection, job: Id, from: u64) -> Result<Vec<Entry>, StoreError> {
    let mut statement = connection.prepare_cached(&format!("{ENTRY} WHERE job = ?1 AND seq >= ?2 ORDER BY seq"))?;
    let mut rows = statement.query(params![job.to_string(), i64::try_from(from).unwrap_or(i64::MAX)])?;
    let mut entries = Vec::new();
    while let Some(row) = rows.next()? {
        let (entry, _) = entry(row).map_err(|error| match error {
            StoreError::Damaged(why) => StoreError::Damaged(format!("job {job}, entry {}: {why}", from.max(1) + entries.len() as u64)),
            other => other,
        })?;
        entries.push(entry);
    }
    Ok(entries)
}

pub(super) fn jobs(connection: &Connection) -> Result<Vec<(Id, Head)>, StoreError> {
    let mut statement = connection.prepare_cached("SELECT job, seq, hash FROM head ORDER BY job")?;
    let mut rows = statement.query([])?;
    let mut jobs = Vec::new();
    while let Some(row) = rows.next()? {
        let job = row.get::<_, String>(0).map_err(|error| damaged(&error))?.parse().map_err(|error| damaged(&error))?;
        jobs.push((job, head(row, 1)?));
    }
    Ok(jobs)
}

/// An end from two columns of its row.
fn head(row: &Row<'_>, first: usize) -> Result<Head, StoreError> {
    let seq = row.get::<_, i64>(first).ok().and_then(|seq| u64::try_from(seq).ok()).ok_or_else(|| damaged(&"a number below 0"))?;
    let hash: Digest = row.get::<_, String>(first + 1).map_err(|error| damaged(&error))?.parse().map_err(|error| damaged(&error))?;
    Ok(Head { seq, hash })
}

/// The end of a job's record.
pub(super) fn head_of(connection: &Connection, job: Id) -> Result<Head, StoreError> {
    let mut statement = connection.prepare_cached("SELECT seq, hash FROM head WHERE job = ?1")?;
    let mut rows = statement.query([job.to_string()])?;
    rows.next()?.map_or(Ok(Head::NONE), |row| head(row, 0))
}

/// What became of the event of that id when it was taken, and its bytes; none where it was not.
pub(super) fn taken(connection: &Connection, sealed: &Sealed) -> Result<Option<(Receipt, String)>, StoreError> {
    let id = sealed.event().id;
    let mut statement = connection.prepare_cached(&format!("{ENTRY} WHERE id = ?1"))?;
    let found = statement.query_row([id.to_string()], |row| Ok(entry(row))).optional()?.transpose()?;
    Ok(found.map(|(entry, text)| (receipt(&entry, sealed), text)))
}

pub(super) fn receipt(entry: &Entry, sealed: &Sealed) -> Receipt {
    let received = entry.received.clone();
    Receipt { id: entry.event.id, job: entry.job(), event: sealed.digest(), seq: entry.seq, received, hash: entry.hash }
}

pub(super) fn insert(connection: &Connection, entry: &Entry, sealed: &Sealed) -> Result<(), StoreError> {
    let text = std::str::from_utf8(sealed.bytes()).map_err(|error| StoreError::Database(error.to_string()))?;
    let seq = i64::try_from(entry.seq).map_err(|error| StoreError::Database(error.to_string()))?;
    let (job, hash) = (entry.job().to_string(), entry.hash.to_string());
    connection
        .prepare_cached("INSERT INTO entry (id, job, seq, received, previous, event, hash) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)")?
        .execute(params![entry.event.id.to_string(), job, seq, entry.received.as_str(), entry.previous.to_string(), text, hash])?;
    connection
        .prepare_cached("INSERT INTO head (job, seq, hash) VALUES (?1, ?2, ?3) ON CONFLICT (job) DO UPDATE SET seq = ?2, hash = ?3")?
        .execute(params![job, seq, hash])?;
    Ok(())
}
