//! Processes, and the machines and pads that they use.

use lastmicron_job::bounds::{
    DIAMETER_MM, MINUTES, MOST_PASSES, NO_ORBIT, ORBIT_MM, ORBITS_PER_MINUTE, OVERLAP, POSITIVE, RATE_SD_UM, RATE_UM, SHARE, SPIN_RPM,
    STIFFNESS_PA_PER_M,
};
use lastmicron_job::follow::is_circle;
use lastmicron_job::name::unusable_for_process;
use lastmicron_polish::stage::{Stage, together};
use lastmicron_polish::transfer::Exposure;
use lastmicron_polish::{Belief, Drive, Equipment, Machine, Pad, Process, Use};

use super::Names;
use super::settings::belief;
use crate::after::unknown_process;
use crate::nearest::nearest;
use crate::place::Place;
use crate::problem::{Fault, Ledger};
use crate::table::Table;
use lastmicron_job::words::{DRIVES, PAD_EDGES, PAD_STAGES};

pub(super) fn read(root: &mut Table<'_>, ledger: &mut Ledger) -> (Vec<Process>, Equipment) {
    let machines = machines(root, ledger);
    let pads = pads(root, ledger);
    root.need("process", "[[process]]", ledger);
    let place = root.place("process");
    let mut tables = root.tables("process", ledger);
    if tables.is_empty() && root.is_list("process") {
        ledger.refuse(place, Fault::Nothing("a job needs at least one process"));
    }
    let mut names = Names::default();
    let mut processes = Vec::new();
    let mut followers = Vec::new();
    let (mut uses, mut stages, mut polishes) = (Vec::new(), Vec::new(), Vec::new());
    for table in &mut tables {
        let (process, follower) = process(table, &mut names, ledger);
        processes.push(process);
        followers.push(follower);
        let stated = read_use(table, &machines, &pads, ledger);
        uses.push(stated.as_ref().map(|stated| stated.used));
        let (staged, polish) = stated.map(|stated| (stated.stages, stated.polish)).unwrap_or_default();
        stages.push(staged);
        polishes.push(polish);
    }
    for table in tables {
        table.finish(ledger);
    }
    follow(&mut processes, &followers, ledger);
    if uses.iter().all(Option::is_none) {
        uses.clear();
    }
    if stages.iter().all(Vec::is_empty) {
        stages.clear();
    }
    if polishes.iter().all(Option::is_none) {
        polishes.clear();
    }
    (processes, Equipment { machines, pads, uses, stages, polishes })
}

type Follower = Option<(String, Place)>;

fn process(table: &mut Table<'_>, names: &mut Names, ledger: &mut Ledger) -> (Process, Follower) {
    table.need("name", "name = \"one-step\"", ledger);
    table.need("removal_um", "removal_um = { mean = 1.2, sd = 0.3 }", ledger);
    table.need("minutes_per_m2", "minutes_per_m2 = 26", ledger);
    let name = table.name("name", ledger).unwrap_or_default().to_owned();
    if let (Some(why), false) = (unusable_for_process(&name), name.is_empty()) {
        ledger.refuse(table.place("name"), Fault::Name { name: name.clone(), why });
    } else if !name.is_empty() {
        names.take("process", &name, table.place("name"), ledger);
    }
    let removal_um = belief(table, "removal_um", &RATE_UM, &RATE_SD_UM, ledger).unwrap_or(Belief { mean: 1.0, sd: 1.0 });
    let minutes_per_m2 = table.number("minutes_per_m2", &MINUTES, ledger).unwrap_or(1.0);
    let follower = table.name("followed_by", ledger).map(|name| (name.to_owned(), table.place("followed_by")));
    let marks = belief(table, "marks", &SHARE, &SHARE, ledger);
    (Process { name, removal_um, minutes_per_m2, followed_by: None, marks }, follower)
}

