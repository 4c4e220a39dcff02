//! What a plan asks of each process's machine and pad: how far it stays off, pads to have, when to clean them, how warm panels get.
//!
//! Told of processes that state a use. Pads go by volume: mean rate x area x sets over the pad's face; thresholds and heat are the estimates of
//! `lastmicron_polish::loading` and `heat`, with their weakness.

mod words;

use lastmicron_film::gauge::Substrate;
use lastmicron_polish::heat::{Material, Warming};
use lastmicron_polish::loading::{PadCount, ROTATED, Residue, pads};
use lastmicron_polish::near::MOST_OVERHANG;
use lastmicron_polish::stage::{Stage, due_beyond, shares};
use lastmicron_polish::transfer::Exposure;
use lastmicron_polish::{Machine, Pad, Step, Use};

use crate::car::Car;
use crate::gain::Gains;
use crate::levels::KEEP_OFF_MM;
use crate::outcome::{Plan, Rate, SectionPlan, Spread};

pub use words::HEAT_IS;

/// Share above what is taken in the middle that is told as near. Judgement: a tenth is as much as sections differ by anyhow.
const NEAR_SHARE: f64 = 0.1;

/// Half the span that a normal law keeps 9 times in 10, in standard deviations.
const NINE_IN_TEN: f64 = 1.645;

/// How far a pad stays off.
#[derive(Clone, Debug, PartialEq)]
pub struct StandOff {
    /// Distance from an edge within which a tenth more or more is taken, in the mean, mm; 0 where that is nowhere.
    pub edge_mm: f64,
    /// The same for body lines, by radius, mm.
    pub lines_mm: Vec<(f64, f64)>,
    /// Most of the pad over an edge that its gain, and so the risk, allows for, mm; none where the job states the gain.
    pub overhang_mm: Option<f64>,
    /// From tape along a band that is kept off to the middle of the pad, at the least, mm: the rim may ride on the tape, but not past the edge or the line
    /// under the narrowest of them.
    pub middle_mm: f64,
}

/// What a plan asks of one process's machine and pad.
#[derive(Clone, Debug, PartialEq)]
pub struct PadWork {
    /// Index of the process.
    pub process: usize,
    /// Area worked, m2, every set counted.
    pub area_m2: f64,
    /// Preston's coefficient of this paint, polish and pad, 1/Pa: depth of a set over pressure x sliding distance, F v t / A.
    pub preston_per_pa: Spread,
    /// How far it stays off.
    pub stand_off: StandOff,
    /// Side of the square that it works at once, mm.
    pub section_mm: f64,
    /// What a set on such a square leaves on a clean pad, and how often that may be, where its stages don't see to that.
    pub residue: Residue,
    /// Pads by the mean rate, and no fewer than the stages of its sets put on.
    pub pads: PadCount,
    /// Fresh pads at least and at most, 9 times in 10: by the rate alone.
    pub fresh: [u32; 2],
    /// Stages of a set, each with the share that it takes; none where it is worked in one go.
    pub stages: Vec<(Stage, f64)>,
    /// How warm panels of each material get that are worked with it.
    pub warming: Vec<Warming>,
}

/// Of every process that states a use and is in the plan. One whose numbers nothing can be worked out from is left out: its gains were refused before.
pub(crate) fn pad_work(car: &Car, gains: &Gains, plan: &Plan, rates: &[Rate]) -> Vec<PadWork> {
    (0..car.processes.len()).filter_map(|process| of(car, gains, plan, rates.get(process)?, process)).collect()
}

