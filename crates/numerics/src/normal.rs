//! The standard normal distribution.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// Density of the standard normal distribution at `z`.
#[must_use]
pub fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// P(Z <= z), by the complementary error function, so that both tails keep their relative accuracy.
#[must_use]
pub fn cumulative(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// P(Z > z).
#[must_use]
pub fn upper_tail(z: f64) -> f64 {
    cumulative(-z)
}

/// The z with P(Z <= z) = `p`: minus infinity at 0, infinity at 1, NaN outside 0 to 1.
///
/// Method: rational approximation of the inverse complementary error function, then one step of Halley's method on
/// [`cumulative`] in the nearer tail.
#[must_use]
pub fn quantile(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p <= 0.5 { lower_quantile(p) } else { -lower_quantile(1.0 - p) }
}

fn lower_quantile(p: f64) -> f64 {
    if p == 0.0 {
        return f64::NEG_INFINITY;
    }
    let z = -std::f64::consts::SQRT_2 * statrs::function::erf::erfc_inv(2.0 * p);
    let slope = density(z);
    if slope < f64::MIN_POSITIVE {
        return z;
    }
    let step = (cumulative(z) - p) / slope;
    z - step / (1.0 + 0.5 * z * step)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// mpmath, 30 digits [C].
    const KNOWN: [(f64, f64); 8] = [
        (1e-300, -37.047_096_299_361_2),
        (1e-20, -9.262_340_089_798_408),
        (0.001, -3.090_232_306_167_813_5),
        (0.025, -1.959_963_984_540_054_3),
        (0.3, -0.524_400_512_708_040_8),
        (0.5, 0.0),
        (0.9, 1.281_551_565_544_600_5),
        (0.995, 2.575_829_303_548_901),
    ];

    #[test]
    fn quantiles_agree_with_multiprecision_arithmetic() {
        for (p, z) in KNOWN {
            assert!((quantile(p) - z).abs() <= 2e-15 * f64::abs(z).max(1.0), "{p}: {} {z}", quantile(p));
        }
    }

    #[test]
    fn the_far_lower_tail_keeps_its_relative_accuracy() {
        // mpmath [C]: Phi(-10), Phi(-30)
        assert!((cumulative(-10.0) / 7.619_853_024_160_526e-24 - 1.0).abs() < 1e-14);
        assert!((upper_tail(30.0) / 4.906_713_927_148_187e-198 - 1.0).abs() < 1e-13);
    }

    #[test]
    fn a_probability_outside_0_to_1_has_no_quantile() {
        assert!(quantile(-0.1).is_nan() && quantile(1.1).is_nan() && quantile(f64::NAN).is_nan());
        assert_eq!((quantile(0.0), quantile(1.0)), (f64::NEG_INFINITY, f64::INFINITY));
    }

    #[test]
    fn density_is_the_slope_of_the_cumulative() {
        for z in [-3.0, -0.4, 0.0, 1.7] {
            let slope = (cumulative(z + 1e-5) - cumulative(z - 1e-5)) / 2e-5;
            assert!((density(z) - slope).abs() < 1e-10);
        }
    }
}
