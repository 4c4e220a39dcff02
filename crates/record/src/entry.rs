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

impl Entry {
    /// The hash that the first entry of a record names as the one before it.
    pub const NOTHING: Digest = NOTHING;

    /// The entry of an event behind another that has the number `seq - 1` and the hash `previous`.
    ///
    /// # Errors
    /// [`Refusal::NotJson`], which no sealed event is.
    pub fn after(previous: Digest, seq: u64, received: When, sealed: &Sealed) -> Result<Self, Refusal> {
        let hash = hash_of(sealed.bytes(), previous, &received, seq)?;
        Ok(Self { seq, received, previous, event: sealed.event().clone(), hash })
    }

    /// The hash that the entry should have.
    ///
    /// # Errors
    /// [`Refusal::NotJson`], which no event that was read is.
    pub fn computed_hash(&self) -> Result<Digest, Refusal> {
        self.hash_with(&canonical(&self.event)?)
    }

    /// The same, by its event's canonical bytes.
    pub(crate) fn hash_with(&self, event: &[u8]) -> Result<Digest, Refusal> {
        hash_of(event, self.previous, &self.received, self.seq)
    }

    /// The job that it belongs to.
    #[must_use]
    pub const fn job(&self) -> Id {
        self.event.job
    }
}

/// What is hashed is the canonical form of the entry without its hash. The event's is put into it as it is, since writing it costs the most by far: the names are in
/// their order, and a hash and a number need no escape.
fn hash_of(event: &[u8], previous: Digest, received: &When, seq: u64) -> Result<Digest, Refusal> {
    let received = canonical(received)?;
    let previous = previous.to_string();
    let seq = seq.to_string();
    let parts: [&[u8]; 9] = [
        b"{\"event\":",
        event,
        b",\"previous\":\"",
        previous.as_bytes(),
        b"\",\"received\":",
        &received,
        b",\"seq\":",
        seq.as_bytes(),
        b"}",
    ];
    Ok(sha256(&parts.concat()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_hashed_is_the_canonical_form_of_the_entry_without_its_hash() {
        let json = r#"{"id":"018f3a5e-7c1b-7d2e-9a41-5b6c7d8e9f00","job":"018f3a5e-7c1b-7d2e-9a41-5b6c7d8e9f01","when":"2024-05-01T09:30:00+02:00","device":"018f3a5e-7c1b-7d2e-9a41-5b6c7d8e9f02",
            "who":"J. \"Ä\"","body":{"kind":"noted","text":"tab\t, line\n, \u0001, \u20ac, \ud83d\ude00"}}"#;
        let sealed = Sealed::read(json.as_bytes()).unwrap();
        let entry = Entry::after(sha256(b"before"), 4_294_967_297, "2024-05-01T07:30:01.250Z".parse().unwrap(), &sealed).unwrap();
        let mut value = serde_json::to_value(&entry).unwrap();
        value.as_object_mut().unwrap().remove("hash");
        assert_eq!(entry.hash, sha256(&canonical(&value).unwrap()));
        assert_eq!(entry.computed_hash(), Ok(entry.hash));
    }
}
