//! Scratches fitted to what is seen of them on two sides.

use lastmicron_numerics::cholesky::Cholesky;
use lastmicron_numerics::least_squares::{Fit, Unknown, least_squares};
use lastmicron_numerics::quadrature::Rule;
use num_complex::Complex64;
use rayon::prelude::*;

use super::model::{Left, Scratches, UNKNOWNS, change, depths};
use super::profile;
use super::rings::{self, AT, RINGS, Ring, Rings};
use super::shot::{self, SPREADS, Shot};

/// Length along which a scratch counts, squared and averaged, by the mean length, pixels of a picture 2000 pixels wide: what is seen of one at many pixels is one scratch. Judgement: scratches as
/// long as `Shot` takes them would have 150, but they bend, and are lit only as far as they run round the lamp.
const LENGTH_SQUARED: f64 = 120.0;

/// How much of the scatter of scratches counts where both sides show the same ones: shares are of those that are there, and of them both sides tell. Chosen on 72 invented pairs: intervals hold 95 of 100
/// times; with 0.4 they are a seventh wider and hold 97.
const SAME_SCRATCHES: f64 = 0.15;

/// Error of the model, as a share of what is seen. Judgement: what it leaves out (curvature, varied widths) is a few per cent; less would claim more than is known where scratches are many.
const MODEL_ERROR: f64 = 0.03;

/// Share of each variance that is added to it, so that statistics that nearly repeat each other don't count as more than they are.
const LEAST_APART: f64 = 0.03;

/// Medians and deviations, of logarithms, before anything is seen: of the shape of depths, of the spread of directions, of the reach (pixels of a picture 2000 pixels wide). Judgement, as in
/// `DepthModel` for the shape: they matter only where little is seen.
const SHAPE: [f64; 2] = [1.15, 0.25];
const SPREAD: [f64; 2] = [0.18, 0.4];
const REACH: [f64; 2] = [500.0, 0.5];

/// Shapes that are thought possible: from depths of which most are tiny to depths that are nearly alike.
pub(super) const SHAPES: [f64; 2] = [0.6, 2.5];

/// Greatest hazard: all but 3 in 10,000 scratches are gone, which no photograph tells from all.
pub(super) const MOST_HAZARD: f64 = 8.0;

/// Hazards that are started from; the better end is kept.
const STARTS: [f64; 2] = [0.25, 1.6];

/// How often the covariance is worked out anew.
const ROUNDS: usize = 3;
pub(super) const STEPS: usize = 25;

/// Nodes of depths.
pub(crate) const NODES: usize = 48;

/// Steps of directions in covariances.
const TURNS: usize = 19;

/// One side as it is seen.
#[derive(Clone)]
pub(crate) struct Side {
    pub(crate) rings: Rings,
    /// Variances of the logarithm of a characteristic function, times pixels.
    pub(crate) noise: [[f64; 2]; AT.len()],
    /// What a response of 1 unit of noise on the untouched side is here.
    pub(crate) gain: f64,
    /// Length of scratches in an area, by that on the untouched side, were none gone: a photograph taken from nearer has less of it in each square pixel.
    pub(crate) density: f64,
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
    /// Size of the picture by that of one 2000 pixels wide.
    pub(crate) scale: f64,
}

/// Where the unknowns stand that are asked for one by one.
pub(super) const DENSITY: usize = 0;
pub(super) const PEAK: usize = 1;
pub(super) const SHAPE_AT: usize = 4;
pub(super) const HAZARD: usize = 5;

/// What was found.
pub(crate) struct Found {
    pub(crate) fit: Fit,
    pub(super) blocks: Vec<Block>,
    pub(super) unknowns: [Unknown; UNKNOWNS],
}

impl Found {
    /// Peak of a scratch as deep as the scale next to the lamp, in units of noise.
    pub(crate) fn peak(&self) -> f64 {
        self.fit.values[PEAK].exp()
    }

    /// Squared residual by what it would be if the model were right; 1 where it fits better than that. Intervals are widened by its root: Birge, "The calculation of errors by the method of
    /// least squares", Physical Review 40 (1932), 207-227.
    pub(crate) fn misfit(&self) -> f64 {
        (2.0 * self.fit.cost / self.count().saturating_sub(UNKNOWNS).max(1) as f64).max(1.0)
    }

    /// How much better scratches explain what is seen than noise alone, as a logarithm of likelihoods.
    pub(crate) fn evidence(&self, sides: &Sides) -> f64 {
        let mut none = self.fit.values.clone();
        none[DENSITY] = self.unknowns[DENSITY].least;
        let Some(blocks) = sides.blocks(&Scratches::of(&none)) else { return f64::NAN };
        let square: f64 = sides.residuals(&Rule::of(NODES), &blocks, &none).iter().map(|residual| residual * residual).sum();
        (0.5 * (square + log_determinant(&blocks) - log_determinant(&self.blocks)) - self.fit.cost) / self.misfit()
    }

    /// How many scratches are lit on the untouched side: the length there by a scratch's mean length, and by the share of directions that are lit.
    pub(crate) fn lit(&self, sides: &Sides) -> f64 {
        let scratches = Scratches::of(&self.fit.values);
        let area: f64 = sides.sides[0].rings.rings.iter().map(|ring| ring.area).sum();
        // The mean over all directions of a Gaussian in the sine, where that is narrow.
        let share = scratches.log_spread.exp() * (2.0 / std::f64::consts::PI).sqrt();
        scratches.log_density.exp() * area / (shot::LENGTH * sides.scale) * share
    }

    /// Number of statistics.
    pub(crate) fn count(&self) -> usize {
        self.blocks.iter().map(|block| block.data.len()).sum()
    }
}

