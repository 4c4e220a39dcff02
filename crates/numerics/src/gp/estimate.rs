//! Means and standard deviations at many places.

use pulp::{Arch, Simd, WithSimd};
use rayon::prelude::*;

use super::tiles::Explained;
use super::triangle::Triangle;
use crate::kernel::Kernel;

/// Rows worked on together: with three vectors of places they make twelve running sums, which is what the smaller machines have registers for.
pub(super) const ROWS: usize = 4;
pub(super) const VECTORS: usize = 3;

/// Places of one task: a few milliseconds for hundreds of readings, and enough tasks to share out.
const PLACES_A_TASK: usize = 480;

/// A mean and its standard deviation at each of the places asked for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Estimates {
    /// Mean of the field without noise.
    pub mean: Vec<f64>,
    /// Standard deviation of the field without noise: not of a new reading.
    pub sd: Vec<f64>,
}

/// What estimates need of the readings: their places and linear forms of the covariances k to a place.
pub(super) struct Forms {
    x: Vec<f64>,
    y: Vec<f64>,
    kernel: Kernel,
    /// Added to the mean.
    level: f64,
    /// 1 / (1' K^-1 1) when the level was estimated, 0 when it was known.
    level_variance: f64,
    /// Panels of four rows of L^-1, as columns of four, each panel as long as its last row.
    panels: Vec<[f64; ROWS]>,
    /// K^-1 (values - level) and K^-1 1, as columns of the same form.
    means: Vec<[f64; ROWS]>,
}

impl Forms {
    pub(super) fn new(
        places: &[[f64; 2]],
        kernel: Kernel,
        inverse: &Triangle,
        weights: &[f64],
        ones: &[f64],
        level: f64,
        level_variance: f64,
    ) -> Self {
        let n = inverse.size();
        let entry = |i: usize, k: usize| if i < n { inverse.row(i).get(k).copied().unwrap_or(0.0) } else { 0.0 };
        let panels = (0..n)
            .step_by(ROWS)
            .flat_map(|i| (0..(i + ROWS).min(n)).map(move |k| (i, k)))
            .map(|(i, k)| std::array::from_fn(|row| entry(i + row, k)))
            .collect();
        let means = weights.iter().zip(ones).map(|(w, o)| [*w, *o, 0.0, 0.0]).collect();
        let x = places.iter().map(|[x, _]| *x).collect();
        let y = places.iter().map(|[_, y]| *y).collect();
        Self { x, y, kernel, level, level_variance, panels, means }
    }

    pub(super) fn estimates(&self, places: &[[f64; 2]]) -> Estimates {
        let mut out = Estimates { mean: vec![0.0; places.len()], sd: vec![0.0; places.len()] };
        places
            .par_chunks(PLACES_A_TASK)
            .zip(out.mean.par_chunks_mut(PLACES_A_TASK).zip(out.sd.par_chunks_mut(PLACES_A_TASK)))
            .for_each(|(places, (mean, sd))| Arch::new().dispatch(Task { forms: self, places, mean, sd }));
        out
    }

    /// Means and standard deviations from what the readings explain.
    pub(super) fn finished(&self, explained: Explained) -> Estimates {
        let Explained { weighted: mut mean, ones, variance: mut sd } = explained;
        for ((mean, sd), ones) in mean.iter_mut().zip(&mut sd).zip(ones) {
            (*mean, *sd) = self.finish(*mean, ones, *sd);
        }
        Estimates { mean, sd }
    }

    #[inline(always)]
    fn finish(&self, weighted: f64, ones: f64, explained: f64) -> (f64, f64) {
        let prior = self.kernel.sd() * self.kernel.sd();
        let unexplained_level = 1.0 - ones;
        let variance = prior - explained + unexplained_level * unexplained_level * self.level_variance;
        (self.level + weighted, variance.max(0.0).sqrt())
    }
}

struct Task<'a> {
    forms: &'a Forms,
    places: &'a [[f64; 2]],
    mean: &'a mut [f64],
    sd: &'a mut [f64],
}

