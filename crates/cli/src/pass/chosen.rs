//! The machine, the pad and the use that were asked for: the process's own, replaced in part.

use lastmicron_folder::nearest;
use lastmicron_plan::Car;
use lastmicron_polish::library::{MACHINES, MachineKind, PADS, USUAL_OVERLAP, USUAL_PASSES};
use lastmicron_polish::stage::Stage;
use lastmicron_polish::{Machine, Pad, PadEdge, Use};

use crate::arguments::PassArguments;

/// What was chosen.
pub(super) struct Chosen {
    /// Index of the process.
    pub(super) process: usize,
    pub(super) machine: Machine,
    pub(super) pad: Pad,
    pub(super) used: Use,
    /// Stages of a set; none where it is worked in one go.
    pub(super) stages: Vec<Stage>,
    /// What the process states for itself.
    pub(super) own: Option<Own>,
    /// Doubt of the speed's logarithm where only the kind of the machine is known.
    pub(super) kind_log_sd: f64,
    /// What was assumed where nothing was stated, in sentences.
    pub(super) assumed: Vec<String>,
}

/// A process's own machine, pad and use.
pub(super) struct Own {
    pub(super) machine: Machine,
    pub(super) pad: Pad,
    pub(super) used: Use,
}

/// Chooses; or says what is missing or not known.
pub(super) fn choose(car: &Car, process: &str, arguments: &PassArguments) -> Result<Chosen, String> {
    let names = || car.processes.iter().map(|one| one.name.as_str());
    let index = names().position(|name| name == process).ok_or_else(|| unknown("process", process, names().collect(), "of the job"))?;
    let own = car.equipment.of(index).map(|(machine, pad, used)| Own { machine: machine.clone(), pad: pad.clone(), used: *used });
    if own.is_none() {
        needed(process, arguments)?;
    }
    sensible(arguments)?;
    let mut assumed = Vec::new();
    let (machine, kind) = machine(car, own.as_ref(), arguments.machine.as_deref(), &mut assumed)?;
    let pad = pad(car, own.as_ref(), arguments.pad.as_deref(), kind, &mut assumed)?;
    if let Some(kind) = kind.filter(|kind| !(kind.pad_mm.low..=kind.pad_mm.high).contains(&pad.diameter_mm)) {
        assumed.push(format!(
            "A {} takes pads of {} to {} mm as a rule: one of {} mm is taken all the same.",
            kind.name, kind.pad_mm.low, kind.pad_mm.high, pad.diameter_mm
        ));
    }
    if let Some(own) = own.as_ref().filter(|own| arguments.load.is_none() && (own.machine != machine || own.pad != pad)) {
        assumed.push(format!(
            "The load stays at {} N, as the job has it with its own machine and pad: give --load for another.",
            own.used.load_n
        ));
    }
    if own.is_none() {
        assumed.push(format!(
            "The job doesn't say with what a set of '{process}' is worked: what it takes is taken as meant for this machine, pad and use."
        ));
    }
    let used = used(own.as_ref(), arguments, &mut assumed);
    let mut stages = car.equipment.stages_of(index).to_vec();
    if !stages.is_empty() && (arguments.arm_speed.is_some() || arguments.passes.is_some()) {
        stages.clear();
        assumed.push("The set is worked in one go: the job's stages have arm speeds and passes of their own, and are left out.".to_owned());
    }
    if let Some(edge) = car.edge {
        assumed.push(format!(
            "The job states [edge], and its plan goes by that: {:.0} % more at an edge (give or take {:.0}), falling off over {} mm. Across an edge stands here what contact and motion say.",
            100.0 * edge.gain.mean,
            100.0 * edge.gain.sd,
            edge.reach_mm
        ));
    }
    Ok(Chosen { process: index, machine, pad, used, stages, own, kind_log_sd: kind.map_or(0.0, MachineKind::speed_log_sd), assumed })
}

/// What no hand does is a slip of the keys. What is none at all (0, not a number) is refused where it is worked with.
fn sensible(arguments: &PassArguments) -> Result<(), String> {
    let most = |option: &str, given: Option<f64>, most: f64, unit: &str| match given {
        Some(given) if given > most => Err(format!("{option} {given}: at most {most}{unit} are worked with")),
        _ => Ok(()),
    };
    most("--load", arguments.load, 10_000.0, " N")?;
    most("--arm-speed", arguments.arm_speed, 10_000.0, " mm/s")?;
    if arguments.arm_speed.is_some_and(|given| given > 0.0 && given < 0.1)
        || arguments.load.is_some_and(|given| given > 0.0 && given < 0.01)
    {
        return Err("so little is no work: --load is from 0.01 N, --arm-speed from 0.1 mm/s".to_owned());
    }
    most("--passes", arguments.passes.map(f64::from), 1000.0, "")
}

/// A process without a use needs all of one.
fn needed(process: &str, arguments: &PassArguments) -> Result<(), String> {
    let options = [
        ("--machine", arguments.machine.is_some()),
        ("--pad", arguments.pad.is_some()),
        ("--load", arguments.load.is_some()),
        ("--arm-speed", arguments.arm_speed.is_some()),
    ];
    let missing: Vec<&str> = options.iter().filter(|(_, given)| !given).map(|(option, _)| *option).collect();
    if missing.is_empty() {
        return Ok(());
    }
    Err(format!("process '{process}' states no use of its own: give {}, or write a [process.use] into job.toml", missing.join(", ")))
}

