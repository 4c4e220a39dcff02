//! What there is to say of a job's uses: rates that contradict each other, and where the contact leaves its range.

use lastmicron_polish::pass::pad_findings;
use lastmicron_polish::transfer::Exposure;

use crate::car::{Car, line_radii_mm};
use crate::knowledge::carried_from;
use crate::outcome::{Finding, Plan};

/// Findings on uses, those on the contact for processes that are in the plan.
pub(crate) fn findings(car: &Car, plan: &Plan) -> Vec<Finding> {
    let of_car = |sentence: String| Finding { panel: None, line: None, sentence };
    let contradicted = (0..car.processes.len()).filter_map(|process| contradicted(car, process));
    let in_plan = |process: usize| plan.panels.iter().flat_map(|p| &p.sections).flat_map(|s| &s.steps).any(|step| step.process == process);
    let out_of_range = (0..car.processes.len()).filter(|&process| in_plan(process)).flat_map(|process| out_of_range(car, process));
    let too_short = (0..car.processes.len()).filter(|&process| in_plan(process)).filter_map(|process| too_short(car, process));
    contradicted.chain(out_of_range).chain(too_short).map(of_car).collect()
}

/// A process that is stated to take much more or less than one with the same polish takes by F v t / A.
fn contradicted(car: &Car, process: usize) -> Option<String> {
    let (other, transfer) = carried_from(car, process)?;
    let [stated, carried] = [process, other].map(|process| &car.processes[process]);
    transfer.contradicts(stated.removal_um, carried.removal_um).then(|| {
        format!(
            "{} is stated to take {} um a set, but {} takes {} with the same polish, which by F v t / A is {:.2} here: one of them is wrong, or the polish is another",
            stated.name,
            stated.removal_um.mean,
            carried.name,
            carried.removal_um.mean,
            transfer.ratio * carried.removal_um.mean
        )
    })
}

/// Minutes a square metre of a process's passes at its arm speed may be this much more than what is stated for a set. Judgement: a fifth is a stopwatch.
const LONGER: f64 = 1.2;

/// A process whose passes take longer than its minutes a square metre: the hours are too short for it.
fn too_short(car: &Car, process: usize) -> Option<String> {
    let (machine, pad, used) = car.equipment.of(process)?;
    let exposure = Exposure::of(machine, pad, used).ok()?;
    let pad_m2 = std::f64::consts::PI * (pad.diameter_mm / 2000.0).powi(2);
    let (name, stated) = (&car.processes[process].name, car.processes[process].minutes_per_m2);
    let minutes = exposure.covered_s / 60.0 / pad_m2;
    (minutes > LONGER * stated).then(|| {
        format!(
            "{name}: its passes at that arm speed take {minutes:.0} minutes a m2, and {stated:.0} are stated for a set: the hours told go by what is stated"
        )
    })
}

/// Where the contact under a process's pad leaves its range: its gains, and the risk with them, are surmise there.
fn out_of_range(car: &Car, process: usize) -> Vec<String> {
    let Some((_, pad, used)) = car.equipment.of(process) else { return Vec::new() };
    let radii_mm = line_radii_mm(car.panels.iter().filter(|p| p.work));
    let found = pad_findings(pad, used, &radii_mm).unwrap_or_default();
    found.into_iter().map(|found| format!("{}, {}: {}", car.processes[process].name, found.seat, found.finding)).collect()
}

#[cfg(test)]
mod tests {
    use crate::choose::plan;
    use crate::example::{EFFORT, car, foam, orbital};
    use lastmicron_polish::{Belief, Equipment, Use};
    use lastmicron_units::Unit;

    fn said(load_n: f64, polishes: [&str; 2]) -> Vec<String> {
        let used = Some(Use { machine: 0, pad: 0, load_n, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 });
        let polishes = polishes.map(|name| Some(name.to_owned())).to_vec();
        let mut car = car();
        car.equipment =
            Equipment { machines: vec![orbital()], pads: vec![foam(140.0)], uses: vec![used; 2], polishes, ..Equipment::default() };
        car.processes[1].removal_um = Belief { mean: 2.4, sd: 0.2 };
        plan(&car, EFFORT, Unit::Micrometre).unwrap().findings.into_iter().map(|f| f.sentence).collect()
    }

    #[test]
    fn rates_that_contradict_one_polish_are_said() {
        let wrong = "cut is stated to take 2.4 um a set, but finish takes 0.5 with the same polish, which by F v t / A is 0.50 here";
        assert!(said(40.0, ["mild", "mild"]).iter().any(|s| s.starts_with(wrong)));
        assert!(!said(40.0, ["mild", "coarse"]).iter().any(|s| s.contains("F v t / A")));
    }

    #[test]
    fn passes_that_take_longer_than_the_minutes_stated_are_said() {
        // [D] 4 passes with strokes 70 mm apart at 40 mm/s: 1e6 mm2 x 4 / (70 x 40 x 60) = 23.8 min/m2, where the example's processes have 12 and 16
        let said = said(40.0, ["mild", "coarse"]);
        assert!(
            said.iter().any(|s| s.starts_with("finish: its passes at that arm speed take 24 minutes a m2, and 12 are stated")),
            "{said:?}"
        );
    }

    #[test]
    fn a_load_that_squeezes_the_foam_flat_is_said() {
        assert!(said(1500.0, ["mild", "coarse"]).iter().any(|s| s.contains("flat on the panel: the foam is squeezed by")));
        assert!(!said(40.0, ["mild", "coarse"]).iter().any(|s| s.contains("squeezed")));
    }
}
