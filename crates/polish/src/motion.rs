//! How fast a pad that orbits and spins slides over the panel, and for how much of an orbit a place is under it.
//!
//! The pad's centre runs round a circle of radius e at W = 2 pi N; the pad itself turns at w, as seen from the panel: positive the way it
//! orbits, negative against it, 0 when it stalls. Every speed here is that of two vectors, A and B long, at an angle that runs evenly round:
//!
//! - a point of the pad, r from its centre: A = W e, B = |w| r;
//! - a place of the panel, rho from the pad's mean centre: A = |W - w| e, B = |w| rho, since the pad there moves at z x ((W - w) c + w P).
//!
//! At the mean centre a panel place therefore sees |W - w| e, which is less than W e when the pad turns the way it orbits.
//!
//! # What a place in the annulus R - e to R + e sees
//! It is under the pad only while the orbit is on its side, and then the two vectors are not at every angle. Turning the way it orbits, they
//! are nearly in line: the place is rubbed for less of the time, but faster than the mean over all angles says (62.5 mm out under a 125 mm
//! pad, 7.5 mm orbit, 4,800 a minute, 300 rpm: 48 % of the time at 5.03 m/s, not at 3.81). Turning against the orbit, it is slower (3.00
//! instead of 4.25). [`Motion::under_pad`] has the time and the speed while covered; their product is what removes film.
//!
//! Source: two rotations added \[D\]; E(m) in NIST Digital Library of Mathematical Functions, chapter 19. Weak: how fast a free pad turns is not known
//! without measuring it under load; a machine's stated throw is usually the diameter 2 e.

mod disc;

use std::f64::consts::PI;

use lastmicron_numerics::elliptic::{complete_second, incomplete_second};

use crate::equipment::Machine;

/// An orbit and a spin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    orbit_radius_mm: f64,
    orbit_rad_s: f64,
    spin_rad_s: f64,
}

/// A speed over an orbit: removal goes with the mean, heat and wear of the pad rather with the root mean square.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Speed {
    /// Mean, m/s.
    pub mean_m_s: f64,
    /// Root of the mean square, m/s: never below the mean.
    pub rms_m_s: f64,
}

/// What a place of the panel sees of an orbiting pad.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnderPad {
    /// Share of the orbit for which the pad covers the place.
    pub covered: f64,
    /// Speed while it does; 0 where it never does.
    pub speed: Speed,
}

/// A motion that no machine has, or a place that is nowhere.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum MotionError {
    /// Radius of the orbit.
    #[error(
        "an orbit of radius {0} mm: it must be a number from 0 to {MOST_MM} (half of what is usually called the throw); 0 for a rotary"
    )]
    Orbit(f64),
    /// Orbits a minute.
    #[error("{0} orbits a minute: they must be a number from 0 to {MOST_PER_MINUTE}; 0 for a rotary")]
    Orbits(f64),
    /// Turns of the pad a minute.
    #[error(
        "a spin of {0} a minute: it must be a number of at most {MOST_PER_MINUTE} either way; below 0 is against the orbit, 0 a pad that stalls"
    )]
    Spin(f64),
    /// Distance from the centre.
    #[error("a place {0} mm from the pad's centre: it must be a number from 0 to {MOST_MM}")]
    Radius(f64),
    /// Radius of the pad.
    #[error("a pad of radius {0} mm: it must be a number above 0, at most {MOST_MM}")]
    Pad(f64),
    /// The pad's own centre would leave its face.
    #[error(
        "an orbit of radius {orbit_radius_mm} mm under a pad of radius {pad_radius_mm} mm: the orbit must be the smaller; was the throw given for its half?"
    )]
    OrbitLargerThanPad {
        /// Radius of the orbit.
        orbit_radius_mm: f64,
        /// Radius of the pad.
        pad_radius_mm: f64,
    },
}

/// Largest radius taken, mm. Judgement: no hand machine is a tenth of it; a larger number is in another unit.
const MOST_MM: f64 = 10_000.0;

/// Fastest turn taken, a minute. Judgement: hand machines stay below 25,000; a larger number is in another unit.
const MOST_PER_MINUTE: f64 = 1_000_000.0;

