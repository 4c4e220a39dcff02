//! What was made of a photograph, drawn over it.

mod canvas;

use lastmicron_look::scratches::{Compared, Line};
use lastmicron_raster::{Mask, Plane};

pub(super) use canvas::Canvas;
use canvas::Colour;

/// Scratches of untouched and of worked paint: the orange and the sky blue of a set of colours that people tell apart however they see colours.
///
/// Source: M. Okabe, K. Ito, "Color universal design: how to make figures and presentations that are friendly to colorblind people", 2002,
/// revised 2008, the figure of eight colours. \[M\] from memory.
const UNTOUCHED: Colour = [230, 159, 0];
const WORKED: Colour = [86, 180, 233];

const WHITE: Colour = [255; 3];
const BLACK: Colour = [0; 3];

/// The photograph's grey at its lightest, and where it was not compared. Judgement: both colours stand out from the first by their lightness alone; were it lighter, marks would be lost on
/// bright paint, were it darker, the scratches under them.
const LIGHTEST: f32 = 130.0;
const LIGHTEST_LEFT_OUT: f32 = 60.0;

/// Shares of the pixels compared that are darker than black and than the lightest grey. Judgement: the lamp and its glow would else leave nothing to see of the paint.
const SCALE: [f64; 2] = [0.01, 0.995];

/// How far below the first of them black is, by the span between both. Judgement: with none the root would turn the darkest paint's noise into black specks; with much more all would be one grey.
const BELOW: f32 = 0.2;

/// Longer side of a picture for each pixel of a mark's width. Judgement: marks are 2 pixels wide on 3 megapixels and 3 on 12; wider ones hide what they mark.
const SIDE_PER_PIXEL: usize = 1500;

/// A photograph and what was made of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seen<'a> {
    pub(super) light: &'a Plane,
    pub(super) compared: &'a Compared,
    /// Middle lines of scratches that stand out.
    pub(super) ridges: &'a Mask,
}

impl Seen<'_> {
    fn size(&self) -> [usize; 2] {
        [self.light.width(), self.light.height()]
    }
}

