//! A handover read back: what its pages cite, and the files that it carries.

mod file;

use lastmicron_job::event::Id;
use lastmicron_record::{Break, Broken, Citation, Entry, Head, MOST_EVENT_BYTES, verify};

use crate::recorded::{APART, READINGS_FILE, RECORD_FILE};
use crate::seal;
use crate::signed::{self, CHECKPOINT_FILE, KEYS_FILE, Signed};
use file::{File, NoStream, behind, reference, references, text};

/// Largest file looked at, bytes. Judgement: what is attached is packed, and takes less than a tenth of it; larger, and a hostile file could fill the memory; smaller,
/// and one of very many pages could not be checked.
pub const MOST_HANDOVER_BYTES: usize = 64 * 1024 * 1024;

/// Most that all files attached may unpack to together, bytes. Judgement: a record of 20,000 readings is 10 MB, and the readings beside it are 1; larger, and entries of
/// nothing but corners take more than 256 MiB once they are read; smaller, and a long job could not be checked.
pub const MOST_ATTACHED_BYTES: usize = 16 * 1024 * 1024;

/// Longest line of a record, bytes: an event that was recorded is at most half as long, and the rest of an entry is some 300.
const LONGEST_LINE: usize = 2 * MOST_EVENT_BYTES;

/// What a handover carries.
#[derive(Clone, Debug, PartialEq)]
pub struct HandedOver {
    /// The record that the document says it is of, as its properties have it: the line that stands on the page and in the code.
    pub citation: Option<Citation>,
    /// The record's entries, one a line, as attached.
    pub record: Vec<u8>,
    /// The same, read.
    pub entries: Vec<Entry>,
    /// The readings, as attached.
    pub readings: Option<Vec<u8>>,
    /// What was signed of the record, as attached.
    pub checkpoint: Option<Vec<u8>>,
    /// The public keys, as attached.
    pub keys: Option<Vec<u8>>,
    /// Whether the file has the hash that its properties say.
    pub is_as_made: bool,
    /// What is signed, looked at once.
    signed: Result<Option<Signed>, Changed>,
}

/// Why bytes are no handover.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAHandover {
    /// More bytes than are looked at.
    #[error(
        "{found} bytes or more, as a file or in what is attached to it: at most {most} are looked at. If it is a handover, save the attached {RECORD_FILE} and check that with verify/verify.py"
    )]
    TooLarge {
        /// How many, at least.
        found: usize,
        /// How many are looked at.
        most: usize,
    },
    /// Not a PDF, or one that another program has written.
    #[error(
        "this is not a PDF as it was handed over: it is damaged, or another program has saved it anew. Its record can still be checked, as the attached {RECORD_FILE}"
    )]
    NotAPdf,
    /// A PDF without its end.
    #[error("the end of this PDF is missing: it was cut short on its way")]
    CutShort,
    /// A PDF with something behind its end.
    #[error(
        "{behind} bytes stand behind the end of this PDF: something was added to it on its way. As it was handed over it ends with %%EOF"
    )]
    Added {
        /// How many bytes.
        behind: usize,
    },
    /// Nothing attached under the record's name, or several.
    #[error(
        "there should be one file named {RECORD_FILE} attached, and there are {found}: this is not a handover, or one that somebody changed"
    )]
    NoRecord {
        /// How many there are.
        found: usize,
    },
    /// A handover, as it was made, of a record that was too large for it.
    #[error(
        "this handover holds no record, since that was too large for it: on the machine that keeps it, lastmicron export {} --record FILE writes it to a file, and lastmicron verify FILE checks that. The hash of its entry {} is to be {}",
        .cited.job, .cited.head.seq, .cited.head.hash
    )]
    Apart {
        /// The record that the document says it is of.
        cited: Citation,
    },
    /// An attachment that can't be unpacked.
    #[error("the attached {name} can't be unpacked: the file was damaged")]
    Damaged {
        /// Its name.
        name: &'static str,
    },
    /// A line that is no entry.
    #[error("line {line} of the attached record is no entry: {why}")]
    Line {
        /// Its number, from 1.
        line: usize,
        /// What is wrong.
        why: String,
    },
}

/// Why a handover is not what it says.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Changed {
    /// The record is not as it was written.
    #[error(transparent)]
    Broken(#[from] Broken),
    /// The document names no record.
    #[error("the document does not say which record it is of: compare the hash on its pages with {}", .found.hash)]
    Uncited {
        /// Where the record attached ends.
        found: Head,
    },
    /// The record is another job's.
    #[error("the record attached is another job's than the document says")]
    Job,
    /// The record is not the one that was signed.
    #[error("the record attached is not the one that was signed: {0}")]
    NotSigned(String),
    /// Something else of the file was changed.
    #[error("the record attached is whole, but the file was changed since it was made: don't trust the words and pictures on its pages")]
    Edited,
}

impl HandedOver {
    /// Whether the record attached is whole, is the one that was signed, and ends as the document says, and nothing else of the file was changed.
    ///
    /// That the document itself was not made anew with another record shows only against its hash, or the workshop's key, kept elsewhere.
    ///
    /// # Errors
    /// [`Changed`], with the first entry that is not as it was written.
    pub fn verify(&self) -> Result<Head, Changed> {
        let found = verify(&self.entries)?;
        let stated = self.citation.ok_or(Changed::Uncited { found })?;
        if self.entries.first().is_some_and(|entry| entry.job() != stated.job) {
            return Err(Changed::Job);
        }
        let ends = Broken { seq: found.seq, what: Break::End { wanted: stated.head.seq } };
        if found != stated.head {
            return Err(Changed::Broken(ends));
        }
        self.signed()?;
        if self.is_as_made { Ok(found) } else { Err(Changed::Edited) }
    }

