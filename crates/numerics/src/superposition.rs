//! A stencil laid, weighted, over the nodes of a grid: out(node) = sum over nodes of weight(other) * stencil(node - other).

use std::sync::Arc;

use pulp::{Arch, Simd, WithSimd};
use rustfft::num_complex::Complex;
use rustfft::{Fft, FftPlanner};

/// Values of a row that are summed together: the widest vector there is.
const LANES: usize = 8;

/// Rows that are summed together: each value read then serves as many sums.
const TOGETHER: usize = 6;

/// Taps that are taken together: so is each value read once for all of them.
const TAPS: usize = 4;

/// Rows transformed before their sums are taken. Judgement: with those that the stencil reaches beyond them they should stay in a core's own
/// cache (a stencil of 63 rows and 600 nodes a row: 600 kB).
const STRIP: usize = 6 * TOGETHER;

/// Most nodes of a stencil's side from its middle to its end.
const MOST_HALF: usize = 4096;

/// Why there is no superposition.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SuperpositionError {
    /// A stencil's values are not (2 * half + 1) along both axes.
    #[error("a stencil that reaches {half_x} x {half_y} nodes has {expected} values, not {found}")]
    Stencil {
        /// Nodes from its middle to its end along x.
        half_x: usize,
        /// Nodes from its middle to its end along y.
        half_y: usize,
        /// Values it must have.
        expected: usize,
        /// Values given.
        found: usize,
    },
    /// A stencil that reaches too far.
    #[error("a stencil that reaches {half} nodes: {MOST_HALF} at most; take a wider step")]
    TooWide {
        /// Nodes from its middle to its end.
        half: usize,
    },
    /// Weights that don't fill whole rows of the grid.
    #[error("{found} weights are not whole rows of {nx} nodes")]
    Grid {
        /// Nodes along x.
        nx: usize,
        /// Weights given.
        found: usize,
    },
    /// A value that is not a finite number.
    #[error("value {at} of the {what} is not a finite number")]
    NotFinite {
        /// `stencil` or `weights`.
        what: &'static str,
        /// Index of the value.
        at: usize,
    },
}

/// Values at nodes around one in the middle, x running fastest from the lowest row.
#[derive(Clone, Debug, PartialEq)]
pub struct Stencil {
    half_x: usize,
    half_y: usize,
    values: Vec<f64>,
}

impl Stencil {
    /// A stencil that reaches `half_x` and `half_y` nodes to each side.
    ///
    /// # Errors
    /// [`SuperpositionError`] when the values are not (2 `half_x` + 1) (2 `half_y` + 1) finite numbers, or it reaches more than 4,096 nodes.
    pub fn new(half_x: usize, half_y: usize, values: Vec<f64>) -> Result<Self, SuperpositionError> {
        let half = half_x.max(half_y);
        if half > MOST_HALF {
            return Err(SuperpositionError::TooWide { half });
        }
        let expected = (2 * half_x + 1) * (2 * half_y + 1);
        if values.len() != expected {
            return Err(SuperpositionError::Stencil { half_x, half_y, expected, found: values.len() });
        }
        finite("stencil", &values)?;
        Ok(Self { half_x, half_y, values })
    }

    /// Nodes from the middle to the end, along x and y.
    #[must_use]
    pub const fn half(&self) -> [usize; 2] {
        [self.half_x, self.half_y]
    }

    /// All values, x running fastest.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// Whether every row reads the same from both ends.
    fn is_even_along_x(&self) -> bool {
        self.values.chunks_exact(2 * self.half_x + 1).all(|row| row.iter().eq(row.iter().rev()))
    }
}

fn finite(what: &'static str, values: &[f64]) -> Result<(), SuperpositionError> {
    values.iter().position(|value| !value.is_finite()).map_or(Ok(()), |at| Err(SuperpositionError::NotFinite { what, at }))
}

