//! What may be true of the shares that are gone, after what was seen.

use lastmicron_numerics::cholesky::Cholesky;
use lastmicron_numerics::least_squares::{Fit, Unknown, least_squares};
use lastmicron_numerics::quadrature::Rule;
use rayon::prelude::*;

use super::fit::{DENSITY, Found, HAZARD, MOST_HAZARD, NODES, SHAPE_AT, SHAPES, STEPS, Sides};
use super::model::Scratches;

/// Values of the hazard at which what is known of it is worked out, how far they reach on both sides, in standard deviations, and the bounds of that deviation.
const GRID: usize = 25;
const GRID_REACH: f64 = 4.5;
const LEAST_SD: f64 = 0.003;
const MOST_SD: f64 = 2.0;

/// How often the grid is laid anew: wider where its ends may be true, narrower where fewer than [`LEAST_NEAR`] of its values are less than [`NEAR`] (a logarithm) from the best.
const GRIDS: usize = 4;
const NEAR: f64 = 2.0;
const LEAST_NEAR: usize = 5;

/// Values of the shape at each, in standard deviations, from -2.4 to 2.4.
const SHAPE_STEPS: i32 = 4;
const SHAPE_STEP: f64 = 0.6;

/// How much less likely the ends of the grid must be than its best, as a logarithm, or it is widened.
const ENOUGH: f64 = 7.0;

/// Shares and a length that may be true, and how much they count.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Likely {
    pub(crate) weight: f64,
    pub(crate) gone: f64,
    pub(crate) visible: f64,
    /// Length of scratches in an area of untouched paint, 1 / pixel.
    pub(crate) untouched: f64,
}

impl Sides {
    /// What may be true, after what was seen: the hazard of the film taken on a grid, the other unknowns fitted to each and taken as normal (Laplace's method: Tierney and Kadane, "Accurate approximations for
    /// posterior moments and marginal densities", Journal of the American Statistical Association 81 (1986), 82-86). Next to no film taken, and next to nothing left, shares are far from normal.
    pub(crate) fn likely(&self, found: &Found) -> Vec<Likely> {
        let hazard = found.fit.values[HAZARD];
        let reach = GRID_REACH * Known::of(&found.unknowns, &found.fit).map_or(1.0, |known| known.sd(HAZARD)).clamp(LEAST_SD, MOST_SD);
        let (mut low, mut high) = ((hazard - reach).max(0.0), (hazard + reach).min(MOST_HAZARD));
        let mut grid = self.grid(found, low, high);
        for _ in 0..GRIDS {
            let Some(best) = (0..grid.len()).max_by(|a, b| grid[*a].log.total_cmp(&grid[*b].log)) else { break };
            let is_likely = |at: &At, by: f64| at.log > grid[best].log - by;
            let is_open = |at: Option<&At>| at.is_some_and(|at| is_likely(at, ENOUGH));
            let (opens_down, opens_up) = (low > 0.0 && is_open(grid.first()), high < MOST_HAZARD && is_open(grid.last()));
            let wide = high - low;
            if opens_down || opens_up {
                low = if opens_down { (low - wide).max(0.0) } else { low };
                high = if opens_up { (high + wide).min(MOST_HAZARD) } else { high };
            } else if grid.iter().filter(|at| is_likely(at, NEAR)).count() < LEAST_NEAR {
                let first = grid.iter().position(|at| is_likely(at, ENOUGH)).unwrap_or(best).saturating_sub(1);
                let last = grid.iter().rposition(|at| is_likely(at, ENOUGH)).unwrap_or(best) + 1;
                low = grid[first].values[HAZARD];
                high = grid[last.min(grid.len() - 1)].values[HAZARD];
            } else {
                break;
            }
            grid = self.grid(found, low, high);
        }
        spread(&grid)
    }

    fn grid(&self, found: &Found, low: f64, high: f64) -> Vec<At> {
        let rule = Rule::of(NODES);
        let misfit = found.misfit();
        (0..GRID)
            .into_par_iter()
            .filter_map(|at| {
                let hazard = low + (high - low) * at as f64 / (GRID - 1) as f64;
                let mut unknowns = found.unknowns;
                unknowns.iter_mut().zip(&found.fit.values).for_each(|(unknown, value)| unknown.start = *value);
                unknowns[HAZARD] = Unknown { start: hazard, least: hazard, most: hazard };
                let fit = least_squares(&unknowns, STEPS, |values| self.residuals(&rule, &found.blocks, values));
                let known = Known::of(&unknowns, &fit)?;
                let end = if at == 0 || at == GRID - 1 { 0.5_f64.ln() } else { 0.0 };
                // A share that is as likely before anything is seen as any other.
                let log = end - hazard - fit.cost / misfit - 0.5 * known.factor.log_determinant();
                Some(At {
                    log,
                    shape_sd: known.sd(SHAPE_AT) * misfit.sqrt(),
                    density_sd: known.sd(DENSITY) * misfit.sqrt(),
                    values: fit.values,
                })
            })
            .collect()
    }
}

/// How well the unknowns are known that are not fixed.
struct Known {
    free: Vec<usize>,
    factor: Cholesky,
}

impl Known {
    fn of(unknowns: &[Unknown], fit: &Fit) -> Option<Self> {
        let free: Vec<usize> = (0..unknowns.len()).filter(|at| unknowns[*at].least < unknowns[*at].most).collect();
        let value = |i: usize, j: usize| fit.information[i * unknowns.len() + j] + if i == j { 1e-9 } else { 0.0 };
        let matrix = free.iter().flat_map(|i| free.iter().map(|j| value(*i, *j))).collect();
        let factor = Cholesky::factor(free.len(), matrix).ok()?;
        Some(Self { free, factor })
    }

    /// Standard deviation of one of them; 0 when it is fixed.
    fn sd(&self, at: usize) -> f64 {
        let mut unit: Vec<f64> = self.free.iter().map(|free| f64::from(u8::from(*free == at))).collect();
        self.factor.solve_lower(&mut unit);
        unit.iter().map(|part| part * part).sum::<f64>().sqrt()
    }
}

/// The other unknowns at some hazard.
struct At {
    /// Logarithm of how likely that is, but for a constant.
    log: f64,
    values: Vec<f64>,
    shape_sd: f64,
    density_sd: f64,
}

fn spread(grid: &[At]) -> Vec<Likely> {
    let rule = Rule::of(NODES);
    let best = grid.iter().map(|at| at.log).fold(f64::NEG_INFINITY, f64::max);
    let shapes = |at: &At| {
        let (scratches, weight, sd) = (Scratches::of(&at.values), (at.log - best).exp(), at.shape_sd);
        let rule = &rule;
        (-SHAPE_STEPS..=SHAPE_STEPS)
            .map(move |step| {
                let away = f64::from(step) * SHAPE_STEP;
                let log_shape = (scratches.log_shape + away * sd).clamp(SHAPES[0].ln(), SHAPES[1].ln());
                let scratches = Scratches { log_shape, ..scratches };
                Likely {
                    weight: weight * (-0.5 * away * away).exp(),
                    gone: scratches.gone(),
                    visible: scratches.visible(rule),
                    // Each is asked for by itself, so that the two may go up and down together.
                    untouched: (scratches.log_density + away * at.density_sd).exp(),
                }
            })
            .collect::<Vec<Likely>>()
    };
    grid.iter().flat_map(shapes).collect()
}
