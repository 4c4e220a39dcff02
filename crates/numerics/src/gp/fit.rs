//! The kernel of largest marginal likelihood.

use super::likelihood::Conditioned;
use super::{Field, GpError, Mean, Reading, check};
use crate::kernel::{Family, Kernel};

/// Fewest different places that a fit takes. With two there is one contrast for two numbers.
const LEAST_PLACES: usize = 3;

/// Range of the kernel's sd, in times the readings' root mean square distance from their mean (noise included).
///
/// Judgement: far beyond what readings can tell. A likelihood that still rises there says that the field is flat, or that it is not a
/// stationary one; a wider range would only put off the end.
const SD_RANGE: [f64; 2] = [1e-3, 1e2];

/// Range of the length: in times the smallest distance between readings, and in times the largest.
///
/// Judgement: a length below a quarter of the smallest distance leaves all readings uncorrelated (below 0.02), and ten times the largest
/// leaves them all alike; neither can be told from what lies beyond.
const LENGTH_RANGE: [f64; 2] = [0.25, 10.0];

/// Places of the first search, along sd and along length, and the readings that it looks at: enough to find which hills there are.
const SCREEN: [usize; 2] = [6, 10];
const SCREEN_READINGS: usize = 100;

/// Hills climbed, highest first.
const MOST_CLIMBS: usize = 3;

/// Steps of one climb; a dozen is usual.
const MOST_STEPS: usize = 100;

/// Longest step of a climb, in natural logarithms.
const LONGEST_STEP: f64 = 1.0;

/// A fitted field.
pub struct Fit {
    /// The field, with the kernel of largest likelihood.
    pub field: Field,
    /// Whether the likelihood was still rising at the end of the range searched, so that the kernel is a bound and not an estimate.
    pub at_bound: bool,
}

/// Fits the kernel's sd and length to the readings by their marginal likelihood, and conditions the field on them with it.
///
/// The search is over the logarithms of both, within 0.001 to 100 times the readings' spread and within a quarter of the smallest to ten
/// times the largest distance between readings: a coarse grid, then a quasi-Newton climb (BFGS with exact slopes) from its highest hills.
///
/// Source: Rasmussen & Williams (2006), section 5.4.1; Nocedal & Wright, Numerical Optimization (2nd ed. 2006), section 6.1.
///
/// # Errors
/// As [`Field::new`], and [`GpError::TooFewToFit`] for fewer than three different places, [`GpError::NothingToFit`] for equal readings
/// without noise.
pub fn fit(readings: &[Reading], family: Family, mean: Mean) -> Result<Fit, GpError> {
    check(readings, mean)?;
    let bounds = bounds(readings, mean)?;
    let hill = |readings: &[Reading], at: [f64; 2]| Conditioned::new(readings, Kernel::new(family, at[0].exp(), at[1].exp())?, mean);
    let mut best: Option<(Conditioned, [f64; 2])> = None;
    let mut refused = None;
    for start in starts(readings, bounds, &hill) {
        match climb(start, bounds, |at| hill(readings, at)) {
            Ok(top) if best.as_ref().is_none_or(|(best, _)| top.0.log_likelihood > best.log_likelihood) => best = Some(top),
            Ok(_) => {}
            Err(error) => refused = Some(error),
        }
    }
    let Some((conditioned, at)) = best else {
        return Err(refused.unwrap_or(GpError::NothingToFit));
    };
    let at_bound = at.iter().zip(bounds).any(|(at, [low, high])| at - low < 1e-9 || high - at < 1e-9);
    let forms = conditioned.forms();
    Ok(Fit { field: Field { conditioned, forms }, at_bound })
}

/// Ranges of the logarithms of sd and length.
fn bounds(readings: &[Reading], mean: Mean) -> Result<[[f64; 2]; 2], GpError> {
    let mut places: Vec<[f64; 2]> = readings.iter().map(|reading| [reading.x_mm, reading.y_mm]).collect();
    places.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    places.dedup();
    if places.len() < LEAST_PLACES {
        return Err(GpError::TooFewToFit { places: places.len(), least: LEAST_PLACES });
    }
    let (mut nearest, mut farthest) = (f64::INFINITY, 0.0_f64);
    for (i, a) in places.iter().enumerate() {
        for b in &places[..i] {
            let distance = f64::hypot(a[0] - b[0], a[1] - b[1]);
            (nearest, farthest) = (nearest.min(distance), farthest.max(distance));
        }
    }
    let n = readings.len() as f64;
    let centre = match mean {
        Mean::Known(level) => level,
        Mean::Constant => readings.iter().map(|reading| reading.value).sum::<f64>() / n,
    };
    let spread2 = readings.iter().map(|reading| (reading.value - centre).powi(2) + reading.sd * reading.sd).sum::<f64>() / n;
    if !(spread2 > 0.0 && spread2.is_finite() && nearest > 0.0 && farthest.is_finite()) {
        return Err(GpError::NothingToFit);
    }
    let sd = spread2.sqrt();
    Ok([SD_RANGE.map(|times| (times * sd).ln()), [(LENGTH_RANGE[0] * nearest).ln(), (LENGTH_RANGE[1] * farthest).ln()]])
}

type At = [f64; 2];

