//! Linear Gaussian unknowns whose priors are finite mixtures of normals.
//!
//! Data say of the unknowns x that they are normal with precision A and shift q (A x = q at the maximum). Each unknown has a prior that is
//! a mixture of normals: one component for a plain belief, several of growing sd for a heavy tail, a narrow and a wide one for "as a rule
//! nothing, sometimes much". Given which component each unknown came from, everything is Gaussian; the components are drawn one at a
//! time with all unknowns integrated out (a collapsed Gibbs sampler; Liu, J. S., "The collapsed Gibbs sampler in Bayesian computations",
//! J. Am. Stat. Assoc. 89, 1994, 958-966).

use rand::{Rng, RngExt};
use rand_distr::StandardNormal;

use crate::cholesky::{Cholesky, NotPositiveDefinite};

/// One normal component of a prior.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Component {
    /// Its probability.
    pub weight: f64,
    /// Its mean.
    pub mean: f64,
    /// Its standard deviation, above 0.
    pub sd: f64,
}

/// A prior: a finite mixture of normals whose weights sum to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Prior {
    components: Vec<Component>,
}

/// Scales (in units of the Student's scale) of the normals whose even mixture stands for a Student's t with 4 degrees of freedom: roots of
/// 4 / chi2_4 at the middles of eight equal slices of probability, the outermost stretched so that the variance is t's (2 scale^2). \[D\]
/// Tail probabilities are within 25 % of t's out to 6 scales; fewer slices would cut short the tail that risks of 2 % still feel.
const STUDENT4_SCALES: [f64; 8] = [0.668_729, 0.805_810, 0.916_418, 1.029_550, 1.160_102, 1.329_477, 1.591_446, 2.712_496];

impl Prior {
    /// A normal belief.
    #[must_use]
    pub fn normal(mean: f64, sd: f64) -> Self {
        Self { components: vec![Component { weight: 1.0, mean, sd }] }
    }

    /// A Student's t with 4 degrees of freedom, as an even mixture of eight normals.
    #[must_use]
    pub fn student4(mean: f64, scale: f64) -> Self {
        let weight = 1.0 / 8.0;
        Self { components: STUDENT4_SCALES.iter().map(|s| Component { weight, mean, sd: scale * s }).collect() }
    }

    /// Any mixture; weights are scaled to sum to 1.
    #[must_use]
    pub fn mixture(mut components: Vec<Component>) -> Self {
        let total: f64 = components.iter().map(|c| c.weight).sum();
        for component in &mut components {
            component.weight /= total;
        }
        Self { components }
    }

    /// The components.
    #[must_use]
    pub fn components(&self) -> &[Component] {
        &self.components
    }

    /// Mean of the mixture.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.components.iter().map(|c| c.weight * c.mean).sum()
    }

    /// Variance of the mixture.
    #[must_use]
    pub fn variance(&self) -> f64 {
        let mean = self.mean();
        self.components.iter().map(|c| c.weight * (c.sd * c.sd + (c.mean - mean) * (c.mean - mean))).sum()
    }

    /// Natural logarithm of the density at `x`.
    #[must_use]
    pub fn log_density(&self, x: f64) -> f64 {
        let density = |c: &Component| {
            let z = (x - c.mean) / c.sd;
            c.weight.ln() - c.sd.ln() - 0.5 * z * z - 0.5 * std::f64::consts::TAU.ln()
        };
        let logs = self.components.iter().map(density);
        let top = logs.clone().fold(f64::NEG_INFINITY, f64::max);
        top + logs.map(|l| (l - top).exp()).sum::<f64>().ln()
    }

    /// One draw.
    pub fn draw(&self, rng: &mut impl Rng) -> f64 {
        let c = self.components[pick(rng, self.components.iter().map(|c| c.weight))];
        c.mean + c.sd * rng.sample::<f64, _>(StandardNormal)
    }
}

