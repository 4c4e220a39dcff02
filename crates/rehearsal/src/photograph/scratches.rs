//! Scratches: where they lie, how deep they are, and the light that they throw.

use lastmicron_raster::{Plane, smooth};
use rand::RngExt;
use rand_distr::{Distribution, Exp1};
use rand_pcg::Pcg64;

use super::lamp::Lamp;
use super::scenes::Scene;
use super::worked::Worked;
use super::{PhotographError, Size};
use crate::chance::normal;

/// Longest step along a scratch, pixels. Judgement: light laid at half pixels is even along the line once it is as wide as scratches are; longer steps would show as beads.
const STEP_PX: f64 = 0.5;

/// Variance that laying light on the four nearest pixels adds to a line's width, square pixels: f (1 - f) for a place at f between two, 1/6 in the mean \[D\].
const LAID: f64 = 1.0 / 6.0;

/// Standard deviation of the logarithm of scratches' lengths. Judgement: the longest twentieth is five times as long as the shortest.
const LENGTHS: f64 = 0.5;

/// Standard deviation of the curvature, 1 / pixels. Judgement: a scratch of 100 pixels turns by 20 degrees or so, as strokes of a hand's wipe do.
const CURVATURE: f64 = 1.0 / 300.0;

/// An arc of a circle.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scratch {
    /// Its middle, pixels.
    pub(super) middle: [f64; 2],
    /// Its direction there, radians from x to y.
    pub(super) direction: f64,
    /// How it turns, 1 / pixels.
    pub(super) curvature: f64,
    /// Half its length, pixels.
    pub(super) half_px: f64,
    /// Its depth, um.
    pub(super) depth_um: f64,
}

/// All scratches of a panel.
pub(super) struct Scratches {
    pub(super) all: Vec<Scratch>,
    /// Light across a scratch lit in full, summed over its section, for each um of depth: light x pixels.
    pub(super) light_per_um: f64,
    /// Standard deviation of the section, pixels.
    pub(super) width_px: f64,
    /// What is taken where the panel was worked, um.
    pub(super) taken_um: f64,
}

/// Shares of scratches gone where they were worked, each place weighted by how brightly the lamp shows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shares {
    /// Of their length.
    pub gone: f64,
    /// Of their light: length by depth.
    pub visible: f64,
}

/// Length and light of what was worked.
#[derive(Clone, Copy, Debug, Default)]
struct Tally {
    length: f64,
    length_left: f64,
    light: f64,
    light_left: f64,
}

impl Scratch {
    fn draw(scene: &Scene, depths: [f64; 2], size: Size, chance: &mut Pcg64) -> Self {
        let [scale_um, shape] = depths;
        let median_px = size.scale() * scene.length_px.draw(chance);
        let depth: f64 = Exp1.sample(chance);
        Self {
            middle: [size.width as f64 * chance.random::<f64>(), size.height as f64 * chance.random::<f64>()],
            direction: std::f64::consts::PI * chance.random::<f64>(),
            curvature: normal(chance, 0.0, CURVATURE / size.scale()),
            half_px: 0.5 * median_px * normal(chance, 0.0, LENGTHS).exp(),
            depth_um: scale_um * depth.powf(shape.recip()),
        }
    }

    /// Places along it, the direction there, and the length that each stands for.
    fn steps(&self) -> impl Iterator<Item = ([f64; 2], [f64; 2], f64)> {
        let count = (2.0 * self.half_px / STEP_PX).ceil().max(1.0) as usize;
        let step = 2.0 * self.half_px / count as f64;
        (0..count).map(move |i| {
            let along = (i as f64 + 0.5) * step - self.half_px;
            // The chord of an arc points half as far round as the arc has turned.
            let half_turn = 0.5 * self.curvature * along;
            let chord = if half_turn.abs() < 1e-6 { along } else { along * half_turn.sin() / half_turn };
            let (down, right) = (self.direction + half_turn).sin_cos();
            let (sine, cosine) = (self.direction + 2.0 * half_turn).sin_cos();
            ([self.middle[0] + chord * right, self.middle[1] + chord * down], [cosine, sine], step)
        })
    }
}

impl Scratches {
    pub(super) fn draw(scene: &Scene, size: Size, chance: &mut Pcg64) -> Self {
        let depths = [scene.depth_um.draw(chance), scene.depth_shape.draw(chance)];
        let megapixels = 1e-6 * (size.width * size.height) as f64;
        let count = (megapixels * scene.per_megapixel.draw(chance)).round() as usize;
        Self {
            light_per_um: scene.light_per_um.draw(chance),
            width_px: scene.width_px.draw(chance),
            taken_um: depths[0] * scene.taken.draw(chance),
            all: (0..count).map(|_| Scratch::draw(scene, depths, size, chance)).collect(),
        }
    }

    /// The light that they throw, and what is gone of those that were worked.
    pub(super) fn lit(&self, size: Size, lamp: &Lamp, worked: &Worked) -> Result<(Plane, Shares), PhotographError> {
        let mut light = Plane::filled(size.width, size.height, 0.0)?;
        let mut tally = Tally::default();
        for scratch in &self.all {
            for (place, along, step) in scratch.steps() {
                let is_worked = worked.takes(place);
                let left_um = if is_worked { (scratch.depth_um - self.taken_um).max(0.0) } else { scratch.depth_um };
                let shown = step * lamp.lights(place, along);
                lay(&mut light, place, self.light_per_um * left_um * shown);
                if is_worked && size.holds(place) {
                    tally.add(shown, scratch.depth_um, left_um);
                }
            }
        }
        let light = smooth(&light, (self.width_px * self.width_px - LAID).max(0.0).sqrt())?;
        Ok((light, tally.shares()))
    }
}