/// Adds to `out` the stencil laid over every node of a grid, times the node's weight. Grids hold `nx` nodes a row; what falls off the grid is
/// lost. The sums differ from those taken one by one by rounding, about 1e-16 of the largest.
///
/// Method: rows are Fourier transformed, in pieces padded by the stencil's reach and two pieces at a time as real and imaginary part; down the
/// columns the sums are taken directly, because the transform of a row that reads the same from both ends is real and a few dozen
/// multiplications by real numbers in a row are faster than two more transforms and their transpositions. (Convolution theorem: e.g. Press et
/// al., Numerical Recipes, 3rd ed., section 13.1; pieces: overlap-save, section 13.1.3.) A stencil that does not read the same from both ends
/// takes a second pass.
///
/// # Errors
/// [`SuperpositionError`] when weights or out are not the same whole rows of `nx`, or a weight is not finite.
pub fn add_superposed(stencil: &Stencil, weights: &[f64], nx: usize, out: &mut [f64]) -> Result<(), SuperpositionError> {
    if nx == 0 || !weights.len().is_multiple_of(nx) || out.len() != weights.len() {
        return Err(SuperpositionError::Grid { nx, found: weights.len() });
    }
    finite("weights", weights)?;
    Rows::new(stencil, nx).add(weights, out);
    Ok(())
}

/// How rows are cut, and the stencil's transform.
struct Rows {
    nx: usize,
    half_x: usize,
    half_y: usize,
    /// Nodes of a piece that count, and of its transform.
    piece: usize,
    length: usize,
    /// Pairs of pieces in a row.
    pairs: usize,
    forward: Arc<dyn Fft<f64>>,
    back: Arc<dyn Fft<f64>>,
    /// Real parts of the transforms of the stencil's rows, LANES waves of every row after the other; and the imaginary parts, when there are any.
    even: Vec<f64>,
    odd: Vec<f64>,
}

impl Rows {
    fn new(stencil: &Stencil, nx: usize) -> Self {
        let Stencil { half_x, half_y, .. } = *stencil;
        let (pairs, piece, length) = cut(nx, half_x, half_y);
        let mut planner = FftPlanner::new();
        let (forward, back) = (planner.plan_fft_forward(length), planner.plan_fft_inverse(length));
        let taps = 2 * half_y + 1;
        let is_even = stencil.is_even_along_x();
        let mut even = vec![0.0; taps * length];
        let mut odd = vec![0.0; if is_even { 0 } else { taps * length }];
        let mut scratch = vec![Complex::default(); forward.get_inplace_scratch_len()];
        let mut wave = vec![Complex::default(); length];
        let scale = 1.0 / length as f64;
        // The sum at a node takes the stencil's rows from the last to the first.
        for (tap, row) in stencil.values.chunks_exact(2 * half_x + 1).rev().enumerate() {
            wave.fill(Complex::default());
            for (i, value) in row.iter().enumerate() {
                wave[(i + length - half_x) % length] = Complex::new(value * scale, 0.0);
            }
            forward.process_with_scratch(&mut wave, &mut scratch);
            for (block, waves) in wave.chunks_exact(LANES).enumerate() {
                let at = (block * taps + tap) * LANES;
                even[at..at + LANES].iter_mut().zip(waves).for_each(|(value, wave)| *value = wave.re);
                if !is_even {
                    odd[at..at + LANES].iter_mut().zip(waves).for_each(|(value, wave)| *value = wave.im);
                }
            }
        }
        Self { nx, half_x, half_y, piece, length, pairs, forward, back, even, odd }
    }

    fn add(&self, weights: &[f64], out: &mut [f64]) {
        let ny = weights.len() / self.nx;
        let rows = STRIP + 2 * self.half_y;
        let size = 2 * self.length;
        let mut strip = vec![0.0; rows * size];
        let mut sums = vec![0.0; STRIP * size];
        let mut odd_sums = vec![0.0; if self.odd.is_empty() { 0 } else { STRIP * size }];
        let scratch = self.forward.get_inplace_scratch_len().max(self.back.get_inplace_scratch_len());
        let mut waves = (vec![Complex::default(); self.length], vec![Complex::default(); scratch]);
        for pair in 0..self.pairs {
            strip.fill(0.0);
            // Rows below the first strip's sums.
            for y in 0..self.half_y.min(ny) {
                self.transform(&weights[y * self.nx..(y + 1) * self.nx], pair, rows, STRIP + self.half_y + y, &mut strip, &mut waves);
            }
            for start in (0..ny).step_by(STRIP) {
                for block in strip.chunks_exact_mut(rows * LANES) {
                    block.copy_within(STRIP * LANES.., 0);
                }
                for row in 0..STRIP {
                    let y = start + self.half_y + row;
                    let line = weights.get(y * self.nx..(y + 1) * self.nx).unwrap_or(&[]);
                    self.transform(line, pair, rows, 2 * self.half_y + row, &mut strip, &mut waves);
                }
                sum_rows(&strip, &self.even, &mut sums, rows);
                if !self.odd.is_empty() {
                    sum_rows(&strip, &self.odd, &mut odd_sums, rows);
                }
                for (row, line) in out[start * self.nx..].chunks_exact_mut(self.nx).take(STRIP).enumerate() {
                    self.transform_back(&sums, &odd_sums, row, pair, line, &mut waves);
                }
            }
        }
    }

