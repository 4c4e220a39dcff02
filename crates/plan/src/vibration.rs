//! Hand-arm vibration of a day's work.
//!
//! Source of the daily exposure, its points and its two values: Directive 2002/44/EC and ISO 5349-1:2001. A declared value of a
//! machine comes from a type test that may read far below real use: measure in use, or add the declared uncertainty. Count the time
//! that the trigger is held. Local law decides.

/// Daily exposure from which steps must be taken, m/s2. Directive 2002/44/EC, article 3.
pub const ACTION_M_S2: f64 = 2.5;

/// Daily exposure that must not be passed, m/s2. Directive 2002/44/EC, article 3.
pub const LIMIT_M_S2: f64 = 5.0;

/// Points of the action value, by the usual reckoning; the limit has four times as many.
const ACTION_POINTS: f64 = 100.0;

/// The day to which exposures are referred, hours.
const DAY_HOURS: f64 = 8.0;

/// Most vibration taken, m/s2. Judgement: the worst breakers are near 40; more is a slip of the pen.
const MOST_M_S2: f64 = 1000.0;

/// Use of one machine in a day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tool {
    /// Frequency-weighted vibration of the worse hand, all three axes together, m/s2.
    pub m_s2: f64,
    /// Hours of the trigger held.
    pub hours: f64,
}

/// What a day's tools add up to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Exposure {
    /// Daily exposure A(8), m/s2.
    pub a8_m_s2: f64,
    /// Points: 100 at the action value, 400 at the limit.
    pub points: f64,
    /// Hours of the same mix until the action value is reached; `None` when it never is. May be more than a day has.
    pub hours_to_action: Option<f64>,
    /// Hours of the same mix until the limit is reached; `None` when it never is.
    pub hours_to_limit: Option<f64>,
}

/// Why there is no exposure.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum VibrationError {
    /// A vibration that no tool has.
    #[error("a vibration of {0} m/s2: it must lie between 0 and 1000")]
    Vibration(f64),
    /// Hours that no day has.
    #[error("{0} hours: a tool's hours must lie between 0 and 24")]
    Hours(f64),
    /// Together more than a day.
    #[error("{0} hours with all tools together: a day has 24")]
    Day(f64),
}

/// The exposure of a day with `tools`: A(8) = sqrt(sum of m_s2^2 x hours / 8).
///
/// # Errors
/// [`VibrationError`] for numbers out of range.
pub fn exposure(tools: &[Tool]) -> Result<Exposure, VibrationError> {
    for tool in tools {
        if !(0.0..=MOST_M_S2).contains(&tool.m_s2) {
            return Err(VibrationError::Vibration(tool.m_s2));
        }
        if !(0.0..=24.0).contains(&tool.hours) {
            return Err(VibrationError::Hours(tool.hours));
        }
    }
    let hours: f64 = tools.iter().map(|tool| tool.hours).sum();
    // A hair over, so that hours that add up to 24 in decimals do so here.
    if hours > 24.0 + 1e-9 {
        return Err(VibrationError::Day(hours));
    }
    let squares: f64 = tools.iter().map(|tool| tool.m_s2.powi(2) * tool.hours / DAY_HOURS).sum();
    let until = |value: f64| (squares > 0.0).then(|| hours * value.powi(2) / squares).filter(|hours| hours.is_finite());
    Ok(Exposure {
        a8_m_s2: squares.sqrt(),
        points: ACTION_POINTS * squares / ACTION_M_S2.powi(2),
        hours_to_action: until(ACTION_M_S2),
        hours_to_limit: until(LIMIT_M_S2),
    })
}

/// Vibration of three axes together, m/s2. ISO 5349-1:2001, 4.5.
#[must_use]
pub fn three_axes_m_s2(x_m_s2: f64, y_m_s2: f64, z_m_s2: f64) -> f64 {
    f64::hypot(f64::hypot(x_m_s2, y_m_s2), z_m_s2)
}

