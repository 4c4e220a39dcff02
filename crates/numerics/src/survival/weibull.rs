//! Weibull lifetimes by maximum likelihood.

use super::{Censored, SurvivalError, distinct};

/// Steps after which the search gives up; Newton's method takes about ten from a shape of 1.
const MOST_STEPS: usize = 500;

/// A shape below which the likelihood is taken to rise all the way to 0.
/// Judgement: at 1e-6 the middle half of lifetimes spans more than a million powers of ten.
const LEAST_SHAPE: f64 = 1e-6;

/// A Weibull distribution of lifetimes: P(T > t) = exp(-(t / scale)^shape).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weibull {
    /// Shape: 1 is the exponential distribution.
    pub shape: f64,
    /// Scale, in the unit of the data: 63.2 % of lifetimes end before it.
    pub scale: f64,
    /// Natural logarithm of the likelihood of all counts.
    pub log_likelihood: f64,
    /// Covariance of (log shape, log scale), from the observed information.
    pub log_covariance: [[f64; 2]; 2],
}

impl Weibull {
    /// P(T > `t`).
    #[must_use]
    pub fn survival(&self, t: f64) -> f64 {
        (-(t.max(0.0) / self.scale).powf(self.shape)).exp()
    }
}

/// A row as its ends' places among the distinct positive times: `None` for 0 below, for infinity above.
struct Row {
    low: Option<usize>,
    high: Option<usize>,
    exact: bool,
    /// log(high / low) of an interval with both ends.
    log_width: f64,
    share: f64,
}

/// Distinct times as logarithms about their middle, and the rows upon them; shares sum to 1.
struct Sample {
    /// log t - `centre`.
    log_times: Vec<f64>,
    centre: f64,
    rows: Vec<Row>,
    count: f64,
}

/// Log-likelihood per count at log H(t) = level + shape (log t - centre), with its derivatives in (level, shape).
#[derive(Clone, Copy, Default)]
struct Curve {
    value: f64,
    gradient: [f64; 2],
    /// Minus the second derivatives: level-level, level-shape, shape-shape.
    information: [f64; 3],
}

/// The Weibull distribution of largest likelihood for `data`.
///
/// Method: with log H(t) = level + shape log t, a row's log-likelihood is the logarithm of a log-concave density's integral
/// between ends that are linear in (level, shape), so the whole is concave (Prekopa, "Logarithmic concave measures with
/// application to stochastic programming", 1971); damped Newton steps therefore find the one maximum. Rows of an interval use
/// H(high) - H(low) without cancellation.
///
/// # Errors
/// [`SurvivalError::Empty`], [`SurvivalError::NoneEnded`], [`SurvivalError::ExactZero`];
/// [`SurvivalError::ShapeUnbounded`] when one value lies in or on the border of every interval;
/// [`SurvivalError::ShapeVanishes`] when the likelihood rises towards shape 0.
pub fn weibull(data: &[Censored]) -> Result<Weibull, SurvivalError> {
    let rows: Vec<Censored> = distinct(data)?.into_iter().filter(Censored::informs).collect();
    if !rows.iter().any(|row| row.high.is_finite()) {
        return Err(SurvivalError::NoneEnded);
    }
    if rows.iter().any(|row| row.high == 0.0) {
        return Err(SurvivalError::ExactZero);
    }
    let latest_low = rows.iter().map(|row| row.low).fold(0.0, f64::max);
    let earliest_high = rows.iter().map(|row| row.high).fold(f64::INFINITY, f64::min);
    if latest_low <= earliest_high {
        return Err(SurvivalError::ShapeUnbounded { at: earliest_high });
    }
    let sample = sample(&rows);
    let (level, shape, at) = climb(&sample)?;
    finish(&sample, level, shape, &at)
}

fn sample(rows: &[Censored]) -> Sample {
    let mut times: Vec<f64> = rows.iter().flat_map(|row| [row.low, row.high]).filter(|t| *t > 0.0 && t.is_finite()).collect();
    times.sort_unstable_by(f64::total_cmp);
    times.dedup();
    let count: f64 = rows.iter().map(|row| row.count).sum();
    let place = |t: f64| times.binary_search_by(|probe| probe.total_cmp(&t)).ok();
    let placed = rows.iter().map(|row| Row {
        low: place(row.low),
        high: place(row.high),
        exact: row.is_exact(),
        log_width: ((row.high - row.low) / row.low).ln_1p(),
        share: row.count / count,
    });
    let placed = placed.collect();
    let logs: Vec<f64> = times.iter().map(|t| t.ln()).collect();
    #[expect(clippy::cast_precision_loss, reason = "a number of times, far below 2^53")]
    let centre = logs.iter().sum::<f64>() / logs.len() as f64;
    Sample { log_times: logs.iter().map(|log| log - centre).collect(), centre, rows: placed, count }
}

