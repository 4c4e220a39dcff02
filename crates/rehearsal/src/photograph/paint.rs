//! The light of the paint itself: its colour, the lamp mirrored in it, orange peel, flake.

use lastmicron_raster::{Plane, smooth};
use rand_distr::{Distribution, Exp1, StandardNormal};
use rand_pcg::Pcg64;

use super::PhotographError;
use super::lamp::Lamp;
use super::scenes::Scene;
use crate::chance::happens;

/// The lamp's image in its middle: more than the sensor holds.
const LAMP_LIGHT: f64 = 260.0;

/// How far the glow round the lamp and the glint of flake reach, by the picture's width.
const GLOW_REACH: f64 = 0.35;
const FLAKE_REACH: f64 = 0.5;

/// Spacing of the nodes between which orange peel is drawn, pixels: less than half its shortest length in a picture of one megapixel.
const PEEL_STEP: usize = 8;

/// Share of pixels with a flake that glints, and standard deviation of its image, pixels.
const FLAKES: f64 = 0.02;
const FLAKE_PX: f64 = 0.7;

/// Paint without scratches. Light of 255.
#[derive(Clone, Copy, Debug)]
pub(super) struct Paint {
    colour: f64,
    glow: f64,
    /// Standard deviation of what orange peel does to the light, as a share of it.
    peel: f64,
    peel_px: f64,
    /// Light of a flake whose image is one pixel.
    flake: f64,
}

impl Paint {
    pub(super) fn draw(scene: &Scene, scale: f64, chance: &mut Pcg64) -> Self {
        Self {
            colour: scene.paint.draw(chance),
            glow: scene.glow.draw(chance),
            peel: scene.peel.draw(chance),
            peel_px: scale * scene.peel_px.draw(chance),
            flake: scene.flake.draw(chance),
        }
    }

    /// Adds its light under a lamp to that of scratches.
    pub(super) fn add_to(&self, light: &mut Plane, lamp: &Lamp, chance: &mut Pcg64) -> Result<(), PhotographError> {
        let peel = if self.peel > 0.0 { Some(Peel::draw(light, self.peel_px, chance)?) } else { None };
        let flakes = if self.flake > 0.0 { Some(flakes(light, chance)?) } else { None };
        let width = light.width() as f64;
        for y in 0..light.height() {
            for (x, value) in light.row_mut(y).iter_mut().enumerate() {
                let distance = lamp.distance([x as f64, y as f64]);
                let mut here = self.colour + self.glow * (-distance / (GLOW_REACH * width)).exp();
                here += LAMP_LIGHT * (-0.5 * (distance / lamp.size_px).powi(2)).exp();
                if let Some(peel) = &peel {
                    here *= 1.0 + self.peel * peel.at(x, y);
                }
                if let Some(flakes) = &flakes {
                    here += self.flake * f64::from(flakes.row(y)[x]) * (-distance / (FLAKE_REACH * width)).exp();
                }
                *value += here as f32;
            }
        }
        Ok(())
    }
}

/// Waves of mean 0 and standard deviation 1, known at every eighth pixel each way.
struct Peel {
    nodes: Plane,
    sd: f64,
}

impl Peel {
    fn draw(over: &Plane, length_px: f64, chance: &mut Pcg64) -> Result<Self, PhotographError> {
        let [across, down] = [over.width(), over.height()].map(|pixels| pixels / PEEL_STEP + 2);
        let white = (0..across * down).map(|_| StandardNormal.sample(chance)).collect();
        let nodes = smooth(&Plane::new(across, down, white)?, length_px / PEEL_STEP as f64)?;
        let square: f64 = nodes.values().iter().map(|value| f64::from(*value).powi(2)).sum();
        Ok(Self { sd: (square / (across * down) as f64).sqrt(), nodes })
    }

    fn at(&self, x: usize, y: usize) -> f64 {
        let part = |at: usize| (at % PEEL_STEP) as f64 / PEEL_STEP as f64;
        let (column, row) = (x / PEEL_STEP, y / PEEL_STEP);
        let across = |row: &[f32]| (1.0 - part(x)) * f64::from(row[column]) + part(x) * f64::from(row[column + 1]);
        ((1.0 - part(y)) * across(self.nodes.row(row)) + part(y) * across(self.nodes.row(row + 1))) / self.sd
    }
}

/// Flakes that happen to lie so that they glint, each as bright as chance has it.
fn flakes(over: &Plane, chance: &mut Pcg64) -> Result<Plane, PhotographError> {
    let mut glints = Plane::filled(over.width(), over.height(), 0.0)?;
    for value in glints.values_mut() {
        if happens(chance, FLAKES) {
            *value = Exp1.sample(chance);
        }
    }
    Ok(smooth(&glints, FLAKE_PX)?)
}
