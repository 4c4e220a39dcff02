//! Adjusting a gauge: two shims on the bare metal, and the reading of the bare metal itself.

/// A shim of known thickness and what the gauge shows on it, on the metal that will be measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shim {
    /// Its thickness, um.
    pub thickness_um: f64,
    /// Standard uncertainty of its thickness, um.
    pub u_um: f64,
    /// Mean reading on it, um.
    pub reading_um: f64,
    /// Standard uncertainty of that mean, um.
    pub u_reading_um: f64,
}

/// A straight line from reading to thickness through two shims.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoPoint {
    thin: Shim,
    thick: Shim,
}

/// A thickness with its standard uncertainty, um.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Adjusted {
    /// Thickness.
    pub thickness_um: f64,
    /// Standard uncertainty from shims and readings on them; without the noise of the reading adjusted.
    pub u_um: f64,
    /// Whether the reading lies outside the two shims', where the uncertainty grows.
    pub extrapolated: bool,
}

/// Why an adjustment is refused.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum AdjustmentError {
    /// A number that isn't finite, or an uncertainty below 0.
    #[error("{what} is {value}: it must be a finite number{bound}")]
    Number {
        /// Which.
        what: &'static str,
        /// What was given.
        value: f64,
        /// What else holds of it.
        bound: &'static str,
    },
    /// The thicker shim doesn't read higher.
    #[error(
        "the shims of {thin_um} and {thick_um} um read {thin_reading_um} and {thick_reading_um} um: the thicker one must read higher; check the metal under them"
    )]
    NotIncreasing {
        /// Thinner shim.
        thin_um: f64,
        /// Thicker shim.
        thick_um: f64,
        /// Its reading.
        thin_reading_um: f64,
        /// Its reading.
        thick_reading_um: f64,
    },
    /// No reading of the bare metal.
    #[error("there is no reading of the bare metal: take about ten on a bare place of the same shape and roughness")]
    NoBareMetal,
}

impl TwoPoint {
    /// The line through two shims, given in either order; they should bracket the film expected.
    ///
    /// # Errors
    /// [`AdjustmentError`] for numbers that make no sense, or when the thicker shim doesn't read higher.
    pub fn new(one: Shim, other: Shim) -> Result<Self, AdjustmentError> {
        for shim in [one, other] {
            finite("a shim's thickness, um,", shim.thickness_um)?;
            finite("a shim's reading, um,", shim.reading_um)?;
            not_negative("a shim's uncertainty, um,", shim.u_um)?;
            not_negative("the uncertainty of a shim's reading, um,", shim.u_reading_um)?;
        }
        let (thin, thick) = if one.thickness_um <= other.thickness_um { (one, other) } else { (other, one) };
        if thick.thickness_um > thin.thickness_um && thick.reading_um > thin.reading_um {
            return Ok(Self { thin, thick });
        }
        Err(AdjustmentError::NotIncreasing {
            thin_um: thin.thickness_um,
            thick_um: thick.thickness_um,
            thin_reading_um: thin.reading_um,
            thick_reading_um: thick.reading_um,
        })
    }

    /// Micrometres of film in a micrometre of reading.
    #[must_use]
    pub fn gain(&self) -> f64 {
        (self.thick.thickness_um - self.thin.thickness_um) / (self.thick.reading_um - self.thin.reading_um)
    }

    /// The thickness that `reading_um` stands for: z1 + g (r - r1), whose uncertainty is that of both ends weighted by 1 - w and w
    /// with w = (r - r1) / (r2 - r1), so that it grows beyond either shim.
    #[must_use]
    pub fn adjust(&self, reading_um: f64) -> Adjusted {
        let gain = self.gain();
        let w = (reading_um - self.thin.reading_um) / (self.thick.reading_um - self.thin.reading_um);
        let end_um = |shim: &Shim| f64::hypot(shim.u_um, gain * shim.u_reading_um);
        Adjusted {
            thickness_um: self.thin.thickness_um + gain * (reading_um - self.thin.reading_um),
            u_um: f64::hypot((1.0 - w) * end_um(&self.thin), w * end_um(&self.thick)),
            extrapolated: !(0.0..=1.0).contains(&w),
        }
    }
}

/// What a gauge shows on the bare metal: a plane part-way down its roughness, not the depth of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BareMetal {
    /// Mean reading, um: subtract it.
    pub mean_um: f64,
    /// Standard uncertainty of that mean, um; `None` from one reading alone.
    pub u_um: Option<f64>,
}

