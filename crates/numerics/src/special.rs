//! Tails and quantiles of the sampling distributions: chi-squared, Student's t, Fisher's F.

use statrs::function::beta::beta_reg;
use statrs::function::gamma::gamma_lr;

/// Why a tail or a quantile is not defined.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum SpecialError {
    /// Degrees of freedom that are not a positive number.
    #[error("{0} degrees of freedom: they must be more than 0")]
    DegreesOfFreedom(f64),
    /// A probability that is not between 0 and 1.
    #[error("probability {0}: it must lie between 0 and 1, both excluded")]
    Probability(f64),
    /// An argument below 0, or not a number.
    #[error("argument {0}: it must be a number from 0 upwards")]
    Argument(f64),
}

/// The x with P(chi-squared with `df` degrees of freedom <= x) = `p`, by bisection to the last bit.
///
/// # Errors
/// [`SpecialError`] when `df` is not more than 0 or `p` not between 0 and 1.
pub fn chi_squared_quantile(p: f64, df: f64) -> Result<f64, SpecialError> {
    degrees(df)?;
    probability(p)?;
    Ok(increasing_root(df, |x| gamma_lr(df / 2.0, x / 2.0) - p))
}

/// P(F with `df1` and `df2` degrees of freedom > x), by the incomplete beta function.
///
/// # Errors
/// [`SpecialError`] when degrees of freedom are not more than 0 or `x` is below 0.
pub fn f_upper_tail(x: f64, df1: f64, df2: f64) -> Result<f64, SpecialError> {
    degrees(df1)?;
    degrees(df2)?;
    argument(x)?;
    if x.is_infinite() {
        return Ok(0.0);
    }
    Ok(beta_reg(df2 / 2.0, df1 / 2.0, df2 / (df2 + df1 * x)))
}

/// Tail from which a quantile of Student's t is sought from the middle. Judgement: anywhere well inside 0 to 0.5 serves.
const MIDDLE: f64 = 0.2;

/// The t with P(Student's t with `df` degrees of freedom <= t) = `p`, by bisection to the last bit.
///
/// # Errors
/// [`SpecialError`] when `df` is not more than 0 or `p` not between 0 and 1.
pub fn student_t_quantile(p: f64, df: f64) -> Result<f64, SpecialError> {
    degrees(df)?;
    probability(p)?;
    let tail = p.min(1.0 - p);
    // The middle by what lies within t, the tails by what lies beyond: the other way round digits are lost.
    let middle = tail > MIDDLE;
    let upper = increasing_root(1.0, |t| {
        let square = t * t;
        if middle {
            0.5 * beta_reg(0.5, df / 2.0, square / (df + square)) - (0.5 - tail)
        } else {
            tail - 0.5 * beta_reg(df / 2.0, 0.5, df / (df + square))
        }
    });
    Ok(if p < 0.5 { -upper } else { upper })
}

fn degrees(df: f64) -> Result<(), SpecialError> {
    if df > 0.0 && df.is_finite() { Ok(()) } else { Err(SpecialError::DegreesOfFreedom(df)) }
}

fn probability(p: f64) -> Result<(), SpecialError> {
    if p > 0.0 && p < 1.0 { Ok(()) } else { Err(SpecialError::Probability(p)) }
}

fn argument(x: f64) -> Result<(), SpecialError> {
    if x >= 0.0 { Ok(()) } else { Err(SpecialError::Argument(x)) }
}

/// Root of an increasing function on the positive axis, from a bracket grown about `start`, halved until it no longer shrinks.
fn increasing_root(start: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (start, start);
    while f(low) > 0.0 && low > f64::MIN_POSITIVE {
        low /= 2.0;
    }
    while f(high) < 0.0 && high < f64::MAX / 4.0 {
        high *= 2.0;
    }
    loop {
        let middle = low + (high - low) / 2.0;
        if middle <= low || middle >= high {
            return middle;
        }
        if f(middle) < 0.0 { low = middle } else { high = middle }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, want: f64, tolerance: f64) {
        assert!((got / want - 1.0).abs() < tolerance, "{got} {want}");
    }

    #[test]
    fn chi_squared_agrees_with_multiprecision_arithmetic() {
        // mpmath, 40 digits [C]
        close(chi_squared_quantile(0.025, 4.0).unwrap(), 0.484_418_557_087_930_4, 1e-12);
        close(chi_squared_quantile(0.975, 4.0).unwrap(), 11.143_286_781_877_797, 1e-12);
        close(chi_squared_quantile(0.975, 300.0).unwrap(), 349.874_468_829_915_27, 1e-11);
    }

    #[test]
    fn student_agrees_with_multiprecision_arithmetic_and_the_gum() {
        // mpmath, 40 digits [C]; GUM H.1 prints 2.92
        close(student_t_quantile(0.995, 16.0).unwrap(), 2.920_781_622_425_1, 1e-12);
        close(student_t_quantile(0.025, 1.0).unwrap(), -12.706_204_736_174_71, 1e-12);
        close(student_t_quantile(0.5, 3.0).unwrap() + 1.0, 1.0, 1e-15);
        // [D] one degree of freedom: tan(pi (p - 1/2))
        for p in [0.500_000_1, 0.6, 0.7, 0.81, 0.9] {
            close(student_t_quantile(p, 1.0).unwrap(), (std::f64::consts::PI * (p - 0.5)).tan(), 1e-9);
        }
    }

    #[test]
    fn f_agrees_with_multiprecision_arithmetic() {
        // mpmath, 40 digits [C]
        close(f_upper_tail(1.180_462_374_402_55, 4.0, 20.0).unwrap(), 0.349_447_493_402_192_7, 1e-12);
        close(f_upper_tail(492.291, 9.0, 18.0).unwrap(), 1.163_072_932_971_74e-19, 1e-11);
    }

    #[test]
    fn arguments_that_make_no_sense_are_refused() {
        assert_eq!(chi_squared_quantile(0.5, 0.0), Err(SpecialError::DegreesOfFreedom(0.0)));
        assert_eq!(student_t_quantile(1.0, 3.0), Err(SpecialError::Probability(1.0)));
        assert!(f_upper_tail(f64::NAN, 1.0, 1.0).is_err());
    }
}
