//! Preston's law: depth goes with pressure x sliding distance, and a coefficient that nobody knows beforehand.
//!
//! dz/dt = k p v (F. W. Preston, "The theory and design of plate glass polishing machines", 1927, from memory). While the pad is wholly on a section,
//! pressure and pad area cancel: the mean depth over the section is k F v t / A whatever the path \[D\], v being the pad's mean speed.
//!
//! Weak: no measured k for automotive clear coat was found; working backwards from a micrometre a set gives about 2e-11 per Pa, 20 to 200 times
//! that of glass. Removal has been seen not to be in proportion to pressure or speed. So k is inferred from readings before and after, and carried
//! from one use to another with doubt ([`crate::transfer`]).

/// Work of a pad on a section: the pad wholly on it all the time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Working {
    /// Diameter of the pad, mm.
    pub pad_diameter_mm: f64,
    /// Load on it, N.
    pub load_n: f64,
    /// Its mean speed ([`crate::motion::Motion::pad_mean`]), m/s.
    pub speed_m_s: f64,
    /// Time, s.
    pub seconds: f64,
    /// Sides of the section, mm.
    pub section_mm: [f64; 2],
}

/// Work that can't be done, or a coefficient that is none.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum PrestonError {
    /// The coefficient.
    #[error("a Preston coefficient of {0} per Pa: it must be a number from 0 up; a set that takes a micrometre means about 2e-11")]
    Coefficient(f64),
    /// The depth.
    #[error("a depth of {0} um: it must be a number from 0 up")]
    Depth(f64),
    /// The pad.
    #[error("a pad of {0} mm: its diameter must be a number above 0")]
    Pad(f64),
    /// The load.
    #[error("a load of {0} N: it must be a number above 0; without a load nothing is removed")]
    Load(f64),
    /// The speed.
    #[error("a speed of {0} m/s: it must be a number above 0")]
    Speed(f64),
    /// The time.
    #[error("a time of {0} s: it must be a number above 0")]
    Time(f64),
    /// The section.
    #[error("a section with a side of {0} mm: it must be a number above 0")]
    Section(f64),
    /// The pad can't be wholly on the section.
    #[error(
        "a pad of {pad_mm} mm on a section with a side of {side_mm} mm: the pad hangs over it, and part of its work misses the section; take a smaller pad"
    )]
    PadWiderThanSection {
        /// Diameter of the pad.
        pad_mm: f64,
        /// The shorter side.
        side_mm: f64,
    },
    /// The arm.
    #[error("an arm speed of {0} mm/s: it must be a number above 0")]
    ArmSpeed(f64),
}

impl Working {
    /// Pressure x sliding distance, mean over the section, Pa m: F v t / A.
    ///
    /// # Errors
    /// [`PrestonError`] for what is not above 0, or a pad wider than the section.
    pub fn pa_m(&self) -> Result<f64, PrestonError> {
        let pad_mm = above_0(self.pad_diameter_mm, PrestonError::Pad)?;
        let [width_mm, height_mm] = self.section_mm;
        let side_mm = above_0(width_mm, PrestonError::Section)?.min(above_0(height_mm, PrestonError::Section)?);
        if pad_mm > side_mm {
            return Err(PrestonError::PadWiderThanSection { pad_mm, side_mm });
        }
        let load_n = above_0(self.load_n, PrestonError::Load)?;
        let speed_m_s = above_0(self.speed_m_s, PrestonError::Speed)?;
        let seconds = above_0(self.seconds, PrestonError::Time)?;
        Ok(load_n * speed_m_s * seconds / (width_mm * height_mm * 1e-6))
    }

    /// Mean depth over the section, um.
    ///
    /// ```
    /// use lastmicron_polish::preston::Working;
    /// let set = Working { pad_diameter_mm: 125.0, load_n: 40.0, speed_m_s: 3.77, seconds: 90.0, section_mm: [500.0, 500.0] };
    /// assert!((set.mean_depth_um(1.842e-11).unwrap() - 1.0).abs() < 1e-3);
    /// ```
    ///
    /// # Errors
    /// As [`Working::pa_m`]; [`PrestonError::Coefficient`] for one below 0.
    pub fn mean_depth_um(&self, preston_per_pa: f64) -> Result<f64, PrestonError> {
        Ok(from_0(preston_per_pa, PrestonError::Coefficient)? * self.pa_m()? * 1e6)
    }

