//! Survival analysis of interval- and right-censored counts.
//!
//! An observation says that `count` lifetimes ended in (low, high], or beyond low when there is no high; low = high is a
//! lifetime known exactly. Current-status data are the special case (0, t] and (t, none).

mod exponential;
mod icm;
mod innermost;
mod newton;
mod nonnegative;
mod nonparametric;
mod weibull;

#[cfg(test)]
mod properties;
#[cfg(test)]
mod published;

pub use exponential::{Exponential, exponential};
pub use nonparametric::{Mass, Nonparametric, nonparametric};
pub use weibull::{Weibull, weibull};

/// `count` lifetimes that ended in (`low`, `high`], in one unit throughout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Censored {
    low: f64,
    /// Infinite when nothing is known above `low`.
    high: f64,
    count: f64,
}

/// Why an observation is refused, or a fit does not exist.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum SurvivalError {
    /// The lower end is negative or not a number.
    #[error("an interval begins at {0}: it must begin at a finite number from 0 upwards")]
    Low(f64),
    /// The upper end is below the lower one, or not a finite number.
    #[error("an interval runs from {low} to {high}: it must end at a finite number not below its beginning, or be left open")]
    High {
        /// Where it begins.
        low: f64,
        /// Where it is said to end.
        high: f64,
    },
    /// The count is negative or not a finite number.
    #[error("a count of {0}: it must be a finite number from 0 upwards")]
    Count(f64),
    /// Nothing was counted.
    #[error("nothing was counted: at least one count must be more than 0")]
    Empty,
    /// Everything is right-censored.
    #[error("no lifetime has ended: the likelihood rises for ever with the mean, so there is no estimate of it")]
    NoneEnded,
    /// Every lifetime may have ended at once.
    #[error("every lifetime may have ended at 0: the likelihood rises for ever as the mean falls, so there is no estimate of it")]
    AllAtZero,
    /// All observations agree on one value, so that the Weibull shape has no bound.
    #[error("all observations agree with a lifetime of {at}: the likelihood rises for ever with the shape, so there is no estimate of it")]
    ShapeUnbounded {
        /// The value that all agree with.
        at: f64,
    },
    /// The likelihood rises as the Weibull shape falls to 0.
    #[error("the likelihood rises for ever as the shape falls to 0: fewer lifetimes end late than early, so there is no estimate of it")]
    ShapeVanishes,
    /// A lifetime of exactly 0, whose Weibull density is 0 or infinite.
    #[error("a lifetime of exactly 0 has no place in a Weibull distribution: state the interval in which it ended")]
    ExactZero,
    /// The search for the maximum stopped early.
    #[error("the search for the largest likelihood stopped {gap:e} per observation short of a proven maximum")]
    NotConverged {
        /// Bound on what is missing, log-likelihood per observation.
        gap: f64,
    },
}

impl Censored {
    /// `count` lifetimes that ended in (`low`, `high`], or beyond `low` when `high` is `None`; `low` = `high` is exact.
    ///
    /// # Errors
    /// [`SurvivalError`] unless 0 <= `low` <= `high` and 0 <= `count`, all finite.
    pub fn new(low: f64, high: Option<f64>, count: f64) -> Result<Self, SurvivalError> {
        if !(low.is_finite() && low >= 0.0) {
            return Err(SurvivalError::Low(low));
        }
        if let Some(high) = high
            && !(high.is_finite() && high >= low)
        {
            return Err(SurvivalError::High { low, high });
        }
        if !(count.is_finite() && count >= 0.0) {
            return Err(SurvivalError::Count(count));
        }
        // + 0.0 turns a negative zero into the zero that sorts first.
        Ok(Self { low: low + 0.0, high: high.map_or(f64::INFINITY, |h| h + 0.0), count })
    }

    /// Lower end, excluded from the interval unless the lifetime is exact.
    #[must_use]
    pub const fn low(&self) -> f64 {
        self.low
    }

    /// Upper end, included; `None` when right-censored.
    #[must_use]
    pub fn high(&self) -> Option<f64> {
        self.high.is_finite().then_some(self.high)
    }

    /// How many.
    #[must_use]
    pub const fn count(&self) -> f64 {
        self.count
    }

    fn is_exact(&self) -> bool {
        self.low.to_bits() == self.high.to_bits()
    }

    /// Whether it says anything at all: (0, none) doesn't.
    fn informs(&self) -> bool {
        self.low > 0.0 || self.high.is_finite()
    }
}

/// The distinct intervals in order of low, then high, with their counts added; those of count 0 are left out.
fn distinct(data: &[Censored]) -> Result<Vec<Censored>, SurvivalError> {
    // Bits of floats that are not negative sort as the floats do, and faster.
    let mut keyed: Vec<(u64, u64, f64)> =
        data.iter().filter(|row| row.count > 0.0).map(|row| (row.low.to_bits(), row.high.to_bits(), row.count)).collect();
    keyed.sort_unstable_by_key(|&(low, high, _)| (low, high));
    keyed.dedup_by(|next, kept| {
        let same = (next.0, next.1) == (kept.0, kept.1);
        if same {
            kept.2 += next.2;
        }
        same
    });
    if keyed.is_empty() {
        return Err(SurvivalError::Empty);
    }
    Ok(keyed.into_iter().map(|(low, high, count)| Censored { low: f64::from_bits(low), high: f64::from_bits(high), count }).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn intervals_that_make_no_sense_are_refused() {
        assert_eq!(Censored::new(-1.0, None, 1.0), Err(SurvivalError::Low(-1.0)));
        assert_eq!(Censored::new(2.0, Some(1.0), 1.0), Err(SurvivalError::High { low: 2.0, high: 1.0 }));
        assert!(Censored::new(0.0, Some(f64::INFINITY), 1.0).is_err());
        assert!(Censored::new(f64::NAN, None, 1.0).is_err());
        assert_eq!(Censored::new(0.0, None, -2.0), Err(SurvivalError::Count(-2.0)));
    }

    #[test]
    fn equal_intervals_are_counted_together_and_empty_ones_dropped() {
        let row = |low, high, count| Censored::new(low, high, count).unwrap();
        let data = [row(1.0, None, 2.0), row(-0.0, Some(1.0), 1.0), row(1.0, None, 3.0), row(0.0, Some(1.0), 1.0), row(5.0, None, 0.0)];
        assert_eq!(distinct(&data).unwrap(), [row(0.0, Some(1.0), 2.0), row(1.0, None, 5.0)]);
        assert_eq!(distinct(&data[4..]), Err(SurvivalError::Empty));
    }
}
