//! A tile's size, its nodes, and what interpolation between them leaves out.

use std::array;
use std::f64::consts::PI;

use pulp::{Arch, Simd, WithSimd};

use crate::gp::Grid;
use crate::kernel::Family;

/// Places of the longest vectors.
const LANES: usize = 8;

/// Most places of a tile along each axis.
pub(super) const SIDE: usize = 32;

/// Nodes of a tile along x and along y. Together 72, which all machines' vectors divide.
///
/// Judgement, by counting multiplications for 300 readings and a length of 40 steps: fewer leave more readings near, more cost more than they
/// save.
pub(super) const NODES_X: usize = 9;
pub(super) const NODES_Y: usize = 8;
pub(super) const NODES: usize = NODES_X * NODES_Y;

/// Fewest places of a tile that can repay its nodes.
const LEAST_PLACES: usize = 4 * NODES;

/// Tiles of one size that cover a grid, and the polynomials between their nodes.
pub(super) struct Shape {
    /// Places of a tile along x and y.
    pub(super) size: [usize; 2],
    /// Places of a row with those added behind its end that fill the last vector.
    pub(super) stride: usize,
    step_mm: f64,
    /// Nodes' places from the tile's centre, mm.
    pub(super) nodes_mm: [[f64; 2]; NODES],
    /// For each node along x its Lagrange polynomial at the tile's columns; nothing beyond the tile.
    pub(super) along_x: [[f64; SIDE]; NODES_X],
    /// For each row of the tile the Lagrange polynomials of the nodes along y.
    pub(super) along_y: Vec<[f64; NODES_Y]>,
}

impl Shape {
    /// The tiles of a grid; nothing when they would be too small.
    pub(super) fn of(grid: Grid) -> Option<Self> {
        let size = [grid.nx(), grid.ny()].map(|places| places.div_ceil(places.div_ceil(SIDE)));
        if size[0] * size[1] < LEAST_PLACES || size[0] < NODES_X || size[1] < NODES_Y {
            return None;
        }
        let half_mm = size.map(|places| (places as f64 - 1.0) / 2.0 * grid.step_mm());
        let nodes_x: [f64; NODES_X] = chebyshev();
        let nodes_y: [f64; NODES_Y] = chebyshev();
        let nodes_mm = array::from_fn(|node| [nodes_x[node % NODES_X] * half_mm[0], nodes_y[node / NODES_X] * half_mm[1]]);
        let place = |k: usize, places: usize| 2.0 * k as f64 / (places as f64 - 1.0) - 1.0;
        let mut along_x = [[0.0; SIDE]; NODES_X];
        for k in 0..size[0] {
            let at: [f64; NODES_X] = lagrange(place(k, size[0]));
            along_x.iter_mut().zip(at).for_each(|(row, value)| row[k] = value);
        }
        let along_y = (0..size[1]).map(|k| lagrange(place(k, size[1]))).collect();
        Some(Self { size, stride: size[0].next_multiple_of(LANES), step_mm: grid.step_mm(), nodes_mm, along_x, along_y })
    }

    pub(super) const fn places(&self) -> usize {
        self.size[0] * self.size[1]
    }

    /// Places with those added behind the rows' ends.
    pub(super) const fn slots(&self) -> usize {
        self.stride * self.size[1]
    }

    /// First places of the tiles along an axis of `places`; the last tile is shifted inward, so that all are whole.
    pub(super) fn starts(&self, axis: usize, places: usize) -> Vec<usize> {
        let size = self.size[axis];
        (0..places.div_ceil(size)).map(|k| (k * size).min(places - size)).collect()
    }

    /// A place of the tile from its centre, mm.
    pub(super) fn place_mm(&self, k: usize, axis: usize) -> f64 {
        (k as f64 - (self.size[axis] as f64 - 1.0) / 2.0) * self.step_mm
    }

