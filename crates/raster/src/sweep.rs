//! Second derivatives of a Gaussian-smoothed picture, part by part: rows first, then columns, without a picture of anything in between.

use pulp::{Arch, Simd, WithSimd};

use crate::kernel::{Kernel, Taps};
use crate::plane::Plane;
use crate::tile::Tile;

/// Rows of a part. Judgement: each part filters its margins' rows again, which more rows would make rarer; with more the sums along rows would no longer
/// stay in a core's nearest cache (128 rows and 17 on both sides: 31 kB at eight lanes).
pub(crate) const ROWS: usize = 128;

/// Columns of a part: with its margins it stays in a core's second cache (190 kB).
const COLUMNS: usize = 256;

/// Values from a row of [`Values`] to the next. Not a power of two: the rows would fall on the same lines of the cache.
const STRIDE: usize = COLUMNS + 16;

/// Rows that are summed together down the columns: each weight read then serves as many sums.
const TOGETHER: usize = 4;

/// Second derivatives along x, along both, and along y.
pub(crate) type Second<V> = [V; 3];

/// What is kept of the second derivatives.
pub(crate) trait Keep {
    /// Planes of results.
    const PLANES: usize;

    /// Takes the second derivatives at a sigma, in the order of the kernels. The values are 0 at first.
    fn keep<S: Simd>(simd: S, sigma: f32, second: Second<S::f32s>, values: &mut Values, at: usize);
}

/// What is kept of a part: planes of rows, each [`STRIDE`] long.
pub(crate) struct Values {
    planes: Vec<Vec<f32>>,
}

impl Values {
    /// The vector at a place of a plane.
    #[inline(always)]
    pub(crate) fn vector<S: Simd>(&mut self, plane: usize, at: usize) -> &mut S::f32s {
        let row = &mut self.planes[plane][at..at + S::F32_LANES];
        &mut S::as_mut_simd_f32s(row).0[0]
    }
}

/// Goes over rows `top..` of a picture, as many as `out`'s planes hold, and writes there what is kept.
pub(crate) fn sweep<K: Keep>(plane: &Plane, kernels: &[Kernel], top: usize, out: &mut [&mut [f32]]) {
    let width = plane.width();
    let rows = out.first().map_or(0, |out| out.len() / width);
    let margin = kernels.iter().map(Kernel::radius).max().unwrap_or(0);
    let whole_rows = rows.next_multiple_of(TOGETHER);
    let mut tile = Tile::new(COLUMNS, whole_rows, margin);
    let mut values = Values { planes: vec![vec![0.0; STRIDE * whole_rows]; K::PLANES] };
    for left in (0..width).step_by(COLUMNS) {
        let columns = COLUMNS.min(width - left);
        tile.take(plane, left, top);
        values.planes.iter_mut().for_each(|plane| plane.fill(0.0));
        Arch::new().dispatch(Part::<K> {
            tile: &tile,
            kernels,
            columns,
            rows: whole_rows,
            values: &mut values,
            kind: std::marker::PhantomData,
        });
        for (out, plane) in out.iter_mut().zip(&values.planes) {
            for (out, row) in out.chunks_exact_mut(width).zip(plane.chunks_exact(STRIDE)) {
                out[left..left + columns].copy_from_slice(&row[..columns]);
            }
        }
    }
}

struct Part<'a, K> {
    tile: &'a Tile,
    kernels: &'a [Kernel],
    columns: usize,
    rows: usize,
    values: &'a mut Values,
    kind: std::marker::PhantomData<K>,
}

