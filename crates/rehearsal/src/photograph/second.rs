//! A second photograph, taken by hand.

use lastmicron_raster::{Plane, PlaneError};
use rand_pcg::Pcg64;

use crate::chance::{Range, normal};

/// Standard deviations of how far the camera is turned, radians, and shifted, pixels of a picture 2000 pixels wide, and of the logarithm of how much larger the panel is from nearer; and how it is exposed by the first.
/// Judgement: a person who tries to take the same picture again.
const TURNED: f64 = 0.02;
const SHIFTED_PX: f64 = 12.0;
const NEARER: f64 = 0.03;
const EXPOSURE: Range = Range::between(0.8, 1.2);

/// The light of a picture, shifted, turned about its middle and from nearer or farther, and how it is exposed.
pub(super) fn by_hand(light: &Plane, scale: f64, chance: &mut Pcg64) -> Result<(Plane, f64), PlaneError> {
    let turn = normal(chance, 0.0, TURNED);
    let size = normal(chance, 0.0, NEARER).exp();
    let shift = [0, 1].map(|_| normal(chance, 0.0, SHIFTED_PX * scale));
    Ok((moved(light, turn, size, shift)?, EXPOSURE.draw(chance)))
}

/// Each pixel as the place in `light` that it shows has it, between the four nearest; beyond the border as the border has it.
fn moved(light: &Plane, turn: f64, size: f64, shift: [f64; 2]) -> Result<Plane, PlaneError> {
    let (sine, cosine) = (turn.sin() / size, turn.cos() / size);
    let [last_x, last_y] = [light.width(), light.height()].map(|pixels| pixels - 1);
    let middle = [last_x, last_y].map(|last| 0.5 * last as f64);
    let mut moved = Plane::filled(light.width(), light.height(), 0.0)?;
    for y in 0..light.height() {
        for (x, value) in moved.row_mut(y).iter_mut().enumerate() {
            let [right, down] = [x as f64 - middle[0], y as f64 - middle[1]];
            let from_x = (middle[0] + cosine * right - sine * down + shift[0]).clamp(0.0, last_x as f64);
            let from_y = (middle[1] + sine * right + cosine * down + shift[1]).clamp(0.0, last_y as f64);
            let (column, row) = (from_x as usize, from_y as usize);
            let (part_x, part_y) = ((from_x - column as f64) as f32, (from_y - row as f64) as f32);
            let across = |row: &[f32]| (1.0 - part_x) * row[column] + part_x * row[(column + 1).min(last_x)];
            *value = (1.0 - part_y) * across(light.row(row)) + part_y * across(light.row((row + 1).min(last_y)));
        }
    }
    Ok(moved)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slope_stays_a_slope() {
        // Bilinear resampling keeps a linear function as it is.
        let slope = |x: f64, y: f64| 3.0 + 0.5 * x - 0.25 * y;
        let light = Plane::new(41, 31, (0..41 * 31).map(|i| slope((i % 41) as f64, (i / 41) as f64) as f32).collect()).unwrap();
        let (sine, cosine) = (0.1_f64.sin() / 1.02, 0.1_f64.cos() / 1.02);
        let moved = moved(&light, 0.1, 1.02, [1.25, -0.5]).unwrap();
        for (x, y) in [(20, 15), (25, 12), (12, 20)] {
            let [right, down] = [x as f64 - 20.0, y as f64 - 15.0];
            let expected = slope(21.25 + cosine * right - sine * down, 14.5 + sine * right + cosine * down); // [D]
            assert!((f64::from(moved.row(y)[x]) - expected).abs() < 1e-5, "{x} {y}");
        }
    }

    #[test]
    fn beyond_the_border_is_what_the_border_has() {
        let light = Plane::new(2, 2, vec![1.0, 2.0, 3.0, 4.0]).unwrap();
        assert_eq!(moved(&light, 0.0, 1.0, [9.0, -9.0]).unwrap().values(), [2.0; 4]);
    }
}
