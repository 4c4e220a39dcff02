//! Where to tape, and what is asked of machines and pads.

use lastmicron_plan::{Car, HEAT_IS, Outcome, tape_in_words};

use super::panels::sentence;
use super::words::wrapped;

pub(super) fn text(car: &Car, outcome: &Outcome) -> String {
    if outcome.plan.panels.iter().all(|panel| !panel.is_worked()) {
        return String::new();
    }
    let mut text = String::from("\nTape, machines and pads\n");
    text += &wrapped(&sentence(&format!("Tape: {}", tape_in_words(car, &outcome.tapes))), "  ", "    ");
    for work in &outcome.pad_work {
        text += &wrapped(&work.title(car), "  ", "    ");
        for (name, asked) in work.asked() {
            text += &wrapped(&sentence(&format!("{name}: {asked}")), "  - ", "    ");
        }
    }
    if !outcome.pad_work.is_empty() {
        text += &wrapped(&sentence(HEAT_IS), "  ", "  ");
    }
    text
}
