//! Records taken out of a store and brought into another.

use std::collections::BTreeSet;

use lastmicron_job::event::{Digest, Id, When};
use lastmicron_record::{Bundle, Refusal, Sealed, sha256};

use crate::error::StoreError;
use crate::store::Store;

/// Events that are taken in at once.
const AT_ONCE: usize = 500;

/// The record of a job with what is kept beside it; none where there is no such job.
///
/// # Errors
/// [`StoreError`].
pub fn take_out(store: &dyn Store, job: Id) -> Result<Option<Bundle>, StoreError> {
    let entries = store.events(job, 1)?;
    if entries.is_empty() {
        return Ok(None);
    }
    let mut named: Vec<Digest> = entries.iter().flat_map(|entry| entry.event.body.references()).collect();
    named.sort_unstable();
    named.dedup();
    let kept = named.into_iter().map(|digest| store.kept(digest)).filter_map(Result::transpose).collect::<Result<_, _>>()?;
    Ok(Some(Bundle { entries, kept }))
}

/// What became of a record that was brought in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BroughtIn {
    /// The job.
    pub job: Id,
    /// Events of it that are in the store now.
    pub events: usize,
    /// Of these, the ones that were not there before.
    pub new: usize,
    /// Events that are not in it: another event of the same id says something else, or they are longer than any may be.
    pub refused: usize,
    /// Sheets in it that were erased here, and were left out.
    pub left_out: usize,
    /// Whether the record ends here as it did where it comes from: not so where other events of the job were here already.
    pub same: bool,
}

/// Brings a record in. In a store without that job it becomes the same record, hash for hash; events that are there already are left as they are. A sheet that was
/// erased in this store stays so: whoever wanted it gone did not want it back from an older file.
///
/// # Errors
/// [`StoreError`]; what was brought in before it stays.
pub fn bring_in(store: &dyn Store, bundle: &Bundle) -> Result<Option<BroughtIn>, StoreError> {
    let Some((first, last)) = bundle.entries.first().zip(bundle.entries.last()) else { return Ok(None) };
    let (erased, mut left_out) = (store.erased()?, 0);
    // What is named must be there before the event that names it.
    for kept in &bundle.kept {
        if erased.contains(&sha256(kept)) {
            left_out += 1;
        } else {
            store.keep(kept)?;
        }
    }
    let before: BTreeSet<Id> = store.events(first.job(), 1)?.into_iter().map(|entry| entry.event.id).collect();
    let (mut events, mut new, mut refused, mut hash) = (0, 0, 0, None);
    // Each with the time at which it was first taken down, which its hash covers.
    for together in bundle.entries.chunk_by(|a, b| a.received == b.received) {
        let sealed: Vec<Sealed> = together.iter().filter_map(|entry| Sealed::seal(entry.event.clone()).ok()).collect();
        refused += together.len() - sealed.len();
        for outcome in store.append(sealed, together[0].received.clone())? {
            match outcome {
                Ok(receipt) => {
                    events += 1;
                    new += usize::from(!before.contains(&receipt.id));
                    hash = Some(receipt.hash);
                }
                Err(_) => refused += 1,
            }
        }
    }
    let same = refused == 0 && hash == Some(last.hash);
    Ok(Some(BroughtIn { job: first.job(), events, new, refused, left_out, same }))
}

/// What became of events that waited on a device.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TakenIn {
    /// The jobs that they belong to, each once.
    pub jobs: Vec<Id>,
    /// Events that are in the store now.
    pub events: usize,
    /// Why others are not: another event has their id.
    pub refused: Vec<Refusal>,
}

/// Takes in events that waited on a device, from the file that it saved: those that are there already are left as they are.
///
/// # Errors
/// [`StoreError`]; what was taken in before it stays.
pub fn take_in(store: &dyn Store, events: &[Sealed], received: &When) -> Result<TakenIn, StoreError> {
    let mut taken = TakenIn::default();
    for together in events.chunks(AT_ONCE) {
        for outcome in store.append(together.to_vec(), received.clone())? {
            match outcome {
                Ok(receipt) => {
                    taken.events += 1;
                    taken.jobs.push(receipt.job);
                }
                Err(refusal) => taken.refused.push(refusal),
            }
        }
    }
    taken.jobs.sort_unstable();
    taken.jobs.dedup();
    Ok(taken)
}
