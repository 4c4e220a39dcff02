//! Film thickness and film removed, in micrometres.

use std::cmp::Ordering;
use std::ops::{Add, Sub};

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

impl Thickness {
    /// A thickness of `um` micrometres.
    ///
    /// # Errors
    /// [`OutOfRange`] when it isn't finite or is beyond 100 mm either way.
    pub fn from_micrometres(um: f64) -> Result<Self, OutOfRange> {
        checked(um).map(Self)
    }

    /// The bare number, for arithmetic that carries `_um` in its names.
    #[must_use]
    pub const fn micrometres(self) -> f64 {
        self.0
    }
}

impl Removal {
    /// A removal of `um` micrometres.
    ///
    /// # Errors
    /// [`OutOfRange`] when it isn't finite or is beyond 100 mm either way.
    pub fn from_micrometres(um: f64) -> Result<Self, OutOfRange> {
        checked(um).map(Self)
    }

    /// The bare number, for arithmetic that carries `_um` in its names.
    #[must_use]
    pub const fn micrometres(self) -> f64 {
        self.0
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
