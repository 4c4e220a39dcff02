//! A set's machine, pad, heat, residue and limits in words.

use lastmicron_plan::Spread;
use lastmicron_polish::heat::{HELD_STILL_S, HeatCaution, Material, ROOM_C, Warming};
use lastmicron_polish::loading::{CHANGE_UM, CLEAN_UM};
use lastmicron_polish::pass::{NINETEEN_IN_TWENTY, PadFinding, Pass, Seat};
use lastmicron_polish::stage::{Stage, due_beyond};
use lastmicron_polish::transfer::Transfer;
use lastmicron_polish::{Belief, Drive, Machine, PadEdge};
use lastmicron_units::Unit;
use serde::Serialize;

use crate::document::Fact;
use crate::panel_sheet::NAME_CHARS;
use crate::pass_document::{SetWorked, With, fine, ranged};
use crate::printable::cut;

/// How warm one material gets.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct HeatLine {
    /// The material and its thickness.
    pub material: String,
    /// At the end of a set on a section.
    pub worked: String,
    /// Under a pad held still.
    pub held_still: String,
}

fn fact(name: &str, value: String) -> Fact {
    Fact { name: name.to_owned(), value }
}

/// A free spin slower than this is told as stalled, turns a minute: a word rounds to whole turns.
const STALLED_RPM: f64 = 0.5;

/// How a machine moves its pad.
fn moves(machine: &Machine) -> String {
    let orbit = format!("orbit {} mm from its middle, {:.0} a minute", machine.orbit_radius_mm, machine.orbits_per_minute);
    match machine.drive {
        Drive::Free if machine.spin_rpm.abs() < STALLED_RPM => format!("{orbit}, its spin stalled"),
        Drive::Free => format!("{orbit}, spins freely at about {:.0} a minute", machine.spin_rpm),
        Drive::Forced if machine.spin_rpm < 0.0 => {
            format!("{orbit}, geared to spin against its orbit at {:.0} a minute", -machine.spin_rpm)
        }
        Drive::Forced => format!("{orbit}, geared to spin at {:.0} a minute", machine.spin_rpm),
        Drive::Rotary => format!("spins at {:.0} a minute", machine.spin_rpm),
    }
}

/// With what, how, and what it takes.
pub(crate) fn facts(set: &SetWorked<'_>, unit: Unit) -> Vec<Fact> {
    let (pass, With { machine, pad, .. }) = (set.pass, set.with);
    let rim = match pad.edge {
        PadEdge::Upright => "upright",
        PadEdge::Tapered => "tapered",
    };
    let moves = moves(machine);
    let exposure = &pass.exposure;
    let kpa_mm = pad.stiffness_pa_per_m / 1e6;
    let mut facts = vec![
        fact("Machine", format!("{}: {moves}", cut(&machine.name, NAME_CHARS))),
        fact("Pad", format!("{}: {} mm, {kpa_mm:.1} kPa a mm of squeeze, {rim} rim", cut(&pad.name, NAME_CHARS), pad.diameter_mm)),
        fact("Worked", strokes(set)),
        fact(
            "On the paint",
            format!(
                "{:.1} kPa under the pad, moving at {:.1} m/s; each place is under it for {:.0} s",
                exposure.pressure_pa / 1000.0,
                exposure.speed_m_s,
                exposure.covered_s
            ),
        ),
        fact(
            "One set takes",
            format!("{} in the middle of one section of one panel", ranged(pass.depth_um(Belief { mean: 0.0, sd: 0.0 }), unit)),
        ),
    ];
    facts.extend(known(set, unit));
    facts.push(match &pass.section {
        Ok(section) => fact(
            "A section",
            format!(
                "{} mm square: {}; {} at most where strokes meet, {} over all of it, since its sides are left to the neighbours",
                section.side_mm,
                minutes(section.seconds),
                fine(section.map.max_um, unit),
                fine(section.map.mean_um, unit)
            ),
        ),
        Err(why) => fact("A section", format!("none: {why}. The rest holds")),
    });
    facts.push(fact(
        "Evenness",
        format!(
            "{:.0} % from place to place by the strokes alone; {:.0} % with what panels and sections differ by (standard deviations)",
            100.0 * pass.unevenness,
            100.0 * pass.differs
        ),
    ));
    facts
}

