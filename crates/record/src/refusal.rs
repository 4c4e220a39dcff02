//! Why bytes are no event.

use lastmicron_job::event::Id;

/// Longest event, bytes of its canonical form. Judgement: an outline of a thousand corners is 30,000; larger, and a phone could fill a disk with a few
/// hundred of them; smaller, and a traced outline would not fit.
pub const MOST_EVENT_BYTES: usize = 64 * 1024;

/// Longest text within an event, characters: as long as a field of a job folder, so that whatever is recorded can be exported.
pub const LONGEST_TEXT: usize = 1000;

/// Why bytes are no event.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// Not JSON, or not an event's.
    #[error("this is not an event: {0}")]
    NotJson(String),
    /// More bytes than an event has.
    #[error("an event of {found} bytes: at most {MOST_EVENT_BYTES} are taken")]
    TooLarge {
        /// How many.
        found: usize,
    },
    /// A text longer than any belongs in an event.
    #[error("the text at {place} has {found} characters: at most {LONGEST_TEXT} are taken")]
    LongText {
        /// A JSON pointer.
        place: String,
        /// How many.
        found: usize,
    },
    /// An id that another event has.
    #[error("another event has the id {0} already: this one was not taken. An event keeps its id only while not a byte of it changes")]
    Taken(Id),
}
