//! What a pad takes near edges and body lines, over what it takes in the middle; and how evenly it takes in the middle.
//!
//! A place is compared with the middle at equal time under the pad: whoever works up to an edge or over a line goes on until it looks like
//! the rest. What then differs is the pressure there, and the part of the pad that comes there with its speed:
//! The gain at a distance is the time mean of pressure x speed there over the same in the middle, less 1.
//!
//! Source: Preston's law and the elastic foundation of [`crate::contact`] \[D\]. Weak: how far a hand lets the rim go over an edge, how it holds the
//! machine, how sharply a line turns and where a stroke falls on it are not known, and stand as judged ranges in the standard deviation; so
//! does what the contact itself may be wrong by.

mod chords;
mod edge;
mod line;

use chords::Chords;

use crate::contact::{ContactError, Surface, press};
use crate::equipment::{Machine, Pad, Use};
use crate::motion::MotionError;
use crate::process::{Belief, EdgeGain};
use crate::table::between;
use crate::transfer::{Exposure, UseError};

pub use edge::MOST_OVERHANG;
pub use line::TURNS_DEG;

/// How far the contact's pressure may be wrong, as a share of the gain. Judgement: foam creeps, stiffens and wraps, and pressures are an order; smaller
/// trusts a bed of springs with what it leaves out, larger would make machine and pad worth nothing beside a guess.
const CONTACT_DOUBT: f64 = 0.3;

/// Smallest gain handed on: below it an edge is the middle, and a reach would be noise. Judgement: a fiftieth is lost in any section's scatter.
const LEAST_GAIN: f64 = 0.02;

/// Distances at which a profile is worked out, in steps of the pad's radius: out to two radii, beyond which neither edge nor line is felt.
const STEPS_A_RADIUS: u32 = 24;

/// What a pad takes at distances from an edge or a line, less 1, when the middle is 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Profile {
    /// Distances from the edge or line, mm, in equal steps from 0.
    pub distances_mm: Vec<f64>,
    /// Mean gain at each.
    pub mean: Vec<f64>,
    /// Its standard deviation at each: of hands, lines and strokes, and of the model.
    pub sd: Vec<f64>,
}