/// Damped Newton ascent from shape 1 about the middle of the times.
fn climb(sample: &Sample) -> Result<(f64, f64, Curve), SurvivalError> {
    let spread = sample.log_times.iter().fold(0.0, |most, t| f64::max(most, t.abs()));
    // A shape that spreads the law over the times: neither end of them is out of the floating point's reach.
    let mut shape = (2.0 / spread).min(1.0);
    let mut level = -0.4;
    let mut at = curve(sample, level, shape);
    for _ in 0..MOST_STEPS {
        let [step_level, step_shape] = newton(&at);
        let rise = at.gradient[0] * step_level + at.gradient[1] * step_shape;
        // At most a doubling or halving of the shape, and three units of log H, at once: beyond, exp() overflows.
        let mut length = (1.0f64).min(3.0 / step_level.abs()).min(shape / step_shape.abs()).min(if step_shape < 0.0 {
            -0.5 * shape / step_shape
        } else {
            1.0
        });
        let flat = rise <= 1e-13 * (1.0 + at.value.abs());
        let (mut next, mut tried);
        loop {
            next = (level + length * step_level, shape + length * step_shape);
            tried = curve(sample, next.0, next.1);
            if flat || tried.value >= at.value + 1e-4 * length * rise || length < 1e-12 {
                break;
            }
            length /= 2.0;
        }
        if !tried.value.is_finite() {
            break;
        }
        (level, shape) = next;
        at = tried;
        if shape < LEAST_SHAPE {
            return Err(SurvivalError::ShapeVanishes);
        }
        // Newton's method doubles the digits with each step: after a full step from where the promised rise is rounding, all are there.
        if flat && length >= 1.0 {
            return Ok((level, shape, at));
        }
    }
    Err(SurvivalError::NotConverged { gap: at.gradient[0].abs().max(at.gradient[1].abs()) })
}

/// Newton's step, with a little added to the diagonal where the curve is flat.
fn newton(at: &Curve) -> [f64; 2] {
    let [mut a, b, mut c] = at.information;
    a += 1e-14 * (1.0 + a);
    c += 1e-14 * (1.0 + c);
    let det = a * c - b * b;
    if det > 0.0 {
        [(c * at.gradient[0] - b * at.gradient[1]) / det, (a * at.gradient[1] - b * at.gradient[0]) / det]
    } else {
        [at.gradient[0] / a, at.gradient[1] / c]
    }
}

fn curve(sample: &Sample, level: f64, shape: f64) -> Curve {
    let hazards: Vec<f64> = sample.log_times.iter().map(|t| (level + shape * t).exp()).collect();
    let mut sum = Curve::default();
    for row in &sample.rows {
        let low = row.low.map(|i| (hazards[i], sample.log_times[i]));
        let high = row.high.map(|i| (hazards[i], sample.log_times[i]));
        let one = if row.exact {
            low.map(|end| exact_row(end, level, shape, sample.centre))
        } else {
            Some(interval_row(low, high, row.log_width, shape))
        };
        let Some(one) = one else { continue };
        sum.value += row.share * one.value;
        for i in 0..2 {
            sum.gradient[i] += row.share * one.gradient[i];
        }
        for i in 0..3 {
            sum.information[i] += row.share * one.information[i];
        }
    }
    if sum.value.is_nan() {
        sum.value = f64::NEG_INFINITY;
    }
    sum
}

fn exact_row((hazard, t): (f64, f64), level: f64, shape: f64, centre: f64) -> Curve {
    Curve {
        value: shape.ln() + level + shape * t - t - centre - hazard,
        gradient: [1.0 - hazard, 1.0 / shape + t - hazard * t],
        information: [hazard, hazard * t, hazard * t * t + 1.0 / (shape * shape)],
    }
}

/// log(exp(-H_low) - exp(-H_high)) = -H_low - log(1 + q) with q = 1 / (exp(d) - 1), d = H_high - H_low.
fn interval_row(low: Option<(f64, f64)>, high: Option<(f64, f64)>, log_width: f64, shape: f64) -> Curve {
    let (hazard, t) = low.unwrap_or((0.0, 0.0));
    let mut row = Curve { value: -hazard, gradient: [-hazard, -hazard * t], information: [hazard, hazard * t, hazard * t * t] };
    let Some((high_hazard, high_t)) = high else { return row };
    let (d, d_shape, d_shape2) = if low.is_some() {
        let d = hazard * (shape * log_width).exp_m1();
        (d, d * high_t + hazard * log_width, d * high_t * high_t + hazard * log_width * (high_t + t))
    } else {
        (high_hazard, high_hazard * high_t, high_hazard * high_t * high_t)
    };
    let q = 1.0 / d.exp_m1();
    if q == 0.0 {
        return row;
    }
    row.value -= q.ln_1p();
    let bend = q * (1.0 + q);
    row.gradient[0] += q * d;
    row.gradient[1] += q * d_shape;
    row.information[0] += bend * d * d - q * d;
    row.information[1] += bend * d * d_shape - q * d_shape;
    row.information[2] += bend * d_shape * d_shape - q * d_shape2;
    row
}

/// From (level, shape) to shape and scale = exp(centre - level / shape), with the covariance of their logarithms.
fn finish(sample: &Sample, level: f64, shape: f64, at: &Curve) -> Result<Weibull, SurvivalError> {
    let scale = (sample.centre - level / shape).exp();
    let [a, b, c] = at.information.map(|value| value * sample.count);
    let det = a * c - b * b;
    let covariance = [[c / det, -b / det], [-b / det, a / det]];
    let to_log_shape = [0.0, 1.0 / shape];
    let to_log_scale = [-1.0 / shape, level / (shape * shape)];
    let between = |u: [f64; 2], v: [f64; 2]| (0..2).map(|i| (0..2).map(|j| u[i] * covariance[i][j] * v[j]).sum::<f64>()).sum::<f64>();
    let cross = between(to_log_shape, to_log_scale);
    let log_covariance = [[between(to_log_shape, to_log_shape), cross], [cross, between(to_log_scale, to_log_scale)]];
    let log_likelihood = at.value * sample.count;
    let numbers = [scale, log_likelihood, log_covariance[0][0], log_covariance[1][1]];
    if !(scale > 0.0 && numbers.iter().all(|value| value.is_finite())) {
        return Err(SurvivalError::ShapeVanishes);
    }
    Ok(Weibull { shape, scale, log_likelihood, log_covariance })
}
