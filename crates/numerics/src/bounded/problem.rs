//! What is asked, what is answered, and why not.

use super::{Lattice, Rows, active, interior};

/// The best x, and what proves it.
#[derive(Clone, Debug, PartialEq)]
pub struct Bounded {
    /// x, never below 0.
    pub x: Vec<f64>,
    /// A x, never above the cap (but for the rounding of whoever sums it again).
    pub reached: Vec<f64>,
    /// |A x - target|, the square root of the sum of squares.
    pub residual: f64,
    /// By how much |A x - target|^2 / 2 would fall for each unit more of a row's cap; 0 where the cap does not bind or there is none.
    pub price: Vec<f64>,
    /// Most that |A x - target|^2 / 2 may be above the least there is, by duality.
    pub gap: f64,
    /// Matrices factored.
    pub factors: usize,
}

/// Why there is no answer.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum BoundedError {
    /// The influence has no rows or no columns.
    #[error("an influence of {rows} rows and {columns} columns is empty: give at least one of each")]
    Empty {
        /// Rows.
        rows: usize,
        /// Columns.
        columns: usize,
    },
    /// A row is longer or shorter than the first.
    #[error("row {row} of the influence has {found} values and the first row has {expected}: rows must be alike")]
    Ragged {
        /// Index of the row.
        row: usize,
        /// Its length.
        found: usize,
        /// The first row's length.
        expected: usize,
    },
    /// An influence that is negative or not a finite number.
    #[error("the influence of column {column} on row {row} is {value}: it must be a finite number, 0 or more")]
    Influence {
        /// Index of the row.
        row: usize,
        /// Index of the column.
        column: usize,
        /// The value.
        value: f64,
    },
    /// A target that is not a finite number.
    #[error("target {row} is {value}: it must be a finite number")]
    Target {
        /// Index of the row.
        row: usize,
        /// The value.
        value: f64,
    },
    /// A cap below 0, or not a number.
    #[error("cap {row} is {value}: it must be 0 or more, for nothing takes less than nothing")]
    Cap {
        /// Index of the row.
        row: usize,
        /// The value.
        value: f64,
    },
    /// Targets or caps are not as many as the rows.
    #[error("there are {found} {what} for {expected} places: give one for each")]
    Count {
        /// `targets` or `caps`.
        what: &'static str,
        /// How many there are.
        found: usize,
        /// How many there must be.
        expected: usize,
    },
    /// More than can be held.
    #[error(
        "{positions} positions over {cells} cells: their equations would take more than {MOST_ENTRIES} numbers; take them farther apart"
    )]
    TooLarge {
        /// Positions, or columns.
        positions: usize,
        /// Cells, or rows.
        cells: usize,
    },
    /// The search broke down: a matrix had no factor although everything in it is finite.
    #[error("the search broke down by rounding after {factors} steps: the numbers differ too much in size")]
    Rounding {
        /// Matrices factored before.
        factors: usize,
    },
}

/// Most numbers of a search's equations. Judgement: 0.8 GB; a lattice of 240 x 160 positions that reaches six to each side has 40 million.
pub(super) const MOST_ENTRIES: usize = 100_000_000;

/// What a solver needs of A, whose entries are between 0 and 1.
pub(super) trait Influence {
    fn columns(&self) -> usize;
    fn rows(&self) -> usize;
    /// A x.
    fn times(&self, x: &[f64]) -> Vec<f64>;
    /// A' r.
    fn transposed(&self, r: &[f64]) -> Vec<f64>;
    /// The most that each x can be, alone, with every A x at most `bounds`; infinite for a column that touches nothing.
    fn most(&self, bounds: &[f64]) -> Vec<f64>;
    /// Factors A' diag(row weights) A + diag(column weights); false when rounding left no positive pivot.
    fn factor(&mut self, row_weights: &[f64], column_weights: &[f64]) -> bool;
    /// Replaces `b` by the solution of what was factored last.
    fn solve(&self, b: &mut [f64]);
}

