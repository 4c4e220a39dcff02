//! Kinds of machines and pads, listed.

use lastmicron_polish::PadEdge;
use lastmicron_polish::library::{Known, MACHINES, MachineKind, PADS, RIMS, Range};

use crate::plan_text::wrapped;

/// The library in a screen.
pub(super) fn text() -> String {
    let mut text = String::from("Machines\n");
    for kind in &MACHINES {
        text += &wrapped(&machine(kind), "  ", "      ");
    }
    text += "\nPads\n";
    for kind in &PADS {
        let stiffness =
            range(Range { low: kind.stiffness_pa_per_m.low / 1e6, high: kind.stiffness_pa_per_m.high / 1e6, ..kind.stiffness_pa_per_m });
        text += &wrapped(&format!("{}: {stiffness} kPa a mm of squeeze. For {}.", kind.name, kind.used_for), "  ", "      ");
    }
    text += "\nRims\n";
    for kind in &RIMS {
        let name = match kind.edge {
            PadEdge::Upright => "upright",
            PadEdge::Tapered => "tapered",
        };
        text += &wrapped(&format!("{name}: for {}.", kind.used_for), "  ", "      ");
    }
    text += "\n";
    text += &wrapped(
        "All ranges are usual ones, common practice without a source; those marked * are judged. Measure the spin under load (a mark on the pad, a phone's slow motion), weigh the load on a scale, press the pad on one for its stiffness.",
        "",
        "",
    );
    text
}

fn machine(kind: &MachineKind) -> String {
    let spin = range(kind.spin_rpm);
    let moves = if kind.orbit_radius_mm.high > 0.0 {
        let (orbit, orbits) = (range(kind.orbit_radius_mm), range(kind.orbits_per_minute));
        format!("orbit of radius {orbit} mm, {orbits} a minute; spins at {spin} a minute under load")
    } else {
        format!("spins at {spin} a minute")
    };
    format!("{}: {moves}; pads of {} mm. For {}.", kind.name, range(kind.pad_mm), kind.used_for)
}

/// "7.5 to 10.5", with a star where it is judged.
fn range(of: Range) -> String {
    let star = match of.known {
        Known::CommonPractice => "",
        Known::Judgement => "*",
    };
    format!("{} to {}{star}", of.low, of.high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_stands_in_the_list_within_eighty_columns() {
        let text = text();
        for name in MACHINES.iter().map(|kind| kind.name).chain(PADS.iter().map(|kind| kind.name)) {
            assert!(text.contains(&format!("  {name}: ")), "{name}");
        }
        assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    }
}
