//! Least squares of residuals that are not linear in what is sought, between bounds.

use crate::cholesky::Cholesky;

/// What is sought: where to start, and the bounds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unknown {
    /// Value to start from.
    pub start: f64,
    /// Least value.
    pub least: f64,
    /// Greatest value.
    pub most: f64,
}

/// Values with the least sum of squared residuals that was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// Values.
    pub values: Vec<f64>,
    /// Half the sum of squared residuals.
    pub cost: f64,
    /// J'J at the values, row by row: the inverse of their covariance when residuals have a standard deviation of 1.
    pub information: Vec<f64>,
}

/// Step of the differences that stand for derivatives. Judgement: residuals are smooth on the scale of a hundredth; far below, rounding shows.
const DIFFERENCE: f64 = 1e-4;

/// Damping at first, and by how much a step that helps lowers it or one that does not raises it. Marquardt's own choice is 10.
const DAMPING: f64 = 1e-2;
const DAMPING_STEP: f64 = 7.0;
const MOST_DAMPING: f64 = 1e9;

/// A step that lowers the cost by less than this share of it is the last.
const ENOUGH: f64 = 1e-6;

/// Minimises half the sum of squared residuals by Levenberg and Marquardt's method; steps are cut at the bounds.
///
/// Source: Marquardt, "An algorithm for least-squares estimation of nonlinear parameters", SIAM Journal on Applied Mathematics 11 (1963), 431-441. Derivatives are
/// differences. Stops after `steps` steps at the latest. Residuals that are not finite count as no improvement.
pub fn least_squares(unknowns: &[Unknown], steps: usize, residuals: impl Fn(&[f64]) -> Vec<f64>) -> Fit {
    let mut values: Vec<f64> = unknowns.iter().map(|unknown| unknown.start.min(unknown.most).max(unknown.least)).collect();
    let mut now = residuals(&values);
    let mut cost = half_square(&now);
    let (mut gradient, mut information) = slopes(unknowns, &values, &now, &residuals);
    let mut damping = DAMPING;
    for _ in 0..steps {
        let Some(next) = step(unknowns, &values, &gradient, &information, damping) else {
            damping *= DAMPING_STEP;
            continue;
        };
        let tried = residuals(&next);
        let tried_cost = half_square(&tried);
        if tried_cost.is_finite() && tried_cost < cost {
            let is_enough = cost - tried_cost < ENOUGH * cost;
            (values, now, cost) = (next, tried, tried_cost);
            (gradient, information) = slopes(unknowns, &values, &now, &residuals);
            damping /= DAMPING_STEP;
            if is_enough {
                break;
            }
        } else {
            damping *= DAMPING_STEP;
            if damping > MOST_DAMPING {
                break;
            }
        }
    }
    Fit { values, cost, information }
}

fn half_square(residuals: &[f64]) -> f64 {
    0.5 * residuals.iter().map(|residual| residual * residual).sum::<f64>()
}

/// J'r and J'J.
fn slopes(unknowns: &[Unknown], values: &[f64], now: &[f64], residuals: &impl Fn(&[f64]) -> Vec<f64>) -> (Vec<f64>, Vec<f64>) {
    let columns: Vec<Vec<f64>> = (0..values.len())
        .map(|at| {
            let mut moved = values.to_vec();
            let step = if values[at] + DIFFERENCE <= unknowns[at].most { DIFFERENCE } else { -DIFFERENCE };
            moved[at] += step;
            residuals(&moved).iter().zip(now).map(|(moved, now)| (moved - now) / step).collect()
        })
        .collect();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let gradient = columns.iter().map(|column| dot(column, now)).collect();
    let information = columns.iter().flat_map(|a| columns.iter().map(move |b| dot(a, b))).collect();
    (gradient, information)
}

/// Values after a damped step, of the unknowns that don't press against a bound.
fn step(unknowns: &[Unknown], values: &[f64], gradient: &[f64], information: &[f64], damping: f64) -> Option<Vec<f64>> {
    let count = values.len();
    let presses =
        |at: usize| values[at] <= unknowns[at].least && gradient[at] > 0.0 || values[at] >= unknowns[at].most && gradient[at] < 0.0;
    let free: Vec<usize> = (0..count).filter(|at| !presses(*at)).collect();
    let damped =
        |i: usize, j: usize| information[i * count + j] * if i == j { 1.0 + damping } else { 1.0 } + if i == j { 1e-12 } else { 0.0 };
    let matrix = free.iter().flat_map(|i| free.iter().map(|j| damped(*i, *j))).collect();
    let mut down: Vec<f64> = free.iter().map(|at| -gradient[*at]).collect();
    Cholesky::factor(free.len(), matrix).ok()?.solve(&mut down);
    let mut next = values.to_vec();
    for (at, down) in free.iter().zip(down) {
        next[*at] = (values[*at] + down).min(unknowns[*at].most).max(unknowns[*at].least);
    }
    Some(next)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn free(start: f64) -> Unknown {
        Unknown { start, least: -10.0, most: 10.0 }
    }

    #[test]
    fn rosenbrocks_valley_ends_at_one_and_one() {
        // [M] Rosenbrock, 1960: 100 (y - x^2)^2 + (1 - x)^2, from (-1.2, 1)
        let fit = least_squares(&[free(-1.2), free(1.0)], 200, |v| vec![10.0 * (v[1] - v[0] * v[0]), 1.0 - v[0]]);
        assert!((fit.values[0] - 1.0).abs() < 1e-3 && (fit.values[1] - 1.0).abs() < 1e-3, "{:?}", fit.values);
    }

    #[test]
    fn a_bound_that_is_in_the_way_is_kept() {
        // [D] The least of (x - 3)^2 + (y + x)^2 with x at most 2 is at (2, -2), with a cost of 0.5.
        let unknowns = [Unknown { start: 0.0, least: 0.0, most: 2.0 }, free(0.5)];
        let fit = least_squares(&unknowns, 50, |v| vec![v[0] - 3.0, v[1] + v[0]]);
        assert!((fit.values[0] - 2.0).abs() < 1e-12 && (fit.values[1] + 2.0).abs() < 1e-4 && (fit.cost - 0.5).abs() < 1e-6, "{fit:?}");
    }

    #[test]
    fn the_information_of_a_line_is_that_of_the_textbook() {
        // [D] a + b x at x = 0, 1, 2: J'J is the number, sum and sum of squares of x.
        let fit = least_squares(&[free(0.0), free(0.0)], 50, |v| {
            [1.0, 3.0, 5.0].iter().zip([0.0, 1.0, 2.0]).map(|(y, x)| v[0] + v[1] * x - y).collect()
        });
        assert!((fit.values[0] - 1.0).abs() < 1e-4 && (fit.values[1] - 2.0).abs() < 1e-4);
        for (found, wanted) in fit.information.iter().zip([3.0, 3.0, 3.0, 5.0]) {
            assert!((found - wanted).abs() < 1e-6, "{:?}", fit.information);
        }
    }
}
