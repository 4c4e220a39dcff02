//! The pad in use, its load, when it is due, and the heat under it; how far it may go; and how one set is worked.

use lastmicron_folder::planned::{Planned, PlannedPad, PlannedSection};
use lastmicron_job::fold::{Done, Standing, Where};
use lastmicron_polish::heat::{HELD_STILL_S, Material};
use maud::{Markup, html};

use crate::wording::counted;

/// How far the pads of a section may go, mm: of several the strictest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reach {
    /// Over an edge.
    pub(super) over_edge_mm: Option<f64>,
    /// From tape to their middle, at the least.
    pub(super) from_tape_mm: Option<f64>,
}

/// How far the pads of a section may go.
pub(super) fn reach(planned: &Planned, section: &PlannedSection) -> Reach {
    let pads = || section.steps.iter().filter_map(|step| of(planned, &step.process));
    Reach {
        over_edge_mm: pads().filter_map(|pad| pad.overhang_mm).reduce(f64::min),
        from_tape_mm: pads().filter_map(|pad| pad.middle_from_band_mm).reduce(f64::max),
    }
}

/// How one set is worked.
pub(super) fn passes(standing: &Standing, process: &str) -> String {
    let at = standing.processes.iter().position(|known| known.name == process);
    let stages: Vec<String> = at.map_or(&[][..], |at| standing.equipment.stages_of(at)).iter().map(ToString::to_string).collect();
    if !stages.is_empty() {
        return format!("One set: {}.", stages.join(", then "));
    }
    match at.and_then(|at| standing.equipment.of(at)) {
        Some((machine, pad, used)) => {
            format!(
                "One set: {} at {} mm/s with the {} and the {}.",
                counted(used.passes, "pass", "passes"),
                used.arm_speed_mm_s,
                machine.name,
                pad.name
            )
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

/// The pad in use, when it is due, and what heat on this material calls for.
pub(super) fn pads(standing: &Standing, planned: &Planned, section: &PlannedSection, material: Material) -> Markup {
    html! {
        section {
            h3 { "Pads" }
            ul {
                @for step in &section.steps {
                    li {
                        strong { (step.process) } ": " (pad(of(planned, &step.process), sets_done(standing, &step.process)))
                        @for heat in of(planned, &step.process).map(|pad| heat(pad, material)).unwrap_or_default() { " " (heat) }
                    }
                }
            }
            p.caution { "Rest the hands and wear ear protection; keep the pad's cord and the water apart; polish dust and residue go where local rules want them." }
        }
    }
}

/// What the heat under a pad calls for; nothing where none is looked for.
fn heat(pad: &PlannedPad, material: Material) -> Vec<String> {
    let Some(heat) = pad.heat.iter().find(|heat| heat.material == material.to_string()) else { return Vec::new() };
    let worked = heat.worked.as_ref().map(|caution| format!("Heat while working: {caution}."));
    let held_still = heat.held_still.as_ref().map(|caution| format!("Held still for {HELD_STILL_S:.0} s: {caution}."));
    worked.into_iter().chain(held_still).collect()
}

/// Sets of a process that were done on sections so far.
fn sets_done(standing: &Standing, process: &str) -> u32 {
    let is_of = |done: &&Done| standing.processes.get(done.step.process).is_some_and(|known| known.name == process);
    standing.done.iter().filter(|done| matches!(done.place, Where::Sections(_))).filter(is_of).map(|done| done.step.sets).sum()
}

fn pad(pad: Option<&PlannedPad>, done: u32) -> String {
    let Some(pad) = pad else {
        return format!(
            "{} so far. Clean the pad after each section, change it when it stays clogged (common practice, no source).",
            counted(done, "set", "sets")
        );
    };
    let name = pad.pad.as_deref().unwrap_or("the pad");
    let due = |after: Option<u32>, what: &str| {
        after.filter(|after| *after > 0).map(|after| match after - done % after {
            left if left == after && done > 0 => format!("{what} now"),
            left => format!("{what} after {}", counted(left, "more set", "more sets")),
        })
    };
    let parts: Vec<String> =
        [due(pad.clean_after_sets, "clean it"), due(pad.change_after_sets, "change it")].into_iter().flatten().collect();
    let due = if parts.is_empty() { "nothing is due within a set".to_owned() } else { parts.join(", ") };
    format!("{name}, {} so far: {due}.", counted(done, "set", "sets"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    fn pad(process: &str, overhang_mm: Option<f64>, middle_mm: f64, heat: &Value) -> Value {
        json!({ "process": process, "machine": "orbital", "pad": process, "overhang_mm": overhang_mm, "middle_from_band_mm": middle_mm, "heat": heat })
    }

    fn planned(pads: &[Value]) -> Planned {
        let share = json!({ "mean": 0.8, "p05": 0.7, "p95": 0.9 });
        Planned::of(json!({ "risk": 0.01, "correction": share, "hours": 1.0, "panels": [], "pad_work": pads })).unwrap()
    }

    fn section(processes: &[&str]) -> PlannedSection {
        let steps: Vec<Value> = processes.iter().map(|process| json!({ "process": process, "sets": 1 })).collect();
        serde_json::from_value(json!({
            "x_mm": 0.0, "y_mm": 0.0, "width_mm": 400.0, "height_mm": 400.0, "steps": steps, "removal_um": { "mean": 1.0, "sd": 0.1 },
            "topcoat_after_um": { "p05": null, "p50": null }, "correction": { "mean": 0.8, "p05": 0.7, "p95": 0.9 }, "minutes": 9.0, "why": ""
        }))
        .unwrap()
    }

    #[test]
    fn of_several_pads_the_strictest_says_how_far() {
        let plan = planned(&[pad("cut", Some(31.0), 47.0, &json!([])), pad("finish", Some(35.0), 52.5, &json!([]))]);
        assert_eq!(reach(&plan, &section(&["cut", "finish"])), Reach { over_edge_mm: Some(31.0), from_tape_mm: Some(52.5) });
        assert_eq!(reach(&plan, &section(&["finish"])), Reach { over_edge_mm: Some(35.0), from_tape_mm: Some(52.5) });
        assert_eq!(reach(&plan, &section(&[])), Reach { over_edge_mm: None, from_tape_mm: None });
        let stated = planned(&[pad("cut", None, 47.0, &json!([]))]);
        assert_eq!(reach(&stated, &section(&["cut"])).over_edge_mm, None);
    }

    #[test]
    fn heat_is_told_of_the_panels_own_material() {
        let heat = json!([
            { "material": "steel", "worked": null, "held_still": "about 48 degrees C" },
            { "material": "plastic", "worked": "about 45 degrees C", "held_still": "about 59 degrees C" },
        ]);
        let plan = planned(&[pad("cut", None, 47.0, &heat)]);
        let said = |material| super::heat(&plan.pad_work[0], material);
        assert_eq!(said(Material::Steel), ["Held still for 10 s: about 48 degrees C."]);
        assert_eq!(said(Material::Plastic), ["Heat while working: about 45 degrees C.", "Held still for 10 s: about 59 degrees C."]);
        assert!(said(Material::Aluminium).is_empty());
    }
}