impl<K: Keep> WithSimd for Part<'_, K> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let zero = [simd.splat_f32s(0.0); 2];
        let mut along = [const { Vec::new() }; 3];
        let downs: Vec<[Vec<f32>; 3]> = self.kernels.iter().map(Kernel::whole).collect();
        for left in (0..self.columns).step_by(2 * S::F32_LANES) {
            for (kernel, [smooth, first, second]) in self.kernels.iter().zip(&downs) {
                let (radius, skipped) = (kernel.radius(), self.tile.margin - kernel.radius());
                let lines = self.rows + 2 * radius;
                along.iter_mut().for_each(|along| along.resize(lines, zero));
                let [smoothed, sloped, bent] = &mut along;
                let out = smoothed.iter_mut().zip(sloped).zip(bent);
                for (row, out) in self.tile.rows().skip(skipped).zip(out) {
                    let row = &row[left + skipped..left + skipped + 2 * (S::F32_LANES + radius)];
                    let [a, b, c] = across(simd, row, kernel);
                    (*out.0.0, *out.0.1, *out.1) = (a, b, c);
                }
                let sigma = kernel.sigma as f32;
                for top in (0..self.rows).step_by(TOGETHER) {
                    let reach = top..top + 2 * radius + TOGETHER;
                    let xx = down(simd, smooth, &along[2][reach.clone()]);
                    let xy = down(simd, first, &along[1][reach.clone()]);
                    let yy = down(simd, second, &along[0][reach]);
                    for row in 0..TOGETHER {
                        for vector in 0..2 {
                            let at = (top + row) * STRIDE + left + vector * S::F32_LANES;
                            K::keep(simd, sigma, [xx[row][vector], xy[row][vector], yy[row][vector]], self.values, at);
                        }
                    }
                }
            }
        }
    }
}

/// Smoothed, sloped and bent along a row: of two vectors of values side by side.
#[inline(always)]
fn across<S: Simd>(simd: S, row: &[f32], kernel: &Kernel) -> [[S::f32s; 2]; 3] {
    let width = 2 * S::F32_LANES;
    let middle = read::<S>(&row[kernel.radius()..kernel.radius() + width]);
    let [smooth, _, second] = kernel.middle.map(|tap| simd.splat_f32s(tap));
    let mut smoothed = middle.map(|value| simd.mul_f32s(value, smooth));
    let mut bent = middle.map(|value| simd.mul_f32s(value, second));
    let mut sloped = [simd.splat_f32s(0.0); 2];
    let pairs = row.windows(width).zip(row.windows(width).rev());
    for (taps, (left, right)) in kernel.sides.iter().zip(pairs) {
        let [smooth, first, second] = splat(simd, taps);
        let (left, right) = (read::<S>(left), read::<S>(right));
        for vector in 0..2 {
            let sum = simd.add_f32s(left[vector], right[vector]);
            let difference = simd.sub_f32s(right[vector], left[vector]);
            smoothed[vector] = simd.mul_add_f32s(sum, smooth, smoothed[vector]);
            sloped[vector] = simd.mul_add_f32s(difference, first, sloped[vector]);
            bent[vector] = simd.mul_add_f32s(sum, second, bent[vector]);
        }
    }
    [smoothed, sloped, bent]
}

#[inline(always)]
fn splat<S: Simd>(simd: S, taps: &Taps) -> [S::f32s; 3] {
    [simd.splat_f32s(taps[0]), simd.splat_f32s(taps[1]), simd.splat_f32s(taps[2])]
}

#[inline(always)]
fn read<S: Simd>(values: &[f32]) -> [S::f32s; 2] {
    let vectors = S::as_simd_f32s(values).0;
    [vectors[0], vectors[1]]
}

/// Sums down the columns, of [`TOGETHER`] rows.
#[inline(always)]
fn down<S: Simd>(simd: S, taps: &[f32], lines: &[[S::f32s; 2]]) -> [[S::f32s; 2]; TOGETHER] {
    let mut sums = [[simd.splat_f32s(0.0); 2]; TOGETHER];
    for (tap, lines) in taps.iter().zip(lines.windows(TOGETHER)) {
        let tap = simd.splat_f32s(*tap);
        for row in 0..TOGETHER {
            for vector in 0..2 {
                sums[row][vector] = simd.mul_add_f32s(lines[row][vector], tap, sums[row][vector]);
            }
        }
    }
    sums
}