    /// Transforms a pair of pieces of a row into its place in the strip.
    fn transform(&self, line: &[f64], pair: usize, rows: usize, row: usize, strip: &mut [f64], waves: &mut Waves) {
        let (wave, scratch) = waves;
        let first = 2 * pair * self.piece;
        let empty = line.iter().skip(first.saturating_sub(self.half_x)).take(2 * (self.piece + self.half_x)).all(|value| *value == 0.0);
        if empty {
            for block in strip.chunks_exact_mut(rows * LANES) {
                block[row * LANES..(row + 1) * LANES].fill(0.0);
            }
            return;
        }
        wave.fill(Complex::default());
        for (value, wave) in self.reach(line, first).0.iter().zip(wave.iter_mut().skip(self.reach(line, first).1)) {
            wave.re = *value;
        }
        for (value, wave) in self.reach(line, first + self.piece).0.iter().zip(wave.iter_mut().skip(self.reach(line, first + self.piece).1))
        {
            wave.im = *value;
        }
        self.forward.process_with_scratch(wave, scratch);
        for (waves, block) in wave.chunks_exact(LANES).zip(strip.chunks_exact_mut(2 * rows * LANES)) {
            let (re, im) = block.split_at_mut(rows * LANES);
            for ((wave, re), im) in waves.iter().zip(&mut re[row * LANES..]).zip(&mut im[row * LANES..]) {
                (*re, *im) = (wave.re, wave.im);
            }
        }
    }

    /// What of a line a piece that begins at `first` needs, and where in the piece's transform it goes.
    fn reach<'a>(&self, line: &'a [f64], first: usize) -> (&'a [f64], usize) {
        let from = first.saturating_sub(self.half_x);
        let to = (first + self.piece + self.half_x).min(line.len());
        (line.get(from..to).unwrap_or(&[]), (from + self.half_x).saturating_sub(first))
    }

    /// Adds the sums of a row, transformed back, to a line.
    fn transform_back(&self, sums: &[f64], odd_sums: &[f64], row: usize, pair: usize, line: &mut [f64], waves: &mut Waves) {
        let (wave, scratch) = waves;
        for (block, waves) in wave.chunks_exact_mut(LANES).enumerate() {
            if let (Some(re), Some(im)) = parts(sums, block, row) {
                waves.iter_mut().zip(re.iter().zip(im)).for_each(|(wave, (re, im))| *wave = Complex::new(*re, *im));
            }
            if let (Some(re), Some(im)) = parts(odd_sums, block, row) {
                waves.iter_mut().zip(re.iter().zip(im)).for_each(|(wave, (re, im))| *wave += Complex::new(-im, *re));
            }
        }
        self.back.process_with_scratch(wave, scratch);
        let piece = &wave[self.half_x..];
        for (value, wave) in line.iter_mut().skip(2 * pair * self.piece).take(self.piece).zip(piece) {
            *value += wave.re;
        }
        for (value, wave) in line.iter_mut().skip((2 * pair + 1) * self.piece).take(self.piece).zip(piece) {
            *value += wave.im;
        }
    }
}

/// Real and imaginary parts of a block of a row's sums.
fn parts(sums: &[f64], block: usize, row: usize) -> (Option<&[f64]>, Option<&[f64]>) {
    let at = (2 * block * STRIP + row) * LANES;
    (sums.get(at..at + LANES), sums.get(at + STRIP * LANES..at + (STRIP + 1) * LANES))
}

