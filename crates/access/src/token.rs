//! What a device or a link is known by.

use std::fmt;

use base64::Engine as _;
use base64::prelude::BASE64_URL_SAFE_NO_PAD;
use lastmicron_job::event::Digest;
use sha2::{Digest as _, Sha256};

/// 256 bits that nobody guesses. Only their SHA-256 is kept: who reads the database can't use what stands there.
#[derive(Clone, PartialEq, Eq)]
pub struct Token([u8; 32]);

/// A text that is no token.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this is not what a device or a link is known by: it may have been cut short")]
pub struct NotAToken;

impl Token {
    /// Of random bytes.
    #[must_use]
    pub const fn of(random: [u8; 32]) -> Self {
        Self(random)
    }

    /// As a cookie or an address has it: base64url (RFC 4648, section 5), 43 letters.
    #[must_use]
    pub fn text(&self) -> String {
        BASE64_URL_SAFE_NO_PAD.encode(self.0)
    }

    /// From its text.
    ///
    /// # Errors
    /// [`NotAToken`].
    pub fn read(text: &str) -> Result<Self, NotAToken> {
        let bytes = BASE64_URL_SAFE_NO_PAD.decode(text).map_err(|_| NotAToken)?;
        bytes.try_into().map(Self).map_err(|_| NotAToken)
    }

    /// What is kept of it.
    #[must_use]
    pub fn hash(&self) -> Digest {
        Digest(Sha256::digest(self.0).into())
    }
}

/// Never in a log.
impl fmt::Debug for Token {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Token")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_is_read_as_it_is_written_and_is_told_to_no_log() {
        let token = Token::of([0xfb; 32]);
        assert_eq!(token.text().len(), 43);
        assert_eq!(Token::read(&token.text()), Ok(token.clone()));
        assert_eq!(format!("{token:?}"), "Token");
        for text in ["", "x", &token.text()[1..], &format!("{}A", token.text()), "\u{e9}"] {
            assert_eq!(Token::read(text), Err(NotAToken), "{text}");
        }
    }

    #[test]
    fn what_is_kept_is_the_hash_of_its_bytes() {
        // FIPS 180-4 of 32 bytes of nothing, by sha256sum.
        assert_eq!(Token::of([0; 32]).hash().to_string(), "66687aadf862bd776c8fc18b8e9f8e20089714856ee233b3902a591d0d5f2925");
    }
}
