//! Draws of stationary Gaussian fields on a grid.

mod embedding;
mod noise;

use std::sync::Arc;

use rand::Rng;
use rustfft::num_complex::Complex;
use rustfft::{Fft, FftPlanner};

use crate::kernel::Family;
use embedding::Embedding;

/// Why a field can't be drawn.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum CirculantError {
    /// The correlation length must be finite and above nothing.
    #[error("a field's length must be a finite number of millimetres above 0, not {0}")]
    Length(f64),
    /// The grid's step must be finite and above nothing.
    #[error("a grid's step must be a finite number of millimetres above 0, not {0}")]
    Step(f64),
    /// The grid has no nodes.
    #[error("a grid of {nx} x {ny} nodes is empty")]
    Empty {
        /// Nodes along x.
        nx: usize,
        /// Nodes along y.
        ny: usize,
    },
    /// The grid is beyond what can be held in memory.
    #[error("a grid of {nx} x {ny} nodes is too large: take a wider step ({most} nodes at most)")]
    TooLarge {
        /// Nodes along x.
        nx: usize,
        /// Nodes along y.
        ny: usize,
        /// Most nodes accepted.
        most: usize,
    },
}

/// A source of stationary Gaussian fields with mean 0 and variance 1 on a grid of nodes.
///
/// Method: the grid is wrapped into a larger torus, whose covariance matrix the Fourier transform makes diagonal; one complex transform of
/// weighted noise gives two independent fields. Their joint law over the grid is that of the kernel, but for [`Circulant::covariance_error`].
///
/// Source: Dietrich & Newsam, Fast and exact simulation of stationary Gaussian processes through circulant embedding of the covariance matrix,
/// SIAM J. Sci. Comput. 18 (1997); Wood & Chan, Simulation of stationary Gaussian processes in the d-dimensional unit cube, J. Comput. Graph. Stat. 3 (1994).
pub struct Circulant {
    nx: usize,
    ny: usize,
    /// Torus nodes along x and y.
    mx: usize,
    my: usize,
    /// Square roots of the eigenvalues over the node count, wave number along y fastest.
    weights: Vec<f32>,
    covariance_error: f64,
    along_x: Arc<dyn Fft<f32>>,
    along_y: Arc<dyn Fft<f32>>,
}

impl Circulant {
    /// Prepares draws on `nx` x `ny` nodes, `step_mm` apart, correlated as `family` at `length_mm`.
    ///
    /// # Errors
    /// [`CirculantError`] for an empty or enormous grid, and for a step or a length that isn't finite and above 0.
    pub fn new(family: Family, length_mm: f64, nx: usize, ny: usize, step_mm: f64) -> Result<Self, CirculantError> {
        if !(length_mm.is_finite() && length_mm > 0.0) {
            return Err(CirculantError::Length(length_mm));
        }
        if !(step_mm.is_finite() && step_mm > 0.0) {
            return Err(CirculantError::Step(step_mm));
        }
        if nx == 0 || ny == 0 {
            return Err(CirculantError::Empty { nx, ny });
        }
        if nx.saturating_mul(ny) > embedding::MOST_NODES {
            return Err(CirculantError::TooLarge { nx, ny, most: embedding::MOST_NODES });
        }
        let Embedding { mx, my, weights, covariance_error } = embedding::embed(family, step_mm / length_mm, nx, ny);
        let mut planner = FftPlanner::new();
        let along_x = planner.plan_fft_forward(mx);
        let along_y = planner.plan_fft_forward(my);
        Ok(Self { nx, ny, mx, my, weights, covariance_error, along_x, along_y })
    }

    /// Nodes of the grid, nx times ny: the length of the slices that [`Circulant::draw_pair`] fills.
    #[must_use]
    pub const fn nodes(&self) -> usize {
        self.nx * self.ny
    }

    /// Largest difference, over all pairs of nodes, between the correlation drawn and the correlation meant. Variances are exact.
    ///
    /// Single-precision rounding, about 1e-6, is not counted.
    #[must_use]
    pub const fn covariance_error(&self) -> f64 {
        self.covariance_error
    }

    /// Draws two independent fields, x running fastest. Slices shorter than [`Circulant::nodes`] get the rows that fit.
    pub fn draw_pair(&self, rng: &mut impl Rng, first: &mut [f32], second: &mut [f32]) {
        let (nx, ny, mx, my) = (self.nx, self.ny, self.mx, self.my);
        let mut waves = noise::weighted_noise(rng, &self.weights);
        let scratch_len = self.along_y.get_inplace_scratch_len().max(self.along_x.get_inplace_scratch_len());
        let mut scratch = vec![Complex::default(); scratch_len];
        self.along_y.process_with_scratch(&mut waves, &mut scratch);
        let mut rows = vec![Complex::default(); mx * ny];
        transpose_leading(&waves, my, &mut rows, mx);
        self.along_x.process_with_scratch(&mut rows, &mut scratch);
        let outputs = first.chunks_exact_mut(nx).zip(second.chunks_exact_mut(nx));
        for (row, (first, second)) in rows.chunks_exact(mx).zip(outputs) {
            for (value, (first, second)) in row.iter().zip(first.iter_mut().zip(second)) {
                (*first, *second) = (value.re, value.im);
            }
        }
    }
}

