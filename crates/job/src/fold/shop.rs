//! Gauges, machines, pads and processes.

use lastmicron_film::gauge::Gauge;
use lastmicron_polish::stage::{Stage, together};
use lastmicron_polish::transfer::Exposure;
use lastmicron_polish::{Drive, EdgeGain, Equipment, Machine, Pad, Process, Scatter, Use};

use super::read::{belief, maybe, named, number, shortened, times, usable_name, word};
use super::reason::Reason;
use crate::bounds::{
    DIAMETER_MM, FILM_UM, GAIN, MINUTES, MOST_PASSES, NO_ORBIT, ORBIT_MM, ORBITS_PER_MINUTE, OVERLAP, PERCENT, POSITIVE, RATE_SD_UM,
    RATE_UM, SCATTER, SHARE, SPIN_RPM, STIFFNESS_PA_PER_M,
};
use crate::event::{EdgeStated, GaugeStated, MachineStated, PadStated, ProcessStated, ScatterStated, StageSaid, UseSaid};
use crate::follow::is_circle;
use crate::name::unusable_for_process;
use crate::words::{DRIVES, PAD_EDGES, PAD_STAGES};

pub(super) fn gauge(said: &GaugeStated) -> Result<Gauge, Reason> {
    let film = |text: Option<&String>, key| maybe(text, key, &FILM_UM).map(|film| film.unwrap_or(0.0));
    Ok(Gauge {
        name: said.name.as_deref().map_or_else(|| Ok(String::new()), usable_name)?,
        fixed_um: number(&said.accuracy.fixed_um, "fixed_um", &FILM_UM)?,
        percent: number(&said.accuracy.percent, "percent", &PERCENT)?,
        repeatability_um: number(&said.repeatability_um, "repeatability_um", &FILM_UM)?,
        resolution_um: film(said.resolution_um.as_ref(), "resolution_um")?,
        through_um: film(said.through_um.as_ref(), "through_um")?,
    })
}

pub(super) fn machine(said: &MachineStated) -> Result<Machine, Reason> {
    let drive = word(&said.drive, "drive", &DRIVES)?;
    let (orbit, rate) = if drive == Drive::Rotary { (&NO_ORBIT, &NO_ORBIT) } else { (&ORBIT_MM, &ORBITS_PER_MINUTE) };
    let orbit_radius_mm = maybe(said.orbit_radius_mm.as_ref(), "orbit_radius_mm", orbit)?;
    let orbits_per_minute = maybe(said.orbits_per_minute.as_ref(), "orbits_per_minute", rate)?;
    if drive != Drive::Rotary && (orbit_radius_mm.is_none() || orbits_per_minute.is_none()) {
        return Err(Reason::OneOf("orbit_radius_mm and orbits_per_minute of a machine that orbits"));
    }
    Ok(Machine {
        name: usable_name(&said.name)?,
        drive,
        orbit_radius_mm: orbit_radius_mm.unwrap_or(0.0),
        orbits_per_minute: orbits_per_minute.unwrap_or(0.0),
        spin_rpm: number(&said.spin_rpm, "spin_rpm", &SPIN_RPM)?,
    })
}

pub(super) fn pad(said: &PadStated) -> Result<Pad, Reason> {
    Ok(Pad {
        name: usable_name(&said.name)?,
        diameter_mm: number(&said.diameter_mm, "diameter_mm", &DIAMETER_MM)?,
        stiffness_pa_per_m: number(&said.stiffness_pa_per_m, "stiffness_pa_per_m", &STIFFNESS_PA_PER_M)?,
        edge: word(&said.edge, "edge of a pad", &PAD_EDGES)?,
    })
}

pub(super) fn scatter(said: &ScatterStated) -> Result<Scatter, Reason> {
    Ok(Scatter { panel: number(&said.panel, "panel", &SCATTER)?, section: number(&said.section, "section", &SCATTER)? })
}

pub(super) fn edge(said: &EdgeStated) -> Result<EdgeGain, Reason> {
    Ok(EdgeGain { gain: belief(&said.gain, "gain", &GAIN, &GAIN)?, reach_mm: number(&said.reach_mm, "reach_mm", &POSITIVE)? })
}

/// A process, and what follows it and what it uses, before the other processes are known.
pub(super) struct Stated {
    pub(super) process: Process,
    followed_by: Option<String>,
    used: Option<Use>,
    stages: Vec<Stage>,
    polish: Option<String>,
}

