//! Test spots: marked, read, worked a set at a time, looked at under the lamp, and what one more set would do.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_draw::{Room, correction_curve, in_unit, in_unit_bare, steps_in_words};
use lastmicron_film::believed_texture_um;
use lastmicron_film::gauge::repeats::{Noise, repeats_to_see};
use lastmicron_job::event::Id;
use lastmicron_job::fold::{Judged, Spot, Standing};
use lastmicron_look::{Kind, Seen};
use lastmicron_plan::{Car, OneMore, Outcome, Trial};
use lastmicron_units::Unit;
use maud::{Markup, PreEscaped, html};

use crate::asked::{JobId, panel_address};
use crate::failure::Failure;
use crate::field::{Answer, Field, Need, one_of};
use crate::frame::{OfJob, Page, Part};
use crate::history_page::strike;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};

/// Room of the curve, points: shown as wide as the screen.
const CURVE: Room = Room { width_pt: 260.0, height_pt: 190.0 };

/// How sure it must be that a set's removal is told from none. Judgement: two wrong verdicts in a hundred spots.
const TOLD_APART: f64 = 0.98;

/// What was left under the lamp, from most to none.
const LEFT: [Answer<'static>; 5] = [
    Answer { value: "all", label: "All", help: "no difference is seen" },
    Answer { value: "most", label: "Most", help: "more than half" },
    Answer { value: "half", label: "Half", help: "" },
    Answer { value: "few", label: "Few", help: "less than a third" },
    Answer { value: "none", label: "None", help: "one has to search" },
];

/// What the page shows of the film and the defects; none before there is something to plan from.
struct Estimated {
    car: Car,
    trials: BTreeMap<usize, Arc<Trial>>,
    outcome: Arc<Outcome>,
}

/// Answers with the page.
pub(crate) async fn spots(State(shop): State<Arc<Shop>>, preferences: Preferences, JobId(id): JobId) -> Result<Html<String>, Failure> {
    let unit = preferences.unit;
    let (folded, estimated) = blocking(move || {
        let folded = shop.folded(id)?;
        let estimated = estimated(&shop, id, &folded, unit)?;
        Ok((folded, estimated))
    })
    .await?;
    let standing = &folded.standing;
    let body = html! {
        h1 { "Test spots" }
        p { "A small taped place where processes are tried, mildest first, until one is enough: on the thickest original panel, one for each distinct paint. Read it, work one set, wipe, look under the lamp; then read again." }
        div id="spots" data-live {
            @for (at, spot) in standing.spots.iter().enumerate() { (card(id, at, spot, standing, estimated.as_ref(), unit)) }
            @if estimated.is_none() { p.quiet { "What sets take and give is told as soon as there are readings and something is agreed." } }
        }
        (marked(standing))
        @if let Some(estimated) = &estimated {
            section id="curve" data-live {
                h2 { "What film buys" }
                div.map { (PreEscaped(correction_curve(&estimated.car, &estimated.outcome, unit, CURVE).svg())) }
                p { (bend(&estimated.outcome, unit)) }
            }
        }
    };
    Ok(Page { preferences: &preferences, title: "Test spots", job: Some(OfJob { id, part: Part::Spots }), script: None }.with(&body))
}

fn estimated(shop: &Shop, id: Id, folded: &Folded, unit: Unit) -> Result<Option<Estimated>, Failure> {
    let standing = &folded.standing;
    let Some(job) = standing.job().ok().filter(|job| !job.car.readings.is_empty()) else { return Ok(None) };
    let mut trials = BTreeMap::new();
    for (at, spot) in standing.spots.iter().enumerate() {
        trials.insert(at, shop.estimates.trial(id, at, job.car.clone(), spot.done.clone())?);
    }
    let outcome = shop.estimates.plan(id, job.car.clone(), unit)?;
    Ok(Some(Estimated { car: job.car, trials, outcome }))
}

fn bend(outcome: &Outcome, unit: Unit) -> String {
    if outcome.curve.len() < 2 || !outcome.bend_um.is_finite() {
        return "Nothing was looked at yet: how deep the defects are is not known.".to_owned();
    }
    format!("The curve bends near {}: beyond it each per cent costs more film than the one before.", in_unit(outcome.bend_um, unit))
}