/// A row's transform, and room to make it.
type Waves = (Vec<Complex<f64>>, Vec<Complex<f64>>);

/// Pairs of pieces, nodes of a piece, and nodes of its transform, for the least work.
fn cut(nx: usize, half_x: usize, half_y: usize) -> (usize, usize, usize) {
    let plan = |pairs: usize| {
        let piece = nx.div_ceil(2 * pairs);
        (pairs, piece, transform_length(piece + 2 * half_x))
    };
    // A transform there and back of 5 n log2 n operations each, and two sums of all taps.
    let work = |(pairs, _, length): &(usize, usize, usize)| {
        *pairs as f64 * *length as f64 * (10.0 * (*length as f64).log2() + (8 * half_y) as f64)
    };
    let plans = (0..12).map(|doubled| plan(1 << doubled)).take_while(|(pairs, _, _)| *pairs == 1 || 2 * pairs <= nx);
    plans.min_by(|a, b| work(a).total_cmp(&work(b))).unwrap_or_else(|| plan(1))
}

/// The least product of 2 and 3 that is a multiple of [`LANES`] and not below `least`: such lengths transform fast.
fn transform_length(least: usize) -> usize {
    let mut length = LANES;
    let mut best = usize::MAX;
    while length < best {
        let mut candidate = length;
        while candidate < least {
            candidate *= 2;
        }
        best = best.min(candidate);
        length *= 3;
    }
    best
}

/// Of every column of the strip, sums of as many neighbouring values as there are taps, times the taps.
///
/// Columns are held LANES at a time: all rows of a strip after each other, first the real parts, then the imaginary parts.
fn sum_rows(strip: &[f64], taps: &[f64], sums: &mut [f64], rows: usize) {
    Arch::new().dispatch(Sum { strip, taps, sums, rows });
}

struct Sum<'a> {
    strip: &'a [f64],
    taps: &'a [f64],
    sums: &'a mut [f64],
    rows: usize,
}

impl WithSimd for Sum<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Self { strip, taps, sums, rows } = self;
        let taps = taps.chunks_exact((rows - STRIP + 1) * LANES);
        let blocks = strip.chunks_exact(2 * rows * LANES).zip(sums.chunks_exact_mut(2 * STRIP * LANES));
        for (taps, (strip, sums)) in taps.zip(blocks) {
            for (strip, sums) in strip.chunks_exact(rows * LANES).zip(sums.chunks_exact_mut(STRIP * LANES)) {
                sum_block(simd, S::as_simd_f64s(taps).0, S::as_simd_f64s(strip).0, S::as_mut_simd_f64s(sums).0);
            }
        }
    }
}

