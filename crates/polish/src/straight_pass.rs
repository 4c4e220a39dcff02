//! What one straight pass takes, by distance from the line of the pad's middle. Uniform pressure, Preston's law.
//!
//! Closed forms for the two ends of the range: a pad that only spins, and one that only orbits on a circle much smaller than itself \[D\]. The mean over
//! the swath of both is k F v / (2 R u), v being the pad's mean speed and u the arm's.

use std::f64::consts::PI;

use crate::motion::{Motion, MotionError};
use crate::preston::{PrestonError, above_0, from_0};

/// A straight pass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StraightPass {
    pad_radius_mm: f64,
    /// Depth for a sliding speed of 1 m/s under the whole of a diameter, um s/m: k p R / u.
    depth_um_s_per_m: f64,
}

impl StraightPass {
    /// A pass of a pad by its diameter, Preston's coefficient, load, and the speed of the arm, which must be far below the pad's own.
    ///
    /// # Errors
    /// [`PrestonError`] for what is not above 0.
    pub fn new(pad_diameter_mm: f64, preston_per_pa: f64, load_n: f64, arm_speed_mm_s: f64) -> Result<Self, PrestonError> {
        let pad_radius_mm = above_0(pad_diameter_mm, PrestonError::Pad)? / 2.0;
        let preston_per_pa = from_0(preston_per_pa, PrestonError::Coefficient)?;
        let load_n = above_0(load_n, PrestonError::Load)?;
        let arm_speed_mm_s = above_0(arm_speed_mm_s, PrestonError::ArmSpeed)?;
        let pressure_pa = load_n / (PI * (pad_radius_mm / 1000.0).powi(2));
        Ok(Self { pad_radius_mm, depth_um_s_per_m: 1e6 * preston_per_pa * pressure_pa * pad_radius_mm / arm_speed_mm_s })
    }

    /// Depth, um, at a distance from the line under a pad that only spins: (k p w / u) (a R + y^2 asinh(a / |y|)), a = sqrt(R^2 - y^2).
    ///
    /// It takes most not in the middle but at 0.5524 of the radius to each side, by a fifth more, for there the pad rubs faster for nearly as long.
    ///
    /// # Errors
    /// [`MotionError::Spin`] or [`MotionError::Radius`] for what is not a number.
    pub fn spinning_um(&self, spin_rpm: f64, y_mm: f64) -> Result<f64, MotionError> {
        let rim = Motion::new(0.0, 0.0, spin_rpm)?.on_pad(self.pad_radius_mm)?;
        if !y_mm.is_finite() {
            return Err(MotionError::Radius(y_mm));
        }
        Ok(self.depth_um_s_per_m * rim.mean_m_s * spin_shape(y_mm.abs() / self.pad_radius_mm))
    }

    /// Depth, um, at a distance from the line under a pad that only orbits, on a circle much smaller than itself: k p W e 2 a / u, a as above. Spin is
    /// left out; in the outermost 2 e the orbit smooths what this says.
    ///
    /// # Errors
    /// [`MotionError`] for an orbit not smaller than the pad, or what is not a number.
    pub fn orbiting_um(&self, orbit_radius_mm: f64, orbits_per_minute: f64, y_mm: f64) -> Result<f64, MotionError> {
        let motion = Motion::new(orbit_radius_mm, orbits_per_minute, 0.0)?;
        let orbit = motion.under_pad(0.0, self.pad_radius_mm)?.speed;
        if !y_mm.is_finite() {
            return Err(MotionError::Radius(y_mm));
        }
        let y = (y_mm / self.pad_radius_mm).abs().min(1.0);
        Ok(self.depth_um_s_per_m * orbit.mean_m_s * 2.0 * (1.0 - y * y).sqrt())
    }

    /// Mean depth over the swath, um: k F v / (2 R u).
    ///
    /// # Errors
    /// [`MotionError::Pad`] for a pad larger than any.
    pub fn swath_mean_um(&self, motion: &Motion) -> Result<f64, MotionError> {
        Ok(self.depth_um_s_per_m * motion.pad_mean(self.pad_radius_mm)?.mean_m_s * PI / 2.0)
    }
}

/// sqrt(1 - y^2) + y^2 asinh(sqrt(1 - y^2) / y): 1 in the middle, 0 from the rim on.
fn spin_shape(y: f64) -> f64 {
    let a = (1.0 - y.min(1.0).powi(2)).sqrt();
    if y > 0.0 { a + y * y * (a / y).asinh() } else { a }
}

#[cfg(test)]
mod tests {
    use super::*;

