//! The pad in use, its load, and when it is due; and how one set is worked.

use lastmicron_folder::planned::{Planned, PlannedPad, PlannedSection};
use lastmicron_job::fold::{Done, Standing, Where};
use maud::{Markup, html};

/// How one set is worked.
pub(super) fn passes(standing: &Standing, process: &str) -> String {
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

/// The pads of a section, named for a sentence: "the 125 mm soft foam", or "the pad" where none is stated.
pub(super) fn named(planned: &Planned, section: &PlannedSection) -> String {
    let mut names: Vec<&str> = section.steps.iter().filter_map(|step| of(planned, &step.process)?.pad.as_deref()).collect();
    names.dedup();
    if names.is_empty() { "the pad".to_owned() } else { format!("the {}", names.join(" or the ")) }
}

fn of<'p>(planned: &'p Planned, process: &str) -> Option<&'p PlannedPad> {
    planned.pad_work.iter().find(|pad| pad.process == process)
}

/// The pad in use, and when it is due.
pub(super) fn pads(standing: &Standing, planned: &Planned, section: &PlannedSection) -> Markup {
    html! {
        section {
            h3 { "Pads" }
            ul { @for step in &section.steps { li { strong { (step.process) } ": " (pad(of(planned, &step.process), sets_done(standing, &step.process))) } } }
            p.caution { "Rest the hands and wear ear protection; keep the pad's cord and the water apart; polish dust and residue go where local rules want them." }
        }
    }
}

/// Sets of a process that were done on sections so far.
fn sets_done(standing: &Standing, process: &str) -> u32 {
    let is_of = |done: &&Done| standing.processes.get(done.step.process).is_some_and(|known| known.name == process);
    standing.done.iter().filter(|done| matches!(done.place, Where::Sections(_))).filter(is_of).map(|done| done.step.sets).sum()
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
