//! Families of cars for the trial: three that are usual, four that are harsher than a planner may hope, and three that are worked by the physics of pads.
//!
//! The figures are not any real car's. Judgement: they span what the published layer ranges and the trade's ranges of removal leave open.

mod worked;

pub use worked::{large_orbital, orbital_and_small_pad, rotary, worked_by_physics};

use lastmicron_film::gauge::Gauge;
use lastmicron_numerics::kernel::Family;
use lastmicron_plan::{Goal, Paint, System, Undercoat};
use lastmicron_polish::{Belief, EdgeGain, Process};

use crate::{Drawn, Edges, Panels, Range, Scenario, StatedLimits, Tails};

/// Every family in which a job states its gain at edges, the usual ones first, each at a limit of 2 %; [`Scenario::with_risk`] sets another.
#[must_use]
pub fn all() -> Vec<Scenario> {
    usual().into_iter().chain(harsh()).collect()
}

/// The three that nothing is wrong with but their paint.
#[must_use]
pub fn usual() -> Vec<Scenario> {
    vec![thin_single_stage(), modern_clear(), patchy_history()]
}

/// The four in which something is not as a planner may hope.
#[must_use]
pub fn harsh() -> Vec<Scenario> {
    vec![other_smoothness(), heavy_tails(), three_readings(), wrong_undercoat()]
}

/// Old single-stage paint, polished for decades.
#[must_use]
pub fn thin_single_stage() -> Scenario {
    Scenario {
        name: "thin single-stage".to_owned(),
        panels: Panels::Any([5, 8]),
        paint: paint(System::SingleStage, 26.0, 3.0),
        gauge: gauge(1.0, 1.0, 0.8, 0.1),
        processes: processes([0.5, 1.2, 2.6], [0.15, 0.3, 0.6]),
        scatter: None,
        edges: stated(0.6, 0.2, 25.0),
        limits: limits(16.0),
        goal: Goal { correction: 0.88, hours: 1000.0 },
        readings: [9, 24],
        truth: Drawn {
            build_um: Range::between(54.0, 66.0),
            build_sd_um: 4.0,
            panel_sd_um: 4.0,
            field_sd_um: Range::between(1.5, 4.0),
            length_mm: Range::between(150.0, 450.0),
            smoothness: vec![Family::Matern32],
            stretch: Range::exactly(1.0),
            undercoat_shift_um: Range::exactly(0.0),
            undercoat_panel_sd_um: 1.5,
            tails: Tails::Normal,
            rate_panel: 0.08,
            rate_section: 0.08,
            defect_scale_um: Range::between(0.8, 1.6),
            defect_shape: Range::between(0.9, 1.5),
            thin_edge: 0.3,
            respray: 0.0,
            wild: 0.0,
            texture_um: Range::between(0.2, 0.8),
            bare: 0.25,
            bare_low: 0.15,
        },
    }
}

/// Clear coat as it left a modern factory.
#[must_use]
pub fn modern_clear() -> Scenario {
    let usual = thin_single_stage();
    Scenario {
        name: "modern clear".to_owned(),
        paint: paint(System::BaseClear, 74.0, 4.0),
        gauge: gauge(1.5, 1.0, 1.0, 0.5),
        processes: processes([0.4, 0.9, 2.0], [0.12, 0.25, 0.5]),
        edges: stated(0.5, 0.2, 25.0),
        limits: limits(20.0),
        goal: Goal { correction: 0.9, ..usual.goal },
        readings: [6, 20],
        truth: Drawn {
            build_um: Range::between(106.0, 120.0),
            undercoat_panel_sd_um: 2.0,
            defect_scale_um: Range::between(0.9, 2.0),
            thin_edge: 0.2,
            bare: 0.1,
            ..usual.truth
        },
        panels: usual.panels,
        scatter: None,
    }
}

/// Clear coat with a past: resprays, uneven films, a rough gauge.
#[must_use]
pub fn patchy_history() -> Scenario {
    let usual = modern_clear();
    Scenario {
        name: "patchy history".to_owned(),
        panels: Panels::Any([6, 9]),
        paint: paint(System::BaseClear, 78.0, 5.0),
        gauge: gauge(1.5, 1.5, 1.2, 1.0),
        processes: processes([0.5, 1.1, 2.4], [0.15, 0.3, 0.6]),
        edges: stated(0.7, 0.25, 30.0),
        limits: limits(18.0),
        goal: Goal { correction: 0.88, ..usual.goal },
        readings: [9, 24],
        truth: Drawn {
            build_um: Range::between(104.0, 122.0),
            panel_sd_um: 6.0,
            field_sd_um: Range::between(2.0, 6.0),
            undercoat_panel_sd_um: 1.5,
            defect_scale_um: Range::between(0.8, 2.2),
            thin_edge: 0.5,
            respray: 0.15,
            wild: 0.01,
            bare: 0.2,
            bare_low: 0.25,
            ..usual.truth
        },
        scatter: None,
    }
}

/// Fields rougher and smoother than any one kernel, longer one way than the other.
#[must_use]
pub fn other_smoothness() -> Scenario {
    let mut scenario = Scenario { name: "other smoothness".to_owned(), ..thin_single_stage() };
    scenario.truth.smoothness = vec![Family::Exponential, Family::Matern52, Family::Gaussian];
    scenario.truth.stretch = Range::between(0.6, 1.7);
    scenario
}

/// Panels, undercoats and rates that lie far from what is believed of them more often than a normal law has it, and wild readings.
#[must_use]
pub fn heavy_tails() -> Scenario {
    let mut scenario = Scenario { name: "heavy tails".to_owned(), ..patchy_history() };
    scenario.truth.tails = Tails::Heavy;
    scenario.truth.wild = 0.03;
    scenario
}

/// Three readings a panel.
#[must_use]
pub fn three_readings() -> Scenario {
    Scenario { name: "three readings".to_owned(), readings: [3, 3], ..modern_clear() }
}

/// An undercoat thicker or thinner than stated by up to three of its sds.
#[must_use]
pub fn wrong_undercoat() -> Scenario {
    let mut scenario = Scenario { name: "wrong undercoat".to_owned(), ..modern_clear() };
    scenario.truth.undercoat_shift_um = Range::between(-12.0, 12.0);
    scenario
}

fn paint(system: System, mean_um: f64, sd_um: f64) -> Paint {
    Paint { system, undercoat: Some(Undercoat { mean_um, sd_um, panel_sd_um: None }), hardness: None, metallic: false }
}

fn gauge(fixed_um: f64, percent: f64, repeatability_um: f64, resolution_um: f64) -> Gauge {
    Gauge { name: String::new(), fixed_um, percent, repeatability_um, resolution_um, through_um: 0.0 }
}

fn stated(mean: f64, sd: f64, reach_mm: f64) -> Edges {
    Edges::Stated(EdgeGain { gain: Belief { mean, sd }, reach_mm })
}

fn processes(mean_um: [f64; 3], sd_um: [f64; 3]) -> Vec<Process> {
    let names = ["finish", "one-step", "cut"];
    let minutes = [18.0, 26.0, 32.0];
    (0..3)
        .map(|i| Process {
            name: names[i].to_owned(),
            removal_um: Belief { mean: mean_um[i], sd: sd_um[i] },
            minutes_per_m2: minutes[i],
            followed_by: None,
            marks: None,
        })
        .collect()
}

fn limits(floor_um: f64) -> StatedLimits {
    StatedLimits { floor_um, risk: 0.02, spend_um: None, through_risk: None }
}
