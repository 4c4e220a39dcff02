//! The distribution of largest likelihood among all distributions.

use super::innermost::Problem;
use super::{Censored, SurvivalError, distinct, icm, innermost, newton};

/// A proven bound on the missing log-likelihood per observation at which a fit counts as found.
const ENOUGH: f64 = 1e-9;

/// Residual below which rounding rules: no step can better it.
const FLOOR: f64 = 1e-13;

/// Steps without halving the gap or the residual after which a fit that is good enough is returned.
const PATIENCE: usize = 4;

/// Steps after which the search gives up. On a support within Newton's reach it takes 5 to 20.
const MOST_STEPS: usize = 20_000;

/// Mass in one innermost interval: nothing says where inside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mass {
    /// Lower end, excluded unless both ends are the same.
    pub low: f64,
    /// Upper end, included; `None` when open.
    pub high: Option<f64>,
    /// Probability in it.
    pub mass: f64,
}

/// A nonparametric distribution of lifetimes.
#[derive(Clone, Debug, PartialEq)]
pub struct Nonparametric {
    /// Where the mass lies, in order; masses are more than 0 and sum to 1.
    pub masses: Vec<Mass>,
    /// Natural logarithm of the likelihood of all counts.
    pub log_likelihood: f64,
    /// Proven bound: the largest likelihood is at most `gap` x (number of observations) above, in its logarithm.
    pub gap: f64,
}

impl Nonparametric {
    /// Least and most that P(T > `t`) can be: they differ where `t` lies inside an interval with mass.
    #[must_use]
    pub fn survival_between(&self, t: f64) -> [f64; 2] {
        let sum = |beyond: &dyn Fn(&Mass) -> bool| -> f64 { self.masses.iter().rev().filter(|m| beyond(m)).map(|m| m.mass).sum() };
        let exact = |m: &Mass| m.high.is_some_and(|high| high.to_bits() == m.low.to_bits());
        [sum(&|m| if exact(m) { m.low > t } else { m.low >= t }), sum(&|m| m.high.is_none_or(|high| high > t))]
    }
}

/// The distribution of largest likelihood for `data`.
///
/// Mass lies in innermost intervals only (Turnbull 1976). Method: Newton steps on the support, to which the best place between
/// each two of its neighbours is added (Wang 2007); for supports too large for that, convex-minorant and self-consistent steps in
/// turn (Wellner and Zhan 1997). Stops by the duality gap max_j (sum_i w_i a_ij / P_i) / n - 1 <= 1e-9 and goes on to rounding
/// where that is cheap. Where several distributions share the largest likelihood (Gentleman and Geyer, "Maximum likelihood for
/// interval censored data: consistency and computation", 1994), it is one of them.
///
/// # Errors
/// [`SurvivalError::Empty`]; [`SurvivalError::NotConverged`].
pub fn nonparametric(data: &[Censored]) -> Result<Nonparametric, SurvivalError> {
    let problem = innermost::problem(&distinct(data)?);
    if problem.places.len() == 1 {
        let place = problem.places[0];
        let mass = Mass { low: place.low, high: place.high.is_finite().then_some(place.high), mass: 1.0 };
        return Ok(Nonparametric { masses: vec![mass], log_likelihood: 0.0, gap: 0.0 });
    }
    let (mass, gap) = climb(&problem)?;
    let inside = problem.probabilities(&mass);
    let log_likelihood = problem.count * problem.ranges.iter().zip(&inside).map(|(range, p)| range.share * p.ln()).sum::<f64>();
    let masses = problem.places.iter().zip(&mass).filter(|(_, mass)| **mass > 0.0);
    let masses = masses.map(|(place, &mass)| Mass { low: place.low, high: place.high.is_finite().then_some(place.high), mass }).collect();
    Ok(Nonparametric { masses, log_likelihood, gap })
}

/// Equal masses on few places that hit every range: the last place of each range that none before hits.
fn start(problem: &Problem) -> Vec<f64> {
    let mut ranges: Vec<(usize, usize)> = problem.ranges.iter().map(|range| (range.end, range.first)).collect();
    ranges.sort_unstable();
    let mut mass = vec![0.0; problem.places.len()];
    let mut hit = 0;
    for (end, first) in ranges {
        if first >= hit {
            mass[end - 1] = 1.0;
            hit = end;
        }
    }
    normalise(&mut mass);
    mass
}

fn normalise(mass: &mut [f64]) {
    let total: f64 = mass.iter().sum();
    for m in mass {
        *m /= total;
    }
}

/// The masses found, and the gap proven for them.
fn climb(problem: &Problem) -> Result<(Vec<f64>, f64), SurvivalError> {
    let mut mass = start(problem);
    let mut best = (f64::INFINITY, f64::INFINITY, mass.clone());
    let (mut patience, mut least_gap) = (PATIENCE, f64::INFINITY);
    for _ in 0..MOST_STEPS {
        let inside = problem.probabilities(&mass);
        let gain = problem.gain(&inside);
        let gap = gain.iter().fold(0.0, |most, g| f64::max(most, g - 1.0));
        let residual = gain.iter().zip(&mass).filter(|(_, m)| **m > 0.0).fold(gap, |most, (g, _)| f64::max(most, (g - 1.0).abs()));
        patience = if residual < best.0 / 2.0 || gap < least_gap / 2.0 { PATIENCE } else { patience.saturating_sub(1) };
        least_gap = least_gap.min(gap);
        if residual < best.0 {
            best = (residual, gap, mass.clone());
        }
        if residual < FLOOR || (best.1 < ENOUGH && patience == 0) {
            break;
        }
        mass = match newton::target(problem, &mass, &inside, &gain) {
            Some(target) => toward(problem, &mass, &inside, &gain, &target),
            None => minorant_step(problem, &mass, &inside, &gain),
        };
        normalise(&mut mass);
    }
    let (_, gap, mass) = best;
    if gap < ENOUGH { Ok((mass, gap)) } else { Err(SurvivalError::NotConverged { gap }) }
}

fn minorant_step(problem: &Problem, mass: &[f64], inside: &[f64], gain: &[f64]) -> Vec<f64> {
    let mut mass = toward(problem, mass, inside, gain, &icm::target(problem, mass, inside));
    normalise(&mut mass);
    let gain = problem.gain(&problem.probabilities(&mass));
    icm::self_consistent(&mass, &gain)
}

/// As far from `mass` towards `target` as the likelihood keeps rising in proportion; a step of self-consistency when it never does.
fn toward(problem: &Problem, mass: &[f64], inside: &[f64], gain: &[f64], target: &[f64]) -> Vec<f64> {
    let slope: f64 = mass.iter().zip(target).zip(gain).map(|((m, t), g)| (t - m) * (g - 1.0)).sum();
    let value = problem.value(mass, inside);
    let mut length = 1.0;
    while length > 1e-10 {
        let tried: Vec<f64> =
            if length < 1.0 { mass.iter().zip(target).map(|(m, t)| m + length * (t - m)).collect() } else { target.to_vec() };
        let reached = problem.value(&tried, &problem.probabilities(&tried));
        // Where the promised rise drowns in rounding, the full step is as good as any.
        let drowned = slope < 1e-13 * (1.0 + value.abs()) && reached > value - 1e-12 * (1.0 + value.abs());
        if drowned || reached >= value + 1e-4 * length * slope {
            return tried;
        }
        length /= 2.0;
    }
    icm::self_consistent(mass, gain)
}
