//! Standard normal noise in bulk.

use rand::Rng;
use rustfft::num_complex::Complex;

use crate::wide::wide;

/// Numbers made together: enough for the widest vectors, few enough to stay in registers and the nearest cache.
const TOGETHER: usize = 64;

/// Complex noise, real and imaginary parts independent standard normals, times `weights`.
///
/// Method: a radius sqrt(-2 ln u) and an angle in the first quadrant, each from 31 random bits, and two random signs; polynomials in single
/// precision instead of library calls, so that it vectorises. Values end at 6.7 standard deviations, beyond which a normal lies once in
/// 4e10 times.
/// Source: Box & Muller, A note on the generation of random normal deviates, Ann. Math. Stat. 29 (1958).
pub(super) fn weighted_noise(rng: &mut impl Rng, weights: &[f32]) -> Vec<Complex<f32>> {
    let bits: Vec<u64> = weights.iter().map(|_| rng.next_u64()).collect();
    let mut waves = vec![Complex::default(); weights.len()];
    fill(&bits, weights, &mut waves);
    waves
}

wide! {
    fn fill<'a>(bits: &'a [u64], weights: &'a [f32], waves: &'a mut [Complex<f32>]) -> () {
        for ((waves, weights), bits) in waves.chunks_mut(TOGETHER).zip(weights.chunks(TOGETHER)).zip(bits.chunks(TOGETHER)) {
            let (mut re, mut im) = ([0.0; TOGETHER], [0.0; TOGETHER]);
            for ((re, im), bits) in re.iter_mut().zip(&mut im).zip(bits) {
                (*re, *im) = normal_pair(*bits);
            }
            for ((wave, weight), (re, im)) in waves.iter_mut().zip(weights).zip(re.iter().zip(&im)) {
                *wave = Complex::new(weight * re, weight * im);
            }
        }
    }
}

/// Two independent standard normals from 64 random bits.
#[inline(always)]
fn normal_pair(bits: u64) -> (f32, f32) {
    /// 2^-31.
    const UNIT: f32 = 1.0 / 2_147_483_648.0;
    let (high, low) = ((bits >> 32) as u32, bits as u32);
    let share = (((high >> 1) as i32) as f32 + 0.5) * UNIT;
    let radius = (-2.0 * ln_of_share(share)).max(0.0).sqrt() * std::f32::consts::FRAC_1_SQRT_2;
    let turn = ((low >> 1) as i32 as f32).mul_add(UNIT, -0.5) * std::f32::consts::FRAC_PI_2;
    let (sin, cos) = sin_cos_of_eighth(turn);
    let signed = |value: f32, bit: u32| f32::from_bits(value.to_bits() ^ (bit << 31));
    (signed(radius * (cos - sin), high & 1), signed(radius * (cos + sin), low & 1))
}

/// Natural logarithm of a normal float in (0, 1]: exponent times ln 2, plus the series of the inverse hyperbolic tangent for the mantissa in
/// sqrt(1/2) to sqrt(2). Relative error about 2e-7.
#[inline(always)]
fn ln_of_share(share: f32) -> f32 {
    /// Bits of sqrt(1/2): taken off, what carries into the exponent is the nearest power of two.
    const ROOT_HALF: u32 = 0x3F35_04F3;
    let shifted = share.to_bits().wrapping_sub(ROOT_HALF);
    let exponent = ((shifted as i32) >> 23) as f32;
    let mantissa = f32::from_bits((shifted & 0x007F_FFFF).wrapping_add(ROOT_HALF));
    let s = (mantissa - 1.0) / (mantissa + 1.0);
    let s2 = s * s;
    let series = s2.mul_add(s2.mul_add(s2.mul_add(s2.mul_add(1.0 / 9.0, 1.0 / 7.0), 1.0 / 5.0), 1.0 / 3.0), 1.0);
    exponent.mul_add(std::f32::consts::LN_2, 2.0 * s * series)
}

/// Sine and cosine of an angle of an eighth turn at most either way, by Taylor's series to the 9th power.
#[inline(always)]
fn sin_cos_of_eighth(x: f32) -> (f32, f32) {
    let x2 = x * x;
    let sin = x2.mul_add(x2.mul_add(x2.mul_add(x2.mul_add(1.0 / 362_880.0, -1.0 / 5_040.0), 1.0 / 120.0), -1.0 / 6.0), 1.0) * x;
    let cos = x2.mul_add(x2.mul_add(x2.mul_add(x2.mul_add(1.0 / 40_320.0, -1.0 / 720.0), 1.0 / 24.0), -0.5), 1.0);
    (sin, cos)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_pcg::Pcg64;

    #[test]
    fn logarithms_sines_and_cosines_agree_with_the_standard_ones() {
        for i in 1..100_000_u32 {
            let share = (f64::from(i) / 100_000.0).powi(4) as f32;
            assert!((ln_of_share(share) - share.ln()).abs() <= 4e-7 * share.ln().abs().max(0.3), "{share}");
            let x = (f64::from(i) / 50_000.0 - 1.0) as f32 * std::f32::consts::FRAC_PI_4;
            let (sin, cos) = sin_cos_of_eighth(x);
            assert!((sin - x.sin()).abs() < 2e-7 && (cos - x.cos()).abs() < 2e-7, "{x}");
        }
    }

    #[test]
    fn the_ends_of_the_random_bits_give_finite_numbers() {
        for bits in [0, u64::MAX, 1 << 63, 0xFFFF_FFFF, 0xFFFF_FFFF << 32] {
            let (a, b) = normal_pair(bits);
            assert!(a.abs() < 6.7 && b.abs() < 6.7, "{bits:x}: {a} {b}");
        }
    }

    #[test]
    fn noise_has_the_normal_distribution_and_independent_parts() {
        let mut rng = Pcg64::seed_from_u64(3);
        let n = 1_000_000;
        let waves = weighted_noise(&mut rng, &vec![1.0; n / 2]);
        let count = n as f64;
        let product: f64 = waves.iter().map(|w| f64::from(w.re * w.im)).sum();
        let squares: f64 = waves.iter().map(|w| f64::from((w.re * w.re - 1.0) * (w.im * w.im - 1.0))).sum();
        assert!(product.abs() < 4.5 * (count / 2.0).sqrt() && squares.abs() < 4.5 * (2.0 * count).sqrt(), "{product} {squares}");
        let mut values: Vec<f64> = waves.iter().flat_map(|w| [f64::from(w.re), f64::from(w.im)]).collect();
        values.sort_by(f64::total_cmp);
        let cumulative = |z: f64| 0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2);
        let worst = values.iter().enumerate().map(|(i, z)| (cumulative(*z) - (i as f64 + 0.5) / count).abs()).fold(0.0, f64::max);
        // Kolmogorov: once in 10,000 samples beyond 2.23 / sqrt(n).
        assert!(worst * count.sqrt() < 2.23, "{}", worst * count.sqrt());
        // Beyond 4 standard deviations either way: 63.3 of a million expected.
        let beyond = values.iter().filter(|z| z.abs() > 4.0).count();
        assert!((28..=99).contains(&beyond), "{beyond}");
    }
}
