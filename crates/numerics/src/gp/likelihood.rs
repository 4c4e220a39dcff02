//! The readings' covariance, its factor, and the likelihood of a kernel.

use std::f64::consts::TAU;

use super::estimate::Forms;
use super::triangle::Triangle;
use super::{GpError, Mean, Reading, check};
use crate::kernel::Kernel;
use crate::wide::wide;

/// Readings and all that follows from them and a kernel.
pub(crate) struct Conditioned {
    pub(crate) kernel: Kernel,
    pub(crate) places: Vec<[f64; 2]>,
    /// Standard deviations of the readings' noise.
    pub(crate) noise_sds: Vec<f64>,
    /// L^-1 of K = L L'.
    inverse: Triangle,
    /// K^-1 (values - level).
    weights: Vec<f64>,
    /// K^-1 1 when the level is estimated, else nothings.
    ones: Vec<f64>,
    pub(crate) level: f64,
    /// 1 / (1' K^-1 1) when the level is estimated, else 0.
    pub(crate) level_variance: f64,
    pub(crate) log_likelihood: f64,
}

impl Conditioned {
    pub(crate) fn new(readings: &[Reading], kernel: Kernel, mean: Mean) -> Result<Self, GpError> {
        check(readings, mean)?;
        let n = readings.len();
        let triangle = Triangle::factor(n, covariance(readings, kernel)).map_err(|row| GpError::Singular { reading: row + 1 })?;
        let inverse = triangle.inverse();
        let values: Vec<f64> = readings.iter().map(|reading| reading.value).collect();
        let solve = |b: &[f64]| inverse.transposed_times(&inverse.times(b));
        let (level, level_variance, ones) = match mean {
            Mean::Known(level) => (level, 0.0, vec![0.0; n]),
            Mean::Constant => {
                let ones = solve(&vec![1.0; n]);
                let precision: f64 = ones.iter().sum();
                // About the first value, so that a level far from 0 costs no digits.
                let origin = values[0];
                let level = origin + ones.iter().zip(&values).map(|(weight, value)| weight * (value - origin)).sum::<f64>() / precision;
                (level, 1.0 / precision, ones)
            }
        };
        let rest: Vec<f64> = values.iter().map(|value| value - level).collect();
        let weights = solve(&rest);
        let misfit: f64 = weights.iter().zip(&rest).map(|(weight, rest)| weight * rest).sum();
        let (contrasts, log_level) = match mean {
            Mean::Known(_) => (n as f64, 0.0),
            Mean::Constant => (n as f64 - 1.0, level_variance.ln()),
        };
        let log_likelihood = -0.5 * (misfit + triangle.log_determinant() - log_level + contrasts * TAU.ln());
        let places = readings.iter().map(|reading| [reading.x_mm, reading.y_mm]).collect();
        let noise_sds = readings.iter().map(|reading| reading.sd).collect();
        Ok(Self { kernel, places, noise_sds, inverse, weights, ones, level, level_variance, log_likelihood })
    }

    pub(super) fn forms(&self) -> Forms {
        Forms::new(&self.places, self.kernel, &self.inverse, &self.weights, &self.ones, self.level, self.level_variance)
    }

    /// K^-1 (values - level).
    pub(super) fn weights(&self) -> &[f64] {
        &self.weights
    }

    /// K^-1 1 when the level is estimated, else nothings.
    pub(super) fn ones(&self) -> &[f64] {
        &self.ones
    }

    /// K^-1, lower half, row-major.
    pub(super) fn precision(&self) -> Vec<f64> {
        self.inverse.square()
    }

    /// The mean and the weights K^-1 (data - mean) of other data at the same places with the same noise.
    pub(crate) fn reweighted(&self, data: &[f64]) -> (f64, Vec<f64>) {
        let level = if self.level_variance > 0.0 {
            self.ones.iter().zip(data).map(|(weight, value)| weight * value).sum::<f64>() * self.level_variance
        } else {
            0.0
        };
        let rest: Vec<f64> = data.iter().map(|value| value - level).collect();
        (level, self.inverse.transposed_times(&self.inverse.times(&rest)))
    }

