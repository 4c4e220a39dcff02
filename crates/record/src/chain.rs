//! Whether a record is as it was written.

use std::collections::BTreeSet;

use lastmicron_job::event::{Digest, Id};

use crate::canonical::canonical;
use crate::entry::Entry;

/// The end of a record: how many entries it has, and the hash of the last. Kept apart from the record, it shows that none was taken off the end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Head {
    /// The number of the last entry; 0 for none.
    pub seq: u64,
    /// Its hash.
    pub hash: Digest,
}

impl Head {
    /// Of a record without entries.
    pub const NONE: Self = Self { seq: 0, hash: Entry::NOTHING };

    /// Of a record that ends with this entry.
    #[must_use]
    pub const fn of(entry: &Entry) -> Self {
        Self { seq: entry.seq, hash: entry.hash }
    }
}

/// What is wrong with an entry.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Break {
    /// Another number than the next: entries are missing, doubled, or in another order.
    #[error("it has the number {found}")]
    Number {
        /// The number it has.
        found: u64,
    },
    /// An entry of another job.
    #[error("it belongs to the job {found}")]
    Job {
        /// That job.
        found: Id,
    },
    /// It names another entry before it than the one there is.
    #[error("it does not follow the entry before it: that one, or this one, was changed")]
    Previous,
    /// Its hash is not that of what it says.
    #[error("its hash is not that of what it says: it was changed")]
    Hash,
    /// Two events of one id.
    #[error("an event before it has the same id, {0}")]
    Doubled(Id),
    /// The record ends elsewhere than its head says.
    #[error("the record ends here, and should end with {wanted}")]
    End {
        /// The number of the last entry, as the head says.
        wanted: u64,
    },
    /// What stands there can't be read.
    #[error("it can't be read: {0}")]
    Unreadable(String),
}

/// The first place at which a record is not as it was written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("entry {seq} is not as it was written: {what}")]
pub struct Broken {
    /// The number at which it should stand.
    pub seq: u64,
    /// What is wrong.
    pub what: Break,
}

/// Checks the record of one job, entry by entry, from the first.
#[derive(Debug)]
pub struct Checker {
    job: Id,
    head: Head,
    ids: BTreeSet<Id>,
}

impl Checker {
    /// At the beginning of a job's record.
    #[must_use]
    pub const fn new(job: Id) -> Self {
        Self { job, head: Head::NONE, ids: BTreeSet::new() }
    }

    /// Takes the next entry.
    ///
    /// # Errors
    /// The entry, and what is wrong with it.
    pub fn take(&mut self, entry: &Entry) -> Result<(), Broken> {
        let event = canonical(&entry.event).map_err(|_| Broken { seq: self.head.seq + 1, what: Break::Hash })?;
        self.take_as(entry, &event)
    }

    /// Takes the next entry, whose event is kept as this text: that it is the event's canonical one is looked at too, since an event that is sent again is known by it.
    ///
    /// # Errors
    /// As [`take`](Self::take).
    pub fn take_kept(&mut self, entry: &Entry, text: &str) -> Result<(), Broken> {
        let event = canonical(&entry.event).ok().filter(|event| event == text.as_bytes());
        self.take_as(entry, &event.ok_or(Broken { seq: self.head.seq + 1, what: Break::Hash })?)
    }

    fn take_as(&mut self, entry: &Entry, event: &[u8]) -> Result<(), Broken> {
        let seq = self.head.seq + 1;
        let broken = |what| Err(Broken { seq, what });
        if entry.seq != seq {
            return broken(Break::Number { found: entry.seq });
        }
        if entry.job() != self.job {
            return broken(Break::Job { found: entry.job() });
        }
        if entry.previous != self.head.hash {
            return broken(Break::Previous);
        }
        if entry.hash_with(event) != Ok(entry.hash) {
            return broken(Break::Hash);
        }
        if !self.ids.insert(entry.event.id) {
            return broken(Break::Doubled(entry.event.id));
        }
        self.head = Head { seq, hash: entry.hash };
        Ok(())
    }

    /// The end of what was taken.
    #[must_use]
    pub const fn head(&self) -> Head {
        self.head
    }

    /// Whether the record ends where a head kept apart says.
    ///
    /// # Errors
    /// The last entry, when it does not.
    pub fn ends_at(&self, wanted: Head) -> Result<(), Broken> {
        if self.head == wanted { Ok(()) } else { Err(Broken { seq: self.head.seq, what: Break::End { wanted: wanted.seq } }) }
    }
}

/// Checks a whole record of one job, and gives its end.
///
/// A chain alone shows what was changed by whoever can't write all of it anew; that nothing was taken off the end, or written anew from somewhere on,
/// shows only against a [`Head`] kept elsewhere, like the one printed on a document.
///
/// # Errors
/// The first entry that is not as it was written.
pub fn verify<'e>(entries: impl IntoIterator<Item = &'e Entry>) -> Result<Head, Broken> {
    let mut entries = entries.into_iter();
    let Some(first) = entries.next() else { return Ok(Head::NONE) };
    let mut checker = Checker::new(first.job());
    checker.take(first)?;
    for entry in entries {
        checker.take(entry)?;
    }
    Ok(checker.head())
}