/// Shares of the largest row weight that are added to every column's, one after the other, until rounding leaves a factor. Columns that can stand
/// for each other have none without; much more slows the search.
const DAMPINGS: [f64; 4] = [0.0, 1e-14, 1e-12, 1e-10];

/// Factors with the least damping that does; false when none does.
pub(super) fn factor_damped(influence: &mut impl Influence, row_weights: &[f64], column_weights: &[f64]) -> bool {
    let largest = row_weights.iter().copied().fold(0.0, f64::max);
    DAMPINGS.into_iter().any(|damping| {
        let damped: Vec<f64> = column_weights.iter().map(|weight| weight + damping * largest).collect();
        influence.factor(row_weights, &damped)
    })
}

/// A problem in units in which the largest influence and the largest target or cap are about 1.
pub(super) struct Problem {
    pub(super) target: Vec<f64>,
    /// Infinite where there is none.
    pub(super) cap: Vec<f64>,
    /// Columns that stay 0: they touch a row whose cap is 0, or no row at all.
    pub(super) shut: Vec<bool>,
}

impl Problem {
    /// |reached - target|^2 / 2.
    pub(super) fn objective(&self, reached: &[f64]) -> f64 {
        0.5 * reached.iter().zip(&self.target).map(|(a, b)| (a - b).powi(2)).sum::<f64>()
    }

    /// The largest share of `reached` that is below every cap, 1 at most.
    pub(super) fn share_allowed(&self, reached: &[f64]) -> f64 {
        let shares = reached.iter().zip(&self.cap).filter(|(reached, cap)| reached > cap).map(|(reached, cap)| cap / reached);
        shares.fold(1.0, f64::min)
    }
}

/// A point in a problem's own units.
#[derive(Clone, Debug)]
pub(super) struct Point {
    pub(super) x: Vec<f64>,
    /// Multipliers of the caps, 0 or more.
    pub(super) price: Vec<f64>,
}

impl Rows {
    /// The x >= 0 with A x <= `cap` that comes nearest to `target`, by the sum of squares.
    ///
    /// `cap` is a value a row (infinite for none), or none at all. Where several x are equally near, one of them.
    ///
    /// Method: a primal-dual interior point search with predictor and corrector (Mehrotra, On the implementation of a primal-dual interior point
    /// method, SIAM J. Optim. 2, 1992), feasible throughout, until duality proves the objective within 1e-9 of the least; then the bounds
    /// that bind are taken as equations and solved exactly.
    ///
    /// # Errors
    /// [`BoundedError`] for sizes that do not fit, targets that are not finite, caps below 0.
    pub fn nearest(&self, target: &[f64], cap: Option<&[f64]>) -> Result<Bounded, BoundedError> {
        let scale = self.largest();
        solve(self.scaled(), scale, target, cap)
    }
}

impl Lattice {
    /// As [`Rows::nearest`], for positions and cells with x running fastest. The stencil's structure makes the search's equations a band
    /// matrix, as wide as the stencil is on the shorter side.
    ///
    /// # Errors
    /// [`BoundedError`] for sizes that do not fit, targets that are not finite, caps below 0.
    pub fn nearest(&self, target: &[f64], cap: Option<&[f64]>) -> Result<Bounded, BoundedError> {
        let scale = self.largest();
        solve(self.scaled(), scale, target, cap)
    }
}

