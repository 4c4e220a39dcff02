//! Whether the air lets a coating be laid: dew point, frost point, and the rules of practice.

/// Magnus coefficients over water: hPa, none, degrees C.
/// Alduchov and Eskridge, "Improved Magnus form approximation of saturation vapor pressure", 1996; valid from -40 to 50 degrees C.
const OVER_WATER: Magnus = Magnus { a_hpa: 6.1094, b: 17.625, c: 243.04 };

/// The same over ice, from -80 to 0 degrees C.
const OVER_ICE: Magnus = Magnus { a_hpa: 6.1121, b: 22.587, c: 273.86 };

/// Least that a surface is to be above the dew point, degrees C: a rule of practice (ISO 8502-4 guides on its estimate).
/// American practice says 5 degrees F, 2.8 degrees C.
pub const LEAST_MARGIN_C: f64 = 3.0;

/// Relative humidity, per cent, from which nothing is laid: a rule of practice.
pub const MOST_HUMIDITY_PERCENT: f64 = 85.0;

/// Air temperatures for which the coefficients hold, degrees C.
const AIR_C: std::ops::RangeInclusive<f64> = -40.0..=50.0;

/// Panel temperatures taken, degrees C. Judgement: beyond them nobody coats; a dark panel in the sun reaches 80.
const SURFACE_C: std::ops::RangeInclusive<f64> = -60.0..=150.0;

struct Magnus {
    a_hpa: f64,
    b: f64,
    c: f64,
}

impl Magnus {
    fn pressure_hpa(&self, t_c: f64) -> f64 {
        self.a_hpa * (self.b * t_c / (self.c + t_c)).exp()
    }

    fn temperature_c(&self, pressure_hpa: f64) -> f64 {
        let gamma = (pressure_hpa / self.a_hpa).ln();
        self.c * gamma / (self.b - gamma)
    }
}

/// Air and panel as read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Climate {
    air_c: f64,
    humidity_percent: f64,
    surface_c: f64,
}

/// A number that no bay has.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum ClimateError {
    /// Air temperature.
    #[error("air of {0} degrees C: it must lie between -40 and 50, where the formula for the dew point holds")]
    Air(f64),
    /// Relative humidity.
    #[error("a relative humidity of {0} %: it must be more than 0 and at most 100")]
    Humidity(f64),
    /// Panel temperature.
    #[error("a panel at {0} degrees C: it must lie between -60 and 150")]
    Surface(f64),
}

/// Why to wait with a coating.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Caution {
    /// Water condenses on the panel.
    Wet {
        /// Panel less dew point, degrees C.
        margin_c: f64,
    },
    /// Ice forms on the panel.
    Frost {
        /// Panel less frost point, degrees C.
        margin_c: f64,
    },
    /// Too near the dew point.
    Near {
        /// Panel less dew point, degrees C.
        margin_c: f64,
    },
    /// Too humid.
    Humid {
        /// Relative humidity.
        percent: f64,
    },
}

impl std::fmt::Display for Caution {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Wet { margin_c } => write!(f, "the panel is {:.1} degrees C below the dew point: water condenses on it", -margin_c),
            Self::Frost { margin_c } => write!(f, "the panel is {:.1} degrees C below the frost point: ice forms on it", -margin_c),
            Self::Near { margin_c } => {
                write!(f, "the panel is only {margin_c:.1} degrees C above the dew point: wait until it is {LEAST_MARGIN_C}")
            }
            Self::Humid { percent } => write!(f, "the air is at {percent:.0} % humidity: wait until it is below {MOST_HUMIDITY_PERCENT} %"),
        }
    }
}

impl Climate {
    /// Air temperature, relative humidity and the panel's own temperature, which decides. An infrared thermometer reads low on
    /// shiny metal.
    ///
    /// # Errors
    /// [`ClimateError`] for numbers out of range.
    pub fn new(air_c: f64, humidity_percent: f64, surface_c: f64) -> Result<Self, ClimateError> {
        if !AIR_C.contains(&air_c) {
            return Err(ClimateError::Air(air_c));
        }
        if !(humidity_percent > 0.0 && humidity_percent <= 100.0) {
            return Err(ClimateError::Humidity(humidity_percent));
        }
        if !SURFACE_C.contains(&surface_c) {
            return Err(ClimateError::Surface(surface_c));
        }
        Ok(Self { air_c, humidity_percent, surface_c })
    }