/// What is known of the process's rate, and from what use it was carried over.
fn known(set: &SetWorked<'_>, unit: Unit) -> Vec<Fact> {
    let belief = |spread: Spread| ranged(Belief { mean: spread.mean, sd: spread.sd }, unit);
    let (prior, posterior) = (belief(set.rate.prior_um), belief(set.rate.posterior_um));
    let of = if set.carried.is_some() { "as the job works it" } else { "as now believed" };
    let mut facts = vec![fact(
        "Its rate",
        format!("{posterior} {of}, the mean over sections, after all readings; {prior} before anything was measured"),
    )];
    facts.extend(set.carried.map(|(from, transfer)| fact("Carried over", carried(from, set.with, transfer))));
    facts
}

fn carried(from: With<'_>, to: With<'_>, transfer: Transfer) -> String {
    let factor = (NINETEEN_IN_TWENTY * transfer.log_sd).exp();
    let doubt = if transfer.log_sd < 0.1 {
        "near enough to trust until the next reading"
    } else if transfer.log_sd < 0.3 {
        "doubtful: do a test spot first"
    } else {
        "very doubtful: a guess until a test spot says more"
    };
    format!(
        "{}: {:.2} times the set as the job works it, by pressure x speed x time under the pad; right to within a factor of {factor:.2}, 19 times in 20: {doubt}",
        changes(from, to).join("; "),
        transfer.ratio
    )
}

/// What differs between two uses.
fn changes(from: With<'_>, to: With<'_>) -> Vec<String> {
    let (a, b) = (from.used, to.used);
    let number =
        |from: f64, to: f64, what: &str, unit: &str| (from.total_cmp(&to).is_ne()).then(|| format!("{what} from {from} to {to}{unit}"));
    let name = |from: &str, to: &str, what: &str| {
        (from != to).then(|| format!("{what} from {} to {}", cut(from, NAME_CHARS), cut(to, NAME_CHARS)))
    };
    let changes = [
        name(&from.machine.name, &to.machine.name, "machine"),
        name(&from.pad.name, &to.pad.name, "pad"),
        number(a.load_n, b.load_n, "load", " N"),
        number(a.arm_speed_mm_s, b.arm_speed_mm_s, "arm", " mm/s"),
        number(100.0 * a.overlap, 100.0 * b.overlap, "overlap", " %"),
        number(f64::from(a.passes), f64::from(b.passes), "passes", ""),
    ];
    changes.into_iter().flatten().collect()
}

fn percent(share: f64) -> String {
    format!("{:.0}", 100.0 * share)
}

/// "40 N, the arm at 40 mm/s, strokes overlap by 50 %, 4 passes", or with the stages in place of arm and passes.
fn strokes(set: &SetWorked<'_>) -> String {
    let used = set.with.used;
    let overlap = format!("{} N, strokes overlap by {} %", used.load_n, percent(used.overlap));
    if !set.stages.is_empty() {
        let stages: Vec<String> = set.stages.iter().map(ToString::to_string).collect();
        return format!("{overlap}, in stages: {}", stages.join(", "));
    }
    let passes = if used.passes == 1 { "1 pass".to_owned() } else { format!("{} passes", used.passes) };
    format!("{overlap}, the arm at {} mm/s, {passes}", used.arm_speed_mm_s)
}

/// Machine, pad and strokes in a line.
pub(crate) fn how_worked(set: &SetWorked<'_>) -> String {
    let With { machine, pad, .. } = set.with;
    format!("{}, {}, {}", cut(&machine.name, NAME_CHARS), cut(&pad.name, NAME_CHARS), strokes(set))
}

fn minutes(seconds: f64) -> String {
    let whole = seconds.max(0.0).round();
    if whole < 60.0 { format!("{whole:.0} s") } else { format!("{:.0} min {:.0} s", (whole / 60.0).floor(), whole % 60.0) }
}