/// Years of daily exposure after which one in ten has a white finger: 31.8 A(8)^-1.06. ISO 5349-1:2001, annex C.
#[must_use]
pub fn years_to_white_finger(a8_m_s2: f64) -> f64 {
    31.8 * a8_m_s2.powf(-1.06)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(tools: &[(f64, f64)]) -> Exposure {
        exposure(&tools.iter().map(|&(m_s2, hours)| Tool { m_s2, hours }).collect::<Vec<Tool>>()).unwrap()
    }

    #[track_caller]
    fn close(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{got} {want}");
    }

    #[test]
    fn five_for_three_hours_is_150_points() {
        // [S] a regulator's ready reckoner
        close(of(&[(5.0, 3.0)]).points, 150.0, 1e-12);
        close(of(&[(2.5, 8.0)]).points, 100.0, 1e-12);
        close(of(&[(5.0, 8.0)]).points, 400.0, 1e-12);
    }

    #[test]
    fn times_to_the_action_and_limit_values_are_the_published_ones() {
        // [S] hours to action and to limit; 8 m/s2 is 46.875 and 187.5 min [C]
        let table = [(20.0, 7.5 / 60.0, 0.5), (8.0, 46.875 / 60.0, 187.5 / 60.0), (5.0, 2.0, 8.0), (2.5, 8.0, 32.0)];
        for (m_s2, action, limit) in table {
            let got = of(&[(m_s2, 1.3)]);
            close(got.hours_to_action.unwrap(), action, 1e-12);
            close(got.hours_to_limit.unwrap(), limit, 1e-12);
        }
    }

    #[test]
    fn partial_exposures_add_in_squares_and_points_add() {
        // [M] the European guide's fettler, printed 4.3; digits [C]
        for (tool, partial, points) in [((4.0, 2.5), 2.2361, 80.0), ((3.0, 1.0), 1.0607, 18.0), ((20.0, 0.25), 3.5355, 200.0)] {
            close(of(&[tool]).a8_m_s2, partial, 0.5e-4);
            close(of(&[tool]).points, points, 1e-10);
        }
        let got = of(&[(4.0, 2.5), (3.0, 1.0), (20.0, 0.25)]);
        close(got.a8_m_s2, 4.315_67, 0.5e-5);
        close(got.points, 298.0, 1e-10);
        close(got.a8_m_s2, ACTION_M_S2 * (got.points / 100.0).sqrt(), 1e-12);
        let got = of(&[(8.0, 0.5), (5.0, 3.0)]);
        close(got.points, 214.0, 1e-10);
        close(got.a8_m_s2, 3.657_18, 0.5e-5);
    }

    #[test]
    fn hours_of_a_mix_scale_the_mix() {
        let mix = [(4.0, 2.5), (3.0, 1.0), (20.0, 0.25)];
        let scale = of(&mix).hours_to_limit.unwrap() / 3.75;
        let scaled: Vec<(f64, f64)> = mix.iter().map(|(m_s2, hours)| (*m_s2, hours * scale)).collect();
        close(of(&scaled).a8_m_s2, LIMIT_M_S2, 1e-12);
    }

    #[test]
    fn a_day_without_vibration_never_reaches_a_value() {
        for tools in [&[][..], &[(0.0, 5.0)], &[(9.0, 0.0)]] {
            let got = of(tools);
            assert_eq!((got.points, got.hours_to_action, got.hours_to_limit), (0.0, None, None));
        }
    }

    #[test]
    fn years_to_white_finger_are_the_annexs() {
        // [M] the annex prints 8, 4, 2 and 1; digits [C]
        for (a8, years, tolerance) in [(3.7, 7.95, 0.5e-2), (7.0, 4.04, 0.5e-2), (14.0, 1.94, 0.5e-2), (26.0, 1.006, 0.5e-3)] {
            close(years_to_white_finger(a8), years, tolerance);
        }
    }

    #[test]
    fn axes_add_in_squares() {
        close(three_axes_m_s2(2.0, 3.0, 6.0), 7.0, 1e-15);
    }

    #[test]
    fn numbers_that_no_day_has_are_refused() {
        let refused = |m_s2, hours| exposure(&[Tool { m_s2, hours }]).unwrap_err();
        assert_eq!(refused(-1.0, 1.0), VibrationError::Vibration(-1.0));
        assert_eq!(refused(1.0, 25.0), VibrationError::Hours(25.0));
        assert!(matches!(refused(f64::NAN, 1.0), VibrationError::Vibration(_)));
        assert_eq!(exposure(&[Tool { m_s2: 1.0, hours: 13.0 }; 2]), Err(VibrationError::Day(26.0)));
    }
}