/// What data say of `n` unknowns: precision A (row-major) and shift q.
#[derive(Clone, Debug)]
pub struct Evidence {
    /// A, `n` x `n`, symmetric.
    pub precision: Vec<f64>,
    /// q, `n`.
    pub shift: Vec<f64>,
}

impl Evidence {
    /// No data on `n` unknowns.
    #[must_use]
    pub fn none(n: usize) -> Self {
        Self { precision: vec![0.0; n * n], shift: vec![0.0; n] }
    }

    /// Adds one independent datum: `value` = sum of coefficient x unknown + noise of precision `precision`.
    pub fn observe(&mut self, coefficients: &[(usize, f64)], value: f64, precision: f64) {
        let n = self.shift.len();
        for &(i, a) in coefficients {
            self.shift[i] += precision * a * value;
            for &(j, b) in coefficients {
                self.precision[i * n + j] += precision * a * b;
            }
        }
    }
}

impl Evidence {
    /// What the same data say of the unknowns `kept` (indices, in order) when the others are known to be as in `x`.
    #[must_use]
    pub fn given(&self, kept: &[usize], x: &[f64]) -> Self {
        let n = self.shift.len();
        let mut other = vec![true; n];
        kept.iter().for_each(|&i| other[i] = false);
        let shift = |i: usize| self.shift[i] - (0..n).filter(|&j| other[j]).map(|j| self.precision[i * n + j] * x[j]).sum::<f64>();
        Self {
            precision: kept.iter().flat_map(|&i| kept.iter().map(move |&j| self.precision[i * n + j])).collect(),
            shift: kept.iter().map(|&i| shift(i)).collect(),
        }
    }
}

/// The components that the unknowns came from, as the sampler stands.
#[derive(Clone, Debug)]
pub struct Sampler {
    component: Vec<usize>,
}

impl Sampler {
    /// Starts from each prior's most probable component.
    #[must_use]
    pub fn new(priors: &[&Prior]) -> Self {
        let component = priors
            .iter()
            .map(|p| {
                let best = p.components.iter().enumerate().max_by(|a, b| a.1.weight.total_cmp(&b.1.weight));
                best.map_or(0, |(i, _)| i)
            })
            .collect();
        Self { component }
    }

    /// A sampler of the unknowns `kept` alone, standing where this one stands.
    #[must_use]
    pub fn of(&self, kept: &[usize]) -> Self {
        Self { component: kept.iter().map(|&i| self.component[i]).collect() }
    }

    /// One sweep over the components, then one joint draw of the unknowns into `x`.
    ///
    /// # Errors
    /// [`NotPositiveDefinite`] when the evidence is not a precision matrix.
    pub fn draw(&mut self, evidence: &Evidence, priors: &[&Prior], rng: &mut impl Rng, x: &mut [f64]) -> Result<(), NotPositiveDefinite> {
        let n = priors.len();
        for (c, p) in self.component.iter_mut().zip(priors) {
            *c = (*c).min(p.components.len() - 1);
        }
        if priors.iter().any(|p| p.components.len() > 1) {
            self.sweep(evidence, priors, rng)?;
        }
        let (precision, mut mean) = self.system(evidence, priors);
        let factor = Cholesky::factor(n, precision)?;
        factor.solve_lower(&mut mean);
        for (value, m) in x.iter_mut().zip(&mean) {
            *value = m + rng.sample::<f64, _>(StandardNormal);
        }
        factor.solve_upper(x);
        Ok(())
    }

    fn system(&self, evidence: &Evidence, priors: &[&Prior]) -> (Vec<f64>, Vec<f64>) {
        let n = priors.len();
        let (mut precision, mut shift) = (evidence.precision.clone(), evidence.shift.clone());
        for (j, prior) in priors.iter().enumerate() {
            let c = prior.components[self.component[j]];
            precision[j * n + j] += 1.0 / (c.sd * c.sd);
            shift[j] += c.mean / (c.sd * c.sd);
        }
        (precision, shift)
    }

