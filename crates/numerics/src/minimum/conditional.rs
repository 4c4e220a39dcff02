//! Joint draws of a field over a grid, given readings.

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;
use rayon::prelude::*;

use super::stencil::{SIDE, Stencil};
use super::{MinimumError, seed_of};
use crate::circulant::Circulant;
use crate::gp::{Conditioned, Field, Grid, Triangle};
use crate::wide::wide;

/// Largest lattice, in times the grid's nodes and at least so many: what readings far off the grid may widen it to.
const WIDEST: usize = 8;
const ALWAYS_ALLOWED: usize = 65_536;

/// Places nearer than this, in steps, share what their stencils leave unexplained.
///
/// Judgement: what is left is correlated over less than a step; beyond two nothing of it is seen.
const SHARED_WITHIN: f64 = 2.0;

/// Nodes worked on together: their running sums for two fields stay in the nearest cache.
const BLOCK: usize = 256;

/// All that a draw needs.
pub(super) struct Conditional<'a> {
    given: &'a Conditioned,
    circulant: Circulant,
    /// Nodes of the lattice along x; the grid is a part of it.
    width: usize,
    /// Column and row of the grid's first node on the lattice, and the grid's size.
    origin: [usize; 2],
    size: [usize; 2],
    /// The distinct places read, and which of them each reading is at.
    stencils: Vec<Stencil>,
    place_of: Vec<usize>,
    /// Factor of the covariance of what the stencils leave unexplained, for a variance of 1.
    unexplained: Triangle,
    /// Kriging mean at the grid's nodes.
    mean: Vec<f32>,
    /// Covariances with the nodes, in blocks of nodes, a row a reading.
    covariances: Vec<f32>,
}

impl<'a> Conditional<'a> {
    pub(super) fn new(field: &'a Field, grid: Grid) -> Result<Self, MinimumError> {
        let given = field.conditioned();
        let (step, kernel) = (grid.step_mm(), given.kernel);
        let step_lengths = step / kernel.length_mm();
        let (places, place_of) = distinct(&given.places);
        let size = [grid.nx(), grid.ny()];
        let (origin, lattice) = lattice(&places, size, step).ok_or(MinimumError::FarReadings { nodes: size[0] * size[1] })?;
        let circulant = Circulant::new(kernel.family(), kernel.length_mm(), lattice[0], lattice[1], step)?;
        let on_lattice: Vec<[f64; 2]> = places.iter().map(|p| [0, 1].map(|axis| p[axis] / step + origin[axis] as f64)).collect();
        let stencils: Vec<Stencil> = on_lattice.par_iter().map(|place| Stencil::new(*place, kernel.family(), step_lengths)).collect();
        let lag = |dx: f64, dy: f64| kernel.family().correlation(f64::hypot(dx, dy) * step_lengths);
        let unexplained = unexplained(&on_lattice, &stencils, lag);
        let mean = field.on(grid).mean.into_iter().map(|mean| mean as f32).collect();
        let covariances = covariances(given, grid);
        Ok(Self { given, circulant, width: lattice[0], origin, size, stencils, place_of, unexplained, mean, covariances })
    }

    /// The smallest value of each of `draws` draws.
    pub(super) fn minima(&self, draws: usize, seed: u64) -> Vec<f64> {
        let mut minima: Vec<f64> = (0..draws.div_ceil(2))
            .into_par_iter()
            .flat_map_iter(|pair| self.pair(seed_of(seed, pair as u64)).map(|field| f64::from(smallest(&field))))
            .collect();
        minima.truncate(draws);
        minima
    }

    /// Two independent draws over the grid.
    pub(super) fn pair(&self, seed: u64) -> [Vec<f32>; 2] {
        let mut rng = Pcg64::seed_from_u64(seed);
        let nodes = self.circulant.nodes();
        let (mut first, mut second) = (vec![0.0; nodes], vec![0.0; nodes]);
        self.circulant.draw_pair(&mut rng, &mut first, &mut second);
        let fields = [first, second];
        let corrections = [0, 1].map(|k| self.correction(&fields[k], &mut rng));
        let mut drawn = fields.map(|field| self.cropped(&field));
        let [first, second] = &mut drawn;
        condition(self, first, second, &corrections);
        drawn
    }

