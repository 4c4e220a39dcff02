//! Stopping: the reasons there are, how a section is gone on with, and what to do where the topcoat was gone through.

use lastmicron_folder::planned::{PlannedPanel, PlannedSection};
use lastmicron_job::event::Id;
use lastmicron_plan::System;
use maud::{Markup, html};

use super::{Shown, read_from};
use crate::field::{Field, Need};
use crate::order::{self, Place, State};
use crate::through;

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

/// The middle of a section, mm.
fn middle(section: &PlannedSection) -> [f64; 2] {
    [section.x_mm + section.width_mm / 2.0, section.y_mm + section.height_mm / 2.0]
}

/// The page on which a section is read, at its middle.
fn read_here(shown: &Shown, id: Id, place: &Place, panel: &PlannedPanel, section: &PlannedSection) -> String {
    read_from(id, shown, place, panel, Some(middle(section)))
}

pub(super) fn stops(shown: &Shown, id: Id, place: &Place, panel: &PlannedPanel, section: &PlannedSection) -> Markup {
    let (standing, read_here) = (&shown.folded.standing, read_here(shown, id, place, panel, section));
    html! {
        details.stops id="stops" {
            summary { strong { "Stop" } ", with a reason" }
            div.stack {
                @for why in reasons(standing.paint.system) {
                    form data-record data-event="work-stopped" data-then=(read_here) {
                        (order::said(&panel.name, section))
                        input type="hidden" name="why" value=(why);
                        button.second.wide { (why) }
                    }
                }
                form.row data-record data-event="work-stopped" data-then=(read_here) {
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

/// Why a section is not worked, and how it is gone on with, if at all.
pub(super) fn halted(shown: &Shown, id: Id, place: &Place, panel: &PlannedPanel, section: &PlannedSection) -> Markup {
    let here = read_here(shown, id, place, panel, section);
    match &place.state {
        State::Through => {
            html! { p.stop { "The topcoat was gone through on this section or just beside it. Nothing more is done to it: what was found and done stands below and in the record." } }
        }
        _ if place.held.is_some() => held(shown, id, place, panel, section),
        State::Stopped(event, why) => html! {
            p.stop { "Stopped: " (why) ". Read here before anything else is done." }
            p { a.primary href=(here) { "Read here" } }
            @if is_read_since(shown, place, section, *event) {
                (go_on(place, panel, section, "It was read since. Go on with this section"))
            } @else if shown.film.as_ref().is_some_and(|survey| survey.film.is_none()) {
                details id="go-on" { summary { "Nobody has read this panel" } (go_on(place, panel, section, "Go on with this section all the same")) }
            } @else { p.quiet { "As soon as it is read, it can be gone on with from here." } }
        },
        State::LeftAlone(why) => html! {
            p.stop { "Left alone: " (why) "." }
            details id="go-on" { summary { "Work it after all" } (go_on(place, panel, section, "Start this section")) }
        },
        State::Waits | State::Begun(_) | State::Done(_) => html! {},
    }
}

/// That nothing more is done on the panel for now, and how it is gone on with when that was said.
pub(super) fn held(shown: &Shown, id: Id, place: &Place, panel: &PlannedPanel, section: &PlannedSection) -> Markup {
    html! {
        p.stop { "Held: the topcoat was gone through elsewhere on this panel. Nothing on it is worked until whoever answers for the job has said so." }
        p { a.primary href=(read_here(shown, id, place, panel, section)) { "Read here" } }
        (through::decided(&panel.name, &shown.looks))
    }
}

/// Whether the section was read after an event.
fn is_read_since(shown: &Shown, place: &Place, section: &PlannedSection, event: Id) -> bool {
    let since = shown.folded.since(event);
    let on = |reading: &lastmicron_plan::Reading| Some(reading.panel) == place.panel && order::holds(section, [reading.x_mm, reading.y_mm]);
    shown.folded.standing.readings.iter().any(|taken| since.contains(&taken.event) && on(&taken.reading))
}

fn go_on(place: &Place, panel: &PlannedPanel, section: &PlannedSection, words: &str) -> Markup {
    html! {
        form data-record data-event="work-started" data-said="It is recorded that you are on it." {
            (order::said(&panel.name, section))
            @if let Some(step) = place.remaining(section).or_else(|| section.steps.first()) { input type="hidden" name="process" value=(step.process); }
            button.second.wide { (words) }
        }
    }
}

/// When the topcoat was gone through.
pub(super) fn went_through(place: &Place, panel: &PlannedPanel) -> Markup {
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
                (Field { name: "x_mm", label: "Where: across", value: "", help: "From the panel's lower left, measured." }.number(Need::Must, "mm"))
                (Field { name: "y_mm", label: "and up", value: "", help: "" }.number(Need::Must, "mm"))
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
