//! What was done where, and what was not.

use lastmicron_draw::steps_in_words;
use lastmicron_job::fold::{Deed, Judged, Rectangle, Standing};
use lastmicron_job::words::{KINDS, word_for};
use lastmicron_look::Seen;
use lastmicron_polish::Step;
use serde::Serialize;

use crate::document::Fact;
use crate::facts::fact;
use crate::panel_sheet::{NAME_CHARS, SENTENCE_CHARS};
use crate::printable::cut;
use crate::ranges::percent;

/// Most rectangles written out in one line. Judgement: the record has the rest, and a line of more is not read.
const MOST_PLACES: usize = 12;

/// One test spot.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct SpotLine {
    /// Its name.
    pub name: String,
    /// Panel and place.
    pub place: String,
    /// What was done.
    pub done: String,
    /// What was seen, look by look.
    pub seen: Vec<String>,
}

/// Name of a panel.
pub(super) fn panel_name(standing: &Standing, panel: usize) -> String {
    standing.panels.get(panel).map_or_else(|| format!("panel {}", panel + 1), |p| cut(&p.panel.name, NAME_CHARS))
}

/// A rectangle, mm.
fn place([x, y]: [f64; 2], [w, h]: [f64; 2]) -> String {
    format!("x\u{a0}{x:.0}\u{2013}{:.0}, y\u{a0}{y:.0}\u{2013}{:.0}", x + w, y + h)
}

fn of_rectangle(rectangle: &Rectangle) -> String {
    place(rectangle.corner_mm, rectangle.size_mm)
}

fn words(standing: &Standing, steps: &[Step]) -> String {
    cut(&steps_in_words(steps, &standing.processes), 2 * NAME_CHARS)
}

/// What was done on a panel: for each treatment, where.
pub(super) fn done(standing: &Standing, panel: usize) -> Vec<Fact> {
    let mut by_steps: Vec<(&[Step], Vec<String>)> = Vec::new();
    for worked in standing.worked.iter().filter(|w| w.panel == panel && !w.after.is_empty()) {
        let place = place([worked.x_mm, worked.y_mm], [worked.width_mm, worked.height_mm]);
        match by_steps.iter_mut().find(|(steps, _)| *steps == worked.after) {
            Some((_, places)) => places.push(place),
            None => by_steps.push((&worked.after, vec![place])),
        }
    }
    let line = |(steps, places): &(&[Step], Vec<String>)| {
        let more = places.len().saturating_sub(MOST_PLACES);
        let more = if more > 0 { format!("; and {more} more, in the record") } else { String::new() };
        fact(&words(standing, steps), format!("{}{more} mm", places.iter().take(MOST_PLACES).cloned().collect::<Vec<_>>().join("; ")))
    };
    by_steps.iter().map(line).collect()
}

/// What was not done, and why: by what happened, and by what the accepted plan works that nobody began (`unbegun`, each with its panel's name).
pub(super) fn not_done(standing: &Standing, unbegun: &[(String, String)]) -> Vec<Fact> {
    let all = lastmicron_job::not_done(standing, unbegun);
    all.iter().map(|(panel, said)| fact(&cut(panel, NAME_CHARS), cut(said, SENTENCE_CHARS))).collect()
}

/// Whether the topcoat of a panel was gone through anywhere.
pub(super) fn is_gone_through(standing: &Standing, panel: usize) -> bool {
    standing.work.iter().any(|work| matches!(work.deed, Deed::GoneThrough(on, ..) if on == panel))
}

/// Where the topcoat was gone through.
pub(super) fn gone_through(standing: &Standing) -> Vec<Fact> {
    let through = |deed: &Deed| match deed {
        Deed::GoneThrough(panel, [x, y], note) => {
            let note = cut(note.trim(), SENTENCE_CHARS);
            Some(fact(&format!("{}, at x\u{a0}{x:.0}, y\u{a0}{y:.0} mm", panel_name(standing, *panel)), note))
        }
        Deed::Started(..) | Deed::Done(_) | Deed::Stopped(..) | Deed::LeftAlone(..) | Deed::WentOn(..) => None,
    };
    standing.work.iter().filter_map(|work| through(&work.deed)).collect()
}

/// The test spots and what they showed.
pub(super) fn spots(standing: &Standing) -> Vec<SpotLine> {
    let line = |(at, spot): (usize, &lastmicron_job::fold::Spot)| {
        let rectangle = spot.rectangle.as_ref().map(|r| format!(", {} mm", of_rectangle(r)));
        let corner = spot.corner_mm.map(|[x, y]| format!(", at x\u{a0}{x:.0}, y\u{a0}{y:.0} mm"));
        let judged = standing.judged.iter().filter(|judged| judged.spot == at).map(|judged| seen(standing, judged));
        let gloss = standing.gloss.iter().filter(|reading| reading.spot == spot.name).map(|reading| {
            let [at_20, at_60] = [("20", reading.gloss_20), ("60", reading.gloss_60)]
                .map(|(degrees, gloss)| gloss.map(|gloss| format!(" {gloss:.1} at {degrees}\u{b0}")).unwrap_or_default());
            format!("{}: gloss{at_20}{at_60}", after(standing, &reading.after))
        });
        SpotLine {
            name: cut(&spot.name, NAME_CHARS),
            place: format!("{}{}", panel_name(standing, spot.panel), rectangle.or(corner).unwrap_or_default()),
            done: if spot.done.is_empty() { "nothing".to_owned() } else { words(standing, &spot.done) },
            seen: judged.chain(gloss).collect(),
        }
    };
    standing.spots.iter().enumerate().map(line).collect()
}

fn after(standing: &Standing, after: &[(usize, u32)]) -> String {
    let steps: Vec<Step> = after.iter().map(|&(process, sets)| Step { process, sets }).collect();
    if steps.is_empty() { "before work".to_owned() } else { format!("after {}", words(standing, &steps)) }
}

fn seen(standing: &Standing, judged: &Judged) -> String {
    let count = &judged.count;
    let what = match count.seen {
        Seen::Count(n) => format!("{n} counted"),
        Seen::ShareLeft(share) => {
            let between = count.share_between.map(|[low, high]| format!(", 19 times in 20 between {} and {}", percent(low), percent(high)));
            format!("{} left{}", percent(share), between.unwrap_or_default())
        }
    };
    let wiped = if count.wiped { ", after a wipe" } else { "" };
    let haze = match judged.new_haze {
        Some(true) => "; new haze",
        Some(false) => "; no new haze",
        None => "",
    };
    format!("{}: {what} ({}{wiped}){haze}", after(standing, &count.after), word_for(&count.kind, &KINDS))
}