/// The highest hills of a coarse grid, highest first: nodes that no neighbour overtops.
fn starts(readings: &[Reading], bounds: [[f64; 2]; 2], hill: &impl Fn(&[Reading], At) -> Result<Conditioned, GpError>) -> Vec<At> {
    let every = readings.len().div_ceil(SCREEN_READINGS);
    let thinned: Vec<Reading> = readings.iter().step_by(every).copied().collect();
    let node = |i: usize, j: usize| {
        let part = |axis: usize, k: usize| bounds[axis][0] + (bounds[axis][1] - bounds[axis][0]) * (k as f64 + 0.5) / SCREEN[axis] as f64;
        [part(0, i), part(1, j)]
    };
    let heights: Vec<Vec<f64>> = (0..SCREEN[0])
        .map(|i| (0..SCREEN[1]).map(|j| hill(&thinned, node(i, j)).map_or(f64::NEG_INFINITY, |c| c.log_likelihood)).collect())
        .collect();
    let mut tops = Vec::new();
    for i in 0..SCREEN[0] {
        for j in 0..SCREEN[1] {
            let around = (i.saturating_sub(1)..(i + 2).min(SCREEN[0]))
                .flat_map(|a| (j.saturating_sub(1)..(j + 2).min(SCREEN[1])).map(move |b| (a, b)));
            if heights[i][j] > f64::NEG_INFINITY && around.into_iter().all(|(a, b)| heights[a][b] <= heights[i][j]) {
                tops.push((heights[i][j], node(i, j)));
            }
        }
    }
    tops.sort_by(|a, b| b.0.total_cmp(&a.0));
    tops.into_iter().take(MOST_CLIMBS).map(|(_, at)| at).collect()
}

/// Climbs from `start` to a top within the bounds.
fn climb(start: At, bounds: [[f64; 2]; 2], hill: impl Fn(At) -> Result<Conditioned, GpError>) -> Result<(Conditioned, At), GpError> {
    let clamp = |at: At| [at[0].clamp(bounds[0][0], bounds[0][1]), at[1].clamp(bounds[1][0], bounds[1][1])];
    let mut at = clamp(start);
    let mut here = hill(at)?;
    let mut slope = here.slopes();
    let mut inverse_curvature = first_guess(slope);
    for _ in 0..MOST_STEPS {
        let free = [0, 1].map(|k| !((at[k] <= bounds[k][0] && slope[k] < 0.0) || (at[k] >= bounds[k][1] && slope[k] > 0.0)));
        let uphill = [0, 1].map(|k| if free[k] { slope[k] } else { 0.0 });
        if uphill.iter().all(|slope| slope.abs() < 1e-7) {
            break;
        }
        let direction = direction(&mut inverse_curvature, uphill, free);
        let Some((next, there)) = line_search(at, &here, uphill, direction, clamp, &hill) else {
            break;
        };
        let next_slope = there.slopes();
        let (step, turn) = ([next[0] - at[0], next[1] - at[1]], [slope[0] - next_slope[0], slope[1] - next_slope[1]]);
        update(&mut inverse_curvature, step, turn);
        (at, here, slope) = (next, there, next_slope);
    }
    Ok((here, at))
}

type Matrix = [[f64; 2]; 2];

/// A steepest step of half a logarithm at most.
fn first_guess(slope: [f64; 2]) -> Matrix {
    let scale = 0.5 / f64::hypot(slope[0], slope[1]).max(0.5);
    [[scale, 0.0], [0.0, scale]]
}

fn direction(inverse_curvature: &mut Matrix, uphill: [f64; 2], free: [bool; 2]) -> [f64; 2] {
    let along = |m: &Matrix| [0, 1].map(|k| if free[k] { m[k][0] * uphill[0] + m[k][1] * uphill[1] } else { 0.0 });
    let mut direction = along(inverse_curvature);
    if direction[0] * uphill[0] + direction[1] * uphill[1] <= 0.0 {
        *inverse_curvature = first_guess(uphill);
        direction = along(inverse_curvature);
    }
    let length = f64::hypot(direction[0], direction[1]);
    direction.map(|d| d * (LONGEST_STEP / length).min(1.0))
}

/// Halves the step until the likelihood has risen by a fair share of what the slope promised; nothing when rounding hides any rise.
fn line_search(
    at: At,
    here: &Conditioned,
    uphill: [f64; 2],
    direction: [f64; 2],
    clamp: impl Fn(At) -> At,
    hill: &impl Fn(At) -> Result<Conditioned, GpError>,
) -> Option<(At, Conditioned)> {
    const FAIR_SHARE: f64 = 1e-4;
    let mut part = 1.0;
    for _ in 0..30 {
        let next = clamp([at[0] + part * direction[0], at[1] + part * direction[1]]);
        let promised = uphill[0] * (next[0] - at[0]) + uphill[1] * (next[1] - at[1]);
        // A kernel too smooth for the readings is singular: that is no place to go.
        if let Ok(there) = hill(next)
            && there.log_likelihood > here.log_likelihood + FAIR_SHARE * promised
        {
            return Some((next, there));
        }
        part *= 0.5;
    }
    None
}

/// The BFGS update of an inverse curvature (Nocedal & Wright, eq. 6.17); left alone where the slope did not turn as on a hill.
fn update(inverse: &mut Matrix, step: [f64; 2], turn: [f64; 2]) {
    let bend = step[0] * turn[0] + step[1] * turn[1];
    if bend <= 1e-12 * f64::hypot(step[0], step[1]) * f64::hypot(turn[0], turn[1]) {
        return;
    }
    let moved = [0, 1].map(|k| inverse[k][0] * turn[0] + inverse[k][1] * turn[1]);
    let scale = 1.0 + (turn[0] * moved[0] + turn[1] * moved[1]) / bend;
    for i in 0..2 {
        for j in 0..2 {
            inverse[i][j] += (scale * step[i] * step[j] - moved[i] * step[j] - step[i] * moved[j]) / bend;
        }
    }
}
