//! job.toml.

use std::fmt::Write;

use lastmicron_film::gauge::Gauge;
use lastmicron_plan::{CarPanel, Undercoat};
use lastmicron_polish::stage::Stage;
use lastmicron_polish::{Belief, Equipment, Process};
use toml::Value;

use crate::contents::Contents;
use lastmicron_job::words::{DRIVES, HARDNESSES, PAD_EDGES, PAD_STAGES, SUBSTRATES, SYSTEMS, word_for};

/// A text under construction.
#[derive(Default)]
struct Document(String);

impl Document {
    fn table(&mut self, header: &str) {
        let _ = write!(self.0, "\n{header}\n");
    }

    fn key(&mut self, key: &str, value: impl Into<Value>) {
        let _ = writeln!(self.0, "{key} = {}", value.into());
    }

    fn maybe(&mut self, key: &str, value: Option<impl Into<Value>>) {
        if let Some(value) = value {
            self.key(key, value);
        }
    }

    fn inline(&mut self, key: &str, fields: &[(&str, f64)]) {
        let fields: Vec<String> = fields.iter().map(|(key, number)| format!("{key} = {}", Value::from(*number))).collect();
        let _ = writeln!(self.0, "{key} = {{ {} }}", fields.join(", "));
    }

    fn belief(&mut self, key: &str, belief: Belief) {
        self.inline(key, &[("mean", belief.mean), ("sd", belief.sd)]);
    }

    fn undercoat(&mut self, undercoat: Option<Undercoat>) {
        if let Some(undercoat) = undercoat {
            let mut fields = vec![("mean_um", undercoat.mean_um), ("sd_um", undercoat.sd_um)];
            fields.extend(undercoat.panel_sd_um.map(|sd| ("panel_sd_um", sd)));
            self.inline("undercoat", &fields);
        }
    }
}

pub(super) fn toml(contents: &Contents) -> String {
    let (job, car) = (&contents.job, &contents.job.car);
    let mut out = Document::default();
    out.key("format", 1);
    out.key("title", job.title.as_str());
    out.table("[vehicle]");
    out.key("body", job.body.as_str());
    out.maybe("built", job.built);
    out.key("substrate", word_for(&job.substrate, &SUBSTRATES));
    out.table("[paint]");
    out.key("system", word_for(&car.paint.system, &SYSTEMS));
    out.undercoat(car.paint.undercoat);
    out.maybe("hardness", car.paint.hardness.map(|hardness| word_for(&hardness, &HARDNESSES)));
    out.key("metallic", car.paint.metallic);
    for (i, gauge) in car.gauges.iter().enumerate() {
        out.table(if i == 0 { "[gauge]" } else { "[[other_gauge]]" });
        if i > 0 {
            out.key("name", gauge.name.as_str());
        }
        write_gauge(&mut out, gauge);
    }
    out.table("[limits]");
    out.key("floor_um", car.limits.floor.micrometres());
    out.key("risk", car.limits.risk);
    out.maybe("spend_um", car.limits.spend.map(lastmicron_units::Removal::micrometres));
    out.maybe("through_risk", car.limits.through_risk);
    out.table("[goal]");
    out.key("correction", car.goal.correction);
    out.key("hours", car.goal.hours);
    if let Some(scatter) = car.scatter {
        out.table("[scatter]");
        out.key("panel", scatter.panel);
        out.key("section", scatter.section);
    }
    if let Some(edge) = car.edge {
        out.table("[edge]");
        out.belief("gain", edge.gain);
        out.key("reach_mm", edge.reach_mm);
    }
    for (i, process) in car.processes.iter().enumerate() {
        let follower = process.followed_by.and_then(|follower| car.processes.get(follower)).map(|follower| follower.name.as_str());
        write_process(&mut out, process, follower);
        write_use(&mut out, &car.equipment, i);
    }
    write_equipment(&mut out, &car.equipment);
    for panel in &car.panels {
        write_panel(&mut out, panel);
    }
    out.0
}

