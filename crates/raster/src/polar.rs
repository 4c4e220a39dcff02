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

/// Sums of neighbouring taps that are kept apart, so that none waits for the one before.
const APART: usize = 4;

impl WithSimd for Sum<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        if 2 * S::F32_LANES <= TOGETHER {
            self.sum::<S, 2>(simd);
        } else {
            self.sum::<S, 1>(simd);
        }
    }
}

impl Sum<'_> {
    #[inline(always)]
    fn sum<S: Simd, const VECTORS: usize>(self, simd: S) {
        let (values, width) = (self.plane.values(), self.plane.width());
        for left in (0..TOGETHER).step_by(VECTORS * S::F32_LANES) {
            let mut sums = [[simd.splat_f32s(0.0); VECTORS]; APART];
            for row in self.rows {
                let from = (self.y as isize + row.down) as usize * width + (self.x as isize + row.right) as usize + left;
                let values = &values[from..from + row.weights.len() + VECTORS * S::F32_LANES - 1];
                let add = |sum: &mut [S::f32s; VECTORS], at: usize, weight: f32| {
                    let (weight, near) = (simd.splat_f32s(weight), S::as_simd_f32s(&values[at..at + VECTORS * S::F32_LANES]).0);
                    sum.iter_mut().zip(near).for_each(|(sum, near)| *sum = simd.mul_add_f32s(weight, *near, *sum));
                };
                let weights = row.weights.chunks_exact(APART);
                let (rest, last) = (weights.remainder(), row.weights.len() / APART * APART);
                for (at, weights) in weights.enumerate() {
                    sums.iter_mut().zip(weights).enumerate().for_each(|(apart, (sum, weight))| add(sum, APART * at + apart, *weight));
                }
                sums.iter_mut().zip(rest).enumerate().for_each(|(apart, (sum, weight))| add(sum, last + apart, *weight));
            }
            for vector in 0..VECTORS {
                let sum = sums[1..].iter().fold(sums[0][vector], |sum, more| simd.add_f32s(sum, more[vector]));
                let at = left + vector * S::F32_LANES;
                S::as_mut_simd_f32s(&mut self.sums[at..at + S::F32_LANES]).0[0] = sum;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const KERNEL: Elongated = Elongated { across: 1.5, along: 4.0 };

    fn picture(at: impl Fn(f64, f64) -> f64) -> Plane {
        let side = 160;
        Plane::new(side, side, (0..side * side).map(|i| at((i % side) as f64, (i / side) as f64) as f32).collect()).unwrap()
    }

    #[test]
    fn a_ridge_along_the_kernel_responds_by_the_closed_form() {
        let (height, width) = (50.0, 1.2);
        let ridge = |across: f64| height * (-0.5 * (across / width).powi(2)).exp();
        // [D] of the doc: a across^2 w / (across^2 + w^2)^1.5
        let wanted = height * 1.5_f64.powi(2) * width / (1.5_f64.powi(2) + width * width).powf(1.5);
        // The centre is far above, so that round it is level at the middle.
        for (angle, centre) in [(0.0_f64, [80.0, -9000.0]), (0.5, [80.0 - 9080.0 * 0.5_f64.sin(), 80.0 - 9080.0 * 0.5_f64.cos()])] {
            let (sine, cosine) = angle.sin_cos();
            let line = picture(|x, y| 20.0 + ridge((x - 80.0) * sine + (y - 80.0) * cosine));
            let seen = polar(&line, centre, KERNEL, 1).unwrap();
            let found = f64::from(seen.round.get(80, 80).unwrap());
            assert!((found / wanted - 1.0).abs() < 0.01, "{angle}: {found} {wanted}");
            assert!(f64::from(seen.towards.get(80, 80).unwrap()).abs() < 0.1 * wanted, "{angle}");
        }
    }

    #[test]
    fn responses_are_the_sums_of_the_kernel_over_the_picture() {
        let texture = picture(|x, y| (x * 7.3 + y * 3.1).sin() * 40.0 + (x * 0.21 - y * 0.35).cos() * 30.0);
        let centre = [70.3, 55.2];
        let seen = polar(&texture, centre, KERNEL, 1).unwrap();
        let all = kernels(KERNEL).unwrap();
        for (x, y) in [(32, 32), (40, 90), (63, 111), (111, 40), (127, 127)] {
            // The middle of the pixels that share a direction.
            let first = (x - margin(KERNEL)) / TOGETHER * TOGETHER + margin(KERNEL);
            let count = TOGETHER.min(160 - margin(KERNEL) - first);
            let direction = direction_at(centre, first as f64 + 0.5 * (count as f64 - 1.0), y as f64);
            for (plane, turn) in [(&seen.round, DIRECTIONS / 2), (&seen.towards, 0)] {
                let sum: f64 = all[(direction + turn) % DIRECTIONS]
                    .iter()
                    .flat_map(|row| row.weights.iter().zip(row.right..).map(|(weight, right)| (row.down, right, *weight)))
                    .map(|(down, right, weight)| {
                        let at = texture.get((x as isize + right) as usize, (y as isize + down) as usize).unwrap();
                        f64::from(weight) * f64::from(at)
                    })
                    .sum();
                let found = f64::from(plane.get(x, y).unwrap());
                assert!((found - sum).abs() < 1e-4, "{x} {y}: {found} {sum}");
            }
        }
    }

    #[test]
    fn an_even_picture_has_no_response_and_rows_between_are_left_out() {
        let seen = polar(&picture(|_, _| 200.0), [80.0, 80.0], KERNEL, 3).unwrap();
        assert!(seen.round.values().iter().chain(seen.towards.values()).all(|value| value.abs() < 1e-3));
        let seen = polar(&picture(|x, _| x * x), [80.0, -500.0], KERNEL, 3).unwrap();
        for y in margin(KERNEL)..160 - margin(KERNEL) {
            assert_eq!(seen.towards.row(y)[80] != 0.0, y % 3 == 0, "{y}");
        }
        assert!(polar(&picture(|_, _| 1.0), [0.0; 2], Elongated { across: 0.1, along: 4.0 }, 1).is_err());
    }
}
