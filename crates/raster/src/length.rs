//! How long the lines of a skeleton are.

use std::ops::Range;

use crate::hessian::Hessian;
use crate::mask::{Mask, to_the_right};

/// What a link along a row or a column stands for, pixels. With [`ASLANT_PX`] the length of lines is right on average over their directions: Proffitt and
/// Rosen, "Metrication errors and coding efficiency of chain-encoding schemes for the representation of lines and edges", Computer Graphics and Image
/// Processing 10 (1979), 318-332 \[M\].
const STRAIGHT_PX: f64 = 0.948;

/// What a link from corner to corner stands for, pixels.
const ASLANT_PX: f64 = 1.340;

/// Spacing below which two ridges become one, over the root of the sum of squares of the filter's sigma and the ridges' own.
///
/// \[D\] The responses of two Gaussian ridges are two negative second derivatives -G'' side by side. Their sum has two maxima as long as it is bent upwards
/// in the middle, and that ends where t^4 - 6 t^2 + 3 = 0 for half of the spacing t: the spacing is 2 sqrt(3 - sqrt 6).
const LEAST_SPACING: f64 = 1.483_927_568_605_452;

/// Standard deviation of the width over which a ridge hides others, as a share of it. Judgement: ridges' own widths of 0.7 to 1.3 pixels make 15 % at a
/// filter's sigma of 1, and that they fade and run at all angles to each other makes more. Were it smaller, the sd stated would fall short of the errors seen:
/// in the densest invented pictures whose ridges run alike it is half of them already. Larger, it would hide what the estimate knows.
const WIDTH_SD: f64 = 0.25;

/// Side of the squares for which density is estimated, pixels. Judgement: in smaller ones the chance density of a few ridges is taken for the density
/// there, which the correction, being convex, turns into too much (64 pixels: 3 %); larger ones level out that ridges are dense here and sparse there.
const CELL_PX: usize = 256;

/// Greatest product of density found and hiding width (at 1 nothing more could be found). Judgement: here the estimate is 2.2 times what is found; beyond,
/// that factor is held and the place is said to be crowded. Nearer to 1 chance alone would decide; much less would give up where the estimate still holds.
const MOST_HIDDEN: f64 = 0.85;

/// Least cosine between a link and the ridge for the ridge's direction to count. \[D\] A line's links are at most 45 degrees off its direction: 0.71.
/// Judgement: a little less, for errors of direction. Where two ridges cross or touch neither's direction is seen; were those links counted by it too,
/// dense ridges would lose 6 to 8 % of their length.
const LEAST_ALONG: f64 = 0.6;

/// A rectangle of a picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Window {
    /// Its columns.
    pub columns: Range<usize>,
    /// Its rows.
    pub rows: Range<usize>,
}

/// The length of a skeleton's lines, pixels: 0.948 times the links along rows and columns and 1.340 times those from corner to corner. Pixels that touch at
/// a corner are linked when neither of the two pixels beside both is meant.
///
/// Source: Proffitt and Rosen 1979 \[M\]. Right on average over all directions; one straight line is 5.2 % short along a row, a column or a diagonal, and
/// 2.6 % long midway between them \[D\].
#[must_use]
pub fn link_length(skeleton: &Mask) -> f64 {
    let none = vec![0; skeleton.across()];
    let (mut straight, mut aslant) = (0, 0);
    for (row, below) in skeleton.rows().zip(skeleton.rows().skip(1).chain([&none[..]])) {
        for at in 0..row.len() {
            let [right, down, right_down, left_down] = links(row, below, at).map(u64::count_ones);
            straight += right + down;
            aslant += right_down + left_down;
        }
    }
    STRAIGHT_PX * f64::from(straight) + ASLANT_PX * f64::from(aslant)
}

/// The pixels of a row's word that are linked with another: with that to the right, below, below to the right; and the left ones of those whose right
/// neighbour is linked with that below them.
fn links(row: &[u64], below: &[u64], at: usize) -> [u64; 4] {
    let next = |row: &[u64]| to_the_right(row[at], row.get(at + 1).copied().unwrap_or(0));
    let (here, right, down, right_down) = (row[at], next(row), below[at], next(below));
    [here & right, here & down, here & right_down & !right & !down, right & down & !here & !right_down]
}

/// The length of the ridges in a window, pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RidgeLength {
    /// Of the skeleton's lines.
    pub found_px: f64,
    /// Of all ridges, with those that others hide.
    pub estimated_px: f64,
    /// Standard deviation of the estimate, for want of knowing how far a ridge hides others. What was not seen in noise, or is noise, is not in it.
    pub sd_px: f64,
    /// Share of the window that is so crowded that the estimate there is only a lower bound.
    pub crowded: f64,
}

