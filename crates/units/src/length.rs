//! Units in which a person states a film thickness.

use std::fmt;
use std::str::FromStr;

/// A unit of film thickness.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Unit {
    /// Micrometre.
    Micrometre,
    /// Thousandth of an inch: 25.4 um exactly.
    Mil,
    /// Millimetre.
    Millimetre,
}

/// A word that names no unit of film thickness.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("'{0}' is not a unit of film thickness: write um, mil or mm")]
pub struct UnknownUnit(pub String);

impl Unit {
    /// Every unit, smallest first.
    pub const ALL: [Self; 3] = [Self::Micrometre, Self::Mil, Self::Millimetre];

    /// Micrometres in one of this unit (exact by definition of the inch).
    #[must_use]
    pub const fn micrometres(self) -> f64 {
        match self {
            Self::Micrometre => 1.0,
            Self::Mil => 25.4,
            Self::Millimetre => 1000.0,
        }
    }

    /// The word written in files and after numbers.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Micrometre => "um",
            Self::Mil => "mil",
            Self::Millimetre => "mm",
        }
    }

    /// Decimals that a person needs when a film is printed in this unit: steps of 0.1, 0.25 and 0.1 um.
    ///
    /// Judgement: a hand gauge resolves 0.1 um to 1 um and a finishing set takes about 0.5 um, so that fewer would hide a set and more would be false.
    #[must_use]
    pub const fn decimals(self) -> usize {
        match self {
            Self::Micrometre => 1,
            Self::Mil => 2,
            Self::Millimetre => 4,
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}

impl FromStr for Unit {
    type Err = UnknownUnit;

    /// Reads `um`, `mil` or `mm`, and what people write for them: both micro signs (U+00B5 and U+03BC), `micron`, `mils`, `thou`, capitals.
    fn from_str(word: &str) -> Result<Self, UnknownUnit> {
        match word.trim().to_lowercase().as_str() {
            "um" | "\u{b5}m" | "\u{3bc}m" | "micron" | "microns" | "micrometre" | "micrometres" | "micrometer" | "micrometers" => {
                Ok(Self::Micrometre)
            }
            "mil" | "mils" | "thou" => Ok(Self::Mil),
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Ok(Self::Millimetre),
            _ => Err(UnknownUnit(word.trim().to_owned())),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_exact_multiples_of_a_micrometre() {
        // [S] standards section 1.1: 1 mil = 25.4 um exactly.
        assert_eq!(Unit::ALL.map(|unit| unit.micrometres().to_string()), ["1", "25.4", "1000"]);
    }

    #[test]
    fn a_unit_is_read_in_every_way_that_it_is_written() {
        for word in ["um", "\u{b5}m", "\u{3bc}m", "UM", " um ", "micron", "Microns", "micrometre", "micrometers"] {
            assert_eq!(word.parse(), Ok(Unit::Micrometre), "{word}");
        }
        for word in ["mil", "mils", "MIL", "thou"] {
            assert_eq!(word.parse(), Ok(Unit::Mil), "{word}");
        }
        for word in ["mm", "MM", "millimetre", "millimeters"] {
            assert_eq!(word.parse(), Ok(Unit::Millimetre), "{word}");
        }
    }

    #[test]
    fn a_word_that_is_no_unit_is_named() {
        for word in ["", "inch", "m", "nm", "milli", "\u{b5}", "u m"] {
            let error = word.parse::<Unit>().unwrap_err();
            assert_eq!(error.to_string(), format!("'{word}' is not a unit of film thickness: write um, mil or mm"));
        }
    }

    #[test]
    fn a_unit_prints_as_the_word_that_reads_back() {
        assert_eq!(Unit::ALL.map(|unit| unit.to_string()), ["um", "mil", "mm"]);
        assert_eq!(Unit::ALL.map(|unit| unit.to_string().parse()), Unit::ALL.map(Ok));
        assert_eq!(Unit::ALL.map(Unit::decimals), [1, 2, 4]);
    }
}
