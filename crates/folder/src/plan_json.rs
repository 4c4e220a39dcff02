//! A plan as JSON, as docs/formats.md says.

mod gloss;

use lastmicron_look::gloss::Spot;
use lastmicron_plan::{
    Along, Car, Finding, Interval, KeepOff, KeepOffLine, Outcome, PadWork, PanelPlan, Rate, SectionPlan, Spread, Tape, tape_mm,
};
use lastmicron_polish::Step;
use lastmicron_polish::heat::{HeatCaution, UNSURE, Warming};
use lastmicron_polish::stage::Stage;
use serde_json::{Value, json};

/// A number; null where it is none.
#[must_use]
pub fn number(value: f64) -> Value {
    serde_json::Number::from_f64(value + 0.0).map_or(Value::Null, Value::Number)
}

/// The plan and what it stands on, and `gloss` where any was read.
#[must_use]
pub fn plan_json(car: &Car, outcome: &Outcome, read: &[Spot]) -> Value {
    let plan = &outcome.plan;
    let mut whole = json!({
        "format": 1,
        "risk": number(plan.risk),
        "through_risk": number(plan.through_risk),
        "correction": interval(plan.correction),
        "hours": number(plan.hours),
        "panels": plan.panels.iter().map(|one| panel(car, one)).collect::<Vec<_>>(),
        "films": plan.films,
        "smallest_um": interval(outcome.smallest_um),
        "rates": outcome.rates.iter().map(|one| rate(car, one)).collect::<Vec<_>>(),
        "curve": outcome.curve.iter().map(|(depth_um, gone)| json!({ "depth_um": number(*depth_um), "correction": interval(*gone) })).collect::<Vec<_>>(),
        "bend_um": number(outcome.bend_um),
        "tape_m": number(tape_mm(&outcome.tapes) / 1000.0),
        "tapes": outcome.tapes.iter().map(|one| tape(car, one)).collect::<Vec<_>>(),
        "pad_work": outcome.pad_work.iter().map(|one| pad_work(car, one)).collect::<Vec<_>>(),
        "findings": outcome.findings.iter().map(|one| finding(car, one)).collect::<Vec<_>>(),
        "assumptions": outcome.assumptions,
    });
    if !read.is_empty() {
        whole["gloss"] = gloss::json(car, read);
    }
    whole
}

fn interval(of: Interval) -> Value {
    json!({ "mean": number(of.mean), "p05": number(of.p05), "p95": number(of.p95) })
}

fn spread(of: Spread) -> Value {
    json!({ "mean": number(of.mean), "sd": number(of.sd) })
}

fn process(car: &Car, index: usize) -> &str {
    car.processes.get(index).map_or("", |process| process.name.as_str())
}

fn panel(car: &Car, of: &PanelPlan) -> Value {
    let keep_off = |off: &KeepOff| json!({ "edge": off.edge, "mm": number(off.mm) });
    let off_line = |off: &KeepOffLine| json!({ "line": off.line, "mm": number(off.mm) });
    json!({
        "name": of.name,
        "keep_off": of.keep_off.iter().map(keep_off).collect::<Vec<_>>(),
        "keep_off_lines": of.keep_off_lines.iter().map(off_line).collect::<Vec<_>>(),
        "risk": number(of.risk),
        "measured": of.measured,
        "respray": number(of.respray),
        "notes": of.notes,
        "sections": of.sections.iter().map(|one| section(car, one)).collect::<Vec<_>>(),
    })
}

fn section(car: &Car, of: &SectionPlan) -> Value {
    let step = |step: &Step| json!({ "process": process(car, step.process), "sets": step.sets });
    json!({
        "x_mm": number(of.x_mm),
        "y_mm": number(of.y_mm),
        "width_mm": number(of.width_mm),
        "height_mm": number(of.height_mm),
        "steps": of.steps.iter().map(step).collect::<Vec<_>>(),
        "removal_um": spread(of.removal_um),
        "topcoat_after_um": { "p05": number(of.topcoat_after_p05_um), "p50": number(of.topcoat_after_p50_um) },
        "correction": interval(of.correction),
        "risk": number(of.risk),
        "through_risk": number(of.through_risk),
        "minutes": number(of.minutes),
        "why": of.why,
    })
}

fn rate(car: &Car, of: &Rate) -> Value {
    json!({ "process": process(car, of.process), "prior_um": spread(of.prior_um), "posterior_um": spread(of.posterior_um) })
}

fn tape(car: &Car, of: &Tape) -> Value {
    let [edge, line] = match of.along {
        Along::Edge(edge) => [Some(edge), None],
        Along::Line(line) => [None, Some(line)],
        Along::LeftAlone => [None, None],
    };
    let panel = car.panels.get(of.panel).map(|panel| panel.panel.name.as_str());
    json!({ "panel": panel, "edge": edge, "line": line, "left_alone": of.along == Along::LeftAlone, "length_mm": number(of.length_mm) })
}

fn pad_work(car: &Car, of: &PadWork) -> Value {
    let used = car.equipment.of(of.process);
    let line = |(radius_mm, mm): &(f64, f64)| json!({ "radius_mm": number(*radius_mm), "mm": number(*mm) });
    let stage = |(stage, share): &(Stage, f64)| match stage {
        Stage::Passes { passes, arm_speed_mm_s } => {
            json!({ "passes": passes, "arm_speed_mm_s": number(*arm_speed_mm_s), "share": number(*share) })
        }
        Stage::CleanPad => json!({ "pad": "clean" }),
        Stage::ChangePad => json!({ "pad": "change" }),
    };
    json!({
        "process": process(car, of.process),
        "machine": used.map(|(machine, _, _)| machine.name.as_str()),
        "pad": used.map(|(_, pad, _)| pad.name.as_str()),
        "area_m2": number(of.area_m2),
        "preston_per_pa": spread(of.preston_per_pa),
        "tenth_more_within": {
            "edge_mm": number(of.stand_off.edge_mm),
            "lines": of.stand_off.lines_mm.iter().map(line).collect::<Vec<_>>(),
        },
        "overhang_mm": of.stand_off.overhang_mm.map(number),
        "middle_from_band_mm": number(of.stand_off.middle_mm),
        "stages": of.stages.iter().map(stage).collect::<Vec<_>>(),
        "section_mm": number(of.section_mm),
        "residue_um": number(of.residue.film_um),
        "clean_after_sets": of.residue.clean_after,
        "change_after_sets": of.residue.change_after,
        "pads": { "fresh": of.pads.fresh, "fresh_p05": of.fresh[0], "fresh_p95": of.fresh[1], "in_turn": of.pads.rotated },
        "heat": of.warming.iter().map(warming).collect::<Vec<_>>(),
    })
}

fn warming(of: &Warming) -> Value {
    let caution = |caution: Option<HeatCaution>| caution.map(|caution| caution.to_string());
    json!({
        "material": of.material.to_string(),
        "sets": of.sets,
        "worked_k": number(of.worked_k),
        "held_still_k": number(of.held_still_k),
        "unsure_by_factor": UNSURE,
        "worked": caution(of.worked),
        "held_still": caution(of.held_still),
    })
}

fn finding(car: &Car, of: &Finding) -> Value {
    let panel = of.panel.and_then(|panel| car.panels.get(panel)).map(|panel| panel.panel.name.as_str());
    json!({ "panel": panel, "line": of.line, "sentence": of.sentence })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_number_is_null() {
        assert_eq!(
            [number(f64::NAN), number(f64::INFINITY), number(-0.0), number(0.1)],
            [Value::Null, Value::Null, json!(0.0), json!(0.1)]
        );
    }
}
