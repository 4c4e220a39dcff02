//! The record of a job as bytes: events as canonical JSON, each with the hash of the one before.
//!
//! docs/record.md specifies it, so that a record can be checked without this program.

mod bundle;
mod canonical;
mod chain;
mod checkpoint;
mod citation;
mod entry;
mod hash;
mod key;
mod keys;
mod note;
mod proof;
mod refusal;
mod sealed;
mod tree;
mod waited;

pub use bundle::{Bundle, NotABundle};
pub use canonical::canonical;
pub use chain::{Break, Broken, Checker, Head, verify};
pub use checkpoint::{Checkpoint, NotACheckpoint, NotHeld};
pub use citation::{Citation, NotACitation};
pub use entry::Entry;
pub use hash::sha256;
pub use key::{NotAKey, PublicKey, SigningKey};
pub use keys::{Keys, NotKeys};
pub use note::{NotANote, NotSigned, Note};
pub use proof::{NotProved, check_consistency, check_inclusion};
pub use refusal::{LONGEST_TEXT, MOST_EVENT_BYTES, Refusal};
pub use sealed::Sealed;
pub use tree::{Tree, leaf_hash};
pub use waited::{NotWaited, is_waited, read_waited};
