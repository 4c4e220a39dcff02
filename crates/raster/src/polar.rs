//! How lines look that run round a centre, and lines that run towards it.

use pulp::{Arch, Simd, WithSimd};
use rayon::prelude::*;

use crate::kernel::SigmaError;
use crate::plane::Plane;

/// Pixels of a row that share one direction. Judgement: at 100 pixels from the centre the direction is off by 5 degrees at their ends, which is less than a scratch's
/// own spread of directions; fewer would leave wide vectors empty.
const TOGETHER: usize = 16;

/// Directions in half a turn, of 2 degrees each: off by 1 at most.
const DIRECTIONS: usize = 90;

/// Where the kernel is cut off, in sigmas of both axes: what is left out there is 0.5 % of its middle, and is made up for so that a constant has no response.
const REACH: f64 = 4.0;

/// Sigmas of a kernel, pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elongated {
    /// Across the line.
    pub across: f64,
    /// Along the line.
    pub along: f64,
}

/// Responses to bright lines in two directions at each pixel.
#[derive(Clone, Debug, PartialEq)]
pub struct Polar {
    /// To lines that run round the centre.
    pub round: Plane,
    /// To lines that run towards the centre.
    pub towards: Plane,
}

/// One row of a kernel: weights of neighbouring pixels.
struct Row {
    down: isize,
    right: isize,
    weights: Vec<f32>,
}

/// Second derivatives of a picture smoothed by an elongated Gaussian whose long axis runs round `centre` or towards it: -across^2 times the second derivative
/// across, in the picture's own unit.
///
/// A straight ridge along the kernel, of a Gaussian section of amplitude a and width w, has a across^2 w / (across^2 + w^2)^1.5 in its middle \[D\], whatever the kernel's
/// length. Pixels nearer to the border than [`margin`] are 0, and so are all rows but each `every`-th. Rows are worked on in parallel.
///
/// # Errors
/// [`SigmaError`] when a sigma is not between 0.5 and 64 pixels.
pub fn polar(plane: &Plane, centre: [f64; 2], kernel: Elongated, every: usize) -> Result<Polar, SigmaError> {
    let kernels = kernels(kernel)?;
    let margin = margin(kernel);
    let (width, height) = (plane.width(), plane.height());
    let mut out = Polar { round: plane.blank(), towards: plane.blank() };
    let rows = out.round.values_mut().par_chunks_mut(width).zip(out.towards.values_mut().par_chunks_mut(width)).enumerate();
    rows.filter(|(y, _)| *y >= margin && y + margin < height && y % every.max(1) == 0).for_each(|(y, (round, towards))| {
        let mut x = margin;
        while x + margin < width {
            let count = TOGETHER.min(width - margin - x);
            let direction = direction_at(centre, x as f64 + 0.5 * (count as f64 - 1.0), y as f64);
            let mut sums = [0.0; TOGETHER];
            for (out, turn) in [(&mut *round, DIRECTIONS / 2), (&mut *towards, 0)] {
                let rows = &kernels[(direction + turn) % DIRECTIONS];
                Arch::new().dispatch(Sum { plane, rows, x, y, sums: &mut sums });
                out[x..x + count].copy_from_slice(&sums[..count]);
            }
            x += count;
        }
    });
    Ok(out)
}

/// Pixels at the border that have no response.
#[must_use]
pub fn margin(kernel: Elongated) -> usize {
    (REACH * kernel.across.max(kernel.along)).ceil() as usize + TOGETHER
}

/// Which direction points from a place to the centre.
fn direction_at(centre: [f64; 2], x: f64, y: f64) -> usize {
    let turn = (centre[1] - y).atan2(centre[0] - x) / std::f64::consts::PI;
    (turn * DIRECTIONS as f64).round().rem_euclid(DIRECTIONS as f64) as usize % DIRECTIONS
}

/// Kernels for lines of each direction.
fn kernels(kernel: Elongated) -> Result<Vec<Vec<Row>>, SigmaError> {
    for sigma in [kernel.across, kernel.along] {
        crate::kernel::checked(sigma)?;
    }
    Ok((0..DIRECTIONS).map(|direction| rows(kernel, direction as f64 * std::f64::consts::PI / DIRECTIONS as f64)).collect())
}

fn rows(kernel: Elongated, angle: f64) -> Vec<Row> {
    let (sine, cosine) = angle.sin_cos();
    let reach = (REACH * kernel.across.max(kernel.along)).ceil() as isize;
    let scaled = |x: isize, y: isize| {
        let (x, y) = (x as f64, y as f64);
        [(y * cosine - x * sine) / kernel.across, (x * cosine + y * sine) / kernel.along]
    };
    let is_inside = |x: isize, y: isize| scaled(x, y).iter().map(|at| at * at).sum::<f64>() <= REACH * REACH;
    let size = std::f64::consts::TAU * kernel.across * kernel.along;
    let weight = |x: isize, y: isize| {
        let [across, along] = scaled(x, y);
        (1.0 - across * across) * (-0.5 * (across * across + along * along)).exp() / size
    };
    let spans: Vec<(isize, Vec<isize>)> = (-reach..=reach).map(|y| (y, (-reach..=reach).filter(|x| is_inside(*x, y)).collect())).collect();
    let cut = spans.iter().flat_map(|(y, xs)| xs.iter().map(|x| weight(*x, *y))).sum::<f64>();
    let count = spans.iter().map(|(_, xs)| xs.len()).sum::<usize>() as f64;
    let row = |(y, xs): (isize, Vec<isize>)| {
        let weights = xs.iter().map(|x| (weight(*x, y) - cut / count) as f32).collect();
        Some(Row { down: y, right: *xs.first()?, weights })
    };
    spans.into_iter().filter_map(row).collect()
}

struct Sum<'a> {
    plane: &'a Plane,
    rows: &'a [Row],
    x: usize,
    y: usize,
    sums: &'a mut [f32; TOGETHER],
}

impl WithSimd for Sum<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let mut sums = [0.0; TOGETHER];
        let (values, width) = (self.plane.values(), self.plane.width());
        for row in self.rows {
            let from = (self.y as isize + row.down) as usize * width + (self.x as isize + row.right) as usize;
            let values = &values[from..from + row.weights.len() + TOGETHER - 1];
            for (weight, values) in row.weights.iter().zip(values.windows(TOGETHER)) {
                for (sum, value) in sums.iter_mut().zip(values) {
                    *sum += weight * value;
                }
            }
        }
        *self.sums = sums;
    }
}