/// The machine, and its kind where that is all that is known of it.
fn machine(
    car: &Car,
    own: Option<&Own>,
    name: Option<&str>,
    assumed: &mut Vec<String>,
) -> Result<(Machine, Option<&'static MachineKind>), String> {
    let Some(name) = name else {
        return own.map(|own| (own.machine.clone(), None)).ok_or_else(|| "a machine is needed: give --machine".to_owned());
    };
    if let Some(machine) = car.equipment.machines.iter().find(|machine| machine.name == name) {
        return Ok((machine.clone(), None));
    }
    let kind = MACHINES.iter().find(|kind| kind.name == name).ok_or_else(|| {
        let known = car.equipment.machines.iter().map(|machine| machine.name.as_str()).chain(MACHINES.iter().map(|kind| kind.name));
        unknown("machine", name, known.collect(), "of the job or kind of machine (`lastmicron pass --kinds` lists them)")
    })?;
    assumed.push(format!(
        "'{name}' is a kind of machine: orbit and speeds are the middles of their ranges, and what it takes is less sure for it."
    ));
    Ok((kind.machine(), Some(kind)))
}

fn pad(car: &Car, own: Option<&Own>, name: Option<&str>, of: Option<&MachineKind>, assumed: &mut Vec<String>) -> Result<Pad, String> {
    let Some(name) = name else {
        return own.map(|own| own.pad.clone()).ok_or_else(|| "a pad is needed: give --pad".to_owned());
    };
    if let Some(pad) = car.equipment.pads.iter().find(|pad| pad.name == name) {
        return Ok(pad.clone());
    }
    let (bare, size_mm) = sized(name);
    let kind = PADS.iter().find(|kind| kind.name == bare).ok_or_else(|| {
        let known = car.equipment.pads.iter().map(|pad| pad.name.as_str()).chain(PADS.iter().map(|kind| kind.name));
        unknown("pad", name, known.collect(), "of the job or kind of pad (`lastmicron pass --kinds` lists them)")
    })?;
    let (diameter_mm, whose) = match (size_mm, of, own) {
        (Some(mm), _, _) => (mm, "as asked for"),
        (None, Some(machine), _) => (machine.pad_mm.middle(), "the middle of what its machine takes"),
        (None, None, Some(own)) => (own.pad.diameter_mm, "that of the process's own pad"),
        (None, None, None) => return Err(format!("'{name}' is a kind of pad: say its diameter in mm too, like --pad '{bare} 125'")),
    };
    let rim = own.map_or(PadEdge::Upright, |own| own.pad.edge);
    let rim_words = match (own, rim) {
        (Some(_), PadEdge::Upright) => "upright as the process's own pad's",
        (Some(_), PadEdge::Tapered) => "tapered as the process's own pad's",
        (None, _) => "upright",
    };
    assumed.push(format!(
        "'{bare}' is a kind of pad: its stiffness is the middle of its range, its diameter of {diameter_mm} mm is {whose}, its rim {rim_words}."
    ));
    Ok(Pad { name: name.to_owned(), ..kind.pad(diameter_mm, rim) })
}

/// A kind's name and the diameter after it, if there is one: "soft foam 125", "soft foam 125 mm".
fn sized(name: &str) -> (&str, Option<f64>) {
    let bare = name.trim().trim_end_matches("mm").trim_end();
    match bare.rsplit_once(' ').map(|(kind, size)| (kind.trim_end(), size.parse::<f64>())) {
        Some((kind, Ok(mm))) => (kind, Some(mm)),
        _ => (name.trim(), None),
    }
}

fn used(own: Option<&Own>, arguments: &PassArguments, assumed: &mut Vec<String>) -> Use {
    let stated = own.map(|own| own.used);
    let overlap = arguments.overlap.or(stated.map(|used| used.overlap)).unwrap_or_else(|| {
        assumed.push(format!("Strokes overlap by {:.0} %, as is usual.", 100.0 * USUAL_OVERLAP));
        USUAL_OVERLAP
    });
    let passes = arguments.passes.or(stated.map(|used| used.passes)).unwrap_or_else(|| {
        assumed.push(format!("A set has {USUAL_PASSES} passes, as is usual: two along and two across."));
        USUAL_PASSES
    });
    let of = |given: Option<f64>, stated: Option<f64>| given.or(stated).unwrap_or(f64::NAN);
    Use {
        machine: stated.map_or(0, |used| used.machine),
        pad: stated.map_or(0, |used| used.pad),
        load_n: of(arguments.load, stated.map(|used| used.load_n)),
        arm_speed_mm_s: of(arguments.arm_speed, stated.map(|used| used.arm_speed_mm_s)),
        overlap,
        passes,
    }
}

/// "there is no machine 'x' ...", with the nearest known name or all of them.
fn unknown(what: &str, name: &str, known: Vec<&str>, of: &str) -> String {
    let hint = nearest(name, known.iter().copied()).map_or_else(
        || format!("known are {}", known.iter().map(|name| format!("'{name}'")).collect::<Vec<_>>().join(", ")),
        |meant| format!("did you mean '{meant}'?"),
    );
    format!("'{name}' is no {what} {of}: {hint}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_kind_of_pad_may_carry_its_diameter() {
        assert_eq!(sized("soft foam 125"), ("soft foam", Some(125.0)));
        assert_eq!(sized("soft foam 125 mm"), ("soft foam", Some(125.0)));
        assert_eq!(sized("soft foam 76.5mm"), ("soft foam", Some(76.5)));
        assert_eq!(sized(" soft foam "), ("soft foam", None));
        assert_eq!(sized(""), ("", None));
    }
}
