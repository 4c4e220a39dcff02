//! Pictures that are no photographs of scratches.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use lastmicron_look::scratches::{Frame, Line, Measured, outstanding, pair, split};
use lastmicron_raster::{Mask, Plane};
use proptest::prelude::*;

/// A lamp's glow with rings in it and noise, of which some pixels are no number.
fn picture([width, height]: [usize; 2], lamp: [f64; 2], [rings, noise, holes]: [f64; 3]) -> (Plane, Mask) {
    let even = |at: usize| ((at as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 40) as f64 / f64::from(1 << 24);
    let light = |at: usize| {
        let away = ((at % width) as f64 - lamp[0]).hypot((at / width) as f64 - lamp[1]) / width as f64;
        let glow = 20.0 + 230.0 * (-0.5 * (away / 0.03).powi(2)).exp() + 30.0 * (-away / 0.3).exp();
        if even(at + 7) < holes { f64::NAN } else { glow + rings * (away * 400.0).sin().powi(16) + noise * even(at) }
    };
    let light = Plane::new(width, height, (0..width * height).map(|at| light(at) as f32).collect()).unwrap();
    let clipped = Mask::above(&light, 240.0);
    (light, clipped)
}

fn is_sane(measured: &Measured) -> bool {
    [measured.gone, measured.visible].iter().all(|share| {
        0.0 <= share.low && share.low < share.high && share.low <= share.estimate && share.estimate <= share.high && share.high <= 1.0
    }) && [measured.untouched, measured.worked]
        .iter()
        .all(|length| 0.0 <= length.low && length.low < length.high && length.high.is_finite())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn shares_are_shares_or_there_is_trouble(
        size in (1_usize..900, 1_usize..700),
        place in (0.0..1.2, 0.0..1.2),
        look in (0.0..60.0, 0.0..40.0, prop::sample::select(vec![0.0, 0.0, 0.001])),
        line in prop::array::uniform6(-0.2..1.2),
    ) {
        let size = [size.0, size.1];
        let lamp = [place.0 * size[0] as f64, place.1 * size[1] as f64];
        let (light, clipped) = picture(size, lamp, [look.0, look.1, look.2]);
        let (after, clipped_after) = picture(size, lamp, [0.5 * look.0, look.1, 0.0]);
        let frame = Frame { light: &light, clipped: &clipped };
        let point = |at: usize| [line[at] * size[0] as f64, line[at + 1] * size[1] as f64];
        if let Ok(line) = Line::new(point(0), point(2), point(4))
            && let Ok(measured) = split(frame, &line)
        {
            prop_assert!(is_sane(&measured), "{measured:?}");
            prop_assert!(outstanding(&light, &measured.compared[0].pixels).is_ok());
        }
        if let Ok(measured) = pair(frame, Frame { light: &after, clipped: &clipped_after }) {
            prop_assert!(is_sane(&measured), "{measured:?}");
        }
    }
}