/// Finds the processes that must follow others.
fn follow(processes: &mut [Process], followers: &[Follower], ledger: &mut Ledger) {
    let mut links: Vec<Option<usize>> = Vec::new();
    for follower in followers {
        let link = follower.as_ref().and_then(|(name, place)| {
            let at = processes.iter().position(|process| process.name == *name);
            if at.is_none() {
                ledger.refuse(place.clone(), unknown_process(name, processes));
            }
            at
        });
        links.push(link);
    }
    for (i, link) in links.iter().enumerate() {
        if let (true, Some((name, place))) = (is_circle(&links, i), &followers[i]) {
            ledger.refuse(place.clone(), Fault::Circle(processes[i].name.clone(), name.clone()));
        }
        processes[i].followed_by = *link;
    }
}

fn machines(root: &mut Table<'_>, ledger: &mut Ledger) -> Vec<Machine> {
    let mut names = Names::default();
    let mut machines = Vec::new();
    for mut table in root.tables("machine", ledger) {
        table.need("name", "name = \"large orbital\"", ledger);
        table.need("drive", "drive = \"free\"", ledger);
        table.need("spin_rpm", "spin_rpm = 200", ledger);
        let name = table.name("name", ledger).unwrap_or_default().to_owned();
        names.take("machine", &name, table.place("name"), ledger);
        let drive = table.word("drive", &DRIVES, ledger).unwrap_or(Drive::Rotary);
        if drive != Drive::Rotary {
            table.need("orbit_radius_mm", "orbit_radius_mm = 7.5", ledger);
            table.need("orbits_per_minute", "orbits_per_minute = 4200", ledger);
        }
        let (orbit, rate) = if drive == Drive::Rotary { (&NO_ORBIT, &NO_ORBIT) } else { (&ORBIT_MM, &ORBITS_PER_MINUTE) };
        let orbit_radius_mm = table.number("orbit_radius_mm", orbit, ledger).unwrap_or(0.0);
        let orbits_per_minute = table.number("orbits_per_minute", rate, ledger).unwrap_or(0.0);
        let spin_rpm = table.number("spin_rpm", &SPIN_RPM, ledger).unwrap_or(100.0);
        table.finish(ledger);
        machines.push(Machine { name, drive, orbit_radius_mm, orbits_per_minute, spin_rpm });
    }
    machines
}

fn pads(root: &mut Table<'_>, ledger: &mut Ledger) -> Vec<Pad> {
    let mut names = Names::default();
    let mut pads = Vec::new();
    for mut table in root.tables("pad", ledger) {
        table.need("name", "name = \"soft foam 140\"", ledger);
        table.need("diameter_mm", "diameter_mm = 140", ledger);
        table.need("stiffness_pa_per_m", "stiffness_pa_per_m = 2.4e6", ledger);
        table.need("edge", "edge = \"upright\"", ledger);
        let name = table.name("name", ledger).unwrap_or_default().to_owned();
        names.take("pad", &name, table.place("name"), ledger);
        // Refused numbers are filled in with ones that any use goes with: one fault is one line.
        let diameter_mm = table.number("diameter_mm", &DIAMETER_MM, ledger).unwrap_or(1000.0);
        let stiffness_pa_per_m = table.number("stiffness_pa_per_m", &STIFFNESS_PA_PER_M, ledger).unwrap_or(2.4e6);
        let edge = table.word("edge", &PAD_EDGES, ledger).unwrap_or(lastmicron_polish::PadEdge::Upright);
        table.finish(ledger);
        pads.push(Pad { name, diameter_mm, stiffness_pa_per_m, edge });
    }
    pads
}

const PASSES: &str = "a whole number of passes from 1 to 1000";

/// What a process states of its use.
struct Stated {
    used: Use,
    /// None where a set is worked in one go.
    stages: Vec<Stage>,
    polish: Option<String>,
}

