//! The work: one section at a time, large, with what comes next below it in working order.

mod order;

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::Html;
use lastmicron_draw::{Room, in_unit, in_unit_bare, section_map};
use lastmicron_folder::planned::{Planned, PlannedPad, PlannedPanel, PlannedSection};
use lastmicron_job::event::Id;
use lastmicron_job::fold::Standing;
use lastmicron_plan::survey::PanelSurvey;
use lastmicron_plan::{CarPanel, KeepOff, KeepOffLine, System};
use lastmicron_units::Unit;
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;

use crate::asked::JobId;
use crate::asset::WORK;
use crate::estimates::ToSurvey;
use crate::failure::Failure;
use crate::field::{Field, Need};
use crate::frame::{OfJob, Page, Part};
use crate::plan_page::accepted;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};
use order::{Order, Place, State as At};

/// Room of the section's drawing, points: shown as wide as the screen.
const SECTION: Room = Room { width_pt: 240.0, height_pt: 190.0 };

/// Sections listed as next.
const NEXT: usize = 4;

/// Which section was asked for.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct Asked {
    /// Its number in working order, from 1.
    section: Option<usize>,
}

/// What the page shows.
struct Shown {
    folded: Folded,
    planned: Planned,
    order: Order,
    /// The section in hand, by its place in the order.
    in_hand: Option<usize>,
    /// The film of its panel now.
    film: Option<Arc<PanelSurvey>>,
}

/// Answers with the page.
pub(crate) async fn work(
    State(shop): State<Arc<Shop>>,
    preferences: Preferences,
    JobId(id): JobId,
    Query(asked): Query<Asked>,
) -> Result<Html<String>, Failure> {
    let (unit, who) = (preferences.unit, preferences.who.clone());
    let shown = blocking(move || shown(&shop, id, asked, &who, unit)).await?;
    let body = match &shown {
        None => html! {
            h1 { "Work" }
            p { "No plan is accepted yet. Work follows the plan as it was accepted, section by section." }
            p { a.primary href={ "/jobs/" (id) "/plan" } { "To the plan" } }
        },
        Some(shown) => html! {
            h1 { "Work" }
            div id="progress" data-live { (progress(shown)) }
            @match shown.in_hand.and_then(|at| Some((at, shown.order.places.get(at)?))) {
                Some((at, place)) => { (in_hand(shown, id, at, place, unit)) }
                None => {
                    p { strong { "Every section of the plan is done or was stopped." } }
                    p { a.primary href={ "/jobs/" (id) "/handover" } { "To the hand over" } }
                }
            }
            div id="next" data-live { (next(shown, id)) }
        },
    };
    Ok(Page { preferences: &preferences, title: "Work", job: Some(OfJob { id, part: Part::Work }), script: Some(WORK.path()) }.with(&body))
}

fn shown(shop: &Shop, id: Id, asked: Asked, who: &str, unit: Unit) -> Result<Option<Shown>, Failure> {
    let folded = shop.folded(id)?;
    let Some(planned) = accepted(shop, &folded.standing) else { return Ok(None) };
    let order = Order::of(&planned, &folded.standing);
    let in_hand = asked.section.and_then(|n| n.checked_sub(1)).filter(|at| *at < order.places.len()).or_else(|| order.next_for(who));
    let film = match in_hand.and_then(|at| order.places.get(at)) {
        Some(place) => shop.estimates.panel(id, ToSurvey::of(&folded.standing).car, place.panel, unit)?,
        None => None,
    };
    Ok(Some(Shown { folded, planned, order, in_hand, film }))
}

fn progress(shown: &Shown) -> Markup {
    let all = shown.order.places.len();
    let done = shown.order.places.iter().filter(|place| matches!(place.state, At::Done(_))).count();
    let stopped = shown.order.places.iter().filter(|place| matches!(place.state, At::Stopped(_))).count();
    let others: Vec<String> = shown
        .order
        .places
        .iter()
        .filter_map(|place| match &place.state {
            At::Begun(who) => Some(format!("{who} is on the {}", shown.planned.panels.get(place.planned).map_or("", |panel| &panel.name))),
            _ => None,
        })
        .collect();
    html! {
        p.figure { strong { (done) } " of " (all) " sections done" @if stopped > 0 { ", " (stopped) " stopped" } }
        @for one in others { p.quiet { (one) "." } }
    }
}

