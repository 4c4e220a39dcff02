//! One line of a record.

use lastmicron_job::event::{Digest, Event, Id, When};
use serde::{Deserialize, Serialize};

use crate::canonical::canonical;
use crate::hash::sha256;
use crate::refusal::Refusal;
use crate::sealed::Sealed;

/// The hash that stands before the first event.
const NOTHING: Digest = Digest([0; 32]);

/// An event at its place in the record of its job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Its number in the record of the job, from 1.
    pub seq: u64,
    /// When it was taken into the record, as the clock there said; the event has the device's.
    pub received: When,
    /// The hash of the entry before; 64 zeros for the first.
    pub previous: Digest,
    /// What happened.
    pub event: Event,
    /// The hash of all the above.
    pub hash: Digest,
}

/// What is hashed: the entry without its hash.
#[derive(Serialize)]
struct Link<'e> {
    event: &'e Event,
    previous: Digest,
    received: &'e When,
    seq: u64,
}

impl Entry {
    /// The hash that the first entry of a record names as the one before it.
    pub const NOTHING: Digest = NOTHING;

    /// The entry of an event behind another that has the number `seq - 1` and the hash `previous`.
    ///
    /// # Errors
    /// [`Refusal::NotJson`], which no sealed event is.
    pub fn after(previous: Digest, seq: u64, received: When, sealed: &Sealed) -> Result<Self, Refusal> {
        let event = sealed.event().clone();
        let hash = hash_of(&event, previous, &received, seq)?;
        Ok(Self { seq, received, previous, event, hash })
    }

    /// The hash that the entry should have.
    ///
    /// # Errors
    /// [`Refusal::NotJson`], which no event that was read is.
    pub fn computed_hash(&self) -> Result<Digest, Refusal> {
        hash_of(&self.event, self.previous, &self.received, self.seq)
    }

    /// The job that it belongs to.
    #[must_use]
    pub const fn job(&self) -> Id {
        self.event.job
    }
}

fn hash_of(event: &Event, previous: Digest, received: &When, seq: u64) -> Result<Digest, Refusal> {
    Ok(sha256(&canonical(&Link { event, previous, received, seq })?))
}
