//! What is asked of a machine and a pad, in words: one wording for screen and paper.

use lastmicron_polish::heat::{HELD_STILL_S, UNSURE, Warming};
use lastmicron_polish::loading::ROTATED;
use lastmicron_polish::stage::Stage;

use super::PadWork;
use crate::car::Car;

/// How weak the heat is, to be said once beneath all that is told of it.
pub const HEAT_IS: &str = "Heat is an estimate of the order, right within a factor of three: a room of 20 degrees C, half of the friction's heat into a panel of usual thickness, cooled by still air on both sides; a substrate that isn't stated is taken as steel. Edges, thin and bonded places get hotter, a panel in the sun begins far above, fresh paint and lacquer soften sooner: feel the panel beside the pad";

impl PadWork {
    /// Process, machine and pad.
    #[must_use]
    pub fn title(&self, car: &Car) -> String {
        let name = car.processes.get(self.process).map_or("a process that is not known", |process| process.name.as_str());
        car.equipment
            .of(self.process)
            .map_or_else(|| name.to_owned(), |(machine, pad, _)| format!("{name} ({}, {})", machine.name, pad.name))
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
            asked.push(format!("at equal time under the pad it takes a tenth more, or more than that, within {}", near.join(" and ")));
        }
        asked.extend(off.overhang_mm.map(|mm| format!("let no more than {mm:.0} mm of it over an edge: the risk rests on that")));
        asked.push(format!(
            "where a band is taped its middle comes no nearer to the tape than {:.0} mm, so that its rim rides on the tape and not past it",
            off.middle_mm
        ));
        asked.join("; ")
    }

    fn in_stages(&self) -> String {
        let stage = |(stage, share): &(Stage, f64)| match stage {
            Stage::Passes { .. } => format!("{stage} ({:.0} % of what it takes)", 100.0 * share),
            pad => pad.to_string(),
        };
        self.stages.iter().map(stage).collect::<Vec<_>>().join(", ")
    }

    fn pads_in_words(&self) -> String {
        let sets = |n: u32| if n == 1 { "every set".to_owned() } else { format!("{n} sets") };
        let mut words = format!("a set on {:.0} mm square leaves {:.0} um on it", self.section_mm, self.residue.film_um);
        let due = [("clean it on the machine", self.residue.clean_after), ("change it", self.residue.change_after)];
        let due: Vec<String> = due.into_iter().filter_map(|(what, after)| Some(format!("{what} after {}", sets(after?)))).collect();
        if !due.is_empty() {
            words += &format!("; {}", due.join(", "));
        }
        let [least, most] = self.fresh;
        let fresh = self.pads.fresh;
        let plural = if fresh == 1 { "pad" } else { "pads" };
        words += &format!("; in all {fresh} {plural} ({least} to {most}, 9 times in 10, by the rate alone)");
        if self.pads.fresh > ROTATED {
            words += &format!(", or {} in turn, washed and dried on the way", self.pads.rotated);
        }
        words + ": common practice and judgement, so look at the pad"
    }
}

