//! Film thickness and film removed, in micrometres.

use std::cmp::Ordering;
use std::fmt;
use std::ops::{Add, Sub};

use crate::length::Unit;

/// Largest magnitude accepted, in um. A vehicle's film is a few hundred; ten millimetres is filler or a slip of the pen.
const ABSURD_UM: f64 = 100_000.0;

/// A number that can't be a film thickness or a removal.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("{0} um is not a film thickness")]
pub struct OutOfRange(pub f64);

/// Where a film stands, in micrometres: finite, totally ordered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thickness(f64);

/// Film taken away (or, negative, added), in micrometres: finite, totally ordered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Removal(f64);

/// A film or a removal in a unit, with the decimals of [`Unit::decimals`]: what [`Thickness::printed_in`] gives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Printed {
    um: f64,
    unit: Unit,
}

macro_rules! micrometres {
    ($name:ident, $noun:literal) => {
        impl $name {
            #[doc = concat!("A ", $noun, " of nothing.")]
            pub const NOTHING: Self = Self(0.0);

            #[doc = concat!("A ", $noun, " of `um` micrometres.")]
            ///
            /// # Errors
            /// [`OutOfRange`] when it isn't finite or is beyond 100 mm either way.
            pub fn from_micrometres(um: f64) -> Result<Self, OutOfRange> {
                checked(um).map(Self)
            }

            #[doc = concat!("A ", $noun, " of `number` in `unit`.")]
            ///
            /// # Errors
            /// [`OutOfRange`] when it isn't finite or is beyond 100 mm either way.
            pub fn new(number: f64, unit: Unit) -> Result<Self, OutOfRange> {
                checked(number * unit.micrometres()).map(Self)
            }

            /// The bare number, for arithmetic that carries `_um` in its names.
            #[must_use]
            pub const fn micrometres(self) -> f64 {
                self.0
            }

            /// The number in `unit`.
            #[must_use]
            pub fn number_in(self, unit: Unit) -> f64 {
                self.0 / unit.micrometres()
            }

            /// For printing in a person's unit, with sensible decimals.
            #[must_use]
            pub const fn printed_in(self, unit: Unit) -> Printed {
                Printed { um: self.0, unit }
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.printed_in(Unit::Micrometre).fmt(f)
            }
        }
    };
}
micrometres!(Thickness, "thickness");
micrometres!(Removal, "removal");

impl fmt::Display for Printed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let number = format!("{:.*}", self.unit.decimals(), self.um / self.unit.micrometres());
        // What rounds to nothing has no sign.
        let is_zero = number.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
        write!(f, "{} {}", if is_zero { number.trim_start_matches('-') } else { &number }, self.unit)
    }
}

fn checked(um: f64) -> Result<f64, OutOfRange> {
    if um.is_finite() && um.abs() <= ABSURD_UM { Ok(um + 0.0) } else { Err(OutOfRange(um)) }
}

impl Sub for Thickness {
    type Output = Removal;
    fn sub(self, other: Self) -> Removal {
        Removal(self.0 - other.0)
    }
}

impl Sub<Removal> for Thickness {
    type Output = Self;
    fn sub(self, taken: Removal) -> Self {
        Self(self.0 - taken.0)
    }
}

