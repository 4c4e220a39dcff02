//! Machines and pads in general terms, as ranges, for those who know what stands in their hand but not its numbers. No maker's names, series or codes.
//!
//! Every range is a judgement or common practice, without a source: measure the spin under load (a mark on the pad, a phone's slow motion), weigh the
//! load on a scale, and press the pad on one to have its stiffness.

use crate::equipment::{Drive, Machine, Pad, PadEdge};

/// How a range is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// What the trade does, no source.
    CommonPractice,
    /// Reasoned, no source.
    Judgement,
}

/// A range, and how it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// Smallest usual.
    pub low: f64,
    /// Largest usual.
    pub high: f64,
    /// How it is known.
    pub known: Known,
}

/// A kind of machine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MachineKind {
    /// What it is called in general.
    pub name: &'static str,
    /// How it moves its pad.
    pub drive: Drive,
    /// Radius of the orbit (half of the throw), mm.
    pub orbit_radius_mm: Range,
    /// Orbits a minute.
    pub orbits_per_minute: Range,
    /// Turns of the pad a minute under load; below 0 against the orbit.
    pub spin_rpm: Range,
    /// Diameters of its pads, mm.
    pub pad_mm: Range,
    /// What it is taken for.
    pub used_for: &'static str,
}

/// A kind of pad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PadKind {
    /// What it is called in general.
    pub name: &'static str,
    /// Stiffness, Pa/m.
    pub stiffness_pa_per_m: Range,
    /// What it is taken for.
    pub used_for: &'static str,
}

/// A shape of a pad's rim, and what it is taken for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RimKind {
    /// The shape.
    pub edge: PadEdge,
    /// What it does at edges and lines.
    pub used_for: &'static str,
}

const fn practice(low: f64, high: f64) -> Range {
    Range { low, high, known: Known::CommonPractice }
}

const fn judged(low: f64, high: f64) -> Range {
    Range { low, high, known: Known::Judgement }
}

/// Overlap of neighbouring strokes where none is stated. Common practice, no source: half.
pub const USUAL_OVERLAP: f64 = 0.5;

/// Passes of one set where none are stated. Common practice, no source: two along and two across.
pub const USUAL_PASSES: u32 = 4;

impl Range {
    /// Its middle.
    #[must_use]
    pub fn middle(&self) -> f64 {
        0.5 * (self.low + self.high)
    }

    /// Standard deviation of the logarithm of a number that may be anywhere in it: its width as a logarithm over the root of 12 \[D\]; 0 for a range
    /// that reaches nothing or less.
    #[must_use]
    pub fn log_sd(&self) -> f64 {
        if self.low > 0.0 { (self.high / self.low).ln() / 12f64.sqrt() } else { 0.0 }
    }
}

impl MachineKind {
    /// A machine with the middle of every range.
    #[must_use]
    pub fn machine(&self) -> Machine {
        Machine {
            name: self.name.to_owned(),
            drive: self.drive,
            orbit_radius_mm: self.orbit_radius_mm.middle(),
            orbits_per_minute: self.orbits_per_minute.middle(),
            spin_rpm: self.spin_rpm.middle(),
        }
    }

    /// Standard deviation of the logarithm of the pad's speed, for all that is known of the machine is its kind: orbit and orbits a minute, or the
    /// spin of a rotary, which the speed goes with.
    #[must_use]
    pub fn speed_log_sd(&self) -> f64 {
        match self.drive {
            Drive::Free | Drive::Forced => self.orbit_radius_mm.log_sd().hypot(self.orbits_per_minute.log_sd()),
            Drive::Rotary => self.spin_rpm.log_sd(),
        }
    }
}

impl PadKind {
    /// A pad of a size and rim with the middle of its stiffness.
    #[must_use]
    pub fn pad(&self, diameter_mm: f64, edge: PadEdge) -> Pad {
        Pad { name: self.name.to_owned(), diameter_mm, stiffness_pa_per_m: self.stiffness_pa_per_m.middle(), edge }
    }
}

/// Kinds of machines. A free pad's spin falls with load, on curves and with a pad that sits askew, down to nothing: its range is the least known.
pub const MACHINES: [MachineKind; 6] = [
    MachineKind {
        name: "large free-spinning orbital",
        drive: Drive::Free,
        orbit_radius_mm: practice(7.5, 10.5),
        orbits_per_minute: practice(2000.0, 5000.0),
        spin_rpm: judged(0.0, 500.0),
        pad_mm: practice(125.0, 180.0),
        used_for: "flats and gentle crowns",
    },
    MachineKind {
        name: "small free-spinning orbital",
        drive: Drive::Free,
        orbit_radius_mm: practice(4.0, 7.5),
        orbits_per_minute: practice(3000.0, 6000.0),
        spin_rpm: judged(0.0, 600.0),
        pad_mm: practice(75.0, 100.0),
        used_for: "pillars, bumpers, panels broken up by lines",
    },
    MachineKind {
        name: "very small orbital",
        drive: Drive::Free,
        orbit_radius_mm: practice(1.5, 6.0),
        orbits_per_minute: practice(3000.0, 8000.0),
        spin_rpm: judged(0.0, 800.0),
        pad_mm: practice(25.0, 50.0),
        used_for: "round badges, in jambs, between lines",
    },
    MachineKind {
        name: "forced-rotation orbital",
        drive: Drive::Forced,
        orbit_radius_mm: practice(4.0, 7.5),
        orbits_per_minute: practice(2500.0, 5000.0),
        spin_rpm: judged(-500.0, 500.0),
        pad_mm: practice(125.0, 150.0),
        used_for: "curves on which a free pad stalls",
    },
    MachineKind {
        name: "rotary",
        drive: Drive::Rotary,
        orbit_radius_mm: practice(0.0, 0.0),
        orbits_per_minute: practice(0.0, 0.0),
        spin_rpm: practice(600.0, 2000.0),
        pad_mm: practice(125.0, 180.0),
        used_for: "heavy correction by a practised hand",
    },
    MachineKind {
        name: "very small rotary",
        drive: Drive::Rotary,
        orbit_radius_mm: practice(0.0, 0.0),
        orbits_per_minute: practice(0.0, 0.0),
        spin_rpm: practice(800.0, 3000.0),
        pad_mm: practice(25.0, 80.0),
        used_for: "small places without a line in them",
    },
];

