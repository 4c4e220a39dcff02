//! What passes both ways leave at a place of a rectangle, for one use of a machine and a pad.

use super::edge::{Border, BorderProfile};
use super::rubbing::Rubbing;
use super::table::Table;
use super::{ALONG, Hand, PhysicsError, strokes};

/// One axis of a rectangle, and a place on it, mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Axis {
    pub(super) at_mm: f64,
    pub(super) size_mm: f64,
    /// At its low and at its high end.
    pub(super) ends: [End; 2],
    /// Where strokes fall on this axis, where that is known.
    pub(super) phase: Option<f64>,
}

/// What strokes meet at an end of an axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum End {
    /// Nothing: they don't come there.
    Far,
    /// The panel's edge.
    Edge,
    /// Tape, up to so far from the edge.
    Tape {
        /// Width, mm.
        mm: f64,
    },
}

/// What the passes along the two ends of an axis, and those that end there, leave of the middle.
#[derive(Clone, Copy, Debug)]
pub(super) struct Passes {
    pub(super) along: f64,
    pub(super) ends: f64,
}

/// What a use leaves near borders and in the middle.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct UseTruth {
    pub(super) radius_mm: f64,
    felt_mm: f64,
    edge: BorderProfile,
    tape: BorderProfile,
    ripple: Table,
}

impl End {
    /// An edge that is kept off by so much, or worked.
    pub(super) fn of(kept_off_mm: Option<f64>) -> Self {
        kept_off_mm.map_or(Self::Edge, |mm| Self::Tape { mm })
    }
}

impl UseTruth {
    pub(super) fn of(rubbing: &Rubbing<'_>, hand: Hand) -> Result<Self, PhysicsError> {
        Ok(Self {
            radius_mm: rubbing.radius_mm,
            felt_mm: BorderProfile::felt_mm(rubbing),
            edge: BorderProfile::of(rubbing, hand, Border::Edge)?,
            tape: BorderProfile::of(rubbing, hand, Border::Tape)?,
            ripple: strokes::ripple(rubbing),
        })
    }

    /// Near an end of the axis what strokes leave there, the nearer end's; elsewhere strokes side by side.
    pub(super) fn passes(&self, axis: Axis) -> Passes {
        let to_ends_mm = [axis.at_mm, axis.size_mm - axis.at_mm];
        let [low, high] = [0, 1].map(|i| match axis.ends[i] {
            End::Far => (f64::INFINITY, &self.edge),
            End::Edge => (to_ends_mm[i], &self.edge),
            End::Tape { mm } => (to_ends_mm[i] - mm, &self.tape),
        });
        let (distance_mm, profile) = if high.0 < low.0 { high } else { low };
        if distance_mm < self.felt_mm {
            profile.at(distance_mm)
        } else {
            let even = axis.phase.map_or(1.0, |phase| strokes::at(&self.ripple, phase, axis.at_mm));
            Passes { along: ALONG * even, ends: 1.0 - ALONG }
        }
    }

    /// What is left at a distance from tape that runs anyhow, in times the middle.
    pub(super) fn beside_tape(&self, distance_mm: f64) -> f64 {
        if distance_mm < self.felt_mm {
            let Passes { along, ends } = self.tape.at(distance_mm);
            along + ends
        } else {
            1.0
        }
    }
}