impl Motion {
    /// A motion by the radius of its orbit (half of what is usually called the throw), orbits a minute, and the pad's own turns a minute as
    /// seen from the panel, negative when it turns against the orbit.
    ///
    /// # Errors
    /// [`MotionError`] for what is not a number or out of range.
    pub fn new(orbit_radius_mm: f64, orbits_per_minute: f64, spin_rpm: f64) -> Result<Self, MotionError> {
        if !(0.0..=MOST_MM).contains(&orbit_radius_mm) {
            return Err(MotionError::Orbit(orbit_radius_mm));
        }
        if !(0.0..=MOST_PER_MINUTE).contains(&orbits_per_minute) {
            return Err(MotionError::Orbits(orbits_per_minute));
        }
        if !(-MOST_PER_MINUTE..=MOST_PER_MINUTE).contains(&spin_rpm) {
            return Err(MotionError::Spin(spin_rpm));
        }
        let rad_s = |per_minute: f64| 2.0 * PI * per_minute / 60.0;
        Ok(Self { orbit_radius_mm, orbit_rad_s: rad_s(orbits_per_minute), spin_rad_s: rad_s(spin_rpm) })
    }

    /// The motion of a machine under load.
    ///
    /// # Errors
    /// As [`Motion::new`].
    pub fn of(machine: &Machine) -> Result<Self, MotionError> {
        Self::new(machine.orbit_radius_mm, machine.orbits_per_minute, machine.spin_rpm)
    }

    /// Radius of the orbit, mm.
    #[must_use]
    pub const fn orbit_radius_mm(&self) -> f64 {
        self.orbit_radius_mm
    }

    /// Speed at a place of the panel `radius_mm` from the pad's mean centre that stays under the pad all the way round: within the pad's radius
    /// less that of the orbit. Farther out see [`Motion::under_pad`].
    ///
    /// mean = (2 / pi) (A + B) E(4 A B / (A + B)^2), rms = sqrt(A^2 + B^2).
    ///
    /// # Errors
    /// [`MotionError::Radius`].
    pub fn on_panel(&self, radius_mm: f64) -> Result<Speed, MotionError> {
        let [a_m_s, b_m_s] = self.at_place(checked_radius(radius_mm)?);
        Ok(all_round(a_m_s, b_m_s))
    }

    /// Speed of a point of the pad `radius_mm` from its centre.
    ///
    /// # Errors
    /// [`MotionError::Radius`].
    pub fn on_pad(&self, radius_mm: f64) -> Result<Speed, MotionError> {
        let spin_m_s = self.spin_rad_s.abs() * checked_radius(radius_mm)? / 1000.0;
        Ok(all_round(self.orbit_m_s(), spin_m_s))
    }

    /// Speed over the whole of a pad, each part of its face counted alike: what the mean depth over a section goes with.
    ///
    /// Method: w times the mean distance of the disc's points from one W e / w from its centre \[D\].
    ///
    /// # Errors
    /// [`MotionError::Pad`].
    pub fn pad_mean(&self, pad_radius_mm: f64) -> Result<Speed, MotionError> {
        let rim_m_s = self.spin_rad_s.abs() * checked_pad(pad_radius_mm)? / 1000.0;
        let orbit_m_s = self.orbit_m_s();
        let rms_m_s = orbit_m_s.hypot(rim_m_s / std::f64::consts::SQRT_2);
        Ok(Speed { mean_m_s: disc::mean(orbit_m_s, rim_m_s).min(rms_m_s), rms_m_s })
    }

    /// Share of the orbit for which a pad covers a place of the panel `radius_mm` from its mean centre: 1 within R - e, 0 from R + e, between
    /// them acos((rho^2 + e^2 - R^2) / (2 rho e)) / pi, which at R itself is a little less than a half.
    ///
    /// # Errors
    /// [`MotionError`] for a radius that is none, or an orbit not smaller than the pad.
    pub fn covered(&self, radius_mm: f64, pad_radius_mm: f64) -> Result<f64, MotionError> {
        Ok(self.covered_angle(checked_radius(radius_mm)?, self.checked_face(pad_radius_mm)?) / PI)
    }

    /// How long of the orbit, and how fast, a pad rubs a place of the panel `radius_mm` from its mean centre.
    ///
    /// Method: over the part of the orbit for which the place is covered, by the incomplete E(phi, m) \[D\].
    ///
    /// # Errors
    /// [`MotionError`] for a radius that is none, or an orbit not smaller than the pad.
    pub fn under_pad(&self, radius_mm: f64, pad_radius_mm: f64) -> Result<UnderPad, MotionError> {
        let angle = self.covered_angle(checked_radius(radius_mm)?, self.checked_face(pad_radius_mm)?);
        let [a_m_s, b_m_s] = self.at_place(radius_mm);
        let is_with_orbit = (self.orbit_rad_s - self.spin_rad_s) * self.spin_rad_s >= 0.0;
        let speed = if angle >= PI {
            all_round(a_m_s, b_m_s)
        } else if angle <= 0.0 {
            Speed { mean_m_s: 0.0, rms_m_s: 0.0 }
        } else if is_with_orbit {
            in_line(a_m_s, b_m_s, angle)
        } else {
            opposed(a_m_s, b_m_s, angle)
        };
        Ok(UnderPad { covered: angle / PI, speed })
    }

