//! What to do on each panel and section.

use lastmicron_plan::{Alike, Car, PanelPlan, Plan, SectionPlan, alike, kept_off_in_words};
use lastmicron_polish::Step;

use super::words::{Say, hours, wrapped};

pub(super) fn text(car: &Car, plan: &Plan, say: Say) -> String {
    let mut text = wrapped(
        "Sections are numbered as on a panel's map; places are in mm from its lower left; 'leaves' is the thinnest worked place of a section, by its median, and what it is at least 19 times in 20.",
        "\nThe panels. ",
        "",
    );
    for one in &plan.panels {
        text += &panel(car, one, say);
    }
    text
}

fn panel(car: &Car, plan: &PanelPlan, say: Say) -> String {
    let minutes: f64 = plan.sections.iter().map(|section| section.minutes).sum();
    let is_worked = plan.is_worked();
    let about = match (is_worked, plan.measured) {
        (false, _) => "leave as it is".to_owned(),
        (true, true) => format!("{}, {} of going below the floor", hours(minutes), say.chance(plan.risk)),
        (true, false) => format!("{}, not measured", hours(minutes)),
    };
    let mut text = wrapped(&format!("{}: {about}.", plan.name), "\n", "  ");
    if !plan.keep_off.is_empty() && is_worked {
        let bands = car.panels.get(plan.panel).map(|at| kept_off_in_words(&at.panel, &plan.keep_off, &[])).unwrap_or_default();
        text += &wrapped(&format!("Keep the machine off: {}.", bands.join("; ")), "  ", "    ");
    }
    for note in &plan.notes {
        text += &wrapped(&format!("Note: {}", sentence(note)), "  ", "  ");
    }
    // A panel that is to stay as it is has that as its note.
    if is_worked || car.panels.get(plan.panel).is_some_and(|panel| panel.work) {
        let said: Vec<(&[Step], &str)> = plan.sections.iter().map(|one| (one.steps.as_slice(), one.why.as_str())).collect();
        let groups = alike(&said);
        let is_said = groups.len() == 1 && !is_worked;
        for one in &groups {
            text += &if is_said { wrapped(&format!("Why: {}", sentence(&one.why)), "  ", "  ") } else { group(car, plan, one, say) };
        }
    }
    text
}

/// Sections that are treated alike for the same reason: what they have in common, then each.
fn group(car: &Car, plan: &PanelPlan, of: &Alike, say: Say) -> String {
    let sections: Vec<(usize, &SectionPlan)> = of.sections.iter().filter_map(|&i| Some((i + 1, plan.sections.get(i)?))).collect();
    let [(_, first), others @ ..] = sections.as_slice() else { return String::new() };
    let is_alone = others.is_empty();
    let head = if is_alone { format!("{}, {}", of.named(), place(first)) } else { of.named() };
    let why = sentence(&of.why);
    if first.steps.is_empty() {
        let left = if is_alone { "leave as it is" } else { "leave as they are" };
        let places: Vec<String> = sections.iter().map(|(number, one)| format!("{number} {}", place(one))).collect();
        let places = if is_alone { String::new() } else { format!(" {}.", places.join("; ")) };
        return wrapped(&format!("{head}: {left}. Why: {why}{places}"), "  - ", "    ");
    }
    let takes = |one: &SectionPlan| format!("takes {}", say.removal(one.removal_um));
    let becomes = |one: &SectionPlan| becomes(one, plan.measured, say);
    let steps = steps(car, &first.steps);
    if is_alone {
        let told = wrapped(&format!("{head}: {steps}."), "  - ", "    ");
        let then = wrapped(&format!("{}, {}", takes(first), becomes(first)), "    ", "    ");
        return told + &then + &wrapped(&format!("Why: {why}"), "    ", "    ");
    }
    let is_common = others.iter().all(|(_, one)| takes(one) == takes(first));
    let common = if is_common { format!("; each {}", takes(first)) } else { String::new() };
    let mut text = wrapped(&format!("{head}: {steps}{common}."), "  - ", "    ");
    text += &wrapped(&format!("Why: {why}"), "    ", "    ");
    for (number, one) in sections {
        let own = if is_common { String::new() } else { format!("{}, ", takes(one)) };
        text += &wrapped(&format!("{number} {}: {own}{}", place(one), becomes(one)), "    ", "      ");
    }
    text
}

fn place(of: &SectionPlan) -> String {
    format!("from ({:.0}, {:.0}), {:.0} by {:.0} mm", of.x_mm, of.y_mm, of.width_mm, of.height_mm)
}

/// What is left of a section, at what risk, and what goes.
fn becomes(of: &SectionPlan, measured: bool, say: Say) -> String {
    let leaves = if of.topcoat_after_p50_um.is_finite() {
        format!("leaves {} {}, at least {}", say.bare(of.topcoat_after_p50_um), say.unit, say.bare(of.topcoat_after_p05_um))
    } else {
        "what it leaves is not known".to_owned()
    };
    let below = if measured { format!("{} of going below the floor", say.chance(of.risk)) } else { "not measured".to_owned() };
    format!("{leaves}; {below}; removes {} of the defects; {}.", say.share(of.correction), hours(of.minutes))
}

/// "2 sets of one-step, then 1 set of finish".
pub(super) fn steps(car: &Car, steps: &[Step]) -> String {
    let step = |step: &Step| {
        let name = car.processes.get(step.process).map_or("a process that is not known", |process| process.name.as_str());
        format!("{} {} of {name}", step.sets, if step.sets == 1 { "set" } else { "sets" })
    };
    steps.iter().map(step).collect::<Vec<_>>().join(", then ")
}

/// With a stop at its end.
pub(super) fn sentence(words: &str) -> String {
    let words = words.trim();
    if words.ends_with(['.', '?', '!']) { words.to_owned() } else { format!("{words}.") }
}
