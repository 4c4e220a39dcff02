//! A process, and what is believed of its removal before anything was measured.

/// Somebody's belief about a quantity: Student's t with 4 degrees of freedom, centred on `mean`, scale `sd`.
///
/// Stated beliefs are wrong by more than their sd oftener than a normal law allows, hence the heavy tail.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    /// Centre.
    pub mean: f64,
    /// Scale.
    pub sd: f64,
}

/// How easily a topcoat marks, not how fast it cuts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Hardness {
    /// Marks from a dry cloth.
    VerySoft,
    /// Marks from careless wiping.
    Soft,
    /// As most.
    Medium,
    /// Resists most wiping marks.
    Hard,
    /// Resists even harsh washing.
    VeryHard,
}

/// One machine, pad and polish used one way.
#[derive(Clone, Debug, PartialEq)]
pub struct Process {
    /// Its name, unique in the job.
    pub name: String,
    /// Film that one set takes in the middle of a section, um.
    pub removal_um: Belief,
    /// Time of one set, minutes a square metre.
    pub minutes_per_m2: f64,
    /// Index of the process that must come after it, when one must.
    pub followed_by: Option<usize>,
    /// Share of new defects that one set leaves.
    pub marks: Option<Belief>,
}

/// How much a panel and a section differ from the rate of a process, as shares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scatter {
    /// Standard deviation from panel to panel.
    pub panel: f64,
    /// Standard deviation from section to section.
    pub section: f64,
}

/// Extra removal near an edge: the middle's times `1 + gain * exp(-distance / (reach / 2))`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeGain {
    /// Gain at the very edge.
    pub gain: Belief,
    /// Distance over which it falls off, mm.
    pub reach_mm: f64,
}

/// Sets of one process.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Step {
    /// Index of the process in the job.
    pub process: usize,
    /// How many sets.
    pub sets: u32,
}
