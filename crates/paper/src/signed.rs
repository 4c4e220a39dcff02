//! What was signed of a record, as a handover carries it.

use lastmicron_record::{Checkpoint, Entry, Keys, Note, PublicKey, Tree};

/// Name under which a document carries the checkpoint.
pub const CHECKPOINT_FILE: &str = "checkpoint.txt";
/// Name under which a document carries the public keys.
pub const KEYS_FILE: &str = "keys.txt";

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
        let checkpoint = Checkpoint::open(note, keys.all()).map_err(|error| error.to_string())?;
        let tree = Tree::of(entries).map_err(|error| error.to_string())?;
        let job = entries.first().map_or(checkpoint.job, Entry::job);
        checkpoint.holds_for(job, &tree).map_err(|error| error.to_string())?;
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

/// Reads what is attached.
pub(crate) fn read(note: &[u8], keys: &[u8], entries: &[Entry]) -> Result<Signed, String> {
    let text = |bytes, name| std::str::from_utf8(bytes).map_err(|_| format!("the attached {name} is no text"));
    let note: Note = text(note, CHECKPOINT_FILE)?.parse().map_err(|error| format!("the attached {CHECKPOINT_FILE}: {error}"))?;
    let keys: Keys = text(keys, KEYS_FILE)?.parse().map_err(|error| format!("the attached {KEYS_FILE}: {error}"))?;
    Signed::of(&note, &keys, entries)
}

/// From which entry on a record is not signed, in a sentence; none where all of it is.
#[must_use]
pub fn unsigned_from(signed: Option<&Signed>, entries: u64) -> Option<String> {
    let covered = signed.map_or(0, |signed| signed.checkpoint.size);
    (covered < entries).then(|| format!("This record is unsigned from entry {} on.", covered + 1))
}
