//! Choosing a torus, and a covariance on it without negative eigenvalues.

use std::sync::Arc;

use rustfft::num_complex::Complex;
use rustfft::{Fft, FftPlanner};

use crate::kernel::Family;

/// Most nodes of a grid: a torus has at least four times as many, of 12 bytes each while drawing.
pub(super) const MOST_NODES: usize = 4_000_000;

/// Covariance error at which a torus is large enough, for a variance of 1, and what is aimed at on tori that cost little.
///
/// Judgement: a thousand draws show a covariance to about 0.03, so that 1e-4 can't be seen in unconditional draws. Given readings, the variance
/// left may be a hundredth, and clipping adds noise from node to node that a smallest value picks up: hence the finer aim. Smaller numbers
/// make tori, and draws, several times larger when the length is long for the grid.
const TOLERANCE: f64 = 1e-4;
const FINE_TOLERANCE: f64 = 1e-5;

/// Tori that cost little: up to so many times the smallest.
const FINE_TORUS: usize = 3;

/// Padding of the torus beyond the grid, in correlation lengths, tried in this order.
const PADDING_LENGTHS: [f64; 7] = [0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0];

/// Largest torus, in times the smallest that holds the grid's distances. Bounds the time of a draw when the length is long for the grid.
const LARGEST_TORUS: usize = 16;

/// Rounds of projection for one torus, and after how many of them a hopeless one is left.
const ROUNDS: usize = 20;
const HOPELESS_AFTER: usize = 4;
const HOPELESS_ABOVE: f64 = 10.0 * TOLERANCE;

/// How far a round moves the grid's distances back to the kernel. Below 1 the rounds settle instead of swinging about the answer.
const RELAXATION: f64 = 0.9;

/// A torus and the weights of its waves.
pub(super) struct Embedding {
    pub(super) mx: usize,
    pub(super) my: usize,
    pub(super) weights: Vec<f32>,
    pub(super) covariance_error: f64,
}

/// Embeds a grid of `nx` x `ny` nodes, `step` correlation lengths apart, in a torus.
///
/// The torus' covariance must equal the kernel at the grid's distances, is free elsewhere, and must have no negative eigenvalue. Both demands
/// are met in turn (clip the eigenvalues, put the kernel back at the grid's distances), on larger tori until what is left is below
/// the tolerance; the last clipping is what the draws have, and its difference from the kernel is the error reported.
pub(super) fn embed(family: Family, step: f64, nx: usize, ny: usize) -> Embedding {
    let mut best: Option<(Torus, Clipped)> = None;
    let smallest = torus_nodes(nx, 0.0) * torus_nodes(ny, 0.0);
    let mut tried = (0, 0);
    for padding in PADDING_LENGTHS {
        let (mx, my) = (torus_nodes(nx, padding / step), torus_nodes(ny, padding / step));
        if (mx, my) == tried {
            continue;
        }
        let dear = mx.saturating_mul(my) > FINE_TORUS * smallest;
        let enough = if dear { TOLERANCE } else { FINE_TOLERANCE };
        let largest = if best.as_ref().is_some_and(|(_, best)| best.error <= TOLERANCE) { FINE_TORUS } else { LARGEST_TORUS };
        if best.is_some() && mx.saturating_mul(my) > largest * smallest {
            break;
        }
        tried = (mx, my);
        let mut torus = Torus::new(mx, my);
        let clipped = torus.fit(family, step, nx, ny, enough);
        if best.as_ref().is_none_or(|(_, best)| clipped.error < best.error) {
            let done = clipped.error <= enough;
            best = Some((torus, clipped));
            if done {
                break;
            }
        }
    }
    // The first padding is always tried, so that there is a best one.
    best.map_or(Embedding { mx: 1, my: 1, weights: vec![1.0], covariance_error: 1.0 }, |(torus, clipped)| Embedding {
        mx: torus.x.nodes,
        my: torus.y.nodes,
        weights: torus.weights(&clipped.eigenvalues),
        covariance_error: clipped.error,
    })
}

/// Torus nodes along one side for a grid of `n`: twice its distances or more, and a product of 2, 3 and 5, which transform fast.
fn torus_nodes(n: usize, padding_steps: f64) -> usize {
    if n == 1 {
        return 1;
    }
    // A cast from a huge float saturates, and the caller's bound on the torus refuses it.
    let padded = (n - 1).saturating_add(padding_steps.min(1e9) as usize / 2);
    let mut nodes = (n - 1 + padded.max(n - 1)).max(2);
    while !smooth(nodes) {
        nodes += 1;
    }
    nodes
}

fn smooth(mut n: usize) -> bool {
    for p in [2, 3, 5] {
        while n.is_multiple_of(p) {
            n /= p;
        }
    }
    n == 1
}

/// Eigenvalues without negative ones, scaled to variance 1, and how far the covariance they give is from the kernel.
struct Clipped {
    eigenvalues: Vec<f64>,
    error: f64,
}

/// A torus. Functions on it that are even along both axes are held as their first quadrant, x fastest.
struct Torus {
    x: Cosines,
    y: Cosines,
}

impl Torus {
    fn new(mx: usize, my: usize) -> Self {
        let mut planner = FftPlanner::new();
        Self { x: Cosines::new(mx, &mut planner), y: Cosines::new(my, &mut planner) }
    }

