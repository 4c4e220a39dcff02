//! A field's value between the nodes of a lattice, from the nodes around.

use crate::gp::Triangle;
use crate::kernel::Family;

/// Nodes of a stencil along each side.
///
/// Judgement: with 8 the correlation of the value with nodes outside is off by 0.001 of the variance at most for lengths from two steps up;
/// with 4 it is 0.01.
pub(super) const SIDE: usize = 8;

/// A place's value as a weighted sum of a square of nodes, and what they leave unexplained of a variance of 1.
pub(super) struct Stencil {
    /// Column and row of the square's first node.
    pub(super) first: [usize; 2],
    pub(super) weights: Vec<f64>,
    pub(super) unexplained: f64,
}

impl Stencil {
    /// The stencil for a place given in steps from the lattice's first node, at least half a stencil inside the lattice.
    ///
    /// The weights are those of simple kriging from the nodes, so that the value's correlation with each of them is exact.
    pub(super) fn new(place: [f64; 2], family: Family, step_lengths: f64) -> Self {
        let nearest = place.map(f64::round);
        if place.iter().zip(nearest).all(|(place, nearest)| (place - nearest).abs() < 1e-8) {
            return Self { first: nearest.map(|n| n as usize), weights: vec![1.0], unexplained: 0.0 };
        }
        let first = place.map(|p| p.floor() as usize + 1 - SIDE / 2);
        let nodes: Vec<[f64; 2]> = (0..SIDE * SIDE).map(|at| [(first[0] + at % SIDE) as f64, (first[1] + at / SIDE) as f64]).collect();
        let correlation = |a: [f64; 2], b: [f64; 2]| family.correlation(f64::hypot(a[0] - b[0], a[1] - b[1]) * step_lengths);
        let between: Vec<f64> = nodes.iter().flat_map(|a| nodes.iter().map(|b| correlation(*a, *b))).collect();
        let to_place: Vec<f64> = nodes.iter().map(|node| correlation(*node, place)).collect();
        let weights = solve(&between, &to_place);
        let quadratic: f64 = weights.iter().zip(between.chunks_exact(SIDE * SIDE)).map(|(w, row)| w * dot(row, &weights)).sum();
        let unexplained = (1.0 - 2.0 * dot(&weights, &to_place) + quadratic).max(0.0);
        Self { first, weights, unexplained }
    }

    /// Nodes along a side: one where the place is a node.
    const fn side(&self) -> usize {
        if self.weights.len() == 1 { 1 } else { SIDE }
    }

    /// The weighted sum over a field on the lattice, rows of `width`.
    pub(super) fn value(&self, field: &[f32], width: usize) -> f64 {
        let side = self.side();
        let rows = self.weights.chunks_exact(side).zip(field.chunks_exact(width).skip(self.first[1]));
        rows.map(|(weights, row)| {
            weights.iter().zip(&row[self.first[0]..self.first[0] + side]).map(|(w, f)| w * f64::from(*f)).sum::<f64>()
        })
        .sum()
    }

    /// Correlation of the weighted sum with that of another stencil, where `lag` gives it for a lag in steps.
    pub(super) fn correlation(&self, other: &Self, lag: impl Fn(f64, f64) -> f64) -> f64 {
        let mut sum = 0.0;
        for (a, weight) in self.weights.iter().enumerate() {
            for (b, other_weight) in other.weights.iter().enumerate() {
                let apart = |axis: usize, a: usize, b: usize| (self.first[axis] + a) as f64 - (other.first[axis] + b) as f64;
                let (dx, dy) = (apart(0, a % self.side(), b % other.side()), apart(1, a / self.side(), b / other.side()));
                sum += weight * other_weight * lag(dx, dy);
            }
        }
        sum
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Solves a correlation matrix that may be singular to working precision, with the least addition to its diagonal that will do.
fn solve(matrix: &[f64], right: &[f64]) -> Vec<f64> {
    let n = right.len();
    let mut added = 1e-13;
    loop {
        let mut raised = matrix.to_vec();
        raised.iter_mut().step_by(n + 1).for_each(|diagonal| *diagonal += added);
        if let Ok(triangle) = Triangle::factor(n, raised) {
            let inverse = triangle.inverse();
            return inverse.transposed_times(&inverse.times(right));
        }
        if added > 1.0 {
            // Not reached: a correlation matrix plus twice the unit matrix is positive definite. No weights leave the place independent.
            return vec![0.0; n];
        }
        added *= 10.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_between_nodes_has_the_kernels_correlation_with_every_node() {
        for family in Family::ALL {
            for (step_lengths, most) in [(1.0, 1e-2), (0.5, 1.5e-3), (0.1, 2e-4), (0.03, 1e-4)] {
                for place in [[20.5, 20.5], [20.1, 20.3], [20.0, 20.7]] {
                    let stencil = Stencil::new(place, family, step_lengths);
                    let lag = |dx: f64, dy: f64| family.correlation(f64::hypot(dx, dy) * step_lengths);
                    let mut worst = 0.0_f64;
                    for node in 0..40 * 40 {
                        let node = Stencil { first: [node % 40, node / 40], weights: vec![1.0], unexplained: 0.0 };
                        let want = lag(place[0] - node.first[0] as f64, place[1] - node.first[1] as f64);
                        worst = worst.max((stencil.correlation(&node, lag) - want).abs());
                    }
                    assert!(worst < most, "{family:?} step {step_lengths} place {place:?}: {worst:e}");
                    let variance = stencil.correlation(&stencil, lag) + stencil.unexplained;
                    assert!((variance - 1.0).abs() < 2e-6, "{family:?} step {step_lengths}: variance {variance}");
                }
            }
        }
    }

    #[test]
    fn a_place_on_a_node_is_that_node() {
        let stencil = Stencil::new([4.0, 2.0], Family::Matern32, 0.1);
        let field: Vec<f32> = (0..70_u8).map(f32::from).collect();
        assert!((stencil.value(&field, 10) - 24.0).abs() < 1e-12);
        assert!(stencil.unexplained == 0.0 && stencil.weights.len() == 1);
    }
}
