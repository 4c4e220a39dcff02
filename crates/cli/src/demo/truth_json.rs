//! The sealed truth as JSON, for a script that wants to work a plan of its own on it.

use lastmicron_rehearsal::{Rehearsal, TrueEdges};
use serde_json::{Map, Value, json};

/// Every figure of the truth, names ending in their units. Nodes run 0, step, ... with x fastest, from the bottom row.
#[must_use]
pub(super) fn text(rehearsal: &Rehearsal) -> String {
    let Rehearsal { seed, car, truth } = rehearsal;
    let named =
        |figures: &[f64]| -> Map<String, Value> { car.processes.iter().zip(figures).map(|(p, f)| (p.name.clone(), json!(f))).collect() };
    let panels: Vec<Value> = car
        .panels
        .iter()
        .zip(&truth.panels)
        .map(|(c, p)| {
            json!({
                "name": c.panel.name, "step_mm": p.step_mm, "nx": p.nx, "ny": p.ny, "undercoat_um": p.undercoat_um,
                "rate_factor": p.rate_factor, "resprayed": p.resprayed, "topcoat_um": p.topcoat_um,
            })
        })
        .collect();
    let edge = match &truth.edges {
        TrueEdges::Law { gain, reach_mm } => json!({ "gain": gain, "reach_mm": reach_mm }),
        // The physics has no two figures, and no demo is drawn by it.
        TrueEdges::Summed(_) => Value::Null,
    };
    let value = json!({
        "format": 1,
        "seed": seed,
        "rates_um": named(&truth.rates_um),
        "marks": named(&truth.marks),
        "section_scatter": truth.section_scatter,
        "edge": edge,
        "defects": { "scale_um": truth.defects.scale_um, "shape": truth.defects.shape },
        "gauge": {
            "offset_um": truth.gauge.offset_um, "gain": truth.gauge.gain, "repeat_um": truth.gauge.repeat_um,
            "texture_um": truth.gauge.texture_um, "step_um": truth.gauge.step_um, "wild": truth.gauge.wild,
        },
        "panels": panels,
    });
    format!("{value:#}\n")
}