impl WithSimd for Task<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let forms = self.forms;
        let width = VECTORS * S::F64_LANES;
        let mut covariances = vec![0.0; forms.x.len() * width];
        let mut at = [vec![0.0; width], vec![0.0; width]];
        let outputs = self.mean.chunks_mut(width).zip(self.sd.chunks_mut(width));
        for (places, (mean, sd)) in self.places.chunks(width).zip(outputs) {
            for (slot, [x, y]) in places.iter().enumerate() {
                (at[0][slot], at[1][slot]) = (*x, *y);
            }
            fill_covariances::<S>(forms, &at[0], &at[1], &mut covariances);
            let (vectors, _) = S::as_simd_f64s(&covariances);
            let (vectors, _) = vectors.as_chunks::<VECTORS>();
            let [weighted, ones, ..] = products(simd, &forms.means, vectors);
            let explained = sum_of_squares(simd, forms, vectors);
            finish(simd, forms, [weighted, ones, explained], mean, sd);
        }
    }
}

/// Covariances of every reading with `VECTORS` vectors of places, a row a reading.
#[inline(always)]
fn fill_covariances<S: Simd>(forms: &Forms, at_x: &[f64], at_y: &[f64], covariances: &mut [f64]) {
    let width = VECTORS * S::F64_LANES;
    let (family, variance) = (forms.kernel.family(), forms.kernel.sd() * forms.kernel.sd());
    let per_length2 = 1.0 / (forms.kernel.length_mm() * forms.kernel.length_mm());
    let (at_x, at_y) = (&at_x[..width], &at_y[..width]);
    for ((x, y), row) in forms.x.iter().zip(&forms.y).zip(covariances.chunks_exact_mut(width)) {
        for ((covariance, at_x), at_y) in row.iter_mut().zip(at_x).zip(at_y) {
            let (dx, dy) = (at_x - x, at_y - y);
            *covariance = dx.mul_add(dx, dy * dy) * per_length2;
        }
        family.correlate_squares(row);
        for covariance in row {
            *covariance *= variance;
        }
    }
}

/// Four linear forms of the covariances, for three vectors of places.
#[inline(always)]
pub(super) fn products<S: Simd>(simd: S, panel: &[[f64; ROWS]], covariances: &[[S::f64s; VECTORS]]) -> [[S::f64s; VECTORS]; ROWS] {
    let mut sums = [[simd.splat_f64s(0.0); VECTORS]; ROWS];
    for (column, covariances) in panel.iter().zip(covariances) {
        for (sums, entry) in sums.iter_mut().zip(column) {
            let entry = simd.splat_f64s(*entry);
            for (sum, covariance) in sums.iter_mut().zip(covariances) {
                *sum = simd.mul_add_e_f64s(entry, *covariance, *sum);
            }
        }
    }
    sums
}

/// |L^-1 k|^2 = k' K^-1 k.
#[inline(always)]
fn sum_of_squares<S: Simd>(simd: S, forms: &Forms, covariances: &[[S::f64s; VECTORS]]) -> [S::f64s; VECTORS] {
    let n = forms.x.len();
    let mut total = [simd.splat_f64s(0.0); VECTORS];
    let mut rest = forms.panels.as_slice();
    for first in (0..n).step_by(ROWS) {
        let (panel, after) = rest.split_at((first + ROWS).min(n));
        rest = after;
        for sums in products(simd, panel, covariances) {
            for (total, sum) in total.iter_mut().zip(sums) {
                *total = simd.mul_add_e_f64s(sum, sum, *total);
            }
        }
    }
    total
}

/// Means and standard deviations from the three linear and quadratic forms.
#[inline(always)]
fn finish<S: Simd>(simd: S, forms: &Forms, form: [[S::f64s; VECTORS]; 3], mean: &mut [f64], sd: &mut [f64]) {
    let mut lanes = [vec![0.0; VECTORS * S::F64_LANES], vec![0.0; VECTORS * S::F64_LANES], vec![0.0; VECTORS * S::F64_LANES]];
    for (lanes, vectors) in lanes.iter_mut().zip(form) {
        for (lanes, vector) in lanes.chunks_exact_mut(S::F64_LANES).zip(vectors) {
            simd.partial_store_f64s(lanes, vector);
        }
    }
    let [weighted, ones, explained] = &lanes;
    for (slot, (mean, sd)) in mean.iter_mut().zip(sd).enumerate() {
        (*mean, *sd) = forms.finish(weighted[slot], ones[slot], explained[slot]);
    }
}