    use lastmicron_numerics::quadrature::Rule;
    use proptest::prelude::*;

    #[test]
    fn a_spinning_pads_profile_has_its_published_values() {
        // [D, C] standards 4.3
        let table = [
            (0.0, 1.0),
            (0.1, 1.024_920),
            (0.2, 1.071_493),
            (0.3, 1.122_583),
            (0.4, 1.167_203),
            (0.5, 1.195_265),
            (0.6, 1.195_500),
            (0.7, 1.152_981),
            (0.8, 1.043_614),
            (0.9, 0.814_278),
            (0.95, 0.603_790),
            (1.0, 0.0),
            (1.5, 0.0),
        ];
        for (y, wanted) in table {
            assert!((spin_shape(y) - wanted).abs() < 0.51e-6, "{y}: {}", spin_shape(y));
        }
    }

    #[test]
    fn a_spinning_pad_takes_most_at_its_published_place() {
        // [D, C] standards 4.3: 1.19967864 at 0.55243404
        let at = 0.552_434_04;
        assert!((spin_shape(at) - 1.199_678_64).abs() < 0.51e-8);
        assert!(spin_shape(at - 1e-3) < spin_shape(at) && spin_shape(at + 1e-3) < spin_shape(at));
        // [D] the whole swath holds 2 pi / 3; y = 1 - s^2 smooths the rim
        let swath = 2.0 * Rule::of(64).integral(0.0, 1.0, |s| spin_shape(1.0 - s * s) * 2.0 * s);
        assert!((swath - 2.0 * PI / 3.0).abs() < 1e-5, "{swath}");
    }

    #[test]
    fn a_pass_takes_its_published_depths() {
        // [C] standards 4.3: k = 1e-11, 40 N, 40 mm/s
        let nm = |um: Result<f64, MotionError>, wanted: f64| assert!((1000.0 * um.unwrap() - wanted).abs() < 0.51e-3, "{um:?} {wanted}");
        let rotary = StraightPass::new(150.0, 1e-11, 40.0, 40.0).unwrap();
        nm(rotary.spinning_um(1500.0, 0.0), 500.0);
        nm(rotary.spinning_um(-1500.0, -0.552_434_04 * 75.0), 599.839);
        nm(rotary.swath_mean_um(&Motion::new(0.0, 0.0, 1500.0).unwrap()), 523.599);
        let orbital = StraightPass::new(125.0, 1e-11, 40.0, 40.0).unwrap();
        nm(orbital.orbiting_um(7.5, 4800.0, 0.0), 384.0);
        nm(orbital.swath_mean_um(&Motion::new(7.5, 4800.0, 0.0).unwrap()), 301.593);
        nm(orbital.orbiting_um(7.5, 4800.0, 62.5), 0.0);
    }

    #[test]
    fn what_is_no_pass_is_refused_with_its_number() {
        let said = |error: PrestonError| error.to_string();
        assert!(said(StraightPass::new(0.0, 1e-11, 40.0, 40.0).unwrap_err()).starts_with("a pad of 0 mm"));
        assert!(said(StraightPass::new(125.0, -1e-11, 40.0, 40.0).unwrap_err()).starts_with("a Preston coefficient of -0"));
        assert!(said(StraightPass::new(125.0, 1e-11, 0.0, 40.0).unwrap_err()).starts_with("a load of 0 N"));
        assert!(said(StraightPass::new(125.0, 1e-11, 40.0, f64::NAN).unwrap_err()).starts_with("an arm speed of NaN mm/s"));
        let pass = StraightPass::new(12.0, 1e-11, 40.0, 40.0).unwrap();
        assert!(matches!(pass.orbiting_um(7.5, 4800.0, 0.0), Err(MotionError::OrbitLargerThanPad { .. })));
        assert!(pass.spinning_um(1500.0, f64::NAN).is_err());
    }

    proptest! {
        #[test]
        fn the_swath_holds_what_the_mean_says(diameter in 30.0..200.0f64, spin in 100.0..3000.0f64, load in 5.0..100.0f64) {
            let pass = StraightPass::new(diameter, 1e-11, load, 40.0).unwrap();
            let radius = diameter / 2.0;
            let at = |s: f64| pass.spinning_um(spin, radius * (1.0 - s * s)).unwrap() * 2.0 * s;
            let mean = Rule::of(64).integral(0.0, 1.0, at);
            let wanted = pass.swath_mean_um(&Motion::new(0.0, 0.0, spin).unwrap()).unwrap();
            prop_assert!((mean / wanted - 1.0).abs() < 1e-5);
        }
    }
}
