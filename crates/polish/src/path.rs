//! The way of the pad's centre over a section, as places and the time spent at each.

use crate::equipment::Use;

/// Most samples of a path. Judgement: a section of a square metre worked for an hour at 40 mm/s, each millimetre, is 144,000.
const MOST_SAMPLES: f64 = 2_000_000.0;

/// Time spent with the pad's mean centre at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stay {
    /// From the left, mm.
    pub x_mm: f64,
    /// From the bottom, mm.
    pub y_mm: f64,
    /// How long, s.
    pub seconds: f64,
}

/// How passes follow each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hatch {
    /// All passes along x.
    Parallel,
    /// Along x and along y in turn.
    Crossed,
}

/// A rectangle over which the pad's centre runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// Left side, mm.
    pub x_mm: f64,
    /// Bottom side, mm.
    pub y_mm: f64,
    /// Width, mm; 0 is a single stroke upwards.
    pub width_mm: f64,
    /// Height, mm; 0 is a single stroke across.
    pub height_mm: f64,
}

/// Why there is no path.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum PathError {
    /// A section without a place or a size.
    #[error(
        "a section {width_mm} x {height_mm} mm at ({x_mm}, {y_mm}): it must have a place and a size of 0 or more, not both 0; is the pad wider than the panel?"
    )]
    Section {
        /// Left side, mm.
        x_mm: f64,
        /// Bottom side, mm.
        y_mm: f64,
        /// Width, mm.
        width_mm: f64,
        /// Height, mm.
        height_mm: f64,
    },
    /// An overlap that leaves no way forward.
    #[error("an overlap of {0}: it must be 0 or more and below 1, a share of the pad's width")]
    Overlap(f64),
    /// A pad without a size.
    #[error("a pad of {0} mm: its diameter must be a number above 0")]
    Diameter(f64),
    /// An arm that does not move.
    #[error("an arm speed of {0} mm/s: it must be a number above 0")]
    ArmSpeed(f64),
    /// A distance between samples that is none.
    #[error("samples every {0} mm: it must be a number above 0")]
    Sample(f64),
    /// No pass.
    #[error("0 passes: at least one")]
    NoPass,
    /// More samples than can be worked with.
    #[error("{samples:.0} samples: {MOST_SAMPLES:.0} at most; take them farther apart")]
    TooMany {
        /// How many there would be.
        samples: f64,
    },
}

impl Section {
    /// The section within this one whose sides are `margin_mm` from it: for a pad to stay inside, its radius and that of its orbit.
    #[must_use]
    pub fn inset(self, margin_mm: f64) -> Self {
        Self {
            x_mm: self.x_mm + margin_mm,
            y_mm: self.y_mm + margin_mm,
            width_mm: self.width_mm - 2.0 * margin_mm,
            height_mm: self.height_mm - 2.0 * margin_mm,
        }
    }
}