/// A gain that can't be computed.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum NearError {
    /// A use that removes nothing, or none.
    #[error(transparent)]
    Use(#[from] UseError),
    /// The motion.
    #[error(transparent)]
    Motion(#[from] MotionError),
    /// The contact.
    #[error(transparent)]
    Contact(#[from] ContactError),
}

/// One use of a machine and a pad, ready to be asked what it takes where.
pub struct Near<'u> {
    pad: &'u Pad,
    used: &'u Use,
    chords: Chords,
    /// Pressure x sliding by chord on a flat panel.
    flat: Vec<f64>,
    /// Squeeze of the foam there, mm.
    flat_mm: f64,
    /// Pressure x speed in the middle of a section.
    middle: f64,
}

impl<'u> Near<'u> {
    /// The pad's chords, with what each takes on a flat panel.
    ///
    /// # Errors
    /// [`NearError`] for a machine, pad or use that can't be worked with.
    pub fn of(machine: &Machine, pad: &'u Pad, used: &'u Use) -> Result<Self, NearError> {
        Exposure::of(machine, pad, used)?;
        let chords = Chords::of(machine, pad)?;
        let contact = press(pad, used.load_n, Surface::Flat)?;
        let flat = chords.slid(|x, y| contact.pressure_pa(x, y));
        let middle = chords.mean(&flat);
        Ok(Self { pad, used, chords, flat, flat_mm: contact.indent_mm(), middle })
    }

    /// The gain near an edge that the pad's rim goes over by 0 to [`MOST_OVERHANG`] of its radius, held anyhow between square and tilting freely.
    ///
    /// Method: strokes along the edge, the outermost with its rim over it, the others as far apart as the overlap says; time means over all of
    /// them, by sums over the pad's chords. Valid for a panel wider than the pad.
    ///
    /// # Errors
    /// [`NearError::Contact`] for a pad or load too extreme to compute with.
    ///
    /// ```
    /// use lastmicron_polish::near::Near;
    /// use lastmicron_polish::{Drive, Machine, Pad, PadEdge, Use};
    /// let machine = Machine { name: "orbital".into(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4200.0, spin_rpm: 0.0 };
    /// let pad = Pad { name: "soft".into(), diameter_mm: 140.0, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright };
    /// let used = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 };
    /// let gain = Near::of(&machine, &pad, &used).unwrap().edge().unwrap().gain();
    /// assert!((gain.gain.mean - 0.25).abs() < 0.01);
    /// ```
    pub fn edge(&self) -> Result<Profile, NearError> {
        edge::profile(self)
    }

    /// The gain near a body line of a radius, wherever strokes fall on it, where the line turns the panel by one of [`TURNS_DEG`].
    ///
    /// Method: the pad tilts freely over the bend, its load about its middle; half of the passes cross the line at every place, half run along it
    /// at a distance that nobody knows. Valid for one line within a pad's width.
    ///
    /// # Errors
    /// [`NearError::Contact`] for a radius that is none, or a pad or load too extreme to compute with.
    pub fn line(&self, radius_mm: f64) -> Result<Profile, NearError> {
        line::profile(self, radius_mm)
    }

    /// How evenly strokes take in the middle of a section: the standard deviation of the depth over its mean, from place to place.
    ///
    /// Method: strokes side by side without end, as far apart as the overlap says; half of the passes cross the others \[D\].
    #[must_use]
    pub fn unevenness(&self) -> f64 {
        let along = f64::from(self.used.passes.div_ceil(2));
        let across = f64::from(self.used.passes / 2);
        self.chords.ripple(&self.flat, self.apart_mm()) * along.hypot(across) / (along + across)
    }

    /// Distance between neighbouring strokes, mm.
    fn apart_mm(&self) -> f64 {
        self.pad.diameter_mm * (1.0 - self.used.overlap)
    }
}

impl Profile {
    /// Distances at which profiles of a pad are worked out, mm.
    fn distances_mm(pad: &Pad) -> impl Iterator<Item = f64> {
        let step_mm = pad.diameter_mm / 2.0 / f64::from(STEPS_A_RADIUS);
        (0..=2 * STEPS_A_RADIUS).map(move |i| f64::from(i) * step_mm)
    }

    /// Of a sample for each distance, with what the contact may be wrong by.
    fn of(pad: &Pad, samples: Vec<Sample>) -> Self {
        let sd = |s: &Sample| s.variance.max(0.0).sqrt().hypot(CONTACT_DOUBT * s.mean);
        Self {
            distances_mm: Self::distances_mm(pad).collect(),
            sd: samples.iter().map(sd).collect(),
            mean: samples.into_iter().map(|s| s.mean).collect(),
        }
    }

    /// The gain at a distance, mm: linear between those worked out, the last one's beyond them.
    #[must_use]
    pub fn at(&self, distance_mm: f64) -> Belief {
        let share = self.distances_mm.last().map_or(0.0, |last_mm| distance_mm / last_mm).clamp(0.0, 1.0);
        Belief { mean: between(&self.mean, share), sd: between(&self.sd, share) }
    }

    /// The profile as the plan has it: its highest mean, with the standard deviation there, both falling off as exp(-distance / (reach / 2)) so that
    /// the two together come to the same over distance, and not further than the profile goes: where hardly anything is gained on average but much
    /// is doubted, the doubt further in would reach over the panel. A gain below nothing, where the pad presses less than in the middle, isn't
    /// counted on.
    #[must_use]
    pub fn gain(&self) -> EdgeGain {
        let at = (0..self.mean.len()).max_by(|a, b| self.mean[*a].total_cmp(&self.mean[*b])).unwrap_or(0);
        let (mean, sd) = (self.mean[at].max(LEAST_GAIN), self.sd[at]);
        let step_mm = self.distances_mm[1] - self.distances_mm[0];
        let felt: Vec<f64> = self.mean.iter().zip(&self.sd).map(|(mean, sd)| mean.max(0.0) + sd).collect();
        // Trapezes.
        let area_mm = step_mm * (felt.iter().sum::<f64>() - 0.5 * (felt[0] + felt[felt.len() - 1]));
        let last_mm = self.distances_mm[self.distances_mm.len() - 1];
        EdgeGain { gain: Belief { mean, sd }, reach_mm: (2.0 * area_mm / (mean + sd)).clamp(step_mm, last_mm) }
    }
}

/// Mean and variance of a gain over what is not known.
#[derive(Clone, Copy, Debug, Default)]
struct Sample {
    mean: f64,
    variance: f64,
}

#[cfg(test)]
mod tests;
