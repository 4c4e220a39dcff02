//! A whole record in one file, with what is kept beside it: to be taken elsewhere, kept for good, and read without this program.
//!
//! Lines of JSON (UTF-8, each ended by a line feed): a heading, each entry in turn, then each thing kept beside the record as base64 (RFC 4648, section 4).

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use lastmicron_job::event::{Digest, Id};
use serde::{Deserialize, Serialize};

use crate::chain::{Broken, Head, verify};
use crate::entry::Entry;
use crate::hash::sha256;

/// What the heading calls the format.
const FORMAT: &str = "lastmicron record";
/// Its version. A later program reads all earlier ones.
const VERSION: u32 = 1;

/// A record with what is kept beside it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bundle {
    /// The entries, in order.
    pub entries: Vec<Entry>,
    /// What events name by its hash, as far as it was there.
    pub kept: Vec<Vec<u8>>,
}

/// Why bytes are no such file.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotABundle {
    /// The heading is not there, or is that of something else.
    #[error("this is no record as lastmicron writes it: its first line names no format")]
    NoHeading,
    /// Written by a later version of this program.
    #[error(
        "this record is of version {found}, and this program reads versions up to {VERSION}: use the program that wrote it, or a later one"
    )]
    Newer {
        /// The version.
        found: u32,
    },
    /// A line that is none.
    #[error("line {line} is neither an entry nor anything kept beside the record: {why}")]
    Line {
        /// Its number, from 1.
        line: usize,
        /// What is wrong.
        why: String,
    },
    /// Entries that are not as they were written.
    #[error(transparent)]
    Broken(#[from] Broken),
    /// Fewer or other entries than the heading says.
    #[error("the file does not end where its heading says: it was cut short or changed")]
    Short,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Heading {
    format: String,
    version: u32,
    job: Id,
    entries: u64,
    hash: Digest,
}

#[derive(Serialize, Deserialize)]
#[serde(untagged, deny_unknown_fields)]
enum Line {
    Entry { entry: Box<Entry> },
    Kept { kept: Digest, base64: String },
}

impl Bundle {
    /// The file's bytes; empty for a record without entries.
    ///
    /// # Errors
    /// [`Broken`] when the entries are not as they were written.
    pub fn write(&self) -> Result<Vec<u8>, Broken> {
        let head = verify(&self.entries)?;
        let Some(first) = self.entries.first() else { return Ok(Vec::new()) };
        let heading = Heading { format: FORMAT.to_owned(), version: VERSION, job: first.job(), entries: head.seq, hash: head.hash };
        let mut bytes = line(&heading);
        for entry in &self.entries {
            bytes.extend(line(&Line::Entry { entry: Box::new(entry.clone()) }));
        }
        for kept in &self.kept {
            bytes.extend(line(&Line::Kept { kept: sha256(kept), base64: STANDARD.encode(kept) }));
        }
        Ok(bytes)
    }

    /// Reads a file and checks its chain, its end, and each thing kept by its hash.
    ///
    /// # Errors
    /// [`NotABundle`].
    pub fn read(bytes: &[u8]) -> Result<Self, NotABundle> {
        let mut lines = bytes.split(|byte| *byte == b'\n').enumerate().filter(|(_, line)| !line.is_empty());
        let heading =
            lines.next().and_then(|(_, line)| serde_json::from_slice::<Heading>(line).ok()).filter(|heading| heading.format == FORMAT);
        let heading = heading.ok_or(NotABundle::NoHeading)?;
        if heading.version > VERSION {
            return Err(NotABundle::Newer { found: heading.version });
        }
        let (mut entries, mut kept) = (Vec::new(), Vec::new());
        for (at, text) in lines {
            let wrong = |why: String| NotABundle::Line { line: at + 1, why };
            match serde_json::from_slice(text).map_err(|error| wrong(error.to_string()))? {
                Line::Entry { entry } => entries.push(*entry),
                Line::Kept { kept: digest, base64 } => {
                    let bytes = STANDARD.decode(base64).map_err(|error| wrong(error.to_string()))?;
                    if sha256(&bytes) != digest {
                        return Err(wrong("it is not what its hash says".to_owned()));
                    }
                    kept.push(bytes);
                }
            }
        }
        let found = verify(&entries)?;
        let is_whole = found == Head { seq: heading.entries, hash: heading.hash } && entries.iter().all(|entry| entry.job() == heading.job);
        if is_whole { Ok(Self { entries, kept }) } else { Err(NotABundle::Short) }
    }
}

fn line(value: &impl Serialize) -> Vec<u8> {
    // None of what is written here can fail to be JSON.
    let mut bytes = serde_json::to_vec(value).unwrap_or_default();
    bytes.push(b'\n');
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sealed::Sealed;
    use lastmicron_job::event::When;
    use proptest::prelude::*;

    fn bundle() -> Bundle {
        let id = |n: u64| Id::made_at(1_714_550_000_000 + n, [3; 10]);
        let received: When = "2024-05-01T12:00:00Z".parse().unwrap();
        let mut entries: Vec<Entry> = Vec::new();
        for n in 1..=4 {
            let event = format!(
                r#"{{"id":"{}","job":"{}","when":"2024-05-01T09:30:00+02:00","device":"{}","who":"J.","body":{{"kind":"noted","text":"note {n}"}}}}"#,
                id(n),
                id(0),
                id(0)
            );
            let sealed = Sealed::read(event.as_bytes()).unwrap();
            let previous = entries.last().map_or(Entry::NOTHING, |entry| entry.hash);
            entries.push(Entry::after(previous, n, received.clone(), &sealed).unwrap());
        }
        Bundle { entries, kept: vec![b"a plan".to_vec(), vec![0, 255, 10, 13]] }
    }

    #[test]
    fn what_is_written_reads_back() {
        let bytes = bundle().write().unwrap();
        assert_eq!(Bundle::read(&bytes).unwrap(), bundle());
        assert_eq!(bytes.iter().filter(|byte| **byte == b'\n').count(), 7);
        assert!(Bundle { entries: Vec::new(), kept: Vec::new() }.write().unwrap().is_empty());
    }

    #[test]
    fn another_version_another_file_and_a_short_one_are_told_apart() {
        let text = String::from_utf8(bundle().write().unwrap()).unwrap();
        let later = text.replacen("\"version\":1", "\"version\":2", 1);
        assert_eq!(Bundle::read(later.as_bytes()), Err(NotABundle::Newer { found: 2 }));
        for other in ["", "{}", "panel,x_mm\n", "[1]"] {
            assert_eq!(Bundle::read(other.as_bytes()), Err(NotABundle::NoHeading), "{other}");
        }
        let without_last: Vec<&str> = text.lines().filter(|line| !line.contains("note 4")).collect();
        assert_eq!(Bundle::read(without_last.join("\n").as_bytes()), Err(NotABundle::Short));
        let without_second: Vec<&str> = text.lines().filter(|line| !line.contains("note 2")).collect();
        assert!(matches!(Bundle::read(without_second.join("\n").as_bytes()), Err(NotABundle::Broken(_))));
    }

    proptest! {
        #[test]
        fn whatever_is_changed_is_found(at in 0usize..10_000, bit in 0u8..8) {
            let whole = bundle().write().unwrap();
            let mut bytes = whole.clone();
            let at = at % bytes.len();
            bytes[at] ^= 1 << bit;
            let read = Bundle::read(&bytes);
            // A line feed that becomes white space, and the like, changes nothing that is said.
            prop_assert!(read.is_err() || read == Ok(bundle()), "byte {at}, bit {bit}");
        }

        #[test]
        fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
            let _ = Bundle::read(&bytes);
        }
    }
}
