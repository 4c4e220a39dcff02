//! Which pads have room on which panels: one that is wider than the panel can't be kept level on it, and presses with its whole load on what it covers.

use lastmicron_polish::Step;

use crate::car::Car;
use crate::outcome::Finding;

/// Width that the widest pad of these steps sweeps, its orbit included, mm; 0 where none is stated.
pub(crate) fn widest_mm(car: &Car, steps: &[Step]) -> f64 {
    steps
        .iter()
        .filter_map(|step| car.equipment.of(step.process))
        .map(|(machine, pad, _)| pad.diameter_mm + 2.0 * machine.orbit_radius_mm)
        .fold(0.0, f64::max)
}

/// Whether the pads of these steps have room on a panel.
pub(crate) fn fits(car: &Car, panel: usize, steps: &[Step]) -> bool {
    widest_mm(car, steps) <= car.panels[panel].panel.narrowest_mm()
}

/// A finding for every panel to be worked that is narrower than a process's pad.
pub(crate) fn findings(car: &Car) -> Vec<Finding> {
    let of_panel = |panel: usize| {
        let one = |process: usize| [Step { process, sets: 1 }];
        let too_wide: Vec<usize> = (0..car.processes.len()).filter(|&process| !fits(car, panel, &one(process))).collect();
        if too_wide.is_empty() || !car.panels[panel].may_be_worked() {
            return None;
        }
        let said = |&process: &usize| format!("{} ({:.0} mm with its orbit)", car.processes[process].name, widest_mm(car, &one(process)));
        let sentence = format!(
            "{:.0} mm wide, narrower than the pad of {}: not planned with it there; give a process with a smaller pad",
            car.panels[panel].panel.narrowest_mm(),
            too_wide.iter().map(said).collect::<Vec<_>>().join(" and of ")
        );
        Some(Finding { panel: Some(panel), line: None, sentence })
    };
    (0..car.panels.len()).filter_map(of_panel).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::choose::plan;
    use crate::example::{EFFORT, car_with_spend, foam, orbital};
    use crate::outcome::Outcome;
    use lastmicron_polish::{Equipment, Use};
    use lastmicron_units::Unit;

    /// The example's sill is 160 mm wide, and its flap, which nobody read, more.
    fn planned(diameters_mm: [f64; 2]) -> Outcome {
        let used = |pad: usize| Some(Use { machine: 0, pad, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 });
        let equipment = Equipment {
            machines: vec![orbital()],
            pads: diameters_mm.map(foam).to_vec(),
            uses: vec![used(0), used(1)],
            ..Equipment::default()
        };
        plan(&Car { equipment, ..car_with_spend(4.0) }, EFFORT, Unit::Micrometre).unwrap()
    }

    fn used_on(outcome: &Outcome, panel: usize) -> Vec<usize> {
        let mut used: Vec<usize> = outcome.plan.panels[panel].sections.iter().flat_map(|s| &s.steps).map(|step| step.process).collect();
        used.sort_unstable();
        used.dedup();
        used
    }

    #[test]
    fn a_panel_narrower_than_a_pad_is_planned_with_a_smaller_one() {
        let both = planned([75.0, 140.0]);
        assert!(both.findings.iter().all(|f| !f.sentence.contains("narrower")));
        let small = planned([75.0, 180.0]);
        assert_eq!(used_on(&small, 1), [0], "the sill");
        let said: Vec<_> = small.findings.iter().filter(|f| f.sentence.contains("narrower")).collect();
        assert!(said.len() == 1 && said[0].panel == Some(1), "{said:?}");
        assert!(said[0].sentence.starts_with("160 mm wide, narrower than the pad of cut (195 mm with its orbit):"), "{said:?}");
    }

    #[test]
    fn a_panel_narrower_than_every_pad_is_left_alone_and_why_is_said() {
        let none = planned([180.0, 180.0]);
        assert!(used_on(&none, 1).is_empty() && !used_on(&none, 0).is_empty());
        assert_eq!(none.plan.panels[1].sections[0].why, "left alone: narrower than the pad of the next step");
        let huge = planned([800.0, 900.0]);
        assert!(used_on(&huge, 2).is_empty(), "the flap, which nobody read");
        assert_eq!(huge.plan.panels[2].sections[0].why, "not measured, and narrower than the mildest process's pad: left alone");
    }
}
