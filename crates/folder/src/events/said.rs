//! What is stated of a job: vehicle, paint, panels, gauges, machines, pads, processes.

use lastmicron_film::gauge::Gauge;
use lastmicron_job::Job;
use lastmicron_job::event::{
    Accuracy, Body, EdgeStated, Film, GaugeStated, LineSaid, MachineStated, MeanSd, PadStated, PaintStated, PanelStated, ProcessStated,
    ScatterStated, StageSaid, UndercoatSaid, UseSaid, VehicleStated,
};
use lastmicron_job::words::{DRIVES, HARDNESSES, PAD_EDGES, PAD_STAGES, SUBSTRATES, SYSTEMS, word_for};
use lastmicron_plan::{Car, CarPanel, Undercoat};
use lastmicron_polish::stage::Stage;
use lastmicron_polish::{Belief, Drive, Machine, Pad, Process};

/// A number as the shortest text that reads back as it.
pub(super) fn text(number: f64) -> String {
    number.to_string()
}

/// A film in um.
pub(super) fn film(um: f64) -> Film {
    Film { number: text(um), unit: "um".to_owned() }
}

pub(super) fn stated(job: &Job) -> Vec<Body> {
    let car = &job.car;
    let word = |hardness: &_| word_for(hardness, &HARDNESSES).to_owned();
    let mut bodies = vec![
        Body::VehicleStated(VehicleStated {
            title: job.title.clone(),
            body: Some(job.body.clone()),
            built: job.built.map(|year| year.to_string()),
            substrate: Some(word_for(&job.substrate, &SUBSTRATES).to_owned()),
            owner: None,
            history: None,
            originality: None,
        }),
        Body::PaintStated(PaintStated {
            system: Some(word_for(&car.paint.system, &SYSTEMS).to_owned()),
            undercoat: car.paint.undercoat.map(undercoat),
            hardness: car.paint.hardness.as_ref().map(word),
            metallic: Some(car.paint.metallic),
        }),
    ];
    bodies.extend(car.gauges.iter().map(|one| Body::GaugeStated(gauge(one))));
    bodies.extend(car.equipment.machines.iter().map(|one| Body::MachineStated(machine(one))));
    bodies.extend(car.equipment.pads.iter().map(|one| Body::PadStated(pad(one))));
    bodies.extend(car.processes.iter().enumerate().map(|(i, one)| Body::ProcessStated(process(car, i, one))));
    bodies.extend(
        car.scatter.map(|scatter| Body::ScatterStated(ScatterStated { panel: text(scatter.panel), section: text(scatter.section) })),
    );
    bodies.extend(car.edge.map(|edge| Body::EdgeStated(EdgeStated { gain: belief(edge.gain), reach_mm: text(edge.reach_mm) })));
    bodies.extend(car.panels.iter().map(|one| Body::PanelStated(panel(one))));
    bodies
}

fn belief(belief: Belief) -> MeanSd {
    MeanSd { mean: text(belief.mean), sd: text(belief.sd) }
}

fn undercoat(undercoat: Undercoat) -> UndercoatSaid {
    UndercoatSaid { mean_um: text(undercoat.mean_um), sd_um: text(undercoat.sd_um), panel_sd_um: undercoat.panel_sd_um.map(text) }
}

fn gauge(gauge: &Gauge) -> GaugeStated {
    GaugeStated {
        accuracy: Accuracy { fixed_um: text(gauge.fixed_um), percent: text(gauge.percent) },
        repeatability_um: text(gauge.repeatability_um),
        name: (!gauge.name.is_empty()).then(|| gauge.name.clone()),
        resolution_um: Some(text(gauge.resolution_um)),
        through_um: Some(text(gauge.through_um)),
    }
}

fn machine(machine: &Machine) -> MachineStated {
    let orbits = machine.drive != Drive::Rotary;
    MachineStated {
        name: machine.name.clone(),
        drive: word_for(&machine.drive, &DRIVES).to_owned(),
        spin_rpm: text(machine.spin_rpm),
        orbit_radius_mm: orbits.then(|| text(machine.orbit_radius_mm)),
        orbits_per_minute: orbits.then(|| text(machine.orbits_per_minute)),
    }
}

fn pad(pad: &Pad) -> PadStated {
    PadStated {
        name: pad.name.clone(),
        diameter_mm: text(pad.diameter_mm),
        stiffness_pa_per_m: text(pad.stiffness_pa_per_m),
        edge: word_for(&pad.edge, &PAD_EDGES).to_owned(),
    }
}

fn process(car: &Car, at: usize, process: &Process) -> ProcessStated {
    let follower = process.followed_by.and_then(|follower| car.processes.get(follower));
    ProcessStated {
        name: process.name.clone(),
        removal_um: belief(process.removal_um),
        minutes_per_m2: text(process.minutes_per_m2),
        followed_by: follower.map(|follower| follower.name.clone()),
        marks: process.marks.map(belief),
        uses: used(car, at),
    }
}

fn used(car: &Car, process: usize) -> Option<UseSaid> {
    let (machine, pad, used) = car.equipment.of(process)?;
    let stages = car.equipment.stages_of(process);
    let in_one_go = stages.is_empty();
    Some(UseSaid {
        machine: machine.name.clone(),
        pad: pad.name.clone(),
        load_n: text(used.load_n),
        overlap: text(used.overlap),
        arm_speed_mm_s: in_one_go.then(|| text(used.arm_speed_mm_s)),
        passes: in_one_go.then_some(used.passes),
        stages: (!in_one_go).then(|| stages.iter().map(stage).collect()),
        polish: car.equipment.polishes.get(process).cloned().flatten(),
    })
}

fn stage(stage: &Stage) -> StageSaid {
    match stage {
        Stage::Passes { passes, arm_speed_mm_s } => {
            StageSaid { passes: Some(*passes), arm_speed_mm_s: Some(text(*arm_speed_mm_s)), pad: None }
        }
        pad => StageSaid { passes: None, arm_speed_mm_s: None, pad: Some(word_for(pad, &PAD_STAGES).to_owned()) },
    }
}

fn panel(panel: &CarPanel) -> PanelStated {
    let points = |points: &[[f64; 2]]| points.iter().map(|point| point.map(text)).collect();
    let lines = panel.lines.iter().map(|line| LineSaid { points_mm: points(&line.points_mm), radius_mm: text(line.radius_mm) });
    PanelStated {
        name: panel.panel.name.clone(),
        width_mm: None,
        height_mm: None,
        outline_mm: Some(points(&panel.panel.outline_mm)),
        substrate: Some(word_for(&panel.panel.substrate, &SUBSTRATES).to_owned()),
        undercoat: panel.undercoat.map(undercoat),
        hardness: panel.hardness.as_ref().map(|hardness| word_for(hardness, &HARDNESSES).to_owned()),
        metallic: panel.metallic,
        visibility: Some(text(panel.visibility)),
        work: Some(panel.work),
        lines: (!panel.lines.is_empty()).then(|| lines.collect()),
    }
}
