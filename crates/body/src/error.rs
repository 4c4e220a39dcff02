//! Why dimensions make no body.

use crate::dimensions::Measure;
use crate::kind::Kind;

/// Why there is no body of these dimensions.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum BodyError {
    /// One dimension is beyond what the kind has, or no number.
    #[error("{} is {value_mm} mm: a {} has {least_mm} to {most_mm} mm", .measure.name(*.kind), .kind.name())]
    Beyond {
        /// Of which body.
        kind: Kind,
        /// Which dimension.
        measure: Measure,
        /// What was asked for.
        value_mm: f64,
        /// The least there may be.
        least_mm: f64,
        /// The most there may be.
        most_mm: f64,
    },
    /// Each dimension may be, but not all together.
    #[error("these dimensions leave {mm:.0} mm for {part}, which takes at least {least_mm:.0} mm: check {}", words(.check, *.kind))]
    NoRoom {
        /// Of which body.
        kind: Kind,
        /// For what there is no room.
        part: &'static str,
        /// What is left for it.
        mm: f64,
        /// What it takes.
        least_mm: f64,
        /// The dimensions that decide.
        check: [Measure; 3],
    },
    /// Each dimension may be, but not all together.
    #[error("these dimensions make {mm:.0} mm of {part}, which is at most {most_mm:.0} mm: check {}", words(.check, *.kind))]
    TooMuch {
        /// Of which body.
        kind: Kind,
        /// Of what there is too much.
        part: &'static str,
        /// How much there would be.
        mm: f64,
        /// The most there may be.
        most_mm: f64,
        /// The dimensions that decide.
        check: [Measure; 3],
    },
}

fn words(measures: &[Measure; 3], kind: Kind) -> String {
    let [a, b, c] = measures.map(|m| m.name(kind));
    format!("{a}, {b} and {c}")
}

/// Asks for room on a kind of body.
#[derive(Clone, Copy)]
pub(crate) struct Room(pub(crate) Kind);

impl Room {
    pub(crate) fn at_least(self, least_mm: f64, part: &'static str, mm: f64, check: [Measure; 3]) -> Result<(), BodyError> {
        if mm >= least_mm { Ok(()) } else { Err(BodyError::NoRoom { kind: self.0, part, mm, least_mm, check }) }
    }

    pub(crate) fn at_most(self, most_mm: f64, part: &'static str, mm: f64, check: [Measure; 3]) -> Result<(), BodyError> {
        if mm <= most_mm { Ok(()) } else { Err(BodyError::TooMuch { kind: self.0, part, mm, most_mm, check }) }
    }
}
