//! Scratches fitted to what is seen of them on two sides.

use lastmicron_numerics::cholesky::Cholesky;
use lastmicron_numerics::least_squares::{Fit, Unknown, least_squares};
use lastmicron_numerics::quadrature::Rule;
use num_complex::Complex64;
use rayon::prelude::*;

use super::model::{Left, Scratches, UNKNOWNS, change, depths};
use super::rings::{self, AT, RINGS, Ring, Rings};
use super::shot::{SPREADS, Shot};

/// Length along which a scratch counts, squared and averaged, by the mean length, pixels of a picture 2000 pixels wide: what is seen of one at many pixels is one scratch.
const LENGTH_SQUARED: f64 = 120.0;

/// Error of the model, as a share of what it computes. Judgement: what it leaves out (curvature, varied widths) is a few per cent; less would claim more than is known where scratches are many.
const MODEL_ERROR: f64 = 0.03;

/// Share of each variance that is added to it, so that statistics that nearly repeat each other don't count as more than they are.
const LEAST_APART: f64 = 0.03;

/// Medians and deviations, of logarithms, before anything is seen: of the shape of depths, of the spread of directions, of the reach (pixels of a picture 2000 pixels wide). Judgement, as in
/// `DepthModel` for the shape: they matter only where little is seen.
const SHAPE: [f64; 2] = [1.15, 0.25];
const SPREAD: [f64; 2] = [0.18, 0.4];
const REACH: [f64; 2] = [500.0, 0.5];

/// Most film taken, in scales of the depths: all but a few in 10,000 scratches are gone.
const MOST_TAKEN: f64 = 6.0;

/// Values that a side's film taken is started from; the better end is kept.
const STARTS: [f64; 2] = [0.3, 1.5];

/// How often the covariance is worked out anew.
const ROUNDS: usize = 3;
const STEPS: usize = 25;

/// Nodes of depths.
pub(crate) const NODES: usize = 48;

/// Steps of directions in covariances.
const TURNS: usize = 19;

/// One side as it is seen.
pub(crate) struct Side {
    pub(crate) rings: Rings,
    /// Variances of the logarithm of a characteristic function, times pixels.
    pub(crate) noise: [[f64; 2]; AT.len()],
    /// What a response of 1 unit of noise on the untouched side is here.
    pub(crate) gain: f64,
    pub(crate) shot: Shot,
}

/// Are the two sides of the same scratches or of others?
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Scene {
    /// Two parts of a panel.
    Apart,
    /// The same part twice.
    Same,
}

/// The untouched and the worked side.
pub(crate) struct Sides {
    pub(crate) sides: [Side; 2],
    pub(crate) scene: Scene,
    /// Standard deviation of the logarithm of the worked side's gain: 0 where both sides are on one photograph.
    pub(crate) gain_sd: f64,
    /// Width of the picture by 2000.
    pub(crate) scale: f64,
}

/// What was found.
pub(crate) struct Found {
    pub(crate) fit: Fit,
    blocks: Vec<Block>,
    unknowns: [Unknown; UNKNOWNS],
}

impl Found {
    /// Peak of a scratch as deep as the scale next to the lamp, in units of noise.
    pub(crate) fn peak(&self) -> f64 {
        self.fit.values[1].exp()
    }

    /// Number of statistics.
    pub(crate) fn count(&self) -> usize {
        self.blocks.iter().map(|block| block.data.len()).sum()
    }
}

/// A ring's statistics, made independent.
struct Block {
    ring: usize,
    /// Sides that are seen in it.
    sides: Vec<usize>,
    data: Vec<f64>,
    factor: Cholesky,
}

impl Sides {
    pub(crate) fn fit(&self) -> Option<Found> {
        STARTS.iter().filter_map(|taken| self.fit_from(*taken)).min_by(|a, b| a.fit.cost.total_cmp(&b.fit.cost))
    }