/// The width over which a ridge hides others, pixels: twice the spacing at which two ridges of the width `ridge_sigma` become one in the response of a
/// filter of `sigma`.
#[must_use]
pub fn hiding_width(sigma: f64, ridge_sigma: f64) -> f64 {
    2.0 * LEAST_SPACING * sigma.hypot(ridge_sigma)
}

/// The length of the ridges whose skeleton is given, in a window of the picture.
///
/// **Found.** Each link between two pixels of the skeleton counts as far as it runs along the ridge, whose direction is that of `hessian` (of a sigma of
/// 1.5, say) at its two ends; so a straight line has its length at any angle. Where the direction there is another than the link's, as at crossings, it
/// counts as in [`link_length`].
///
/// **Estimated.** Where ridges are dense some lie so close to others that they are one in the skeleton, and a sum of what is found falls ever more behind.
/// For ridges that lie independently of each other, the density found d and the true one L go together as d = (1 - exp(-c L)) / c, c being `hiding_width`:
/// Matern's second hard-core process, of which those are left that no stronger one hides (Matern, "Spatial variation", 1960, section 3.6 \[M\]; Chiu,
/// Stoyan, Kendall and Mecke, "Stochastic geometry and its applications", 2013, section 5.4 \[M\]). Seen along a ridge, another of length l that crosses at
/// an angle a is met l sin a times and hides c / (2 sin a) on each side, so that c holds for ridges of all directions \[D\]. L is taken by squares of 256
/// pixels.
///
/// In invented pictures with noise, at densities of 0.03 to 0.23, the sum falls from 1.04 to 0.64 of the truth and the estimate from 1.14 to 1.00; where
/// all ridges run alike from 1.02 to 0.56 and from 1.10 to 0.80 (docs/method/ridges.md). A `hiding_width` that is not positive is taken as 0: then nothing
/// is hidden. The window is cut to the picture.
#[must_use]
pub fn ridge_length(skeleton: &Mask, hessian: &Hessian, window: &Window, hiding_width: f64) -> RidgeLength {
    let window = Window {
        columns: window.columns.start..window.columns.end.min(skeleton.width()),
        rows: window.rows.start..window.rows.end.min(skeleton.height()),
    };
    let hiding_width = hiding_width.max(0.0);
    let mut length = RidgeLength { found_px: 0.0, estimated_px: 0.0, sd_px: 0.0, crowded: 0.0 };
    let area = (window.columns.len() * window.rows.len()) as f64;
    for rows in cut(&window.rows) {
        for columns in cut(&window.columns) {
            let cell = (columns.len() * rows.len()) as f64;
            let found = found_px(skeleton, hessian, &columns, &rows);
            let [times, width_times] = behind(found / cell * hiding_width);
            length.found_px += found;
            length.estimated_px += times * found;
            // The width is off by the same share in all squares: their sds add up.
            length.sd_px += WIDTH_SD * width_times * found;
            if found / cell * hiding_width > MOST_HIDDEN {
                length.crowded += cell / area;
            }
        }
    }
    length
}

/// Parts of a range, all about [`CELL_PX`] long.
fn cut(range: &Range<usize>) -> impl Iterator<Item = Range<usize>> {
    let (start, length) = (range.start, range.len());
    let parts = ((length + CELL_PX / 2) / CELL_PX).max(usize::from(length > 0));
    (0..parts).map(move |part| start + part * length / parts..start + (part + 1) * length / parts)
}

/// The true density L = -ln(1 - c d) / c over the density found, d, and the derivative of that by the logarithm of the hiding width c, 1 / (1 - c d) - L / d
/// \[D\]. `hidden` is c d.
fn behind(hidden: f64) -> [f64; 2] {
    let hidden = hidden.min(MOST_HIDDEN);
    if hidden > 0.0 {
        let times = -(-hidden).ln_1p() / hidden;
        [times, 1.0 / (1.0 - hidden) - times]
    } else {
        [1.0, 0.0]
    }
}

/// The length along the ridges of the links whose left or upper pixel lies in these columns and rows.
fn found_px(skeleton: &Mask, hessian: &Hessian, columns: &Range<usize>, rows: &Range<usize>) -> f64 {
    let mut length = 0.0;
    for (x, y) in skeleton.iter_in(columns.clone(), rows.clone()) {
        let at = |right: isize, down: usize| x.checked_add_signed(right).filter(|x| skeleton.get(*x, y + down)).map(|x| (x, y + down));
        let (right, down) = (at(1, 0), at(0, 1));
        let right_down = at(1, 1).filter(|_| right.is_none() && down.is_none());
        let left_down = at(-1, 1).filter(|_| at(-1, 0).is_none() && down.is_none());
        for (end, step) in [(right, [1.0, 0.0]), (down, [0.0, 1.0]), (right_down, [1.0, 1.0]), (left_down, [-1.0, 1.0])] {
            if let Some(end) = end {
                length += 0.5 * (part_along(hessian, (x, y), step) + part_along(hessian, end, step));
            }
        }
    }
    length
}

