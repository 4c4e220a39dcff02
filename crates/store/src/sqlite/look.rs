//! A look at everything.

use std::collections::{BTreeMap, BTreeSet};

use lastmicron_job::event::Id;
use lastmicron_record::{Break, Broken, Checker, Entry, Head};
use rusqlite::Connection;

use super::{checkpoints, erased, rows};
use crate::error::StoreError;
use crate::report::{Damage, References, Report};

/// Most lines of the database's own findings that are kept.
const MOST_LINES: usize = 20;

/// Looks at every record, and gives with the report what the events refer to.
///
/// The chains find what was changed in entries; the ends, what was lost at a record's end or whole; the look-ups by id, an index by which an
/// event might be taken twice; the database's own check, the rest of its structure.
pub(super) fn at_everything(connection: &Connection) -> Result<(Report, References), StoreError> {
    let mut report = Report::default();
    structure(connection, &mut report)?;
    let heads: BTreeMap<Id, Head> = rows::jobs(connection)?.into_iter().collect();
    let mut references = References::new();
    let jobs = jobs_with_entries(connection)?;
    for job in jobs.union(&heads.keys().copied().collect()) {
        report.jobs += 1;
        match heads.get(job) {
            Some(head) if jobs.contains(job) => record(connection, *job, *head, &mut report, &mut references)?,
            _ => report.damage.push(Damage::Job(*job)),
        }
    }
    let in_table: i64 = connection.query_row("SELECT count(*) FROM entry NOT INDEXED", [], |row| row.get(0))?;
    if u64::try_from(in_table) != Ok(report.entries) && report.damage.is_empty() {
        report.damage.push(Damage::Database(format!("{in_table} entries in the table, {} found by their jobs", report.entries)));
    }
    checkpoints::look(connection, &mut report)?;
    erased::look(connection, &references, &mut report)?;
    Ok((report, references))
}

/// Looks at the newest jobs' chains, one after the other, until so many entries were seen.
pub(super) fn at_newest(connection: &Connection, entries: u64) -> Result<Report, StoreError> {
    let mut report = Report::default();
    // The ids of jobs are in the order of their making.
    for (job, head) in rows::jobs(connection)?.into_iter().rev() {
        if report.entries >= entries {
            break;
        }
        report.jobs += 1;
        record(connection, job, head, &mut report, &mut References::new())?;
    }
    Ok(report)
}

fn structure(connection: &Connection, report: &mut Report) -> Result<(), StoreError> {
    let mut statement = connection.prepare(&format!("PRAGMA integrity_check({MOST_LINES})"))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let line: String = row.get(0)?;
        if line != "ok" {
            report.damage.push(Damage::Database(line));
        }
    }
    Ok(())
}

fn jobs_with_entries(connection: &Connection) -> Result<BTreeSet<Id>, StoreError> {
    let mut statement = connection.prepare("SELECT DISTINCT job FROM entry")?;
    let mut rows = statement.query([])?;
    let mut jobs = BTreeSet::new();
    while let Some(row) = rows.next()? {
        let job: String = row.get(0)?;
        jobs.insert(job.parse().map_err(|_| StoreError::Damaged(format!("a job with the id {job}")))?);
    }
    Ok(jobs)
}

fn record(connection: &Connection, job: Id, head: Head, report: &mut Report, references: &mut References) -> Result<(), StoreError> {
    let mut statement = connection.prepare_cached(&format!("{} WHERE job = ?1 ORDER BY seq", rows::ENTRY))?;
    let mut found = statement.query([job.to_string()])?;
    let mut checker = Checker::new(job);
    let mut broken = None;
    while let Some(row) = found.next()? {
        report.entries += 1;
        let next = checker.head().seq + 1;
        let checked = rows::entry(row).map_err(|error| Broken { seq: next, what: Break::Unreadable(error.to_string()) });
        let checked = checked.and_then(|(entry, text)| checker.take_kept(&entry, &text).map(|()| entry));
        match checked {
            Ok(entry) => {
                for named in entry.event.body.references() {
                    references.entry(named).or_insert((job, entry.seq));
                }
                if !is_found_by_id(connection, &entry)? {
                    report.damage.push(Damage::NotFound { job, seq: entry.seq });
                }
            }
            Err(what) => broken = broken.or(Some(what)),
        }
    }
    let broken = broken.or_else(|| checker.ends_at(head).err());
    report.damage.extend(broken.map(|broken| Damage::Record { job, broken }));
    Ok(())
}

fn is_found_by_id(connection: &Connection, entry: &Entry) -> Result<bool, StoreError> {
    let mut statement = connection.prepare_cached("SELECT job, seq FROM entry WHERE id = ?1")?;
    let mut rows = statement.query([entry.event.id.to_string()])?;
    let found = rows.next()?.map(|row| Ok::<_, rusqlite::Error>((row.get::<_, String>(0)?, row.get::<_, i64>(1)?))).transpose()?;
    Ok(found.is_some_and(|(job, seq)| job == entry.job().to_string() && u64::try_from(seq) == Ok(entry.seq)))
}
