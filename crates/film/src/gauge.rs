//! A film gauge: how wrong its readings may be.

pub mod accuracy;
pub mod adjustment;
pub mod areas;
pub mod reach;
pub mod repeats;
pub mod study;

/// What a gauge can read through the film.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Substrate {
    /// Bare steel under the paint.
    Steel,
    /// Zinc-coated steel: a magnetic gauge counts the zinc as film.
    Galvanised,
    /// Aluminium: read by eddy current.
    Aluminium,
    /// Plastic or composite: neither a magnetic nor an eddy-current gauge reads it.
    Plastic,
    /// Not stated.
    Unknown,
}

/// Which film a reading shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Layer {
    /// Everything on the substrate.
    Total,
    /// A place without topcoat but with primers.
    Undercoat,
    /// The topcoat alone, from a gauge that tells layers apart.
    Topcoat,
}

/// A gauge and its accuracy statement, +-(`fixed_um` + `percent` of the reading): offset and gain independent, each rectangular.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    /// Empty for the job's first gauge.
    pub name: String,
    /// Half-width of the offset, um.
    pub fixed_um: f64,
    /// Half-width of the gain, percent of the reading.
    pub percent: f64,
    /// Standard deviation of repeats at one place, um.
    pub repeatability_um: f64,
    /// The display's step, um; 0 when not stated.
    pub resolution_um: f64,
    /// A clean protective film left under the probe, um: subtracted from every reading.
    pub through_um: f64,
}