fn in_hand(shown: &Shown, id: Id, at: usize, place: &Place, unit: Unit) -> Markup {
    let standing = &shown.folded.standing;
    let (Some(panel), Some(section), Some(car_panel)) = (
        shown.planned.panels.get(place.planned),
        shown.planned.panels.get(place.planned).and_then(|panel| panel.sections.get(place.section)),
        standing.panels.get(place.panel),
    ) else {
        return html! { p { "The panel of this section is no longer stated." } };
    };
    html! {
        section.in-hand {
            h2 { (panel.name) span.quiet { ", section " (at + 1) " of " (shown.order.places.len()) } }
            div.work {
                div id="drawn" data-live { div.map { (PreEscaped(drawn(shown, place, car_panel).svg())) } (film(shown, id, place, unit)) }
                div id="doing" data-live { (steps(shown, id, place, panel, section)) }
            }
            (edges(car_panel, panel))
            (pads(standing, &shown.planned, section))
            (stops(standing, id, place, panel, section))
            (went_through(place, panel, section))
        }
    }
}

fn drawn(shown: &Shown, place: &Place, car_panel: &CarPanel) -> lastmicron_draw::Scene {
    let panel = &shown.planned.panels[place.planned];
    let sections = shown.order.drawn(panel, place.planned);
    let keep_off: Vec<KeepOff> = panel.keep_off.iter().map(|off| KeepOff { edge: off.edge, mm: off.mm }).collect();
    let lines: Vec<KeepOffLine> = panel.keep_off_lines.iter().map(|off| KeepOffLine { line: off.line, mm: off.mm }).collect();
    section_map(car_panel, &sections, Some(place.section), (&keep_off, &lines), SECTION)
}

/// What is left on the panel now, and where a reading would help most.
fn film(shown: &Shown, id: Id, place: &Place, unit: Unit) -> Markup {
    let Some(survey) = &shown.film else { return html! {} };
    html! {
        @if let Some(film) = &survey.film {
            p.figure { span.quiet { "Smallest topcoat left on it now, 9 times in 10 " } strong { (in_unit_bare(film.smallest_um.p05, unit)) " to " (in_unit(film.smallest_um.p95, unit)) } }
        } @else { p.quiet { "No gauge has read this panel: the plan works it by the spend alone." } }
        @if let Some(next) = &survey.next {
            p { "A check reading would help most at " (format!("{:.0} mm across, {:.0} mm up", next.x_mm, next.y_mm)) ". " a.button href={ "/jobs/" (id) "/survey/" (place.panel) } { "Read here" } }
        }
    }
}

/// What is to be done, set by set, and what is.
fn steps(shown: &Shown, id: Id, place: &Place, panel: &PlannedPanel, section: &PlannedSection) -> Markup {
    let said = order::said(&panel.name, section);
    let remaining = place.remaining(section);
    html! {
        ol.to-do {
            @for (step, done) in section.steps.iter().zip(&place.done) {
                li { strong { (step.process) } ": " (done) " of " (step.sets) @if *done >= step.sets { " \u{2713}" } }
            }
        }
        @match (&place.state, remaining) {
            (At::Done(who), _) => { p.here { "Done by " (who) "." } }
            (At::Stopped(why), _) => { p.stop { "Stopped: " (why) ". Read here before anything else is done." } }
            (At::Waits, _) => {
                form data-record data-event="work-started" data-then={ "/jobs/" (id) "/work?section=" (place.number) } {
                    (said)
                    @if let Some(step) = section.steps.first() { input type="hidden" name="process" value=(step.process); }
                    button.primary.large { "Start this section" }
                }
            }
            (At::Begun(who), Some(step)) => {
                p.quiet { (who) " is on it." }
                form data-record data-event="set-done" data-said="The set is recorded." {
                    input type="hidden" name="process" value=(step.process);
                    input type="hidden" name="sets" data-as="whole" value="1";
                    (order::said_in_list(&panel.name, section))
                    button.primary.large { "A set of " (step.process) " is done" }
                }
                p { (passes(shown, &step.process)) }
            }
            (At::Begun(_), None) => {
                form data-record data-event="work-done" data-then={ "/jobs/" (id) "/work" } { (said) button.primary.large { "The section is done" } }
            }
        }
        @if let At::Begun(_) = &place.state {
            details id="clock" data-since=[place.since.as_ref()] { summary { "Clock" } p.figure id="elapsed" aria-live="off" {} p.quiet { "Planned: " (format!("{:.0}", section.minutes)) " minutes for all its sets." } }
        }
    }
}

