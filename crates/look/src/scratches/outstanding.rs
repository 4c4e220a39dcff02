//! Scratches that stand out one by one, for the eye to check.

use lastmicron_raster::{Mask, Plane, SigmaError, hysteresis, ridge, skeleton};

use super::rings::median;

/// Sigmas of the ridge filter, pixels: from the sharpest scratch to a blurred one.
const SIGMAS: [f64; 4] = [1.0, 1.5, 2.0, 3.0];

/// Responses that are followed, and those of which one at least must be on a ridge, by the middle response of all pixels compared, which is that of noise. Judgement: in noise alone one pixel
/// in 10,000 reaches the higher; lower ones would draw noise as scratches, higher ones would hide what the eye sees.
const FOLLOWED: f32 = 4.0;
const STANDS_OUT: f32 = 9.0;

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
