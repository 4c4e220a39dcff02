//! What is asked of a machine and a pad, in words: one wording for screen and paper.

use lastmicron_polish::heat::{HELD_STILL_S, Material, SECTION_MM, UNSURE, Warming};
use lastmicron_polish::loading::ROTATED;
use lastmicron_polish::stage::Stage;

use super::PadWork;
use crate::car::Car;

/// How weak the heat is, to be said once beneath all that is told of it.
pub const HEAT_IS: &str = "Heat is an estimate of the order: a room of 20 degrees C, half of the friction's heat into a panel of usual thickness, cooled by still air on both sides. Edges, thin and bonded places get hotter, fresh paint and lacquer soften sooner: feel the panel beside the pad";

impl PadWork {
    /// Process, machine and pad.
    #[must_use]
    pub fn title(&self, car: &Car) -> String {
        let name = &car.processes[self.process].name;
        car.equipment.of(self.process).map_or_else(|| name.clone(), |(machine, pad, _)| format!("{name} ({}, {})", machine.name, pad.name))
    }

    /// What is asked, each with a name: how far to stay off, stages, pads, heat.
    #[must_use]
    pub fn asked(&self) -> Vec<(&'static str, String)> {
        let mut asked = vec![("stay off", self.stay_off())];
        if !self.stages.is_empty() {
            asked.push(("a set", self.in_stages()));
        }
        asked.push(("pads", self.pads_in_words()));
        asked.extend(self.warming.iter().map(|warming| ("heat", warmth(warming))));
        asked
    }

    fn stay_off(&self) -> String {
        let off = &self.stand_off;
        let mut near: Vec<String> = Vec::new();
        if off.edge_mm >= 0.5 {
            near.push(format!("{:.0} mm of an edge", off.edge_mm));
        }
        near.extend(
            off.lines_mm.iter().filter(|(_, mm)| *mm >= 0.5).map(|(radius, mm)| format!("{mm:.0} mm of a body line of {radius} mm")),
        );
        let mut asked = Vec::new();
        if !near.is_empty() {
            asked.push(format!("it takes a tenth more, or more than that, within {}", near.join(" and ")));
        }
        asked.extend(off.overhang_mm.map(|mm| format!("let no more than {mm:.0} mm of it over an edge: the risk rests on that")));
        asked.push(format!("where a band is kept off, its middle stays {:.0} mm from the band", off.middle_mm));
        asked.join("; ")
    }

    fn in_stages(&self) -> String {
        let stage = |(stage, share): &(Stage, f64)| match stage {
            Stage::Passes { passes, arm_speed_mm_s } => {
                let plural = if *passes == 1 { "pass" } else { "passes" };
                format!("{passes} {plural} at {arm_speed_mm_s} mm/s ({:.0} % of what it takes)", 100.0 * share)
            }
            Stage::CleanPad => "clean the pad".to_owned(),
            Stage::ChangePad => "put on a clean pad".to_owned(),
        };
        self.stages.iter().map(stage).collect::<Vec<_>>().join(", ")
    }

    fn pads_in_words(&self) -> String {
        let sets = |n: u32| if n == 1 { "every set".to_owned() } else { format!("{n} sets") };
        let mut words = format!("a set on {SECTION_MM:.0} mm square leaves {:.0} um on it", self.residue.film_um);
        let due = [("clean it on the machine", self.residue.clean_after), ("change it", self.residue.change_after)];
        let due: Vec<String> = due.into_iter().filter_map(|(what, after)| Some(format!("{what} after {}", sets(after?)))).collect();
        if !due.is_empty() {
            words += &format!("; {}", due.join(", "));
        }
        let [least, most] = self.fresh;
        let fresh = self.pads.fresh.max(1);
        let plural = if fresh == 1 { "pad" } else { "pads" };
        words += &format!("; in all {fresh} {plural} ({least} to {most}, 9 times in 10, by the rate alone)");
        if self.pads.fresh > ROTATED {
            words += &format!(", or {} in turn, washed and dried on the way", self.pads.rotated);
        }
        words + ": common practice and judgement, so look at the pad"
    }
}

fn warmth(of: &Warming) -> String {
    let what = match of.material {
        Material::Steel => "steel",
        Material::Aluminium => "aluminium",
        Material::Plastic => "plastic",
    };
    let rise = |k: f64| format!("{k:.0} K ({:.0} to {:.0})", k / UNSURE, k * UNSURE);
    let mut words = format!(
        "{what} warms by about {} over a section by the end of its sets, by {} under a pad held still for {HELD_STILL_S:.0} s",
        rise(of.worked_k),
        rise(of.held_still_k)
    );
    if let Some(caution) = of.worked {
        words += &format!("; worked: {caution}");
    }
    if let Some(caution) = of.held_still {
        words += &format!("; held still: {caution}");
    }
    words
}
