//! Symmetric positive definite band matrices and their Cholesky factors, with loops that use the machine's widest vectors.

use pulp::{Arch, Simd, WithSimd};

/// Rows of a tile. Three vectors of eight doubles, or twice three of four: with the four columns that are updated together, sums and
/// operands just fill the registers of either kind of machine.
const TILE: usize = 24;

/// Columns of a tile that are updated together.
const TOGETHER: usize = 4;

/// A pivot was not positive, or not finite, at this row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct NoFactor {
    /// The row.
    pub(crate) row: usize,
}

/// The lower half of a symmetric band matrix, by panels of [`TILE`] rows: a panel holds its columns one after the other.
///
/// Panels begin at the tile that holds the first column of their band. Rows that fill up the last panel are those of the unit matrix.
#[derive(Clone, Debug)]
pub(crate) struct Band {
    rows: usize,
    panels: Vec<Panel>,
    values: Vec<f64>,
}

/// Where a panel's columns begin, in tiles, and where its values do.
#[derive(Clone, Copy, Debug)]
struct Panel {
    tile: usize,
    first: usize,
    at: usize,
}

impl Panel {
    const fn columns(self) -> usize {
        (self.tile + 1 - self.first) * TILE
    }
}

impl Band {
    /// A matrix of nothing, of `rows` rows, entries at most `half_width` from its diagonal.
    pub(crate) fn new(rows: usize, half_width: usize) -> Self {
        let mut at = 0;
        let panels: Vec<Panel> = (0..rows.div_ceil(TILE))
            .map(|tile| {
                let panel = Panel { tile, first: (tile * TILE).saturating_sub(half_width) / TILE, at };
                at += panel.columns() * TILE;
                panel
            })
            .collect();
        Self { rows, panels, values: vec![0.0; at] }
    }

    /// Puts nothing everywhere.
    pub(crate) fn clear(&mut self) {
        self.values.fill(0.0);
        for row in self.rows..self.panels.len() * TILE {
            self.add(row, row, 1.0);
        }
    }

    /// Adds to the entry at `row` and `column`, which must be in the lower half of the band.
    pub(crate) fn add(&mut self, row: usize, column: usize, value: f64) {
        let at = self.place(row, column);
        self.values[at] += value;
    }

    /// Adds to the entries of a row, by their columns, `factor` times their values.
    pub(crate) fn add_to_row(&mut self, row: usize, entries: &[(usize, f64)], factor: f64) {
        let panel = self.panels[row / TILE];
        let at = panel.at + row % TILE;
        for (column, value) in entries {
            self.values[at + (column - panel.first * TILE) * TILE] += factor * value;
        }
    }

    /// Adds `values` along a diagonal, from the entry at `row` and `column` downwards.
    pub(crate) fn add_diagonally(&mut self, row: usize, column: usize, values: &[f64]) {
        let (mut row, mut column, mut left) = (row, column, values);
        while !left.is_empty() {
            // As far as the panel reaches.
            let (now, rest) = left.split_at(left.len().min(TILE - row % TILE));
            let at = self.place(row, column);
            for (target, value) in self.values[at..].iter_mut().step_by(TILE + 1).zip(now) {
                *target += value;
            }
            (row, column, left) = (row + now.len(), column + now.len(), rest);
        }
    }

    fn place(&self, row: usize, column: usize) -> usize {
        let panel = self.panels[row / TILE];
        panel.at + (column - panel.first * TILE) * TILE + row % TILE
    }

    /// Replaces the matrix A by the lower L of A = L L'.
    ///
    /// Method: Golub & Van Loan, Matrix Computations, 4th ed., section 4.2.6 (by blocks, each row of blocks from those above it) within a
    /// band. A tile below the diagonal is multiplied by the inverse of its diagonal tile, so that nearly all work is products of matrices.
    ///
    /// # Errors
    /// [`NoFactor`] names the row whose pivot was not positive.
    pub(crate) fn factor(mut self) -> Result<Factor, NoFactor> {
        let mut inverses = vec![0.0; self.panels.len() * TILE * TILE];
        match Arch::new().dispatch(Factoring { band: &mut self, inverses: &mut inverses }) {
            Some(row) => Err(NoFactor { row }),
            None => Ok(Factor { band: self, inverses }),
        }
    }
}

/// A Cholesky factor in a band, and the negated inverses of its diagonal tiles.
#[derive(Clone, Debug)]
pub(crate) struct Factor {
    band: Band,
    inverses: Vec<f64>,
}

impl Factor {
    /// The room that the factor took, to be filled anew.
    pub(crate) fn into_band(self) -> Band {
        self.band
    }