pub(super) fn process(said: &ProcessStated, machines: &[Machine], pads: &[Pad]) -> Result<Stated, Reason> {
    let name = said.name.trim().to_owned();
    if let Some(why) = unusable_for_process(&name) {
        return Err(Reason::Name { name: shortened(&name), why });
    }
    let stages = said.uses.as_ref().map(stages).transpose()?.unwrap_or_default();
    let process = Process {
        name,
        removal_um: belief(&said.removal_um, "removal_um", &RATE_UM, &RATE_SD_UM)?,
        minutes_per_m2: number(&said.minutes_per_m2, "minutes_per_m2", &MINUTES)?,
        followed_by: None,
        marks: said.marks.as_ref().map(|marks| belief(marks, "marks", &SHARE, &SHARE)).transpose()?,
    };
    Ok(Stated {
        process,
        followed_by: said.followed_by.clone(),
        used: said.uses.as_ref().map(|said| used(said, &stages, machines, pads)).transpose()?,
        stages,
        polish: said.uses.as_ref().and_then(|said| said.polish.as_deref()).map(usable_name).transpose()?,
    })
}

fn used(said: &UseSaid, stages: &[Stage], machines: &[Machine], pads: &[Pad]) -> Result<Use, Reason> {
    let machine = named(&said.machine, "machine", machines.iter().map(|machine| machine.name.as_str()))?;
    let pad = named(&said.pad, "pad", pads.iter().map(|pad| pad.name.as_str()))?;
    let in_one_go = || Reason::OneOf("either passes and arm_speed_mm_s or stages with passes");
    let (passes, arm_speed_mm_s) = match (said.passes, &said.arm_speed_mm_s, stages) {
        (Some(passes), Some(speed), []) => (times(passes, "passes", MOST_PASSES)?, number(speed, "arm_speed_mm_s", &POSITIVE)?),
        (None, None, [_, ..]) => together(stages).ok_or_else(in_one_go)?,
        _ => return Err(in_one_go()),
    };
    let load_n = number(&said.load_n, "load_n", &POSITIVE)?;
    let overlap = number(&said.overlap, "overlap", &OVERLAP)?;
    let used = Use { machine, pad, load_n, arm_speed_mm_s, overlap, passes };
    if let (Some(machine), Some(pad)) = (machines.get(machine), pads.get(pad)) {
        Exposure::of(machine, pad, &used).map_err(Reason::Use)?;
    }
    Ok(used)
}

fn stages(said: &UseSaid) -> Result<Vec<Stage>, Reason> {
    said.stages.iter().flatten().map(stage).collect()
}

fn stage(said: &StageSaid) -> Result<Stage, Reason> {
    match (&said.pad, said.passes, &said.arm_speed_mm_s) {
        (Some(pad), None, None) => word(pad, "thing to do to a pad", &PAD_STAGES),
        (None, Some(passes), Some(speed)) => {
            Ok(Stage::Passes { passes: times(passes, "passes", MOST_PASSES)?, arm_speed_mm_s: number(speed, "arm_speed_mm_s", &POSITIVE)? })
        }
        _ => Err(Reason::OneOf("a stage either passes and arm_speed_mm_s or pad")),
    }
}

/// Puts processes together with what follows them and what they use. What can't follow is left out, and said by the process's index.
pub(super) fn together_with_uses(stated: Vec<Stated>, equipment: &mut Equipment) -> (Vec<Process>, Vec<(usize, Reason)>) {
    let mut refused = Vec::new();
    let mut links = Vec::new();
    for (i, one) in stated.iter().enumerate() {
        let at = one.followed_by.as_ref().map(|name| named(name, "process", stated.iter().map(|other| other.process.name.as_str())));
        links.push(at.and_then(|at| at.map_err(|why| refused.push((i, why))).ok()));
    }
    for i in 0..links.len() {
        if let (true, Some(next)) = (is_circle(&links, i), links[i]) {
            refused.push((i, Reason::Circle(stated[i].process.name.clone(), stated[next].process.name.clone())));
            links[i] = None;
        }
    }
    let mut processes = Vec::new();
    for (one, link) in stated.into_iter().zip(links) {
        processes.push(Process { followed_by: link, ..one.process });
        equipment.uses.push(one.used);
        equipment.stages.push(one.stages);
        equipment.polishes.push(one.polish);
    }
    clear_unstated(equipment);
    (processes, refused)
}

/// A job in which nothing of a kind is stated lists nothing.
fn clear_unstated(equipment: &mut Equipment) {
    if equipment.uses.iter().all(Option::is_none) {
        equipment.uses.clear();
    }
    if equipment.stages.iter().all(Vec::is_empty) {
        equipment.stages.clear();
    }
    if equipment.polishes.iter().all(Option::is_none) {
        equipment.polishes.clear();
    }
}