/// How warm usual panels get from a room's warmth.
pub(crate) fn heat(pass: &Pass) -> Vec<HeatLine> {
    let rise = |kelvin: f64| format!("{:.0} \u{b0}C (+{kelvin:.0})", ROOM_C + kelvin);
    let line = |w: &Warming| HeatLine {
        material: format!("{}, {} mm", w.material, w.material.usual_thickness_mm()),
        worked: rise(w.worked_k),
        held_still: rise(w.worked_k + w.held_still_k),
    };
    pass.warming.iter().map(line).collect()
}

/// What the heat calls for: while worked, and held still, in the words of the hottest material.
pub(crate) fn heat_cautions(pass: &Pass) -> Vec<String> {
    let worked = called_for(pass, "after a set, at the hot end".to_owned(), |w| (w.worked_k, w.worked));
    let held =
        called_for(pass, format!("then held still for {HELD_STILL_S} s, at the hot end"), |w| (w.worked_k + w.held_still_k, w.held_still));
    [worked, held].into_iter().flatten().collect()
}

fn called_for(pass: &Pass, when: String, of: impl Fn(&Warming) -> (f64, Option<HeatCaution>)) -> Option<String> {
    let warned: Vec<(Material, f64, HeatCaution)> = pass.warming.iter().filter_map(|w| Some((w.material, of(w).0, of(w).1?))).collect();
    let (hottest, _, caution) = warned.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let names = warned.iter().map(|(of, _, _)| of.to_string()).collect::<Vec<_>>().join(", ");
    let most = if warned.len() > 1 { format!("; {hottest} most") } else { String::new() };
    Some(format!("{when} ({names}{most}): {caution}."))
}

/// What a section leaves on the pad.
pub(crate) fn residue(pass: &Pass, stages: &[Stage], unit: Unit) -> String {
    let due = due_beyond(pass.residue, stages);
    let film_um = pass.residue.film_um;
    let after = |limit_um: f64, sections: Option<u32>, is_seen_to: bool| match sections {
        None if is_seen_to => "within every set, as its stages say".to_owned(),
        None => "not for what it takes off".to_owned(),
        Some(1) if film_um > limit_um => "before a section is done".to_owned(),
        Some(1) => "after every section".to_owned(),
        Some(sections) => format!("after {sections} sections"),
    };
    let [film, clean, change] = [film_um, CLEAN_UM, CHANGE_UM].map(|um| lastmicron_draw::in_unit_bare(um, unit));
    format!(
        "A section {} mm square puts a film of {film} {unit} on the pad's face. Clean it on the machine {}; change it for a clean, dry one {}. (Due at {clean} and {change} {unit}: common practice and judgement. Look at the pad.)",
        pass.section_mm,
        after(CLEAN_UM, due.clean_after, due.clean_after != pass.residue.clean_after),
        after(CHANGE_UM, due.change_after, due.change_after != pass.residue.change_after)
    )
}

/// Where the contact's model leaves its range; lines together, in the words of the sharpest of them.
pub(crate) fn findings(pass: &Pass) -> Vec<String> {
    let (lines, others): (Vec<&PadFinding>, Vec<&PadFinding>) =
        pass.findings.iter().partition(|found| matches!(found.seat, Seat::OnLine(_)));
    let mut sentences: Vec<String> = others.iter().map(|found| format!("{}: {}.", found.seat, found.finding)).collect();
    sentences.extend(lines.first().map(|sharpest| {
        let more = if lines.len() > 1 { format!(", and less on {} wider ones", lines.len() - 1) } else { String::new() };
        format!("{}{more}: {}.", sharpest.seat, sharpest.finding)
    }));
    sentences
}

#[cfg(test)]
mod tests {
    use expect_test::{Expect, expect};
    use lastmicron_polish::transfer::Exposure;
    use lastmicron_polish::{Pad, USUAL_SCATTER, Use};

    use super::*;

