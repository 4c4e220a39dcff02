//! What a thing is known by wherever it was made.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// A UUID of version 7 (RFC 9562, section 5.7): unique without asking anybody, and in the order of making. Written in lower case with hyphens.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Id(Uuid);

/// A text that is no such id.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this is not a UUID of version 7 in lower case, like 018f3a5e-7c1b-7d2e-9a41-5b6c7d8e9f00")]
pub struct NotAnId;

impl Id {
    /// The id of a moment, milliseconds since 1970, and ten bytes drawn at random; both come from the caller.
    #[must_use]
    pub const fn made_at(unix_ms: u64, random: [u8; 10]) -> Self {
        Self(uuid::Builder::from_unix_timestamp_millis(unix_ms, &random).into_uuid())
    }

    /// The id of so many milliseconds later, with the same random bytes: one that stands behind this in the order of ids.
    #[must_use]
    pub const fn later(self, ms: u64) -> Self {
        /// Bits behind the time: version, variant and random bytes (RFC 9562, 5.7).
        const BEHIND_TIME: u32 = 80;
        Self(Uuid::from_u128(self.0.as_u128().wrapping_add((ms as u128) << BEHIND_TIME)))
    }
}

impl FromStr for Id {
    type Err = NotAnId;

    fn from_str(text: &str) -> Result<Self, NotAnId> {
        let uuid = Uuid::try_parse(text).map_err(|_| NotAnId)?;
        let id = Self(uuid);
        if uuid.get_version_num() == 7 && uuid.get_variant() == uuid::Variant::RFC4122 && id.to_string() == text {
            Ok(id)
        } else {
            Err(NotAnId)
        }
    }
}

impl TryFrom<String> for Id {
    type Error = NotAnId;

    fn try_from(text: String) -> Result<Self, NotAnId> {
        text.parse()
    }
}

impl From<Id> for String {
    fn from(id: Id) -> Self {
        id.to_string()
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.hyphenated().fmt(f)
    }
}

impl fmt::Debug for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_example_of_the_standard_is_made_and_read() {
        // [M] RFC 9562, appendix A.6, from memory: 017F22E2-79B0-7CC3-98C4-DC0C0C07398F of 1645557742000 ms.
        let id = Id::made_at(1_645_557_742_000, [0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f]);
        assert_eq!(id.to_string(), "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
        assert_eq!(id.to_string().parse(), Ok(id));
    }

    #[test]
    fn a_later_one_is_that_of_a_later_moment_with_the_same_random_bytes() {
        let random = [0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f];
        let id = Id::made_at(1_645_557_742_000, random);
        assert_eq!([id.later(0), id.later(1), id.later(70_000)], [0, 1, 70_000].map(|ms| Id::made_at(1_645_557_742_000 + ms, random)));
    }

    #[test]
    fn another_version_or_another_way_of_writing_is_refused() {
        for text in [
            "",
            "017F22E2-79B0-7CC3-98C4-DC0C0C07398F",
            "017f22e279b07cc398c4dc0c0c07398f",
            "{017f22e2-79b0-7cc3-98c4-dc0c0c07398f}",
            "urn:uuid:017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
            "017f22e2-79b0-4cc3-98c4-dc0c0c07398f",
            "017f22e2-79b0-7cc3-18c4-dc0c0c07398f",
            "00000000-0000-0000-0000-000000000000",
        ] {
            assert_eq!(text.parse::<Id>(), Err(NotAnId), "{text}");
        }
    }

    #[test]
    fn ids_stand_in_the_order_of_making() {
        assert!(Id::made_at(1, [255; 10]) < Id::made_at(2, [0; 10]));
    }
}
