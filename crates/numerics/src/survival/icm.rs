//! Steps of the nonparametric likelihood for a support too large for Newton's.

use super::innermost::Problem;

/// Masses after one step of self-consistency (expectation and maximisation): each place's mass times its gain.
pub(super) fn self_consistent(mass: &[f64], gain: &[f64]) -> Vec<f64> {
    mass.iter().zip(gain).map(|(m, g)| m * g).collect()
}

/// The masses to step towards by the iterative convex minorant: the diagonal quadratic approximation in the cumulative
/// probabilities, maximised over nondecreasing ones by pooling neighbours.
///
/// Source: Wellner and Zhan, "A hybrid algorithm for computation of the nonparametric maximum likelihood estimator from censored
/// data", 1997; with steps of self-consistency between, it converges from any start.
pub(super) fn target(problem: &Problem, mass: &[f64], inside: &[f64]) -> Vec<f64> {
    let m = mass.len();
    let mut slope = vec![0.0; m + 1];
    let mut bend = vec![0.0; m + 1];
    for (range, p) in problem.ranges.iter().zip(inside) {
        let z = range.share / p;
        slope[range.end] += z;
        slope[range.first] -= z;
        bend[range.end] += z / p;
        bend[range.first] += z / p;
    }
    let mut cumulative = 0.0;
    let mut blocks: Vec<(f64, f64, usize)> = Vec::with_capacity(m);
    for k in 1..m {
        cumulative += mass[k - 1];
        // A border that no observation ends on moves with its neighbour.
        let weight = bend[k].max(f64::MIN_POSITIVE);
        let mut block = (cumulative + slope[k] / weight, weight, 1);
        while let Some(&(value, held, length)) = blocks.last() {
            if value < block.0 {
                break;
            }
            blocks.pop();
            let both = held + block.1;
            block = ((value * held + block.0 * block.1) / both, both, length + block.2);
        }
        blocks.push(block);
    }
    let mut masses = Vec::with_capacity(m);
    let mut last = 0.0;
    for (value, _, length) in blocks {
        let value = value.clamp(0.0, 1.0);
        masses.push(value - last);
        masses.extend(std::iter::repeat_n(0.0, length - 1));
        last = value;
    }
    masses.push(1.0 - last);
    masses
}
