//! Figures in words: film in the person's unit, and so many of a thing.

use std::fmt::Display;

use lastmicron_units::Unit;

/// `um` micrometres as a bare figure in `unit`, to as many decimals as a person needs; a dash when it isn't a number.
#[must_use]
pub fn in_unit_bare(um: f64, unit: Unit) -> String {
    fixed(um / unit.micrometres(), unit.decimals())
}

/// `um` micrometres with the unit's name.
#[must_use]
pub fn in_unit(um: f64, unit: Unit) -> String {
    format!("{} {}", in_unit_bare(um, unit), unit.symbol())
}

/// So many of a thing, by its word for one and for more, as the number is written: "1 hour", "1.0 hours".
#[must_use]
pub fn counted(number: impl Display, one: &str, more: &str) -> String {
    let number = number.to_string();
    let word = if number == "1" { one } else { more };
    format!("{number} {word}")
}

/// Fixed decimals, without a sign on nought.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "\u{2013}".to_owned();
    }
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(bare) if bare.chars().all(|c| c == '0' || c == '.') => bare.to_owned(),
        Some(bare) => format!("\u{2212}{bare}"),
        None => text,
    }
}

/// As many decimals as a step of the scale needs, at most four.
pub(crate) fn at_step(um: f64, step_um: f64, unit: Unit) -> String {
    let step = step_um / unit.micrometres();
    let needed = (0..4).find(|&d| is_whole(step * 10_f64.powi(d))).unwrap_or(4);
    fixed(um / unit.micrometres(), usize::try_from(needed).unwrap_or(4))
}

fn is_whole(value: f64) -> bool {
    (value - value.round()).abs() < 1e-6 && value.abs() >= 0.5
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_is_printed_in_the_persons_unit() {
        let cases = [
            (25.4, Unit::Micrometre, "25.4 um"),
            (25.4, Unit::Mil, "1.00 mil"),
            (25.4, Unit::Millimetre, "0.0254 mm"),
            (-0.01, Unit::Micrometre, "0.0 um"),
            (-3.0, Unit::Micrometre, "\u{2212}3.0 um"),
            (f64::NAN, Unit::Micrometre, "\u{2013} um"),
        ];
        for (um, unit, expected) in cases {
            assert_eq!(in_unit(um, unit), expected);
        }
    }

    #[test]
    fn one_is_one() {
        assert_eq!([0, 1, 2, 11].map(|n| counted(n, "job", "jobs")), ["0 jobs", "1 job", "2 jobs", "11 jobs"]);
        assert_eq!([0.5, 1.0, 1.5].map(|n: f64| counted(n, "hour", "hours")), ["0.5 hours", "1 hour", "1.5 hours"]);
        assert_eq!(counted("1.0", "hour", "hours"), "1.0 hours");
    }

    #[test]
    fn a_level_shows_as_many_decimals_as_its_step_has() {
        assert_eq!(at_step(30.0, 5.0, Unit::Micrometre), "30");
        assert_eq!(at_step(32.5, 2.5, Unit::Micrometre), "32.5");
        assert_eq!(at_step(25.4 * 1.2, 25.4 * 0.2, Unit::Mil), "1.2");
        assert_eq!(at_step(25.4 * 1.25, 25.4 * 0.05, Unit::Mil), "1.25");
        assert_eq!(at_step(40.0, 5.0, Unit::Millimetre), "0.040");
    }
}
