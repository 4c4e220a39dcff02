//! Where the lamp's highlight is.

use lastmicron_raster::{Mask, Plane, smooth};

use super::photograph::Photograph;
use super::rings::median;
use super::tape::LeftOut;
use super::trouble::Trouble;
use super::view::{Frame, scale};

/// Blur before the highlight is looked for, pixels of a picture 2000 pixels wide: it is larger than any scratch.
const BLUR: f64 = 8.0;

/// Side of the blocks whose means are looked at, pixels of a picture 2000 pixels wide: four to the blur.
const SMALLER: f64 = 2.0;

/// How much darker than the lightest place the highlight's top may be, of 255.
const TOP: f32 = 12.0;

/// How much lighter than most of the picture a lamp is, of 255. Judgement: less is a reflection of the room.
const STANDS_OUT: f32 = 40.0;

/// Light from which on the middle pixel is next to white, of 255, and share of pixels that may be overexposed. Judgement: a lamp and its glow take a tenth of a picture at most.
const WHITE: f32 = 215.0;
const MOST_CLIPPED: f64 = 0.3;

/// How far from the middle of the lightest places they may lie, by the radius of a disc as large together with half the tape and the blur. Judgement: a disc has 0.7, two halves of one with tape
/// between them less than 1; two lamps stand many radii apart.
const SPREAD: f64 = 1.5;

/// A highlight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Lamp {
    /// Its middle, pixels.
    pub(crate) middle: [f64; 2],
}

/// The middle of the lightest place.
///
/// # Errors
/// [`Trouble`] when nothing stands out, or more than one place does.
pub(crate) fn highlight(frame: Frame<'_>, photograph: Photograph, left_out: &LeftOut<'_>) -> Result<Lamp, Trouble> {
    let none = Trouble::NoLamp(photograph);
    let scale = scale(frame.light);
    let side = ((SMALLER * scale).round() as usize).max(1);
    let (step, scale) = (side as f64, scale / side as f64);
    let back = |at: f64| (at + 0.5) * step - 0.5;
    let smoothed = smooth(&frame.light.blocks(side).ok_or(none)?, (BLUR * scale).max(1.0)).map_err(|_| none)?;
    let place = |x: usize, y: usize| [back(x as f64), back(y as f64)];
    let clear = Mask::of(smoothed.width(), smoothed.height(), |x, y| !left_out.is_tape(place(x, y))).map_err(|_| none)?;
    let most = clear.iter().map(|(x, y)| smoothed.row(y)[x]).fold(f32::NEG_INFINITY, f32::max);
    let usual = median(smoothed.values().iter().step_by(7).map(|light| f64::from(*light)).collect()) as f32;
    if usual > WHITE || frame.clipped.count() as f64 > MOST_CLIPPED * frame.light.values().len() as f64 {
        return Err(Trouble::Overexposed(photograph));
    }
    if most.is_nan() || most - usual < STANDS_OUT {
        return Err(none);
    }
    let top: Vec<[f64; 2]> =
        Mask::above(&smoothed, most - TOP).iter().filter(|(x, y)| clear.get(*x, *y)).map(|(x, y)| [x as f64, y as f64]).collect();
    let count = top.len() as f64;
    let mean = |of: &dyn Fn(&[f64; 2]) -> f64| top.iter().map(of).sum::<f64>() / count;
    let first = [mean(&|at| at[0]), mean(&|at| at[1])];
    let size = (count / std::f64::consts::PI).sqrt();
    // Half the square of its radius for a disc; tape through its middle sets its halves apart.
    let spread = mean(&|at| (at[0] - first[0]).powi(2) + (at[1] - first[1]).powi(2)).sqrt();
    if spread > SPREAD * (size + left_out.tape / step + BLUR * scale) {
        return Err(Trouble::SeveralLamps(photograph));
    }
    let is_out = |x: usize, y: usize| left_out.is_out(place(x, y));
    let middle = pointed_at(&smoothed, first, size.max(8.0 * scale), [most, usual], &is_out).unwrap_or(first);
    Ok(Lamp { middle: middle.map(back) })
}

/// The place that the slopes round a highlight point to: tape across it hides some of its top, but not on all sides.
fn pointed_at(
    smoothed: &Plane,
    first: [f64; 2],
    size: f64,
    [most, usual]: [f32; 2],
    is_out: &impl Fn(usize, usize) -> bool,
) -> Option<[f64; 2]> {
    let reach = 4.0 * size;
    let within = |middle: f64, count: usize| ((middle - reach).max(1.0) as usize)..((middle + reach).max(1.0) as usize).min(count - 1);
    // Sums of I - d d' and of (I - d d') p over places p with slopes along d, weighted by the slope squared.
    let (mut xx, mut xy, mut yy, mut bx, mut by) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for y in within(first[1], smoothed.height()) {
        for x in within(first[0], smoothed.width()) {
            let at = smoothed.row(y)[x];
            let share = (at - usual) / (most - usual);
            if !(0.25..0.9).contains(&share) || is_out(x, y) {
                continue;
            }
            let right = f64::from(smoothed.row(y)[x + 1] - smoothed.row(y)[x - 1]);
            let down = f64::from(smoothed.row(y + 1)[x] - smoothed.row(y - 1)[x]);
            let (x, y) = (x as f64 - first[0], y as f64 - first[1]);
            // What rises away from the highlight is something else.
            if right * x + down * y < 0.0 {
                xx += down * down;
                xy -= right * down;
                yy += right * right;
                bx += down * down * x - right * down * y;
                by += right * right * y - right * down * x;
            }
        }
    }
    let determinant = xx * yy - xy * xy;
    let is_round = determinant > 0.02 * (xx + yy).powi(2);
    let away = [(yy * bx - xy * by) / determinant, (xx * by - xy * bx) / determinant];
    (is_round && away[0].hypot(away[1]) < 2.0 * size).then(|| [first[0] + away[0], first[1] + away[1]])
}