/// How far a step runs along the ridge at a place; where that has no direction like the step's, the step's length on average.
fn part_along(hessian: &Hessian, (x, y): (usize, usize), step: [f64; 2]) -> f64 {
    let far = step[0].hypot(step[1]);
    let along = hessian.along(x, y).map(|[right, down]| (right * step[0] + down * step[1]).abs());
    along.filter(|along| *along >= LEAST_ALONG * far).unwrap_or(if far > 1.0 { ASLANT_PX } else { STRAIGHT_PX })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Plane, hysteresis, ridge, skeleton};
    use proptest::prelude::*;

    fn everything(mask: &Mask) -> Window {
        Window { columns: 0..mask.width(), rows: 0..mask.height() }
    }

    /// Bright lines of width 1 and amplitude 1: (x, y, angle) of a place on each.
    fn lines(size: usize, lines: &[(f64, f64, f64)]) -> Plane {
        let value = |at: usize| {
            let (x, y) = ((at % size) as f64, (at / size) as f64);
            let off = |(px, py, angle): &(f64, f64, f64)| ((x - px) * angle.sin() - (y - py) * angle.cos()).abs();
            let nearest = lines.iter().map(off).fold(f64::INFINITY, f64::min);
            (-0.5 * nearest.powi(2)).exp() as f32
        };
        Plane::new(size, size, (0..size * size).map(value).collect()).unwrap()
    }

    fn found(plane: &Plane, window: &Window, hiding_width: f64) -> RidgeLength {
        let skeleton = skeleton(&hysteresis(&ridge::response(plane, &[1.0, 1.5]).unwrap(), 0.15, 0.3));
        ridge_length(&skeleton, &Hessian::new(plane, 1.5).unwrap(), window, hiding_width)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        #[test]
        fn a_straight_line_has_its_length_at_any_angle(angle in -1.57..1.57_f64, x in 99.0..101.0, y in 99.0..101.0) {
            // Between two rows or columns that it crosses.
            let window = if angle.sin().abs() < angle.cos() { Window { columns: 40..160, rows: 0..200 } } else { Window { columns: 0..200, rows: 40..160 } };
            let length = 120.0 / angle.sin().abs().max(angle.cos().abs());
            let found = found(&lines(200, &[(x, y, angle)]), &window, 0.0);
            prop_assert!((found.found_px / length - 1.0).abs() < 0.01, "{} of {length}", found.found_px);
            prop_assert!((found.estimated_px - found.found_px).abs() < 1e-9 && found.sd_px.abs() < 1e-9 && found.crowded <= 0.0);
        }

        #[test]
        fn links_are_counted_one_by_one((width, height) in (1..140usize, 1..20usize), seed in any::<u32>()) {
            let values: Vec<bool> = (0..width * height).map(|at| (at as u32).wrapping_add(seed).wrapping_mul(2_654_435_761) >> 30 == 0).collect();
            let mask = Mask::new(width, height, &values).unwrap();
            let mut expected = 0.0;
            for (x, y) in mask.iter() {
                let is_in = |right: isize, down: usize| x.checked_add_signed(right).is_some_and(|x| mask.get(x, y + down));
                expected += STRAIGHT_PX * (f64::from(u8::from(is_in(1, 0))) + f64::from(u8::from(is_in(0, 1))));
                expected += ASLANT_PX * f64::from(u8::from(is_in(1, 1) && !is_in(1, 0) && !is_in(0, 1)));
                expected += ASLANT_PX * f64::from(u8::from(is_in(-1, 1) && !is_in(-1, 0) && !is_in(0, 1)));
            }
            prop_assert!((link_length(&mask) - expected).abs() < 1e-9);
            // Without any direction each link counts the same.
            let nothing = Plane::filled(width, height, f32::NAN).unwrap();
            let length = ridge_length(&mask, &Hessian { xx: nothing.clone(), xy: nothing.clone(), yy: nothing }, &everything(&mask), 0.0);
            prop_assert!((length.found_px - expected).abs() < 1e-9);
        }

        #[test]
        fn more_is_hidden_the_denser_and_the_wider(found in 0.001..0.3, width in 0.01..6.0) {
            let truth = |found: f64, width: f64| behind(found * width)[0] * found;
            prop_assert!(truth(1.01 * found, width) > truth(found, width) + 0.00999 * found);
            let width = width.min(0.99 * MOST_HIDDEN / found);
            // [D] the law that is inverted, and a difference in place of the derivative.
            prop_assert!(((1.0 - (-width * truth(found, width)).exp()) / width - found).abs() < 1e-9);
            let slope = (truth(found, 1.001 * width) - truth(found, 0.999 * width)) / 0.002;
            prop_assert!(slope > 0.0 && (behind(found * width)[1] * found - slope).abs() < 1e-4 * truth(found, width));
        }
    }

    #[test]
    fn two_ridges_become_one_at_the_least_spacing() {
        let sigma = 1.5_f64;
        let spacing = hiding_width(sigma, 1.0) / 2.0;
        for (apart, is_two) in [(0.95 * spacing, false), (1.05 * spacing, true)] {
            // Far finer than a pixel: the response of two ridges across, from the closed form.
            let wide = sigma.hypot(1.0);
            let bent = |x: f64| (1.0 - (x / wide).powi(2)) * (-0.5 * (x / wide).powi(2)).exp();
            let response = |x: f64| bent(x - apart / 2.0) + bent(x + apart / 2.0);
            assert_eq!(response(0.0) < response(0.05), is_two);
        }
    }

    #[test]
    fn the_estimate_follows_chance_lines_however_dense() {
        // Lines laid independently over a disc of 400 pixels, by a fixed sequence of numbers; the square in its middle is looked at.
        let window = Window { columns: 50..550, rows: 50..550 };
        for (count, most_found) in [(15, 1.0), (60, 0.93), (90, 0.83)] {
            let laid: Vec<(f64, f64, f64)> = (0..count)
                .map(|i| {
                    let (angle, off) = (std::f64::consts::PI * part(i, 1), 800.0 * (part(i, 2) - 0.5));
                    (300.0 - off * angle.sin(), 300.0 + off * angle.cos(), angle)
                })
                .collect();
            let truth: f64 = laid.iter().map(|line| chord(*line, 49.5, 549.5)).sum();
            let length = found(&lines(600, &laid), &window, hiding_width(1.0, 1.0));
            assert!(length.found_px < most_found * truth, "{count}: {}", length.found_px / truth);
            assert!((length.estimated_px / truth - 1.0).abs() < 0.07, "{count}: {}", length.estimated_px / truth);
            assert!(length.sd_px > 0.2 * (length.estimated_px - length.found_px) && length.crowded <= 0.0);
        }
    }

    /// The `i`th of a sequence of numbers between 0 and 1.
    fn part(i: u32, of: u32) -> f64 {
        let mixed = i.wrapping_mul(2_654_435_761).wrapping_add(of.wrapping_mul(2_654_435_769)).rotate_left(13).wrapping_mul(2_246_822_507);
        f64::from(mixed >> 8) / 2.0_f64.powi(24)
    }

    #[test]
    fn a_crowded_place_is_said_to_be_and_a_window_is_cut_to_the_picture() {
        let mask = Mask::new(100, 80, &[true; 8000]).unwrap();
        let none = Plane::filled(100, 80, f32::NAN).unwrap();
        let hessian = Hessian { xx: none.clone(), xy: none.clone(), yy: none };
        let all = ridge_length(&mask, &hessian, &Window { columns: 0..usize::MAX, rows: 0..usize::MAX }, 4.0);
        assert!((all.crowded - 1.0).abs() < 1e-12 && all.estimated_px > 2.2 * all.found_px && all.estimated_px < 2.3 * all.found_px);
        assert!(all.sd_px > all.found_px, "{all:?}");
        let no_width = ridge_length(&mask, &hessian, &everything(&mask), f64::NAN);
        assert!((no_width.estimated_px - all.found_px).abs() < 1e-6 && no_width.sd_px <= 0.0);
        let nothing = ridge_length(&mask, &hessian, &Window { columns: 100..120, rows: 0..80 }, f64::INFINITY);
        assert!(nothing.found_px <= 0.0 && nothing.estimated_px <= 0.0 && nothing.crowded <= 0.0);
        #[expect(clippy::reversed_empty_ranges, reason = "that is what is tried")]
        let reversed = ridge_length(&mask, &hessian, &Window { columns: 50..10, rows: 90..20 }, 4.0);
        assert!(reversed.estimated_px <= 0.0);
    }

    /// Length of a line inside of a square.
    fn chord((x, y, angle): (f64, f64, f64), from: f64, to: f64) -> f64 {
        let (mut first, mut last) = (f64::NEG_INFINITY, f64::INFINITY);
        for (at, step) in [(x, angle.cos()), (y, angle.sin())] {
            let (a, b) = ((from - at) / step, (to - at) / step);
            first = first.max(a.min(b));
            last = last.min(a.max(b));
        }
        (last - first).max(0.0)
    }
}
