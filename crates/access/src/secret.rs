//! PINs and passphrases, and what is kept of them.

use std::fmt;

use argon2::{Algorithm, Argon2, Params, Version};
use base64::Engine as _;
use base64::prelude::BASE64_STANDARD_NO_PAD;

/// Memory of a hash, KiB: 46 MiB, once over, one lane (OWASP, Password Storage Cheat Sheet, from memory). More, and two at once are too much for a small
/// machine; less, and guessing from a stolen database is cheaper.
const MEMORY_KIB: u32 = 46 * 1024;
const ROUNDS: u32 = 1;
const LANES: u32 = 1;

/// Most memory that a kept hash may ask for, KiB: a database that was damaged must not use up the machine's.
const MOST_MEMORY_KIB: u32 = 256 * 1024;
/// Most rounds and lanes, for the same reason.
const MOST_ROUNDS: u32 = 16;

/// Fewest digits of a PIN. It opens only a device that is known already, and is guessed at most some hundred times a day.
const FEWEST_DIGITS: usize = 6;
/// Fewest characters of a passphrase that is asked for on a device that is known (NIST SP 800-63B, section 5.1.1, from memory: 8).
const FEWEST_LETTERS: usize = 8;
/// Most characters of either: nothing is cut off.
const MOST: usize = 256;

/// A PIN or a passphrase as it was typed.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

/// What is kept of a PIN or passphrase: argon2id, written as PHC strings are.
#[derive(Clone, PartialEq, Eq)]
pub struct Kept(String);

/// Why a text can't be chosen.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotASecret {
    /// Too short.
    #[error("a PIN has at least {FEWEST_DIGITS} digits, a passphrase at least {FEWEST_LETTERS} characters")]
    Short,
    /// Too long.
    #[error("a PIN or passphrase has at most {MOST} characters")]
    Long,
    /// Tried first by whoever guesses.
    #[error("this is what anybody would try first: choose another PIN")]
    Obvious,
}

/// The memory for it can't be had, or what is kept is no hash.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the PIN or passphrase can't be checked: what is kept of it is damaged, or the machine has no memory left")]
pub struct Unhashed;

/// What becomes of a guess.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Another.
    Wrong,
    /// The same.
    Right,
    /// The same, kept in a way that is not used any more: it is to be kept anew.
    RightKeptOtherwise,
}

impl Secret {
    /// As it was typed. Blanks count.
    #[must_use]
    pub fn typed(text: &str) -> Self {
        Self(text.to_owned())
    }

    /// Whether somebody may choose it.
    ///
    /// # Errors
    /// [`NotASecret`].
    pub fn chosen(text: &str) -> Result<Self, NotASecret> {
        let length = text.chars().count();
        let digits: Vec<u8> = text.bytes().filter(u8::is_ascii_digit).collect();
        let is_pin = digits.len() == text.len();
        if length > MOST {
            Err(NotASecret::Long)
        } else if length < if is_pin { FEWEST_DIGITS } else { FEWEST_LETTERS } {
            Err(NotASecret::Short)
        } else if is_pin && is_obvious(&digits) {
            Err(NotASecret::Obvious)
        } else {
            Ok(Self(text.to_owned()))
        }
    }

    /// What is kept of it, with salt of random bytes.
    ///
    /// # Errors
    /// [`Unhashed`] without memory.
    pub fn kept(&self, salt: [u8; 16]) -> Result<Kept, Unhashed> {
        let hash = hash(&self.0, &salt, (MEMORY_KIB, ROUNDS, LANES))?;
        let [salt, hash] = [&salt[..], &hash[..]].map(|bytes| BASE64_STANDARD_NO_PAD.encode(bytes));
        Ok(Kept(format!("$argon2id$v=19$m={MEMORY_KIB},t={ROUNDS},p={LANES}${salt}${hash}")))
    }
}

/// All the same, or each one more or one less than the one before.
fn is_obvious(digits: &[u8]) -> bool {
    let steps = |step: i16| digits.windows(2).all(|pair| i16::from(pair[1]) - i16::from(pair[0]) == step);
    [0, 1, -1].into_iter().any(steps)
}

fn hash(secret: &str, salt: &[u8], (memory, rounds, lanes): (u32, u32, u32)) -> Result<[u8; 32], Unhashed> {
    let mut hash = [0; 32];
    let params = Params::new(memory, rounds, lanes, Some(hash.len())).map_err(|_| Unhashed)?;
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
        .hash_password_into(secret.as_bytes(), salt, &mut hash)
        .map_err(|_| Unhashed)?;
    Ok(hash)
}

impl Kept {
    /// From its text, as the store has it.
    #[must_use]
    pub const fn of(text: String) -> Self {
        Self(text)
    }

