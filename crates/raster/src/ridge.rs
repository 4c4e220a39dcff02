//! Where a picture has bright ridges.

use pulp::Simd;
use rayon::prelude::*;

use crate::kernel::{Kernel, SigmaError};
use crate::plane::Plane;
use crate::sweep::{Keep, ROWS, Second, Values, sweep};

struct Response;

impl Keep for Response {
    const PLANES: usize = 1;

    #[inline(always)]
    fn keep<S: Simd>(simd: S, sigma: f32, [xx, xy, yy]: Second<S::f32s>, values: &mut Values, at: usize) {
        let half = simd.splat_f32s(0.5);
        let apart = simd.mul_f32s(simd.sub_f32s(xx, yy), half);
        let root = simd.sqrt_f32s(simd.mul_add_f32s(apart, apart, simd.mul_f32s(xy, xy)));
        let least = simd.sub_f32s(simd.mul_f32s(simd.add_f32s(xx, yy), half), root);
        let response = simd.mul_f32s(least, simd.splat_f32s(-sigma * sigma));
        let kept = values.vector::<S>(0, at);
        // A NaN is not greater.
        *kept = simd.select_f32s(simd.greater_than_f32s(response, *kept), response, *kept);
    }
}

/// How much each place of a picture looks like the middle of a bright ridge: 0 where it does not.
///
/// At each sigma (pixels, 0.5 to 64) -sigma^2 times the lesser eigenvalue of the Hessian of the picture smoothed by it, in the picture's own unit; of these
/// the greatest, and 0 where none is above 0. A straight ridge of amplitude a and a Gaussian section of width w has a sigma^2 w / (sigma^2 + w^2)^1.5 in
/// its middle \[D\]: most at sigma = w sqrt 2, a 2 / 3^1.5.
///
/// Source: Sato and others, "Three-dimensional multi-scale line filter for segmentation and visualization of curvilinear structures in medical images",
/// Medical Image Analysis 2 (1998), 143-168, equations 9 and 22, in two dimensions. It is scikit-image's `sato` with `black_ridges=False` (version 0.26) to
/// single precision; near the border it is what that function gives for a picture mirrored there, where of itself it mirrors first derivatives without
/// turning their sign (see [`crate::Hessian`]).
///
/// Where a NaN lies in reach of a kernel, that sigma gives 0. Rows are worked on in parallel; the number of threads is rayon's. The picture is filtered
/// part by part, so that beside the picture and the result a thread needs 0.3 MB at sigmas up to 3, and 4 MB at 64.
///
/// # Errors
/// [`SigmaError`] when there is no kernel for a sigma. Without any sigma the response is 0.
pub fn response(plane: &Plane, sigmas: &[f64]) -> Result<Plane, SigmaError> {
    let kernels = sigmas.iter().map(|sigma| Kernel::new(*sigma)).collect::<Result<Vec<Kernel>, SigmaError>>()?;
    let mut out = plane.blank();
    let strips = out.values_mut().par_chunks_mut(ROWS * plane.width()).enumerate();
    strips.for_each(|(strip, out)| sweep::<Response>(plane, &kernels, strip * ROWS, &mut [out]));
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Hessian;
    use proptest::prelude::*;

    fn picture(width: usize, height: usize, value: impl Fn(f64, f64) -> f64) -> Plane {
        let values = (0..width * height).map(|at| value((at % width) as f64, (at / width) as f64) as f32).collect();
        Plane::new(width, height, values).unwrap()
    }

    fn some(width: usize, height: usize, seed: u32) -> Plane {
        picture(width, height, |x, y| {
            f64::from(
                (x as u32 + 1000 * y as u32).wrapping_add(seed).wrapping_mul(2_654_435_761).rotate_left(7).wrapping_mul(2_246_822_519) >> 8,
            ) / 2.0_f64.powi(24)
        })
    }

    fn turned(plane: &Plane) -> Plane {
        let (width, height) = (plane.height(), plane.width());
        picture(width, height, |x, y| f64::from(plane.get(y as usize, width - 1 - x as usize).unwrap()))
    }

    fn farthest(a: &Plane, b: &Plane) -> f32 {
        assert_eq!((a.width(), a.height()), (b.width(), b.height()));
        a.values().iter().zip(b.values()).map(|(a, b)| (a - b).abs()).fold(0.0, f32::max)
    }

    #[test]
    fn a_gaussian_line_has_the_curvature_of_a_gaussian() {
        for (width, sigma, angle) in [(1.5_f64, 1.5, 0.0_f64), (2.0, 1.5, 0.4), (1.2, 2.0, 0.8), (2.0, 3.0, 1.2), (2.5, 2.0, 1.57)] {
            let (sine, cosine) = angle.sin_cos();
            let across = |x: f64, y: f64| (x - 60.0) * sine - (y - 50.0) * cosine;
            let line = picture(121, 101, |x, y| 100.0 + 20.0 * (-0.5 * (across(x, y) / width).powi(2)).exp());
            let response = response(&line, &[sigma]).unwrap().get(60, 50).unwrap();
            let expected = 20.0 * sigma.powi(2) * width / sigma.hypot(width).powi(3);
            assert!((f64::from(response) / expected - 1.0).abs() < 1e-4, "{width} {sigma} {angle}: {response} {expected}");
            let [right, down] = Hessian::new(&line, sigma).unwrap().along(60, 50).unwrap();
            assert!((right * sine - down * cosine).abs() < 1e-4);
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        #[test]
        fn a_turned_picture_has_the_turned_response((width, height) in (1..300usize, 1..150usize), seed in any::<u32>(), sigma in 0.5..4.0) {
            let plane = some(width, height, seed);
            let sigmas = [sigma, 1.3];
            prop_assert!(farthest(&turned(&response(&plane, &sigmas).unwrap()), &response(&turned(&plane), &sigmas).unwrap()) < 2e-6);
        }

        #[test]
        fn a_constant_and_a_slope_change_nothing(seed in any::<u32>(), by in -2.0..2.0, right in -0.02..0.02, down in -0.02..0.02) {
            let plane = some(150, 140, seed);
            let on_a_slope = picture(150, 140, |x, y| f64::from(plane.get(x as usize, y as usize).unwrap()) + by + right * x + down * y);
            let (a, b) = (response(&plane, &[1.0, 2.0]).unwrap(), response(&on_a_slope, &[1.0, 2.0]).unwrap());
            // Mirrored at the border a slope has a crease there.
            for y in 12..128 {
                for x in 12..138 {
                    prop_assert!((a.get(x, y).unwrap() - b.get(x, y).unwrap()).abs() < 1e-5);
                }
            }
        }

        #[test]
        fn twice_the_picture_has_twice_the_response(seed in any::<u32>()) {
            let plane = some(70, 50, seed);
            let mut twice = plane.clone();
            twice.values_mut().iter_mut().for_each(|value| *value *= 2.0);
            let mut response_twice = response(&plane, &[1.0, 3.0]).unwrap();
            response_twice.values_mut().iter_mut().for_each(|value| *value *= 2.0);
            prop_assert_eq!(response(&twice, &[1.0, 3.0]).unwrap(), response_twice);
        }

        #[test]
        fn the_response_is_the_hessian_s_lesser_eigenvalue((width, height) in (1..300usize, 1..150usize), seed in any::<u32>(), sigma in 0.5..4.0) {
            let plane = some(width, height, seed);
            let Hessian { xx, xy, yy } = Hessian::new(&plane, sigma).unwrap();
            for (at, response) in response(&plane, &[sigma]).unwrap().values().iter().enumerate() {
                let [xx, xy, yy] = [&xx, &xy, &yy].map(|plane| f64::from(plane.values()[at]));
                let lesser = 0.5 * (xx + yy) - (0.25 * (xx - yy).powi(2) + xy * xy).sqrt();
                prop_assert!((f64::from(*response) - (-sigma * sigma * lesser).max(0.0)).abs() < 1e-6 * sigma * sigma);
            }
        }
    }

    #[test]
    fn what_is_no_number_gives_no_ridge_near_it() {
        let mut plane = some(80, 60, 5);
        let before = response(&plane, &[1.0]).unwrap();
        plane.row_mut(30)[40] = f32::NAN;
        plane.row_mut(10)[20] = f32::INFINITY;
        let after = response(&plane, &[1.0]).unwrap();
        assert_eq!((after.get(40, 30), after.get(43, 33)), (Some(0.0), Some(0.0)));
        assert_eq!(after.get(60, 50), before.get(60, 50));
        assert!(after.values().iter().all(|value| !value.is_nan()));
    }

    #[test]
    fn no_sigma_no_response_and_no_kernel_no_answer() {
        let plane = some(3, 2, 1);
        assert!(response(&plane, &[]).unwrap().values().iter().all(|value| *value <= 0.0));
        assert_eq!(response(&plane, &[1.0, 0.0]), Err(SigmaError { sigma: 0.0 }));
        assert!(Hessian::new(&plane, f64::NAN).is_err());
        let one = response(&Plane::filled(1, 1, 7.0).unwrap(), &[1.0, 64.0]).unwrap();
        assert!(one.values()[0] < 1e-3);
    }
}
