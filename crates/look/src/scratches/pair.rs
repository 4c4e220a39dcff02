//! Two photographs of one part of a panel, before and after.

use lastmicron_raster::polar::Elongated;
use lastmicron_raster::{Mask, Plane};

use super::finding::Finding;
use super::fit::{Found, Scene, Side, Sides};
use super::measured::{Measured, findings as findings_of, measured};
use super::register::{Similarity, register};
use super::rings::{RINGS, Rings, median};
use super::shot::Shot;
use super::trouble::Trouble;
use super::view::{Frame, KERNEL, View, WIDE_KERNEL};

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
    let mut seen = look(before, after, KERNEL)?;
    if seen.views[0].wants_wider(&seen.found) {
        seen = look(before, after, WIDE_KERNEL)?;
    }
    let mut findings: Vec<Finding> = Vec::new();
    for finding in seen.views.iter().flat_map(findings_of) {
        if !findings.iter().any(|known| std::mem::discriminant(known) == std::mem::discriminant(&finding)) {
            findings.push(finding);
        }
    }
    if !seen.is_registered {
        findings.push(Finding::Unregistered);
    }
    if !(EXPOSURE.recip()..=EXPOSURE).contains(&seen.exposure) {
        findings.push(Finding::Exposure { ratio: seen.exposure });
    }
    Ok(measured(&seen.sides, &seen.found, seen.views.into(), findings))
}

/// Two photographs and what fits them.
struct Seen {
    views: [View; 2],
    is_registered: bool,
    exposure: f64,
    sides: Sides,
    found: Found,
}

fn look(before: Frame<'_>, after: Frame<'_>, kernel: Elongated) -> Result<Seen, Trouble> {
    let (first, mut second) = (View::of(before, kernel, |_, _| false)?, View::of(after, kernel, |_, _| false)?);
    let shift = [0, 1].map(|axis| second.lamp.middle[axis] - first.lamp.middle[axis]);
    let registered = register(before.light, after.light, shift);
    let over = registered.unwrap_or(Similarity::shift(shift));
    second.scale *= over.size();
    let exposure = exposure(before, after, &first, &over);
    let side = |view: &View, gain: f64, density: f64| {
        let [rings] = view.rings(|_, _| 0);
        Side { noise: Rings::noise(&[&rings]), rings, gain, density, shot: Shot::new(view.seen, view.scale) }
    };
    let gain = exposure * first.noise / second.noise * (first.seen.base() / second.seen.base()).powf(1.5);
    // An error of the widths that both photographs have alike goes out in the gain.
    let gain_sd = EXPOSURE_SD.hypot((second.peak_sd().powi(2) - first.peak_sd().powi(2)).abs().sqrt());
    let [x, y] = over.place(first.lamp.middle);
    let moved = (x - second.lamp.middle[0]).hypot(y - second.lamp.middle[1]) / second.scale;
    let scene = if registered.is_some() && moved < MOVED { Scene::Same } else { Scene::Apart };
    let sides = [side(&first, 1.0, 1.0), side(&second, gain, over.size().recip())];
    let sides = Sides { sides, scene, gain_sd, scale: first.scale };
    if sides.sides.iter().any(|side| side.rings.rings.iter().filter(|ring| ring.is_enough()).count() < RINGS / 2) {
        return Err(Trouble::TooLittle("panel"));
    }
    let found = sides.fit().ok_or(Trouble::Unclear)?;
    Ok(Seen { is_registered: registered.is_some(), views: [first, second], exposure, sides, found })
}

/// Steps of distance from the lamp at which exposures are compared, by the width.
const EXPOSURE_STEP: f64 = 0.01;

/// How much more light the second photograph has than the first, by their light at the same places: medians at like distances from the lamp, which scratches, being few, hardly change.
fn exposure(before: Frame<'_>, after: Frame<'_>, first: &View, over: &Similarity) -> f64 {
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
            let away = (x as f64 - first.lamp.middle[0]).hypot(y as f64 - first.lamp.middle[1]);
            let ring = (away / (EXPOSURE_STEP * width as f64)) as usize;
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