    /// Replaces `b` by A^-1 b.
    pub(crate) fn solve(&self, b: &mut [f64]) {
        let mut padded = vec![0.0; self.band.panels.len() * TILE];
        padded[..b.len()].copy_from_slice(b);
        Arch::new().dispatch(Solving { factor: self, b: &mut padded });
        b.copy_from_slice(&padded[..b.len()]);
    }
}

struct Factoring<'a> {
    band: &'a mut Band,
    inverses: &'a mut [f64],
}

impl WithSimd for Factoring<'_> {
    type Output = Option<usize>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> Option<usize> {
        let Self { band, inverses } = self;
        let mut unsolved = [0.0; TILE * TILE];
        for panel in &band.panels {
            let (above, here) = band.values.split_at_mut(panel.at);
            let here = &mut here[..panel.columns() * TILE];
            for column in panel.first..panel.tile {
                let other = &band.panels[column];
                let start = panel.first.max(other.first);
                let (left, right) = here.split_at_mut((column - panel.first) * TILE * TILE);
                let tile = &mut right[..TILE * TILE];
                let theirs = &above[other.at..other.at + other.columns() * TILE];
                subtract_product(
                    simd,
                    tile,
                    &left[(start - panel.first) * TILE * TILE..],
                    &theirs[(start - other.first) * TILE * TILE..(column - other.first) * TILE * TILE],
                );
                unsolved.copy_from_slice(tile);
                tile.fill(0.0);
                subtract_product(simd, tile, &unsolved, &inverses[column * TILE * TILE..(column + 1) * TILE * TILE]);
            }
            let (left, diagonal) = here.split_at_mut((panel.tile - panel.first) * TILE * TILE);
            subtract_product(simd, diagonal, left, left);
            if let Some(row) = factor_tile(diagonal) {
                return Some(panel.tile * TILE + row);
            }
            negated_inverse(diagonal, &mut inverses[panel.tile * TILE * TILE..(panel.tile + 1) * TILE * TILE]);
        }
        None
    }
}

/// Takes from the tile `c` the product of `a` and the transpose of `b`, both panels with as many columns.
#[inline(always)]
fn subtract_product<S: Simd>(simd: S, c: &mut [f64], a: &[f64], b: &[f64]) {
    for (strip, c) in c.chunks_exact_mut(TILE * TOGETHER).enumerate() {
        let (c, _) = S::as_mut_simd_f64s(c);
        let vectors = TILE / S::F64_LANES;
        for rows in (0..vectors).step_by(3) {
            let mut sums = [[simd.splat_f64s(0.0); 3]; TOGETHER];
            for (a, b) in a.chunks_exact(TILE).zip(b.chunks_exact(TILE)) {
                let (a, _) = S::as_simd_f64s(a);
                let (x, y, z, b) = (a[rows], a[rows + 1], a[rows + 2], &b[strip * TOGETHER..][..TOGETHER]);
                for (sums, b) in sums.iter_mut().zip(b) {
                    let b = simd.splat_f64s(*b);
                    sums[0] = simd.mul_add_f64s(x, b, sums[0]);
                    sums[1] = simd.mul_add_f64s(y, b, sums[1]);
                    sums[2] = simd.mul_add_f64s(z, b, sums[2]);
                }
            }
            for (column, sums) in c.chunks_exact_mut(vectors).zip(&sums) {
                for (value, sum) in column[rows..].iter_mut().zip(sums) {
                    *value = simd.sub_f64s(*value, *sum);
                }
            }
        }
    }
}

/// Puts its Cholesky factor in the place of a tile, or gives the row whose pivot was not positive. What is above the diagonal becomes 0.
#[inline(always)]
fn factor_tile(tile: &mut [f64]) -> Option<usize> {
    for j in 0..TILE {
        let (left, right) = tile.split_at_mut(j * TILE);
        let column = &mut right[..TILE];
        for done in left.chunks_exact(TILE) {
            let by = done[j];
            for (value, other) in column.iter_mut().zip(done) {
                *value -= by * other;
            }
        }
        let pivot = column[j];
        if !(pivot > 0.0 && pivot.is_finite()) {
            return Some(j);
        }
        let scale = 1.0 / pivot.sqrt();
        column[..j].fill(0.0);
        column[j..].iter_mut().for_each(|value| *value *= scale);
    }
    None
}

/// Minus the inverse of a lower triangular tile.
#[inline(always)]
fn negated_inverse(tile: &[f64], inverse: &mut [f64]) {
    for j in 0..TILE {
        let x = &mut inverse[j * TILE..(j + 1) * TILE];
        x.fill(0.0);
        x[j] = -1.0;
        for (k, column) in tile.chunks_exact(TILE).enumerate().skip(j) {
            let value = x[k] / column[k];
            for (x, l) in x.iter_mut().zip(column) {
                *x -= value * l;
            }
            x[k] = value;
        }
    }
}