/// The path of a pad's centre over all of `section`: strokes to and fro, as far apart as the overlap says or a little less so that they end at its
/// side, and the steps between them, all at the speed of the arm. Each pass begins at the lower left; the way back there is not counted.
/// Strokes and steps are cut into equal pieces of at most `sample_mm`; a piece's time is spent at its middle, so that times add up exactly.
///
/// # Errors
/// [`PathError`] for what is not a number or out of range.
pub fn section_path(section: Section, diameter_mm: f64, arm: &Use, hatch: Hatch, sample_mm: f64) -> Result<Vec<Stay>, PathError> {
    let Section { x_mm, y_mm, width_mm, height_mm } = section;
    let sane = [x_mm, y_mm, width_mm, height_mm].iter().all(|value| value.is_finite());
    if !(sane && width_mm >= 0.0 && height_mm >= 0.0 && width_mm + height_mm > 0.0) {
        return Err(PathError::Section { x_mm, y_mm, width_mm, height_mm });
    }
    let positive = |value: f64| value > 0.0 && value.is_finite();
    if !positive(diameter_mm) {
        return Err(PathError::Diameter(diameter_mm));
    }
    if !(0.0..1.0).contains(&arm.overlap) {
        return Err(PathError::Overlap(arm.overlap));
    }
    if !positive(arm.arm_speed_mm_s) {
        return Err(PathError::ArmSpeed(arm.arm_speed_mm_s));
    }
    if !positive(sample_mm) {
        return Err(PathError::Sample(sample_mm));
    }
    if arm.passes == 0 {
        return Err(PathError::NoPass);
    }
    let apart_mm = diameter_mm * (1.0 - arm.overlap);
    let longest = (width_mm.max(height_mm) / apart_mm + 2.0) * (width_mm.max(height_mm) + apart_mm);
    let samples = f64::from(arm.passes) * (longest / sample_mm + 2.0 * (longest / apart_mm + 2.0).min(longest));
    if samples > 4.0 * MOST_SAMPLES {
        return Err(PathError::TooMany { samples });
    }
    let mut path = Vec::new();
    for pass in 0..arm.passes {
        let is_upwards = width_mm <= 0.0 || (height_mm > 0.0 && hatch == Hatch::Crossed && pass % 2 == 1);
        let (along_mm, across_mm) = if is_upwards { (height_mm, width_mm) } else { (width_mm, height_mm) };
        let turned = |[along, across]: [f64; 2]| if is_upwards { [x_mm + across, y_mm + along] } else { [x_mm + along, y_mm + across] };
        let corners: Vec<[f64; 2]> = corners(along_mm, across_mm, apart_mm).into_iter().map(turned).collect();
        for leg in corners.windows(2) {
            if let [from, to] = leg {
                walk(*from, *to, sample_mm, arm.arm_speed_mm_s, &mut path);
            }
        }
    }
    if path.len() as f64 > MOST_SAMPLES {
        return Err(PathError::TooMany { samples: path.len() as f64 });
    }
    Ok(path)
}

/// Where strokes to and fro begin and end.
fn corners(along_mm: f64, across_mm: f64, apart_mm: f64) -> Vec<[f64; 2]> {
    // A billionth of a stroke is rounding.
    let gaps = (across_mm / apart_mm - 1e-9).ceil().max(0.0);
    let across = |stroke: usize| if gaps > 0.0 { across_mm * stroke as f64 / gaps } else { 0.0 };
    let ends = |stroke: usize| if stroke.is_multiple_of(2) { [0.0, along_mm] } else { [along_mm, 0.0] };
    (0..=gaps as usize).flat_map(|stroke| ends(stroke).map(|along| [along, across(stroke)])).collect()
}

