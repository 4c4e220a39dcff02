//! Gaussian kernels and their derivatives.

use std::f64::consts::FRAC_1_SQRT_2;

/// Least sigma, pixels. Judgement: below it the sampled kernel is little more than one pixel, and its second derivative is far from the Gaussian's.
const LEAST_SIGMA: f64 = 0.5;

/// Greatest sigma, pixels. Judgement: beyond it a reduced picture says the same; larger kernels would only be slow.
const MOST_SIGMA: f64 = 64.0;

/// Where derivatives are cut off, in sigmas. Judgement: what is left out of a second derivative times sigma^2, 2 t phi(t) \[D\], is 1.2e-6 of a picture's range
/// there: no more than a few roundings of single precision. At 4 it would be 1e-3, at 8 kernels would be half as long again for nothing.
const REACH: f64 = 5.5;

/// Where the kernel of plain smoothing is cut off, in sigmas: what SciPy's `gaussian_filter` and scikit-image's `gaussian` do.
const SMOOTHING_REACH: f64 = 4.0;

/// A width of smoothing for which there is no kernel.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("a sigma of {sigma} pixels: it must lie between {LEAST_SIGMA} and {MOST_SIGMA}")]
pub struct SigmaError {
    /// The sigma given, pixels.
    pub sigma: f64,
}

pub(crate) fn checked(sigma: f64) -> Result<f64, SigmaError> {
    if (LEAST_SIGMA..=MOST_SIGMA).contains(&sigma) { Ok(sigma) } else { Err(SigmaError { sigma }) }
}

/// Weights of smoothing, first and second derivative along one axis, at one pixel of the kernel.
pub(crate) type Taps = [f32; 3];

/// A Gaussian and its two derivatives along one axis.
///
/// Each is the convolution of two sampled kernels of sigma / sqrt 2: of the Gaussian with itself, of it with its first derivative, and of that with
/// itself. This is how scikit-image takes derivatives (`hessian_matrix` with `use_gaussian_derivatives`, version 0.26).
#[derive(Clone, Debug)]
pub(crate) struct Kernel {
    pub(crate) sigma: f64,
    /// Weights to the right of the middle, from the farthest pixel to that beside it. Smoothing and the second derivative are the same to the left; the
    /// first derivative has the other sign there.
    pub(crate) sides: Vec<Taps>,
    pub(crate) middle: Taps,
}

impl Kernel {
    pub(crate) fn new(sigma: f64) -> Result<Self, SigmaError> {
        let radius = (REACH * checked(sigma)?).ceil() as usize;
        let half_sigma = sigma * FRAC_1_SQRT_2;
        // Wide enough that what it lacks is nothing in double precision.
        let half = sampled(half_sigma, (9.0 * half_sigma).ceil() as usize);
        let slope: Vec<f64> = half.iter().zip(offsets(half.len())).map(|(value, at)| value * at / half_sigma.powi(2)).collect();
        // From the middle to the right. The products' middle is at the sum of both middles.
        let side = |a: &[f64], b: &[f64]| -> Vec<f64> {
            let taps = (0..=radius).map(|at| (0..a.len()).filter_map(|i| Some(a[i] * b.get((a.len() - 1 + at).checked_sub(i)?)?)).sum());
            taps.collect()
        };
        let (mut smooth, first, mut second) = (side(&half, &half), side(&half, &slope), side(&slope, &slope));
        let total = smooth[0] + 2.0 * smooth[1..].iter().sum::<f64>();
        smooth.iter_mut().for_each(|tap| *tap /= total);
        // A constant has no second derivative, wherever the kernel is cut off.
        second[0] = -2.0 * second[1..].iter().sum::<f64>();
        let mut taps = smooth.iter().zip(&first).zip(&second).map(|((a, b), c)| [*a as f32, *b as f32, *c as f32]);
        let middle = taps.next().unwrap_or_default();
        Ok(Self { sigma, sides: taps.rev().collect(), middle })
    }

    pub(crate) fn radius(&self) -> usize {
        self.sides.len()
    }

    /// All weights of smoothing, first and second derivative, from the left to the right.
    pub(crate) fn whole(&self) -> [Vec<f32>; 3] {
        [(0, 1.0), (1, -1.0), (2, 1.0)].map(|(which, sign_on_the_left)| {
            let left = self.sides.iter().map(|taps| sign_on_the_left * taps[which]);
            left.chain([self.middle[which]]).chain(self.sides.iter().rev().map(|taps| taps[which])).collect()
        })
    }
}

/// Weights of plain smoothing, from the middle outwards.
pub(crate) fn smoothing(sigma: f64) -> Result<Vec<f32>, SigmaError> {
    let radius = (SMOOTHING_REACH * checked(sigma)? + 0.5) as usize;
    Ok(sampled(sigma, radius)[radius..].iter().map(|tap| *tap as f32).collect())
}

/// A sampled Gaussian whose sum is 1.
fn sampled(sigma: f64, radius: usize) -> Vec<f64> {
    let mut taps: Vec<f64> = offsets(2 * radius + 1).map(|at| (-0.5 * (at / sigma).powi(2)).exp()).collect();
    let total: f64 = taps.iter().sum();
    taps.iter_mut().for_each(|tap| *tap /= total);
    taps
}

fn offsets(length: usize) -> impl Iterator<Item = f64> {
    (0..length).map(move |i| i as f64 - (length / 2) as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kernels_have_the_gaussian_s_moments() {
        for sigma in [1.0, 1.5, 2.0, 3.0, 10.0] {
            let kernel = Kernel::new(sigma).unwrap();
            let whole = kernel.whole();
            let moment = |which: usize, power: i32| -> f64 {
                whole[which].iter().zip(offsets(whole[which].len())).map(|(tap, at)| f64::from(*tap) * at.powi(power)).sum()
            };
            assert!((moment(0, 0) - 1.0).abs() < 1e-6 && moment(1, 0).abs() < 1e-6 && moment(2, 0).abs() < 1e-6);
            // [D] variance, derivative of a slope, second derivative of a parabola; at a sigma of 1 sampling at 0.71 shows.
            let near = if sigma > 1.2 { 3e-5 } else { 3e-3 };
            assert!((moment(0, 2) / sigma.powi(2) - 1.0).abs() < near, "{}", moment(0, 2));
            assert!((moment(1, 1) - 1.0).abs() < near, "{}", moment(1, 1));
            assert!((moment(2, 2) - 2.0).abs() < 4.0 * near, "{}", moment(2, 2));
        }
    }

    #[test]
    fn widths_without_a_kernel_are_refused() {
        for sigma in [0.0, 0.49, 65.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(Kernel::new(sigma).is_err() && smoothing(sigma).is_err());
        }
        assert_eq!(Kernel::new(-1.0).unwrap_err().to_string(), "a sigma of -1 pixels: it must lie between 0.5 and 64");
    }
}
