//! Test spots, and what was seen on them.

use lastmicron_look::{Count, Kind, Seen, gloss};
use lastmicron_plan::CarPanel;
use lastmicron_polish::Step;

use super::done::{Rectangle, panel, place_mm, rectangle_on};
use super::read::{maybe, maybe_word, number, usable_name, whole, word};
use super::reason::Reason;
use crate::bounds::{GLOSS, INDEX, MOST_COUNTED, SHARE_LEFT};
use crate::event::{self, GlossRead, Id, SpotJudged, SpotMarked};
use crate::words::KINDS;

/// A test spot.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// Its name.
    pub name: String,
    /// Index of the panel that it lies on.
    pub panel: usize,
    /// Its lower left corner, mm.
    pub corner_mm: Option<[f64; 2]>,
    /// The whole of it.
    pub rectangle: Option<Rectangle>,
    /// What has been done on it.
    pub done: Vec<Step>,
}

/// What was seen on a spot.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    /// The event.
    pub event: Id,
    /// Who judged it.
    pub who: String,
    /// Index of the spot.
    pub spot: usize,
    /// Whether the work has left new haze, where it was said.
    pub new_haze: Option<bool>,
    /// What the plan is made from.
    pub count: Count,
}

pub(super) fn spot(said: &SpotMarked, panels: &[CarPanel]) -> Result<Spot, Reason> {
    let on = panel(&said.panel, panels)?;
    let corner_mm = match (&said.x_mm, &said.y_mm) {
        (Some(x), Some(y)) => Some(place_mm(on, [x, y], panels)?),
        (None, None) => None,
        _ => return Err(Reason::OneOf("x_mm and y_mm together or neither")),
    };
    let rectangle = match (&said.x_mm, &said.y_mm, &said.width_mm, &said.height_mm) {
        (Some(x), Some(y), Some(w), Some(h)) => Some(rectangle_on(on, [x, y, w, h], panels)?),
        (_, _, None, None) => None,
        _ => return Err(Reason::OneOf("x_mm, y_mm, width_mm and height_mm together, or no size")),
    };
    Ok(Spot { name: usable_name(&said.spot)?, panel: on, corner_mm, rectangle, done: Vec::new() })
}

/// What a word for what is left says: the share, and the bounds that it holds 95 times in 100.
///
/// Judgement: whoever says "most" means more than half and "few" less than a third; nobody tells 0.7 from 0.8 under a lamp. The bounds
/// make a word worth a count of 15 to 21 defects (Wilson's interval solved for n), as a share without bounds is. Narrower, three words would outweigh a
/// count of seventy; wider, a spot that is only looked at teaches nothing.
const LEFT: [(&str, (f64, [f64; 2])); 5] = [
    ("all", (0.97, [0.8, 1.0])),
    ("most", (0.75, [0.55, 0.95])),
    ("half", (0.5, [0.3, 0.7])),
    ("few", (0.15, [0.03, 0.35])),
    ("none", (0.02, [0.0, 0.2])),
];

fn seen(said: &event::Seen) -> Result<(Seen, Option<[f64; 2]>), Reason> {
    let bounds = said.share_between.as_ref().map(|[low, high]| {
        let [low, high] = [number(low, "share_between", &SHARE_LEFT)?, number(high, "share_between", &SHARE_LEFT)?];
        let wanted = "the lower bound first";
        (low <= high).then_some([low, high]).ok_or_else(|| Reason::Range { key: "share_between", found: low.to_string(), wanted })
    });
    let bounds = bounds.transpose()?;
    match (&said.left, &said.count, &said.share_left) {
        (Some(left), None, None) if bounds.is_none() => {
            let (share, between) = word(left, "word for what is left", &LEFT)?;
            Ok((Seen::ShareLeft(share), Some(between)))
        }
        (None, Some(count), None) => {
            let whole = whole(count, "count", [0, MOST_COUNTED], "a whole number from 0 to 1,000,000")?;
            Ok((Seen::Count(whole.unsigned_abs()), bounds))
        }
        (None, None, Some(share)) => {
            let share = number(share, "share_left", &SHARE_LEFT)?;
            if bounds.is_some_and(|[low, high]| !(low..=high).contains(&share)) {
                return Err(Reason::Range { key: "share_left", found: share.to_string(), wanted: "within share_between" });
            }
            Ok((Seen::ShareLeft(share), bounds))
        }
        _ => Err(Reason::OneOf("one of left (without bounds), count and share_left")),
    }
}

pub(super) fn judged(event: &event::Event, said: &SpotJudged, (at, spot): (usize, &Spot), after: &[Step]) -> Result<Judged, Reason> {
    let (seen, share_between) = seen(&said.seen)?;
    let count = Count {
        spot: spot.name.clone(),
        panel: spot.panel,
        after: pairs(after),
        seen,
        share_between,
        kind: maybe_word(said.of.as_ref(), "kind of defect", &KINDS)?.unwrap_or(Kind::Fine),
        wiped: said.wiped.unwrap_or(false),
    };
    Ok(Judged { event: event.id, who: event.who.clone(), spot: at, new_haze: said.new_haze, count })
}

pub(super) fn gloss(said: &GlossRead, spot: &Spot, after: &[Step]) -> Result<gloss::Reading, Reason> {
    let gloss_20 = maybe(said.gloss_20.as_ref(), "gloss_20", &GLOSS)?;
    let gloss_60 = maybe(said.gloss_60.as_ref(), "gloss_60", &GLOSS)?;
    if gloss_20.is_none() && gloss_60.is_none() {
        return Err(Reason::OneOf("gloss_20 or gloss_60 or both"));
    }
    let index = maybe(said.index.as_ref(), "index", &INDEX)?;
    Ok(gloss::Reading { spot: spot.name.clone(), panel: spot.panel, after: pairs(after), gloss_20, gloss_60, index })
}

fn pairs(steps: &[Step]) -> Vec<(usize, u32)> {
    steps.iter().map(|step| (step.process, step.sets)).collect()
}