/// Writes the first rows of the transpose of `from` (rows of `width`) to `to` (rows of `height`), as many as fit.
fn transpose_leading(from: &[Complex<f32>], width: usize, to: &mut [Complex<f32>], height: usize) {
    for (column, row) in from.chunks_exact(width).enumerate() {
        for (value, target) in row.iter().zip(to.iter_mut().skip(column).step_by(height)) {
            *target = *value;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_pcg::Pcg64;

    /// Sample covariances between node 0 and every node over many draws, and their distance from the kernel's in standard errors.
    fn worst_z(family: Family, length_mm: f64, nx: usize, ny: usize, step_mm: f64) -> f64 {
        let circulant = Circulant::new(family, length_mm, nx, ny, step_mm).unwrap();
        let mut rng = Pcg64::seed_from_u64(1);
        let pairs = 4000;
        let nodes = circulant.nodes();
        let corner = nodes - nx;
        let (mut a, mut b) = (vec![0.0; nodes], vec![0.0; nodes]);
        let mut sums = vec![[0.0_f64; 2]; nodes];
        for _ in 0..pairs {
            circulant.draw_pair(&mut rng, &mut a, &mut b);
            for field in [&a, &b] {
                for (sum, value) in sums.iter_mut().zip(field) {
                    sum[0] += f64::from(field[0] * value);
                    sum[1] += f64::from(field[corner] * value);
                }
            }
        }
        let n = f64::from(2 * pairs);
        let mut worst = 0.0_f64;
        for (node, sum) in sums.iter().enumerate() {
            for (at, sum) in [0, corner].into_iter().zip(sum) {
                let (dx, dy) = ((node % nx).abs_diff(at % nx), (node / nx).abs_diff(at / nx));
                let rho = family.correlation(f64::hypot(dx as f64, dy as f64) * step_mm / length_mm);
                worst = worst.max((sum / n - rho).abs() / ((1.0 + rho * rho) / n).sqrt());
            }
        }
        worst
    }

    #[test]
    fn draws_have_the_kernels_covariance_between_nodes() {
        for family in Family::ALL {
            let z = worst_z(family, 120.0, 13, 9, 25.0);
            assert!(z < 4.5, "{family:?}: {z} standard errors");
        }
    }

    #[test]
    fn the_two_fields_of_a_pair_are_independent() {
        let circulant = Circulant::new(Family::Matern32, 100.0, 5, 4, 25.0).unwrap();
        let mut rng = Pcg64::seed_from_u64(2);
        let (mut a, mut b) = ([0.0; 20], [0.0; 20]);
        let (mut here, mut there) = (0.0, 0.0);
        for _ in 0..10_000 {
            circulant.draw_pair(&mut rng, &mut a, &mut b);
            here += f64::from(a[7] * b[7]);
            there += f64::from(a[0] * b[19]);
        }
        assert!(here.abs() < 450.0 && there.abs() < 450.0, "{here} {there}: more than 4.5 standard errors from 0");
    }

    #[test]
    fn lengths_from_a_step_to_a_panel_are_drawn_with_a_small_stated_error() {
        for family in Family::ALL {
            for (length_mm, most) in [(25.0, 1e-12), (100.0, 1e-8), (200.0, 1e-4), (400.0, 1e-4), (800.0, 5e-4)] {
                let error = Circulant::new(family, length_mm, 57, 47, 25.0).unwrap().covariance_error();
                assert!(error <= most, "{family:?} {length_mm} mm: {error:e}");
            }
        }
    }

    #[test]
    fn a_single_row_and_a_single_node_are_grids_too() {
        assert!(worst_z(Family::Exponential, 50.0, 11, 1, 25.0) < 4.5);
        assert!(worst_z(Family::Gaussian, 50.0, 1, 1, 25.0) < 4.5);
    }

    #[test]
    fn a_grid_that_makes_no_sense_is_refused() {
        let refused = |length, nx, ny, step| Circulant::new(Family::Gaussian, length, nx, ny, step).err();
        assert_eq!(refused(100.0, 0, 3, 25.0), Some(CirculantError::Empty { nx: 0, ny: 3 }));
        assert_eq!(refused(-1.0, 3, 3, 25.0), Some(CirculantError::Length(-1.0)));
        assert_eq!(refused(100.0, 3, 3, 0.0), Some(CirculantError::Step(0.0)));
        assert!(matches!(refused(100.0, usize::MAX, 3, 25.0), Some(CirculantError::TooLarge { .. })));
    }
}
