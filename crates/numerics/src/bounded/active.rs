//! The exact end of a search: bounds that bind taken as equations.

use super::problem::{Influence, Point, Problem, factor_damped};

/// Weight of a row whose cap binds, beside the 1 of the others. Multipliers converge by this factor a round; much more costs digits.
const BINDING: f64 = 1e6;

/// Weight that holds a column at 0.
const HELD: f64 = 1e30;

/// Weight on a column's change that keeps the matrix positive definite where columns alike can stand for each other. As changes get smaller its
/// effect goes.
const DAMPING: f64 = 1e-11;

/// Times that the bounds which bind are chosen anew.
const ROUNDS: usize = 12;

/// Corrections with one factor.
const CORRECTIONS: usize = 8;

/// What still counts as nothing, in a problem's own units.
const NOTHING: f64 = 1e-12;

/// The point of least objective that the bounds binding at `found` lead to, or `found` itself when that is no better; and how many matrices were
/// factored. Bounds are kept exactly.
pub(super) fn finish(influence: &mut impl Influence, problem: &Problem, found: Point) -> (Point, usize) {
    let found = allowed(influence, problem, found);
    let mut best = problem.objective(&influence.times(&found.x));
    let mut answer = found.clone();
    let mut binding = Binding::at(influence, problem, &found);
    let mut point = found;
    let mut factors = 0;
    for _ in 0..ROUNDS {
        let Some(solved) = binding.solve(influence, problem, &point) else { break };
        factors += 1;
        let settled = !binding.exchange(influence, problem, &solved);
        let candidate = allowed(influence, problem, solved.clone());
        let objective = problem.objective(&influence.times(&candidate.x));
        if objective <= best {
            (best, answer) = (objective, candidate);
        }
        if settled {
            break;
        }
        point = solved;
    }
    (answer, factors)
}

/// The point with what is below 0 put to 0, and all of it lowered by what it is above a cap.
fn allowed(influence: &impl Influence, problem: &Problem, point: Point) -> Point {
    let x: Vec<f64> = point.x.iter().zip(&problem.shut).map(|(x, shut)| if *shut { 0.0 } else { x.max(0.0) }).collect();
    let share = problem.share_allowed(&influence.times(&x));
    Point { x: x.iter().map(|x| x * share).collect(), price: point.price.iter().map(|price| price.max(0.0)).collect() }
}

/// Which bounds bind.
struct Binding {
    held: Vec<bool>,
    capped: Vec<bool>,
}

impl Binding {
    /// Of each bound's distance and multiplier the smaller counts as 0.
    fn at(influence: &impl Influence, problem: &Problem, point: &Point) -> Self {
        let reached = influence.times(&point.x);
        let slope = slope(influence, problem, point, &reached);
        Self {
            held: (0..slope.len()).map(|j| problem.shut[j] || point.x[j] < slope[j]).collect(),
            capped: (0..reached.len()).map(|i| problem.cap[i] > 0.0 && problem.cap[i] - reached[i] < point.price[i]).collect(),
        }
    }

    /// The least objective with these bounds as equations, by augmented Lagrangian steps from `point`.
    fn solve(&self, influence: &mut impl Influence, problem: &Problem, point: &Point) -> Option<Point> {
        let row_weights: Vec<f64> = self.capped.iter().map(|capped| if *capped { 1.0 + BINDING } else { 1.0 }).collect();
        let column_weights: Vec<f64> = self.held.iter().map(|held| if *held { HELD } else { DAMPING }).collect();
        if !factor_damped(influence, &row_weights, &column_weights) {
            return None;
        }
        let mut x: Vec<f64> = point.x.iter().zip(&self.held).map(|(x, held)| if *held { 0.0 } else { *x }).collect();
        let mut price: Vec<f64> = point.price.iter().zip(&self.capped).map(|(price, capped)| if *capped { *price } else { 0.0 }).collect();
        let mut least = f64::INFINITY;
        for _ in 0..CORRECTIONS {
            let reached = influence.times(&x);
            let over = |i: usize| if self.capped[i] { reached[i] - problem.cap[i] } else { 0.0 };
            let pull: Vec<f64> = (0..reached.len()).map(|i| problem.target[i] - reached[i] - price[i] - BINDING * over(i)).collect();
            let mut change = influence.transposed(&pull);
            for (change, held) in change.iter_mut().zip(&self.held) {
                *change = if *held { 0.0 } else { *change };
            }
            influence.solve(&mut change);
            let largest = change.iter().map(|change| change.abs()).fold(0.0, f64::max);
            // Where columns stand for each other under one cap, the factor may be worth nothing: then corrections grow.
            if largest > 2.0 * least {
                return None;
            }
            least = least.min(largest.max(NOTHING));
            for (x, (change, held)) in x.iter_mut().zip(change.iter().zip(&self.held)) {
                *x += if *held { 0.0 } else { *change };
            }
            let reached = influence.times(&x);
            for (i, price) in price.iter_mut().enumerate() {
                *price += if self.capped[i] { BINDING * (reached[i] - problem.cap[i]) } else { 0.0 };
            }
            if largest < 1e-15 {
                break;
            }
        }
        x.iter().all(|x| x.is_finite()).then_some(Point { x, price })
    }

    /// Exchanges the bounds that a solution contradicts; false when it contradicts none.
    fn exchange(&mut self, influence: &impl Influence, problem: &Problem, point: &Point) -> bool {
        let reached = influence.times(&point.x);
        let slope = slope(influence, problem, point, &reached);
        let mut changed = false;
        for (j, held) in self.held.iter_mut().enumerate().filter(|(j, _)| !problem.shut[*j]) {
            let wrong = if *held { slope[j] < -NOTHING } else { point.x[j] < -NOTHING };
            *held ^= wrong;
            changed |= wrong;
        }
        for (i, capped) in self.capped.iter_mut().enumerate().filter(|(i, _)| problem.cap[*i] > 0.0) {
            let wrong = if *capped { point.price[i] < -NOTHING } else { reached[i] > problem.cap[i] + NOTHING };
            *capped ^= wrong;
            changed |= wrong;
        }
        changed
    }
}

/// Slope of the Lagrangian along each column.
fn slope(influence: &impl Influence, problem: &Problem, point: &Point, reached: &[f64]) -> Vec<f64> {
    let pull: Vec<f64> = (0..reached.len()).map(|i| reached[i] - problem.target[i] + point.price[i]).collect();
    influence.transposed(&pull)
}