    /// The mean and weights that the field's own readings, with noise, would have given.
    fn correction(&self, field: &[f32], rng: &mut Pcg64) -> (f32, Vec<f32>) {
        let sd = self.given.kernel.sd();
        let fresh: Vec<f64> = self.stencils.iter().map(|_| StandardNormal.sample(rng)).collect();
        let unexplained = self.unexplained.times(&fresh);
        let values: Vec<f64> =
            self.stencils.iter().zip(&unexplained).map(|(stencil, rest)| sd * (stencil.value(field, self.width) + rest)).collect();
        let read: Vec<f64> = self
            .place_of
            .iter()
            .zip(&self.given.noise_sds)
            .map(|(place, noise)| {
                let z: f64 = StandardNormal.sample(rng);
                noise.mul_add(z, values[*place])
            })
            .collect();
        let (level, weights) = self.given.reweighted(&read);
        (level as f32, weights.into_iter().map(|weight| weight as f32).collect())
    }

    /// The lattice's part that is the grid.
    fn cropped(&self, field: &[f32]) -> Vec<f32> {
        let rows = field.chunks_exact(self.width).skip(self.origin[1]).take(self.size[1]);
        rows.flat_map(|row| &row[self.origin[0]..self.origin[0] + self.size[0]]).copied().collect()
    }
}

wide! {
    /// Turns two unconditional fields of variance 1 into draws given the readings.
    fn condition<'a>(conditional: &'a Conditional<'a>, first: &'a mut [f32], second: &'a mut [f32], corrections: &'a [(f32, Vec<f32>); 2]) -> () {
        let [(first_level, first_weights), (second_level, second_weights)] = corrections;
        let sd = conditional.given.kernel.sd() as f32;
        let readings = first_weights.len();
        let blocks = first.chunks_mut(BLOCK).zip(second.chunks_mut(BLOCK)).zip(conditional.mean.chunks(BLOCK));
        for (((first, second), mean), covariances) in blocks.zip(conditional.covariances.chunks_exact(BLOCK * readings)) {
            let (mut first_sum, mut second_sum) = ([0.0_f32; BLOCK], [0.0_f32; BLOCK]);
            let (fours, _) = covariances.as_chunks::<BLOCK>();
            let fours = fours.chunks(4).zip(first_weights.chunks(4).zip(second_weights.chunks(4)));
            for (rows, (first_weights, second_weights)) in fours {
                if let ([a, b, c, d], [p, q, r, s], [t, u, v, w]) = (rows, first_weights, second_weights) {
                    for i in 0..BLOCK {
                        first_sum[i] = p.mul_add(a[i], q.mul_add(b[i], r.mul_add(c[i], s.mul_add(d[i], first_sum[i]))));
                        second_sum[i] = t.mul_add(a[i], u.mul_add(b[i], v.mul_add(c[i], w.mul_add(d[i], second_sum[i]))));
                    }
                } else {
                    for (row, (p, t)) in rows.iter().zip(first_weights.iter().zip(second_weights)) {
                        for i in 0..BLOCK {
                            first_sum[i] = p.mul_add(row[i], first_sum[i]);
                            second_sum[i] = t.mul_add(row[i], second_sum[i]);
                        }
                    }
                }
            }
            for ((field, mean), sum) in first.iter_mut().zip(mean).zip(&first_sum) {
                *field = sd.mul_add(*field, mean - first_level - sum);
            }
            for ((field, mean), sum) in second.iter_mut().zip(mean).zip(&second_sum) {
                *field = sd.mul_add(*field, mean - second_level - sum);
            }
        }
    }
}

/// Distinct places in order of first appearance, and for each place which of them it is.
fn distinct(places: &[[f64; 2]]) -> (Vec<[f64; 2]>, Vec<usize>) {
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.sort_by(|a, b| places[*a][0].total_cmp(&places[*b][0]).then(places[*a][1].total_cmp(&places[*b][1])));
    let mut kept: Vec<[f64; 2]> = Vec::new();
    let mut which = vec![0; places.len()];
    for at in order {
        let same = kept.last().is_some_and(|last| last.iter().zip(places[at]).all(|(a, b)| (a - b).abs() <= 0.0));
        if !same {
            kept.push(places[at]);
        }
        which[at] = kept.len() - 1;
    }
    (kept, which)
}

