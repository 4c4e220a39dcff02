//! How many readings a surface takes by the rule of practice for structures, and which spots it accepts.
//!
//! Source: SSPC-PA 2, "Procedure for determining conformance to dry coating thickness requirements" (1996/2002, 2004, 2015).
//! It is a rule for accepting paint that may be too thin, and lets single spots be a fifth thinner than asked: it says nothing of
//! how much may be taken off, and this tool does not use it as a margin.

/// Readings averaged into a spot, inside a circle of 40 mm.
pub const READINGS_PER_SPOT: u32 = 3;

/// Spots averaged into an area of about 10 m2.
pub const SPOTS_PER_AREA: u32 = 5;

/// Square feet of one area.
const AREA_FT2: f64 = 100.0;

/// Up to here every area is measured.
const EVERY_AREA_UP_TO_FT2: f64 = 300.0;

/// Up to here three areas are measured, and one more for each further such surface or part of it.
const THREE_AREAS_UP_TO_FT2: f64 = 1000.0;

/// Areas, spots and readings of one surface.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Survey {
    /// Areas of about 10 m2 (100 ft2).
    pub areas: u32,
    /// Spots in them.
    pub spots: u32,
    /// Readings in those.
    pub readings: u32,
}

/// How far a spot may lie from the range asked for. The mean of an area must lie within the range at every level.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    /// Spots within the range.
    One,
    /// Up to 120 % of the most.
    Two,
    /// From 80 % of the least to 120 % of the most: the level where none is stated.
    Three,
    /// From 80 % of the least to 150 % of the most.
    Four,
    /// From 80 % of the least upwards.
    Five,
}

/// The areas to measure on `ft2` square feet (the rule's metric figures are not exact equivalents, and are not converted).
/// `None` unless `ft2` is more than 0 and less than ten million.
#[must_use]
pub fn survey(ft2: f64) -> Option<Survey> {
    if !(ft2 > 0.0 && ft2 < 1e7) {
        return None;
    }
    let areas = if ft2 <= EVERY_AREA_UP_TO_FT2 {
        (ft2 / AREA_FT2).ceil()
    } else {
        3.0 + ((ft2 - THREE_AREAS_UP_TO_FT2) / THREE_AREAS_UP_TO_FT2).ceil().max(0.0)
    };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a whole number from 1 to ten thousand")]
    let areas = areas as u32;
    let spots = areas * SPOTS_PER_AREA;
    Some(Survey { areas, spots, readings: spots * READINGS_PER_SPOT })
}

/// Least and most that a spot may be for a range `least` to `most`, in any one unit; the most is `None` where there is none.
#[must_use]
pub fn spot_limits(least: f64, most: f64, level: Level) -> (f64, Option<f64>) {
    match level {
        Level::One => (least, Some(most)),
        Level::Two => (least, Some(1.2 * most)),
        Level::Three => (0.8 * least, Some(1.2 * most)),
        Level::Four => (0.8 * least, Some(1.5 * most)),
        Level::Five => (0.8 * least, None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn surfaces_take_the_printed_numbers_of_readings() {
        // 2,800 ft2 [S]; others by the same rule [C]. 250 ft2 are three areas, each begun one counted.
        let table = [
            (2800.0, 5, 25, 75),
            (28_000.0, 30, 150, 450),
            (12_500.0, 15, 75, 225),
            (900.0, 3, 15, 45),
            (250.0, 3, 15, 45),
            (90.0, 1, 5, 15),
        ];
        for (ft2, areas, spots, readings) in table {
            assert_eq!(survey(ft2), Some(Survey { areas, spots, readings }), "{ft2}");
        }
        assert_eq!((survey(0.0), survey(f64::NAN), survey(1e9)), (None, None, None));
    }

    #[test]
    fn spots_are_accepted_by_their_level() {
        // 8 to 12 mil: 6.4 and 14.4 [S]; other levels [M], table 1 of the 2012 text
        let (least, most) = spot_limits(8.0, 12.0, Level::Three);
        assert!((least - 6.4).abs() < 1e-12 && (most.unwrap() - 14.4).abs() < 1e-12);
        assert_eq!(spot_limits(8.0, 12.0, Level::One), (8.0, Some(12.0)));
        assert!((spot_limits(8.0, 12.0, Level::Two).1.unwrap() - 14.4).abs() < 1e-12);
        assert!((spot_limits(8.0, 12.0, Level::Four).1.unwrap() - 18.0).abs() < 1e-12);
        assert_eq!(spot_limits(8.0, 12.0, Level::Five), (6.4, None));
    }
}
