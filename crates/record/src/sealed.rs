//! An event with its canonical bytes.

use lastmicron_job::event::{Digest, Event};
use serde_json::Value;

use crate::canonical::canonical;
use crate::hash::sha256;
use crate::refusal::{LONGEST_TEXT, MOST_EVENT_BYTES, Refusal};

/// An event that may be recorded, and the bytes by which it is known: two texts that differ in white space, in the order of members, or in members
/// of `null` are the same event.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sealed {
    event: Event,
    bytes: Vec<u8>,
}

impl Sealed {
    /// Reads an event from JSON.
    ///
    /// # Errors
    /// [`Refusal`] for what is no event or beyond what one may hold.
    pub fn read(json: &[u8]) -> Result<Self, Refusal> {
        // Canonical bytes are never longer than what they were read from by more than the escaping of controls: no need to parse a megabyte.
        if json.len() > 2 * MOST_EVENT_BYTES {
            return Err(Refusal::TooLarge { found: json.len() });
        }
        let event = serde_json::from_slice(json).map_err(|error| Refusal::NotJson(error.to_string()))?;
        Self::seal(event)
    }

    /// Takes an event.
    ///
    /// # Errors
    /// [`Refusal`] for one that holds more than one may.
    pub fn seal(event: Event) -> Result<Self, Refusal> {
        let value = serde_json::to_value(&event).map_err(|error| Refusal::NotJson(error.to_string()))?;
        long_text(&value, &mut String::new())?;
        let bytes = canonical(&value)?;
        if bytes.len() > MOST_EVENT_BYTES {
            return Err(Refusal::TooLarge { found: bytes.len() });
        }
        Ok(Self { event, bytes })
    }

    /// The event.
    #[must_use]
    pub const fn event(&self) -> &Event {
        &self.event
    }

    /// Its canonical bytes: UTF-8.
    #[must_use]
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The SHA-256 of its canonical bytes.
    #[must_use]
    pub fn digest(&self) -> Digest {
        sha256(&self.bytes)
    }
}

/// Refuses a text that is too long, with the JSON pointer to it.
fn long_text(value: &Value, place: &mut String) -> Result<(), Refusal> {
    let mut within = |step: &dyn std::fmt::Display, value: &Value| {
        let length = place.len();
        place.push_str(&format!("/{step}"));
        let found = long_text(value, place);
        place.truncate(length);
        found
    };
    match value {
        Value::String(text) => {
            let found = text.chars().count();
            if found > LONGEST_TEXT { Err(Refusal::LongText { place: place.clone(), found }) } else { Ok(()) }
        }
        Value::Array(items) => items.iter().enumerate().try_for_each(|(i, item)| within(&i, item)),
        Value::Object(members) => members.iter().try_for_each(|(name, member)| within(name, member)),
        Value::Null | Value::Bool(_) | Value::Number(_) => Ok(()),
    }
}
