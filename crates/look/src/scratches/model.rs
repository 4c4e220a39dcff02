//! Scratches of random depths under a lamp, of which polishing takes the same depth off each.

use lastmicron_numerics::quadrature::Rule;
use num_complex::Complex64;

use super::shot::Shot;

/// What is sought, in the order of a vector of unknowns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Scratches {
    /// Logarithm of the length of scratches in an area, 1 / pixel.
    pub(crate) log_density: f64,
    /// Logarithm of the peak of the response to a scratch of the scale's depth next to the lamp, in units of the noise.
    pub(crate) log_peak: f64,
    /// Logarithm of the distance over which that falls to 1/e, pixels.
    pub(crate) log_reach: f64,
    /// Logarithm of the spread of directions.
    pub(crate) log_spread: f64,
    /// Logarithm of the shape of the Weibull law of depths.
    pub(crate) log_shape: f64,
    /// Film taken, in scales of the depths.
    pub(crate) taken: f64,
    /// Logarithm of an error of what a response on the worked side is by the untouched side's.
    pub(crate) log_gain: f64,
}

/// Number of unknowns.
pub(crate) const UNKNOWNS: usize = 7;

impl Scratches {
    pub(crate) fn of(values: &[f64]) -> Self {
        let [log_density, log_peak, log_reach, log_spread, log_shape, taken, log_gain] = std::array::from_fn(|at| values[at]);
        Self { log_density, log_peak, log_reach, log_spread, log_shape, taken, log_gain }
    }

    /// Logarithm of the peak of the response at a distance from the lamp, of a scratch as deep as the scale.
    pub(crate) fn log_peak_at(&self, distance: f64) -> f64 {
        self.log_peak - distance / self.log_reach.exp()
    }

    pub(crate) fn shape(&self) -> f64 {
        self.log_shape.exp()
    }

    /// Share of scratch length that is gone.
    pub(crate) fn gone(&self) -> f64 {
        1.0 - (-self.taken.max(0.0).powf(self.shape())).exp()
    }

    /// Share of scratch brightness that is gone.
    pub(crate) fn visible(&self, rule: &Rule) -> f64 {
        let mean = |taken: f64| depths(rule, self.shape(), taken).iter().map(|left| left.depth * left.weight).sum::<f64>();
        1.0 - mean(self.taken) / mean(0.0)
    }
}

/// A depth that is left, and its share of all scratches.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Left {
    /// Depth, in scales.
    pub(crate) depth: f64,
    pub(crate) log_depth: f64,
    pub(crate) weight: f64,
}

/// Depths that are left when `taken` has been taken, in scales, and their weights: all but those of scratches that are gone.
pub(crate) fn depths(rule: &Rule, shape: f64, taken: f64) -> Vec<Left> {
    let taken = taken.max(0.0);
    let first = taken.powf(shape);
    let left = (-first).exp();
    // Depth to the power of the shape is exponential; its nodes crowd where few but bright scratches are.
    let node = |[at, weight]: &[f64; 2]| {
        let (share, weight) = (0.5 * (at + 1.0), 0.5 * weight);
        let more = -3.0 * (-share).ln_1p();
        let depth = ((first + more).powf(shape.recip()) - taken).max(f64::MIN_POSITIVE);
        Left { depth, log_depth: depth.ln(), weight: weight * 3.0 * (1.0 - share).powi(2) * left }
    };
    rule.nodes().iter().map(node).collect()
}

/// Change of the logarithm of the characteristic function at numbers whose logarithms are `log_at`, from scratches whose depths are given, each of a peak of `exp(log_peak)` times its depth.
pub(crate) fn change(shot: &Shot, scratches: &Scratches, depths: &[Left], log_peak: f64, log_at: &[f64]) -> Vec<Complex64> {
    let table = shot.at_spread(scratches.log_spread);
    let density = scratches.log_density.exp();
    let sum = |log: f64| depths.iter().map(|left| table.at_log(log + left.log_depth) * left.weight).sum::<Complex64>() * density;
    log_at.iter().map(|log| sum(log + log_peak)).collect()
}