fn warmth(of: &Warming) -> String {
    let rise = |k: f64| format!("{k:.0} K ({:.0} to {:.0})", k / UNSURE, k * UNSURE);
    let mut words = format!(
        "{} warms by about {} over {}, and by {} more under a pad then held still for {HELD_STILL_S:.0} s",
        of.material,
        rise(of.worked_k),
        if of.sets == 1 { "one set".to_owned() } else { format!("{} sets on end", of.sets) },
        rise(of.held_still_k)
    );
    if let Some(caution) = of.worked {
        words += &format!("; worked, at the hot end: {caution}");
    }
    if let Some(caution) = of.held_still {
        words += &format!("; held still, at the hot end: {caution}");
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::BodyLine;
    use crate::choose::plan;
    use crate::example::{EFFORT, car};
    use expect_test::expect;
    use lastmicron_film::gauge::Substrate;
    use lastmicron_polish::{Drive, Equipment, Machine, Pad, PadEdge, Use};
    use lastmicron_units::Unit;

    /// The example with two machines, of which one works in stages, a line and a panel of plastic that is read as if of metal.
    fn equipped() -> Car {
        let machine = |name: &str, drive, orbit_radius_mm, orbits_per_minute, spin_rpm| Machine {
            name: name.to_owned(),
            drive,
            orbit_radius_mm,
            orbits_per_minute,
            spin_rpm,
        };
        let pad =
            |name: &str, diameter_mm: f64| Pad { name: name.to_owned(), diameter_mm, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright };
        let used = |number: usize, load_n: f64, passes: u32| {
            Some(Use { machine: number, pad: number, load_n, arm_speed_mm_s: 40.0, overlap: 0.5, passes })
        };
        let stages =
            [Stage::Passes { passes: 2, arm_speed_mm_s: 120.0 }, Stage::CleanPad, Stage::Passes { passes: 4, arm_speed_mm_s: 30.0 }];
        let mut car = car();
        car.panels[0].lines.push(BodyLine { points_mm: vec![[0.0, 400.0], [1000.0, 420.0]], radius_mm: 12.0 });
        car.panels[1].panel.substrate = Substrate::Plastic;
        car.equipment = Equipment {
            machines: vec![
                machine("large orbital", Drive::Free, 7.5, 4200.0, 0.0),
                machine("very small rotary", Drive::Rotary, 0.0, 0.0, 1500.0),
            ],
            pads: vec![pad("soft foam 140", 140.0), pad("small foam 25", 25.0)],
            uses: vec![used(0, 40.0, 6), used(1, 8.0, 2)],
            stages: vec![stages.to_vec()],
            polishes: Vec::new(),
        };
        car
    }

    #[test]
    fn what_is_asked_of_pads_is_said_in_words() {
        let car = equipped();
        let outcome = plan(&car, EFFORT, Unit::Micrometre).unwrap();
        let mut said = String::new();
        for work in &outcome.pad_work {
            said += &format!("{}\n", work.title(&car));
            for (name, asked) in work.asked() {
                said += &format!("- {name}: {asked}\n");
            }
        }
        expect![[r#"
            finish (large orbital, soft foam 140)
            - stay off: at equal time under the pad it takes a tenth more, or more than that, within 37 mm of an edge and 38 mm of a body line of 12 mm; let no more than 35 mm of it over an edge: the risk rests on that; where a band is taped its middle comes no nearer to the tape than 52 mm, so that its rim rides on the tape and not past it
            - a set: 2 passes at 120 mm/s (11 % of what it takes), clean the pad, 4 passes at 30 mm/s (89 % of what it takes)
            - pads: a set on 450 mm square leaves 7 um on it; change it after 13 sets; in all 1 pad (1 to 1, 9 times in 10, by the rate alone): common practice and judgement, so look at the pad
            - heat: steel warms by about 7 K (2 to 20) over 3 sets on end, and by 6 K (2 to 17) more under a pad then held still for 10 s; held still, at the hot end: about 56 degrees C, an estimate: more than the 43 at which practice slows down; keep the machine moving, and feel the panel beside the pad
            - heat: plastic warms by about 6 K (2 to 19) over 2 sets on end, and by 10 K (3 to 31) more under a pad then held still for 10 s; held still, at the hot end: about 69 degrees C, an estimate: paint may soften from 60, refinished paint and old lacquer before that; stop, and let the panel cool
            cut (very small rotary, small foam 25)
            - stay off: at equal time under the pad it takes a tenth more, or more than that, within 8 mm of an edge; let no more than 6 mm of it over an edge: the risk rests on that; where a band is taped its middle comes no nearer to the tape than 6 mm, so that its rim rides on the tape and not past it
            - pads: a set on 100 mm square leaves 33 um on it; clean it on the machine after every set, change it after 3 sets; in all 37 pads (21 to 52, 9 times in 10, by the rate alone), or 3 in turn, washed and dried on the way: common practice and judgement, so look at the pad
            - heat: steel warms by about 2 K (1 to 7) over one set, and by 14 K (5 to 42) more under a pad then held still for 10 s; held still, at the hot end: about 69 degrees C, an estimate: paint may soften from 60, refinished paint and old lacquer before that; stop, and let the panel cool
            - heat: plastic warms by about 1 K (0 to 4) over one set, and by 25 K (8 to 76) more under a pad then held still for 10 s; held still, at the hot end: about 101 degrees C, an estimate: paint may soften from 60, refinished paint and old lacquer before that; stop, and let the panel cool
        "#]].assert_eq(&said);
    }
}
