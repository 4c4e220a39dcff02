//! Two plans of one vehicle, and in which the second differs.

use lastmicron_draw::in_unit;
use lastmicron_folder::planned::{Planned, PlannedPanel};
use lastmicron_units::Unit;

use super::LEAST_GONE;
use crate::wording::chance;

/// Least difference that is told: a share of the defects, and hours.
const LEAST_SHARE: f64 = 0.005;
const LEAST_HOURS: f64 = 0.05;

/// What is other in `after` than in `before`, in sentences: the whole first, then each panel that changes.
pub(super) fn compared(before: &Planned, after: &Planned, unit: Unit) -> Vec<String> {
    let mut lines = Vec::new();
    let share = |share: f64| format!("{:.0} %", 100.0 * share);
    if (before.correction.mean - after.correction.mean).abs() >= LEAST_SHARE {
        lines.push(format!("{} of the defects go in place of {}.", share(after.correction.mean), share(before.correction.mean)));
    }
    let (was, is) = (risk(before), risk(after));
    if was != is {
        lines.push(format!("The risk is {is} in place of {was}."));
    }
    if (before.hours - after.hours).abs() >= LEAST_HOURS {
        lines.push(format!("{:.1} hours in place of {:.1}.", after.hours, before.hours));
    }
    lines.extend(after.panels.iter().filter_map(|panel| {
        let was = before.panels.iter().find(|was| was.name == panel.name)?;
        changed(was, panel, unit)
    }));
    lines
}

fn risk(planned: &Planned) -> String {
    match planned.risk {
        Some(risk) if risk > 0.0 => chance(risk),
        Some(_) => "too small to be counted".to_owned(),
        None => "not known".to_owned(),
    }
}

fn changed(was: &PlannedPanel, is: &PlannedPanel, unit: Unit) -> Option<String> {
    let steps = |panel: &PlannedPanel| panel.sections.iter().map(|section| section.steps.clone()).collect::<Vec<_>>();
    if steps(was) == steps(is) && was.keep_off == is.keep_off {
        return None;
    }
    let gone = |panel: &PlannedPanel| {
        let gone = panel.gone();
        match (panel.is_worked(), gone > LEAST_GONE) {
            (true, _) => format!("{:.0} % gone", 100.0 * gone),
            (false, true) => format!("{:.0} % gone and no more done", 100.0 * gone),
            (false, false) => "left alone".to_owned(),
        }
    };
    let leaves = |panel: &PlannedPanel| panel.leaves_p05_um().map_or_else(String::new, |um| format!(", {} left", in_unit(um, unit)));
    Some(format!("{}: {}{} in place of {}{}.", is.name, gone(is), leaves(is), gone(was), leaves(was)))
}
