//! Estimates on a grid, tile by tile, with weights taken between nodes.

mod shape;
mod variance;

use rayon::prelude::*;

use super::estimate::{Estimates, Forms};
use super::{Conditioned, Grid};
use shape::{NODES, Shape};
pub(super) use variance::Explained;
use variance::Panels;

/// Fewest readings for which nodes are looked at.
///
/// Judgement: with fewer, a solve at every place takes not much longer than the covariances, which both ways need.
const LEAST_READINGS: usize = 64;

/// Largest share of the field's variance that one reading's interpolation may be wrong by before the reading counts as near.
///
/// Judgement: a hundred times less than what [`AGREEMENT`] sees where nine tenths of the sd are explained.
const NEGLECTED: f64 = 1e-12;

/// How far a standard deviation may be from the directly computed one, relative, at the places where both are computed.
const AGREEMENT: f64 = 5e-9;

/// Places of a tile that are computed directly as well.
const CHECKED: usize = 24;

/// Largest variance of the field over a reading's, given the others, for which the readings' inverse covariance keeps digits enough.
const LARGEST_PRECISION: f64 = 1e4;

/// All that the tiles share.
struct Tiles<'a> {
    forms: &'a Forms,
    given: &'a Conditioned,
    grid: Grid,
    shape: Shape,
    panels: Panels,
    reach_mm: f64,
}

/// Mean and standard deviation at each node of the grid.
///
/// With w any weights, the variance of w' y's error is s2 - 2 k' w + w' K w, and it is least at w = K^-1 k. Weights taken between a tile's
/// nodes, w = K^-1 c, where c are covariances taken between the nodes, have an error of the second order, d' K^-1 d with d = k - c; that is
/// added for the readings near the tile, whose covariances aren't smooth there, and is below rounding for the others. So K^-1 is applied at a
/// tenth of the places. The mean needs no such thing.
///
/// A tile is computed directly at some of its places too; when the two differ, as where readings without noise leave no variance, the
/// whole tile is computed directly.
///
/// Source: Cressie, Statistics for Spatial Data (1993), section 3.2, for the variance of any weights; Trefethen, Approximation Theory and
/// Approximation Practice (2013), chapter 8, for the error between Chebyshev's points.
pub(super) fn estimates(forms: &Forms, given: &Conditioned, grid: Grid) -> Estimates {
    match Tiles::new(forms, given, grid) {
        Some(tiles) => tiles.estimates(),
        None => forms.estimates(&grid.places()),
    }
}

impl<'a> Tiles<'a> {
    /// Nothing when computing directly is better.
    fn new(forms: &'a Forms, given: &'a Conditioned, grid: Grid) -> Option<Self> {
        let n = given.places.len();
        if n < LEAST_READINGS {
            return None;
        }
        let shape = Shape::of(grid)?;
        let precision = given.precision();
        let (family, variance, length_mm) = (given.kernel.family(), given.kernel.sd().powi(2), given.kernel.length_mm());
        let largest = (0..n).map(|i| precision[i * n + i]).fold(0.0, f64::max) * variance;
        if largest > LARGEST_PRECISION {
            return None;
        }
        let farthest_mm = farthest_mm(&given.places, grid);
        let reach_mm = shape.reach_mm(family, length_mm, (NEGLECTED / largest).sqrt(), farthest_mm);
        let panels = Panels::new(n, variance, precision);
        Some(Self { forms, given, grid, shape, panels, reach_mm })
    }

    fn estimates(&self) -> Estimates {
        let (across, up) = (self.shape.starts(0, self.grid.nx()), self.shape.starts(1, self.grid.ny()));
        let starts: Vec<[usize; 2]> = up.iter().flat_map(|y| across.iter().map(|x| [*x, *y])).collect();
        let done: Vec<Estimates> = starts.par_iter().map(|start| self.tile(*start)).collect();
        let mut all = Estimates { mean: vec![0.0; self.grid.nx() * self.grid.ny()], sd: vec![0.0; self.grid.nx() * self.grid.ny()] };
        let width = self.shape.size[0];
        for (tile, [x, y]) in done.iter().zip(starts) {
            for (row, (mean, sd)) in tile.mean.chunks_exact(width).zip(tile.sd.chunks_exact(width)).enumerate() {
                let first = (y + row) * self.grid.nx() + x;
                all.mean[first..first + width].copy_from_slice(mean);
                all.sd[first..first + width].copy_from_slice(sd);
            }
        }
        all
    }

    fn tile(&self, start: [usize; 2]) -> Estimates {
        let step = self.grid.step_mm();
        let centre_mm = [0, 1].map(|axis| start[axis] as f64 * step - self.shape.place_mm(0, axis));
        let places: Vec<[f64; 2]> = self.places(start);
        let from_mm: Vec<[f64; 2]> = self.given.places.iter().map(|at| [at[0] - centre_mm[0], at[1] - centre_mm[1]]).collect();
        let near: Vec<usize> = (0..from_mm.len()).filter(|at| f64::hypot(from_mm[*at][0], from_mm[*at][1]) <= self.reach_mm).collect();
        if !self.pays(near.len()) {
            return self.forms.estimates(&places);
        }
        let explained = self.panels.explained(&self.shape, self.given, &from_mm, &near);
        let tile = self.forms.finished(explained);
        if self.agrees(&places, &tile) { tile } else { self.forms.estimates(&places) }
    }

    fn places(&self, start: [usize; 2]) -> Vec<[f64; 2]> {
        let step = self.grid.step_mm();
        let [width, height] = self.shape.size;
        let place = |j: usize, i: usize| [(start[0] + i) as f64 * step, (start[1] + j) as f64 * step];
        (0..height).flat_map(|j| (0..width).map(move |i| place(j, i))).collect()
    }

    /// Whether this many near readings leave anything to gain, by multiplications.
    const fn pays(&self, near: usize) -> bool {
        let n = self.given.places.len();
        let at_nodes = NODES * n * (n + NODES) / self.shape.places();
        let at_places = (n + near) * (NODES / shape::NODES_Y + shape::NODES_Y) + near * near / 2;
        at_nodes + at_places < n * n / 2
    }

    fn agrees(&self, places: &[[f64; 2]], tile: &Estimates) -> bool {
        let every = places.len().div_ceil(CHECKED);
        let some: Vec<[f64; 2]> = places.iter().step_by(every).copied().collect();
        let direct = self.forms.estimates(&some);
        direct.sd.iter().zip(tile.sd.iter().step_by(every)).all(|(direct, tile)| (direct - tile).abs() <= AGREEMENT * direct)
    }
}

/// The largest distance there can be between a reading and a place of the grid, mm.
fn farthest_mm(places: &[[f64; 2]], grid: Grid) -> f64 {
    let size_mm = [grid.nx(), grid.ny()].map(|nodes| nodes as f64 * grid.step_mm());
    let reach =
        |place: &[f64; 2]| f64::hypot(place[0].abs().max((size_mm[0] - place[0]).abs()), place[1].abs().max((size_mm[1] - place[1]).abs()));
    places.iter().map(reach).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests;