    /// L^-1 k for one place, and 1 - k' K^-1 1: what the posterior covariance of two places is made of.
    pub(crate) fn whitened(&self, place: [f64; 2]) -> (Vec<f64>, f64) {
        let covariances: Vec<f64> =
            self.places.iter().map(|at| self.kernel.covariance(f64::hypot(at[0] - place[0], at[1] - place[1]))).collect();
        let unexplained = 1.0 - self.ones.iter().zip(&covariances).map(|(one, covariance)| one * covariance).sum::<f64>();
        (self.inverse.times(&covariances), unexplained)
    }

    /// Derivatives of the log likelihood to the logarithms of the kernel's sd and length.
    ///
    /// Rasmussen & Williams (2006), eq. 5.9: half the trace of (a a' - P) dK, with P = K^-1, less its part along the constant where that is
    /// estimated.
    pub(super) fn slopes(&self) -> [f64; 2] {
        slopes(self, &self.inverse.square())
    }
}

wide! {
    fn slopes<'a>(given: &'a Conditioned, inverse: &'a [f64]) -> [f64; 2] {
        let n = given.places.len();
        let (family, variance) = (given.kernel.family(), given.kernel.sd() * given.kernel.sd());
        let per_length2 = 1.0 / (given.kernel.length_mm() * given.kernel.length_mm());
        let (weights, ones) = (&given.weights, &given.ones);
        let (mut by_sd, mut by_length) = (0.0, 0.0);
        let (mut row_sd, mut row_length) = (vec![0.0; n], vec![0.0; n]);
        for (i, [x, y]) in given.places.iter().enumerate() {
            // The lower triangle counts twice, the diagonal once.
            let entries = given.places[..i].iter().zip(&inverse[i * n..]).zip(weights.iter().zip(ones));
            for (((place, inverse), (weight, one)), (by_sd, by_length)) in entries.zip(row_sd.iter_mut().zip(row_length.iter_mut())) {
                let (dx, dy) = (place[0] - x, place[1] - y);
                let r2 = dx.mul_add(dx, dy * dy) * per_length2;
                let pull = weights[i] * weight - inverse + ones[i] * one * given.level_variance;
                *by_sd = 2.0 * pull * family.correlation_of_square(r2);
                *by_length = pull * family.length_slope_of_square(r2);
            }
            let diagonal = weights[i] * weights[i] - inverse[i * n + i] + ones[i] * ones[i] * given.level_variance;
            by_sd += row_sd[..i].iter().sum::<f64>() + diagonal;
            by_length += row_length[..i].iter().sum::<f64>();
        }
        [variance * by_sd, variance * by_length]
    }
}

/// K, lower triangle, row-major: the kernel between the readings' places, plus the noise on the diagonal.
fn covariance(readings: &[Reading], kernel: Kernel) -> Vec<f64> {
    let n = readings.len();
    let mut matrix = vec![0.0; n * n];
    fill_covariance(readings, kernel, &mut matrix);
    matrix
}

wide! {
    fn fill_covariance<'a>(readings: &'a [Reading], kernel: Kernel, matrix: &'a mut [f64]) -> () {
        let (family, variance) = (kernel.family(), kernel.sd() * kernel.sd());
        let per_length2 = 1.0 / (kernel.length_mm() * kernel.length_mm());
        for (i, (reading, row)) in readings.iter().zip(matrix.chunks_exact_mut(readings.len())).enumerate() {
            for (other, entry) in readings[..i].iter().zip(row.iter_mut()) {
                let (dx, dy) = (other.x_mm - reading.x_mm, other.y_mm - reading.y_mm);
                *entry = dx.mul_add(dx, dy * dy) * per_length2;
            }
            family.correlate_squares(&mut row[..i]);
            for entry in &mut row[..i] {
                *entry *= variance;
            }
            row[i] = reading.sd.mul_add(reading.sd, variance);
        }
    }
}
