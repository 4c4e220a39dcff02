//! Two photographs of one part of a panel, before and after.

use lastmicron_raster::polar::Elongated;
use lastmicron_raster::{Mask, Plane};

use super::finding::Finding;
use super::fit::{Found, Scene, Side, Sides};
use super::lamp::{Lamp, highlight};
use super::measured::{Measured, findings as findings_of, measured};
use super::photograph::Photograph;
use super::register::{Similarity, register};
use super::rings::{Rings, median};
use super::shot::Shot;
use super::tape::LeftOut;
use super::trouble::{Part, Trouble};
use super::view::{Frame, KERNEL, Shown, View, WIDE_KERNEL, scale};

/// How differently two photographs may be exposed. Judgement: beyond it black and white of one are no longer those of the other.
const EXPOSURE: f64 = 1.5;

/// How far the lamp may move on the paint from one photograph to the other, pixels of a picture 2000 pixels wide. Judgement: farther, and other scratches run round it.
const MOVED: f64 = 30.0;

/// Standard deviation of the logarithm of how exposures compare. Judgement: scratches that are gone darken the second photograph by a per cent or so. With a third of it, three in four intervals of
/// `visible` hold the truth at 12 megapixels on invented pairs.
const EXPOSURE_SD: f64 = 0.015;

/// Measures two photographs of the same paint.
///
/// # Errors
/// [`Trouble`] when nothing can be said.
pub fn pair(before: Frame<'_>, after: Frame<'_>) -> Result<Measured, Trouble> {
    if (after.light.width(), after.light.height()) != (before.light.width(), before.light.height()) {
        return Err(Trouble::Sizes);
    }
    // No camera makes the same noise twice.
    if after.light == before.light {
        return Err(Trouble::Identical);
    }
    let lamp = |frame: Frame<'_>, photograph: Photograph| highlight(frame, photograph, &LeftOut::NOTHING);
    let lamps = [lamp(before, Photograph::Before)?, lamp(after, Photograph::After)?];
    let laid = Laid::of([before, after], lamps);
    let shown = [
        Shown { frame: before, photograph: Photograph::Before, lamp: lamps[0], scale: scale(before.light), left_out: LeftOut::NOTHING },
        // From nearer, the same rings are larger.
        Shown {
            frame: after,
            photograph: Photograph::After,
            lamp: lamps[1],
            scale: laid.over.size() * scale(after.light),
            left_out: LeftOut::NOTHING,
        },
    ];
    let (mut views, mut sides, mut found) = look(&shown, &laid, KERNEL)?;
    if views[0].wants_wider(&found) {
        (views, sides, found) = look(&shown, &laid, WIDE_KERNEL)?;
    }
    let mut findings = laid.findings();
    findings.extend(views.iter().zip(shown).flat_map(|(view, shown)| findings_of(view, shown.photograph)));
    measured(&sides, &found, views.into(), findings)
}

/// How the second photograph lies over the first.
struct Laid {
    over: Similarity,
    is_registered: bool,
    /// How far the lamp has moved on the paint, pixels of a picture 2000 pixels wide.
    moved: f64,
    /// Light of the second by that of the first.
    exposure: f64,
}