/// A ring's statistics, made independent.
pub(super) struct Block {
    ring: usize,
    /// Sides that are seen in it.
    sides: Vec<usize>,
    data: Vec<f64>,
    factor: Cholesky,
}

impl Sides {
    /// The worked side taken as untouched, and the untouched one as worked.
    pub(crate) fn swapped(&self) -> Self {
        let [untouched, worked] = self.sides.clone();
        let (gain, density) = (worked.gain.recip(), worked.density.recip());
        let sides = [Side { gain: 1.0, density: 1.0, ..worked }, Side { gain, density, ..untouched }];
        Self { sides, scene: self.scene, gain_sd: self.gain_sd, scale: self.scale }
    }

    pub(crate) fn fit(&self) -> Option<Found> {
        STARTS.par_iter().filter_map(|hazard| self.fit_from(*hazard)).min_by(|a, b| a.fit.cost.total_cmp(&b.fit.cost))
    }

    fn fit_from(&self, hazard: f64) -> Option<Found> {
        let rule = Rule::of(NODES);
        let mut unknowns = [
            Unknown { start: 0.1_f64.ln(), least: -12.0, most: 3.0 },
            Unknown { start: self.first_peak().ln(), least: -6.0, most: 9.0 },
            Unknown { start: REACH[0].ln(), least: 100.0_f64.ln(), most: 4000.0_f64.ln() },
            Unknown { start: SPREAD[0].ln(), least: SPREADS[0].ln(), most: SPREADS[1].ln() },
            Unknown { start: SHAPE[0].ln(), least: SHAPES[0].ln(), most: SHAPES[1].ln() },
            Unknown { start: hazard, least: 0.0, most: MOST_HAZARD },
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
        let area = sides.iter().map(|side| self.ring(*side, ring).area).fold(f64::INFINITY, f64::min);
        let by_chance = if self.scene == Scene::Same { SAME_SCRATCHES } else { 1.0 };
        let factor = by_chance * scratches.log_density.exp() * LENGTH_SQUARED * self.scale / area;
        let line = profile::line();
        let rule = Rule::of(24);
        // Depths before, so that the same scratch counts on both sides.
        let nodes = match self.scene {
            Scene::Same => depths(&rule, scratches.shape(), 0.0),
            Scene::Apart => depths(&rule, scratches.shape(), if sides == [1] { scratches.hazard } else { 0.0 }),
        };
        let (log_peak, taken) = (scratches.log_peak_at(rings::middle(ring)), scratches.taken());
        // Of other scratches there are fewer in each pixel of a photograph from nearer, but each is longer.
        let density = |side: usize| if self.scene == Scene::Same { self.sides[side].density } else { 1.0 };
        let mut effect = vec![0.0; count];
        for Left { depth, weight, .. } in nodes {
            for [turn_weight, turn_peak, root] in self.sides[sides[0]].shot.turns(scratches.log_spread.exp(), TURNS) {
                for (part, side) in effect.chunks_exact_mut(size).zip(sides) {
                    let left = if self.scene == Scene::Same && *side == 1 { (depth - taken).max(0.0) } else { depth };
                    let peak = log_peak.exp() * self.sides[*side].gain * left * turn_peak;
                    for (at, t) in AT.iter().enumerate() {
                        let value = line.at(t * peak) * (root * density(*side));
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
                // The variance of a logarithm goes as the inverse square of what it is taken of, which round the lamp is less by what scratches take out.
                let both = 1.0 + (-2.0 * seen.change[part % AT.len()].re).exp();
                *value = *value * (1.0 + LEAST_APART)
                    + (both * noise / seen.pixels + 1e-14) * (1.0 + LEAST_APART)
                    + (MODEL_ERROR * change[part]).powi(2);
            }
        }
        Cholesky::factor(count, matrix).ok()
    }

    fn ring(&self, side: usize, ring: usize) -> &Ring {
        &self.sides[side].rings.rings[ring]
    }

    pub(super) fn residuals(&self, rule: &Rule, blocks: &[Block], values: &[f64]) -> Vec<f64> {
        let scratches = Scratches::of(values);
        let left = [depths(rule, scratches.shape(), 0.0), depths(rule, scratches.shape(), scratches.hazard)];
        let log_at = AT.map(f64::ln);
        let mut residuals = Vec::with_capacity(2 * 2 * RINGS * AT.len() + 3);
        for block in blocks {
            let log_peak = scratches.log_peak_at(rings::middle(block.ring));
            let computed = block.sides.iter().flat_map(|side| {
                let seen = &self.sides[*side];
                let log_gain = seen.gain.ln() + if *side == 1 { scratches.log_gain } else { 0.0 };
                let scratches = Scratches { log_density: scratches.log_density + seen.density.ln(), ..scratches };
                parts(&change(&seen.shot, &scratches, &left[*side], log_peak + log_gain, &log_at))
            });
            let mut apart: Vec<f64> = block.data.iter().zip(computed).map(|(data, computed)| data - computed).collect();
            block.factor.solve_lower(&mut apart);
            residuals.extend(apart);
        }
        let before = [(scratches.log_shape, SHAPE), (scratches.log_spread, SPREAD), (scratches.log_reach, REACH)];
        residuals.extend(before.map(|(value, [median, sd])| (value - median.ln()) / sd));
        if self.gain_sd > 0.0 {
            residuals.push(scratches.log_gain / self.gain_sd);
        }
        residuals
    }
}

fn log_determinant(blocks: &[Block]) -> f64 {
    blocks.iter().map(|block| block.factor.log_determinant()).sum()
}

/// Real parts, then imaginary parts.
fn parts(change: &[Complex64]) -> Vec<f64> {
    change.iter().map(|value| value.re).chain(change.iter().map(|value| value.im)).collect()
}
