//! Keys that sign notes, in the text form usual for them: a name, a number that tells keys apart, and the algorithm's number with the key's bytes.

use std::fmt;
use std::str::FromStr;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use ed25519_dalek::{Signer as _, VerifyingKey};

use crate::hash::sha256;

/// Ed25519 (RFC 8032), as C2SP's signed-note numbers it. Another algorithm has another number, in every key and in every key's id.
const ED25519: u8 = 1;
/// What the text of a key that signs begins with.
const SECRET: &str = "PRIVATE+KEY+";

/// A text that is no key.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAKey {
    /// A name that can't stand in a signature's line.
    #[error("a key's name has at least one letter, and neither white space nor a plus sign")]
    Name,
    /// Not the shape of a key.
    #[error("this is not a key: its name, eight hexadecimal digits and base64 are wanted, with plus signs between")]
    Shape,
    /// Made for an algorithm that is not known here.
    #[error("this key is for the algorithm of number {0}, which this program does not know: use a later one")]
    Algorithm(u8),
    /// The digits are not those of name and bytes.
    #[error("this key was not copied whole: its digits are not those of its name and bytes")]
    Id,
}

/// What tells keys of one name apart: the first bytes of SHA-256(name || line feed || algorithm || public key).
pub(crate) type KeyId = [u8; 4];

/// A key by which signatures are checked.
#[derive(Clone, PartialEq, Eq)]
pub struct PublicKey {
    name: String,
    key: VerifyingKey,
}

impl PublicKey {
    /// What the key is called.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    pub(crate) fn id(&self) -> KeyId {
        let named = [self.name.as_bytes(), b"\n", &[ED25519], self.key.as_bytes()].concat();
        let [a, b, c, d, ..] = sha256(&named).0;
        [a, b, c, d]
    }

    /// Whether these bytes are this key's signature of that text. Keys and signatures that would fit several texts are refused.
    pub(crate) fn has_signed(&self, text: &str, signature: &[u8]) -> bool {
        ed25519_dalek::Signature::from_slice(signature).is_ok_and(|signature| self.key.verify_strict(text.as_bytes(), &signature).is_ok())
    }
}

impl fmt::Display for PublicKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&written(&self.name, self.id(), self.key.as_bytes()))
    }
}

impl fmt::Debug for PublicKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for PublicKey {
    type Err = NotAKey;

    fn from_str(text: &str) -> Result<Self, NotAKey> {
        let (name, id, bytes) = read(text)?;
        let key = Self { name: checked(name)?, key: VerifyingKey::from_bytes(&bytes).map_err(|_| NotAKey::Shape)? };
        if key.id() == id { Ok(key) } else { Err(NotAKey::Id) }
    }
}

/// A key that signs. Whoever has it can sign as the workshop: it is kept where nobody else reads it.
#[derive(Clone)]
pub struct SigningKey {
    name: String,
    secret: ed25519_dalek::SigningKey,
}

impl SigningKey {
    /// Of 32 random bytes.
    ///
    /// # Errors
    /// [`NotAKey::Name`].
    pub fn of(name: &str, random: [u8; 32]) -> Result<Self, NotAKey> {
        Ok(Self { name: checked(name)?, secret: ed25519_dalek::SigningKey::from_bytes(&random) })
    }

    /// The key by which its signatures are checked.
    #[must_use]
    pub fn public(&self) -> PublicKey {
        PublicKey { name: self.name.clone(), key: self.secret.verifying_key() }
    }

    /// The key as text, to be kept: whoever reads it can sign. It has no other way of being printed.
    #[must_use]
    pub fn secret_text(&self) -> String {
        format!("{SECRET}{}", written(&self.name, self.public().id(), self.secret.as_bytes()))
    }

    pub(crate) fn sign(&self, text: &str) -> Vec<u8> {
        self.secret.sign(text.as_bytes()).to_bytes().to_vec()
    }
}

impl fmt::Debug for SigningKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the key that signs for {}", self.public())
    }
}

impl FromStr for SigningKey {
    type Err = NotAKey;

    fn from_str(text: &str) -> Result<Self, NotAKey> {
        let (name, id, bytes) = read(text.strip_prefix(SECRET).ok_or(NotAKey::Shape)?)?;
        let key = Self::of(name, bytes)?;
        if key.public().id() == id { Ok(key) } else { Err(NotAKey::Id) }
    }
}

/// A name that may stand in a signature's line.
fn checked(name: &str) -> Result<String, NotAKey> {
    let is_name = !name.is_empty() && !name.chars().any(|c| c.is_whitespace() || c.is_control() || c == '+');
    if is_name { Ok(name.to_owned()) } else { Err(NotAKey::Name) }
}

fn written(name: &str, id: KeyId, bytes: &[u8; 32]) -> String {
    let [a, b, c, d] = id;
    format!("{name}+{a:02x}{b:02x}{c:02x}{d:02x}+{}", STANDARD.encode([&[ED25519], bytes.as_slice()].concat()))
}

/// Name, id and bytes of a key; base64 may have plus signs of its own.
fn read(text: &str) -> Result<(&str, KeyId, [u8; 32]), NotAKey> {
    let [name, id, encoded] = text.splitn(3, '+').collect::<Vec<_>>()[..] else { return Err(NotAKey::Shape) };
    if id.len() != 8 || !id.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f')) {
        return Err(NotAKey::Shape);
    }
    let id = u32::from_str_radix(id, 16).map_err(|_| NotAKey::Shape)?.to_be_bytes();
    let bytes = STANDARD.decode(encoded).map_err(|_| NotAKey::Shape)?;
    let (algorithm, bytes) = bytes.split_first().ok_or(NotAKey::Shape)?;
    if *algorithm != ED25519 {
        return Err(NotAKey::Algorithm(*algorithm));
    }
    Ok((name, id, bytes.try_into().map_err(|_| NotAKey::Shape)?))
}