/// The grid's origin on a lattice that also holds the stencils of all places, and the lattice's size; nothing when it would be too wide.
fn lattice(places: &[[f64; 2]], size: [usize; 2], step: f64) -> Option<([usize; 2], [usize; 2])> {
    let mut bounds = [[0.0_f64, size[0] as f64 - 1.0], [0.0, size[1] as f64 - 1.0]];
    for place in places {
        let on_grid = place.map(|p| p / step);
        // A place on a node needs that node only, as a stencil knows too.
        let reach = if on_grid.iter().all(|p| (p - p.round()).abs() < 1e-9) { 0.0 } else { SIDE as f64 / 2.0 };
        for (bounds, p) in bounds.iter_mut().zip(on_grid) {
            *bounds = [bounds[0].min((p - reach).floor()), bounds[1].max((p + reach).ceil())];
        }
    }
    let wide = bounds.map(|[low, high]| high - low + 1.0);
    let most = (WIDEST * size[0] * size[1]).max(ALWAYS_ALLOWED) as f64;
    let holds = wide[0] * wide[1] <= most;
    holds.then(|| (bounds.map(|[low, _]| -low as usize), wide.map(|nodes| nodes as usize)))
}

/// Factor of the covariance of what the stencils leave unexplained, shared between places that are near each other.
fn unexplained(places: &[[f64; 2]], stencils: &[Stencil], lag: impl Fn(f64, f64) -> f64) -> Triangle {
    let n = places.len();
    let mut shared = vec![0.0; n * n];
    for i in 0..n {
        for j in 0..i {
            let (dx, dy) = (places[i][0] - places[j][0], places[i][1] - places[j][1]);
            if f64::hypot(dx, dy) < SHARED_WITHIN {
                let to_j = |k: usize| -> f64 { stencils[k].correlation(&stencils[j], &lag) };
                shared[i * n + j] = lag(dx, dy) - to_j(i);
            }
        }
        shared[i * n + i] = stencils[i].unexplained + 1e-12;
    }
    let alone: Vec<f64> = (0..n * n).map(|at| if at % (n + 1) == 0 { shared[at] } else { 0.0 }).collect();
    // Neglecting what is beyond two steps may leave no proper covariance; then each place is taken alone.
    Triangle::factor(n, shared).or_else(|_| Triangle::factor(n, alone)).unwrap_or_else(|_| Triangle::nothing(n))
}

/// Covariances of the readings with the grid's nodes, in blocks of nodes, a row a reading; what a block has beyond the grid is nothing.
fn covariances(given: &Conditioned, grid: Grid) -> Vec<f32> {
    let nodes = grid.places();
    let readings = given.places.len();
    let mut out = vec![0.0; nodes.len().div_ceil(BLOCK) * BLOCK * readings];
    out.par_chunks_exact_mut(BLOCK * readings).zip(nodes.par_chunks(BLOCK)).for_each(|(block, nodes)| fill_block(given, nodes, block));
    out
}

wide! {
    fn fill_block<'a>(given: &'a Conditioned, nodes: &'a [[f64; 2]], block: &'a mut [f32]) -> () {
        let (family, variance) = (given.kernel.family(), given.kernel.sd() * given.kernel.sd());
        let per_length2 = 1.0 / (given.kernel.length_mm() * given.kernel.length_mm());
        for (row, [x, y]) in block.chunks_exact_mut(BLOCK).zip(&given.places) {
            let mut correlations = [0.0; BLOCK];
            for (correlation, node) in correlations.iter_mut().zip(nodes) {
                let (dx, dy) = (node[0] - x, node[1] - y);
                *correlation = dx.mul_add(dx, dy * dy) * per_length2;
            }
            family.correlate_squares(&mut correlations[..nodes.len()]);
            for (covariance, correlation) in row.iter_mut().zip(&correlations[..nodes.len()]) {
                *covariance = (variance * correlation) as f32;
            }
        }
    }
}

wide! {
    /// The smallest of many values, by interleaved partial minima.
    fn smallest<'a>(values: &'a [f32]) -> f32 {
        let mut lowest = [f32::INFINITY; 64];
        let (chunks, rest) = values.as_chunks::<64>();
        for chunk in chunks {
            for (lowest, value) in lowest.iter_mut().zip(chunk) {
                *lowest = if *value < *lowest { *value } else { *lowest };
            }
        }
        lowest.iter().chain(rest).copied().fold(f32::INFINITY, f32::min)
    }
}