#[inline(always)]
fn sum_block<S: Simd>(simd: S, taps: &[S::f64s], strip: &[S::f64s], sums: &mut [S::f64s]) {
    let vectors = LANES / S::F64_LANES;
    for vector in 0..vectors {
        for first in (0..STRIP).step_by(TOGETHER) {
            let mut together = [simd.splat_f64s(0.0); TOGETHER];
            let values = &strip[first * vectors..];
            let (fours, rest) = taps.split_at(taps.len() / (TAPS * vectors) * TAPS * vectors);
            let windows = values.windows((TOGETHER + TAPS - 1) * vectors).step_by(TAPS * vectors);
            for (taps, rows) in fours.chunks_exact(TAPS * vectors).zip(windows) {
                for (row, sum) in together.iter_mut().enumerate() {
                    for tap in 0..TAPS {
                        *sum = simd.mul_add_f64s(rows[(row + tap) * vectors + vector], taps[tap * vectors + vector], *sum);
                    }
                }
            }
            let values = &values[fours.len()..];
            for (tap, rows) in rest.chunks_exact(vectors).zip(values.windows(TOGETHER * vectors).step_by(vectors)) {
                for (row, sum) in together.iter_mut().enumerate() {
                    *sum = simd.mul_add_f64s(rows[row * vectors + vector], tap[vector], *sum);
                }
            }
            for (row, sum) in together.iter().enumerate() {
                sums[(first + row) * vectors + vector] = *sum;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// [D] the definition.
    fn directly(stencil: &Stencil, weights: &[f64], nx: usize) -> Vec<f64> {
        let (ny, width) = (weights.len() / nx, 2 * stencil.half_x + 1);
        let mut out = vec![0.0; weights.len()];
        for (at, weight) in weights.iter().enumerate().filter(|(_, weight)| **weight != 0.0) {
            for (place, value) in stencil.values.iter().enumerate() {
                let x = (at % nx + place % width).checked_sub(stencil.half_x).filter(|x| *x < nx);
                let y = (at / nx + place / width).checked_sub(stencil.half_y).filter(|y| *y < ny);
                if let (Some(x), Some(y)) = (x, y) {
                    out[y * nx + x] += weight * value;
                }
            }
        }
        out
    }

    fn pseudo(count: usize, seed: u32, zeros: u32) -> Vec<f64> {
        let bits = |i: usize| (i as u32).wrapping_add(seed).wrapping_mul(2_654_435_761) >> 8;
        (0..count).map(|i| if bits(i) % 10 < zeros { 0.0 } else { f64::from(bits(i) / 10 % 1000) / 1000.0 }).collect()
    }

    proptest! {
        #[test]
        fn sums_agree_with_those_taken_one_by_one(
            (half_x, half_y) in (0..20usize, 0..20usize), (nx, ny) in (1..90usize, 1..90usize), seed in any::<u32>(), zeros in 0..11u32,
            is_even in any::<bool>(),
        ) {
            let mut values = pseudo((2 * half_x + 1) * (2 * half_y + 1), seed, 2);
            if is_even {
                for row in values.chunks_exact_mut(2 * half_x + 1) {
                    let back: Vec<f64> = row.iter().rev().copied().collect();
                    row.iter_mut().zip(back).for_each(|(value, back)| *value += back);
                }
            }
            let stencil = Stencil::new(half_x, half_y, values).unwrap();
            let weights = pseudo(nx * ny, seed ^ 99, zeros);
            let want = directly(&stencil, &weights, nx);
            let largest = want.iter().copied().fold(0.0, f64::max);
            let mut got = vec![1.0; nx * ny];
            add_superposed(&stencil, &weights, nx, &mut got).unwrap();
            for (got, want) in got.iter().zip(&want) {
                prop_assert!((got - 1.0 - want).abs() <= 1e-13 * largest.max(1.0), "{} {}", got - 1.0, want);
            }
        }
    }

    #[test]
    fn a_single_weight_lays_the_stencil_once() {
        let stencil = Stencil::new(1, 0, vec![1.0, 2.0, 4.0]).unwrap();
        let mut out = vec![0.0; 8];
        add_superposed(&stencil, &[0.0, 3.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0], 4, &mut out).unwrap();
        let want = [3.0, 6.0, 12.0, 0.0, 0.0, 0.0, 1.0, 2.0];
        assert!(out.iter().zip(want).all(|(got, want)| (got - want).abs() < 1e-14), "{out:?}");
    }

    #[test]
    fn transforms_have_fast_lengths() {
        assert_eq!([1, 8, 9, 25, 362, 500, 1000].map(transform_length), [8, 8, 16, 32, 384, 512, 1024]);
        assert_eq!(cut(600, 31, 31), (1, 300, 384));
        assert!(cut(4000, 31, 31).0 > 1);
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        assert!(matches!(Stencil::new(1, 1, vec![0.0; 8]), Err(SuperpositionError::Stencil { expected: 9, found: 8, .. })));
        assert!(matches!(Stencil::new(0, 0, vec![f64::NAN]), Err(SuperpositionError::NotFinite { what: "stencil", at: 0 })));
        assert!(matches!(Stencil::new(usize::MAX, 0, vec![]), Err(SuperpositionError::TooWide { .. })));
        let one = Stencil::new(0, 0, vec![1.0]).unwrap();
        assert!(matches!(add_superposed(&one, &[1.0; 3], 2, &mut [0.0; 3]), Err(SuperpositionError::Grid { .. })));
        assert!(matches!(add_superposed(&one, &[1.0; 4], 2, &mut [0.0; 3]), Err(SuperpositionError::Grid { .. })));
        assert!(matches!(add_superposed(&one, &[f64::INFINITY; 2], 2, &mut [0.0; 2]), Err(SuperpositionError::NotFinite { .. })));
    }
}