    /// The coefficient, per Pa, that a mean depth over the section speaks for.
    ///
    /// # Errors
    /// As [`Working::pa_m`]; [`PrestonError::Depth`] for one below 0.
    pub fn coefficient_per_pa(&self, mean_depth_um: f64) -> Result<f64, PrestonError> {
        Ok(from_0(mean_depth_um, PrestonError::Depth)? * 1e-6 / self.pa_m()?)
    }
}

/// The number, when it is above 0.
pub(crate) fn above_0<E>(number: f64, error: fn(f64) -> E) -> Result<f64, E> {
    if number > 0.0 && number.is_finite() { Ok(number) } else { Err(error(number)) }
}

/// The number, when it is not below 0.
pub(crate) fn from_0<E>(number: f64, error: fn(f64) -> E) -> Result<f64, E> {
    if number >= 0.0 && number.is_finite() { Ok(number) } else { Err(error(number)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    use proptest::prelude::*;

    const SET: Working = Working { pad_diameter_mm: 125.0, load_n: 40.0, speed_m_s: 3.77, seconds: 90.0, section_mm: [500.0, 500.0] };

    #[test]
    fn a_set_takes_its_published_depth() {
        // [C] standards 4.1: k = 1.842e-11 per Pa, 40 N, 3.77 m/s, 90 s on 0.25 m2: 1.000 um
        assert!((SET.mean_depth_um(1.842e-11).unwrap() - 1.0).abs() < 0.51e-3);
        // [C] standards 4.1: a micrometre a set means about 2e-11
        assert!((SET.coefficient_per_pa(1.0).unwrap() / 2e-11 - 1.0).abs() < 0.1);
    }

    #[test]
    fn a_published_rate_has_its_published_coefficient() {
        // [C] standards 4.1 from [S]: copper, 500 nm/min at 4 psi and 1 m/s: 3.0e-13 per Pa. A pad as large as its square section, to have the pressure alone.
        let psi = 6894.757;
        let square = Working { pad_diameter_mm: 1000.0, load_n: 4.0 * psi, speed_m_s: 1.0, seconds: 60.0, section_mm: [1000.0, 1000.0] };
        assert!((square.coefficient_per_pa(0.5).unwrap() - 3.0e-13).abs() < 0.51e-14);
    }

    #[test]
    fn what_is_no_work_is_refused_with_its_number() {
        let said = |working: Working| working.mean_depth_um(2e-11).unwrap_err().to_string();
        assert!(said(Working { load_n: 0.0, ..SET }).starts_with("a load of 0 N"));
        assert!(said(Working { load_n: -3.0, ..SET }).starts_with("a load of -3 N"));
        assert!(said(Working { speed_m_s: f64::NAN, ..SET }).starts_with("a speed of NaN m/s"));
        assert!(said(Working { seconds: f64::INFINITY, ..SET }).starts_with("a time of inf s"));
        assert!(said(Working { pad_diameter_mm: 0.0, ..SET }).starts_with("a pad of 0 mm"));
        assert!(said(Working { section_mm: [500.0, -1.0], ..SET }).starts_with("a section with a side of -1 mm"));
        assert!(said(Working { section_mm: [500.0, 100.0], ..SET }).starts_with("a pad of 125 mm on a section with a side of 100 mm"));
        assert_eq!(SET.mean_depth_um(-1.0), Err(PrestonError::Coefficient(-1.0)));
        assert_eq!(SET.coefficient_per_pa(-1.0), Err(PrestonError::Depth(-1.0)));
    }

    proptest! {
        #[test]
        fn a_coefficient_gives_the_depth_it_came_from(depth in 0.0..20.0f64, load in 1.0..200.0f64, speed in 0.1..20.0f64, seconds in 1.0..600.0f64) {
            let working = Working { load_n: load, speed_m_s: speed, seconds, ..SET };
            let back = working.mean_depth_um(working.coefficient_per_pa(depth).unwrap()).unwrap();
            prop_assert!((back - depth).abs() < 1e-12 * (1.0 + depth));
        }
    }
}
