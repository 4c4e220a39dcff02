//! A plan, and the estimates that it stands on.

use lastmicron_polish::Step;

use crate::pad_work::PadWork;
use crate::tape::Tape;

/// A mean with the 5th and 95th percentile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Mean.
    pub mean: f64,
    /// One in twenty lies below.
    pub p05: f64,
    /// One in twenty lies above.
    pub p95: f64,
}

/// A mean and a standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// An edge to stay off with the machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KeepOff {
    /// Number of the edge.
    pub edge: usize,
    /// How far to stay off, mm.
    pub mm: f64,
}

/// A body line to stay off with the machine, on both its sides.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KeepOffLine {
    /// Index of the line on its panel.
    pub line: usize,
    /// How far to stay off, mm.
    pub mm: f64,
}

/// What to do on one section.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionPlan {
    /// Lower left corner, mm.
    pub x_mm: f64,
    /// Lower left corner, mm.
    pub y_mm: f64,
    /// Size, mm.
    pub width_mm: f64,
    /// Size, mm.
    pub height_mm: f64,
    /// Sets of processes in the order of work; empty when the section is left alone.
    pub steps: Vec<Step>,
    /// Film taken in the section's middle, um.
    pub removal_um: Spread,
    /// 5th percentile of the smallest topcoat left at a worked place (or, unworked, of what is there), um.
    pub topcoat_after_p05_um: f64,
    /// Median of the same, um.
    pub topcoat_after_p50_um: f64,
    /// Share of the defects before any work that are gone over the section after the plan, what was gone already included; edges kept off gain nothing.
    pub correction: Interval,
    /// Chance that a place of the section that is worked, or was before, ends below the floor; NaN where it is worked without having been measured.
    pub risk: f64,
    /// Chance that such a place reaches the undercoat; NaN as before.
    pub through_risk: f64,
    /// Minutes.
    pub minutes: f64,
    /// Why this much and no more.
    pub why: String,
}

/// What to do on one panel.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelPlan {
    /// Index of the panel in the car.
    pub panel: usize,
    /// Its name.
    pub name: String,
    /// Edges to stay off.
    pub keep_off: Vec<KeepOff>,
    /// Body lines to stay off.
    pub keep_off_lines: Vec<KeepOffLine>,
    /// Chance that any place of the panel that is worked, or was before, ends below the floor: 1 where its topcoat was gone through; NaN where it is
    /// worked without having been measured.
    pub risk: f64,
    /// Whether any reading of the film stands behind it.
    pub measured: bool,
    /// Chance, 0 to 1, that the panel has been resprayed.
    pub respray: f64,
    /// Sections, tiling the panel.
    pub sections: Vec<SectionPlan>,
    /// Sentences for a person: respray, borders that would show, what is not known.
    pub notes: Vec<String>,
}

/// The plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Chance that any place of a measured panel that is worked, or was before, ends below the floor, all panels together, on draws not used to
    /// choose; panels that are to stay as they are left out, and places where the topcoat was gone through. NaN where only panels that no gauge has read are worked.
    pub risk: f64,
    /// Chance that any such place reaches the undercoat.
    pub through_risk: f64,
    /// Share of the defects before any work that are gone over the vehicle after the plan, weighted by area and visibility.
    pub correction: Interval,
    /// Hours of machine work, every set counted.
    pub hours: f64,
    /// Films of the half not used to choose, that the chances were counted on.
    pub films: usize,
    /// Panels in the order of the job.
    pub panels: Vec<PanelPlan>,
}

impl PanelPlan {
    /// Whether any of it is worked.
    #[must_use]
    pub fn is_worked(&self) -> bool {
        self.sections.iter().any(|s| !s.steps.is_empty())
    }

    /// Topcoat, um, that the work leaves at the panel's thinnest worked place 19 times in 20 or oftener: the least over its sections. None where
    /// nothing is worked or the film isn't known.
    #[must_use]
    pub fn leaves_p05_um(&self) -> Option<f64> {
        let worked = self.sections.iter().filter(|s| !s.steps.is_empty());
        worked.map(|s| s.topcoat_after_p05_um).filter(|um| um.is_finite()).min_by(f64::total_cmp)
    }

    /// Mean share of defects gone over the panel, sections weighted by their rectangles.
    #[must_use]
    pub fn gone(&self) -> f64 {
        let area = |s: &SectionPlan| s.width_mm * s.height_mm;
        let all: f64 = self.sections.iter().map(area).sum();
        self.sections.iter().map(|s| area(s) * s.correction.mean).sum::<f64>() / all.max(f64::MIN_POSITIVE)
    }
}

impl Plan {
    /// Names of the panels that are worked without having been measured: the vehicle's chances say nothing of them.
    #[must_use]
    pub fn not_counted(&self) -> Vec<&str> {
        self.panels.iter().filter(|p| p.is_worked() && !p.measured).map(|p| p.name.as_str()).collect()
    }
}

/// The film of one panel on a grid of nodes 0, step, ... up to the panel's size: x running fastest, from the bottom row. Nodes off the
/// outline are NaN.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelFilm {
    /// Spacing of the nodes along x and y, mm: near 25, so that the last node lies on the far edge.
    pub step_mm: [f64; 2],
    /// Nodes along x.
    pub nx: usize,
    /// Nodes along y.
    pub ny: usize,
    /// Mean of the topcoat there now, um.
    pub topcoat_mean_um: Vec<f64>,
    /// Its standard deviation, um.
    pub topcoat_sd_um: Vec<f64>,
    /// Distribution of the panel's smallest topcoat now, um.
    pub smallest_um: Interval,
}

/// What one set of a process takes, as now believed, um.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rate {
    /// Index of the process.
    pub process: usize,
    /// Before anything was measured.
    pub prior_um: Spread,
    /// After the test spot and all else.
    pub posterior_um: Spread,
}

/// Something that the person should know, found on the way.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Index of the panel it is about, if of one.
    pub panel: Option<usize>,
    /// Line of readings.csv, if it is about one reading.
    pub line: Option<usize>,
    /// What it is, in a sentence.
    pub sentence: String,
}

/// A plan with the estimates that it stands on.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// The plan.
    pub plan: Plan,
    /// The film as it is now, a panel each.
    pub film: Vec<PanelFilm>,
    /// Distribution of the vehicle's smallest topcoat now, um.
    pub smallest_um: Interval,
    /// What each process takes.
    pub rates: Vec<Rate>,
    /// Correction against film removed: (depth um, share gone).
    pub curve: Vec<(f64, Interval)>,
    /// Depth at which the curve bends: beyond it the last per cent costs more than it is worth, um.
    pub bend_um: f64,
    /// Where to tape before work, in the order of the panels.
    pub tapes: Vec<Tape>,
    /// What is asked of machines and pads, for processes that state a use and are in the plan.
    pub pad_work: Vec<PadWork>,
    /// What the person should know.
    pub findings: Vec<Finding>,
    /// What was assumed where the job states nothing, each with its source.
    pub assumptions: Vec<String>,
}
