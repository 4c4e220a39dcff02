//! What a store does, whatever it keeps its rows in.

use std::collections::BTreeSet;

use lastmicron_job::event::{Digest, Id, When};
use lastmicron_record::{Entry, Head, Keys, Note, Refusal, Sealed};

use crate::error::StoreError;
use crate::parts::{Part, Parted, There};
use crate::report::Report;
use crate::room::Room;

/// That an event is in the record, and where: the same however often it is sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Receipt {
    /// The event.
    pub id: Id,
    /// The job that it belongs to.
    pub job: Id,
    /// The SHA-256 of its canonical bytes: who sent it can tell that it is this event that was taken.
    pub event: Digest,
    /// Its number in the record of its job.
    pub seq: u64,
    /// When it was first taken.
    pub received: When,
    /// The hash of its entry.
    pub hash: Digest,
}

/// What became of one event.
pub type Outcome = Result<Receipt, Refusal>;

/// A checkpoint of a record, with the keys that it is checked by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeptCheckpoint {
    /// As it was signed.
    pub note: Note,
    /// The workshop's public keys then.
    pub keys: Keys,
    /// When it was kept, by the clock here.
    pub kept: When,
}

/// Records of jobs, and what is kept beside them.
///
/// Calls block until they are done; any thread may make them.
pub trait Store: Send + Sync {
    /// Takes events into the records of their jobs, in this order, and gives what became of each. When this returns, what was taken is on the disk.
    ///
    /// An event that is there already gives the receipt that it gave first; another event under its id is refused, and changes nothing.
    /// `received` is the time here, by which a device's clock can be judged. Taking no events tells whether some could be.
    ///
    /// # Errors
    /// [`StoreError`] when none of them was taken.
    fn append(&self, events: Vec<Sealed>, received: When) -> Result<Vec<Outcome>, StoreError>;

    /// The entries of a job from a number on, in order; none for a job that is not there.
    ///
    /// # Errors
    /// [`StoreError`]; [`StoreError::Damaged`] for an entry that can't be read.
    fn events(&self, job: Id, from: u64) -> Result<Vec<Entry>, StoreError>;

    /// Every job, with the end of its record, in the order of their ids, which is that of their making.
    ///
    /// # Errors
    /// [`StoreError`].
    fn jobs(&self) -> Result<Vec<(Id, Head)>, StoreError>;

    /// Keeps bytes (a photograph, a plan, a sheet with somebody's name) under their SHA-256. When this returns, they are on the disk.
    ///
    /// # Errors
    /// [`StoreError`]; [`StoreError::TooLarge`] beyond [`MOST_KEPT_BYTES`](crate::MOST_KEPT_BYTES).
    fn keep(&self, bytes: &[u8]) -> Result<Digest, StoreError>;

    /// Takes a part of bytes that come in parts, in their order; with the last they are kept as [`keep`](Self::keep) keeps them, if they have the hash that was said, and
    /// thrown away else. What nobody goes on with for a week, by the times given as `received`, is thrown away.
    ///
    /// # Errors
    /// [`StoreError`]; [`StoreError::TooLarge`] for more bytes than were said, or than are kept.
    fn keep_part(&self, part: Part<'_>, received: &When) -> Result<Parted, StoreError>;

    /// How much of the bytes of that hash is there.
    ///
    /// # Errors
    /// [`StoreError`].
    fn there(&self, digest: Digest) -> Result<There, StoreError>;

    /// The bytes of that hash; none where they are not, or not yet, there.
    ///
    /// # Errors
    /// [`StoreError::Damaged`] for bytes that have another hash by now.
    fn kept(&self, digest: Digest) -> Result<Option<Vec<u8>>, StoreError>;

    /// Erases a sheet that some entry names, whose person wants it gone, and says whether it was there. The record stays as it is: it has only the hash. That it was erased is noted,
    /// so that it is not waited for, and that [`bring_in`](crate::bring_in) leaves it out. What somebody keeps anew under that hash is there again.
    ///
    /// # Errors
    /// [`StoreError`].
    fn erase(&self, digest: Digest) -> Result<bool, StoreError>;

    /// The sheets that were erased and are not here.
    ///
    /// # Errors
    /// [`StoreError`].
    fn erased(&self) -> Result<BTreeSet<Digest>, StoreError>;

    /// Keeps what was signed of a record that is here, once; it is never taken away. Whose keys they are, the caller has to know.
    ///
    /// # Errors
    /// [`StoreError`]; [`StoreError::NotHeld`] for a note that is no checkpoint, is signed by none of the keys, or is not of a record here as it stands.
    fn keep_checkpoint(&self, checkpoint: KeptCheckpoint) -> Result<(), StoreError>;

    /// The checkpoints of a job, in the order in which they were kept.
    ///
    /// # Errors
    /// [`StoreError`].
    fn checkpoints(&self, job: Id) -> Result<Vec<KeptCheckpoint>, StoreError>;

    /// Whether something is taken now, and whether there is room for long.
    ///
    /// # Errors
    /// Why nothing is: [`StoreError::Low`], [`StoreError::Damaged`], [`StoreError::OnlyRead`].
    fn room(&self) -> Result<Room, StoreError>;

    /// Looks at the newest jobs' chains, one after the other, until it has seen so many entries. When damage is found, nothing more is taken.
    ///
    /// # Errors
    /// [`StoreError`] when it could not look.
    fn verify_newest(&self, entries: u64) -> Result<Report, StoreError>;

    /// Looks at everything: every chain, every end, every checkpoint, every way by which an entry is found, every reference, everything kept. When damage is found, nothing
    /// more is taken.
    ///
    /// # Errors
    /// [`StoreError`] when it could not look.
    fn verify(&self) -> Result<Report, StoreError>;
}