fn of(car: &Car, gains: &Gains, plan: &Plan, rate: &Rate, process: usize) -> Option<PadWork> {
    let (machine, pad, used) = car.equipment.of(process)?;
    let area_m2: f64 = plan.panels.iter().flat_map(|p| &p.sections).map(|s| area_m2(car, s) * f64::from(sets(&s.steps, process))).sum();
    if area_m2 <= 0.0 {
        return None;
    }
    let section_m2 = (pad.section_mm() / 1000.0).powi(2);
    let exposure = Exposure::of(machine, pad, used).ok()?;
    let stages = car.equipment.stages_of(process);
    let changes = stages.iter().filter(|stage| **stage == Stage::ChangePad).count();
    let sets: u32 = plan.panels.iter().flat_map(|p| &p.sections).map(|s| sets(&s.steps, process)).sum();
    // A small pad works many of its squares within a section of the plan.
    let put_on = f64::from(sets).max((area_m2 / section_m2).ceil()) * changes as f64;
    let count = |sd: f64| {
        let by_rate = pads(pad.diameter_mm, area_m2, (rate.posterior_um.mean + sd * rate.posterior_um.sd).max(0.0)).ok()?;
        let fresh = f64::from(by_rate.fresh).max(put_on).clamp(1.0, f64::from(u32::MAX));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number within the bounds")]
        Some(PadCount { rotated: (fresh as u32).min(ROTATED), fresh: fresh as u32 })
    };
    let shares = if stages.is_empty() { Vec::new() } else { shares(machine, pad, used, stages).ok()? };
    Some(PadWork {
        process,
        area_m2,
        preston_per_pa: Spread { mean: 1e-6 * rate.posterior_um.mean / exposure.pa_m(), sd: 1e-6 * rate.posterior_um.sd / exposure.pa_m() },
        stand_off: stand_off(car, gains, (machine, pad), process),
        section_mm: pad.section_mm(),
        residue: due_beyond(Residue::of(pad.diameter_mm, section_m2, rate.posterior_um.mean.max(0.0)).ok()?, stages),
        pads: count(0.0)?,
        fresh: [count(-NINE_IN_TEN)?.fresh, count(NINE_IN_TEN)?.fresh],
        stages: stages.iter().copied().zip(shares).collect(),
        warming: warming(car, plan, process, pad, used, &exposure),
    })
}

fn sets(steps: &[Step], process: usize) -> u32 {
    steps.iter().filter(|s| s.process == process).map(|s| s.sets).sum()
}

/// Area of a section that is worked, by its minutes.
fn area_m2(car: &Car, section: &SectionPlan) -> f64 {
    let minutes_per_m2: f64 = section.steps.iter().map(|s| f64::from(s.sets) * car.processes[s.process].minutes_per_m2).sum();
    if minutes_per_m2 > 0.0 { section.minutes / minutes_per_m2 } else { 0.0 }
}

fn stand_off(car: &Car, gains: &Gains, (machine, pad): (&Machine, &Pad), process: usize) -> StandOff {
    let radius_mm = pad.diameter_mm / 2.0;
    StandOff {
        edge_mm: gains.at_edges(process).beyond_mm(NEAR_SHARE),
        lines_mm: gains.at_lines(process).map(|(radius_mm, gain)| (radius_mm, gain.beyond_mm(NEAR_SHARE))).collect(),
        overhang_mm: car.edge.is_none().then_some(MOST_OVERHANG * pad.diameter_mm / 2.0),
        middle_mm: ((1.0 - MOST_OVERHANG) * radius_mm).max(radius_mm + machine.orbit_radius_mm - KEEP_OFF_MM[1]),
    }
}

/// What heat is told of for a substrate: an unknown one is told as steel, which most are.
#[must_use]
pub const fn material(substrate: Substrate) -> Material {
    match substrate {
        Substrate::Steel | Substrate::Galvanised | Substrate::Unknown => Material::Steel,
        Substrate::Aluminium => Material::Aluminium,
        Substrate::Plastic => Material::Plastic,
    }
}

