//! What is known of a rate under one use, carried to another use: another machine, pad, load or arm speed.
//!
//! By Preston's law removal goes with pressure x sliding distance, F v t / A; what a set takes is carried over by the ratio of these. The law is
//! not exact, so that the farther the two uses are apart, the less the ratio is believed. The polish and the paint must be the same: neither is in it.

use std::f64::consts::PI;

use crate::equipment::{Drive, Machine, Pad, Use};
use crate::motion::{Motion, MotionError};
use crate::preston::{PrestonError, above_0};
use crate::process::Belief;

/// How far removal may be from proportion to pressure, as the standard deviation of an exponent about 1. Judgement: removal of metal by a pad was
/// seen "not proportional" to pressure or speed; exponents published for polishing run from about a half to more than one. Smaller carries a
/// test spot too far, larger throws it away: at 0.3 twice the pressure is known to a fifth.
const PRESSURE_EXPONENT_SD: f64 = 0.3;

/// The same for sliding speed.
const SPEED_EXPONENT_SD: f64 = 0.3;

/// The same for the time that a place is under the pad. Judgement: the law is nearest to true in time; polish breaks down and pads fill with it.
const TIME_EXPONENT_SD: f64 = 0.1;

/// How far the rate may change with a pad's stiffness, as the standard deviation of an exponent about 0. Judgement: a pad ten times as stiff (wool,
/// fibre) is known to cut up to some times as fast at the same pressure, or no faster.
const STIFFNESS_EXPONENT_SD: f64 = 0.3;

/// Standard deviation of the rate's logarithm between two drives. Judgement: a rotary's one-way stroke and heat cut otherwise than an orbit at the
/// same speed, by some tens of per cent.
const OTHER_DRIVE_SD: f64 = 0.2;

/// Most that neighbouring strokes may overlap. Judgement: a hundred strokes in a pad's width are more than any arm lays; nearer to 1 the strokes are
/// without end, and so is the computing.
pub const MOST_OVERLAP: f64 = 0.99;

/// Least doubt of the ratio between two processes that are said to have one polish, as the standard deviation of its logarithm. Judgement: a job has two
/// processes because they differ in something, a worn pad, a wetter polish, another hand; smaller would throw away what is stated of the second.
const LEAST_TIE_SD: f64 = 0.1;

/// What removal goes with under one use: mean pressure, mean speed, and how long a set has a place under the pad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exposure {
    /// Load over the pad's area, Pa.
    pub pressure_pa: f64,
    /// Mean speed of the pad, m/s.
    pub speed_m_s: f64,
    /// Time for which a set has a place under the pad, s.
    pub covered_s: f64,
    drive: Drive,
    stiffness_pa_per_m: f64,
}

/// A rate's ratio between two uses, and the standard deviation of its logarithm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transfer {
    /// Rate under the new use over that under the old.
    pub ratio: f64,
    /// Standard deviation of the ratio's logarithm: 0 between two uses alike.
    pub log_sd: f64,
}

