//! The plan in brief: a line a panel.

use lastmicron_plan::{Chance, PanelPlan, Plan};

use super::words::{Say, hours, wrapped};

/// Characters of the first column; a longer name is cut.
const NAME: usize = 24;

/// A line a panel, and what the columns are.
pub(super) fn text(plan: &Plan, say: Say) -> String {
    let leaves = format!("leaves, {}", say.unit);
    let mut text = format!("\n{:<NAME$}{:>9}{:>12}{leaves:>13}{:>8}{:>14}\n", "The plan in brief", "worked", "time", "gone", "below");
    for panel in &plan.panels {
        text += &line(panel, say);
    }
    let columns = "worked: sections. leaves: topcoat at the thinnest worked place, this or more 19 times in 20. gone: defects, in the mean. below: chance that a worked place ends below the floor.";
    text + &wrapped(columns, "", "")
}

fn line(panel: &PanelPlan, say: Say) -> String {
    let room = NAME - 3;
    let name =
        if panel.name.chars().count() <= room { panel.name.clone() } else { panel.name.chars().take(room - 3).collect::<String>() + "..." };
    let of = panel.sections.len();
    let worked = panel.sections.iter().filter(|s| !s.steps.is_empty()).count();
    if worked == 0 {
        return format!("  {name:<22}{:>9}\n", "left");
    }
    let time = hours(panel.sections.iter().map(|s| s.minutes).sum());
    let leaves = panel.leaves_p05_um().map_or_else(|| "not known".to_owned(), |um| say.bare(um));
    let below = format!("{:#}", Chance::counted(panel.risk, say.films));
    format!("  {name:<22}{:>9}{time:>12}{leaves:>13}{:>6.0} %{below:>14}\n", format!("{worked} of {of}"), 100.0 * panel.gone())
}
