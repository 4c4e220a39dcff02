//! When something happened, as a device's clock said.

use std::fmt;
use std::str::FromStr;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// An instant with its offset, RFC 3339, kept as it was written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct When {
    text: String,
    instant: Timestamp,
}

/// A text that is no such instant.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this is not an RFC 3339 time with its offset, like 2024-05-01T09:30:00+02:00")]
pub struct NotAnInstant;

impl When {
    /// Seconds from another instant to this one; the clock of whoever said either may be wrong.
    #[must_use]
    pub fn seconds_since(&self, other: &Self) -> i64 {
        self.instant.as_second() - other.instant.as_second()
    }

    /// Seconds since the beginning of 1970 in UTC, leap seconds left out.
    #[must_use]
    pub fn unix_seconds(&self) -> i64 {
        self.instant.as_second()
    }

    /// As it was written.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.text
    }
}

/// Whether a text has the shape `YYYY-MM-DDThh:mm:ss`, then decimals or none, then `Z` or `+hh:mm` or `-hh:mm`.
fn is_shaped(text: &str) -> bool {
    let fits = |bytes: &[u8], pattern: &[u8]| {
        let is_fit = |(byte, wanted): (&u8, &u8)| if *wanted == b'0' { byte.is_ascii_digit() } else { byte == wanted };
        bytes.len() == pattern.len() && bytes.iter().zip(pattern).all(is_fit)
    };
    let bytes = text.as_bytes();
    let (Some(date_time), Some(rest)) = (bytes.get(..19), bytes.get(19..)) else { return false };
    let decimals = if rest.first() == Some(&b'.') { 1 + rest[1..].iter().take_while(|byte| byte.is_ascii_digit()).count() } else { 0 };
    let offset = &rest[decimals..];
    fits(date_time, b"0000-00-00T00:00:00")
        && (decimals == 0 || (2..=10).contains(&decimals))
        && [b"Z".as_slice(), b"+00:00", b"-00:00"].into_iter().any(|pattern| fits(offset, pattern))
}

impl FromStr for When {
    type Err = NotAnInstant;

    fn from_str(text: &str) -> Result<Self, NotAnInstant> {
        let instant = text.parse().map_err(|_| NotAnInstant)?;
        if is_shaped(text) { Ok(Self { text: text.to_owned(), instant }) } else { Err(NotAnInstant) }
    }
}

impl TryFrom<String> for When {
    type Error = NotAnInstant;

    fn try_from(text: String) -> Result<Self, NotAnInstant> {
        text.parse()
    }
}

impl From<When> for String {
    fn from(when: When) -> Self {
        when.text
    }
}

impl fmt::Display for When {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn instants_of_the_standard_are_read_and_kept_as_written() {
        // [M] RFC 3339, section 5.8, from memory: the second and third are the same instant.
        for text in ["1985-04-12T23:20:50.52Z", "1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57Z", "1937-01-01T12:00:27.87+00:20"] {
            assert_eq!(text.parse::<When>().unwrap().to_string(), text);
        }
        let [pacific, universal] = ["1996-12-19T16:39:57-08:00", "1996-12-20T00:39:58Z"].map(|text| text.parse::<When>().unwrap());
        assert_eq!(universal.seconds_since(&pacific), 1);
        // 26 leap days and 9,490 others before 1996; 1996-12-20 is its 355th day.
        assert_eq!(pacific.unix_seconds(), ((26 * 365 + 6 + 354) * 24 * 60 + 39) * 60 + 57);
    }

    #[test]
    fn what_leaves_open_which_instant_is_meant_is_refused() {
        for text in [
            "",
            "2024-05-01",
            "2024-05-01T09:30:00",
            "2024-05-01 09:30:00Z",
            "2024-05-01T09:30Z",
            "2024-02-30T09:30:00Z",
            "2024-05-01T25:30:00Z",
            "2024-05-01T09:30:00.Z",
            "2024-05-01T09:30:00+02",
            "2024-05-01T09:30:00+02:00[Europe/Paris]",
            "2024-05-01t09:30:00z",
            "20240501T093000Z",
            "\u{662}024-05-01T09:30:00Z",
        ] {
            assert_eq!(text.parse::<When>(), Err(NotAnInstant), "{text}");
        }
    }
}