    fn fit_from(&self, taken: f64) -> Option<Found> {
        let rule = Rule::of(NODES);
        let mut unknowns = [
            Unknown { start: 0.1_f64.ln(), least: -12.0, most: 3.0 },
            Unknown { start: self.first_peak().ln(), least: -6.0, most: 9.0 },
            Unknown { start: REACH[0].ln(), least: 100.0_f64.ln(), most: 4000.0_f64.ln() },
            Unknown { start: SPREAD[0].ln(), least: SPREADS[0].ln(), most: SPREADS[1].ln() },
            Unknown { start: SHAPE[0].ln(), least: 0.6_f64.ln(), most: 2.5_f64.ln() },
            Unknown { start: taken, least: 0.0, most: MOST_TAKEN },
            self.gain_unknown(),
        ];
        let mut found = None;
        for _ in 0..ROUNDS {
            let blocks = self.blocks(&Scratches::of(&unknowns.map(|unknown| unknown.start)))?;
            let fit = least_squares(&unknowns, STEPS, |values| self.residuals(&rule, &blocks, values));
            unknowns.iter_mut().zip(&fit.values).for_each(|(unknown, value)| unknown.start = *value);
            found = Some(Found { fit, blocks, unknowns });
        }
        found
    }

    /// The error of the worked side's responses: none where both sides are on one photograph.
    fn gain_unknown(&self) -> Unknown {
        let most = 5.0 * self.gain_sd;
        Unknown { start: 0.0, least: -most, most }
    }

    /// A peak to start from: the second power of what is seen nearest to the lamp, were there a length of scratches of 0.1 in each area of 1.
    fn first_peak(&self) -> f64 {
        let nearest = self.sides[0].rings.rings.iter().find(|ring| ring.is_enough());
        let power = nearest.map_or(1.0, |ring| -2.0 * ring.change[1].re / (AT[1] * AT[1]));
        (power.max(0.01) / 0.1 / 0.8).sqrt()
    }

    fn is_seen(&self, side: usize, ring: usize) -> bool {
        self.sides[side].rings.rings[ring].is_enough()
    }

    fn blocks(&self, scratches: &Scratches) -> Option<Vec<Block>> {
        let mut blocks = Vec::new();
        for ring in 0..RINGS {
            let seen: Vec<usize> = [0, 1].into_iter().filter(|side| self.is_seen(*side, ring)).collect();
            let groups = if self.scene == Scene::Same { vec![seen] } else { seen.into_iter().map(|side| vec![side]).collect() };
            for sides in groups.into_iter().filter(|sides| !sides.is_empty()) {
                let data = sides.iter().flat_map(|side| parts(&self.sides[*side].rings.rings[ring].change)).collect();
                let factor = self.covariance(scratches, ring, &sides)?;
                blocks.push(Block { ring, sides, data, factor });
            }
        }
        Some(blocks)
    }

    /// Covariance of a ring's statistics: of scratches that happen to lie there, of noise, and of what the model leaves out.
    fn covariance(&self, scratches: &Scratches, ring: usize, sides: &[usize]) -> Option<Cholesky> {
        let size = 2 * AT.len();
        let count = size * sides.len();
        let mut matrix = vec![0.0; count * count];
        let pixels = sides.iter().map(|side| self.ring(*side, ring).pixels).fold(f64::INFINITY, f64::min);
        let factor = scratches.log_density.exp() * LENGTH_SQUARED * self.scale / pixels;
        let line = &self.sides[sides[0]].shot.line;
        let rule = Rule::of(24);
        // Depths before, so that the same scratch counts on both sides.
        let nodes = match self.scene {
            Scene::Same => depths(&rule, scratches.shape(), 0.0),
            Scene::Apart => depths(&rule, scratches.shape(), if sides == [1] { scratches.taken } else { 0.0 }),
        };
        let log_peak = scratches.log_peak_at(rings::middle(ring));
        let mut effect = vec![0.0; count];
        for Left { depth, weight, .. } in nodes {
            for [turn_weight, turn_peak, root] in self.sides[sides[0]].shot.turns(scratches.log_spread.exp(), TURNS) {
                for (part, side) in effect.chunks_exact_mut(size).zip(sides) {
                    let left = if self.scene == Scene::Same && *side == 1 { (depth - scratches.taken).max(0.0) } else { depth };
                    let peak = log_peak.exp() * self.sides[*side].gain * left * turn_peak;
                    for (at, t) in AT.iter().enumerate() {
                        let value = line.at(t * peak) * root;
                        (part[at], part[at + AT.len()]) = (value.re, value.im);
                    }
                }
                let weight = factor * weight * turn_weight;
                for i in 0..count {
                    for j in 0..=i {
                        matrix[i * count + j] += weight * effect[i] * effect[j];
                    }
                }
            }
        }
        for (at, side) in sides.iter().enumerate() {
            let seen = self.ring(*side, ring);
            let change = parts(&seen.change);
            for part in 0..size {
                let noise = self.sides[*side].noise[part % AT.len()][part / AT.len()];
                let value = &mut matrix[(at * size + part) * (count + 1)];
                *value = *value * (1.0 + LEAST_APART)
                    + (2.0 * noise / seen.pixels + 1e-14) * (1.0 + LEAST_APART)
                    + (MODEL_ERROR * change[part]).powi(2);
            }
        }
        Cholesky::factor(count, matrix).ok()
    }