    /// Draws every component anew, each given the others, with the unknowns integrated out. The cavity of unknown j (its marginal with its
    /// own prior divided out) gives the evidence for each of its components; a change is a rank-one update of the joint moments.
    fn sweep(&mut self, evidence: &Evidence, priors: &[&Prior], rng: &mut impl Rng) -> Result<(), NotPositiveDefinite> {
        let n = priors.len();
        let (precision, mut mean) = self.system(evidence, priors);
        let factor = Cholesky::factor(n, precision)?;
        let mut covariance = factor.inverse();
        factor.solve(&mut mean);
        let mut weights = Vec::new();
        for (j, prior) in priors.iter().enumerate() {
            if prior.components.len() < 2 {
                continue;
            }
            let old = prior.components[self.component[j]];
            let (old_precision, variance) = (1.0 / (old.sd * old.sd), covariance[j * n + j]);
            let cavity_precision = 1.0 / variance - old_precision;
            weights.clear();
            if cavity_precision > 1e-12 * old_precision {
                let cavity_mean = (mean[j] / variance - old.mean * old_precision) / cavity_precision;
                weights.extend(prior.components.iter().map(|c| {
                    let v = 1.0 / cavity_precision + c.sd * c.sd;
                    c.weight.ln() - 0.5 * (v.ln() + (cavity_mean - c.mean).powi(2) / v)
                }));
                let top = weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                weights.iter_mut().for_each(|w| *w = (*w - top).exp());
            } else {
                weights.extend(prior.components.iter().map(|c| c.weight));
            }
            let chosen = pick(rng, weights.iter().copied());
            if chosen == self.component[j] {
                continue;
            }
            self.component[j] = chosen;
            let new = prior.components[chosen];
            let step = 1.0 / (new.sd * new.sd) - old_precision;
            let pull = new.mean / (new.sd * new.sd) - old.mean * old_precision - step * mean[j];
            let column: Vec<f64> = (0..n).map(|i| covariance[i * n + j]).collect();
            let scale = 1.0 / (1.0 + step * variance);
            for i in 0..n {
                mean[i] += column[i] * scale * pull;
                for k in 0..n {
                    covariance[i * n + k] -= step * scale * column[i] * column[k];
                }
            }
        }
        Ok(())
    }
}

