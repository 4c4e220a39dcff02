//! A film thickness as a person entered it: the number and unit kept, so that it prints as it was written.

use std::fmt;

use crate::length::{Unit, UnknownUnit};
use crate::number::{NumberError, Written, read_number};
use crate::thickness::{OutOfRange, Thickness};

/// A thickness with the number and the unit that it was entered in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entered {
    thickness: Thickness,
    written: Written,
    unit: Unit,
}

/// A text that is no film thickness.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum EntryError {
    /// The number.
    #[error(transparent)]
    Number(#[from] NumberError),
    /// The unit.
    #[error(transparent)]
    Unit(#[from] UnknownUnit),
    /// Number and unit read well, and give no film thickness.
    #[error("{written} {unit}: {source}")]
    OutOfRange {
        /// The number as written.
        written: String,
        /// Its unit.
        unit: Unit,
        /// Why not.
        source: OutOfRange,
    },
}

impl Entered {
    /// Reads what a person writes: `2.10 mil`, `47`, `47um`, `0,047 mm`. A number without a unit takes `default`.
    ///
    /// # Errors
    /// [`EntryError`] for what is no number, no unit, or no thickness; for numbers that may be two see [`read_number`].
    pub fn read(text: &str, default: Unit) -> Result<Self, EntryError> {
        let text = text.trim();
        let number = text.trim_end_matches(|c: char| c.is_alphabetic() || c == '\u{b5}');
        let word = &text[number.len()..];
        if number.trim().is_empty() && !word.is_empty() {
            return Err(NumberError::NotANumber(text.to_owned()).into());
        }
        let written = read_number(number)?;
        let unit = if word.is_empty() { default } else { word.parse()? };
        Self::new(written, unit)
    }

    /// A thickness of `written` in `unit`.
    ///
    /// # Errors
    /// [`EntryError::OutOfRange`] beyond what [`Thickness`] holds.
    pub fn new(written: Written, unit: Unit) -> Result<Self, EntryError> {
        let thickness =
            Thickness::new(written.value, unit).map_err(|source| EntryError::OutOfRange { written: digits(written), unit, source })?;
        Ok(Self { thickness, written, unit })
    }

    /// The thickness.
    #[must_use]
    pub const fn thickness(self) -> Thickness {
        self.thickness
    }

    /// The number as entered, in [`Self::unit`].
    #[must_use]
    pub const fn number(self) -> f64 {
        self.written.value
    }

    /// The unit that it was entered in, or the default that it took.
    #[must_use]
    pub const fn unit(self) -> Unit {
        self.unit
    }
}

impl fmt::Display for Entered {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", digits(self.written), self.unit)
    }
}

/// As it was written, or as short as it can be where that would lose something.
fn digits(written: Written) -> String {
    let as_written = format!("{:.*}", written.decimals, written.value);
    let is_whole = as_written.parse::<f64>().is_ok_and(|value| value.total_cmp(&written.value).is_eq());
    if is_whole { as_written } else { written.value.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check(text: &str, default: Unit, um: f64, printed: &str) {
        let entered = Entered::read(text, default).unwrap();
        assert!((entered.thickness().micrometres() - um).abs() <= 1e-12 * um, "{text}: {entered:?}");
        assert_eq!(entered.to_string(), printed, "{text}");
    }

    #[test]
    fn a_thickness_is_read_as_people_write_it() {
        use Unit::{Micrometre, Mil, Millimetre};
        // [D] 2.10 x 25.4 = 53.34.
        check("2.10 mil", Micrometre, 53.34, "2.10 mil");
        check("47", Micrometre, 47.0, "47 um");
        check("47um", Mil, 47.0, "47 um");
        check("47 \u{b5}m", Mil, 47.0, "47 um");
        check("47\u{3bc}m", Millimetre, 47.0, "47 um");
        check("0,047 mm", Micrometre, 47.0, "0.047 mm");
        check("2.1", Mil, 53.34, "2.1 mil");
        check("0.110", Millimetre, 110.0, "0.110 mm");
        // [C] standards section 1.1: 4.5 mil = 114.3 um; 0.3 mil = 7.62 um; 0.5 mil = 12.7 um.
        check("4.5 mil", Micrometre, 114.3, "4.5 mil");
        check("0.3mil", Micrometre, 7.62, "0.3 mil");
        check("0.5 mils", Micrometre, 12.7, "0.5 mil");
    }

    #[test]
    fn number_and_unit_as_entered_are_kept() {
        let entered = Entered::read("2.10 mil", Unit::Micrometre).unwrap();
        assert_eq!((entered.number(), entered.unit()), (2.1, Unit::Mil));
    }

    #[test]
    fn a_number_too_small_for_its_decimals_still_prints_in_full() {
        let entered = Entered::read("1e-19 mm", Unit::Micrometre).unwrap();
        assert_eq!(entered.to_string(), "0.0000000000000000001 mm");
    }

    #[test]
    fn what_is_no_thickness_is_refused_with_a_sentence() {
        let message = |text: &str| Entered::read(text, Unit::Micrometre).unwrap_err().to_string();
        assert_eq!(message(""), "no number is written");
        assert_eq!(message("mil"), "'mil' is not a number: write it like 118.5");
        assert_eq!(message("12 inch"), "'inch' is not a unit of film thickness: write um, mil or mm");
        assert_eq!(
            message("1,234 um"),
            "'1,234' may be 1.234 or 1234: write one of the two, with a point for decimals and nothing between thousands"
        );
        assert_eq!(
            message("1.234,5 um"),
            "'1.234,5' groups its digits: write it with a point for decimals and nothing between thousands, like 1234.5"
        );
        assert_eq!(message("110 mm"), "110 mm: 110000 um is not a film thickness");
        assert_eq!(message("nan"), "'nan' is not a number: write it like 118.5");
    }

    proptest! {
        #[test]
        fn what_is_printed_reads_back_the_same(tenths in -999_999_i32..=999_999, decimals in 0_usize..=3, unit in 0_usize..3) {
            let unit = Unit::ALL[unit];
            let scale = f64::from(10_i32.pow(u32::try_from(decimals).unwrap()));
            let text = format!("{:.*} {unit}", decimals, f64::from(tenths) / scale);
            if let Ok(entered) = Entered::read(&text, Unit::Micrometre) {
                prop_assert_eq!(Entered::read(&entered.to_string(), Unit::Mil).unwrap(), entered);
                prop_assert_eq!(entered.to_string(), text);
            }
        }

        #[test]
        fn any_text_is_read_or_refused(text in "\\PC{0,24}") {
            if let Ok(entered) = Entered::read(&text, Unit::Micrometre) {
                prop_assert!(entered.thickness().micrometres().is_finite());
            }
        }
    }
}
