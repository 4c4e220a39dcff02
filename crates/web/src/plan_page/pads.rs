//! Where to tape, and what the plan asks of machines and pads, in the words that the terminal and the paper have.

use lastmicron_plan::{Car, HEAT_IS, Outcome, tape_in_words};
use maud::{Markup, html};

/// Tape, then each process's machine and pad; nothing where nothing is worked.
pub(super) fn asked(car: &Car, outcome: &Outcome) -> Markup {
    if outcome.plan.panels.iter().all(|panel| !panel.is_worked()) {
        return html! {};
    }
    html! {
        section id="asked-of-pads" {
            h2 { "Tape, machines and pads" }
            p { strong { "Tape" } ": " (tape_in_words(car, &outcome.tapes)) "." }
            @for work in &outcome.pad_work {
                h3 { (work.title(car)) }
                ul { @for (name, asked) in work.asked() { li { strong { (name) } ": " (asked) "." } } }
            }
            @if !outcome.pad_work.is_empty() { p.quiet { (HEAT_IS) "." } }
        }
    }
}
