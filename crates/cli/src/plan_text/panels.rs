//! What to do on each panel and section.

use lastmicron_film::panel::Panel;
use lastmicron_plan::{Car, KeepOff, PanelPlan, Plan, SectionPlan};
use lastmicron_polish::Step;

use super::words::{Say, hours, wrapped};

pub(super) fn text(car: &Car, plan: &Plan, say: Say) -> String {
    let mut text = wrapped(
        "Places are in mm from a panel's lower left; 'leaves' is the thinnest worked place of a section, by its median, and what it is at least 19 times in 20.",
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
        let outline = car.panels.get(plan.panel).map(|panel| &panel.panel);
        let bands: Vec<String> = plan.keep_off.iter().map(|off| band(outline, off)).collect();
        text += &wrapped(&format!("Keep the machine off: {}.", bands.join("; ")), "  ", "    ");
    }
    for note in &plan.notes {
        text += &wrapped(&format!("Note: {}", sentence(note)), "  ", "  ");
    }
    if is_worked {
        for one in &plan.sections {
            text += &section(car, one, plan.measured, say);
        }
    } else if let Some(one) = plan.sections.first().filter(|_| car.panels.get(plan.panel).is_some_and(|panel| panel.work)) {
        // A panel that is to stay as it is has that as its note.
        text += &wrapped(&format!("Why: {}", sentence(&one.why)), "  ", "  ");
    }
    text
}

/// A band along an edge: by side for a rectangle, by number and ends for others.
fn band(panel: Option<&Panel>, off: &KeepOff) -> String {
    let mm = off.mm;
    let side = panel.and_then(|panel| panel.side(off.edge));
    match (side, panel.and_then(|panel| panel.edges().nth(off.edge))) {
        (Some(side), _) => format!("{mm} mm along the {side}"),
        (None, Some(([ax, ay], [bx, by]))) => format!("{mm} mm along edge {}, from ({ax}, {ay}) to ({bx}, {by})", off.edge),
        (None, None) => format!("{mm} mm along edge {}", off.edge),
    }
}

fn section(car: &Car, of: &SectionPlan, measured: bool, say: Say) -> String {
    let place = format!("from ({:.0}, {:.0}), {:.0} by {:.0} mm", of.x_mm, of.y_mm, of.width_mm, of.height_mm);
    if of.steps.is_empty() {
        return wrapped(&format!("{place}: leave as it is. Why: {}", sentence(&of.why)), "  - ", "    ");
    }
    let mut text = wrapped(&format!("{place}: {}.", steps(car, &of.steps)), "  - ", "    ");
    let leaves = if of.topcoat_after_p50_um.is_finite() {
        format!("leaves {} {}, at least {}", say.bare(of.topcoat_after_p50_um), say.unit, say.bare(of.topcoat_after_p05_um))
    } else {
        "what it leaves is not known".to_owned()
    };
    text += &wrapped(&format!("takes {}, {leaves};", say.removal(of.removal_um)), "    ", "    ");
    let below = if measured { format!("{} of going below the floor", say.chance(of.risk)) } else { "not measured".to_owned() };
    text += &wrapped(&format!("{below}; removes {} of the defects; {}.", say.share(of.correction), hours(of.minutes)), "    ", "    ");
    text += &wrapped(&format!("Why: {}", sentence(&of.why)), "    ", "    ");
    text
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
