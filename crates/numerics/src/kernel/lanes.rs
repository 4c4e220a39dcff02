//! Correlations of many places at once, written so that the compiler can work on several in one instruction.

use super::Family;

/// e to the power `x`, for `x` in -708 to 0; beyond, the nearer end's value. Relative error below 3e-16.
///
/// Method: x = n ln 2 + r with |r| <= ln 2 / 2; the Taylor series of e^r to the 13th power (remainder below 3e-18); scaling by 2^n through the
/// exponent bits. No branch, no table: so that it vectorises. Without fused multiply-add in the machine it is right but slow.
/// Source: Muller et al., Handbook of Floating-Point Arithmetic (2nd ed. 2018), section 10.3 (argument reduction with a split ln 2).
#[inline(always)]
pub(crate) fn exp_of_negative(x: f64) -> f64 {
    /// 1.5 * 2^52: added and taken away it leaves the nearest integer, and its low bits hold that integer.
    const ROUND: f64 = 6_755_399_441_055_744.0;
    /// ln 2 in two parts; the first has 21 trailing zero bits, so that n times it is exact.
    const LN_2_HIGH: f64 = 0.693_147_180_369_123_8;
    const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;
    const FACTORIAL: [f64; 14] =
        [1.0, 1.0, 2.0, 6.0, 24.0, 120.0, 720.0, 5_040.0, 40_320.0, 362_880.0, 3_628_800.0, 39_916_800.0, 479_001_600.0, 6_227_020_800.0];
    let x = x.clamp(-708.0, 0.0);
    let shifted = x.mul_add(std::f64::consts::LOG2_E, ROUND);
    let n = shifted - ROUND;
    let r = n.mul_add(-LN_2_LOW, n.mul_add(-LN_2_HIGH, x));
    let mut series = 1.0 / FACTORIAL[13];
    for k in (0..13).rev() {
        series = series.mul_add(r, 1.0 / FACTORIAL[k]);
    }
    let power = f64::from_bits((shifted.to_bits() << 52).wrapping_add(1023 << 52));
    series * power
}

impl Family {
    /// Correlation at a squared distance of `r2` lengths squared: [`Family::correlation`] to 1e-15, for loops over many places.
    #[inline(always)]
    pub(crate) fn correlation_of_square(self, r2: f64) -> f64 {
        /// Beyond this power every correlation is below 1e-300; held there, so that no infinity is multiplied by nothing.
        const FAR: f64 = 700.0;
        match self {
            Self::Exponential => exp_of_negative(-r2.sqrt()),
            Self::Matern32 => {
                let a = (3.0 * r2).sqrt().min(FAR);
                (1.0 + a) * exp_of_negative(-a)
            }
            Self::Matern52 => {
                let a = (5.0 * r2).sqrt().min(FAR);
                a.mul_add(a / 3.0, 1.0 + a) * exp_of_negative(-a)
            }
            Self::Gaussian => exp_of_negative(-0.5 * r2),
        }
    }

    /// Replaces squared distances, in lengths squared, by correlations. The family is asked for once, so that each loop vectorises.
    #[inline(always)]
    pub(crate) fn correlate_squares(self, values: &mut [f64]) {
        match self {
            Self::Exponential => {
                for value in values {
                    *value = Self::Exponential.correlation_of_square(*value);
                }
            }
            Self::Matern32 => {
                for value in values {
                    *value = Self::Matern32.correlation_of_square(*value);
                }
            }
            Self::Matern52 => {
                for value in values {
                    *value = Self::Matern52.correlation_of_square(*value);
                }
            }
            Self::Gaussian => {
                for value in values {
                    *value = Self::Gaussian.correlation_of_square(*value);
                }
            }
        }
    }

    /// Derivative of the correlation to the logarithm of the length, at a squared distance of `r2` lengths squared.
    #[inline(always)]
    pub(crate) fn length_slope_of_square(self, r2: f64) -> f64 {
        /// As above, with room for a third power.
        const FAR: f64 = 690.0;
        match self {
            Self::Exponential => {
                let a = r2.sqrt().min(FAR);
                a * exp_of_negative(-a)
            }
            Self::Matern32 => {
                let a = (3.0 * r2).sqrt().min(FAR);
                a * a * exp_of_negative(-a)
            }
            Self::Matern52 => {
                let a = (5.0 * r2).sqrt().min(FAR);
                a * a * (1.0 + a) / 3.0 * exp_of_negative(-a)
            }
            Self::Gaussian => {
                let square = r2.min(2.0 * FAR);
                square * exp_of_negative(-0.5 * square)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_exponential_agrees_with_the_standard_one() {
        for i in 0..200_000 {
            let x = -f64::from(i) * 0.003_54;
            let (got, want) = (exp_of_negative(x), x.exp());
            assert!((got / want - 1.0).abs() < 5e-16, "{x}: {got:e} {want:e}");
        }
        assert!(exp_of_negative(f64::NEG_INFINITY) < 1e-300);
    }

    #[test]
    fn correlations_of_squares_agree_with_correlations() {
        for family in Family::ALL {
            for i in 0..2000 {
                let r = f64::from(i) * 0.01;
                let (got, want) = (family.correlation_of_square(r * r), family.correlation(r));
                assert!((got - want).abs() <= 1e-15 + 2e-13 * want, "{family:?} {r}: {got:e} {want:e}");
                assert!((got - want).abs() <= 2e-15, "{family:?} {r}: {got:e} {want:e}");
            }
            assert!(family.correlation_of_square(f64::INFINITY) < 1e-290);
        }
    }

    #[test]
    fn slopes_are_the_change_with_the_length() {
        let h = 1e-5_f64;
        for family in Family::ALL {
            for r in [0.0, 0.2, 1.0, 3.0] {
                let difference = (family.correlation(r * (-h).exp()) - family.correlation(r * h.exp())) / (2.0 * h);
                assert!((family.length_slope_of_square(r * r) - difference).abs() < 1e-9, "{family:?} {r}");
            }
        }
    }
}