/// How one set is worked.
fn passes(shown: &Shown, process: &str) -> String {
    let standing = &shown.folded.standing;
    let at = standing.processes.iter().position(|known| known.name == process);
    let stages: Vec<String> = at.map_or(&[][..], |at| standing.equipment.stages_of(at)).iter().map(ToString::to_string).collect();
    if !stages.is_empty() {
        return format!("One set: {}.", stages.join(", then "));
    }
    match at.and_then(|at| standing.equipment.of(at)) {
        Some((machine, pad, used)) => {
            format!("One set: {} passes at {} mm/s with the {} and the {}.", used.passes, used.arm_speed_mm_s, machine.name, pad.name)
        }
        None => "One set: two passes along and two across, slowly (common practice, no source).".to_owned(),
    }
}

/// For each edge of the panel, how far to stay off it.
fn edges(car_panel: &CarPanel, panel: &PlannedPanel) -> Markup {
    let off = |edge: usize| panel.keep_off.iter().find(|off| off.edge == edge);
    html! {
        section {
            h3 { "Edges and lines" }
            ul {
                @for (edge, _) in car_panel.panel.edges().enumerate() {
                    @if let Some(off) = off(edge) { li { strong { (car_panel.panel.edge_name(edge)) } ": stay " (format!("{:.0} mm", off.mm)) " off with the pad, and tape it there." } }
                }
                @for line in &panel.keep_off_lines { li { strong { "body line " (line.line + 1) } ": stay " (format!("{:.0} mm", line.mm)) " off on both sides, and tape it." } }
            }
            @if panel.keep_off.len() < car_panel.panel.outline_mm.len() {
                p.quiet { "To the other edges the machine may go, with the pad flat and never over them: an edge takes more than the middle, and the plan counts that." }
            }
        }
    }
}

/// The pad in use, and when it is due.
fn pads(standing: &Standing, planned: &Planned, section: &PlannedSection) -> Markup {
    let of = |process: &str| planned.pad_work.iter().find(|pad| pad.process == process);
    html! {
        section {
            h3 { "Pads" }
            ul { @for step in &section.steps { li { strong { (step.process) } ": " (pad(of(&step.process), sets_done(standing, &step.process))) } } }
            p.caution { "Rest the hands and wear ear protection; keep the pad's cord and the water apart; polish dust and residue go where local rules want them." }
        }
    }
}

/// Sets of a process that were done on sections so far.
fn sets_done(standing: &Standing, process: &str) -> u32 {
    let of = |done: &&lastmicron_job::fold::Done| standing.processes.get(done.step.process).is_some_and(|known| known.name == process);
    standing.done.iter().filter(of).map(|done| done.step.sets).sum()
}

fn pad(pad: Option<&PlannedPad>, done: u32) -> String {
    let Some(pad) = pad else {
        return format!(
            "{done} sets so far. Clean the pad after each section, change it when it stays clogged (common practice, no source)."
        );
    };
    let name = pad.pad.as_deref().unwrap_or("the pad");
    let due = |after: Option<u32>, what: &str| {
        after.filter(|after| *after > 0).map(|after| match after - done % after {
            left if left == after && done > 0 => format!("{what} now"),
            left => format!("{what} after {left} more sets"),
        })
    };
    let parts: Vec<String> =
        [due(pad.clean_after_sets, "clean it"), due(pad.change_after_sets, "change it")].into_iter().flatten().collect();
    let due = if parts.is_empty() { "nothing is due within a set".to_owned() } else { parts.join(", ") };
    format!("{name}, {done} sets so far: {due}.")
}

/// Reasons to stop, by what lies on the vehicle.
const fn reasons(system: System) -> &'static [&'static str] {
    match system {
        System::BaseClear | System::TriCoat => {
            &["colour on the pad: the clear coat is thin or through", "heat", "an edge or a line is showing"]
        }
        System::SingleStage | System::Lacquer => &["primer's colour shows", "the colour is fading", "heat", "an edge or a line is showing"],
        System::Unknown => &[
            "colour on the pad where there was none",
            "primer's colour shows, or the colour is fading",
            "heat",
            "an edge or a line is showing",
        ],
    }
}

