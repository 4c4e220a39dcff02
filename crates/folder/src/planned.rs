//! A plan read back from its JSON: what was accepted is worked from what was kept, and not from what a plan would be now.

use serde::Deserialize;

/// A plan as it was written.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Planned {
    /// Chance that any worked place of a measured panel ends below the floor; none where only panels that no gauge has read are worked.
    pub risk: Option<f64>,
    /// Share of defects gone over the vehicle.
    pub correction: Between,
    /// Hours of machine work.
    pub hours: f64,
    /// The panels, in the order of the job.
    pub panels: Vec<PlannedPanel>,
    /// What is asked of machines and pads.
    #[serde(default)]
    pub pad_work: Vec<PlannedPad>,
}

/// A mean with the 5th and 95th percentile.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
pub struct Between {
    /// Mean.
    pub mean: f64,
    /// One in twenty lies below.
    pub p05: f64,
    /// One in twenty lies above.
    pub p95: f64,
}

/// A panel of a plan.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct PlannedPanel {
    /// Its name.
    pub name: String,
    /// Edges to stay off.
    pub keep_off: Vec<PlannedEdge>,
    /// Body lines to stay off.
    #[serde(default)]
    pub keep_off_lines: Vec<PlannedLine>,
    /// Chance that any worked place of it ends below the floor.
    pub risk: Option<f64>,
    /// Whether any reading stands behind it.
    #[serde(default)]
    pub measured: bool,
    /// Sections, tiling the panel.
    pub sections: Vec<PlannedSection>,
    /// Sentences for a person.
    #[serde(default)]
    pub notes: Vec<String>,
}

/// An edge to stay off.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
pub struct PlannedEdge {
    /// Its number.
    pub edge: usize,
    /// How far, mm.
    pub mm: f64,
}

/// A body line to stay off.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
pub struct PlannedLine {
    /// Its index.
    pub line: usize,
    /// How far on both sides, mm.
    pub mm: f64,
}

/// A section of a plan.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct PlannedSection {
    /// Lower left corner, mm.
    pub x_mm: f64,
    /// Lower left corner, mm.
    pub y_mm: f64,
    /// Size, mm.
    pub width_mm: f64,
    /// Size, mm.
    pub height_mm: f64,
    /// Sets in the order of work; none where it is left alone.
    pub steps: Vec<PlannedStep>,
    /// Film taken in its middle, um.
    pub removal_um: PlannedSpread,
    /// What is left at its smallest worked place, um.
    pub topcoat_after_um: PlannedLeft,
    /// Share of defects gone.
    pub correction: Between,
    /// Minutes.
    #[serde(default)]
    pub minutes: f64,
    /// Why this much and no more.
    pub why: String,
}

/// Sets of a process, by its name.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct PlannedStep {
    /// The process.
    pub process: String,
    /// How many.
    pub sets: u32,
}

/// A mean and a standard deviation.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
pub struct PlannedSpread {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// Quantiles of what is left, um; none where the film was not measured.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
pub struct PlannedLeft {
    /// 19 times in 20 more is left.
    pub p05: Option<f64>,
    /// Half of the time more is left.
    pub p50: Option<f64>,
}

/// What is asked of a machine and a pad.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct PlannedPad {
    /// The process.
    pub process: String,
    /// The machine.
    pub machine: Option<String>,
    /// The pad.
    pub pad: Option<String>,
    /// Sets after which the pad is cleaned.
    pub clean_after_sets: Option<u32>,
    /// Sets after which it is changed.
    pub change_after_sets: Option<u32>,
    /// Most of it over an edge that the plan's risk allows for, mm; none where the job states the gain at edges.
    #[serde(default)]
    pub overhang_mm: Option<f64>,
    /// From a taped band to its middle, at the least, mm.
    #[serde(default)]
    pub middle_from_band_mm: Option<f64>,
    /// How warm panels get under it, by material.
    #[serde(default)]
    pub heat: Vec<PlannedHeat>,
}

