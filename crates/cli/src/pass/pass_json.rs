//! A set as JSON, as docs/method/pass.md says.

use lastmicron_folder::number;
use lastmicron_paper::{SetWorked, With};
use lastmicron_plan::Spread;
use lastmicron_polish::heat::{HELD_STILL_S, HeatCaution, ROOM_C, UNSURE, Warming};
use lastmicron_polish::near::Profile;
use lastmicron_polish::pass::{Pass, SectionMap};
use lastmicron_polish::stage::due_beyond;
use lastmicron_polish::{Belief, Drive, PadEdge};
use serde_json::{Value, json};

/// The set and what it does.
pub(super) fn json(set: &SetWorked<'_>) -> Value {
    let pass = set.pass;
    let due = due_beyond(pass.residue, set.stages);
    let spread = |of: Spread| belief(Belief { mean: of.mean, sd: of.sd });
    let carried = set
        .carried
        .map(|(from, transfer)| json!({ "from": with(from), "ratio": number(transfer.ratio), "log_sd": number(transfer.log_sd) }));
    json!({
        "format": 1,
        "process": set.process,
        "with": with(set.with),
        "stages": set.stages.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "assumed": set.assumed,
        "pressure_pa": number(pass.exposure.pressure_pa),
        "speed_m_s": number(pass.exposure.speed_m_s),
        "covered_s": number(pass.exposure.covered_s),
        "set_um": belief(pass.set_um),
        "job_rate": { "prior_um": spread(set.rate.prior_um), "posterior_um": spread(set.rate.posterior_um) },
        "carried": carried,
        "unevenness": number(pass.unevenness),
        "differs": number(pass.differs),
        "section": pass.section.as_ref().ok().map(section),
        "no_section": pass.section.as_ref().err().map(ToString::to_string),
        "edge": profile(pass, &pass.edge),
        "lines": pass.lines.iter().map(|(radius_mm, of)| json!({ "radius_mm": number(*radius_mm), "profile": profile(pass, of) })).collect::<Vec<_>>(),
        "room_c": ROOM_C,
        "held_still_s": HELD_STILL_S,
        "unsure_by_factor": UNSURE,
        "heat": pass.warming.iter().map(heat).collect::<Vec<_>>(),
        "residue": {
            "film_um": number(pass.residue.film_um),
            "clean_after_sections": due.clean_after,
            "change_after_sections": due.change_after,
        },
        "findings": pass.findings.iter().map(|of| json!({ "where": of.seat.to_string(), "sentence": of.finding.to_string() })).collect::<Vec<_>>(),
    })
}

fn belief(of: Belief) -> Value {
    json!({ "mean": number(of.mean), "sd": number(of.sd) })
}

fn with(With { machine, pad, used }: With<'_>) -> Value {
    let drive = match machine.drive {
        Drive::Free => "free",
        Drive::Forced => "forced",
        Drive::Rotary => "rotary",
    };
    let edge = match pad.edge {
        PadEdge::Upright => "upright",
        PadEdge::Tapered => "tapered",
    };
    json!({
        "machine": {
            "name": machine.name,
            "drive": drive,
            "orbit_radius_mm": number(machine.orbit_radius_mm),
            "orbits_per_minute": number(machine.orbits_per_minute),
            "spin_rpm": number(machine.spin_rpm),
        },
        "pad": {
            "name": pad.name,
            "diameter_mm": number(pad.diameter_mm),
            "stiffness_pa_per_m": number(pad.stiffness_pa_per_m),
            "edge": edge,
        },
        "load_n": number(used.load_n),
        "arm_speed_mm_s": number(used.arm_speed_mm_s),
        "overlap": number(used.overlap),
        "passes": used.passes,
    })
}

fn section(of: &SectionMap) -> Value {
    let rows = of.map.depth_um.chunks(of.nodes.max(1));
    json!({
        "side_mm": number(of.side_mm),
        "seconds": number(of.seconds),
        "middle_um": number(of.middle_um()),
        "mean_um": number(of.map.mean_um),
        "min_um": number(of.map.min_um),
        "max_um": number(of.map.max_um),
        "step_mm": number(of.step_mm),
        "depth_um": rows.map(|row| row.iter().map(|um| number(*um)).collect::<Vec<_>>()).collect::<Vec<_>>(),
    })
}

fn profile(pass: &Pass, of: &Profile) -> Vec<Value> {
    let at = |mm: &f64| {
        let gain = of.at(*mm);
        json!({ "distance_mm": number(*mm), "gain": belief(gain), "depth_um": belief(pass.depth_um(gain)) })
    };
    of.distances_mm.iter().map(at).collect()
}

fn heat(of: &Warming) -> Value {
    let said = |caution: Option<HeatCaution>| caution.map(|caution| caution.to_string());
    json!({
        "material": of.material.to_string(),
        "thickness_mm": number(of.material.usual_thickness_mm()),
        "worked_k": number(of.worked_k),
        "worked_caution": said(of.worked),
        "held_still_k": number(of.held_still_k),
        "held_still_caution": said(of.held_still),
    })
}