/// Kinds of pads by stiffness. About: 25 mm of foam with a modulus of 60 kPa has 2.4e6 Pa/m (from memory, illustrative); the rest in proportion.
pub const PADS: [PadKind; 5] = [
    PadKind { name: "very soft foam", stiffness_pa_per_m: judged(0.8e6, 1.6e6), used_for: "finishing soft paint" },
    PadKind { name: "soft foam", stiffness_pa_per_m: judged(1.6e6, 3.2e6), used_for: "finishing, one-step work on soft paint" },
    PadKind { name: "medium foam", stiffness_pa_per_m: judged(3.2e6, 6.0e6), used_for: "one-step work" },
    PadKind { name: "firm foam", stiffness_pa_per_m: judged(6.0e6, 12.0e6), used_for: "cutting on flats" },
    PadKind { name: "short fibre or wool on thin foam", stiffness_pa_per_m: judged(10.0e6, 40.0e6), used_for: "heavy cutting on flats" },
];

/// Rims.
pub const RIMS: [RimKind; 2] = [
    RimKind { edge: PadEdge::Upright, used_for: "up to lines and edges: it keeps its thickness to the rim" },
    RimKind { edge: PadEdge::Tapered, used_for: "flats: over a line or an edge its thin rim folds and cuts" },
];

#[cfg(test)]
mod tests {
    use super::*;

    use crate::motion::Motion;

    #[test]
    fn every_kind_of_machine_can_move_every_pad_it_is_said_to_take() {
        for kind in MACHINES {
            for orbit_mm in [kind.orbit_radius_mm.low, kind.orbit_radius_mm.high] {
                for spin_rpm in [kind.spin_rpm.low, kind.spin_rpm.high] {
                    let motion = Motion::new(orbit_mm, kind.orbits_per_minute.high, spin_rpm).unwrap();
                    assert!(motion.covered(0.0, kind.pad_mm.low / 2.0).is_ok(), "{}", kind.name);
                    assert!(motion.pad_mean(kind.pad_mm.high / 2.0).unwrap().mean_m_s > 0.0, "{}", kind.name);
                }
            }
            assert_eq!(kind.drive == Drive::Rotary, kind.orbit_radius_mm.high <= 0.0, "{}", kind.name);
        }
    }

    #[test]
    fn a_machine_of_a_kind_is_as_unsure_as_its_ranges() {
        // [D] 7.5 to 10.5 mm and 2,000 to 5,000 a minute: the middles, and ln 1.4 and ln 2.5 over the root of 12, together.
        let machine = MACHINES[0].machine();
        assert!((machine.orbit_radius_mm - 9.0).abs() < 1e-12 && (machine.orbits_per_minute - 3500.0).abs() < 1e-9);
        assert!((MACHINES[0].speed_log_sd() - (1.4f64.ln().powi(2) + 2.5f64.ln().powi(2)).sqrt() / 12f64.sqrt()).abs() < 1e-12);
        // [D] a rotary's 600 to 2,000 turns
        assert!((MACHINES[4].speed_log_sd() - (2000.0f64 / 600.0).ln() / 12f64.sqrt()).abs() < 1e-12);
        assert!(MACHINES.iter().all(|kind| kind.machine().name == kind.name && kind.speed_log_sd() > 0.0));
        let pad = PADS[1].pad(140.0, PadEdge::Tapered);
        assert!((pad.stiffness_pa_per_m - 2.4e6).abs() < 1e-6 && pad.edge == PadEdge::Tapered);
    }

    #[test]
    fn every_range_runs_upwards_and_every_name_stands_once() {
        let mut ranges: Vec<Range> = PADS.iter().map(|kind| kind.stiffness_pa_per_m).collect();
        ranges.extend(MACHINES.iter().flat_map(|kind| [kind.orbit_radius_mm, kind.orbits_per_minute, kind.spin_rpm, kind.pad_mm]));
        assert!(ranges.iter().all(|range| range.low <= range.high && range.high.is_finite()));
        let mut names: Vec<&str> = MACHINES.iter().map(|kind| kind.name).chain(PADS.iter().map(|kind| kind.name)).collect();
        let count = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), count);
        assert!(PADS.windows(2).all(|pair| pair[0].stiffness_pa_per_m.low < pair[1].stiffness_pa_per_m.low));
    }
}