fn read_use(table: &mut Table<'_>, machines: &[Machine], pads: &[Pad], ledger: &mut Ledger) -> Option<Stated> {
    let place = table.place("use");
    let mut inner = table.table("use", ledger)?;
    let needed = [
        ("machine", "machine = \"large orbital\""),
        ("pad", "pad = \"soft foam 140\""),
        ("load_n", "load_n = 40"),
        ("overlap", "overlap = 0.5"),
    ];
    for (key, example) in needed {
        inner.need(key, example, ledger);
    }
    let machine = named(&mut inner, "machine", machines.iter().map(|machine| machine.name.as_str()), ledger);
    let pad = named(&mut inner, "pad", pads.iter().map(|pad| pad.name.as_str()), ledger);
    let load_n = inner.number("load_n", &POSITIVE, ledger);
    let overlap = inner.number("overlap", &OVERLAP, ledger);
    let (stages, strokes) = if inner.has("stages") {
        let stages = read_stages(&mut inner, ledger);
        let strokes = stages.as_deref().and_then(together);
        (stages.unwrap_or_default(), strokes)
    } else {
        inner.need("arm_speed_mm_s", "arm_speed_mm_s = 40", ledger);
        inner.need("passes", "passes = 4", ledger);
        (Vec::new(), read_passes(&mut inner, ledger))
    };
    let polish = inner.name("polish", ledger).map(str::to_owned);
    inner.finish(ledger);
    let (passes, arm_speed_mm_s) = strokes?;
    let used = Use { machine: machine?, pad: pad?, load_n: load_n?, arm_speed_mm_s, overlap: overlap?, passes };
    if let Err(why) = Exposure::of(machines.get(used.machine)?, pads.get(used.pad)?, &used) {
        ledger.refuse(place, Fault::Use(why));
    }
    Some(Stated { used, stages, polish })
}

/// Passes, and the arm's speed, mm/s.
fn read_passes(table: &mut Table<'_>, ledger: &mut Ledger) -> Option<(u32, f64)> {
    let arm_speed_mm_s = table.number("arm_speed_mm_s", &POSITIVE, ledger);
    let passes = table.whole("passes", [1, i64::from(MOST_PASSES)], PASSES, ledger).and_then(|passes| u32::try_from(passes).ok());
    Some((passes?, arm_speed_mm_s?))
}

/// Stages of a set, in their order; none when any of them is wrong.
fn read_stages(table: &mut Table<'_>, ledger: &mut Ledger) -> Option<Vec<Stage>> {
    let place = table.place("stages");
    for key in ["passes", "arm_speed_mm_s"] {
        if table.has(key) {
            ledger.refuse(table.place(key), Fault::Stages("a use with stages has its passes and arm speeds in them: leave this out"));
        }
    }
    read_passes(table, ledger);
    let mut tables = table.tables("stages", ledger);
    // A stage that is refused for what else it has may be the one with the passes.
    let stages_are_right = !tables.iter().any(|stage| stage.has("pad") && stage.has("passes"));
    let stages: Vec<Option<Stage>> = tables.iter_mut().map(|stage| read_stage(stage, ledger)).collect();
    for stage in tables {
        stage.finish(ledger);
    }
    let stages: Vec<Stage> = stages.into_iter().collect::<Option<_>>()?;
    if stages_are_right && together(&stages).is_none() {
        ledger.refuse(place, Fault::Stages("no stage has passes: a set must remove something, like { passes = 4, arm_speed_mm_s = 30 }"));
        return None;
    }
    stages_are_right.then_some(stages)
}

fn read_stage(stage: &mut Table<'_>, ledger: &mut Ledger) -> Option<Stage> {
    if stage.has("pad") {
        for key in ["passes", "arm_speed_mm_s"] {
            if stage.has(key) {
                ledger.refuse(stage.place(key), Fault::Stages("a stage has passes or does something to the pad: make it two"));
            }
        }
        read_passes(stage, ledger);
        return stage.word("pad", &PAD_STAGES, ledger);
    }
    stage.need("passes", "{ passes = 2, arm_speed_mm_s = 120 } or { pad = \"clean\" }", ledger);
    stage.need("arm_speed_mm_s", "arm_speed_mm_s = 120", ledger);
    let (passes, arm_speed_mm_s) = read_passes(stage, ledger)?;
    Some(Stage::Passes { passes, arm_speed_mm_s })
}

/// Index of the one that a key names.
fn named<'n>(table: &mut Table<'_>, key: &'static str, names: impl Iterator<Item = &'n str> + Clone, ledger: &mut Ledger) -> Option<usize> {
    let name = table.name(key, ledger)?;
    let at = names.clone().position(|known| known == name);
    if at.is_none() {
        let known = names.clone().map(str::to_owned).collect();
        ledger.refuse(table.place(key), Fault::Unknown { what: key, word: name.to_owned(), nearest: nearest(name, names), known });
    }
    at
}