    /// Its text, for the store.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.0
    }

    /// Whether a guess is right.
    ///
    /// # Errors
    /// [`Unhashed`].
    pub fn check(&self, guess: &Secret) -> Result<Verdict, Unhashed> {
        if guess.0.chars().count() > MOST {
            return Ok(Verdict::Wrong);
        }
        let Parts { cost, salt, expected } = self.parts().ok_or(Unhashed)?;
        let found = hash(&guess.0, &salt, cost)?;
        // All of both is compared: how long it takes tells nothing of where they differ.
        let differs = found.iter().zip(&expected).fold(0, |differs, (a, b)| differs | (a ^ b)) != 0;
        Ok(match (differs, cost == (MEMORY_KIB, ROUNDS, LANES)) {
            (true, _) => Verdict::Wrong,
            (false, true) => Verdict::Right,
            (false, false) => Verdict::RightKeptOtherwise,
        })
    }

    fn parts(&self) -> Option<Parts> {
        let mut parts = self.0.strip_prefix("$argon2id$v=19$")?.split('$');
        let (costs, salt, expected) = (parts.next()?, parts.next()?, parts.next()?);
        let mut costs = costs.split(',').zip(["m=", "t=", "p="]).map(|(cost, name)| cost.strip_prefix(name)?.parse().ok());
        let cost: (u32, u32, u32) = (costs.next()??, costs.next()??, costs.next()??);
        let is_borne = cost.0 <= MOST_MEMORY_KIB && cost.1 <= MOST_ROUNDS && cost.2 <= MOST_ROUNDS;
        let [salt, expected] = [salt, expected].map(|text| BASE64_STANDARD_NO_PAD.decode(text).ok());
        let parts = Parts { cost, salt: salt?, expected: expected?.try_into().ok()? };
        is_borne.then_some(parts)
    }
}

struct Parts {
    cost: (u32, u32, u32),
    salt: Vec<u8>,
    expected: [u8; 32],
}

/// Never in a log.
impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret")
    }
}

/// Never in a log.
impl fmt::Debug for Kept {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Kept")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_tells_a_right_guess_from_a_wrong_one_and_costs_as_much_as_it_should() {
        let kept = Secret::chosen("402817").unwrap().kept([7; 16]).unwrap();
        assert!(kept.text().starts_with("$argon2id$v=19$m=47104,t=1,p=1$"), "{}", kept.text());
        let guess = |text: &str| kept.check(&Secret::typed(text)).unwrap();
        assert_eq!(["402817", "402818", "", &"4".repeat(300)].map(guess), [Verdict::Right, Verdict::Wrong, Verdict::Wrong, Verdict::Wrong]);
        assert_ne!(kept, Secret::chosen("402817").unwrap().kept([8; 16]).unwrap());
        assert_eq!(format!("{kept:?}"), "Kept");
    }

    #[test]
    fn what_was_kept_at_another_cost_is_right_and_to_be_kept_anew() {
        let weak = hash("402817", &[7; 16], (19 * 1024, 2, 1)).unwrap();
        let [salt, hash] = [&[7; 16][..], &weak[..]].map(|bytes| BASE64_STANDARD_NO_PAD.encode(bytes));
        let kept = Kept::of(format!("$argon2id$v=19$m=19456,t=2,p=1${salt}${hash}"));
        assert_eq!(kept.check(&Secret::typed("402817")), Ok(Verdict::RightKeptOtherwise));
        assert_eq!(kept.check(&Secret::typed("402818")), Ok(Verdict::Wrong));
    }

    #[test]
    fn the_hash_is_that_of_the_published_example() {
        // [M] The tests of argon2's reference implementation (src/test.c), from memory: argon2id, 64 MiB, twice over, one lane.
        let found = hash("password", b"somesalt", (65_536, 2, 1)).unwrap();
        let hex: String = found.iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(hex, "09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7");
    }

    #[test]
    fn what_is_damaged_is_neither_right_nor_asks_for_more_than_the_machine_has() {
        for text in ["", "$argon2id$v=19$m=4294967295,t=1,p=1$c2FsdHNhbHQ$AAAA", "$argon2i$v=19$m=47104,t=1,p=1$c2FsdHNhbHQ$AAAA", "plain"]
        {
            assert_eq!(Kept::of(text.to_owned()).check(&Secret::typed("402817")), Err(Unhashed), "{text}");
        }
    }

    #[test]
    fn what_anybody_would_try_first_is_not_chosen() {
        let why = |text: &str| Secret::chosen(text).err();
        for text in ["402817", "correct horse", "        ", &"\u{e9}".repeat(256)] {
            assert_eq!(why(text), None, "{text}");
        }
        for text in ["", "40281", "passwor", "12a45"] {
            assert_eq!(why(text), Some(NotASecret::Short), "{text}");
        }
        for text in ["000000", "123456", "987654", "3456789"] {
            assert_eq!(why(text), Some(NotASecret::Obvious), "{text}");
        }
        assert_eq!(why(&"x".repeat(257)), Some(NotASecret::Long));
    }
}
