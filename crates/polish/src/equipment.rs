//! Machines and pads, and how a process uses them.

use crate::stage::Stage;

/// How a machine moves its pad.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drive {
    /// Orbits, and spins as friction lets it.
    Free,
    /// Orbits, and is geared to spin.
    Forced,
    /// Spins about a fixed axis.
    Rotary,
}

/// A machine.
#[derive(Clone, Debug, PartialEq)]
pub struct Machine {
    /// Its name, unique in the job.
    pub name: String,
    /// How it moves its pad.
    pub drive: Drive,
    /// Half of what is usually called the throw, mm; 0 for a rotary.
    pub orbit_radius_mm: f64,
    /// Orbits a minute; 0 for a rotary.
    pub orbits_per_minute: f64,
    /// Turns of the pad a minute under load.
    pub spin_rpm: f64,
}

/// Side of a section, mm. Common practice, no source: some 450 mm square, what one application of polish keeps wet.
pub const SECTION_MM: f64 = 450.0;

/// Side of a section in diameters of the pad, where that is less. Judgement: with a pad of 25 mm some 100 mm square are worked at once, round a badge or
/// in a jamb; larger would spread its heat and its residue over what it never covers in one go.
const SECTION_IN_PADS: f64 = 4.0;

/// The shape of a pad's rim.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PadEdge {
    /// Full thickness out to the rim.
    Upright,
    /// Thinner towards the rim.
    Tapered,
}

/// A pad.
#[derive(Clone, Debug, PartialEq)]
pub struct Pad {
    /// Its name, unique in the job.
    pub name: String,
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Pressure for each metre of squeeze, Pa/m.
    pub stiffness_pa_per_m: f64,
    /// The shape of its rim.
    pub edge: PadEdge,
}

impl Pad {
    /// Side of the square that is worked with it at once, mm; no less than its own diameter.
    #[must_use]
    pub fn section_mm(&self) -> f64 {
        SECTION_MM.min(SECTION_IN_PADS * self.diameter_mm).max(self.diameter_mm)
    }
}

/// How a process uses a machine and a pad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Use {
    /// Index of the machine.
    pub machine: usize,
    /// Index of the pad.
    pub pad: usize,
    /// Load on the pad, N.
    pub load_n: f64,
    /// Speed of the arm, mm/s.
    pub arm_speed_mm_s: f64,
    /// Share of the pad's width by which neighbouring strokes overlap.
    pub overlap: f64,
    /// Passes of one set.
    pub passes: u32,
}

/// Machines, pads, and how the processes of a job use them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Equipment {
    /// The machines.
    pub machines: Vec<Machine>,
    /// The pads.
    pub pads: Vec<Pad>,
    /// A use for each of the job's processes, where one is stated; may be shorter than the processes.
    pub uses: Vec<Option<Use>>,
    /// Stages of one set of each process, none where it is worked in one go; may be shorter than the processes. The use of a process with stages
    /// has their passes together ([`together`](crate::stage::together)).
    pub stages: Vec<Vec<Stage>>,
    /// Name of the polish of each process, where it is stated; may be shorter than the processes. One polish on one paint has one Preston coefficient.
    pub polishes: Vec<Option<String>>,
}

impl Equipment {
    /// The use of a process, with its machine and pad; none where it states none.
    #[must_use]
    pub fn of(&self, process: usize) -> Option<(&Machine, &Pad, &Use)> {
        let used = self.uses.get(process)?.as_ref()?;
        Some((self.machines.get(used.machine)?, self.pads.get(used.pad)?, used))
    }

    /// Processes before this one that are used with the same polish: what they take tells what this one takes.
    pub fn before_with_same_polish(&self, process: usize) -> impl Iterator<Item = usize> + '_ {
        let polish = move |process: usize| self.polishes.get(process)?.as_deref().filter(|_| self.of(process).is_some());
        let own = polish(process);
        (0..process).filter(move |&other| own.is_some() && polish(other) == own)
    }

    /// Stages of one set of a process; none where it is worked in one go.
    #[must_use]
    pub fn stages_of(&self, process: usize) -> &[Stage] {
        self.stages.get(process).map_or(&[], Vec::as_slice)
    }
}
