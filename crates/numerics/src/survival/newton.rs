//! Newton steps of the nonparametric likelihood on its support.

use super::innermost::Problem;
use super::nonnegative;

/// Most places solved for at once: the work grows with the cube. At 600 a step takes about 50 ms.
pub(super) const MOST_PLACES: usize = 600;

/// Held against the scaled curvature's diagonal, as a pull towards the present masses, so that places that serve the same
/// observations don't make it singular. Larger slows the last digits, smaller lets the factor fail.
const PULL: f64 = 1e-12;

/// The masses to step towards: those that maximise the quadratic approximation over masses >= 0 on the present support and on the
/// best place between each two of its neighbours. `None` when there are too many of them, or the curvature has no factor.
///
/// Method: Wang, "On fast computation of the non-parametric maximum likelihood estimate of a mixing distribution", 2007. The
/// curvature of ranges on a line needs no sum over observations: share / P^2 is added at (first, last) and summed over the table.
pub(super) fn target(problem: &Problem, mass: &[f64], inside: &[f64], gain: &[f64]) -> Option<Vec<f64>> {
    let chosen = support_and_best(mass, gain);
    let n = chosen.len();
    if n > MOST_PLACES {
        return None;
    }
    let mut curvature = curvature(problem, &chosen, inside);
    let mut rise: Vec<f64> = Vec::with_capacity(n);
    for (i, &j) in chosen.iter().enumerate() {
        let pull = PULL * curvature[i * n + i];
        curvature[i * n + i] += pull;
        // curvature x mass is the gain itself, so that the quadratic about the present masses has the slope 2 gain - 1.
        rise.push(2.0 * gain[j] - 1.0 + pull * mass[j]);
    }
    let solution = nonnegative::least(&curvature, &rise)?;
    let mut target = vec![0.0; mass.len()];
    for (&j, value) in chosen.iter().zip(&solution) {
        target[j] = *value;
    }
    Some(target)
}

fn support_and_best(mass: &[f64], gain: &[f64]) -> Vec<usize> {
    let mut chosen = Vec::new();
    let mut best: Option<usize> = None;
    for j in 0..mass.len() {
        if mass[j] > 0.0 {
            chosen.extend(best.take());
            chosen.push(j);
        } else if gain[j] > 1.0 && best.is_none_or(|b| gain[j] > gain[b]) {
            best = Some(j);
        }
    }
    chosen.extend(best);
    chosen
}

/// Minus the second derivatives on the chosen places, row by row.
fn curvature(problem: &Problem, chosen: &[usize], inside: &[f64]) -> Vec<f64> {
    let n = chosen.len();
    let mut before = vec![0; problem.places.len() + 1];
    for &j in chosen {
        before[j + 1] = 1;
    }
    for j in 0..problem.places.len() {
        before[j + 1] += before[j];
    }
    let mut table = vec![0.0; n * n];
    for (range, p) in problem.ranges.iter().zip(inside) {
        let (first, end) = (before[range.first], before[range.end]);
        if first < end {
            table[first * n + end - 1] += range.share / (p * p);
        }
    }
    // Sum over first <= i, then over last >= k.
    for i in 1..n {
        for k in i - 1..n {
            table[i * n + k] += table[(i - 1) * n + k];
        }
    }
    for i in 0..n {
        for k in (i..n - 1).rev() {
            table[i * n + k] += table[i * n + k + 1];
        }
    }
    for i in 0..n {
        for k in i + 1..n {
            table[k * n + i] = table[i * n + k];
        }
    }
    table
}