impl BareMetal {
    /// From readings of the bare metal; about ten are usual.
    ///
    /// Source: ASTM D7091, base metal reading.
    ///
    /// # Errors
    /// [`AdjustmentError`] without a reading, or with one that isn't finite.
    pub fn from_readings(readings_um: &[f64]) -> Result<Self, AdjustmentError> {
        if readings_um.is_empty() {
            return Err(AdjustmentError::NoBareMetal);
        }
        for &reading_um in readings_um {
            finite("a reading of the bare metal, um,", reading_um)?;
        }
        let n = super::repeats::number(readings_um.len());
        let mean_um = readings_um.iter().sum::<f64>() / n;
        let squares: f64 = readings_um.iter().map(|reading| (reading - mean_um).powi(2)).sum();
        let u_um = (n > 1.0).then(|| (squares / (n - 1.0) / n).sqrt());
        Ok(Self { mean_um, u_um })
    }

    /// A film's reading less the bare metal's, um.
    #[must_use]
    pub fn correct(&self, reading_um: f64) -> f64 {
        reading_um - self.mean_um
    }
}

fn finite(what: &'static str, value: f64) -> Result<(), AdjustmentError> {
    if value.is_finite() { Ok(()) } else { Err(AdjustmentError::Number { what, value, bound: "" }) }
}

fn not_negative(what: &'static str, value: f64) -> Result<(), AdjustmentError> {
    if value.is_finite() && value >= 0.0 { Ok(()) } else { Err(AdjustmentError::Number { what, value, bound: ", 0 or more" }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shim(thickness_um: f64, u_um: f64, reading_um: f64) -> Shim {
        Shim { thickness_um, u_um, reading_um, u_reading_um: 0.0 }
    }

    fn line() -> TwoPoint {
        TwoPoint::new(shim(49.5, 0.5, 52.0), shim(124.2, 0.8, 128.0)).unwrap()
    }

    #[test]
    fn two_shims_give_gain_value_and_uncertainty() {
        // [C]
        assert!((line().gain() - 0.982_894_7).abs() < 0.5e-7);
        let got = line().adjust(100.0);
        assert!((got.thickness_um - 96.6789).abs() < 0.5e-4);
        assert!((got.u_um - 0.537_80).abs() < 0.5e-5);
        assert!(!got.extrapolated);
    }

    #[test]
    fn beyond_the_shims_the_uncertainty_grows() {
        // w = 1.5 [C]
        let got = line().adjust(52.0 + 1.5 * 76.0);
        assert!((got.u_um - 1.2258).abs() < 0.5e-4);
        assert!(got.extrapolated && line().adjust(10.0).extrapolated && line().adjust(10.0).u_um > 0.5);
    }

    #[test]
    fn at_a_shim_the_shims_own_uncertainty_is_left() {
        let got = line().adjust(128.0);
        assert!((got.thickness_um - 124.2).abs() < 1e-12 && (got.u_um - 0.8).abs() < 1e-12);
        let noisy = TwoPoint::new(Shim { u_reading_um: 1.0, ..shim(0.0, 0.0, 0.0) }, shim(100.0, 0.0, 50.0)).unwrap();
        assert!((noisy.adjust(0.0).u_um - 2.0).abs() < 1e-12);
    }

    #[test]
    fn shims_may_come_in_either_order_but_must_read_in_theirs() {
        assert_eq!(TwoPoint::new(shim(124.2, 0.8, 128.0), shim(49.5, 0.5, 52.0)), Ok(line()));
        assert!(matches!(TwoPoint::new(shim(49.5, 0.5, 128.0), shim(124.2, 0.8, 52.0)), Err(AdjustmentError::NotIncreasing { .. })));
        assert!(TwoPoint::new(shim(50.0, 0.5, 52.0), shim(50.0, 0.5, 53.0)).is_err());
        assert!(TwoPoint::new(shim(50.0, -0.5, 52.0), shim(60.0, 0.5, 63.0)).is_err());
    }

    #[test]
    fn the_bare_metals_reading_is_subtracted() {
        // [D] 0.5 mil under 5.1, 5.4, 5.3: 4.767 mil, 121.1 um
        let bare = BareMetal::from_readings(&[0.5 * 25.4; 10]).unwrap();
        let spot_um = bare.correct((5.1 + 5.4 + 5.3) / 3.0 * 25.4);
        assert!((spot_um / 25.4 - 4.767).abs() < 0.5e-3 && (spot_um - 121.1).abs() < 0.05);
        assert!(bare.u_um.unwrap() < 1e-12);
        assert_eq!(BareMetal::from_readings(&[4.0]).unwrap().u_um, None);
        assert!((BareMetal::from_readings(&[4.0, 6.0]).unwrap().u_um.unwrap() - 1.0).abs() < 1e-15);
        assert_eq!(BareMetal::from_readings(&[]), Err(AdjustmentError::NoBareMetal));
    }
}
