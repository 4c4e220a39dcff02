//! The section in hand: its place on the panel, what is left there, what is to be done set by set, edges, pads, and reasons to stop.

use lastmicron_draw::{Room, section_map};
use lastmicron_folder::planned::{PlannedPanel, PlannedSection};
use lastmicron_job::event::Id;
use lastmicron_plan::{CarPanel, KeepOff, KeepOffLine, material};
use lastmicron_units::Unit;
use maud::{Markup, PreEscaped, html};

use super::edges::edges;
use super::pads::{named, pads, passes, reach};
use super::stops::{halted, held, stops, went_through};
use super::{Shown, read_from};
use crate::order::{self, Place, State as At};
use crate::through;
use crate::wording::{counted, film_between};

/// Room of the section's drawing, points: shown as wide as the screen.
const SECTION: Room = Room { width_pt: 240.0, height_pt: 190.0 };

pub(super) fn in_hand(shown: &Shown, id: Id, place: &Place, unit: Unit) -> Markup {
    let standing = &shown.folded.standing;
    let (Some(panel), Some(section), Some(car_panel)) = (
        shown.planned.panels.get(place.planned),
        shown.planned.panels.get(place.planned).and_then(|panel| panel.sections.get(place.section)),
        place.panel.and_then(|panel| standing.panels.get(panel)),
    ) else {
        return html! { div id="doing" data-live { p.stop { "The panel of this section is no longer stated: it is worked no further." } } };
    };
    let may_stop = !matches!(place.state, At::Through);
    html! {
        section.in-hand {
            h2 { (panel.name) span.quiet { ", section " (place.number) " of " (shown.order.places.len()) } }
            div id="through-on" role="alert" data-live { @for words in through::told(standing, place.panel) { p.stop { (words) "." } } }
            div.work {
                div id="drawn" data-live { div.map { (PreEscaped(drawn(shown, place, car_panel).svg())) } (film(shown, id, place, panel, unit)) }
                div id="doing" data-live { (steps(shown, id, place, panel, section)) }
            }
            (edges(car_panel, panel, section, &named(&shown.planned, section), reach(&shown.planned, section)))
            div id="pads" data-live { (pads(standing, &shown.planned, section, material(car_panel.panel.substrate))) }
            div id="stopping" data-live { @if may_stop { (stops(shown, id, place, panel, section)) } }
            (went_through(place, panel))
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
fn film(shown: &Shown, id: Id, place: &Place, panel: &PlannedPanel, unit: Unit) -> Markup {
    let Some(survey) = &shown.film else { return html! {} };
    html! {
        @if let Some(film) = &survey.film {
            p.figure { span.quiet { "Smallest topcoat left on it now, 9 times in 10 " } strong { (film_between(&film.smallest_um, unit)) } }
        } @else { p.quiet { "Nobody has read this panel: the plan works it by the spend alone, at a risk that is not known." } }
        @if let Some(next) = &survey.next {
            p { "A check reading would help most at " (format!("{:.0} mm across, {:.0} mm up", next.x_mm, next.y_mm)) ". " a.button href=(read_from(id, shown, place, panel, None)) { "Read there" } }
        }
    }
}

/// What is to be done, set by set, and what is.
fn steps(shown: &Shown, id: Id, place: &Place, panel: &PlannedPanel, section: &PlannedSection) -> Markup {
    html! {
        ol.to-do {
            @for (step, done) in section.steps.iter().zip(&place.done) {
                li { strong { (step.process) } ": " (done) " of " (step.sets) @if *done >= step.sets { " \u{2713}" } }
            }
        }
        @match &place.state {
            At::Done(who) => { p.here { "Done by " (who) "." } }
            At::Begun(who) if place.held.is_some() => {
                (held(shown, id, place, panel, section))
                details id="before-it" { summary { "A set was done before that" } (act(shown, id, place, panel, section, who)) }
            }
            At::Begun(who) if *who == shown.looks.who => { p.quiet { "You are on it, as " (who) } (act(shown, id, place, panel, section, who)) }
            At::Begun(who) => {
                p.here { (who) " is on it." }
                details id="for-another" { summary { "Record it for " (who) } (act(shown, id, place, panel, section, who)) }
            }
            At::Waits if place.held.is_none() => {
                form data-record data-event="work-started" data-said="It is recorded that you are on it." {
                    (order::said(&panel.name, section))
                    @if let Some(step) = section.steps.first() { input type="hidden" name="process" value=(step.process); }
                    button.primary.large id="act" { "Start this section" }
                }
            }
            At::Waits | At::Stopped(..) | At::LeftAlone(_) | At::Through => { (halted(shown, id, place, panel, section)) }
        }
        (away(shown, place, panel, section))
        @if let At::Begun(_) = &place.state {
            details id="clock" data-since=[place.since.as_ref()] { summary { "Clock" } p.figure id="elapsed" aria-live="off" {} p.quiet { "Planned: " (counted(format!("{:.0}", section.minutes), "minute", "minutes")) " for all its sets." } }
        }
    }
}

/// All that may be done on the section next, for a device on which something was recorded while nobody answers: its page stays as it was.
fn away(shown: &Shown, place: &Place, panel: &PlannedPanel, section: &PlannedSection) -> Markup {
    let is_theirs = match &place.state {
        At::Waits => place.held.is_none(),
        At::Begun(who) => place.held.is_none() && *who == shown.looks.who,
        At::Done(_) | At::Stopped(..) | At::LeftAlone(_) | At::Through => false,
    };
    html! {
        @if is_theirs {
            template id="away" {
                @for step in &section.steps {
                    form data-record data-event="set-done" data-said="The set is recorded." {
                        input type="hidden" name="process" value=(step.process);
                        input type="hidden" name="sets" data-as="whole" value="1";
                        (order::said_in_list(&panel.name, section))
                        (order::kept_off(panel))
                        button.primary.wide { "A set of " (step.process) " is done" }
                    }
                }
                form data-record data-event="work-done" data-said="The section is done." { (order::said(&panel.name, section)) button.primary.wide { "The section is done" } }
            }
        }
    }
}

/// The next thing that is done on a section in hand: a set, or its end.
fn act(shown: &Shown, id: Id, place: &Place, panel: &PlannedPanel, section: &PlannedSection, who: &str) -> Markup {
    match place.remaining(section) {
        Some(step) => html! {
            form data-record data-event="set-done" data-said="The set is recorded." {
                input type="hidden" name="process" value=(step.process);
                input type="hidden" name="sets" data-as="whole" value="1";
                (order::said_in_list(&panel.name, section))
                (order::kept_off(panel))
                button.primary.large id="act" { "A set of " (step.process) " is done" @if who != shown.looks.who { ", by " (who) } }
            }
            p { (passes(&shown.folded.standing, &step.process)) }
        },
        None => html! {
            form data-record data-event="work-done" data-then={ "/jobs/" (id) "/work" } { (order::said(&panel.name, section)) button.primary.large id="act" { "The section is done" } }
        },
    }
}
