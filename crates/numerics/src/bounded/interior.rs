//! The interior point search.

use super::problem::{BoundedError, Influence, Point, Problem, factor_damped};

/// Share of the objective that duality may still leave open. Larger, and the bounds that bind are not told from those that don't.
const ENOUGH: f64 = 1e-9;

/// The same as a share of the objective of doing nothing, for targets that can be reached exactly.
const ENOUGH_OF_NOTHING: f64 = 1e-13;

/// Most steps. Judgement: it takes 10 to 25; what needs more is at the end of what doubles can tell.
const MOST_STEPS: usize = 80;

/// Share of the way to the nearest bound that a step goes.
const INSIDE: f64 = 0.995;

/// A step so short that one towards the centre is tried instead. Judgement: anything from 0.05 to 0.3 serves.
const SHORT: f64 = 0.1;

/// Share of the complementarity that a centred step aims at. Judgement: anything from 0.1 to 0.5 serves.
const CENTRED: f64 = 0.3;

/// Weight that keeps a shut column where it is.
const SHUT: f64 = 1e30;

/// x with its multipliers, and the slack of the caps with theirs. Rows without a cap have a slack and a multiplier of no account.
struct State {
    x: Vec<f64>,
    z: Vec<f64>,
    slack: Vec<f64>,
    price: Vec<f64>,
}

/// A step in each of them.
struct Step {
    x: Vec<f64>,
    z: Vec<f64>,
    slack: Vec<f64>,
    price: Vec<f64>,
}

/// The rows that have a cap, and the columns that are not shut.
struct Bounds {
    capped: Vec<usize>,
    open: Vec<usize>,
}

impl Bounds {
    fn count(&self) -> f64 {
        (self.capped.len() + self.open.len()) as f64
    }

    /// Mean product of each bound's distance and multiplier.
    fn complementarity(&self, state: &State) -> f64 {
        let columns: f64 = self.open.iter().map(|&j| state.x[j] * state.z[j]).sum();
        let rows: f64 = self.capped.iter().map(|&i| state.slack[i] * state.price[i]).sum();
        (columns + rows) / self.count()
    }
}

/// A point inside all bounds that is nearly the best, and how many matrices were factored.
pub(super) fn search(influence: &mut impl Influence, problem: &Problem) -> Result<(Point, usize), BoundedError> {
    let bounds = Bounds {
        capped: (0..influence.rows()).filter(|i| problem.cap[*i].is_finite() && problem.cap[*i] > 0.0).collect(),
        open: (0..influence.columns()).filter(|j| !problem.shut[*j]).collect(),
    };
    if bounds.open.is_empty() {
        return Ok((Point { x: vec![0.0; influence.columns()], price: vec![0.0; influence.rows()] }, 0));
    }
    let mut state = start(influence, problem, &bounds);
    let nothing = problem.objective(&vec![0.0; influence.rows()]);
    let mut steps = 0;
    while steps < MOST_STEPS {
        let reached = influence.times(&state.x);
        let pull: Vec<f64> = (0..reached.len()).map(|i| reached[i] - problem.target[i] + state.price[i]).collect();
        let mut slope = influence.transposed(&pull);
        slope.iter_mut().zip(&state.z).for_each(|(slope, z)| *slope -= z);
        let mu = bounds.complementarity(&state);
        let open_slope: f64 = bounds.open.iter().map(|&j| (slope[j] * state.x[j]).abs()).sum();
        let left = mu * bounds.count() + open_slope;
        if left <= ENOUGH * problem.objective(&reached) + ENOUGH_OF_NOTHING * nothing {
            break;
        }
        let mut row_weights = vec![1.0; reached.len()];
        bounds.capped.iter().for_each(|&i| row_weights[i] += state.price[i] / state.slack[i]);
        let mut column_weights = vec![SHUT; slope.len()];
        bounds.open.iter().for_each(|&j| column_weights[j] = state.z[j] / state.x[j]);
        if !factor_damped(influence, &row_weights, &column_weights) {
            if steps == 0 {
                return Err(BoundedError::Rounding { factors: steps });
            }
            break;
        }
        steps += 1;
        let towards = advance(influence, &bounds, &state, &slope, mu);
        if !towards.x.iter().chain(&towards.z).chain(&towards.price).all(|value| value.is_finite()) {
            break;
        }
        let length = (INSIDE * furthest(&bounds, &state, &towards)).min(1.0);
        state.add(&towards, length, &bounds);
        if length < 1e-8 {
            break;
        }
    }
    Ok((Point { x: state.x, price: state.price }, steps))
}