impl Add for Removal {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

macro_rules! total_order {
    ($($name:ident),*) => {$(
        impl Eq for $name {}
        impl PartialOrd for $name {
            fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
                Some(self.cmp(other))
            }
        }
        impl Ord for $name {
            fn cmp(&self, other: &Self) -> Ordering {
                self.0.total_cmp(&other.0)
            }
        }
    )*};
}
total_order!(Thickness, Removal);

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn film(um: f64) -> Thickness {
        Thickness::from_micrometres(um).unwrap()
    }

    fn taken(um: f64) -> Removal {
        Removal::from_micrometres(um).unwrap()
    }

    #[test]
    fn mil_and_mm_convert_by_the_definition_of_the_inch() {
        // [C] standards section 1.1: 4.5 mil = 114.3 um; 120 um = 4.7244 mil; 0.3 mil = 7.62 um; 0.5 mil = 12.7 um.
        let close = |a: f64, b: f64, relative: f64| assert!((a - b).abs() <= relative * b.abs(), "{a} is not {b}");
        close(Thickness::new(4.5, Unit::Mil).unwrap().micrometres(), 114.3, 1e-15);
        close(film(120.0).number_in(Unit::Mil), 4.7244, 1e-5);
        close(Removal::new(0.3, Unit::Mil).unwrap().micrometres(), 7.62, 1e-15);
        close(Removal::new(0.5, Unit::Mil).unwrap().micrometres(), 12.7, 1e-15);
        close(Thickness::new(0.047, Unit::Millimetre).unwrap().micrometres(), 47.0, 1e-15);
        close(taken(47.0).number_in(Unit::Millimetre), 0.047, 1e-15);
        close(film(47.0).number_in(Unit::Micrometre), 47.0, 0.0);
    }

    #[test]
    fn film_less_film_is_what_was_taken() {
        assert_eq!(film(110.5) - film(108.25), taken(2.25));
        assert_eq!(film(108.25) - film(110.5), taken(-2.25));
    }

    #[test]
    fn film_less_what_was_taken_is_film() {
        assert_eq!(film(110.5) - taken(2.25), film(108.25));
        assert_eq!(film(2.0) - taken(3.0), film(-1.0));
    }

    #[test]
    fn removals_add_up() {
        assert_eq!(taken(1.25) + taken(0.5), taken(1.75));
    }

    #[test]
    fn films_and_removals_are_ordered_by_size() {
        assert!(film(16.0) < film(17.0) && film(-1.0) < film(0.0) && film(17.0) > film(16.0));
        assert_eq!(film(16.0).cmp(&film(16.0)), Ordering::Equal);
        assert_eq!(film(-0.0), film(0.0));
        assert_eq!(film(-0.0).cmp(&film(0.0)), Ordering::Equal);
        assert_eq!([taken(2.0), taken(-1.0), taken(0.5)].into_iter().max(), Some(taken(2.0)));
        assert_eq!(taken(2.0).partial_cmp(&taken(3.0)), Some(Ordering::Less));
    }

    #[test]
    fn what_is_no_film_is_refused() {
        for um in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 100_000.1, -100_000.1] {
            assert!(Thickness::from_micrometres(um).is_err() && Removal::from_micrometres(um).is_err(), "{um}");
        }
        assert_eq!((film(100_000.0).micrometres(), taken(-100_000.0).micrometres()), (100_000.0, -100_000.0));
        assert!(Thickness::new(4000.0, Unit::Mil).is_err() && Removal::new(100.1, Unit::Millimetre).is_err());
        assert_eq!(Thickness::from_micrometres(2e5).unwrap_err().to_string(), "200000 um is not a film thickness");
    }

    #[test]
    fn film_prints_in_the_persons_unit() {
        let print = |um: f64| Unit::ALL.map(|unit| film(um).printed_in(unit).to_string());
        assert_eq!(print(53.34), ["53.3 um", "2.10 mil", "0.0533 mm"]);
        assert_eq!(print(-0.04), ["0.0 um", "0.00 mil", "0.0000 mm"]);
        assert_eq!(print(-1.2), ["-1.2 um", "-0.05 mil", "-0.0012 mm"]);
        assert_eq!((film(110.0).to_string(), taken(1.25).to_string()), ("110.0 um".to_owned(), "1.2 um".to_owned()));
    }

    proptest! {
        #[test]
        fn what_prints_reads_back_within_half_of_the_last_digit(um in -2000.0..2000.0_f64, unit in 0_usize..3) {
            let unit = Unit::ALL[unit];
            let read = crate::Entered::read(&film(um).printed_in(unit).to_string(), Unit::Micrometre).unwrap();
            let half_step = 0.5 * unit.micrometres() * 0.1_f64.powi(i32::try_from(unit.decimals()).unwrap());
            prop_assert!((read.thickness().micrometres() - um).abs() <= half_step * (1.0 + 1e-9));
            prop_assert_eq!(read.unit(), unit);
        }

        #[test]
        fn a_number_in_a_unit_comes_back_as_it_was(number in 0.001..99.0_f64, unit in 0_usize..3) {
            let unit = Unit::ALL[unit];
            let back = Thickness::new(number, unit).unwrap().number_in(unit);
            prop_assert!((back - number).abs() <= 2.0 * f64::EPSILON * number);
        }
    }
}
