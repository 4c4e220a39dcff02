//! One photograph of a panel of which one side has been worked.

use lastmicron_raster::polar::Elongated;

use super::finding::Finding;
use super::fit::{Found, Scene, Side, Sides};
use super::line::Line;
use super::measured::{Measured, findings, measured};
use super::rings::{RINGS, Rings};
use super::shot::Shot;
use super::tape;
use super::trouble::Trouble;
use super::view::{Frame, KERNEL, View, WIDE_KERNEL};

/// How differently the sides may be lit. Judgement: paint that was dull and is clear now differs by a tenth or two.
const UNLIKE: f64 = 1.3;

/// Measures one photograph of a panel with an untouched and a worked side.
///
/// # Errors
/// [`Trouble`] when nothing can be said.
pub fn split(frame: Frame<'_>, line: &Line) -> Result<Measured, Trouble> {
    let (mut view, mut sides, mut found) = look(frame, line, KERNEL)?;
    if view.wants_wider(&found) {
        (view, sides, found) = look(frame, line, WIDE_KERNEL)?;
    }
    let mut findings = findings(&view);
    let ratio = view.light_ratio(frame.light, |x, y| line.away([x, y]) > 0.0);
    if !(UNLIKE.recip()..=UNLIKE).contains(&ratio) {
        findings.push(Finding::Unlike { ratio });
    }
    Ok(measured(&sides, &found, vec![view], findings))
}

fn look(frame: Frame<'_>, line: &Line, kernel: Elongated) -> Result<(View, Sides, Found), Trouble> {
    let half = tape::half_width(frame.light, line);
    let view = View::of(frame, kernel, |x, y| line.away([x, y]).abs() < half)?;
    let rings: [Rings; 2] = view.rings(|x, y| usize::from(line.away([x, y]) > 0.0));
    for (rings, side) in rings.iter().zip(["untouched side", "worked side"]) {
        if rings.rings.iter().filter(|ring| ring.is_enough()).count() < RINGS / 2 {
            return Err(Trouble::TooLittle(side));
        }
    }
    let noise = Rings::noise(&[&rings[0], &rings[1]]);
    let shot = Shot::new(view.seen, view.scale);
    let sides = Sides {
        sides: rings.map(|rings| Side { rings, noise, gain: 1.0, density: 1.0, shot: shot.clone() }),
        scene: Scene::Apart,
        gain_sd: 0.0,
        scale: view.scale,
    };
    let found = sides.fit().ok_or(Trouble::Unclear)?;
    Ok((view, sides, found))
}
