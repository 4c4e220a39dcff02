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
    /// Cumulative hazard of the depths at the film taken: minus the logarithm of the share of scratches that are left.
    pub(crate) hazard: f64,
    /// Logarithm of an error of what a response on the worked side is by the untouched side's.
    pub(crate) log_gain: f64,
}

/// Number of unknowns.
pub(crate) const UNKNOWNS: usize = 7;

impl Scratches {
    pub(crate) fn of(values: &[f64]) -> Self {
        let [log_density, log_peak, log_reach, log_spread, log_shape, hazard, log_gain] = std::array::from_fn(|at| values[at]);
        Self { log_density, log_peak, log_reach, log_spread, log_shape, hazard, log_gain }
    }

    /// Logarithm of the peak of the response at a distance from the lamp, of a scratch as deep as the scale.
    pub(crate) fn log_peak_at(&self, distance: f64) -> f64 {
        self.log_peak - distance / self.log_reach.exp()
    }

    pub(crate) fn shape(&self) -> f64 {
        self.log_shape.exp()
    }

    /// Film taken, in scales of the depths: where the Weibull law has that hazard.
    pub(crate) fn taken(&self) -> f64 {
        self.hazard.max(0.0).powf(self.shape().recip())
    }

    /// Share of scratch length that is gone.
    pub(crate) fn gone(&self) -> f64 {
        -(-self.hazard.max(0.0)).exp_m1()
    }

    /// Share of scratch brightness that is gone.
    pub(crate) fn visible(&self, rule: &Rule) -> f64 {
        let mean = |hazard: f64| depths(rule, self.shape(), hazard).iter().map(|left| left.depth * left.weight).sum::<f64>();
        1.0 - mean(self.hazard) / mean(0.0)
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

/// Depths that are left, in scales, when film has been taken up to a cumulative hazard, and their weights: all but those of scratches that are gone.
pub(crate) fn depths(rule: &Rule, shape: f64, hazard: f64) -> Vec<Left> {
    let first = hazard.max(0.0);
    let (taken, left) = (first.powf(shape.recip()), (-first).exp());
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

#[cfg(test)]
mod tests {
    use super::*;

    fn scratches(shape: f64, hazard: f64) -> Scratches {
        Scratches::of(&[0.0, 0.0, 6.0, -2.0, shape.ln(), hazard, 0.0])
    }

    #[test]
    fn of_exponential_depths_as_much_light_is_gone_as_length() {
        // [D] What is left of an exponential law is the same law again.
        for hazard in [0.0, 0.01, 0.7, 3.0] {
            let scratches = scratches(1.0, hazard);
            let rule = Rule::of(48);
            assert!((scratches.gone() - (1.0 - (-hazard).exp())).abs() < 1e-12);
            assert!((scratches.visible(&rule) - scratches.gone()).abs() < 2e-3, "{hazard}");
        }
    }

    #[test]
    fn a_share_can_come_as_near_to_all_whatever_the_shape() {
        for shape in [0.6, 1.0, 2.5] {
            assert!(scratches(shape, 8.0).gone() > 0.999);
            // [D] the Weibull law's hazard at the film taken
            let some = scratches(shape, 0.4);
            assert!((some.taken().powf(shape) - 0.4).abs() < 1e-12);
        }
    }
}
