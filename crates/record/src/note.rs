//! Text with signatures, as C2SP's signed-note has it: the text, an empty line, and a line for each signature.

use std::fmt;
use std::str::FromStr;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;

use crate::key::{KeyId, PublicKey, SigningKey};

/// What a signature's line begins with: an em dash and a space.
const BEGINS: &str = "\u{2014} ";

/// Longest note read, bytes. Judgement: 16 signatures, which the specification wants read, of the 5 kB that the longest known have, and some text; larger,
/// and nobody's note is; smaller, and a note with later algorithms could not be read.
const MOST_BYTES: usize = 128 * 1024;

/// A text that is no note.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotANote {
    /// More bytes than a note has.
    #[error("{0} bytes are no signed note: at most {MOST_BYTES} are read")]
    TooLong(usize),
    /// Not text, an empty line and signatures.
    #[error(
        "this is not a signed note: a text, an empty line and at least one line with a signature are wanted, each ended by a line feed"
    )]
    Shape,
}

/// Why a note is not to be believed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotSigned {
    /// None of its signatures is by a key that is known.
    #[error("it is not signed by the key that is known")]
    Unknown,
    /// A signature in the name of a known key is of another text.
    #[error("its signature is not of this text: the text or the signature was changed")]
    Wrong,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct Signature {
    name: String,
    id: KeyId,
    bytes: Vec<u8>,
}

/// A text and its signatures; nothing in it is to be believed before [`Note::check`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    text: String,
    signatures: Vec<Signature>,
}

impl Note {
    /// Signs lines, which have neither controls nor an end of their own.
    pub(crate) fn sign(lines: &[&str], keys: &[&SigningKey]) -> Self {
        let text: String = lines.iter().flat_map(|line| [line, "\n"]).collect();
        let by = |key: &&SigningKey| {
            let public = key.public();
            Signature { name: public.name().to_owned(), id: public.id(), bytes: key.sign(&text) }
        };
        Self { signatures: keys.iter().map(by).collect(), text }
    }

    /// What was signed: lines, each ended by a line feed.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whether one of these keys has signed it. Signatures by other keys are passed over; one in the name of a key that is known has to fit.
    ///
    /// # Errors
    /// [`NotSigned`].
    pub fn check(&self, keys: &[PublicKey]) -> Result<(), NotSigned> {
        let mut is_signed = false;
        for signature in &self.signatures {
            for key in keys.iter().filter(|key| key.name() == signature.name && key.id() == signature.id) {
                if !key.has_signed(&self.text, &signature.bytes) {
                    return Err(NotSigned::Wrong);
                }
                is_signed = true;
            }
        }
        if is_signed { Ok(()) } else { Err(NotSigned::Unknown) }
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}", self.text)?;
        for Signature { name, id, bytes } in &self.signatures {
            writeln!(f, "{BEGINS}{name} {}", STANDARD.encode([id, bytes.as_slice()].concat()))?;
        }
        Ok(())
    }
}

impl FromStr for Note {
    type Err = NotANote;

    fn from_str(note: &str) -> Result<Self, NotANote> {
        if note.len() > MOST_BYTES {
            return Err(NotANote::TooLong(note.len()));
        }
        let (text, signatures) = note.rsplit_once("\n\n").ok_or(NotANote::Shape)?;
        let signatures = signatures.strip_suffix('\n').ok_or(NotANote::Shape)?;
        if note.chars().any(|c| c < ' ' && c != '\n') {
            return Err(NotANote::Shape);
        }
        let signatures = signatures.split('\n').map(|line| signature(line).ok_or(NotANote::Shape)).collect::<Result<_, _>>()?;
        Ok(Self { text: format!("{text}\n"), signatures })
    }
}

fn signature(line: &str) -> Option<Signature> {
    let (name, encoded) = line.strip_prefix(BEGINS)?.split_once(' ')?;
    let bytes = STANDARD.decode(encoded).ok()?;
    let (id, bytes) = bytes.split_first_chunk()?;
    let is_name = !name.is_empty() && !name.contains(|c: char| c.is_whitespace() || c == '+');
    is_name.then(|| Signature { name: name.to_owned(), id: *id, bytes: bytes.to_vec() })
}