    const USED: Use = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 };

    fn machine() -> Machine {
        Machine { name: "orbital".to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4200.0, spin_rpm: 0.0 }
    }

    fn pad(diameter_mm: f64) -> Pad {
        Pad { name: format!("foam {diameter_mm}"), diameter_mm, stiffness_pa_per_m: 1.2e6, edge: PadEdge::Upright }
    }

    /// A set pressed hard on a small pad, near lines.
    fn pressed() -> Pass {
        let used = Use { load_n: 150.0, ..USED };
        Pass::of(&machine(), &pad(75.0), &used, Belief { mean: 6.0, sd: 1.0 }, USUAL_SCATTER, &[4.0, 40.0, 150.0]).unwrap()
    }

    fn said(sentences: &[String], expect: &Expect) {
        expect.assert_eq(&sentences.join("\n"));
    }

    #[test]
    fn a_pad_that_spins_not_or_against_its_orbit_is_told_so() {
        let with = |drive: Drive, spin_rpm: f64| moves(&Machine { drive, spin_rpm, ..machine() });
        assert_eq!(with(Drive::Free, 0.0), "orbit 7.5 mm from its middle, 4200 a minute, its spin stalled");
        assert!(with(Drive::Free, 200.0).ends_with("spins freely at about 200 a minute"));
        assert!(with(Drive::Forced, -300.0).ends_with("geared to spin against its orbit at 300 a minute"));
    }

    #[test]
    fn heat_is_told_once_for_all_materials_that_get_hot() {
        said(
            &heat_cautions(&pressed()),
            &expect![[r#"
                after a set, at the hot end (steel, aluminium, plastic; aluminium most): far above 60 degrees C, from which paint may soften, refinished paint and old lacquer before that; stop, and let the panel cool.
                then held still for 10 s, at the hot end (steel, aluminium, plastic; plastic most): far above 60 degrees C, from which paint may soften, refinished paint and old lacquer before that; stop, and let the panel cool."#]],
        );
    }

    #[test]
    fn lines_on_which_foam_is_squeezed_too_far_are_told_together() {
        said(
            &findings(&pressed()),
            &expect![[r#"
            flat on the panel: the foam is squeezed by 28.3 mm, more than half of the 25 mm it is assumed to be thick there: it stiffens, so that the peak is higher than this.
            over an edge: the foam is squeezed by 61.0 mm, more than half of the 25 mm it is assumed to be thick there: it stiffens, so that the peak is higher than this.
            on a line of radius 4 mm, and less on 2 wider ones: the foam is squeezed by 34.6 mm, more than half of the 25 mm it is assumed to be thick there: it stiffens, so that the peak is higher than this."#]],
        );
    }

    #[test]
    fn a_pad_that_is_full_within_a_section_is_said_to_be() {
        let told = residue(&pressed(), &[], Unit::Micrometre);
        assert!(
            told.starts_with(
                "A section 300 mm square puts a film of 122.2 um on the pad's face. Clean it on the machine before a section is done;"
            ),
            "{told}"
        );
    }

    #[test]
    fn what_was_carried_over_says_what_differs_and_how_doubtful_it_is() {
        let (machine, own, other) = (machine(), pad(140.0), pad(75.0));
        let sentence = |pad: &Pad, used: Use| {
            let [from, to] = [(&own, &USED), (pad, &used)].map(|(pad, used)| Exposure::of(&machine, pad, used).unwrap());
            let with = |pad, used| With { machine: &machine, pad, used };
            carried(with(&own, &USED), with(pad, &used), from.to(&to))
        };
        let told = [
            sentence(&own, Use { passes: 5, ..USED }),
            sentence(&own, Use { load_n: 60.0, overlap: 0.3, ..USED }),
            sentence(&other, Use { arm_speed_mm_s: 20.0, ..USED }),
        ];
        said(
            &told,
            &expect![[r#"
            passes from 4 to 5: 1.25 times the set as the job works it, by pressure x speed x time under the pad; right to within a factor of 1.04, 19 times in 20: near enough to trust until the next reading
            load from 40 to 60 N; overlap from 50 to 30 %: 1.07 times the set as the job works it, by pressure x speed x time under the pad; right to within a factor of 1.28, 19 times in 20: doubtful: do a test spot first
            pad from foam 140 to foam 75; arm from 40 to 20 mm/s: 3.73 times the set as the job works it, by pressure x speed x time under the pad; right to within a factor of 2.08, 19 times in 20: very doubtful: a guess until a test spot says more"#]],
        );
    }
}
