//! Invented photographs of a panel under one small lamp, with what polishing took of their scratches known.
//!
//! A fine scratch throws the lamp's light to the eye only where it runs round the lamp's image in the paint, so that scratches show as arcs round the
//! highlight. Polishing takes the same depth off each; what is shallower is gone. A [`Scene`] says what kind of paint, scratches and camera to draw;
//! [`split`] draws one photograph of a half worked panel, [`pair`] two of one panel, before and after. All of it comes from a seed.
//!
//! Light is proportional to what falls on the sensor, 0 to 255: no camera's curve. Lengths are in pixels of a picture 2000 pixels wide, and shrink and grow with it.

mod camera;
mod lamp;
mod paint;
pub mod scenes;
mod scratches;
mod second;
mod worked;

pub use camera::Exposed;
pub use scenes::Scene;
pub use scratches::Shares;

use lastmicron_raster::{Plane, PlaneError, SigmaError};
use rand_pcg::Pcg64;

use crate::chance::{Range, Stream, dice};
use camera::Camera;
use lamp::Lamp;
use paint::Paint;
use scratches::Scratches;
use worked::{Tape, Worked};

/// Width of the picture that lengths are stated for, pixels.
const WIDTH: f64 = 2000.0;

/// Megapixels that can be drawn. Judgement: with fewer no ring round the lamp has scratches enough to measure; more than cameras take would only wait.
const MEGAPIXELS: [f64; 2] = [0.1, 50.0];

/// Where the lamp is mirrored, by the picture's width and height: a person aims for the middle.
const LAMP: Range = Range::between(0.42, 0.58);

/// One photograph of a panel of which one side was worked.
#[derive(Clone, Debug, PartialEq)]
pub struct Split {
    /// The photograph.
    pub exposed: Exposed,
    /// Two points of the line between the sides, pixels.
    pub line: [[f64; 2]; 2],
    /// A point on the untouched side, pixels.
    pub untouched: [f64; 2],
    /// What is gone of the worked side.
    pub truth: Shares,
}

/// Two photographs of one panel, all of which was worked in between.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// Before the work.
    pub before: Exposed,
    /// After it, the camera held a little otherwise.
    pub after: Exposed,
    /// What is gone.
    pub truth: Shares,
}

/// Why there is no photograph.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum PhotographError {
    /// A size that can't be drawn.
    #[error("{0} megapixels can't be drawn: ask for {low} to {high}", low = MEGAPIXELS[0], high = MEGAPIXELS[1])]
    Megapixels(f64),
    /// A picture without pixels.
    #[error(transparent)]
    Plane(#[from] PlaneError),
    /// A blur that no picture can show.
    #[error(transparent)]
    Blur(#[from] SigmaError),
}

/// Pixels across and down.
#[derive(Clone, Copy, Debug)]
struct Size {
    width: usize,
    height: usize,
}

impl Size {
    /// Four by three, of so many megapixels.
    fn of(megapixels: f64) -> Result<Self, PhotographError> {
        if !(MEGAPIXELS[0]..=MEGAPIXELS[1]).contains(&megapixels) {
            return Err(PhotographError::Megapixels(megapixels));
        }
        let width = (megapixels * 1e6 * 4.0 / 3.0).sqrt();
        Ok(Self { width: width.round() as usize, height: (0.75 * width).round() as usize })
    }

    /// What lengths are multiplied by.
    fn scale(self) -> f64 {
        self.width as f64 / WIDTH
    }
}

/// What is alike in all photographs of one panel.
struct Panel {
    size: Size,
    lamp: Lamp,
    paint: Paint,
    camera: Camera,
    scratches: Scratches,
}

impl Panel {
    fn draw(scene: &Scene, size: Size, chance: &mut Pcg64) -> Self {
        let middle = [size.width as f64 * LAMP.draw(chance), size.height as f64 * LAMP.draw(chance)];
        let lamp = Lamp::draw(scene, middle, size.scale(), chance);
        let (paint, camera) = (Paint::draw(scene, size.scale(), chance), Camera::draw(scene, chance));
        Self { size, lamp, paint, camera, scratches: Scratches::draw(scene, size, chance) }
    }

    /// The light that the lens brings, and what is gone of what was worked.
    fn seen(&self, worked: &Worked, tape: Option<&Tape>, chance: &mut Pcg64) -> Result<(Plane, Shares), PhotographError> {
        let (mut light, shares) = self.scratches.lit(self.size, &self.lamp, worked)?;
        self.paint.add_to(&mut light, &self.lamp, chance)?;
        if let Some(tape) = tape {
            tape.cover(&mut light, chance);
        }
        Ok((self.camera.focus(light)?, shares))
    }
}

/// Draws a photograph of a half worked panel: in half of them a strip of tape lies along the line.
///
/// # Errors
/// [`PhotographError`] when it can't have that size, or the scene's widths can't be drawn.
pub fn split(scene: &Scene, megapixels: f64, seed: u64) -> Result<Split, PhotographError> {
    let size = Size::of(megapixels)?;
    let mut chance = dice(seed, Stream::Panel);
    let panel = Panel::draw(scene, size, &mut chance);
    let edge = worked::Edge::draw(&panel.lamp, size, &mut chance);
    let tape = Tape::draw(edge, size.scale(), &mut chance);
    let mut chance = dice(seed, Stream::FirstPhotograph);
    let (light, truth) = panel.seen(&Worked::Beyond(edge), tape.as_ref(), &mut chance)?;
    let exposed = panel.camera.expose(&light, 1.0, &mut chance)?;
    Ok(Split { exposed, line: edge.points(size), untouched: edge.untouched(size), truth })
}

/// Draws two photographs of a panel, before it was worked and after. The second is held otherwise and exposed otherwise; what glints in it is drawn anew.
///
/// # Errors
/// [`PhotographError`] when they can't have that size, or the scene's widths can't be drawn.
pub fn pair(scene: &Scene, megapixels: f64, seed: u64) -> Result<Pair, PhotographError> {
    let size = Size::of(megapixels)?;
    let mut chance = dice(seed, Stream::Panel);
    let panel = Panel::draw(scene, size, &mut chance);
    let mut chance = dice(seed, Stream::FirstPhotograph);
    let (light, _) = panel.seen(&Worked::Nowhere, None, &mut chance)?;
    let before = panel.camera.expose(&light, 1.0, &mut chance)?;
    let mut chance = dice(seed, Stream::SecondPhotograph);
    let (light, truth) = panel.seen(&Worked::Everywhere, None, &mut chance)?;
    let (light, exposure) = second::by_hand(&light, size.scale(), &mut chance)?;
    let after = panel.camera.expose(&light, exposure, &mut chance)?;
    Ok(Pair { before, after, truth })
}

#[cfg(test)]
mod tests;
