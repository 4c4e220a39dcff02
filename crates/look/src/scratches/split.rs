//! One photograph of a panel of which one side has been worked.

use lastmicron_raster::polar::Elongated;

use super::finding::Finding;
use super::fit::{Found, Scene, Side, Sides};
use super::lamp::highlight;
use super::line::Line;
use super::measured::{Measured, findings, measured};
use super::photograph::Photograph;
use super::rings::Rings;
use super::shot::Shot;
use super::tape::LeftOut;
use super::trouble::{Part, Trouble};
use super::view::{Frame, KERNEL, Shown, View, WIDE_KERNEL, scale};

/// How differently the sides may be lit. Judgement: paint that was dull and is clear now differs by a tenth or two.
const UNLIKE: f64 = 1.3;

/// Measures one photograph of a panel with an untouched and a worked side.
///
/// # Errors
/// [`Trouble`] when nothing can be said.
pub fn split(frame: Frame<'_>, line: &Line) -> Result<Measured, Trouble> {
    let left_out = LeftOut::along(line, frame.light);
    let lamp = highlight(frame, Photograph::Only, &left_out)?;
    let shown = Shown { frame, photograph: Photograph::Only, lamp, scale: scale(frame.light), left_out };
    let (mut view, mut sides, mut found) = look(&shown, line, KERNEL)?;
    if view.wants_wider(&found) {
        (view, sides, found) = look(&shown, line, WIDE_KERNEL)?;
    }
    let mut findings = findings(&view, Photograph::Only);
    let ratio = view.light_ratio(frame.light, |x, y| line.away([x, y]) > 0.0);
    if !(UNLIKE.recip()..=UNLIKE).contains(&ratio) {
        findings.push(Finding::Unlike { ratio });
    }
    measured(&sides, &found, vec![view], findings)
}

fn look(shown: &Shown<'_>, line: &Line, kernel: Elongated) -> Result<(View, Sides, Found), Trouble> {
    let view = View::of(shown, kernel)?;
    let rings: [Rings; 2] = view.rings(|x, y| usize::from(line.away([x, y]) > 0.0));
    for (rings, part) in rings.iter().zip([Part::Untouched, Part::Worked]) {
        if !rings.are_enough() {
            return Err(Trouble::TooLittle(part));
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
