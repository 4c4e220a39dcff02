//! Whether a number can be a film in the unit that it is stated in.

use std::fmt;

use crate::entered::Entered;
use crate::length::Unit;

/// A range of film that is to be expected, um.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Expected {
    /// Least, um.
    pub low_um: f64,
    /// Most, um.
    pub high_um: f64,
}

/// All that lies on a vehicle's metal.
///
/// Judgement: the thinnest system that is known (a single pigmented coat on a primer) stands above 30 um and a bare primer above 10; several resprays stay below
/// 1000 um and a skim of filler below 2000. Wider, and a number in mil would pass as one in um (4.3 and 110 are 25.4 times apart from their twins); narrower, and filler would be called a slip.
pub const VEHICLE_BUILD: Expected = Expected { low_um: 10.0, high_um: 2000.0 };

/// One coat, or the primers alone.
///
/// Judgement: a topcoat polished nearly away or a thin primer may be a few um.
pub const SINGLE_COAT: Expected = Expected { low_um: 2.0, high_um: 2000.0 };

/// A number that is implausible in the unit stated: to be shown to a person, never converted.
#[derive(Clone, Debug, PartialEq)]
pub struct Implausible {
    /// As it was entered.
    pub entered: Entered,
    /// What was to be expected.
    pub expected: Expected,
    /// Units in which the same number would be plausible.
    pub plausible_in: Vec<Unit>,
}

/// Judges a thickness against what is to be expected; nothing where it is plausible.
#[must_use]
pub fn implausible(entered: Entered, expected: Expected) -> Option<Implausible> {
    let fits = |um: f64| um >= expected.low_um && um <= expected.high_um;
    if fits(entered.thickness().micrometres()) {
        return None;
    }
    let plausible_in = Unit::ALL.into_iter().filter(|unit| fits(entered.number() * unit.micrometres())).collect();
    Some(Implausible { entered, expected, plausible_in })
}

impl fmt::Display for Implausible {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let um = self.entered.thickness().micrometres();
        let Expected { low_um, high_um } = self.expected;
        let side = if um < low_um { "less" } else { "more" };
        write!(f, "{}", self.entered)?;
        if self.entered.unit() != Unit::Micrometre {
            write!(f, " is {} um,", rounded(um))?;
        } else {
            f.write_str(" is")?;
        }
        write!(f, " {side} than is to be expected of a vehicle ({low_um} to {high_um} um)")?;
        let number = self.entered.to_string();
        let number = number.split(' ').next().unwrap_or_default();
        for (i, unit) in self.plausible_in.iter().enumerate() {
            f.write_str(if i == 0 { "; plausible would be " } else { " or " })?;
            write!(f, "{number} {unit}")?;
        }
        Ok(())
    }
}

/// With as many decimals as tell the size: 2794, 12.7, 0.05.
fn rounded(um: f64) -> String {
    let decimals = if um.abs() >= 100.0 { 0 } else { 2 };
    let text = format!("{um:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn judged(text: &str) -> Option<String> {
        implausible(Entered::read(text, Unit::Micrometre).unwrap(), VEHICLE_BUILD).map(|found| found.to_string())
    }

    #[test]
    fn a_number_in_the_wrong_unit_is_flagged_with_the_right_one() {
        // [D] 110 x 25.4 = 2794.
        assert_eq!(
            judged("110 mil").unwrap(),
            "110 mil is 2794 um, more than is to be expected of a vehicle (10 to 2000 um); plausible would be 110 um"
        );
        assert_eq!(
            judged("4.3 um").unwrap(),
            "4.3 um is less than is to be expected of a vehicle (10 to 2000 um); plausible would be 4.3 mil"
        );
        assert_eq!(
            judged("0.110 um").unwrap(),
            "0.110 um is less than is to be expected of a vehicle (10 to 2000 um); plausible would be 0.110 mm"
        );
        assert_eq!(
            judged("50 mm").unwrap(),
            "50 mm is 50000 um, more than is to be expected of a vehicle (10 to 2000 um); plausible would be 50 um or 50 mil"
        );
        assert_eq!(
            judged("0.11 mil").unwrap(),
            "0.11 mil is 2.79 um, less than is to be expected of a vehicle (10 to 2000 um); plausible would be 0.11 mm"
        );
    }

    #[test]
    fn a_number_that_fits_in_no_unit_is_flagged_without_advice() {
        assert_eq!(judged("0").unwrap(), "0 um is less than is to be expected of a vehicle (10 to 2000 um)");
        assert_eq!(judged("2794 um").unwrap(), "2794 um is more than is to be expected of a vehicle (10 to 2000 um)");
        assert_eq!(judged("-3 um").unwrap(), "-3 um is less than is to be expected of a vehicle (10 to 2000 um)");
    }

    #[test]
    fn the_bounds_themselves_are_plausible() {
        for text in ["10", "2000", "4.3 mil", "0.110 mm", "110", "10.0", "2 mm"] {
            assert_eq!(judged(text), None, "{text}");
        }
        assert!(judged("9.99").is_some() && judged("2000.01").is_some());
    }

    #[test]
    fn a_single_coat_may_be_thinner_than_a_build() {
        let five = Entered::read("5 um", Unit::Micrometre).unwrap();
        assert_eq!(implausible(five, SINGLE_COAT), None);
        assert!(implausible(five, VEHICLE_BUILD).is_some());
    }

    #[test]
    fn sizes_are_told_in_as_many_decimals_as_they_need() {
        assert_eq!([2794.2, 100.0, 99.994, 12.7, 0.05, 12.0].map(rounded), ["2794", "100", "99.99", "12.7", "0.05", "12"]);
    }
}
