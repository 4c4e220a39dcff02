//! A record's size and root, signed: what the workshop said that the record was. The text is that of C2SP's tlog-checkpoint.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use lastmicron_job::event::{Digest, Id};

use crate::chain::{Break, Broken, verify};
use crate::entry::Entry;
use crate::key::{PublicKey, SigningKey};
use crate::note::{NotSigned, Note};
use crate::tree::Tree;

/// What the first line begins with; the job follows. It stands for SHA-256 and leaves as docs/record.md has them: another way of hashing has another
/// beginning.
const ORIGIN: &str = "lastmicron/record/";

/// How many entries a job's record had, and the root of its tree then.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Checkpoint {
    /// The job.
    pub job: Id,
    /// How many entries.
    pub size: u64,
    /// The root of the tree that they make.
    pub root: Digest,
}

/// A note that is no checkpoint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotACheckpoint {
    /// Another text.
    #[error("this is not a checkpoint of a record: its first three lines are not a job, a number of entries and a root")]
    Text,
    /// Not to be believed.
    #[error("this checkpoint is not to be believed: {0}")]
    NotSigned(#[from] NotSigned),
}

/// Why a record is not the one that was signed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotHeld {
    /// The record of another job.
    #[error("the checkpoint is of the job {0}, and the record is another's")]
    Job(Id),
    /// Fewer entries.
    #[error("{signed} entries were signed, and there are {found}: some were taken off the end")]
    Short {
        /// How many were signed.
        signed: u64,
        /// How many there are.
        found: u64,
    },
    /// Other entries.
    #[error("the first {signed} entries are not the ones that were signed: the record was written anew from one of them on")]
    Root {
        /// How many were signed.
        signed: u64,
    },
}

impl Checkpoint {
    /// Of a record as it stands; none for one without entries.
    ///
    /// # Errors
    /// [`Broken`] for a record that is not as it was written: it is not to be signed.
    pub fn of(entries: &[Entry]) -> Result<Option<Self>, Broken> {
        let head = verify(entries)?;
        let Some(first) = entries.first() else { return Ok(None) };
        let tree = Tree::of(entries).map_err(|refusal| Broken { seq: head.seq, what: Break::Unreadable(refusal.to_string()) })?;
        Ok(Some(Self { job: first.job(), size: tree.size(), root: tree.root() }))
    }

    /// Signs it. The same key gives the same note, whenever it is asked for.
    #[must_use]
    pub fn sign(&self, key: &SigningKey) -> Note {
        Note::sign(&[&format!("{ORIGIN}{}", self.job), &self.size.to_string(), &STANDARD.encode(self.root.0)], &[key])
    }

    /// What a note says, whoever signed it: believe it as little as what is not signed.
    ///
    /// # Errors
    /// [`NotACheckpoint::Text`].
    pub fn read(note: &Note) -> Result<Self, NotACheckpoint> {
        Self::of_text(note.text()).ok_or(NotACheckpoint::Text)
    }

    /// What a note says that one of these keys has signed.
    ///
    /// # Errors
    /// [`NotACheckpoint`].
    pub fn open(note: &Note, keys: &[PublicKey]) -> Result<Self, NotACheckpoint> {
        note.check(keys)?;
        Self::read(note)
    }

    /// Whether the record of that job, as the tree of its entries, is still the one that was signed: it may have grown since.
    ///
    /// # Errors
    /// [`NotHeld`].
    pub fn holds_for(&self, job: Id, tree: &Tree) -> Result<(), NotHeld> {
        let signed = self.size;
        if job != self.job {
            return Err(NotHeld::Job(self.job));
        }
        match tree.root_at(signed) {
            Some(root) if root == self.root => Ok(()),
            Some(_) => Err(NotHeld::Root { signed }),
            None => Err(NotHeld::Short { signed, found: tree.size() }),
        }
    }

    fn of_text(text: &str) -> Option<Self> {
        let mut lines = text.strip_suffix('\n')?.split('\n');
        let job = lines.next()?.strip_prefix(ORIGIN)?.parse().ok()?;
        let digits = lines.next()?;
        // A number has one way of being written.
        let size = digits.parse().ok().filter(|size: &u64| size.to_string() == digits)?;
        let root = Digest(STANDARD.decode(lines.next()?).ok()?.try_into().ok()?);
        // What another program may have added is signed, and says nothing here.
        lines.all(|line| !line.is_empty()).then_some(Self { job, size, root })
    }
}