/// Adds the pieces of a straight leg.
fn walk(from: [f64; 2], to: [f64; 2], sample_mm: f64, speed_mm_s: f64, path: &mut Vec<Stay>) {
    let length_mm = f64::hypot(to[0] - from[0], to[1] - from[1]);
    let pieces = (length_mm / sample_mm - 1e-9).ceil().max(0.0);
    let seconds = length_mm / speed_mm_s / pieces;
    path.extend((0..pieces as usize).map(|piece| {
        let share = (piece as f64 + 0.5) / pieces;
        Stay { x_mm: from[0] + share * (to[0] - from[0]), y_mm: from[1] + share * (to[1] - from[1]), seconds }
    }));
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn arm(overlap: f64, passes: u32) -> Use {
        Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap, passes }
    }

    const SECTION: Section = Section { x_mm: 10.0, y_mm: 20.0, width_mm: 300.0, height_mm: 200.0 };

    #[test]
    fn crossed_passes_run_along_each_side_in_turn() {
        // [D] a pad of 100 mm, half over: strokes 50 mm apart. Along x 5 strokes of 300 and 4 steps of 50, along y 7 of 200 and 6 of 50.
        let path = section_path(SECTION, 100.0, &arm(0.5, 2), Hatch::Crossed, 2.0).unwrap();
        let seconds: f64 = path.iter().map(|stay| stay.seconds).sum();
        assert!((seconds - (5.0 * 300.0 + 4.0 * 50.0 + 7.0 * 200.0 + 6.0 * 50.0) / 40.0).abs() < 1e-9, "{seconds}");
        assert_eq!(path[0], Stay { x_mm: 11.0, y_mm: 20.0, seconds: 0.05 });
        let parallel = section_path(SECTION, 100.0, &arm(0.5, 2), Hatch::Parallel, 2.0).unwrap();
        assert_eq!(parallel.len(), 2 * (5 * 150 + 4 * 25));
    }

    #[test]
    fn strokes_lie_a_little_closer_when_they_do_not_fit() {
        // [D] 200 mm at 60 mm apart: four gaps of 50.
        let path = section_path(SECTION, 100.0, &arm(0.4, 1), Hatch::Parallel, 300.0).unwrap();
        let strokes: Vec<f64> = path.iter().filter(|stay| stay.seconds > 5.0).map(|stay| stay.y_mm).collect();
        assert_eq!(strokes, [20.0, 70.0, 120.0, 170.0, 220.0]);
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        let refused = |section, diameter, arm: Use, sample| section_path(section, diameter, &arm, Hatch::Crossed, sample).unwrap_err();
        assert!(matches!(refused(SECTION.inset(101.0), 100.0, arm(0.5, 1), 2.0), PathError::Section { .. }));
        assert_eq!(refused(SECTION, 100.0, arm(1.0, 1), 2.0), PathError::Overlap(1.0));
        assert_eq!(refused(SECTION, 0.0, arm(0.5, 1), 2.0), PathError::Diameter(0.0));
        assert_eq!(refused(SECTION, 100.0, arm(0.5, 0), 2.0), PathError::NoPass);
        assert_eq!(refused(SECTION, 100.0, arm(0.5, 1), 0.0), PathError::Sample(0.0));
        assert_eq!(refused(SECTION, 100.0, Use { arm_speed_mm_s: -1.0, ..arm(0.5, 1) }, 2.0), PathError::ArmSpeed(-1.0));
        assert!(matches!(refused(SECTION, 100.0, arm(0.5, 1), 1e-9), PathError::TooMany { .. }));
        assert!(matches!(refused(SECTION, 1e-9, arm(0.5, 1), 2.0), PathError::TooMany { .. }));
        assert!(matches!(refused(SECTION, 100.0, arm(0.5, u32::MAX), 2.0), PathError::TooMany { .. }));
    }

    proptest! {
        #[test]
        fn a_path_stays_in_its_section_and_takes_its_length_over_the_speed(
            width_mm in 0.0..500.0_f64, height_mm in 1.0..500.0_f64, diameter in 20.0..200.0_f64, overlap in 0.0..0.9_f64, passes in 1..5u32, sample in 1.0..50.0_f64,
        ) {
            let section = Section { x_mm: 5.0, y_mm: -3.0, width_mm, height_mm };
            let path = section_path(section, diameter, &arm(overlap, passes), Hatch::Crossed, sample).unwrap();
            for stay in &path {
                prop_assert!(stay.x_mm >= 5.0 - 1e-9 && stay.x_mm <= 5.0 + width_mm + 1e-9);
                prop_assert!(stay.y_mm >= -3.0 - 1e-9 && stay.y_mm <= -3.0 + height_mm + 1e-9);
                prop_assert!(stay.seconds > 0.0 && stay.seconds * 40.0 <= sample * (1.0 + 1e-6));
            }
            let area = |stays: &[Stay]| stays.iter().map(|stay| stay.seconds).sum::<f64>();
            prop_assert!(area(&path) * 40.0 >= f64::from(passes) * width_mm.min(height_mm) - 1e-6);
        }
    }
}
