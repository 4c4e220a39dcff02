//! A pad that orbits and spins, summed up instant by instant over an orbit: what it leaves along its stroke.

use std::f64::consts::PI;

use lastmicron_numerics::quadrature::Rule;
use lastmicron_polish::contact::{Contact, Surface, press};
use lastmicron_polish::{Machine, Pad, Use};

use super::PhysicsError;
use super::table::Table;

/// Instants of an orbit that are summed. Judgement: 16 hold gains to a few thousandths of what 64 give; more costs time only.
const INSTANTS: usize = 16;

/// Places along a chord. Judgement: speed and pressure are smooth along it but for the kink of a tapered pad's rim, worth a thousandth.
const PLACES: usize = 16;

/// Steps of the flat pad's own profile, mm. Judgement: less than a hundredth of a large pad.
const STEP_MM: f64 = 1.0;

/// Where the pad's middle is at an instant, from the middle of its orbit, mm: across the stroke, and along it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Instant {
    pub(super) across_mm: f64,
    along_mm: f64,
}

/// What a stroke leaves at a distance from its middle, summed along it.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Left {
    /// Pressure x sliding speed, Pa m/s mm.
    pub(super) slid: f64,
    /// Time under the pad, mm at the speed of the arm.
    pub(super) time_mm: f64,
}

/// A use of a machine and a pad.
pub(super) struct Rubbing<'u> {
    pub(super) pad: &'u Pad,
    pub(super) used: &'u Use,
    pub(super) radius_mm: f64,
    pub(super) orbit_mm: f64,
    pub(super) instants: Vec<Instant>,
    pub(super) flat: Contact,
    /// Orbit less spin, and spin, rad/s.
    turning_rad_s: [f64; 2],
    rule: Rule,
    flat_slid: Table,
    flat_time: Table,
    /// A whole stroke, over all places across it.
    whole: Left,
}

impl<'u> Rubbing<'u> {
    pub(super) fn of(machine: &Machine, pad: &'u Pad, used: &'u Use) -> Result<Self, PhysicsError> {
        let rad_s = |per_minute: f64| 2.0 * PI * per_minute / 60.0;
        let (orbit_rad_s, spin_rad_s) = (rad_s(machine.orbits_per_minute), rad_s(machine.spin_rpm));
        let orbit_mm = machine.orbit_radius_mm;
        let instant = |i: usize| {
            let angle = 2.0 * PI * (i as f64 + 0.5) / INSTANTS as f64;
            Instant { across_mm: orbit_mm * angle.cos(), along_mm: orbit_mm * angle.sin() }
        };
        let none = Table { from_mm: 0.0, step_mm: 1.0, values: vec![0.0] };
        let mut rubbing = Self {
            pad,
            used,
            radius_mm: pad.diameter_mm / 2.0,
            orbit_mm,
            instants: (0..INSTANTS).map(instant).collect(),
            flat: press(pad, used.load_n, Surface::Flat)?,
            turning_rad_s: [orbit_rad_s - spin_rad_s, spin_rad_s],
            rule: Rule::of(PLACES),
            flat_slid: none.clone(),
            flat_time: none,
            whole: Left::default(),
        };
        let reach_mm = rubbing.reach_mm();
        // Cut so that the last place lies on the rim or beyond.
        let count = (reach_mm / STEP_MM).ceil() as i32;
        let profile: Vec<Left> =
            (-count..=count).map(|i| rubbing.along(f64::from(i) * STEP_MM, |_, x, y| rubbing.flat.pressure_pa(x, y))).collect();
        let sum = |of: fn(&Left) -> f64| STEP_MM * profile.iter().map(of).sum::<f64>();
        rubbing.whole = Left { slid: sum(|l| l.slid), time_mm: sum(|l| l.time_mm) };
        let table = |of: fn(&Left) -> f64| Table {
            from_mm: -f64::from(count) * STEP_MM,
            step_mm: STEP_MM,
            values: profile.iter().map(of).collect(),
        };
        (rubbing.flat_slid, rubbing.flat_time) = (table(|l| l.slid), table(|l| l.time_mm));
        Ok(rubbing)
    }

    /// How far from the middle of its stroke the pad comes, mm.
    pub(super) fn reach_mm(&self) -> f64 {
        self.radius_mm + self.orbit_mm
    }

    /// Distance between neighbouring strokes, mm.
    pub(super) fn apart_mm(&self) -> f64 {
        self.pad.diameter_mm * (1.0 - self.used.overlap)
    }

    /// What a stroke leaves `across_mm` from its middle, when the pressure under the pad at an instant is `pressure_pa(instant, across, along)`.
    pub(super) fn along(&self, across_mm: f64, pressure_pa: impl Fn(usize, f64, f64) -> f64) -> Left {
        let mut left = Left::default();
        let [net, spin] = self.turning_rad_s;
        for (i, at) in self.instants.iter().enumerate() {
            let x_mm = across_mm - at.across_mm;
            let half_mm = (self.radius_mm * self.radius_mm - x_mm * x_mm).max(0.0).sqrt();
            left.time_mm += 2.0 * half_mm;
            let sliding = |y_mm: f64| {
                // A place P of the panel sees (W - w) c + w P, turned by a right angle: P and the pad's middle c from the middle of the orbit.
                let speed_mm_s = f64::hypot(net * at.across_mm + spin * across_mm, net * at.along_mm + spin * (y_mm + at.along_mm));
                pressure_pa(i, x_mm, y_mm) * speed_mm_s / 1000.0
            };
            if half_mm > 0.0 {
                left.slid += self.rule.integral(-half_mm, half_mm, sliding);
            }
        }
        let instants = self.instants.len() as f64;
        Left { slid: left.slid / instants, time_mm: left.time_mm / instants }
    }

    /// What a stroke on a flat panel leaves.
    pub(super) fn flat(&self, across_mm: f64) -> Left {
        Left { slid: self.flat_slid.within(across_mm), time_mm: self.flat_time.within(across_mm) }
    }

    /// What strokes left, summed, in times the middle of a flat section, for strokes that lie `width_mm` apart.
    pub(super) fn of_middle(&self, left: Left, width_mm: f64) -> Left {
        Left { slid: left.slid * width_mm / self.whole.slid, time_mm: left.time_mm * width_mm / self.whole.time_mm }
    }
}

impl std::iter::Sum for Left {
    fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
        all.fold(Self::default(), |sum, left| Self { slid: sum.slid + left.slid, time_mm: sum.time_mm + left.time_mm })
    }
}