impl Laid {
    fn of([before, after]: [Frame<'_>; 2], lamps: [Lamp; 2]) -> Self {
        let shift = [0, 1].map(|axis| lamps[1].middle[axis] - lamps[0].middle[axis]);
        let registered = register(before.light, after.light, shift);
        let over = registered.unwrap_or(Similarity::shift(shift));
        let [x, y] = over.place(lamps[0].middle);
        let moved = (x - lamps[1].middle[0]).hypot(y - lamps[1].middle[1]) / (over.size() * scale(after.light));
        Self { over, is_registered: registered.is_some(), moved, exposure: exposure(before, after, lamps[0], &over) }
    }

    fn scene(&self) -> Scene {
        if self.is_registered && self.moved < MOVED { Scene::Same } else { Scene::Apart }
    }

    fn findings(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        match self.scene() {
            Scene::Same => {}
            Scene::Apart if self.is_registered => findings.push(Finding::LampMoved),
            Scene::Apart => findings.push(Finding::Unregistered),
        }
        if !(EXPOSURE.recip()..=EXPOSURE).contains(&self.exposure) {
            findings.push(Finding::Exposure { ratio: self.exposure });
        }
        findings
    }
}

fn look(shown: &[Shown<'_>; 2], laid: &Laid, kernel: Elongated) -> Result<([View; 2], Sides, Found), Trouble> {
    let (first, second) = (View::of(&shown[0], kernel)?, View::of(&shown[1], kernel)?);
    let side = |view: &View, gain: f64, density: f64| {
        let [rings] = view.rings(|_, _| 0);
        Side { noise: Rings::noise(&[&rings]), rings, gain, density, shot: Shot::new(view.seen, view.scale) }
    };
    // From nearer a scratch is wider, and the light across it more.
    let gain = laid.exposure * laid.over.size() * first.noise / second.noise * (first.seen.base() / second.seen.base()).powf(1.5);
    // An error of the widths that both photographs have alike goes out in the gain.
    let gain_sd = EXPOSURE_SD.hypot((second.peak_sd().powi(2) - first.peak_sd().powi(2)).abs().sqrt());
    let sides = [side(&first, 1.0, 1.0), side(&second, gain, laid.over.size().recip())];
    for (side, shown) in sides.iter().zip(shown) {
        if !side.rings.are_enough() {
            return Err(Trouble::TooLittle(Part::Panel(shown.photograph)));
        }
    }
    let sides = Sides { sides, scene: laid.scene(), gain_sd, scale: first.scale };
    let found = sides.fit().ok_or(Trouble::Unclear)?;
    Ok(([first, second], sides, found))
}

/// Steps of distance from the lamp at which exposures are compared, pixels of a picture 2000 pixels wide.
const EXPOSURE_STEP: f64 = 20.0;

/// How much more light the second photograph has than the first, by their light at the same places: medians at like distances from the lamp, which scratches, being few, hardly change.
fn exposure(before: Frame<'_>, after: Frame<'_>, lamp: Lamp, over: &Similarity) -> f64 {
    let (width, height) = (before.light.width(), before.light.height());
    let mut rings: Vec<[Vec<f64>; 2]> = Vec::new();
    let is_clear = |mask: &Mask, x: usize, y: usize| !mask.get(x, y);
    for y in (2..height.saturating_sub(2)).step_by(5) {
        for x in (2..width.saturating_sub(2)).step_by(5) {
            let there = over.place([x as f64, y as f64]).map(f64::round);
            if there[0] < 2.0 || there[1] < 2.0 || there[0] > width as f64 - 3.0 || there[1] > height as f64 - 3.0 {
                continue;
            }
            let [u, v] = there.map(|at| at as usize);
            if !is_clear(before.clipped, x, y) || !is_clear(after.clipped, u, v) {
                continue;
            }
            let away = (x as f64 - lamp.middle[0]).hypot(y as f64 - lamp.middle[1]);
            let ring = (away / (EXPOSURE_STEP * scale(before.light))) as usize;
            rings.resize_with(rings.len().max(ring + 1), Default::default);
            rings[ring][0].push(mean(before.light, x, y));
            rings[ring][1].push(mean(after.light, u, v));
        }
    }
    let sums = rings
        .into_iter()
        .filter(|ring| ring[0].len() > 30)
        .fold([0.0; 2], |sum, [a, b]| [sum[0] + median(a) + 0.5, sum[1] + median(b) + 0.5]);
    if sums[0] > 0.0 { sums[1] / sums[0] } else { 1.0 }
}

/// Light of a pixel and those round it.
fn mean(plane: &Plane, x: usize, y: usize) -> f64 {
    (y - 1..=y + 1).flat_map(|y| &plane.row(y)[x - 1..=x + 1]).map(|value| f64::from(*value)).sum::<f64>() / 9.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pair_whose_lamp_moved_on_the_paint_is_two_parts_of_a_panel() {
        let laid = |is_registered: bool, moved: f64| Laid { over: Similarity::shift([0.0; 2]), is_registered, moved, exposure: 1.0 };
        for (laid, scene, findings) in [
            (laid(true, 10.0), Scene::Same, vec![]),
            (laid(true, 50.0), Scene::Apart, vec![Finding::LampMoved]),
            (laid(false, 0.0), Scene::Apart, vec![Finding::Unregistered]),
        ] {
            assert_eq!((laid.scene(), laid.findings()), (scene, findings));
        }
        assert_eq!(Laid { exposure: 1.7, ..laid(true, 0.0) }.findings(), [Finding::Exposure { ratio: 1.7 }]);
    }
}