impl Size {
    fn holds(self, [x, y]: [f64; 2]) -> bool {
        x >= 0.0 && y >= 0.0 && x < self.width as f64 && y < self.height as f64
    }
}

impl Tally {
    fn add(&mut self, shown: f64, depth_um: f64, left_um: f64) {
        self.length += shown;
        self.light += shown * depth_um;
        if left_um > 0.0 {
            self.length_left += shown;
            self.light_left += shown * left_um;
        }
    }

    fn shares(&self) -> Shares {
        let gone = |left: f64, of: f64| if of > 0.0 { 1.0 - left / of } else { 0.0 };
        Shares { gone: gone(self.length_left, self.length), visible: gone(self.light_left, self.light) }
    }
}

/// Lays light on the four pixels round a place, the nearer the more. What falls outside is lost.
fn lay(plane: &mut Plane, [x, y]: [f64; 2], light: f64) {
    if x < 0.0 || y < 0.0 {
        return;
    }
    let (column, row) = (x as usize, y as usize);
    let (right, down) = (x - column as f64, y - row as f64);
    for (row, part) in [(row, 1.0 - down), (row + 1, down)] {
        let values = plane.row_mut(row);
        for (column, part) in [(column, part * (1.0 - right)), (column + 1, part * right)] {
            if let Some(value) = values.get_mut(column) {
                *value += (light * part) as f32;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: Size = Size { width: 160, height: 120 };
    /// So near, wide and far-reaching that every scratch of the picture shows in full.
    const EVERYWHERE: Lamp = Lamp { middle: [80.0, 60.0], size_px: 1.0, spread: 1e6, reach_px: 1e9 };

    fn one(scratch: Scratch) -> Plane {
        let scratches = Scratches { all: vec![scratch], light_per_um: 150.0, width_px: 1.1, taken_um: 0.0 };
        scratches.lit(SIZE, &EVERYWHERE, &Worked::Nowhere).unwrap().0
    }

    fn straight(direction: f64) -> Scratch {
        Scratch { middle: [80.0, 60.0], direction, curvature: 0.0, half_px: 40.0, depth_um: 0.8 }
    }

    #[test]
    fn a_scratchs_light_is_its_length_by_its_depth() {
        for curvature in [0.0, 1e-8, 0.01, -0.02] {
            let light: f64 = one(Scratch { curvature, ..straight(0.4) }).values().iter().map(|value| f64::from(*value)).sum();
            let expected = 80.0 * 0.8 * 150.0; // [D] length x depth x light per um
            assert!((light / expected - 1.0).abs() < 1e-5, "curvature {curvature}: {light}");
        }
    }

    #[test]
    fn its_section_is_a_gaussian() {
        // An oblique one, so that it meets pixels at all offsets; of these the ones beside its middle half.
        let direction = 0.47_f64;
        let light = one(straight(direction));
        let peak = 150.0 * 0.8 / (1.1 * std::f64::consts::TAU.sqrt()); // [D] a Gaussian's height by its area
        let (mut off, mut count) = (0.0_f64, 0);
        for y in 0..SIZE.height {
            for x in 0..SIZE.width {
                let [right, down] = [x as f64 - 80.0, y as f64 - 60.0];
                let along = right * direction.cos() + down * direction.sin();
                let across = down * direction.cos() - right * direction.sin();
                if along.abs() < 20.0 && across.abs() < 5.0 {
                    let expected = peak * (-0.5 * (across / 1.1).powi(2)).exp();
                    off = off.max((f64::from(light.row(y)[x]) - expected).abs());
                    count += 1;
                }
            }
        }
        // Between offsets of 0 and 1/2 the width's square is 1/6 too small to 1/12 too large: 6 % of the peak at most.
        assert!(count > 300 && off < 0.06 * peak, "{count} pixels, off by {off} of {peak}");
    }

    #[test]
    fn an_arc_has_its_radius_and_its_length() {
        let arc = Scratch { curvature: 0.02, direction: 0.0, ..straight(0.0) };
        let centre = [80.0, 60.0 + 50.0]; // [D] it turns from x to y, at a radius of 1 / 0.02
        let mut before: Option<[f64; 2]> = None;
        let mut length = 0.0;
        for (place, along, step) in arc.steps() {
            let out = [place[0] - centre[0], place[1] - centre[1]];
            assert!((out[0].hypot(out[1]) - 50.0).abs() < 1e-9 && (out[0] * along[0] + out[1] * along[1]).abs() < 1e-9);
            length += before.map_or(step, |b| (place[0] - b[0]).hypot(place[1] - b[1]));
            before = Some(place);
        }
        assert!((length - 80.0).abs() < 0.01, "{length}");
    }

    #[test]
    fn what_is_taken_comes_off_each_on_the_worked_side() {
        // Lit in full, of depths 0.5 and 2 and like length: 1 um takes one of two, and 0.5 + 1 of 2.5 um.
        let all = [0.5, 2.0].map(|depth_um| Scratch { depth_um, ..straight(0.3) }).to_vec();
        let scratches = Scratches { all, light_per_um: 100.0, width_px: 1.0, taken_um: 1.0 };
        let (light, shares) = scratches.lit(SIZE, &EVERYWHERE, &Worked::Everywhere).unwrap();
        assert!((shares.gone - 0.5).abs() < 1e-12 && (shares.visible - 0.6).abs() < 1e-12, "{shares:?}");
        let sum: f64 = light.values().iter().map(|value| f64::from(*value)).sum();
        assert!((sum / (80.0 * 100.0) - 1.0).abs() < 1e-5, "{sum}");
        let (_, untouched) = scratches.lit(SIZE, &EVERYWHERE, &Worked::Nowhere).unwrap();
        assert_eq!(untouched, Shares { gone: 0.0, visible: 0.0 });
    }
}