    /// Pressure of the water in the air, hPa.
    #[must_use]
    pub fn vapour_pressure_hpa(&self) -> f64 {
        self.humidity_percent / 100.0 * OVER_WATER.pressure_hpa(self.air_c)
    }

    /// Temperature at which water condenses, degrees C.
    #[must_use]
    pub fn dew_point_c(&self) -> f64 {
        OVER_WATER.temperature_c(self.vapour_pressure_hpa())
    }

    /// Temperature at which ice forms, degrees C: `None` where the dew point is not below 0. It lies between the two.
    #[must_use]
    pub fn frost_point_c(&self) -> Option<f64> {
        let frost_point_c = OVER_ICE.temperature_c(self.vapour_pressure_hpa());
        (self.dew_point_c() < 0.0).then(|| frost_point_c.min(0.0))
    }

    /// Panel less dew point, degrees C.
    #[must_use]
    pub fn margin_c(&self) -> f64 {
        self.surface_c - self.dew_point_c()
    }

    /// What the rules of practice say against laying a coating now.
    #[must_use]
    pub fn cautions(&self) -> Vec<Caution> {
        let mut cautions = Vec::new();
        let margin_c = self.margin_c();
        let frost_margin_c = self.frost_point_c().map(|frost_point_c| self.surface_c - frost_point_c);
        match frost_margin_c {
            Some(margin_c) if margin_c <= 0.0 => cautions.push(Caution::Frost { margin_c }),
            _ if margin_c <= 0.0 => cautions.push(Caution::Wet { margin_c }),
            _ if margin_c < LEAST_MARGIN_C => cautions.push(Caution::Near { margin_c }),
            _ => {}
        }
        if self.humidity_percent >= MOST_HUMIDITY_PERCENT {
            cautions.push(Caution::Humid { percent: self.humidity_percent });
        }
        cautions
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn dew_point_c(air_c: f64, humidity_percent: f64) -> f64 {
        Climate::new(air_c, humidity_percent, 20.0).unwrap().dew_point_c()
    }

    #[track_caller]
    fn close(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{got} {want}");
    }

    #[test]
    fn dew_points_are_those_of_the_coefficients() {
        // [C] rows: air; columns: 30 40 50 60 70 80 85 90 %
        let table = [
            (5.0, [-11.17, -7.50, -4.57, -2.13, -0.02, 1.84, 2.69, 3.50]),
            (10.0, [-6.80, -2.99, 0.05, 2.59, 4.78, 6.71, 7.59, 8.43]),
            (15.0, [-2.45, 1.50, 4.66, 7.30, 9.57, 11.58, 12.50, 13.37]),
            (20.0, [1.89, 5.99, 9.26, 12.00, 14.36, 16.44, 17.40, 18.31]),
            (25.0, [6.22, 10.47, 13.86, 16.70, 19.15, 21.31, 22.30, 23.24]),
            (30.0, [10.54, 14.93, 18.45, 21.39, 23.93, 26.17, 27.20, 28.18]),
            (35.0, [14.85, 19.39, 23.03, 26.08, 28.71, 31.03, 32.10, 33.11]),
            (40.0, [19.14, 23.84, 27.60, 30.76, 33.48, 35.89, 36.99, 38.04]),
        ];
        for (air_c, row) in table {
            for (humidity, printed) in [30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 85.0, 90.0].into_iter().zip(row) {
                close(dew_point_c(air_c, humidity), printed, 0.51e-2);
            }
        }
    }

    #[test]
    fn dew_points_agree_with_an_independent_formula() {
        // [C] ASHRAE's by psychrolib; the two formulas differ by up to 0.02
        let table = [
            (20.0, 50.0, 9.272),
            (25.0, 60.0, 16.701),
            (30.0, 55.0, 19.976),
            (10.0, 80.0, 6.713),
            (35.0, 40.0, 19.385),
            (20.0, 85.0, 17.403),
            (40.0, 20.0, 12.783),
        ];
        for (air_c, humidity, printed) in table {
            close(dew_point_c(air_c, humidity), printed, 0.02);
        }
        // [C] saturation pressure, hPa
        close(OVER_WATER.pressure_hpa(20.0), 23.3344, 0.5e-4);
        close(OVER_WATER.pressure_hpa(25.0), 31.6174, 0.5e-4);
    }

    #[test]
    fn published_examples_hold() {
        // [S] "30 degrees C and 55 %: surface of 20 degrees C or less"
        close(dew_point_c(30.0, 55.0), 19.98, 0.51e-2);
        // [S] an American chart, 70 F and 65 %: 57 F truncated from 57.70
        let fahrenheit = dew_point_c((70.0 - 32.0) / 1.8, 65.0) * 1.8 + 32.0;
        close(fahrenheit, 57.70, 0.5e-2);
    }

    #[test]
    fn an_american_chart_agrees_as_far_as_it_can() {
        // [S] degrees F, air 20 to 120 by 10; its own error runs from -3.15 to 2.66 [C]
        let chart = [
            (90.0, [18, 28, 37, 47, 57, 67, 77, 87, 97, 107, 117]),
            (80.0, [16, 25, 34, 44, 54, 63, 73, 82, 93, 102, 110]),
            (70.0, [13, 22, 31, 40, 50, 60, 68, 78, 88, 96, 105]),
            (60.0, [11, 19, 27, 36, 45, 55, 64, 73, 83, 92, 101]),
            (50.0, [6, 15, 23, 31, 40, 50, 59, 67, 77, 86, 94]),
            (40.0, [1, 11, 18, 26, 35, 43, 52, 61, 69, 78, 87]),
            (30.0, [-6, 4, 13, 20, 28, 36, 44, 52, 61, 69, 77]),
        ];
        let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for (humidity, row) in chart {
            for (air_f, printed) in (20..=120).step_by(10).zip(row) {
                let error = f64::from(printed) - (dew_point_c((f64::from(air_f) - 32.0) / 1.8, humidity) * 1.8 + 32.0);
                (least, most) = (least.min(error), most.max(error));
            }
        }
        close(least, -3.15, 0.51e-2);
        close(most, 2.66, 0.51e-2);
    }

    #[test]
    fn below_freezing_ice_forms_before_dew() {
        let cold = Climate::new(0.0, 50.0, -9.0).unwrap();
        let frost_point_c = cold.frost_point_c().unwrap();
        assert!(cold.dew_point_c() < frost_point_c && frost_point_c < 0.0);
        close(OVER_ICE.pressure_hpa(frost_point_c), cold.vapour_pressure_hpa(), 1e-12);
        // [M] saturation over ice at -10 degrees C is 2.60 hPa
        close(OVER_ICE.pressure_hpa(-10.0), 2.60, 0.5e-2);
        assert!(matches!(cold.cautions()[..], [Caution::Frost { .. }]));
        assert_eq!(Climate::new(20.0, 50.0, 20.0).unwrap().frost_point_c(), None);
    }

    #[test]
    fn the_rules_of_practice_say_when_to_wait() {
        let cautions = |air_c, humidity, surface_c| Climate::new(air_c, humidity, surface_c).unwrap().cautions();
        assert_eq!(cautions(20.0, 50.0, 20.0), []);
        assert!(matches!(cautions(30.0, 55.0, 20.0)[..], [Caution::Near { .. }]));
        assert!(matches!(cautions(30.0, 55.0, 19.0)[..], [Caution::Wet { .. }]));
        assert_eq!(cautions(20.0, 85.0, 25.0), [Caution::Humid { percent: 85.0 }]);
        assert!(matches!(cautions(20.0, 90.0, 19.0)[..], [Caution::Near { .. }, Caution::Humid { .. }]));
    }

    #[test]
    fn cautions_are_sentences() {
        assert_eq!(Caution::Near { margin_c: 1.25 }.to_string(), "the panel is only 1.2 degrees C above the dew point: wait until it is 3");
        assert_eq!(Caution::Wet { margin_c: -0.5 }.to_string(), "the panel is 0.5 degrees C below the dew point: water condenses on it");
    }

    #[test]
    fn numbers_that_no_bay_has_are_refused() {
        assert_eq!(Climate::new(51.0, 50.0, 20.0), Err(ClimateError::Air(51.0)));
        assert_eq!(Climate::new(20.0, 0.0, 20.0), Err(ClimateError::Humidity(0.0)));
        assert_eq!(Climate::new(20.0, 101.0, 20.0), Err(ClimateError::Humidity(101.0)));
        assert_eq!(Climate::new(20.0, 50.0, 200.0), Err(ClimateError::Surface(200.0)));
        assert!(Climate::new(f64::NAN, 50.0, 20.0).is_err());
    }
}
