//! Panels that no gauge has read: planned by the spend and the mildest process, and marked.

use super::Made;
use super::sections::{Told, left_alone, sections_of_one_treatment, told_draws};
use super::{interval, spread};
use crate::outcome::{KeepOff, SectionPlan};
use crate::treatment::Treatment;

/// Distance that edges are kept off on a panel of unknown film, mm: the gain there is then a seventh of that at the edge.
const KEPT_OFF_MM: f64 = 25.0;

/// Treatment of a panel that isn't measured, or why there is none.
fn treatment<'a>(made: &'a Made, panel: usize) -> Result<&'a Treatment, &'static str> {
    let wanted = within_spend(made, panel).ok_or("not measured, and no spend that a mild set would keep to: left alone")?;
    let fits = minutes(made, panel, wanted) <= minutes_left(made, panel);
    fits.then_some(wanted).ok_or("not measured, and the hours are too short for it: left alone")
}

/// Minutes of the hours that panels not measured leave to others, those from panel `end` on left out. They come first, in the order of the job,
/// each while the hours last.
pub(crate) fn minutes_left(made: &Made, end: usize) -> f64 {
    (0..end).filter(|&k| made.rooms[k].is_none()).fold(made.car.goal.hours * 60.0, |left, k| {
        let wanted = within_spend(made, k).map_or(0.0, |t| minutes(made, k, t));
        if wanted <= left { left - wanted } else { left }
    })
}

fn minutes(made: &Made, panel: usize, treatment: &Treatment) -> f64 {
    treatment.minutes_per_m2 * made.car.panels[panel].panel.area_m2()
}

/// The most sets of the mildest process that the spend allows and the goal asks for; none without a spend.
fn within_spend<'a>(made: &'a Made, panel: usize) -> Option<&'a Treatment> {
    let car = made.car;
    let spend = car.limits.spend.filter(|_| car.panels[panel].work)?;
    let single = |t: &&Treatment| t.steps.len() == 1;
    let mildest = made.treatments.iter().filter(single).min_by(|a, b| a.mean_um.total_cmp(&b.mean_um))?.steps[0].process;
    let gain = 1.0 + made.drawn.knowledge.edge.gain.mean * made.drawn.knowledge.edge.fall_off(KEPT_OFF_MM);
    let fits = |t: &&Treatment| t.steps[0].process == mildest && t.mean_um * gain <= spend.micrometres();
    let mut fitting: Vec<&Treatment> = made.treatments.iter().filter(single).filter(fits).collect();
    fitting.sort_by(|a, b| a.mean_um.total_cmp(&b.mean_um));
    let enough = fitting.iter().position(|t| t.correction >= car.goal.correction);
    enough.map(|i| fitting[i]).or_else(|| fitting.last().copied())
}

/// Tells a panel without readings.
pub(super) fn tell(made: &Made, panel: usize) -> Told {
    let draws = told_draws(made);
    let tiles = sections_of_one_treatment(made, panel);
    let treatment = match treatment(made, panel) {
        Ok(treatment) => treatment,
        Err(why) => {
            let sections = tiles.iter().map(|t| left_alone(t, why)).collect();
            return Told { sections, correction: vec![0.0; draws.len()], keep_off: None };
        }
    };
    let correction: Vec<f64> = draws.clone().map(|d| treatment.correction(made.drawn, d, made.drawn.panel_factor(d, panel))).collect();
    let removal: Vec<f64> = draws.map(|d| treatment.removal_um(made.drawn, d) * made.drawn.panel_factor(d, panel)).collect();
    let sections = tiles
        .iter()
        .map(|t| SectionPlan {
            steps: treatment.steps.clone(),
            removal_um: spread(&removal),
            correction: interval(correction.clone()),
            minutes: treatment.minutes_per_m2 * t.width_mm * t.height_mm * 1e-6,
            ..left_alone(t, "not measured: the mildest process, within the spend; its risk is not known")
        })
        .collect();
    let keep_off = Some((0..made.car.panels[panel].panel.outline_mm.len()).map(|edge| KeepOff { edge, mm: KEPT_OFF_MM }).collect());
    Told { sections, correction, keep_off }
}