/// What the heat of a material calls for, at the hot end of its estimate.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
pub struct PlannedHeat {
    /// Steel, aluminium or plastic, by its word.
    pub material: String,
    /// After the most sets on end.
    pub worked: Option<String>,
    /// Where the pad is then held still.
    pub held_still: Option<String>,
}

/// Bytes that are no plan.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("this is no plan as lastmicron writes it: {0}")]
pub struct NotAPlan(String);

impl Planned {
    /// Reads a plan.
    ///
    /// # Errors
    /// [`NotAPlan`] for bytes that are none.
    pub fn read(json: &[u8]) -> Result<Self, NotAPlan> {
        serde_json::from_slice(json).map_err(|error| NotAPlan(error.to_string()))
    }

    /// Reads a plan from its value.
    ///
    /// # Errors
    /// [`NotAPlan`] for a value that is none.
    pub fn of(json: serde_json::Value) -> Result<Self, NotAPlan> {
        serde_json::from_value(json).map_err(|error| NotAPlan(error.to_string()))
    }
}

impl PlannedPanel {
    /// Whether any of it is worked.
    #[must_use]
    pub fn is_worked(&self) -> bool {
        self.sections.iter().any(|section| !section.steps.is_empty())
    }

    /// Mean share of defects gone over it, sections weighted by their rectangles.
    #[must_use]
    pub fn gone(&self) -> f64 {
        let area = |section: &PlannedSection| section.width_mm * section.height_mm;
        let all: f64 = self.sections.iter().map(area).sum();
        self.sections.iter().map(|section| area(section) * section.correction.mean).sum::<f64>() / all.max(f64::MIN_POSITIVE)
    }

    /// Topcoat, um, left at its thinnest worked place 19 times in 20 or oftener; none where nothing is worked or the film isn't known.
    #[must_use]
    pub fn leaves_p05_um(&self) -> Option<f64> {
        let worked = self.sections.iter().filter(|section| !section.steps.is_empty());
        worked.filter_map(|section| section.topcoat_after_um.p05).min_by(f64::total_cmp)
    }
}

impl PlannedSection {
    /// What to do on it: `2 one-step, then 1 finish`.
    #[must_use]
    pub fn words(&self) -> String {
        if self.steps.is_empty() {
            return "leave as it is".to_owned();
        }
        let words: Vec<String> = self.steps.iter().map(|step| format!("{} {}", step.sets, step.process)).collect();
        words.join(", then ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn a_plan_is_read_back_and_anything_else_is_refused() {
        let section = |steps: serde_json::Value, gone: f64| {
            json!({
                "x_mm": 0, "y_mm": 0, "width_mm": 400, "height_mm": 500, "steps": steps, "removal_um": { "mean": 2.3, "sd": 0.4 },
                "topcoat_after_um": { "p05": 21.0, "p50": 26.4 }, "correction": { "mean": gone, "p05": 0.7, "p95": 0.9 }, "why": "goal reached",
            })
        };
        let plan = json!({
            "format": 1, "risk": null, "correction": { "mean": 0.7, "p05": 0.6, "p95": 0.8 }, "hours": 9.5,
            "panels": [{
                "name": "bonnet", "keep_off": [{ "edge": 0, "mm": 25 }], "risk": 0.004,
                "sections": [section(json!([{ "process": "one-step", "sets": 2 }, { "process": "finish", "sets": 1 }]), 0.8), section(json!([]), 0.0)],
            }],
        });
        let read = Planned::read(plan.to_string().as_bytes()).unwrap();
        assert_eq!(Planned::of(plan), Ok(read.clone()));
        let bonnet = &read.panels[0];
        assert!((bonnet.gone() - 0.4).abs() < 1e-12 && bonnet.is_worked());
        assert_eq!((bonnet.leaves_p05_um(), read.risk), (Some(21.0), None));
        assert_eq!(bonnet.sections[0].words(), "2 one-step, then 1 finish");
        for not in ["", "{}", "[]", "{\"risk\": \"0.1\"}"] {
            assert!(Planned::read(not.as_bytes()).is_err(), "{not}");
        }
    }
}
