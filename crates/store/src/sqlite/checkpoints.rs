//! Checkpoints of records: kept as they were signed, each row with the hash of the one before.

use std::collections::BTreeMap;

use lastmicron_job::event::{Digest, Id};
use lastmicron_record::{Checkpoint, Entry, Keys, Note, Tree, sha256};
use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};

use super::rows;
use crate::error::StoreError;
use crate::report::{Damage, Report};
use crate::store::KeptCheckpoint;

/// What the note says, when one of the keys has signed it and it is of a record that is here as it was signed.
pub(super) fn held(connection: &Connection, note: &Note, keys: &Keys) -> Result<Checkpoint, StoreError> {
    let refused = |why: &dyn std::fmt::Display| StoreError::NotHeld(why.to_string());
    let checkpoint = Checkpoint::open(note, keys.all()).map_err(|why| refused(&why))?;
    let tree = tree(connection, checkpoint.job)?;
    checkpoint.holds_for(checkpoint.job, &tree).map_err(|why| refused(&why))?;
    Ok(checkpoint)
}

/// Keeps a note that [`held`] has looked at; one that is there already stays as it is.
pub(super) fn keep(connection: &mut Connection, job: Id, checkpoint: &KeptCheckpoint) -> Result<(), StoreError> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let KeptCheckpoint { note, keys, kept } = checkpoint;
    let (job, note, keys) = (job.to_string(), note.to_string(), keys.to_string());
    let is_there = transaction.query_row("SELECT 1 FROM checkpoint WHERE job = ?1 AND note = ?2", [&job, &note], |_| Ok(())).optional()?;
    if is_there.is_none() {
        let last = transaction
            .query_row("SELECT number, hash FROM checkpoint ORDER BY number DESC LIMIT 1", [], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?;
        let (before, previous): (i64, String) = last.unwrap_or_else(|| (0, Entry::NOTHING.to_string()));
        let hash = hash(before + 1, &previous, [&job, kept.as_str(), &keys, &note]).to_string();
        transaction
            .prepare_cached("INSERT INTO checkpoint (number, job, note, keys, kept, hash) VALUES (?1, ?2, ?3, ?4, ?5, ?6)")?
            .execute(params![before + 1, job, note, keys, kept.as_str(), hash])?;
    }
    Ok(transaction.commit()?)
}

/// Those of a job, in the order in which they were kept.
pub(super) fn of(connection: &Connection, job: Id) -> Result<Vec<KeptCheckpoint>, StoreError> {
    let mut statement = connection.prepare_cached("SELECT note, keys, kept FROM checkpoint WHERE job = ?1 ORDER BY number")?;
    let mut rows = statement.query([job.to_string()])?;
    let mut found = Vec::new();
    while let Some(row) = rows.next()? {
        let [note, keys, kept_at] = [0, 1, 2].map(|column| row.get::<_, String>(column));
        found.push(kept(&note?, &keys?, &kept_at?)?);
    }
    Ok(found)
}

/// Looks at all of them: that each stands as it was kept, that one of its keys has signed it, and that the record which it is of still has what was signed.
pub(super) fn look(connection: &Connection, report: &mut Report) -> Result<(), StoreError> {
    let mut statement = connection.prepare("SELECT number, job, note, keys, kept, hash FROM checkpoint NOT INDEXED ORDER BY number")?;
    let mut rows = statement.query([])?;
    let mut previous = Entry::NOTHING.to_string();
    let mut trees: BTreeMap<Id, Option<Tree>> = BTreeMap::new();
    for next in 1_i64.. {
        let Some(row) = rows.next()? else { break };
        let number: i64 = row.get(0)?;
        let [job, note, keys, kept_at, hashed] = [1, 2, 3, 4, 5].map(|column| row.get::<_, String>(column));
        let (job, note, keys, kept_at, hashed) = (job?, note?, keys?, kept_at?, hashed?);
        report.checkpoints += 1;
        let damaged = |what: String| Damage::Checkpoint { number: next, what };
        if number != next || hash(number, &previous, [&job, &kept_at, &keys, &note]).to_string() != hashed {
            report.damage.push(damaged("it is not as it was kept, or the one before it is not there".to_owned()));
            return Ok(());
        }
        previous = hashed;
        let kept = kept(&note, &keys, &kept_at)?;
        let job = job.parse().map_err(|_| StoreError::Damaged(format!("a checkpoint of a job with the id {job}")))?;
        // A record that can't be read is found where records are looked at.
        let tree = trees.entry(job).or_insert_with(|| tree(connection, job).ok());
        let Some(tree) = tree else { continue };
        match Checkpoint::open(&kept.note, kept.keys.all()).map(|checkpoint| checkpoint.holds_for(job, tree)) {
            Ok(Ok(())) => {}
            Ok(Err(why)) => report.damage.push(damaged(why.to_string())),
            Err(why) => report.damage.push(damaged(why.to_string())),
        }
    }
    Ok(())
}

fn tree(connection: &Connection, job: Id) -> Result<Tree, StoreError> {
    Tree::of(&rows::events(connection, job, 1)?).map_err(|refusal| StoreError::Damaged(refusal.to_string()))
}

fn kept(note: &str, keys: &str, at: &str) -> Result<KeptCheckpoint, StoreError> {
    let damaged = |why: &dyn std::fmt::Display| StoreError::Damaged(format!("a checkpoint: {why}"));
    Ok(KeptCheckpoint {
        note: note.parse().map_err(|why| damaged(&why))?,
        keys: keys.parse().map_err(|why| damaged(&why))?,
        kept: at.parse().map_err(|why| damaged(&why))?,
    })
}

/// Of job, time, keys and note; how long the keys are is in it, so that none of it can be taken for its neighbour's.
fn hash(number: i64, previous: &str, [job, kept, keys, note]: [&str; 4]) -> Digest {
    sha256(format!("{number}\n{previous}\n{job}\n{kept}\n{}\n{keys}{note}", keys.len()).as_bytes())
}
