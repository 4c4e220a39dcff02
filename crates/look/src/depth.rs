//! How deep defects go: a Weibull law of depths, from counts that survive sets.
//!
//! A defect is gone when as much film has been taken as it is deep, so survivors of known removals are interval-censored depths. Removals
//! are themselves uncertain: the law is weighed anew for every joint draw of them, and the counts weigh the draw.

use lastmicron_numerics::mixture::pick;
use rand::Rng;

/// Shapes considered, with their prior. Judgement: wash swirls fall off near exponentially (1) or with a mode near the surface (to 2).
const SHAPES: [(f64, f64); 9] =
    [(0.65, 0.05), (0.8, 0.1), (0.95, 0.15), (1.1, 0.18), (1.25, 0.17), (1.4, 0.14), (1.6, 0.11), (1.85, 0.07), (2.2, 0.03)];

/// Least and largest scale considered, um: from what a cloth leaves to what a nail catches.
const SCALES_UM: (f64, f64) = (0.25, 7.0);
const SCALE_COUNT: usize = 26;
/// Median and log deviation of the scale before any count. Judgement: published single scratches are about 1 to 2 um deep.
const SCALE_PRIOR: (f64, f64) = (1.3, 0.7);

/// A Weibull law of defect depths: the share deeper than d is exp(-(d / scale)^shape).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DepthLaw {
    /// Shape.
    pub shape: f64,
    /// Scale, um.
    pub scale_um: f64,
}

impl DepthLaw {
    /// Share of defects left after `removed_um`; all of them before any removal.
    #[must_use]
    pub fn survival(self, removed_um: f64) -> f64 {
        if removed_um <= 0.0 { 1.0 } else { (-(removed_um / self.scale_um).powf(self.shape)).exp() }
    }

    /// Removal that takes the share `gone` (0 to below 1) of the defects, um.
    #[must_use]
    pub fn removal_for(self, gone: f64) -> f64 {
        self.scale_um * (-(1.0 - gone.clamp(0.0, 1.0 - 1e-12)).ln()).powf(1.0 / self.shape)
    }
}

/// The laws considered, and what the counts say of each for given removals.
#[derive(Clone, Debug)]
pub struct DepthModel {
    laws: Vec<DepthLaw>,
    /// Log prior of each law.
    prior: Vec<f64>,
    /// scale^-shape of each law.
    rate: Vec<f64>,
}

impl Default for DepthModel {
    fn default() -> Self {
        Self::new()
    }
}

impl DepthModel {
    /// All shapes by all scales.
    #[must_use]
    pub fn new() -> Self {
        let (low, high) = (SCALES_UM.0.ln(), SCALES_UM.1.ln());
        let (mut laws, mut prior) = (Vec::new(), Vec::new());
        for (shape, weight) in SHAPES {
            for i in 0..SCALE_COUNT {
                let log = low + (high - low) * i as f64 / (SCALE_COUNT - 1) as f64;
                laws.push(DepthLaw { shape, scale_um: log.exp() });
                prior.push(f64::ln(weight) - 0.5 * ((log - SCALE_PRIOR.0.ln()) / SCALE_PRIOR.1).powi(2));
            }
        }
        let rate = laws.iter().map(|l| l.scale_um.powf(-l.shape)).collect();
        Self { laws, prior, rate }
    }

    /// Draws a law given each look's removals (um, before and at the look), and tells the log likelihood of the counts for those removals,
    /// laws summed out.
    ///
    /// Counts left are binomial: of n defects not yet gone at d, each survives to d' with S(d') / S(d).
    pub fn draw(&self, looks: &[(f64, f64, f64, f64)], rng: &mut impl Rng) -> (DepthLaw, f64) {
        let mut log = self.prior.clone();
        for (per_shape, chunk) in log.chunks_exact_mut(SCALE_COUNT).enumerate() {
            let shape = SHAPES[per_shape].0;
            for &(from_um, to_um, before, left) in looks {
                let step = to_um.max(0.0).powf(shape) - from_um.max(0.0).powf(shape);
                for (value, rate) in chunk.iter_mut().zip(&self.rate[per_shape * SCALE_COUNT..]) {
                    let hazard = (step * rate).max(1e-9);
                    *value += -left * hazard + (before - left) * (-(-hazard).exp_m1()).max(1e-300).ln();
                }
            }
        }
        let top = log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        log.iter_mut().for_each(|l| *l = (*l - top).exp());
        let total: f64 = log.iter().sum();
        let law = self.laws[pick(rng, log.iter().copied())];
        // Between the lattice's scales the law is as likely: a draw is spread over its cell.
        let cell = (SCALES_UM.1 / SCALES_UM.0).ln() / (SCALE_COUNT - 1) as f64;
        let spread = cell * (rand::RngExt::random::<f64>(rng) - 0.5);
        (DepthLaw { shape: law.shape, scale_um: law.scale_um * spread.exp() }, top + total.ln())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_pcg::Pcg64Mcg;

    #[test]
    fn many_counts_bring_the_law_back() {
        // [D] 1000 defects of a Weibull law, shape 1.25 and scale 1.5 um, looked at after 0.7, 1.4 and 2.1 um
        let law = DepthLaw { shape: 1.25, scale_um: 1.5 };
        let at = |d: f64| 1000.0 * law.survival(d);
        let looks = [(0.0, 0.7, 1000.0, at(0.7)), (0.7, 1.4, at(0.7), at(1.4)), (1.4, 2.1, at(1.4), at(2.1))];
        let (model, mut rng) = (DepthModel::new(), Pcg64Mcg::seed_from_u64(5));
        let draws: Vec<DepthLaw> = (0..400).map(|_| model.draw(&looks, &mut rng).0).collect();
        let gone = draws.iter().map(|l| 1.0 - l.survival(1.8)).sum::<f64>() / 400.0;
        assert!((gone - (1.0 - law.survival(1.8))).abs() < 0.01, "{gone}");
    }

    #[test]
    fn removal_for_a_share_takes_that_share() {
        let law = DepthLaw { shape: 1.4, scale_um: 2.0 };
        assert!((1.0 - law.survival(law.removal_for(0.88)) - 0.88).abs() < 1e-12);
        assert!((law.survival(-1.0) - 1.0).abs() < 1e-15);
    }
}
