//! Analysis of variance.
//!
//! Sums of squares are of deviations from means that were taken first (two passes), about the first value, so that constant
//! leading digits don't cost any.

mod crossed;
mod one_way;

pub use crossed::{Crossed, crossed};
pub use one_way::{OneWay, one_way};

/// A sum of squares with its degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Squares {
    /// Sum of squares.
    pub sum: f64,
    /// Degrees of freedom.
    pub df: f64,
}

impl Squares {
    /// Mean square.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.sum / self.df
    }
}

/// A ratio of mean squares, and how often chance alone makes it as large.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ratio {
    /// F.
    pub f: f64,
    /// P(F at least so large) where the numerator has no effect of its own.
    pub p: f64,
}

/// Why there is no analysis.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum AnovaError {
    /// Too few groups, or too few values in them.
    #[error("{what}: {found}, and at least {needed} are needed")]
    TooFew {
        /// What there is too little of.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many there must be.
        needed: usize,
    },
    /// Cells of different size.
    #[error("cell ({row}, {column}) holds {found} values and the first one {expected}: every cell must hold as many")]
    Unbalanced {
        /// Row, counted from 0.
        row: usize,
        /// Column, counted from 0.
        column: usize,
        /// How many it holds.
        found: usize,
        /// How many the first cell holds.
        expected: usize,
    },
    /// A value that is not a finite number.
    #[error("a value is {0}: every value must be a finite number")]
    NotFinite(f64),
}

/// F = `numerator` / `denominator`, with its p; `None` when the denominator is 0.
#[must_use]
pub fn ratio(numerator: Squares, denominator: Squares) -> Option<Ratio> {
    let f = numerator.mean() / denominator.mean();
    if !f.is_finite() {
        return None;
    }
    let p = crate::special::f_upper_tail(f, numerator.df, denominator.df).ok()?;
    Some(Ratio { f, p })
}

fn finite(values: impl IntoIterator<Item = f64>) -> Result<(), AnovaError> {
    values.into_iter().find(|value| !value.is_finite()).map_or(Ok(()), |value| Err(AnovaError::NotFinite(value)))
}

fn at_least(what: &'static str, found: usize, needed: usize) -> Result<(), AnovaError> {
    if found < needed { Err(AnovaError::TooFew { what, found, needed }) } else { Ok(()) }
}

#[expect(clippy::cast_precision_loss, reason = "a number of values in memory, below 2^53")]
fn number(n: usize) -> f64 {
    n as f64
}

/// Mean of values taken as differences from `origin`, with the differences' own rounding added back.
fn mean_about(origin: f64, values: impl ExactSizeIterator<Item = f64> + Clone) -> f64 {
    let n = number(values.len());
    let first = values.clone().map(|value| value - origin).sum::<f64>() / n;
    first + values.map(|value| (value - origin) - first).sum::<f64>() / n
}