/// A point well inside: every A x at half its cap at most, or at the scale that suits the target, and multipliers that balance it.
fn start(influence: &impl Influence, problem: &Problem, bounds: &Bounds) -> State {
    let (rows, columns) = (influence.rows(), influence.columns());
    let mut shape = vec![0.0; columns];
    bounds.open.iter().for_each(|&j| shape[j] = 1.0);
    let all = influence.times(&shape);
    // Less where caps are tight.
    let tightness: Vec<f64> =
        (0..rows).map(|i| if problem.cap[i].is_finite() { all[i] / problem.cap[i].max(f64::MIN_POSITIVE) } else { 0.0 }).collect();
    let tight = influence.transposed(&tightness.iter().map(|value| value.min(1e12)).collect::<Vec<f64>>());
    let sums = influence.transposed(&vec![1.0; rows]);
    bounds.open.iter().for_each(|&j| shape[j] = 1.0 / (1.0 + tight[j] / sums[j]));
    let reached = influence.times(&shape);
    let allowed =
        bounds.capped.iter().filter(|&&i| reached[i] > 0.0).map(|&i| 0.5 * problem.cap[i] / reached[i]).fold(f64::INFINITY, f64::min);
    let wanted = dot(&reached, &problem.target) / dot(&reached, &reached);
    let scale = if wanted > 0.0 { wanted.min(allowed) } else { allowed.min(1.0) };
    let x: Vec<f64> = shape.iter().map(|value| value * scale).collect();
    let reached: Vec<f64> = reached.iter().map(|value| value * scale).collect();
    let pull: Vec<f64> = reached.iter().zip(&problem.target).map(|(a, b)| a - b).collect();
    let slope = influence.transposed(&pull);
    let mu = bounds.open.iter().map(|&j| slope[j].abs() * x[j]).sum::<f64>() / bounds.open.len() as f64;
    let mu = if mu > 0.0 { mu } else { 1.0 };
    let mut state = State { x, z: vec![0.0; columns], slack: vec![1.0; rows], price: vec![0.0; rows] };
    bounds.open.iter().for_each(|&j| state.z[j] = mu / state.x[j]);
    for &i in &bounds.capped {
        state.slack[i] = problem.cap[i] - reached[i];
        state.price[i] = mu / state.slack[i];
    }
    state
}

/// Mehrotra's predictor and corrector; where that would be cut short or move away from the bounds, a step that is only centred.
fn advance(influence: &impl Influence, bounds: &Bounds, state: &State, slope: &[f64], mu: f64) -> Step {
    let straight = solve(influence, bounds, state, slope, |_| 0.0, |_| 0.0);
    let after = complementarity_after(bounds, state, &straight, furthest(bounds, state, &straight).min(1.0));
    let centre = mu * (after / mu).powi(3);
    let corrected = solve(
        influence,
        bounds,
        state,
        slope,
        |j| centre - straight.x[j] * straight.z[j],
        |i| centre - straight.slack[i] * straight.price[i],
    );
    let length = (INSIDE * furthest(bounds, state, &corrected)).min(1.0);
    if length > SHORT && complementarity_after(bounds, state, &corrected, length) < mu {
        return corrected;
    }
    let share = if length > SHORT { CENTRED } else { 1.0 };
    solve(influence, bounds, state, slope, |_| share * mu, |_| share * mu)
}

/// What a step of this length makes of the complementarity.
fn complementarity_after(bounds: &Bounds, state: &State, step: &Step, length: f64) -> f64 {
    let columns: f64 = bounds.open.iter().map(|&j| (state.x[j] + length * step.x[j]) * (state.z[j] + length * step.z[j])).sum();
    let row = |i: usize| (state.slack[i] + length * step.slack[i]) * (state.price[i] + length * step.price[i]);
    (columns + bounds.capped.iter().map(|&i| row(i)).sum::<f64>()) / bounds.count()
}

/// Newton's step towards products of x and z, and of slack and price, as given.
fn solve(
    influence: &impl Influence,
    bounds: &Bounds,
    state: &State,
    slope: &[f64],
    column: impl Fn(usize) -> f64,
    row: impl Fn(usize) -> f64,
) -> Step {
    let mut by_row = vec![0.0; influence.rows()];
    bounds.capped.iter().for_each(|&i| by_row[i] = row(i) / state.slack[i] - state.price[i]);
    let mut x: Vec<f64> = influence.transposed(&by_row).iter().zip(slope).map(|(by_row, slope)| -slope - by_row).collect();
    bounds.open.iter().for_each(|&j| x[j] += column(j) / state.x[j] - state.z[j]);
    influence.solve(&mut x);
    let moved = influence.times(&x);
    let mut z = vec![0.0; x.len()];
    bounds.open.iter().for_each(|&j| z[j] = (column(j) - state.z[j] * x[j]) / state.x[j] - state.z[j]);
    let mut step = Step { x, z, slack: vec![0.0; moved.len()], price: vec![0.0; moved.len()] };
    for &i in &bounds.capped {
        step.slack[i] = -moved[i];
        step.price[i] = (row(i) + state.price[i] * moved[i]) / state.slack[i] - state.price[i];
    }
    step
}

/// How many steps go to the first bound.
fn furthest(bounds: &Bounds, state: &State, step: &Step) -> f64 {
    let mut length = f64::INFINITY;
    let mut stop = |from: f64, by: f64| {
        if by < 0.0 {
            length = length.min(-from / by);
        }
    };
    for &j in &bounds.open {
        stop(state.x[j], step.x[j]);
        stop(state.z[j], step.z[j]);
    }
    for &i in &bounds.capped {
        stop(state.slack[i], step.slack[i]);
        stop(state.price[i], step.price[i]);
    }
    length
}

impl State {
    fn add(&mut self, step: &Step, length: f64, bounds: &Bounds) {
        for &j in &bounds.open {
            self.x[j] += length * step.x[j];
            self.z[j] += length * step.z[j];
        }
        for &i in &bounds.capped {
            self.slack[i] += length * step.slack[i];
            self.price[i] += length * step.price[i];
        }
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
