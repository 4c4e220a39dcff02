//! Codes that are used once, read from a screen and typed by a hand.

use std::fmt;

use lastmicron_job::event::{Digest, Id};
use sha2::{Digest as _, Sha256};

/// How long a code may be used, seconds: half an hour. Judgement: long enough to walk to the other device; a code of 50 bits takes somebody who has the
/// database a day and a half at ten thousand million guesses a second.
pub const CODE_S: i64 = 30 * 60;

/// Digits and letters that are not taken for one another: Crockford's base 32.
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// Letters of a code.
const LENGTH: usize = 10;

/// Ten letters, 50 bits, used once.
#[derive(Clone, PartialEq, Eq)]
pub struct Code([u8; LENGTH]);

/// A text that is no code.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this is not a code: ten letters and digits, like 7QK4M-2XN9A")]
pub struct NotACode;

/// What a code opens.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grant {
    /// The app itself: whoever uses it becomes the first owner.
    FirstOwner,
    /// A device for somebody.
    Device {
        /// Who.
        person: Id,
        /// Whether they choose a new PIN or passphrase, whatever they had.
        new_secret: bool,
    },
}

/// What is kept of a code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct KeptCode {
    /// Its SHA-256.
    pub hash: Digest,
    /// What it opens.
    pub grant: Grant,
    /// When it ends, seconds since 1970.
    pub ends_s: i64,
}

impl Code {
    /// Of random bytes.
    #[must_use]
    pub fn of(random: &[u8; 32]) -> Self {
        let mut letters = [b'0'; LENGTH];
        for (letter, byte) in letters.iter_mut().zip(random) {
            *letter = LETTERS[usize::from(byte % 32)];
        }
        Self(letters)
    }

    /// As somebody typed it: in either case, with or without what stands between, and with letters that look like digits.
    ///
    /// # Errors
    /// [`NotACode`].
    pub fn read(text: &str) -> Result<Self, NotACode> {
        let typed = text.chars().filter(|c| !c.is_whitespace() && *c != '-').map(|c| match c.to_ascii_uppercase() {
            'O' => '0',
            'I' | 'L' => '1',
            other => other,
        });
        let letters: Vec<u8> =
            typed.map(|c| u8::try_from(c).ok().filter(|c| LETTERS.contains(c))).collect::<Option<_>>().ok_or(NotACode)?;
        letters.try_into().map(Self).map_err(|_| NotACode)
    }

    /// What is kept of it.
    #[must_use]
    pub fn hash(&self) -> Digest {
        Digest(Sha256::digest(self.0).into())
    }

    /// As it is shown: two groups of five.
    #[must_use]
    pub fn text(&self) -> String {
        let letters: String = self.0.iter().map(|letter| char::from(*letter)).collect();
        let (first, last) = letters.split_at(LENGTH / 2);
        format!("{first}-{last}")
    }

    /// What is kept of it when it is made now.
    #[must_use]
    pub fn kept(&self, grant: Grant, now_s: i64) -> KeptCode {
        KeptCode { hash: self.hash(), grant, ends_s: now_s + CODE_S }
    }
}

impl KeptCode {
    /// Whether it may be used. A clock that was set back ends it too: nobody knows then how old it is.
    #[must_use]
    pub const fn is_usable(&self, now_s: i64) -> bool {
        now_s < self.ends_s && now_s >= self.ends_s - CODE_S
    }
}

/// Never in a log.
impl fmt::Debug for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Code")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_read_as_hands_type_it() {
        let mut random = [0; 32];
        random[..LENGTH].copy_from_slice(&[0, 1, 10, 31, 32, 63, 255, 128, 5, 24]);
        let code = Code::of(&random);
        assert_eq!(code.text(), "01AZ0-ZZ05R");
        for text in ["01AZ0-ZZ05R", "01az0zz05r", " o1az0 - zzo5r ", "OLAZOZZO5R"] {
            assert_eq!(Code::read(text), Ok(code.clone()), "{text}");
        }
        for text in ["", "01AZ0-ZZ05", "01AZ0-ZZ05RR", "01AZ0-ZZ05U", "01AZ0-ZZ05\u{e9}"] {
            assert_eq!(Code::read(text), Err(NotACode), "{text}");
        }
        assert_eq!(format!("{code:?}"), "Code");
    }

    #[test]
    fn a_code_ends_after_half_an_hour_and_when_the_clock_is_set_back() {
        let kept = Code::of(&[0; 32]).kept(Grant::FirstOwner, 1000);
        assert_eq!([999, 1000, 2799, 2800].map(|now| kept.is_usable(now)), [false, true, true, false]);
    }
}