/// An index drawn with probability in proportion to its weight.
pub fn pick(rng: &mut impl Rng, weights: impl Iterator<Item = f64> + Clone) -> usize {
    let total: f64 = weights.clone().sum();
    let mut left = rng.random::<f64>() * total;
    let mut last = 0;
    for (i, w) in weights.enumerate() {
        last = i;
        left -= w;
        if left < 0.0 {
            break;
        }
    }
    last
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_pcg::Pcg64Mcg;

    #[test]
    fn the_stand_in_for_a_student_has_its_variance_and_its_tail() {
        let prior = Prior::student4(1.0, 2.0);
        assert!((prior.mean() - 1.0).abs() < 1e-12);
        assert!((prior.variance() - 8.0).abs() < 1e-4); // [D] variance of t4 is 2 scale^2
        // [C] scipy.stats.t(4).sf(3) = 0.0199710
        let beyond = |z: f64| prior.components().iter().map(|c| c.weight * 0.5 * libm::erfc(z * 2.0 / (c.sd * 2f64.sqrt()))).sum::<f64>();
        assert!((beyond(3.0) / 0.019_971 - 1.0).abs() < 0.25);
        assert!((beyond(6.0) / 0.001_941 - 1.0).abs() < 0.25);
    }

    #[test]
    fn a_normal_prior_and_one_datum_give_the_textbook_posterior() {
        // [D] prior N(0, 2^2), datum 3 with sd 1: mean 3 * 4 / 5, variance 4 / 5
        let (prior, mut evidence) = (Prior::normal(0.0, 2.0), Evidence::none(1));
        evidence.observe(&[(0, 1.0)], 3.0, 1.0);
        let priors = [&prior];
        let (mut sampler, mut rng, mut x) = (Sampler::new(&priors), Pcg64Mcg::seed_from_u64(7), [0.0]);
        let draws: Vec<f64> = (0..40_000)
            .map(|_| {
                sampler.draw(&evidence, &priors, &mut rng, &mut x).unwrap();
                x[0]
            })
            .collect();
        let mean = draws.iter().sum::<f64>() / 40_000.0;
        let variance = draws.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / 40_000.0;
        assert!((mean - 2.4).abs() < 0.02 && (variance - 0.8).abs() < 0.02, "{mean} {variance}");
    }

    #[test]
    fn a_spike_and_slab_unknown_takes_the_slab_as_often_as_bayes_says() {
        // [D] prior 0.9 N(0, 0.1^2) + 0.1 N(5, 1^2), datum 2.5 with sd 1: odds = 0.1 N(2.5; 5, 2) / (0.9 N(2.5; 0, 1.01))
        let spike = Component { weight: 0.9, mean: 0.0, sd: 0.1 };
        let slab = Component { weight: 0.1, mean: 5.0, sd: 1.0 };
        let density = |x: f64, m: f64, v: f64| (-(x - m) * (x - m) / (2.0 * v)).exp() / v.sqrt();
        let (a, b) = (0.9 * density(2.5, 0.0, 1.01), 0.1 * density(2.5, 5.0, 2.0));
        let prior = Prior::mixture(vec![spike, slab]);
        let (other, mut evidence) = (Prior::student4(0.0, 1.0), Evidence::none(2));
        evidence.observe(&[(0, 1.0)], 2.5, 1.0);
        let priors = [&prior, &other];
        let (mut sampler, mut rng, mut x) = (Sampler::new(&priors), Pcg64Mcg::seed_from_u64(3), [0.0; 2]);
        let slabs = (0..40_000)
            .filter(|_| {
                sampler.draw(&evidence, &priors, &mut rng, &mut x).unwrap();
                x[0] > 1.0
            })
            .count();
        let expected = b / (a + b);
        assert!((slabs as f64 / 40_000.0 - expected).abs() < 0.01, "{slabs} {expected}");
    }

    #[test]
    fn what_data_say_of_one_unknown_given_the_other_is_the_textbook_conditional() {
        // [D] x + y = 10 seen with sd 1, y known to be 4: x is seen as 6 with sd 1
        let mut evidence = Evidence::none(2);
        evidence.observe(&[(0, 1.0), (1, 1.0)], 10.0, 1.0);
        let given = evidence.given(&[0], &[0.0, 4.0]);
        assert_eq!((given.precision, given.shift), (vec![1.0], vec![6.0]));
    }

    #[test]
    fn two_unknowns_with_one_datum_share_it_by_their_variances() {
        // [D] x ~ N(0, 1), y ~ N(0, 3^2), x + y = 10 seen with sd ~ 0: E x = 1, E y = 9
        let (a, b, mut evidence) = (Prior::normal(0.0, 1.0), Prior::normal(0.0, 3.0), Evidence::none(2));
        evidence.observe(&[(0, 1.0), (1, 1.0)], 10.0, 1e8);
        let priors = [&a, &b];
        let (mut sampler, mut rng, mut x, mut sum) = (Sampler::new(&priors), Pcg64Mcg::seed_from_u64(3), [0.0; 2], 0.0);
        for _ in 0..20_000 {
            sampler.draw(&evidence, &priors, &mut rng, &mut x).unwrap();
            sum += x[0];
            assert!((x[0] + x[1] - 10.0).abs() < 0.01);
        }
        assert!((sum / 20_000.0 - 1.0).abs() < 0.03);
    }
}
