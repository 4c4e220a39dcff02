//! Exponential lifetimes by maximum likelihood.

use super::{Censored, SurvivalError, distinct};

/// Steps after which the search for the rate gives up; Newton's method takes about ten.
const MOST_STEPS: usize = 200;

/// An exponential distribution of lifetimes: P(T > t) = exp(-t / mean).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exponential {
    /// Mean lifetime, in the unit of the data.
    pub mean: f64,
    /// Natural logarithm of the likelihood of all counts.
    pub log_likelihood: f64,
    /// Standard error of log(mean), from the observed information.
    pub sd_log_mean: f64,
}

impl Exponential {
    /// P(T > `t`).
    #[must_use]
    pub fn survival(&self, t: f64) -> f64 {
        (-t.max(0.0) / self.mean).exp()
    }
}

/// Log-likelihood of the rate, its first and its second derivative.
#[derive(Default)]
struct Slope {
    value: f64,
    first: f64,
    second: f64,
}

/// The exponential distribution of largest likelihood for `data`.
///
/// Method: the log-likelihood is concave in the rate r, a row giving -r low + log(1 - exp(-r (high - low))); Newton's method on
/// its derivative inside a bracket. For n lifetimes looked at after equal steps of length s it is the closed form
/// r = -log(1 - p) / s with p the ended over those at risk.
///
/// # Errors
/// [`SurvivalError::Empty`]; [`SurvivalError::NoneEnded`] when everything is right-censored; [`SurvivalError::AllAtZero`] when
/// every lifetime may have ended at once.
pub fn exponential(data: &[Censored]) -> Result<Exponential, SurvivalError> {
    let rows = distinct(data)?;
    let ended: f64 = rows.iter().filter(|row| row.high.is_finite()).map(|row| row.count).sum();
    if ended == 0.0 {
        return Err(SurvivalError::NoneEnded);
    }
    if rows.iter().all(|row| row.low == 0.0) {
        return Err(SurvivalError::AllAtZero);
    }
    let lived: f64 =
        rows.iter().map(|row| row.count * if row.high.is_finite() { row.low + (row.high - row.low) / 2.0 } else { row.low }).sum();
    let rate = best_rate(&rows, ended / lived)?;
    let at = slope(&rows, rate);
    Ok(Exponential { mean: 1.0 / rate, log_likelihood: at.value, sd_log_mean: 1.0 / (rate * (-at.second).sqrt()) })
}

fn best_rate(rows: &[Censored], start: f64) -> Result<f64, SurvivalError> {
    let (mut low, mut high) = (0.0, f64::INFINITY);
    let mut rate = start;
    for _ in 0..MOST_STEPS {
        let at = slope(rows, rate);
        if at.first >= 0.0 {
            low = rate;
        }
        if at.first <= 0.0 {
            high = rate;
        }
        let mut next = rate - at.first / at.second;
        if !(next > low && next < high) {
            next = if high.is_finite() { low + (high - low) / 2.0 } else { rate * 2.0 };
        }
        if (next - rate).abs() <= 2.0 * f64::EPSILON * rate {
            return Ok(next);
        }
        rate = next;
    }
    Err(SurvivalError::NotConverged { gap: f64::INFINITY })
}

fn slope(rows: &[Censored], rate: f64) -> Slope {
    let mut sum = Slope::default();
    for row in rows {
        sum.value -= row.count * rate * row.low;
        sum.first -= row.count * row.low;
        if row.is_exact() {
            sum.value += row.count * rate.ln();
            sum.first += row.count / rate;
            sum.second -= row.count / (rate * rate);
        } else if row.high.is_finite() {
            let width = row.high - row.low;
            // odds of ending within the interval's width: 1 / (exp(r w) - 1)
            let q = 1.0 / (rate * width).exp_m1();
            sum.value -= row.count * q.ln_1p();
            sum.first += row.count * width * q;
            sum.second -= row.count * width * width * q * (1.0 + q);
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(data: &[(f64, Option<f64>, f64)]) -> Vec<Censored> {
        data.iter().map(|&(low, high, count)| Censored::new(low, high, count).unwrap()).collect()
    }

    #[test]
    fn survivors_of_equal_steps_have_the_closed_form() {
        // 100 -> 60 -> 36 [D]: p = 64/160; rate and standard error computed [C]
        let fit = exponential(&rows(&[(0.0, Some(1.0), 40.0), (1.0, Some(2.0), 24.0), (2.0, None, 36.0)])).unwrap();
        assert!((1.0 / fit.mean - 0.510_825_623_765_990_7).abs() < 1e-15);
        assert!((fit.sd_log_mean / fit.mean - 0.064_549_7).abs() < 5e-8);
        let by_hand = 64.0 * f64::ln(0.4) + 96.0 * f64::ln(0.6);
        assert!((fit.log_likelihood - by_hand).abs() < 1e-12);
    }

    #[test]
    fn exact_lifetimes_have_their_mean() {
        let fit = exponential(&rows(&[(1.0, Some(1.0), 1.0), (2.0, Some(2.0), 2.0), (7.0, None, 1.0)])).unwrap();
        assert!((fit.mean - 4.0).abs() < 1e-14);
        assert!((fit.sd_log_mean - 1.0 / 3f64.sqrt()).abs() < 1e-14);
    }

    #[test]
    fn one_interval_has_a_rate_when_it_does_not_begin_at_0() {
        // -a + w / (exp(r w) - 1) = 0, so r = log(1 + w / a) / w [D]
        let fit = exponential(&rows(&[(3.0, Some(5.0), 7.0)])).unwrap();
        assert!((fit.mean - 2.0 / f64::ln(5.0 / 3.0)).abs() < 1e-13);
        assert_eq!(exponential(&rows(&[(0.0, Some(5.0), 7.0)])), Err(SurvivalError::AllAtZero));
        assert_eq!(exponential(&rows(&[(0.0, Some(5.0), 7.0), (0.0, None, 3.0)])), Err(SurvivalError::AllAtZero));
    }

    #[test]
    fn nothing_ended_or_nothing_counted_is_said() {
        assert_eq!(exponential(&rows(&[(3.0, None, 7.0), (0.0, None, 1.0)])), Err(SurvivalError::NoneEnded));
        assert_eq!(exponential(&[]), Err(SurvivalError::Empty));
    }

    #[test]
    fn counts_and_units_of_any_size_scale_out() {
        let unit = [(0.0, Some(1.0), 40.0), (1.0, Some(2.5), 24.0), (2.0, None, 36.0)];
        let base = exponential(&rows(&unit)).unwrap();
        for (k, c) in [(1e-150, 1e12), (1e150, 1e-9), (1.0, 1e300)] {
            let scaled: Vec<_> = unit.iter().map(|&(l, h, n)| (l * k, h.map(|h| h * k), n * c)).collect();
            let fit = exponential(&rows(&scaled)).unwrap();
            assert!((fit.mean / k / base.mean - 1.0).abs() < 1e-12, "{k} {c}");
        }
    }

    #[test]
    fn survival_falls_from_1() {
        let fit = Exponential { mean: 2.0, log_likelihood: 0.0, sd_log_mean: 0.1 };
        assert!((fit.survival(2.0) - (-1f64).exp()).abs() < 1e-15 && (fit.survival(-1.0) - 1.0).abs() < 1e-15);
    }
}