    fn orbit_m_s(&self) -> f64 {
        self.orbit_rad_s * self.orbit_radius_mm / 1000.0
    }

    /// A and B of a place of the panel.
    fn at_place(&self, radius_mm: f64) -> [f64; 2] {
        let a_m_s = (self.orbit_rad_s - self.spin_rad_s).abs() * self.orbit_radius_mm / 1000.0;
        [a_m_s, self.spin_rad_s.abs() * radius_mm / 1000.0]
    }

    fn checked_face(&self, pad_radius_mm: f64) -> Result<f64, MotionError> {
        let pad_radius_mm = checked_pad(pad_radius_mm)?;
        if self.orbit_radius_mm < pad_radius_mm {
            Ok(pad_radius_mm)
        } else {
            Err(MotionError::OrbitLargerThanPad { orbit_radius_mm: self.orbit_radius_mm, pad_radius_mm })
        }
    }

    /// Half of the angle of the orbit over which a place is covered: pi when it always is.
    fn covered_angle(&self, radius_mm: f64, pad_radius_mm: f64) -> f64 {
        let e_mm = self.orbit_radius_mm;
        if radius_mm <= pad_radius_mm - e_mm {
            return PI;
        }
        if radius_mm >= pad_radius_mm + e_mm {
            return 0.0;
        }
        // Differences of squares as products: near the ends of the annulus they keep their digits.
        let cosine = ((radius_mm - pad_radius_mm) * (radius_mm + pad_radius_mm) + e_mm * e_mm) / (2.0 * radius_mm * e_mm);
        cosine.clamp(-1.0, 1.0).acos()
    }
}

/// The parameter 4 A B / (A + B)^2; rounding must not carry it above 1.
fn parameter(a: f64, b: f64) -> f64 {
    let sum = a + b;
    (4.0 * (a / sum) * (b / sum)).min(1.0)
}

/// Two vectors at every angle.
fn all_round(a: f64, b: f64) -> Speed {
    if a + b <= 0.0 {
        return Speed { mean_m_s: 0.0, rms_m_s: 0.0 };
    }
    let rms_m_s = a.hypot(b);
    Speed { mean_m_s: (2.0 / PI * (a + b) * complete_second(parameter(a, b))).min(rms_m_s), rms_m_s }
}

/// Two vectors at angles within `angle` of being in line.
fn in_line(a: f64, b: f64, angle: f64) -> Speed {
    if a + b <= 0.0 {
        return Speed { mean_m_s: 0.0, rms_m_s: 0.0 };
    }
    let mean_m_s = 2.0 * (a + b) * incomplete_second(angle / 2.0, parameter(a, b)) / angle;
    partial(mean_m_s, a, b, angle)
}

/// Two vectors at angles within `angle` of being opposed.
fn opposed(a: f64, b: f64, angle: f64) -> Speed {
    if a + b <= 0.0 {
        return Speed { mean_m_s: 0.0, rms_m_s: 0.0 };
    }
    let m = parameter(a, b);
    let mean_m_s = 2.0 * (a + b) * (complete_second(m) - incomplete_second((PI - angle) / 2.0, m)) / angle;
    partial(mean_m_s, a, -b, angle)
}

fn partial(mean_m_s: f64, a: f64, b: f64, angle: f64) -> Speed {
    let rms_m_s = (a * a + b * b + 2.0 * a * b * angle.sin() / angle).max(0.0).sqrt();
    Speed { mean_m_s: mean_m_s.clamp(0.0, rms_m_s), rms_m_s }
}

fn checked_radius(radius_mm: f64) -> Result<f64, MotionError> {
    if (0.0..=MOST_MM).contains(&radius_mm) { Ok(radius_mm) } else { Err(MotionError::Radius(radius_mm)) }
}

fn checked_pad(pad_radius_mm: f64) -> Result<f64, MotionError> {
    if pad_radius_mm > 0.0 && pad_radius_mm <= MOST_MM { Ok(pad_radius_mm) } else { Err(MotionError::Pad(pad_radius_mm)) }
}

#[cfg(test)]
mod tests;