    /// Distance from the tile's centre, mm, beyond which a reading's correlations with the tile's places are those between its nodes to
    /// within `tolerance`; `farthest_mm` when that is not reached before.
    ///
    /// Method: the error is measured for readings in seven directions and the distance halved in; it falls with the distance, as the only
    /// place where a correlation isn't smooth is the reading's own.
    pub(super) fn reach_mm(&self, family: Family, length_mm: f64, tolerance: f64, farthest_mm: f64) -> f64 {
        /// Within a hundredth of the farthest.
        const HALVINGS: usize = 7;
        let fits = |distance_mm: f64| {
            (0..7).all(|k| {
                let (sin, cos) = (f64::from(k) * PI / 12.0).sin_cos();
                largest_error(self, family, length_mm, [distance_mm * cos, distance_mm * sin]) <= tolerance
            })
        };
        let (mut near, mut far) = (0.0, farthest_mm);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (near + far);
            if fits(middle) {
                far = middle;
            } else {
                near = middle;
            }
        }
        far
    }
}

/// Chebyshev's points of the first kind in -1 to 1.
fn chebyshev<const N: usize>() -> [f64; N] {
    array::from_fn(|k| angle::<N>(k).cos())
}

fn angle<const N: usize>(k: usize) -> f64 {
    PI * (2.0 * k as f64 + 1.0) / (2.0 * N as f64)
}

/// The Lagrange polynomials of Chebyshev's points at `t` in -1 to 1, as sums of cosines.
///
/// Source: Mason & Handscomb, Chebyshev Polynomials (2003), section 6.3: l_k(t) = (2/N) sum' T_m(t_k) T_m(t), the first term halved.
fn lagrange<const N: usize>(t: f64) -> [f64; N] {
    let at = t.clamp(-1.0, 1.0).acos();
    array::from_fn(|k| {
        let terms = (1..N).map(|m| (m as f64 * at).cos() * (m as f64 * angle::<N>(k)).cos());
        (1.0 + 2.0 * terms.sum::<f64>()) / N as f64
    })
}

/// Values along a tile's columns, one vector of columns for each row of nodes, between values at the nodes.
#[inline(always)]
pub(super) fn columns<S: Simd>(simd: S, shape: &Shape, nodes: &[f64], vector: usize) -> [S::f64s; NODES_Y] {
    let mut columns = [simd.splat_f64s(0.0); NODES_Y];
    for (k, along_x) in shape.along_x.iter().enumerate() {
        let (along_x, _) = S::as_simd_f64s(along_x);
        for (column, nodes) in columns.iter_mut().zip(nodes.chunks_exact(NODES_X)) {
            *column = simd.mul_add_e_f64s(simd.splat_f64s(nodes[k]), along_x[vector], *column);
        }
    }
    columns
}

/// Values of one row, between the columns'.
#[inline(always)]
pub(super) fn across<S: Simd>(simd: S, columns: &[S::f64s; NODES_Y], along_y: &[f64; NODES_Y]) -> S::f64s {
    let mut value = simd.splat_f64s(0.0);
    for (column, y) in columns.iter().zip(along_y) {
        value = simd.mul_add_e_f64s(simd.splat_f64s(*y), *column, value);
    }
    value
}

/// Correlations of a reading, at `from_mm` from a tile's centre, with the tile's places, row by row.
#[inline(always)]
pub(super) fn correlate(shape: &Shape, family: Family, length_mm: f64, from_mm: [f64; 2], values: &mut [f64]) {
    let mut squares_x = [0.0; SIDE];
    for (k, square) in squares_x.iter_mut().enumerate() {
        let dx = (shape.place_mm(k, 0) - from_mm[0]) / length_mm;
        *square = dx * dx;
    }
    for (row, values) in values.chunks_exact_mut(shape.stride).enumerate() {
        let dy = (shape.place_mm(row, 1) - from_mm[1]) / length_mm;
        for (square, x) in values.iter_mut().zip(&squares_x) {
            *square = dy.mul_add(dy, *x);
        }
    }
    family.correlate_squares(values);
}

/// Covariances, for a variance of 1, of a reading with a tile's nodes.
#[inline(always)]
pub(super) fn correlate_nodes(shape: &Shape, family: Family, length_mm: f64, from_mm: [f64; 2], values: &mut [f64]) {
    for (value, node) in values.iter_mut().zip(&shape.nodes_mm) {
        let (dx, dy) = ((node[0] - from_mm[0]) / length_mm, (node[1] - from_mm[1]) / length_mm);
        *value = dx.mul_add(dx, dy * dy);
    }
    family.correlate_squares(values);
}