    fn ring(&self, side: usize, ring: usize) -> &Ring {
        &self.sides[side].rings.rings[ring]
    }

    fn residuals(&self, rule: &Rule, blocks: &[Block], values: &[f64]) -> Vec<f64> {
        let scratches = Scratches::of(values);
        let left = [depths(rule, scratches.shape(), 0.0), depths(rule, scratches.shape(), scratches.taken)];
        let log_at = AT.map(f64::ln);
        let mut residuals = Vec::with_capacity(2 * 2 * RINGS * AT.len() + 3);
        for block in blocks {
            let log_peak = scratches.log_peak_at(rings::middle(block.ring));
            let computed = block.sides.iter().flat_map(|side| {
                let seen = &self.sides[*side];
                let log_gain = seen.gain.ln() + if *side == 1 { scratches.log_gain } else { 0.0 };
                parts(&change(&seen.shot, &scratches, &left[*side], log_peak + log_gain, &log_at))
            });
            let mut apart: Vec<f64> = block.data.iter().zip(computed).map(|(data, computed)| data - computed).collect();
            block.factor.solve_lower(&mut apart);
            residuals.extend(apart);
        }
        let gain = [1.0, self.gain_sd.max(f64::MIN_POSITIVE)];
        let before =
            [(scratches.log_shape, SHAPE), (scratches.log_spread, SPREAD), (scratches.log_reach, REACH), (scratches.log_gain, gain)];
        residuals.extend(before.map(|(value, [median, sd])| (value - median.ln()) / sd));
        residuals
    }
}

/// Real parts, then imaginary parts.
fn parts(change: &[Complex64]) -> Vec<f64> {
    change.iter().map(|value| value.re).chain(change.iter().map(|value| value.im)).collect()
}

/// Values of the film taken at which what is known of it is worked out, and how far they reach on both sides, in standard deviations.
const GRID: usize = 33;
const GRID_REACH: f64 = 5.0;

/// Values of the shape at each, in standard deviations, from -2.4 to 2.4.
const SHAPES: i32 = 4;
const SHAPE_STEP: f64 = 0.6;

/// How much less likely the ends of the grid must be than its best, as a logarithm, or it is widened.
const ENOUGH: f64 = 7.0;

/// A pair of shares that may be true, and how much it counts.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Likely {
    pub(crate) weight: f64,
    pub(crate) gone: f64,
    pub(crate) visible: f64,
}

