//! What is kept beside the record, by its content.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// A SHA-256 (FIPS 180-4), written as 64 lower-case hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Digest(pub [u8; 32]);

/// A text that is no such hash.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this is not a SHA-256 of 64 lower-case hexadecimal digits")]
pub struct NotADigest;

impl FromStr for Digest {
    type Err = NotADigest;

    fn from_str(text: &str) -> Result<Self, NotADigest> {
        let value = |digit: u8| match digit {
            b'0'..=b'9' => Ok(digit - b'0'),
            b'a'..=b'f' => Ok(digit - b'a' + 10),
            _ => Err(NotADigest),
        };
        let mut bytes = [0; 32];
        if text.len() != 64 {
            return Err(NotADigest);
        }
        for (byte, pair) in bytes.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
            *byte = value(pair[0])? * 16 + value(pair[1])?;
        }
        Ok(Self(bytes))
    }
}

impl TryFrom<String> for Digest {
    type Error = NotADigest;

    fn try_from(text: String) -> Result<Self, NotADigest> {
        text.parse()
    }
}

impl From<Digest> for String {
    fn from(digest: Digest) -> Self {
        digest.to_string()
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_reads_back_and_nothing_else_reads() {
        let mut bytes = [0; 32];
        bytes[0] = 0x0a;
        bytes[31] = 0xff;
        let text = format!("0a{}ff", "0".repeat(60));
        assert_eq!((Digest(bytes).to_string(), text.parse()), (text.clone(), Ok(Digest(bytes))));
        for text in
            [text.to_uppercase(), text[..62].to_owned(), format!("{text}00"), text.replace('a', "g"), String::new(), "\u{e9}".repeat(32)]
        {
            assert_eq!(text.parse::<Digest>(), Err(NotADigest), "{text}");
        }
    }
}