/// The largest error at a tile's places of correlations taken between its nodes, for one reading.
fn largest_error(shape: &Shape, family: Family, length_mm: f64, from_mm: [f64; 2]) -> f64 {
    let mut between = vec![0.0; shape.slots()];
    let mut correlations = vec![0.0; shape.slots()];
    Arch::new().dispatch(Between { shape, family, length_mm, from_mm, between: &mut between, correlations: &mut correlations });
    let rows = correlations.chunks_exact(shape.stride).zip(between.chunks_exact(shape.stride));
    let errors = rows.flat_map(|(a, b)| a.iter().zip(b).take(shape.size[0])).map(|(a, b)| (a - b).abs());
    errors.fold(0.0, f64::max)
}

struct Between<'a> {
    shape: &'a Shape,
    family: Family,
    length_mm: f64,
    from_mm: [f64; 2],
    between: &'a mut [f64],
    correlations: &'a mut [f64],
}

impl WithSimd for Between<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Self { shape, family, length_mm, from_mm, between, correlations } = self;
        let mut nodes = [0.0; NODES];
        correlate_nodes(shape, family, length_mm, from_mm, &mut nodes);
        correlate(shape, family, length_mm, from_mm, correlations);
        let (between, _) = S::as_mut_simd_f64s(between);
        let across_tile = shape.stride / S::F64_LANES;
        for vector in 0..across_tile {
            let columns = columns(simd, shape, &nodes, vector);
            for (row, along_y) in between.chunks_exact_mut(across_tile).zip(&shape.along_y) {
                row[vector] = across(simd, &columns, along_y);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polynomials_below_the_number_of_nodes_are_met_exactly() {
        let shape = Shape::of(Grid::over(300.0, 250.0, 10.0).unwrap()).unwrap();
        assert_eq!(shape.size, [31, 26]);
        // [D] a tile of 31 x 26 places has its nodes within 150 and 125 mm of its centre
        let polynomial = |[x, y]: [f64; 2]| (x / 100.0).powi(8) - 2.0 * (x / 100.0).powi(3) * (y / 100.0).powi(7) + 5.0;
        let nodes = shape.nodes_mm.map(polynomial);
        let (nodes, simd) = (&nodes, pulp::Scalar::new());
        for column in 0..31 {
            let columns = columns(simd, &shape, nodes, column);
            for row in 0..26 {
                let want = polynomial([shape.place_mm(column, 0), shape.place_mm(row, 1)]);
                assert!((across(simd, &columns, &shape.along_y[row]) - want).abs() < 1e-11, "{column} {row}");
            }
        }
    }

    #[test]
    fn beyond_the_reach_no_correlation_is_missed_by_more_than_the_tolerance() {
        let shape = Shape::of(Grid::over(1500.0, 1200.0, 10.0).unwrap()).unwrap();
        for family in Family::ALL {
            let reach = shape.reach_mm(family, 400.0, 1e-7, 2000.0);
            for degrees in 0..90 {
                let (sin, cos) = f64::from(degrees).to_radians().sin_cos();
                for times in [1.0, 1.1, 1.5, 3.0] {
                    let error = largest_error(&shape, family, 400.0, [times * reach * cos, times * reach * sin]);
                    assert!(error <= 1.5e-7 || reach >= 2000.0, "{family:?} {degrees} {times}: {error:e}");
                }
            }
        }
    }

    #[test]
    fn a_grid_too_small_for_its_nodes_has_no_tiles() {
        assert!(Shape::of(Grid::over(100.0, 100.0, 10.0).unwrap()).is_none());
        assert!(Shape::of(Grid::over(10_000.0, 0.0, 1.0).unwrap()).is_none());
    }

    #[test]
    fn tiles_cover_the_grid() {
        let shape = Shape::of(Grid::over(1500.0, 1200.0, 10.0).unwrap()).unwrap();
        assert_eq!(shape.starts(0, 151), [0, 31, 62, 93, 120]);
        assert_eq!(shape.starts(1, 121), [0, 31, 62, 90]);
    }
}
