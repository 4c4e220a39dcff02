//! A small invented car for tests: two panels read, a three-sided one not.

use lastmicron_film::gauge::{Gauge, Layer, Substrate};
use lastmicron_film::panel::Panel;
use lastmicron_polish::{Belief, Drive, Equipment, Machine, Pad, PadEdge, Process, Step};
use lastmicron_units::{Removal, Thickness, Unit};

use crate::car::{Car, CarPanel, Goal, Limits, Paint, Reading, System, Undercoat, Worked};
use crate::choose::{Effort, Prepared};
use crate::kept_off::KeptOff;
use crate::outcome::{PanelPlan, Plan, SectionPlan};
use crate::report::Made;

/// Draws enough for a test.
pub(crate) const EFFORT: Effort = Effort { draws: 400, seed: 3 };

/// The car.
pub(crate) fn car() -> Car {
    let panel = |panel: Panel| CarPanel {
        panel,
        undercoat: None,
        hardness: None,
        metallic: None,
        visibility: 1.0,
        work: true,
        lines: Vec::new(),
        gone_through: Vec::new(),
    };
    let process = |name: &str, mean: f64, minutes_per_m2: f64| Process {
        name: name.to_owned(),
        removal_um: Belief { mean, sd: 0.25 * mean },
        minutes_per_m2,
        followed_by: None,
        marks: None,
    };
    let flap = Panel { outline_mm: vec![[0.0, 0.0], [900.0, 0.0], [0.0, 700.0]], ..Panel::rectangle("flap", 1.0, 1.0, Substrate::Steel) };
    Car {
        panels: vec![
            panel(Panel::rectangle("bonnet", 1000.0, 800.0, Substrate::Steel)),
            panel(Panel::rectangle("sill", 900.0, 160.0, Substrate::Steel)),
            panel(flap),
        ],
        paint: Paint {
            system: System::SingleStage,
            undercoat: Some(Undercoat { mean_um: 30.0, sd_um: 4.0, panel_sd_um: None }),
            hardness: None,
            metallic: false,
        },
        gauges: vec![Gauge {
            name: String::new(),
            fixed_um: 1.0,
            percent: 1.0,
            repeatability_um: 0.4,
            resolution_um: 0.1,
            through_um: 0.0,
        }],
        processes: vec![process("finish", 0.5, 12.0), process("cut", 1.6, 16.0)],
        equipment: Equipment::default(),
        scatter: None,
        edge: None,
        limits: Limits { floor: Thickness::from_micrometres(15.0).unwrap(), risk: 0.05, spend: None, through_risk: None },
        goal: Goal { correction: 0.9, hours: 40.0 },
        readings: [
            (0, 200.0, 150.0, 66.0),
            (0, 500.0, 400.0, 63.0),
            (0, 800.0, 650.0, 69.0),
            (1, 200.0, 80.0, 62.0),
            (1, 700.0, 90.0, 65.0),
        ]
        .map(|(panel, x_mm, y_mm, um)| Reading {
            panel,
            x_mm,
            y_mm,
            value: Thickness::from_micrometres(um).unwrap(),
            layer: Layer::Total,
            after: Vec::new(),
            gauge: 0,
            session: "1".to_owned(),
            line: None,
        })
        .to_vec(),
        worked: Vec::new(),
        counts: Vec::new(),
    }
}

/// A large orbital.
pub(crate) fn orbital() -> Machine {
    Machine { name: "orbital".to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4200.0, spin_rpm: 0.0 }
}

/// A pad of soft foam.
pub(crate) fn foam(diameter_mm: f64) -> Pad {
    Pad { name: "foam".to_owned(), diameter_mm, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright }
}

/// The same with a spend, by which the panel that isn't read is planned.
pub(crate) fn car_with_spend(spend_um: f64) -> Car {
    let mut car = car();
    car.limits.spend = Some(Removal::from_micrometres(spend_um).unwrap());
    car
}

/// Hands all that a report of `car` is made from to `then`.
pub(crate) fn with_made<T>(car: &Car, effort: Effort, then: impl FnOnce(&Made) -> T) -> T {
    Prepared::new(car, effort, Unit::Micrometre).unwrap().with(|made| Ok(then(made))).unwrap()
}

/// `car` once `plan` was worked, each section with `done` of its steps.
pub(crate) fn worked(car: &Car, plan: &Plan, done: impl Fn(&SectionPlan) -> Vec<Step>) -> Car {
    let of_panel = |panel: &PanelPlan| {
        let number = panel.panel;
        let rectangle = |s: &SectionPlan| {
            let (x_mm, y_mm, width_mm, height_mm) = (s.x_mm, s.y_mm, s.width_mm, s.height_mm);
            Worked { panel: number, x_mm, y_mm, width_mm, height_mm, after: done(s), kept_off: KeptOff::default() }
        };
        panel.sections.iter().map(rectangle).collect::<Vec<_>>()
    };
    let worked = plan.panels.iter().flat_map(of_panel).filter(|w| !w.after.is_empty());
    Car { worked: worked.collect(), ..car.clone() }
}

/// `car` once all of `plan` was worked, and what it says to keep off was.
pub(crate) fn worked_as_told(car: &Car, plan: &Plan) -> Car {
    let mut done = worked(car, plan, |s| s.steps.clone());
    for worked in &mut done.worked {
        let panel = &plan.panels[worked.panel];
        worked.kept_off = KeptOff { edges: panel.keep_off.clone(), lines: panel.keep_off_lines.clone() };
    }
    done
}