impl Sides {
    /// What may be true, after what was seen: the film taken on a grid, the other unknowns fitted to each and taken as normal (Laplace's method: Tierney and Kadane, "Accurate approximations for
    /// posterior moments and marginal densities", Journal of the American Statistical Association 81 (1986), 82-86). Next to no film taken, and next to nothing left, shares are far from normal.
    pub(crate) fn likely(&self, found: &Found) -> Vec<Likely> {
        let taken = found.fit.values[TAKEN];
        let sd = variance(&found.fit.information, TAKEN).map_or(1.0, f64::sqrt).clamp(0.03, 2.0);
        let (mut low, mut high) = ((taken - GRID_REACH * sd).max(0.0), (taken + GRID_REACH * sd).min(MOST_TAKEN));
        let mut grid = self.grid(found, low, high);
        for _ in 0..2 {
            let best = grid.iter().map(|at| at.log).fold(f64::NEG_INFINITY, f64::max);
            let is_open = |at: Option<&At>| at.is_some_and(|at| at.log > best - ENOUGH);
            let (opens_down, opens_up) = (low > 0.0 && is_open(grid.first()), high < MOST_TAKEN && is_open(grid.last()));
            if !(opens_down || opens_up) {
                break;
            }
            let wide = high - low;
            low = if opens_down { (low - wide).max(0.0) } else { low };
            high = if opens_up { (high + wide).min(MOST_TAKEN) } else { high };
            grid = self.grid(found, low, high);
        }
        spread(&grid)
    }

    fn grid(&self, found: &Found, low: f64, high: f64) -> Vec<At> {
        let rule = Rule::of(NODES);
        (0..GRID)
            .into_par_iter()
            .filter_map(|at| {
                let taken = low + (high - low) * at as f64 / (GRID - 1) as f64;
                let mut unknowns = found.unknowns;
                unknowns.iter_mut().zip(&found.fit.values).for_each(|(unknown, value)| unknown.start = *value);
                unknowns[TAKEN] = Unknown { start: taken, least: taken, most: taken };
                let fit = least_squares(&unknowns, STEPS, |values| self.residuals(&rule, &found.blocks, values));
                let is_free = |at: usize| unknowns[at].least < unknowns[at].most;
                let free: Vec<usize> = (0..UNKNOWNS).filter(|at| is_free(*at)).collect();
                let information = &fit.information;
                let matrix = free.iter().flat_map(|i| free.iter().map(move |j| information[i * UNKNOWNS + j])).collect();
                let factor = Cholesky::factor(free.len(), matrix).ok()?;
                let mut unit: Vec<f64> = free.iter().map(|at| f64::from(u8::from(*at == SHAPE_AT))).collect();
                factor.solve_lower(&mut unit);
                let shape_sd = unit.iter().map(|part| part * part).sum::<f64>().sqrt();
                let end = if at == 0 || at == GRID - 1 { 0.5_f64.ln() } else { 0.0 };
                Some(At { log: end - fit.cost - 0.5 * factor.log_determinant(), values: fit.values, shape_sd })
            })
            .collect()
    }
}

/// Where the film taken and the shape stand among the unknowns.
const TAKEN: usize = 5;
const SHAPE_AT: usize = 4;

/// The other unknowns at some film taken.
struct At {
    /// Logarithm of how likely that is, but for a constant.
    log: f64,
    values: Vec<f64>,
    shape_sd: f64,
}

fn spread(grid: &[At]) -> Vec<Likely> {
    let rule = Rule::of(NODES);
    let best = grid.iter().map(|at| at.log).fold(f64::NEG_INFINITY, f64::max);
    let shapes = |at: &At| {
        let (scratches, weight, sd) = (Scratches::of(&at.values), (at.log - best).exp(), at.shape_sd);
        let rule = &rule;
        (-SHAPES..=SHAPES)
            .map(move |step| {
                let away = f64::from(step) * SHAPE_STEP;
                let scratches = Scratches { log_shape: scratches.log_shape + away * sd, ..scratches };
                Likely { weight: weight * (-0.5 * away * away).exp(), gone: scratches.gone(), visible: scratches.visible(rule) }
            })
            .collect::<Vec<Likely>>()
    };
    grid.iter().flat_map(shapes).collect()
}

/// The variance of one unknown.
fn variance(information: &[f64], at: usize) -> Option<f64> {
    let mut matrix = information.to_vec();
    (0..UNKNOWNS).for_each(|at| matrix[at * (UNKNOWNS + 1)] += 1e-9);
    let factor = Cholesky::factor(UNKNOWNS, matrix).ok()?;
    let mut unit: Vec<f64> = (0..UNKNOWNS).map(|i| f64::from(u8::from(i == at))).collect();
    factor.solve_lower(&mut unit);
    Some(unit.iter().map(|part| part * part).sum())
}