struct Solving<'a> {
    factor: &'a Factor,
    b: &'a mut [f64],
}

impl WithSimd for Solving<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Self { factor, b } = self;
        let Factor { band, inverses } = factor;
        for panel in &band.panels {
            let columns = &band.values[panel.at..][..(panel.tile - panel.first) * TILE * TILE];
            let (done, rest) = b.split_at_mut(panel.tile * TILE);
            let mut left = [0.0; TILE];
            left.copy_from_slice(&rest[..TILE]);
            for (column, x) in columns.chunks_exact(TILE).zip(&done[panel.first * TILE..]) {
                for (left, value) in left.iter_mut().zip(column) {
                    *left -= value * x;
                }
            }
            let mut solved = [0.0; TILE];
            for (column, x) in inverses[panel.tile * TILE * TILE..][..TILE * TILE].chunks_exact(TILE).zip(&left) {
                for (solved, value) in solved.iter_mut().zip(column) {
                    *solved -= value * x;
                }
            }
            rest[..TILE].copy_from_slice(&solved);
        }
        for panel in band.panels.iter().rev() {
            let columns = &band.values[panel.at..][..(panel.tile - panel.first) * TILE * TILE];
            let (done, rest) = b.split_at_mut(panel.tile * TILE);
            let mut solved = [0.0; TILE];
            for (solved, column) in solved.iter_mut().zip(inverses[panel.tile * TILE * TILE..][..TILE * TILE].chunks_exact(TILE)) {
                *solved = -dot(column, &rest[..TILE]);
            }
            for (column, x) in columns.chunks_exact(TILE).zip(&mut done[panel.first * TILE..]) {
                *x -= dot(column, &solved);
            }
            rest[..TILE].copy_from_slice(&solved);
        }
    }
}

/// Sum of products of two tiles' columns.
#[inline(always)]
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 8];
    for (a, b) in a.as_chunks::<8>().0.iter().zip(b.as_chunks::<8>().0) {
        for ((sum, a), b) in sums.iter_mut().zip(a).zip(b) {
            *sum += a * b;
        }
    }
    sums.iter().sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Entries of a diagonally dominant band matrix.
    fn entry(i: usize, j: usize, half_width: usize) -> f64 {
        let (low, high) = (i.min(j), i.max(j));
        if low == high {
            2.0 * half_width as f64 + 1.0
        } else if high - low <= half_width {
            ((low * 7 + high * 13) as f64).sin()
        } else {
            0.0
        }
    }

    fn band(rows: usize, half_width: usize) -> Band {
        let mut band = Band::new(rows, half_width);
        band.clear();
        for away in 0..=half_width.min(rows.saturating_sub(1)) {
            let diagonal: Vec<f64> = (away..rows).map(|i| entry(i, i - away, half_width)).collect();
            band.add_diagonally(away, 0, &diagonal);
        }
        band
    }

    proptest! {
        #[test]
        fn a_solution_times_the_matrix_is_the_right_side(rows in 1..200usize, half_width in 0..120usize) {
            let factor = band(rows, half_width).factor().unwrap();
            let b: Vec<f64> = (0..rows).map(|i| (i as f64 * 0.7).cos()).collect();
            let mut x = b.clone();
            factor.solve(&mut x);
            for (i, b) in b.iter().enumerate() {
                let product: f64 = x.iter().enumerate().map(|(j, x)| entry(i, j, half_width) * x).sum();
                prop_assert!((product - b).abs() < 1e-12, "row {}: {} {}", i, product, b);
            }
        }
    }

    #[test]
    fn a_worked_system_is_solved() {
        // [D] [[4, 2], [2, 10]] x = (8, 22): x = (1, 2)
        let mut band = Band::new(2, 1);
        band.clear();
        band.add(0, 0, 4.0);
        band.add(1, 0, 2.0);
        band.add(1, 1, 10.0);
        let mut x = [8.0, 22.0];
        band.factor().unwrap().solve(&mut x);
        assert!((x[0] - 1.0).abs() < 1e-15 && (x[1] - 2.0).abs() < 1e-15, "{x:?}");
    }

    #[test]
    fn a_matrix_that_is_not_positive_definite_is_refused_with_its_row() {
        for (wrong, value) in [(0, -1.0), (30, 0.0), (59, f64::NAN)] {
            let mut band = Band::new(60, 3);
            band.clear();
            for row in 0..60 {
                band.add(row, row, if row == wrong { value } else { 1.0 });
            }
            assert_eq!(band.factor().unwrap_err(), NoFactor { row: wrong });
        }
    }
}