/// Solves with an influence that was divided by `scale`.
fn solve(mut influence: impl Influence, scale: f64, target: &[f64], cap: Option<&[f64]>) -> Result<Bounded, BoundedError> {
    let rows = influence.rows();
    check(rows, target, cap)?;
    let scale = if scale > 0.0 { scale } else { 1.0 };
    let finite = cap.unwrap_or(&[]).iter().copied().filter(|cap| cap.is_finite());
    let size = target.iter().map(|value| value.abs()).fold(0.0, f64::max);
    let size = if size > 0.0 { size } else { finite.fold(0.0, f64::max) };
    let size = if size > 0.0 { size } else { 1.0 };
    let cap: Vec<f64> = cap.map_or_else(|| vec![f64::INFINITY; rows], |cap| cap.iter().map(|value| value / size).collect());
    let problem = Problem { shut: shut(&influence, &cap), target: target.iter().map(|value| value / size).collect(), cap };
    if influence.transposed(&problem.target).iter().all(|pull| *pull <= 0.0) {
        // Nothing of anything comes nearer than nothing.
        return Ok(Bounded {
            x: vec![0.0; influence.columns()],
            reached: vec![0.0; rows],
            residual: size * (2.0 * problem.objective(&vec![0.0; rows])).sqrt(),
            price: vec![0.0; rows],
            gap: 0.0,
            factors: 0,
        });
    }
    let (inside, factors) = interior::search(&mut influence, &problem)?;
    let reached = influence.times(&inside.x);
    let least = problem.objective(&reached) - gap(&influence, &problem, &inside, &reached);
    let (found, more) = active::finish(&mut influence, &problem, inside);
    let reached = influence.times(&found.x);
    let gap = gap(&influence, &problem, &found, &reached).min((problem.objective(&reached) - least).max(0.0));
    Ok(Bounded {
        residual: size * (2.0 * problem.objective(&reached)).sqrt(),
        x: found.x.iter().map(|x| x * size / scale).collect(),
        reached: reached.iter().map(|value| value * size).collect(),
        price: found.price.iter().map(|price| price * size).collect(),
        gap: gap * size * size,
        factors: factors + more,
    })
}

fn check(rows: usize, target: &[f64], cap: Option<&[f64]>) -> Result<(), BoundedError> {
    for (what, found) in [("targets", Some(target)), ("caps", cap)].into_iter().filter_map(|(what, values)| Some((what, values?.len()))) {
        if found != rows {
            return Err(BoundedError::Count { what, found, expected: rows });
        }
    }
    if let Some((row, value)) = target.iter().copied().enumerate().find(|(_, value)| !value.is_finite()) {
        return Err(BoundedError::Target { row, value });
    }
    match cap.unwrap_or(&[]).iter().copied().enumerate().find(|(_, value)| value.is_nan() || *value < 0.0) {
        Some((row, value)) => Err(BoundedError::Cap { row, value }),
        None => Ok(()),
    }
}

/// Columns that must stay 0, or may as well.
fn shut(influence: &impl Influence, cap: &[f64]) -> Vec<bool> {
    let closed: Vec<f64> = cap.iter().map(|cap| f64::from(u8::from(*cap <= 0.0))).collect();
    let touches_closed = influence.transposed(&closed);
    let touches_any = influence.transposed(&vec![1.0; cap.len()]);
    touches_closed.iter().zip(touches_any).map(|(closed, any)| *closed > 0.0 || any <= 0.0).collect()
}

/// What duality leaves between the objective at a point and the least there is.
///
/// With prices y >= 0 and g = A'(A x - b + y), no allowed x* has an objective below f(x) - y'(c - A x) - g'x + sum of min(g, 0) x*, by
/// convexity. The best x* is no worse than 0, so that |A x*| is at most 2 |b|, and it keeps every cap: that bounds each x*.
fn gap(influence: &impl Influence, problem: &Problem, point: &Point, reached: &[f64]) -> f64 {
    let rows = reached.len();
    let pull: Vec<f64> = (0..rows).map(|i| reached[i] - problem.target[i] + point.price[i]).collect();
    let slope = influence.transposed(&pull);
    let twice_target = (8.0 * problem.objective(&vec![0.0; rows])).sqrt();
    let most = influence.most(&problem.cap.iter().map(|cap| cap.min(twice_target)).collect::<Vec<f64>>());
    let caps: f64 = (0..rows).filter(|i| point.price[*i] > 0.0).map(|i| point.price[i] * (problem.cap[i] - reached[i])).sum();
    let open = (0..slope.len()).filter(|j| !problem.shut[*j]);
    let bounds: f64 = open.map(|j| slope[j] * point.x[j] + (-slope[j]).max(0.0) * most[j]).sum();
    (caps + bounds).max(0.0)
}