/// A use that removes nothing, or none.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum UseError {
    /// The machine's motion.
    #[error(transparent)]
    Motion(#[from] MotionError),
    /// The pad, load or arm.
    #[error(transparent)]
    Preston(#[from] PrestonError),
    /// The pad's stiffness.
    #[error("a stiffness of {0} Pa/m: it must be a number above 0")]
    Stiffness(f64),
    /// Overlap of neighbouring strokes.
    #[error("an overlap of {0}: it must be a share from 0 to {MOST_OVERLAP}")]
    Overlap(f64),
    /// No passes.
    #[error("a set of no passes removes nothing: it must have at least one")]
    Passes,
    /// The pad neither orbits nor spins.
    #[error("the machine moves its pad at {0} m/s: it must orbit or spin")]
    Still(f64),
}

impl Exposure {
    /// What a set has under one use: neighbouring strokes are (1 - overlap) of the pad's diameter apart, so that a pass has a place under the pad for
    /// pi R / (2 (1 - overlap) u) on the mean \[D\].
    ///
    /// # Errors
    /// [`UseError`] for a machine that stands still or is none, a pad, load or speed not above 0, no passes.
    pub fn of(machine: &Machine, pad: &Pad, used: &Use) -> Result<Self, UseError> {
        let radius_mm = above_0(pad.diameter_mm, PrestonError::Pad)? / 2.0;
        let stiffness_pa_per_m = above_0(pad.stiffness_pa_per_m, UseError::Stiffness)?;
        let load_n = above_0(used.load_n, PrestonError::Load)?;
        let arm_speed_mm_s = above_0(used.arm_speed_mm_s, PrestonError::ArmSpeed)?;
        if !(0.0..=MOST_OVERLAP).contains(&used.overlap) {
            return Err(UseError::Overlap(used.overlap));
        }
        if used.passes == 0 {
            return Err(UseError::Passes);
        }
        let motion = Motion::of(machine)?;
        motion.covered(0.0, radius_mm)?;
        Ok(Self {
            pressure_pa: load_n / (PI * (radius_mm / 1000.0).powi(2)),
            speed_m_s: above_0(motion.pad_mean(radius_mm)?.mean_m_s, UseError::Still)?,
            covered_s: f64::from(used.passes) * PI * radius_mm / (2.0 * (1.0 - used.overlap) * arm_speed_mm_s),
            drive: machine.drive,
            stiffness_pa_per_m,
        })
    }

    /// Pressure x sliding distance, mean over a section, Pa m: F v t / A. Times Preston's coefficient it is a depth.
    #[must_use]
    pub fn pa_m(&self) -> f64 {
        self.pressure_pa * self.speed_m_s * self.covered_s
    }

    /// What a rate known under this use is worth under another.
    ///
    /// Method: the ratio of pressure x sliding distance; its doubt from the distance in each part, as a logarithm, times how far the law's exponent
    /// may be wrong there, and a step for another drive, independently.
    #[must_use]
    pub fn to(&self, other: &Self) -> Transfer {
        let apart = |part: fn(&Self) -> f64| (part(other) / part(self)).ln();
        let doubts = [
            PRESSURE_EXPONENT_SD * apart(|use_| use_.pressure_pa),
            SPEED_EXPONENT_SD * apart(|use_| use_.speed_m_s),
            TIME_EXPONENT_SD * apart(|use_| use_.covered_s),
            STIFFNESS_EXPONENT_SD * apart(|use_| use_.stiffness_pa_per_m),
            if self.drive == other.drive { 0.0 } else { OTHER_DRIVE_SD },
        ];
        Transfer { ratio: other.pa_m() / self.pa_m(), log_sd: doubts.iter().map(|doubt| doubt * doubt).sum::<f64>().sqrt() }
    }
}

/// What a rate is when another's is known that it can be carried over from: `slope` x the other, and what is its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tie {
    /// How much of the other rate it has.
    pub slope: f64,
    /// The rest, um.
    pub own_um: Belief,
}

impl Transfer {
    /// What is stated of the new use's rate, tied to the old use's, of which the mean was `old_mean_um`: the stated belief and the one carried over, each by
    /// its precision \[D\]; the ratio is never surer than to a tenth. A rate that is stated as certain isn't tied.
    #[must_use]
    pub fn tie(&self, stated_um: Belief, old_mean_um: f64) -> Tie {
        let (stated, carried) = (stated_um.sd.powi(2), self.carried_sd_um(old_mean_um).powi(2));
        let weight = if stated > 0.0 { stated / (stated + carried) } else { 0.0 };
        let own_sd = if stated > 0.0 { (weight * carried).sqrt() } else { 0.0 };
        Tie { slope: weight * self.ratio, own_um: Belief { mean: (1.0 - weight) * stated_um.mean, sd: own_sd } }
    }

    /// The same ratio, less sure by another doubt of its logarithm, independently \[D\].
    #[must_use]
    pub fn doubted(self, log_sd: f64) -> Self {
        Self { log_sd: self.log_sd.hypot(log_sd), ..self }
    }

