//! The car of the demo: invented, and like no car in particular.
//!
//! A pale green estate of 1974 in its first enamel, three generations in one family: washed at the kerb for fifty years, waxed by hand,
//! once bumped from behind, never corrected by machine. The grandson wants it presentable for a wedding, and nothing painted.

use lastmicron_film::gauge::{Gauge, Substrate};
use lastmicron_job::Job;
use lastmicron_numerics::kernel::Family;
use lastmicron_plan::{Car, Goal, Paint, System, Undercoat};
use lastmicron_polish::{Belief, EdgeGain, Hardness, Process, Scatter};
use lastmicron_rehearsal::{Drawn, Edges, History, Panels, Range, Scenario, Sketch, StatedLimits, Tails};

/// Built in this year.
pub(super) const BUILT: i32 = 1974;

/// What stands on the job.
pub(super) const TITLE: &str = "Pale green estate, three generations of one family, first machine correction";

/// What is said of the car, and what its truth is drawn from.
#[must_use]
pub(super) fn scenario() -> Scenario {
    Scenario {
        name: "estate".to_owned(),
        panels: Panels::Named(panels()),
        paint: Paint {
            system: System::SingleStage,
            undercoat: Some(Undercoat { mean_um: 36.0, sd_um: 3.0, panel_sd_um: Some(1.5) }),
            hardness: Some(Hardness::Soft),
            metallic: false,
        },
        gauge: Gauge { name: String::new(), fixed_um: 1.0, percent: 1.0, repeatability_um: 0.8, resolution_um: 0.1, through_um: 0.0 },
        processes: processes(),
        scatter: Some(Scatter { panel: 0.1, section: 0.1 }),
        edges: Edges::Stated(EdgeGain { gain: Belief { mean: 0.6, sd: 0.2 }, reach_mm: 25.0 }),
        limits: StatedLimits { floor_um: 15.0, risk: 0.02, spend_um: Some(5.0), through_risk: Some(0.002) },
        goal: Goal { correction: 0.85, hours: 14.0 },
        readings: [9, 18],
        truth: truth(),
    }
}

/// The car as a job.
#[must_use]
pub(super) fn job(car: Car) -> Job {
    Job { title: TITLE.to_owned(), body: "custom".to_owned(), built: Some(BUILT), substrate: Substrate::Steel, car, gloss: Vec::new() }
}

fn processes() -> Vec<Process> {
    let process = |name: &str, mean: f64, sd: f64, minutes_per_m2: f64, followed_by: Option<usize>, marks: f64| Process {
        name: name.to_owned(),
        removal_um: Belief { mean, sd },
        minutes_per_m2,
        followed_by,
        marks: Some(Belief { mean: marks, sd: marks / 2.0 }),
    };
    vec![
        process("finish", 0.5, 0.15, 18.0, None, 0.004),
        process("one-step", 1.1, 0.3, 26.0, None, 0.008),
        process("cut", 2.4, 0.6, 32.0, Some(0), 0.03),
    ]
}

/// Worn by hand for fifty years, the film is thin, uneven and thinner towards many edges; the undercoat is one man's belief.
fn truth() -> Drawn {
    Drawn {
        build_um: Range::between(64.0, 74.0),
        build_sd_um: 3.0,
        panel_sd_um: 4.5,
        field_sd_um: Range::between(2.0, 4.0),
        length_mm: Range::between(180.0, 420.0),
        smoothness: vec![Family::Matern32],
        stretch: Range::between(0.8, 1.3),
        undercoat_shift_um: Range::exactly(0.0),
        undercoat_panel_sd_um: 1.5,
        tails: Tails::Normal,
        rate_panel: 0.1,
        rate_section: 0.1,
        defect_scale_um: Range::between(0.8, 1.5),
        defect_shape: Range::between(0.9, 1.4),
        thin_edge: 0.4,
        respray: 0.0,
        wild: 0.005,
        texture_um: Range::between(0.2, 0.8),
        bare: 0.5,
        bare_low: 0.15,
    }
}

fn panels() -> Vec<Sketch> {
    let steel = |name: &str, width_mm: f64, height_mm: f64, visibility: f64| Sketch {
        name: name.to_owned(),
        width_mm,
        height_mm,
        substrate: Substrate::Steel,
        visibility,
        work: true,
        history: History::Original,
    };
    let resprayed = |sketch: Sketch| Sketch { history: History::Resprayed, ..sketch };
    let plastic = |sketch: Sketch| Sketch { substrate: Substrate::Plastic, ..sketch };
    let left_alone = |sketch: Sketch| Sketch { work: false, ..sketch };
    vec![
        steel("bonnet", 1350.0, 1050.0, 1.0),
        steel("roof", 2000.0, 1100.0, 0.6),
        steel("left front wing", 1100.0, 500.0, 0.9),
        steel("right front wing", 1100.0, 500.0, 0.9),
        steel("left front door", 950.0, 650.0, 1.0),
        steel("right front door", 950.0, 650.0, 1.0),
        steel("left rear door", 850.0, 650.0, 0.9),
        steel("right rear door", 850.0, 650.0, 0.9),
        steel("left rear quarter", 1250.0, 650.0, 0.9),
        steel("right rear quarter", 1250.0, 650.0, 0.9),
        resprayed(steel("tailgate", 1150.0, 750.0, 0.9)),
        steel("left sill", 1600.0, 150.0, 0.3),
        steel("right sill", 1600.0, 150.0, 0.3),
        plastic(steel("roof deflector", 1100.0, 200.0, 0.5)),
        left_alone(steel("scuttle with the works' chalk mark", 1300.0, 175.0, 0.3)),
    ]
}
