//! A quantity as its draws have it.

use crate::report::quantile;

/// A quantity that is not known, as its draws have it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Likely {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// One in forty lies below: 19 times in 20 it lies between this and `p975`.
    pub p025: f64,
    /// One in twenty lies below: 9 times in 10 it lies between this and `p95`.
    pub p05: f64,
    /// As likely above as below.
    pub p50: f64,
    /// One in twenty lies above.
    pub p95: f64,
    /// One in forty lies above.
    pub p975: f64,
}

impl Likely {
    /// Of draws; all NaN when there are none.
    pub(super) fn of(draws: &[f32]) -> Self {
        let mut sorted: Vec<f64> = draws.iter().map(|v| f64::from(*v)).collect();
        sorted.sort_by(f64::total_cmp);
        let at = |p: f64| if sorted.is_empty() { f64::NAN } else { quantile(&sorted, p) };
        let spread = crate::report::spread(&sorted);
        Self { mean: spread.mean, sd: spread.sd, p025: at(0.025), p05: at(0.05), p50: at(0.5), p95: at(0.95), p975: at(0.975) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_are_summed_up_by_their_order() {
        // [D] 0, 1, ..., 40: type 7 quantiles fall on the whole numbers, the sd is root of (41^2 - 1) / 12.
        let of = Likely::of(&(0_u8..=40).rev().map(f32::from).collect::<Vec<_>>());
        let found = [of.mean, of.p025, of.p05, of.p50, of.p95, of.p975];
        assert!(found.iter().zip([20.0, 1.0, 2.0, 20.0, 38.0, 39.0]).all(|(a, b)| (a - b).abs() < 1e-9), "{of:?}");
        assert!((of.sd - 140_f64.sqrt()).abs() < 1e-9, "{of:?}");
        assert!(Likely::of(&[]).p50.is_nan());
    }
}
