//! Elliptic integrals in Legendre's form, by the parameter m (the square of the modulus k).

/// K(m), complete, of the first kind: the integral of 1 / sqrt(1 - m sin^2 t) from 0 to pi/2.
///
/// Method: the crate `ellip`. Source: NIST Digital Library of Mathematical Functions, 19.2.8. For m from 0 to below 1; infinite at 1, NaN
/// elsewhere above.
///
/// ```
/// assert!((lastmicron_numerics::elliptic::complete_first(0.5) - 1.854_074_677_301_371_9).abs() < 1e-15);
/// ```
#[must_use]
pub fn complete_first(m: f64) -> f64 {
    ellip::ellipk(m).unwrap_or(f64::NAN)
}

/// E(m), complete, of the second kind: the integral of sqrt(1 - m sin^2 t) from 0 to pi/2.
///
/// Method: the crate `ellip`. Source: NIST Digital Library of Mathematical Functions, 19.2.8. For m from 0 to 1; NaN above.
///
/// ```
/// assert!((lastmicron_numerics::elliptic::complete_second(1.0) - 1.0).abs() < 1e-15);
/// ```
#[must_use]
pub fn complete_second(m: f64) -> f64 {
    ellip::ellipe(m).unwrap_or(f64::NAN)
}

/// E(phi, m), incomplete, of the second kind: the integral of sqrt(1 - m sin^2 t) from 0 to `phi`, radians.
///
/// Method: the crate `ellip`. Source: NIST Digital Library of Mathematical Functions, 19.2.5. For m from 0 to 1; NaN where m sin^2 t goes above 1.
///
/// ```
/// let e = lastmicron_numerics::elliptic::incomplete_second(0.3, 1.0);
/// assert!((e - 0.3f64.sin()).abs() < 1e-15);
/// ```
#[must_use]
pub fn incomplete_second(phi: f64, m: f64) -> f64 {
    ellip::ellipeinc(phi, m).unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;

    use std::f64::consts::FRAC_PI_2;

    use proptest::prelude::*;

    #[test]
    fn complete_integrals_have_their_known_values() {
        // m, E, K: [C] mpmath 1.4.1, 30 digits
        let table = [
            (0.0, FRAC_PI_2, FRAC_PI_2),
            (0.25, 1.467_462_209_339_427_2, 1.685_750_354_812_596),
            (0.5, 1.350_643_881_047_675_5, 1.854_074_677_301_371_9),
            (0.75, 1.211_056_027_568_459_5, 2.156_515_647_499_643_2),
            (0.9, 1.104_774_732_704_073_3, 2.578_092_113_348_173_3),
            (0.99, 1.015_993_545_025_224, 3.695_637_362_989_874),
        ];
        for (m, e, k) in table {
            assert!((complete_second(m) - e).abs() < 1e-14, "E({m})");
            assert!((complete_first(m) - k).abs() < 1e-14, "K({m})");
        }
        assert!((complete_second(1.0) - 1.0).abs() < 1e-15);
        assert!(complete_first(1.0).is_infinite());
        assert!(complete_second(1.1).is_nan() && complete_second(f64::NAN).is_nan());
    }

    proptest! {
        #[test]
        fn legendres_relation_holds(m in 0.001..0.999f64) {
            // [D] E(m) K(1-m) + E(1-m) K(m) - K(m) K(1-m) = pi / 2
            let (k, e, other_k, other_e) = (complete_first(m), complete_second(m), complete_first(1.0 - m), complete_second(1.0 - m));
            prop_assert!((e * other_k + other_e * k - k * other_k - FRAC_PI_2).abs() < 1e-13);
        }

        #[test]
        fn an_incomplete_integral_ends_in_the_complete_one(m in 0.0..1.0f64) {
            prop_assert!((incomplete_second(FRAC_PI_2, m) - complete_second(m)).abs() < 1e-14);
        }
    }
}