/// By material, after the most sets on end that any section of it gets.
fn warming(car: &Car, plan: &Plan, process: usize, pad: &Pad, used: &Use, exposure: &Exposure) -> Vec<Warming> {
    let most = |of: Material| {
        let panels = plan.panels.iter().filter(|p| material(car.panels[p.panel].panel.substrate) == of);
        panels.flat_map(|p| &p.sections).map(|s| sets(&s.steps, process)).max().filter(|sets| *sets > 0)
    };
    let of = |material: Material| Warming::of(material, pad, used, exposure, most(material)?).ok();
    [Material::Steel, Material::Aluminium, Material::Plastic].into_iter().filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::choose::plan as planned;
    use crate::example::{EFFORT, car, foam, orbital};
    use lastmicron_polish::Equipment;
    use lastmicron_units::Unit;

    fn equipped() -> Car {
        let used = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 6 };
        let stages =
            [Stage::Passes { passes: 2, arm_speed_mm_s: 120.0 }, Stage::CleanPad, Stage::Passes { passes: 4, arm_speed_mm_s: 30.0 }];
        Car {
            equipment: Equipment {
                machines: vec![orbital()],
                pads: vec![foam(140.0)],
                uses: vec![Some(used)],
                stages: vec![stages.to_vec()],
                polishes: Vec::new(),
            },
            ..car()
        }
    }

    #[test]
    fn pads_go_by_the_film_that_the_plan_takes() {
        let outcome = planned(&equipped(), EFFORT, Unit::Micrometre).unwrap();
        let worked: Vec<_> = outcome.plan.panels.iter().flat_map(|p| &p.sections).filter(|s| sets(&s.steps, 0) > 0).collect();
        assert!(!worked.is_empty(), "the example is worked with the process that states a use");
        let [work] = outcome.pad_work.as_slice() else { panic!("{:?}", outcome.pad_work) };
        // What all its sets take, over the pad's face of 0.015394 m2 and the 80 um after which it is changed.
        let taken_um = outcome.rates[0].posterior_um.mean * work.area_m2;
        assert!((f64::from(work.pads.fresh) - (taken_um / 0.015_393_8 / 80.0).ceil()).abs() < 1e-9);
        assert!(work.fresh[0] <= work.pads.fresh && work.pads.fresh <= work.fresh[1]);
        let most = worked.iter().map(|s| s.width_mm * s.height_mm * 1e-6 * f64::from(sets(&s.steps, 0))).sum::<f64>();
        assert!(work.area_m2 > 0.5 * most && work.area_m2 < most * (1.0 + 1e-9), "{} {most}", work.area_m2);
        assert_eq!(work.warming.iter().map(|w| w.material).collect::<Vec<_>>(), [Material::Steel]);
        assert!(work.stand_off.edge_mm > 0.0 && work.stand_off.lines_mm.is_empty());
        assert!((work.stand_off.middle_mm - 52.5).abs() < 1e-12 && work.stand_off.overhang_mm == Some(35.0));
        assert!(work.residue.clean_after.is_none() && work.residue.change_after.is_some(), "it is cleaned within every set");
        // [D] F v t / A: 40 N x 3.2987 m/s over 0.015394 m2 for 6 passes of pi 70 / 2 / 0.5 / 40 s
        let pa_m = 40.0 * 3.298_67 / 0.015_393_8 * 6.0 * std::f64::consts::PI * 70.0 / 40.0;
        assert!(
            (outcome.rates[0].posterior_um.mean * 1e-6 / pa_m / work.preston_per_pa.mean - 1.0).abs() < 1e-4,
            "{:?}",
            work.preston_per_pa
        );
        let shares: Vec<f64> = work.stages.iter().map(|(_, share)| *share).collect();
        assert!((shares[0] - 1.0 / 9.0).abs() < 1e-12 && shares[1].abs() < 1e-12);
    }

    #[test]
    fn a_set_that_puts_on_a_clean_pad_takes_one_for_every_section() {
        // Small panels too: the sill's sections are less than half of a usual one.
        let mut car = equipped();
        car.equipment.stages[0][1] = Stage::ChangePad;
        let outcome = planned(&car, EFFORT, Unit::Micrometre).unwrap();
        let work = &outcome.pad_work[0];
        let in_all: u32 = outcome.plan.panels.iter().flat_map(|p| &p.sections).map(|s| sets(&s.steps, 0)).sum();
        assert_eq!(work.pads.fresh, in_all.max((work.area_m2 / 0.2025).ceil() as u32), "{work:?}");
        assert!(work.pads.fresh > 3 && work.pads.rotated == 3 && work.residue.change_after.is_none());
    }

    #[test]
    fn a_process_without_a_use_has_nothing_to_tell() {
        assert!(planned(&car(), EFFORT, Unit::Micrometre).unwrap().pad_work.is_empty());
    }
}