fn card(id: Id, at: usize, spot: &Spot, standing: &Standing, estimated: Option<&Estimated>, unit: Unit) -> Markup {
    let panel = standing.panels.get(spot.panel).map_or("", |panel| panel.panel.name.as_str());
    let trial = estimated.and_then(|estimated| estimated.trials.get(&at));
    html! {
        section.spot {
            h2 { (spot.name) " " span.quiet { "on the " (panel) } }
            p { "Done here: " strong { @if spot.done.is_empty() { "nothing yet" } @else { (steps_in_words(&spot.done, &standing.processes)) } } }
            @if let Some(trial) = trial.filter(|_| !spot.done.is_empty()) {
                dl.totals {
                    div { dt { "defects gone" } dd { strong { (format!("{:.0} %", 100.0 * trial.gone.mean)) } span { (format!("{:.0} to {:.0} %, 9 times in 10", 100.0 * trial.gone.p05, 100.0 * trial.gone.p95)) } } }
                    div { dt { "film taken" } dd { strong { (in_unit(trial.taken_um.mean, unit)) } span { "give or take " (in_unit_bare(trial.taken_um.sd, unit)) } } }
                }
            }
            @if let Some(trial) = trial { ul { @for more in &trial.one_more { li { (one_more(more, at, standing, unit)) } } } }
            @if let Some(words) = repeats(spot, standing, trial.map(AsRef::as_ref)) { p { (words) } }
            (looks(at, standing))
            (steps(id, at, spot, standing))
        }
    }
}

/// One more set in a sentence: "one more set of finish gains 3 % (1 to 6) for 1.2 um, and leaves haze".
fn one_more(more: &OneMore, at: usize, standing: &Standing, unit: Unit) -> String {
    let name = standing.processes.get(more.process).map_or("", |process| process.name.as_str());
    let per_cent = |share: f64| format!("{:.0}", 100.0 * share);
    let hazed = standing.judged.iter().any(|judged| {
        judged.spot == at && judged.new_haze == Some(true) && judged.count.after.last().is_some_and(|(process, _)| *process == more.process)
    });
    let haze = if hazed { ", and leaves haze" } else { "" };
    if more.gains.mean <= 0.0 {
        return format!("One more set of {name} makes it no better for {}{haze}.", in_unit(more.takes_um.mean, unit));
    }
    format!(
        "One more set of {name} gains {} % ({} to {}) for {}{haze}.",
        per_cent(more.gains.mean),
        per_cent(more.gains.p05),
        per_cent(more.gains.p95),
        in_unit(more.takes_um.mean, unit)
    )
}

/// Whether the spot was read often enough to see what a set takes.
fn repeats(spot: &Spot, standing: &Standing, trial: Option<&Trial>) -> Option<String> {
    let rectangle = spot.rectangle?;
    let on = |place: [f64; 2]| {
        (0..2).all(|axis| (rectangle.corner_mm[axis]..=rectangle.corner_mm[axis] + rectangle.size_mm[axis]).contains(&place[axis]))
    };
    let read = |after: &[lastmicron_polish::Step]| {
        let here = standing
            .readings
            .iter()
            .map(|taken| &taken.reading)
            .filter(|reading| reading.panel == spot.panel && on([reading.x_mm, reading.y_mm]));
        here.filter(|reading| reading.after == after).count()
    };
    let gauge = standing.gauges.first()?;
    let last = spot.done.last()?;
    let takes = trial?.one_more.iter().find(|more| more.process == last.process)?.takes_um.mean * f64::from(last.sets);
    let noise = Noise { repeatability_um: gauge.repeatability_um, replacing_um: believed_texture_um(), step_um: gauge.resolution_um };
    let Some(needed) = repeats_to_see(takes, TOLD_APART, noise) else {
        return Some("What was taken is too little for this gauge to see, however often it reads.".to_owned());
    };
    let needed = usize::try_from(needed).ok()?;
    let before = spot.done.split_last().map_or(&[][..], |(_, before)| before);
    let fewest = read(before).min(read(&spot.done));
    Some(if fewest >= needed {
        format!("Read {fewest} times before and after: enough to tell what was taken.")
    } else {
        format!("Too few repeats to tell what was taken: {} more, before and after, at the same place.", needed - fewest)
    })
}

fn looks(at: usize, standing: &Standing) -> Markup {
    let of: Vec<&Judged> = standing.judged.iter().filter(|judged| judged.spot == at).collect();
    html! {
        @if !of.is_empty() {
            details id={ "looks-" (at) } {
                summary { "Looked at " (of.len()) " times" }
                ol { @for judged in of { li { (look(judged, standing)) (strike(judged.event)) } } }
            }
        }
    }
}

