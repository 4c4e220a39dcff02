//! Scratches that stand out one by one, for the eye to check.

use lastmicron_raster::{Mask, Plane, SigmaError, hysteresis, ridge, skeleton};

use super::rings::median;

/// Sigmas of the ridge filter, pixels: from the sharpest scratch to a blurred one.
const SIGMAS: [f64; 4] = [1.0, 1.5, 2.0, 3.0];

/// Responses that are followed, and those of which one at least must be on a ridge, by the middle response of all pixels compared, which is that of noise. Measured on normal noise: one pixel in
/// 100,000 reaches 5.7, and 7 in a million are drawn; with 3 and 5 it is 200. Higher ones hide what the eye sees on bright paint.
const FOLLOWED: f32 = 3.0;
const STANDS_OUT: f32 = 6.0;

/// Middle lines of the ridges that stand out from the photograph's own noise, among the pixels compared.
///
/// Shares are not computed from these: the faintest scratches drown in noise on both sides, the more of them where more has been taken.
///
/// # Errors
/// None in truth: the sigmas are fixed.
pub fn outstanding(light: &Plane, compared: &Mask) -> Result<Mask, SigmaError> {
    let mut response = ridge::response(light, &SIGMAS)?;
    let sample = compared.iter().step_by(29).map(|(x, y)| f64::from(response.row(y)[x])).collect();
    let usual = median(sample) as f32;
    for y in 0..response.height() {
        let row = response.row_mut(y);
        (0..row.len()).filter(|x| !compared.get(*x, y)).for_each(|x| row[x] = 0.0);
    }
    Ok(skeleton(&hysteresis(&response, FOLLOWED * usual, STANDS_OUT * usual)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Noise of a normal law, the same each time: twelve even numbers summed.
    fn noise(at: usize) -> f32 {
        let even =
            |k: usize| (((at * 12 + k) as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5DEE_CE66).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        (0..12).map(|k| (even(k) >> 40) as f32 / (1_u64 << 24) as f32 - 0.5).sum()
    }

    #[test]
    fn a_scratch_is_followed_and_noise_is_not() {
        let side = 600;
        let at = |i: usize, height: f32| {
            let across = (i / side) as f32 - 300.0;
            100.0 + 3.0 * noise(i) + height * (-0.5 * (across / 1.2).powi(2)).exp()
        };
        let drawn = |height: f32| {
            let light = Plane::new(side, side, (0..side * side).map(|i| at(i, height)).collect()).unwrap();
            outstanding(&light, &Mask::of(side, side, |x, y| x.min(y) > 20 && x.max(y) < 580).unwrap()).unwrap()
        };
        assert!(drawn(0.0).count() < 20, "{}", drawn(0.0).count());
        let seen = drawn(20.0);
        let along = seen.iter().filter(|(_, y)| y.abs_diff(300) < 3).count();
        assert!(along > 500 && seen.count() - along < 20, "{along} of {}", seen.count());
    }
}