/// One photograph with the line between its halves.
pub(super) fn split(seen: &[Seen<'_>], line: &Line) -> Canvas {
    let [width, height] = seen.first().map_or([0; 2], Seen::size);
    let mut canvas = Canvas::new(width, height, BLACK);
    let half = 0.5 * mark([width, height]) as f64;
    for one in seen {
        let away = |x: usize, y: usize| line.away([x as f64, y as f64]);
        draw(&mut canvas, one, [0; 2], |x, y| if away(x, y) > 0.0 { WORKED } else { UNTOUCHED });
        for (x, y) in (0..height).flat_map(|y| (0..width).map(move |x| (x, y))).filter(|(x, y)| away(*x, *y).abs() <= half) {
            canvas.dot(x, y, WHITE);
        }
        cross(&mut canvas, one, [0; 2]);
    }
    canvas
}

/// Two photographs: side by side, or one above the other where they are wider than high.
pub(super) fn pair(seen: &[Seen<'_>]) -> Canvas {
    let [width, height] = seen.first().map_or([0; 2], Seen::size);
    let gap = 8 * mark([width, height]);
    let step = if width > height { [0, height + gap] } else { [width + gap, 0] };
    let mut canvas = Canvas::new(width + step[0], height + step[1], WHITE);
    for ((one, colour), from) in seen.iter().zip([UNTOUCHED, WORKED]).zip([[0; 2], step]) {
        draw(&mut canvas, one, from, |_, _| colour);
        cross(&mut canvas, one, from);
    }
    canvas
}

/// The photograph in grey and its scratches, from the column and row `from`.
fn draw(canvas: &mut Canvas, seen: &Seen<'_>, from: [usize; 2], colour: impl Fn(usize, usize) -> Colour) {
    let grey = Grey::of(seen);
    for (y, row) in seen.light.rows().enumerate() {
        for (x, light) in row.iter().enumerate() {
            let lightest = if seen.compared.pixels.get(x, y) { LIGHTEST } else { LIGHTEST_LEFT_OUT };
            canvas.dot(from[0] + x, from[1] + y, grey.at(*light, lightest));
        }
    }
    let mark = mark(seen.size());
    for (x, y) in seen.ridges.iter() {
        canvas.block([from[0] + x, from[1] + y], [mark; 2], colour(x, y));
    }
}

/// A cross on the middle of the lamp.
fn cross(canvas: &mut Canvas, seen: &Seen<'_>, from: [usize; 2]) {
    let mark = mark(seen.size());
    let [x, y] = seen.compared.lamp.map(|at| at.round().max(0.0));
    let middle = [from[0] + x as usize, from[1] + y as usize];
    for (edge, colour) in [(2 * mark, BLACK), (0, WHITE)] {
        canvas.block(middle, [40 * mark + edge, mark + edge], colour);
        canvas.block(middle, [mark + edge, 40 * mark + edge], colour);
    }
}

/// How light a grey is drawn.
struct Grey {
    darkest: f32,
    lightest: f32,
}

impl Grey {
    fn of(seen: &Seen<'_>) -> Self {
        let sample = seen.compared.pixels.iter().step_by(53).filter_map(|(x, y)| seen.light.get(x, y));
        let mut sample: Vec<f32> = sample.collect();
        sample.sort_by(f32::total_cmp);
        let quantile = |share: f64, otherwise: f32| sample.get((share * sample.len() as f64) as usize).copied().unwrap_or(otherwise);
        let [dark, light] = [quantile(SCALE[0], 0.0), quantile(SCALE[1], 255.0)];
        let span = (light - dark).max(1.0);
        Self { darkest: dark - BELOW * span, lightest: dark + span }
    }

    fn at(&self, light: f32, lightest: f32) -> Colour {
        let share = ((light - self.darkest) / (self.lightest - self.darkest)).clamp(0.0, 1.0);
        // The root brings out what is nearly as dark as the paint.
        [(share.sqrt() * lightest) as u8; 3]
    }
}

/// Width of a mark, pixels.
fn mark([width, height]: [usize; 2]) -> usize {
    width.max(height).div_ceil(SIDE_PER_PIXEL).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A photograph of one grey is all dark.
    const GREY: Colour = [53; 3];

    /// A photograph of one grey with a scratch of three pixels, compared in its upper 20 rows.
    fn check(size: [usize; 2], drawn: impl Fn(Seen<'_>) -> Canvas, expected: &[([usize; 2], Colour)]) {
        let [width, height] = size;
        let light = Plane::filled(width, height, 80.0).unwrap();
        let (mut pixels, mut ridges) = (Mask::empty(width, height).unwrap(), Mask::empty(width, height).unwrap());
        (0..20).flat_map(|y| (0..width).map(move |x| (x, y))).for_each(|(x, y)| pixels.insert(x, y));
        [[5, 3], [6, 3], [7, 3], [25, 3]].iter().for_each(|[x, y]| ridges.insert(*x, *y));
        let compared = Compared { lamp: [15.0, 30.0], pixels };
        let canvas = drawn(Seen { light: &light, compared: &compared, ridges: &ridges });
        for ([x, y], colour) in expected {
            assert_eq!(canvas.at(*x, *y), Some(*colour), "{x}, {y}");
        }
    }

    #[test]
    fn scratches_are_drawn_in_the_colour_of_their_half() {
        let line = Line::new([15.0, -500.0], [15.0, 900.0], [3.0, 3.0]).unwrap();
        let expected = [
            ([5, 3], UNTOUCHED),
            ([6, 3], UNTOUCHED),
            ([25, 3], WORKED),
            ([6, 5], GREY),
            ([15, 3], WHITE),
            ([16, 3], GREY),
            ([10, 30], WHITE),
        ];
        check([60, 40], |seen| split(&[seen], &line), &expected);
    }

    #[test]
    fn photographs_that_are_wide_are_drawn_one_above_the_other() {
        let expected =
            [([5, 3], UNTOUCHED), ([25, 3], UNTOUCHED), ([30, 43], WHITE), ([5, 51], WORKED), ([5, 50], GREY), ([15, 78], WHITE)];
        check([60, 40], |seen| pair(&[seen; 2]), &expected);
    }

    #[test]
    fn photographs_that_are_high_are_drawn_side_by_side() {
        let expected = [([5, 3], UNTOUCHED), ([43, 3], WHITE), ([53, 3], WORKED), ([73, 3], WORKED)];
        check([40, 60], |seen| pair(&[seen; 2]), &expected);
    }

    #[test]
    fn what_was_not_compared_is_darker() {
        let (light, mut pixels) = (Plane::new(6000, 1, (0_u16..6000).map(f32::from).collect()).unwrap(), Mask::empty(6000, 1).unwrap());
        (0..3000).for_each(|x| pixels.insert(x, 0));
        let (compared, ridges) = (Compared { lamp: [9000.0, -9000.0], pixels }, Mask::empty(6000, 1).unwrap());
        let seen = Seen { light: &light, compared: &compared, ridges: &ridges };
        let canvas = split(&[seen], &Line::new([0.0, 90.0], [9.0, 90.0], [0.0, 0.0]).unwrap());
        let [dark, middle, light, left_out] = [10, 1500, 2999, 5000].map(|x| canvas.at(x, 0).unwrap()[0]);
        assert!(dark < middle && middle < light && light == 130 && left_out == 60, "{dark} {middle} {light} {left_out}");
    }

    #[test]
    fn marks_on_twelve_megapixels_are_three_pixels_wide() {
        assert_eq!([[1200, 900], [2000, 1500], [4000, 3000], [3000, 4000]].map(mark), [1, 2, 3, 3]);
    }
}