fn stops(standing: &Standing, id: Id, place: &Place, panel: &PlannedPanel, section: &PlannedSection) -> Markup {
    html! {
        details.stops id="stops" {
            summary { strong { "Stop" } ", with a reason" }
            div.stack {
                @for why in reasons(standing.paint.system) {
                    form data-record data-event="work-stopped" data-then={ "/jobs/" (id) "/survey/" (place.panel) } {
                        (order::said(&panel.name, section))
                        input type="hidden" name="why" value=(why);
                        button.second.wide { (why) }
                    }
                }
                form.row data-record data-event="work-stopped" data-then={ "/jobs/" (id) "/survey/" (place.panel) } {
                    (order::said(&panel.name, section))
                    input name="why" required aria-label="Another reason" placeholder="Another reason" autocomplete="off";
                    button.second { "Stop" }
                }
                form.row data-record data-event="left-alone" data-then={ "/jobs/" (id) "/work" } {
                    input type="hidden" name="panel" value=(panel.name);
                    (order::said(&panel.name, section))
                    input name="why" required aria-label="Why it is left alone" placeholder="Why is it left alone?" autocomplete="off";
                    button.second { "Leave it alone" }
                }
                p.quiet { "After a stop, the page to read here opens: a reading tells whether more may be done." }
            }
        }
    }
}

/// When the topcoat was gone through.
fn went_through(place: &Place, panel: &PlannedPanel, section: &PlannedSection) -> Markup {
    let [x, y] = [section.x_mm + section.width_mm / 2.0, section.y_mm + section.height_mm / 2.0];
    html! {
        details.stops id="through" {
            summary { strong { "The topcoat is gone through" } }
            ol {
                li { "Stop the machine. Touch nothing round it: no wiping hard, no more polish, no sanding." }
                li { "Photograph it with something for scale beside it." }
                li { "Tell whoever answers for the job, and the owner, before anything else is done to the panel." }
                li { "Old primers may hold lead or chromates: no dry dust, gloves on." }
                li { "Write down where, and what shows." }
            }
            form.stack data-record data-event="gone-through" data-said="It is recorded." {
                input type="hidden" name="panel" value=(panel.name);
                (Field { name: "x_mm", label: "Where: across", value: &format!("{x:.0}"), help: "" }.number(Need::Must, "mm"))
                (Field { name: "y_mm", label: "and up", value: &format!("{y:.0}"), help: "" }.number(Need::Must, "mm"))
                (Field { name: "note", label: "What shows, and what was done about it", value: "", help: "" }.text(Need::Must))
                button.primary { "Record it" }
            }
            form.row data-record data-event="photograph-attached" data-said="The photograph is kept." {
                input type="hidden" name="panel" value=(panel.name);
                label.field for={ "photograph-" (place.number) } { "Photograph" }
                input id={ "photograph-" (place.number) } type="file" name="photograph" accept="image/jpeg,image/png,image/webp" capture="environment" required;
                button.second { "Keep the photograph" }
            }
        }
    }
}

/// What comes next, in working order.
fn next(shown: &Shown, id: Id) -> Markup {
    let after = shown.in_hand.map_or(0, |at| at + 1);
    let waiting: Vec<(usize, &Place)> =
        shown.order.places.iter().enumerate().skip(after).filter(|(_, place)| place.state == At::Waits).collect();
    let row = |(at, place): &(usize, &Place)| {
        let panel = shown.planned.panels.get(place.planned);
        let words = panel.and_then(|panel| panel.sections.get(place.section)).map(PlannedSection::words).unwrap_or_default();
        html! { li { a.button.wide href={ "/jobs/" (id) "/work?section=" (at + 1) } { strong { (panel.map_or("", |panel| &panel.name)) } span { (words) } } } }
    };
    html! {
        section {
            h2 { "Next" }
            @if waiting.is_empty() { p.quiet { "Nothing waits behind this." } }
            ul.jobs { @for one in waiting.iter().take(NEXT) { (row(one)) } }
            @if waiting.len() > NEXT { details id="all-next" { summary { "All " (waiting.len()) " that wait" } ul.jobs { @for one in waiting.iter().skip(NEXT) { (row(one)) } } } }
        }
    }
}
