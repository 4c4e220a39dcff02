//! Families whose jobs state machines and pads and no gain: what is taken near edges and lines is summed up from the physics.

use lastmicron_polish::{Drive, Equipment, Machine, Pad, PadEdge, Use};

use super::{modern_clear, patchy_history, thin_single_stage};
use crate::{Edges, Scenario, Workshop};

/// The three, each at a limit of 2 %.
#[must_use]
pub fn worked_by_physics() -> Vec<Scenario> {
    vec![large_orbital(), orbital_and_small_pad(), rotary()]
}

/// Modern clear coat, a large orbital and upright soft foam for all.
#[must_use]
pub fn large_orbital() -> Scenario {
    let equipment = Equipment {
        machines: vec![orbital(7.5, 4200.0, 150.0)],
        pads: vec![foam(140.0, 2.4e6, PadEdge::Upright)],
        uses: vec![used(0, 40.0); 3],
        ..Equipment::default()
    };
    Scenario { name: "large orbital".to_owned(), edges: worked(equipment), ..modern_clear() }
}

/// Old single-stage paint, finished with a large orbital and corrected with a small pad.
#[must_use]
pub fn orbital_and_small_pad() -> Scenario {
    let equipment = Equipment {
        machines: vec![orbital(7.5, 4200.0, 150.0), orbital(6.0, 4800.0, 300.0)],
        pads: vec![foam(140.0, 2.4e6, PadEdge::Upright), foam(75.0, 2.4e6, PadEdge::Upright)],
        uses: vec![used(0, 40.0), used(1, 15.0), used(1, 20.0)],
        ..Equipment::default()
    };
    Scenario { name: "orbital and small pad".to_owned(), edges: worked(equipment), ..thin_single_stage() }
}

/// Clear coat with a past, a rotary and a tapered pad of firmer foam.
#[must_use]
pub fn rotary() -> Scenario {
    let machine =
        Machine { name: "rotary".to_owned(), drive: Drive::Rotary, orbit_radius_mm: 0.0, orbits_per_minute: 0.0, spin_rpm: 1200.0 };
    let equipment = Equipment {
        machines: vec![machine],
        pads: vec![foam(150.0, 4e6, PadEdge::Tapered)],
        uses: vec![used(0, 30.0); 3],
        ..Equipment::default()
    };
    Scenario { name: "rotary".to_owned(), edges: worked(equipment), ..patchy_history() }
}

/// Judgement: two panels of five have a line; pressed ones bend by a radius of some 8 to 20 mm, crowns by more.
fn worked(equipment: Equipment) -> Edges {
    Edges::Worked(Workshop { equipment, line: 0.4, radii_mm: vec![8.0, 20.0, 60.0] })
}

fn orbital(orbit_radius_mm: f64, orbits_per_minute: f64, spin_rpm: f64) -> Machine {
    Machine { name: format!("orbital {orbit_radius_mm}"), drive: Drive::Free, orbit_radius_mm, orbits_per_minute, spin_rpm }
}

fn foam(diameter_mm: f64, stiffness_pa_per_m: f64, edge: PadEdge) -> Pad {
    Pad { name: format!("foam {diameter_mm}"), diameter_mm, stiffness_pa_per_m, edge }
}

/// The machine and the pad of one number, half overlapped, two passes each way.
fn used(number: usize, load_n: f64) -> Option<Use> {
    Some(Use { machine: number, pad: number, load_n, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 })
}