    /// Whether a stated belief and the old rate carried over, by its own belief, are more than two standard deviations apart.
    #[must_use]
    pub fn contradicts(&self, stated_um: Belief, old_um: Belief) -> bool {
        let doubt_um = stated_um.sd.hypot(self.carried_sd_um(old_um.mean)).hypot(self.ratio * old_um.sd);
        (stated_um.mean - self.ratio * old_um.mean).abs() > 2.0 * doubt_um
    }

    fn carried_sd_um(&self, old_mean_um: f64) -> f64 {
        self.ratio * old_mean_um * self.log_sd.max(LEAST_TIE_SD)
    }

    /// A belief about the old use's rate, as one about the new's: the ratio is as likely too high as too low by a factor, so that the mean lies above the
    /// product, and the doubts multiply as those of independent log-normal quantities do \[D\].
    #[must_use]
    pub fn belief(&self, old: Belief) -> Belief {
        let spread = (self.log_sd * self.log_sd).exp();
        let mean = old.mean * self.ratio * spread.sqrt();
        let of_old = if old.mean > 0.0 { (old.sd / old.mean).powi(2) } else { 0.0 };
        Belief { mean, sd: mean * ((1.0 + of_old) * spread - 1.0).max(0.0).sqrt() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::equipment::PadEdge;
    use crate::preston::Working;
    use proptest::prelude::*;

    fn orbital() -> Machine {
        Machine { name: "orbital".to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4800.0, spin_rpm: 0.0 }
    }

    fn rotary() -> Machine {
        Machine { name: "rotary".to_owned(), drive: Drive::Rotary, orbit_radius_mm: 0.0, orbits_per_minute: 0.0, spin_rpm: 1500.0 }
    }

    fn foam(diameter_mm: f64) -> Pad {
        Pad { name: "foam".to_owned(), diameter_mm, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright }
    }

    const USED: Use = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 };

    #[test]
    fn a_use_has_the_pressure_and_distance_of_the_same_work_on_a_section() {
        // [D] four passes half overlapped at 40 mm/s with 125 mm: 1,600 s a square metre
        let exposure = Exposure::of(&orbital(), &foam(125.0), &USED).unwrap();
        let seconds = 4.0 / (0.04 * 0.125 * 0.5);
        assert!((seconds - 1600.0f64).abs() < 1e-9);
        let working = Working {
            pad_diameter_mm: 125.0,
            load_n: 40.0,
            speed_m_s: exposure.speed_m_s,
            seconds: 0.25 * seconds,
            section_mm: [500.0, 500.0],
        };
        assert!((exposure.pa_m() / working.pa_m().unwrap() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_rate_is_carried_by_load_speed_and_arm() {
        // [D] twice the load at half the arm speed takes four times as much, and is known to 0.3 ln 2 and 0.1 ln 2
        let old = Exposure::of(&orbital(), &foam(125.0), &USED).unwrap();
        let new = Exposure::of(&orbital(), &foam(125.0), &Use { load_n: 80.0, arm_speed_mm_s: 20.0, ..USED }).unwrap();
        let transfer = old.to(&new);
        assert!((transfer.ratio - 4.0).abs() < 1e-12);
        assert!((transfer.log_sd - 2f64.ln() * 0.1f64.sqrt()).abs() < 1e-12);
        let belief = transfer.belief(Belief { mean: 1.0, sd: 0.2 });
        // [D] 4 exp(0.04805 / 2), and root of 1.04 exp(0.04805) - 1 of it
        assert!((belief.mean - 4.097_26).abs() < 1e-4 && (belief.sd / belief.mean - 0.301_98).abs() < 1e-4, "{belief:?}");
        // [C] standards 4.2: the mean speeds are 7.85398 and 3.769911 m/s; a pass of the same pad covers as long
        let transfer = Exposure::of(&orbital(), &foam(150.0), &USED).unwrap().to(&Exposure::of(&rotary(), &foam(150.0), &USED).unwrap());
        assert!((transfer.ratio - 7.853_98 / 3.769_911).abs() < 1e-5 && transfer.log_sd > OTHER_DRIVE_SD);
    }

    #[test]
    fn a_stated_rate_is_tied_to_the_one_carried_over_by_their_precisions() {
        let old = Exposure::of(&orbital(), &foam(125.0), &USED).unwrap();
        let twice = old.to(&Exposure::of(&orbital(), &foam(125.0), &Use { load_n: 80.0, ..USED }).unwrap());
        // [D] 1 um carried over is 2 um give or take 2 x 0.3 ln 2 = 0.416; beside 2.4 give or take 0.6 its weight is 0.36 / (0.36 + 0.173)
        let tie = twice.tie(Belief { mean: 2.4, sd: 0.6 }, 1.0);
        assert!((tie.slope - 2.0 * 0.675_5).abs() < 1e-3, "{tie:?}");
        assert!((tie.own_um.mean - 2.4 * 0.324_5).abs() < 1e-3 && (tie.own_um.sd - 0.341_8).abs() < 1e-3, "{tie:?}");
        // [D] the same use is known to a tenth: 0.36 / 0.37
        let same = old.to(&old).tie(Belief { mean: 3.0, sd: 0.6 }, 1.0);
        assert!((same.slope - 0.972_973).abs() < 1e-6 && (same.own_um.mean - 3.0 * 0.027_027).abs() < 1e-5, "{same:?}");
        assert!(old.to(&old).contradicts(Belief { mean: 3.0, sd: 0.6 }, Belief { mean: 1.0, sd: 0.2 }));
        assert!(!old.to(&old).contradicts(Belief { mean: 1.4, sd: 0.3 }, Belief { mean: 1.0, sd: 0.2 }));
        let certain = twice.tie(Belief { mean: 3.0, sd: 0.0 }, 1.0);
        assert_eq!(certain, Tie { slope: 0.0, own_um: Belief { mean: 3.0, sd: 0.0 } });
    }

    #[test]
    fn a_use_that_removes_nothing_is_refused() {
        let said = |machine: Machine, pad: Pad, used: Use| Exposure::of(&machine, &pad, &used).unwrap_err().to_string();
        assert!(said(orbital(), foam(125.0), Use { load_n: 0.0, ..USED }).starts_with("a load of 0 N"));
        assert!(said(orbital(), foam(125.0), Use { passes: 0, ..USED }).starts_with("a set of no passes"));
        assert!(said(orbital(), foam(125.0), Use { overlap: 1.0, ..USED }).starts_with("an overlap of 1"));
        assert!(said(orbital(), foam(125.0), Use { arm_speed_mm_s: -1.0, ..USED }).starts_with("an arm speed of -1"));
        assert!(said(orbital(), foam(10.0), USED).starts_with("an orbit of radius 7.5 mm under a pad of radius 5 mm"));
        assert!(said(orbital(), foam(f64::NAN), USED).starts_with("a pad of NaN mm"));
        assert!(said(orbital(), Pad { stiffness_pa_per_m: 0.0, ..foam(125.0) }, USED).starts_with("a stiffness of 0"));
        assert!(said(Machine { orbits_per_minute: 0.0, ..orbital() }, foam(125.0), USED).starts_with("the machine moves its pad at 0 m/s"));
    }

    proptest! {
        #[test]
        fn there_and_back_is_the_same_rate_and_farther_is_less_sure(
            load in 10.0..100.0f64, other_load in 10.0..100.0f64, arm in 10.0..200.0f64, diameter in 30.0..180.0f64, more in 1.05..3.0f64,
        ) {
            let old = Exposure::of(&orbital(), &foam(125.0), &Use { load_n: load, ..USED }).unwrap();
            let new = |load_n| Exposure::of(&rotary(), &foam(diameter), &Use { load_n, arm_speed_mm_s: arm, ..USED }).unwrap();
            let (there, back) = (old.to(&new(other_load)), new(other_load).to(&old));
            prop_assert!((there.ratio * back.ratio - 1.0).abs() < 1e-12 && (there.log_sd - back.log_sd).abs() < 1e-12);
            prop_assert_eq!(old.to(&old), Transfer { ratio: 1.0, log_sd: 0.0 });
            // Away from the old pressure, each step adds doubt.
            let (near, far) = (old.pressure_pa * new(1.0).pressure_pa.recip() * more, more * more);
            prop_assert!(old.to(&new(near * far)).log_sd > old.to(&new(near)).log_sd);
        }
    }
}
