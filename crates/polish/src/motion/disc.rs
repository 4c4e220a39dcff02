//! The speed of an orbiting, spinning disc, as the mean over its face.

use std::f64::consts::PI;

use lastmicron_numerics::elliptic::{complete_first, complete_second};

/// Ratio of orbit to rim speed from which the series is summed: the closed form loses as many digits as the ratio's square has. Judgement: at 2
/// it has lost one, and the series of [`TERMS`] is exact.
const SERIES_FROM: f64 = 2.0;

/// Terms of the series: at the ratio 2 each is below a quarter of the one before, so that the last is below 1e-18.
const TERMS: usize = 30;

/// Mean over a disc's face of the mean speed of its points: `orbit` everywhere, and a spin that is `rim` fast at the rim.
///
/// With d = orbit / rim: rim (4 / (9 pi)) ((7 + d^2) E(d^2) - 4 (1 - d^2) K(d^2)) for d up to 1, the mean distance of a disc's points from one
/// inside it \[D\]; beyond, the same continued by the reciprocal modulus, and orbit (1 + s/8 + s^2/192 + ...), s = 1 / d^2.
pub(super) fn mean(orbit: f64, rim: f64) -> f64 {
    if orbit <= rim {
        let m = if rim > 0.0 { (orbit / rim).powi(2) } else { 0.0 };
        rim * 4.0 / (9.0 * PI) * ((7.0 + m) * complete_second(m) - 4.0 * shrunk_first(m))
    } else if orbit < SERIES_FROM * rim {
        let (d, m) = (orbit / rim, (rim / orbit).powi(2));
        rim * 4.0 / (9.0 * PI) * d * ((7.0 + d * d) * complete_second(m) - (d * d + 3.0) * shrunk_first(m))
    } else {
        orbit * series((rim / orbit).powi(2))
    }
}

/// (1 - m) K(m), which is 0 at 1.
fn shrunk_first(m: f64) -> f64 {
    if m < 1.0 { (1.0 - m) * complete_first(m) } else { 0.0 }
}

/// Sum of binomial(1/2, n)^2 s^n / (n + 1).
fn series(s: f64) -> f64 {
    let (mut sum, mut binomial, mut power, mut n) = (0.0, 1.0, 1.0, 0.0);
    for _ in 0..TERMS {
        sum += binomial * binomial * power / (n + 1.0);
        binomial *= (0.5 - n) / (n + 1.0);
        power *= s;
        n += 1.0;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mean_over_a_disc_is_that_of_its_points_on_both_sides_of_every_branch() {
        // orbit, rim, mean: [C] mpmath 1.4.1, the mean of E(m) over the disc by quadrature in 30 digits
        let table = [
            (1.0, 2.0, 1.579_340_465_174_529),
            (1.0, 1.001, 1.132_051_639_188_493),
            (1.0, 0.999, 1.131_485_753_640_495),
            (1.0, 0.5, 1.031_592_110_402_327),
            (1.0, 0.1, 1.001_250_521_812_96),
            (0.3, 1.0, 0.711_411_601_870_530_5),
        ];
        for (orbit, rim, wanted) in table {
            assert!((mean(orbit, rim) - wanted).abs() < 1e-14, "{orbit} {rim}: {}", mean(orbit, rim));
        }
        // [D] the mean distance of a disc's points from one on its rim is 32 R / (9 pi)
        assert!((mean(1.0, 1.0) - 32.0 / (9.0 * PI)).abs() < 1e-15);
        assert!(mean(0.0, 0.0).abs() < 1e-300);
        assert!((mean(1.0, 0.500_000_001) - mean(1.0, 0.5)).abs() < 1e-9);
    }
}
