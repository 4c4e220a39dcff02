//! What was signed of a record, as a handover carries it.

use lastmicron_job::event::Id;
use lastmicron_record::{Checkpoint, Entry, Keys, Note, PublicKey, Tree, leaf_hash};

/// Name under which a document carries the checkpoint.
pub const CHECKPOINT_FILE: &str = "checkpoint.txt";
/// Name under which a document carries the public keys.
pub const KEYS_FILE: &str = "keys.txt";

/// Longest text of public keys that is read, bytes. Judgement: 300 keys, each in the place of the one before, are 115 kB; larger, and a file could be made to take
/// minutes; smaller, and what a workshop with a new key every month hands over could not be checked after ten years.
const MOST_KEYS_BYTES: usize = 128 * 1024;

/// A checkpoint of a record, and who signed it.
#[derive(Clone, Debug, PartialEq)]
pub struct Signed {
    /// How much of the record it covers, and what that was.
    pub checkpoint: Checkpoint,
    /// The key that signed it.
    pub key: PublicKey,
    /// As it was signed.
    pub note: Note,
    /// The workshop's keys, from the first on.
    pub keys: Keys,
}

impl Signed {
    /// A note that one of the keys has signed, of a record as it stands.
    ///
    /// # Errors
    /// Why it is none, in a sentence.
    pub(crate) fn of(note: &Note, keys: &Keys, entries: &[Entry]) -> Result<Self, String> {
        let tree = Tree::of(entries).map_err(|error| error.to_string())?;
        Self::of_tree(note, keys, entries.first().map(Entry::job), &tree)
    }

    fn of_tree(note: &Note, keys: &Keys, job: Option<Id>, tree: &Tree) -> Result<Self, String> {
        let checkpoint = Checkpoint::open(note, &different(keys)).map_err(|error| error.to_string())?;
        checkpoint.holds_for(job.unwrap_or(checkpoint.job), tree).map_err(|error| error.to_string())?;
        let has_signed = |key: &&PublicKey| note.check(std::slice::from_ref(*key)).is_ok();
        let key = keys.all().iter().rfind(has_signed).ok_or("it is not signed by the key that is known")?;
        Ok(Self { checkpoint, key: key.clone(), note: note.clone(), keys: keys.clone() })
    }

    /// Whether it is to be believed by whoever knows these keys from elsewhere: one of them has signed it, or has been followed by the one that did.
    #[must_use]
    pub fn is_by(&self, known: &Keys) -> bool {
        let at = |key: &PublicKey| self.keys.all().iter().position(|other| other == key);
        let first_known = known.all().iter().filter_map(at).min();
        known.all().contains(&self.key) || first_known.zip(at(&self.key)).is_some_and(|(known, signed)| known <= signed)
    }
}

/// The keys without those that stand among them again: a note may be signed many times, and each signature is checked by each key of its name.
fn different(keys: &Keys) -> Vec<PublicKey> {
    let mut different: Vec<PublicKey> = Vec::new();
    for key in keys.all() {
        if !different.contains(key) {
            different.push(key.clone());
        }
    }
    different
}

/// Reads what is attached: a note and keys, and the lines of a record of this job. Its lines are what was signed as they stand, since entries are attached in their
/// canonical form; to write each anew would take longer than to read it.
pub(crate) fn read(note: &[u8], keys: &[u8], job: Option<Id>, record: &[u8]) -> Result<Signed, String> {
    if keys.len() > MOST_KEYS_BYTES {
        return Err(format!("the attached {KEYS_FILE} has {} bytes, and at most {MOST_KEYS_BYTES} are read", keys.len()));
    }
    let text = |bytes, name| std::str::from_utf8(bytes).map_err(|_| format!("the attached {name} is no text"));
    let note: Note = text(note, CHECKPOINT_FILE)?.parse().map_err(|error| format!("the attached {CHECKPOINT_FILE}: {error}"))?;
    let keys: Keys = text(keys, KEYS_FILE)?.parse().map_err(|error| format!("the attached {KEYS_FILE}: {error}"))?;
    let lines = record.split(|byte| *byte == b'\n').filter(|line| !line.is_empty());
    Signed::of_tree(&note, &keys, job, &Tree::of_leaves(lines.map(leaf_hash).collect()))
}

/// From which entry on a record is not signed, in a sentence; none where all of it is.
#[must_use]
pub fn unsigned_from(signed: Option<&Signed>, entries: u64) -> Option<String> {
    let covered = signed.map_or(0, |signed| signed.checkpoint.size);
    (covered < entries).then(|| format!("This record is unsigned from entry {} on.", covered + 1))
}
