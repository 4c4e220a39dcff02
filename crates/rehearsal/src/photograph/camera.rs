//! The camera: focus, noise, eight bits a channel.

use lastmicron_raster::{Mask, Plane, smooth};
use rand_pcg::Pcg64;

use super::PhotographError;
use super::scenes::Scene;
use crate::chance::normal;

/// The top of the scale of 8 bits.
const TOP: f64 = 255.0;

/// Weights of red, green and blue in luma (ITU-R BT.601-7, section 2.5.1).
const LUMA: [f64; 3] = [0.299, 0.587, 0.114];

/// Blur below which none is drawn, pixels: on a lattice of whole pixels a narrower Gaussian is hardly one.
const LEAST_BLUR: f64 = 0.5;

/// A photograph as a file would hold it.
#[derive(Clone, Debug, PartialEq)]
pub struct Exposed {
    /// Light of each pixel: luma of channels that are whole numbers from 0 to 255.
    pub light: Plane,
    /// Pixels of which a channel is 255.
    pub clipped: Mask,
}

/// How a camera sees.
#[derive(Clone, Copy, Debug)]
pub(super) struct Camera {
    blur_px: f64,
    /// Variance of the noise: this times the light, and the square of `read`.
    shot: f64,
    read: f64,
    tint: [f64; 3],
}

impl Camera {
    pub(super) fn draw(scene: &Scene, chance: &mut Pcg64) -> Self {
        let (blur_px, shot, read) = (scene.blur_px.draw(chance), scene.shot.draw(chance), scene.read.draw(chance));
        Self { blur_px, shot, read, tint: scene.tint }
    }

    /// The light that the lens brings, out of focus as it is.
    pub(super) fn focus(&self, light: Plane) -> Result<Plane, PhotographError> {
        Ok(if self.blur_px < LEAST_BLUR { light } else { smooth(&light, self.blur_px)? })
    }

    /// What is kept of it. The noise is the same in all channels: its colour doesn't matter to a measurement of luma.
    pub(super) fn expose(&self, light: &Plane, exposure: f64, chance: &mut Pcg64) -> Result<Exposed, PhotographError> {
        let (width, height) = (light.width(), light.height());
        let mut exposed = Exposed { light: Plane::filled(width, height, 0.0)?, clipped: Mask::empty(width, height)? };
        for (y, row) in light.rows().enumerate() {
            for (x, (value, kept)) in row.iter().zip(exposed.light.row_mut(y)).enumerate() {
                let fallen = exposure * f64::from(*value);
                let noisy = normal(chance, fallen, (self.shot * fallen.max(0.0) + self.read * self.read).sqrt());
                let channels = self.tint.map(|tint| (tint * noisy).clamp(0.0, TOP).round());
                *kept = channels.iter().zip(LUMA).map(|(channel, weight)| channel * weight).sum::<f64>() as f32;
                if channels.iter().any(|channel| *channel >= TOP) {
                    exposed.clipped.insert(x, y);
                }
            }
        }
        Ok(exposed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::{Stream, dice};

    #[test]
    fn noise_has_the_variance_asked_for() {
        let camera = Camera { blur_px: 0.0, shot: 0.3, read: 2.0, tint: [1.0; 3] };
        let light = Plane::filled(400, 300, 60.0).unwrap();
        let exposed = camera.expose(&light, 1.5, &mut dice(3, Stream::FirstPhotograph)).unwrap();
        let values = || exposed.light.values().iter().map(|value| f64::from(*value));
        let mean = values().sum::<f64>() / 120_000.0;
        let variance = values().map(|value| (value - mean).powi(2)).sum::<f64>() / 120_000.0;
        // [D] light 90; variance 0.3 x 90 + 4, and 1/12 of rounding; limits are 4 standard errors
        assert!((mean - 90.0).abs() < 0.065, "{mean}");
        assert!((variance - 31.083).abs() < 0.51, "{variance}");
        assert_eq!(exposed.clipped.count(), 0);
    }

    #[test]
    fn a_pixel_is_clipped_as_soon_as_one_channel_is() {
        let camera = Camera { blur_px: 0.0, shot: 0.0, read: 0.0, tint: [1.0, 0.9, 0.75] };
        let light = Plane::new(3, 1, vec![254.4, 254.6, 400.0]).unwrap();
        let exposed = camera.expose(&light, 1.0, &mut dice(3, Stream::FirstPhotograph)).unwrap();
        assert_eq!([0, 1, 2].map(|x| exposed.clipped.get(x, 0)), [false, true, true]);
        // [D] 0.299 x 255 + 0.587 x 229 + 0.114 x 191, and 255 of all
        assert!((exposed.light.values()[1] - 232.442).abs() < 1e-3 && (exposed.light.values()[2] - 255.0).abs() < 1e-3);
    }
}
