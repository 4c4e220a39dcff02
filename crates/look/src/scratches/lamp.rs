//! Where the lamp's highlight is.

use lastmicron_raster::{Mask, Plane, smooth};

use super::view::Frame;

/// Blur before the highlight is looked for, pixels of a picture 2000 pixels wide: it is larger than any scratch.
const BLUR: f64 = 8.0;

/// Side of the blocks whose means are looked at, pixels of a picture 2000 pixels wide: four to the blur.
const SMALLER: f64 = 2.0;

/// How much darker than the lightest place the highlight's top may be, of 255.
const TOP: f32 = 12.0;

/// How much lighter than most of the picture a lamp is, of 255. Judgement: less is a reflection of the room.
const STANDS_OUT: f32 = 40.0;

/// A highlight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Lamp {
    /// Its middle, pixels.
    pub(crate) middle: [f64; 2],
}

/// The middle of the lightest place, or none when nothing stands out.
pub(crate) fn highlight(frame: Frame<'_>, scale: f64, is_out: &(impl Fn(f64, f64) -> bool + Sync)) -> Option<Lamp> {
    let side = ((SMALLER * scale).round() as usize).max(1);
    let (step, scale) = (side as f64, scale / side as f64);
    let back = |at: f64| (at + 0.5) * step - 0.5;
    let smoothed = smooth(&frame.light.blocks(side)?, (BLUR * scale).max(1.0)).ok()?;
    let most = smoothed.values().iter().copied().fold(f32::NEG_INFINITY, f32::max);
    let mut sample: Vec<f32> = smoothed.values().iter().copied().step_by(7).collect();
    let middle = sample.len() / 2;
    let usual = *sample.select_nth_unstable_by(middle, f32::total_cmp).1;
    if most - usual < STANDS_OUT {
        return None;
    }
    let top = Mask::above(&smoothed, most - TOP);
    let count = top.count() as f64;
    let sum = top.iter().fold([0.0; 2], |sum, (x, y)| [sum[0] + x as f64, sum[1] + y as f64]);
    let first = sum.map(|sum| sum / count);
    let size = (count / std::f64::consts::PI).sqrt();
    let is_out = |x: f64, y: f64| is_out(back(x), back(y));
    let middle = pointed_at(&smoothed, first, size.max(8.0 * scale), [most, usual], &is_out).unwrap_or(first);
    Some(Lamp { middle: middle.map(back) })
}

/// The place that the slopes round a highlight point to: tape across it hides some of its top, but not on all sides.
fn pointed_at(
    smoothed: &Plane,
    first: [f64; 2],
    size: f64,
    [most, usual]: [f32; 2],
    is_out: &(impl Fn(f64, f64) -> bool + Sync),
) -> Option<[f64; 2]> {
    let reach = 4.0 * size;
    let within = |middle: f64, count: usize| ((middle - reach).max(1.0) as usize)..((middle + reach).max(1.0) as usize).min(count - 1);
    // Sums of I - d d' and of (I - d d') p over places p with slopes along d, weighted by the slope squared.
    let (mut xx, mut xy, mut yy, mut bx, mut by) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for y in within(first[1], smoothed.height()) {
        for x in within(first[0], smoothed.width()) {
            let at = smoothed.row(y)[x];
            let share = (at - usual) / (most - usual);
            if !(0.25..0.9).contains(&share) || is_out(x as f64, y as f64) {
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