    /// What is signed of the record attached, and by which of the keys attached; none where nothing is. Whose keys they are is not known from them.
    ///
    /// # Errors
    /// [`Changed::NotSigned`].
    pub fn signed(&self) -> Result<Option<Signed>, Changed> {
        self.signed.clone()
    }
}

/// Reads a handover back from the bytes of its PDF, whatever they are.
///
/// # Errors
/// [`NotAHandover`].
pub fn read_handover(bytes: &[u8]) -> Result<HandedOver, NotAHandover> {
    if bytes.len() > MOST_HANDOVER_BYTES {
        return Err(NotAHandover::TooLarge { found: bytes.len(), most: MOST_HANDOVER_BYTES });
    }
    let pdf = File::open(bytes).ok_or_else(|| no_pdf(bytes))?;
    let keywords = pdf.of_trailer(b"/Info").and_then(|info| text(behind(info, b"/Keywords(")?));
    let words = || keywords.unwrap_or_default().split(", ");
    let citation = words().find_map(|word| word.parse().ok());
    let is_as_made = seal::found(words()).is_some_and(|seal| seal::is_sealed(bytes, seal));
    let files = attached(&pdf);
    let named = |name: &str| files.iter().filter(|(of, _)| *of == name).map(|(_, stream)| *stream).collect::<Vec<_>>();
    let mut left = MOST_ATTACHED_BYTES;
    let mut unpacked = |name, stream| {
        let unpacked = pdf.stream(stream, left).map_err(|none| match none {
            NoStream::Larger => NotAHandover::TooLarge { found: MOST_ATTACHED_BYTES + 1, most: MOST_ATTACHED_BYTES },
            NoStream::Damaged => NotAHandover::Damaged { name },
        })?;
        left -= unpacked.len();
        Ok(unpacked)
    };
    let record = match named(RECORD_FILE)[..] {
        [one] => unpacked(RECORD_FILE, one)?,
        ref other => {
            // Without a record nothing of the document is checked but its own hash: one that was changed is no such handover.
            let is_apart = other.is_empty() && is_as_made && words().any(|word| word == APART);
            let none = NotAHandover::NoRecord { found: other.len() };
            return Err(citation.filter(|_| is_apart).map_or(none, |cited| NotAHandover::Apart { cited }));
        }
    };
    let mut beside = |name: &'static str| named(name).first().map(|stream| unpacked(name, *stream)).transpose();
    let (readings, checkpoint, keys) = (beside(READINGS_FILE)?, beside(CHECKPOINT_FILE)?, beside(KEYS_FILE)?);
    let entries = entries(&record)?;
    let signed = signed_of(checkpoint.as_deref(), keys.as_deref(), entries.first().map(Entry::job), &record);
    Ok(HandedOver { citation, record, entries, readings, checkpoint, keys, is_as_made, signed })
}

/// What is wrong with a file whose table isn't found from its end.
fn no_pdf(bytes: &[u8]) -> NotAHandover {
    match file::behind_end(bytes) {
        _ if !file::is_pdf(bytes) => NotAHandover::NotAPdf,
        None => NotAHandover::CutShort,
        Some(0) => NotAHandover::NotAPdf,
        Some(behind) => NotAHandover::Added { behind },
    }
}

/// The files that a document is associated with (ISO 32000-2, 14.13), which PDF/A-3 (ISO 19005-3, 6.8) wants of every file attached: name, and number of
/// the object that holds the bytes.
fn attached<'b>(pdf: &File<'b>) -> Vec<(&'b str, u64)> {
    let list = pdf.of_trailer(b"/Root").and_then(|catalogue| behind(catalogue, b"/AF["));
    let file = |number| {
        let file = pdf.object(number)?;
        Some((text(behind(file, b"/UF(")?)?, reference(behind(behind(file, b"/EF<<")?, b"/F")?)?))
    };
    references(list.unwrap_or_default()).into_iter().filter_map(file).collect()
}

fn entries(record: &[u8]) -> Result<Vec<Entry>, NotAHandover> {
    let lines = record.split(|byte| *byte == b'\n').enumerate().filter(|(_, line)| !line.is_empty());
    lines.map(|(i, line)| entry(line).map_err(|why| NotAHandover::Line { line: i + 1, why })).collect()
}

fn entry(line: &[u8]) -> Result<Entry, String> {
    if line.len() > LONGEST_LINE {
        return Err(format!("it has {} bytes, and at most {LONGEST_LINE} are read", line.len()));
    }
    serde_json::from_slice(line).map_err(|error| error.to_string())
}

fn signed_of(checkpoint: Option<&[u8]>, keys: Option<&[u8]>, job: Option<Id>, record: &[u8]) -> Result<Option<Signed>, Changed> {
    match (checkpoint, keys) {
        (None, None) => Ok(None),
        (Some(note), Some(keys)) => signed::read(note, keys, job, record).map(Some).map_err(Changed::NotSigned),
        (Some(_), None) => Err(Changed::NotSigned(format!("there is no {KEYS_FILE} beside {CHECKPOINT_FILE}"))),
        (None, Some(_)) => Err(Changed::NotSigned(format!("there is no {CHECKPOINT_FILE} beside {KEYS_FILE}"))),
    }
}