fn write_gauge(out: &mut Document, gauge: &Gauge) {
    out.inline("accuracy", &[("fixed_um", gauge.fixed_um), ("percent", gauge.percent)]);
    out.key("repeatability_um", gauge.repeatability_um);
    out.key("resolution_um", gauge.resolution_um);
    out.key("through_um", gauge.through_um);
}

fn write_process(out: &mut Document, process: &Process, follower: Option<&str>) {
    out.table("[[process]]");
    out.key("name", process.name.as_str());
    out.belief("removal_um", process.removal_um);
    out.key("minutes_per_m2", process.minutes_per_m2);
    out.maybe("followed_by", follower);
    if let Some(marks) = process.marks {
        out.belief("marks", marks);
    }
}

fn write_use(out: &mut Document, equipment: &Equipment, process: usize) {
    if let Some((machine, pad, used)) = equipment.of(process) {
        out.table("[process.use]");
        out.key("machine", machine.name.as_str());
        out.key("pad", pad.name.as_str());
        out.key("load_n", used.load_n);
        out.key("overlap", used.overlap);
        match equipment.stages_of(process) {
            [] => {
                out.key("arm_speed_mm_s", used.arm_speed_mm_s);
                out.key("passes", i64::from(used.passes));
            }
            stages => out.key("stages", stages.iter().map(stage).collect::<Vec<Value>>()),
        }
        out.maybe("polish", equipment.polishes.get(process).and_then(Option::as_deref));
    }
}

fn stage(stage: &Stage) -> Value {
    let table: toml::Table = match stage {
        Stage::Passes { passes, arm_speed_mm_s } => {
            [("passes".to_owned(), i64::from(*passes).into()), ("arm_speed_mm_s".to_owned(), (*arm_speed_mm_s).into())]
                .into_iter()
                .collect()
        }
        pad => [("pad".to_owned(), word_for(pad, &PAD_STAGES).into())].into_iter().collect(),
    };
    Value::Table(table)
}

fn write_equipment(out: &mut Document, equipment: &Equipment) {
    for machine in &equipment.machines {
        out.table("[[machine]]");
        out.key("name", machine.name.as_str());
        out.key("drive", word_for(&machine.drive, &DRIVES));
        out.key("orbit_radius_mm", machine.orbit_radius_mm);
        out.key("orbits_per_minute", machine.orbits_per_minute);
        out.key("spin_rpm", machine.spin_rpm);
    }
    for pad in &equipment.pads {
        out.table("[[pad]]");
        out.key("name", pad.name.as_str());
        out.key("diameter_mm", pad.diameter_mm);
        out.key("stiffness_pa_per_m", pad.stiffness_pa_per_m);
        out.key("edge", word_for(&pad.edge, &PAD_EDGES));
    }
}

fn write_panel(out: &mut Document, panel: &CarPanel) {
    out.table("[[panel]]");
    out.key("name", panel.panel.name.as_str());
    match panel.panel.outline_mm.as_slice() {
        [[0.0, 0.0], [w, 0.0], [x, h], [0.0, y]] if w.total_cmp(x).is_eq() && h.total_cmp(y).is_eq() => {
            out.key("width_mm", *w);
            out.key("height_mm", *h);
        }
        corners => out.key("outline_mm", points(corners)),
    }
    out.key("substrate", word_for(&panel.panel.substrate, &SUBSTRATES));
    out.undercoat(panel.undercoat);
    out.maybe("hardness", panel.hardness.map(|hardness| word_for(&hardness, &HARDNESSES)));
    out.maybe("metallic", panel.metallic);
    out.key("visibility", panel.visibility);
    out.key("work", panel.work);
    for line in &panel.lines {
        out.table("[[panel.line]]");
        out.key("points_mm", points(&line.points_mm));
        out.key("radius_mm", line.radius_mm);
    }
    for through in &panel.gone_through {
        out.table("[[panel.gone_through]]");
        out.key("place_mm", point(&through.place_mm));
        out.key("despite", through.despite);
    }
}

fn points(points: &[[f64; 2]]) -> Value {
    points.iter().map(point).collect::<Vec<_>>().into()
}

fn point(point: &[f64; 2]) -> Value {
    point.to_vec().into()
}