    fn fit(&mut self, family: Family, step: f64, nx: usize, ny: usize, enough: f64) -> Clipped {
        let width = self.x.half();
        let height = self.y.half();
        let kernel: Vec<f64> =
            (0..height).flat_map(|j| (0..width).map(move |i| family.correlation(f64::hypot(i as f64, j as f64) * step))).collect();
        let mut covariance = kernel.clone();
        let mut best = Clipped { eigenvalues: Vec::new(), error: f64::INFINITY };
        for round in 0..ROUNDS {
            let mut eigenvalues = self.transform(&covariance);
            eigenvalues.iter_mut().for_each(|e| *e = e.max(0.0));
            let total = self.x.nodes as f64 * self.y.nodes as f64;
            let clipped: Vec<f64> = self.transform(&eigenvalues).into_iter().map(|c| c / total).collect();
            let variance = clipped[0];
            let mut error = 0.0_f64;
            for j in 0..ny {
                for at in j * width..j * width + nx {
                    error = error.max((clipped[at] / variance - kernel[at]).abs());
                }
            }
            if error < best.error {
                eigenvalues.iter_mut().for_each(|e| *e /= variance);
                best = Clipped { eigenvalues, error };
            }
            if best.error <= enough || (round >= HOPELESS_AFTER && best.error > HOPELESS_ABOVE) {
                break;
            }
            covariance = clipped;
            for j in 0..ny {
                for at in j * width..j * width + nx {
                    covariance[at] += RELAXATION * (kernel[at] - covariance[at]);
                }
            }
        }
        best
    }

    /// The unscaled Fourier transform of an even function: again even, and its own inverse but for the node count.
    fn transform(&mut self, quadrant: &[f64]) -> Vec<f64> {
        let along_x = self.x.transform_rows(quadrant);
        let turned = transposed(&along_x, self.x.half());
        let along_y = self.y.transform_rows(&turned);
        transposed(&along_y, self.y.half())
    }

    /// Weights of all waves, wave number along y fastest.
    fn weights(&self, eigenvalues: &[f64]) -> Vec<f32> {
        let (mx, my, width) = (self.x.nodes, self.y.nodes, self.x.half());
        let total = mx as f64 * my as f64;
        let weight = |i: usize, j: usize| (eigenvalues[j.min(my - j) * width + i.min(mx - i)] / total).sqrt() as f32;
        (0..mx).flat_map(|i| (0..my).map(move |j| weight(i, j))).collect()
    }
}

fn transposed(rows: &[f64], width: usize) -> Vec<f64> {
    (0..width).flat_map(|i| rows.iter().skip(i).step_by(width).copied()).collect()
}

/// Fourier transforms of even real sequences of one length, held as their first halves.
struct Cosines {
    nodes: usize,
    fft: Arc<dyn Fft<f64>>,
    buffer: Vec<Complex<f64>>,
    scratch: Vec<Complex<f64>>,
}

impl Cosines {
    fn new(nodes: usize, planner: &mut FftPlanner<f64>) -> Self {
        let fft = planner.plan_fft_forward(nodes);
        let scratch = vec![Complex::default(); fft.get_inplace_scratch_len()];
        Self { nodes, fft, buffer: vec![Complex::default(); nodes], scratch }
    }

    const fn half(&self) -> usize {
        self.nodes / 2 + 1
    }

    /// Transforms every row, two at a time: an even real sequence has a real transform, so that two share one complex transform.
    fn transform_rows(&mut self, rows: &[f64]) -> Vec<f64> {
        let half = self.half();
        let mut out = vec![0.0; rows.len()];
        for (pair, out) in rows.chunks(2 * half).zip(out.chunks_mut(2 * half)) {
            let (first, second) = pair.split_at(half);
            for (i, slot) in self.buffer.iter_mut().enumerate() {
                let at = i.min(self.nodes - i);
                *slot = Complex::new(first[at], second.get(at).copied().unwrap_or(0.0));
            }
            self.fft.process_with_scratch(&mut self.buffer, &mut self.scratch);
            let (out_first, out_second) = out.split_at_mut(half);
            for (slot, value) in out_first.iter_mut().zip(&self.buffer) {
                *slot = value.re;
            }
            for (slot, value) in out_second.iter_mut().zip(&self.buffer) {
                *slot = value.im;
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn torus_sides_hold_the_grids_distances_and_transform_fast() {
        assert_eq!(torus_nodes(57, 0.0), 120);
        assert_eq!(torus_nodes(47, 0.0), 96);
        assert_eq!(torus_nodes(1, 50.0), 1);
        assert_eq!(torus_nodes(2, 0.0), 2);
        assert_eq!(torus_nodes(57, 64.0), 144);
    }

    #[test]
    fn a_transform_of_an_even_function_agrees_with_its_sum() {
        // [D] the definition, sum over the whole torus of f(x, y) cos(2 pi k x / mx) cos(2 pi l y / my), odd and even sides
        let (mx, my) = (5, 4);
        let mut torus = Torus::new(mx, my);
        let quadrant = [3.0, 1.0, 0.5, 2.0, -1.0, 0.25, 0.125, 0.75, 0.0625];
        let got = torus.transform(&quadrant);
        for l in 0..3 {
            for k in 0..3 {
                let mut sum = 0.0;
                for y in 0..my {
                    for x in 0..mx {
                        let turn = |a: usize, b: usize, n: usize| (std::f64::consts::TAU * (a * b) as f64 / n as f64).cos();
                        sum += quadrant[y.min(my - y) * 3 + x.min(mx - x)] * turn(k, x, mx) * turn(l, y, my);
                    }
                }
                assert!((got[l * 3 + k] - sum).abs() < 1e-12);
            }
        }
    }
}