fn look(judged: &Judged, standing: &Standing) -> String {
    let count = &judged.count;
    let after: Vec<String> = count
        .after
        .iter()
        .map(|(process, sets)| format!("{sets} {}", standing.processes.get(*process).map_or("", |process| &process.name)))
        .collect();
    let after = if after.is_empty() { "before any set".to_owned() } else { format!("after {}", after.join(", then ")) };
    let seen = match count.seen {
        Seen::Count(count) => format!("{count} counted"),
        Seen::ShareLeft(share) => format!("about {:.0} % left", 100.0 * share),
    };
    let of = match count.kind {
        Kind::Fine => "",
        Kind::Deep => " of the deep ones",
        Kind::Haze => " of the haze",
    };
    let wiped = if count.wiped { ", wiped" } else { ", not wiped: filling may hide some" };
    let haze = if judged.new_haze == Some(true) { ", new haze" } else { "" };
    format!("{after}: {seen}{of}{wiped}{haze} ({})", judged.who)
}

/// What can be done on the spot next.
fn steps(id: Id, at: usize, spot: &Spot, standing: &Standing) -> Markup {
    let panel = standing.panels.get(spot.panel).map_or("", |panel| panel.panel.name.as_str());
    let middle = spot.rectangle.map(|on| [on.corner_mm[0] + on.size_mm[0] / 2.0, on.corner_mm[1] + on.size_mm[1] / 2.0]).or(spot.corner_mm);
    html! {
        @if let Some([x, y]) = middle {
            p.row {
                a.primary href={ (panel_address(id, "survey", panel)) "?x_mm=" (format!("{x:.0}")) "&y_mm=" (format!("{y:.0}")) } { "Read in the spot" }
                span.quiet { "Its middle is held there; for repeats press \u{201c}Again at the last place\u{201d}." }
            }
        }
        div.row role="group" aria-label="A set was done" {
            @for process in &standing.processes {
                form data-record data-event="set-done" data-said="The set is recorded. Wipe, and look under the lamp." {
                    input type="hidden" name="process" value=(process.name);
                    input type="hidden" name="sets" data-as="whole" value="1";
                    input type="hidden" name="spot" value=(spot.name);
                    button.second { "One set of " (process.name) " is done" }
                }
            }
        }
        details id={ "lamp-" (at) } {
            summary { "After the lamp" }
            form.stack data-record data-event="spot-judged" data-said="What you saw is recorded." {
                input type="hidden" name="spot" value=(spot.name);
                (one_of("seen.left", "Of the defects there at first are left", &LEFT, ""))
                label.choice { input type="checkbox" name="wiped"; span { strong { "After a solvent wipe" } " " span.quiet { "which undoes filling. Air the bay, wear gloves, keep the solvent from flames." } } }
                label.choice { input type="checkbox" name="new_haze"; span { strong { "There is new haze" } } }
                button.primary { "Record what you saw" }
            }
            form.row data-record data-event="spot-judged" data-said="The count is recorded." {
                input type="hidden" name="spot" value=(spot.name);
                input type="hidden" name="of" value="deep";
                (Field { name: "seen.count", label: "The deep ones, counted", value: "", help: "Each time in the same marked window." }.number(Need::Must, ""))
                button.second { "Record the count" }
            }
        }
        form.row data-record data-event="photograph-attached" data-said="The photograph is kept." {
            input type="hidden" name="spot" value=(spot.name);
            label.field for={ "photograph-" (at) } { "Photograph, under the lamp" }
            input id={ "photograph-" (at) } type="file" name="photograph" accept="image/jpeg,image/png,image/webp" capture="environment" required;
            button.second { "Keep the photograph" }
        }
    }
}

fn marked(standing: &Standing) -> Markup {
    html! {
        details.card id="new-spot" open[standing.spots.is_empty()] {
            summary { "Mark a test spot" }
            form.stack data-record data-event="spot-marked" data-said="The spot is marked." {
                (Field { name: "spot", label: "Name", value: &format!("spot {}", standing.spots.len() + 1), help: "" }.text(Need::Must))
                div.asked {
                    label.field for="spot-panel" { "On the panel" }
                    select id="spot-panel" name="panel" { @for panel in standing.panels.iter().filter(|panel| panel.work) { option value=(panel.panel.name) { (panel.panel.name) } } }
                }
                (Field { name: "x_mm", label: "Its lower left corner: across", value: "", help: "" }.number(Need::Must, "mm"))
                (Field { name: "y_mm", label: "and up", value: "", help: "" }.number(Need::Must, "mm"))
                (Field { name: "width_mm", label: "Width", value: "150", help: "" }.number(Need::Must, "mm"))
                (Field { name: "height_mm", label: "Height", value: "150", help: "" }.number(Need::Must, "mm"))
                button.primary { "Mark it" }
            }
        }
    }
}
