//! Second derivatives of a smoothed picture.

use pulp::Simd;
use rayon::prelude::*;

use crate::kernel::{Kernel, SigmaError};
use crate::plane::Plane;
use crate::sweep::{Keep, ROWS, Second, Values, sweep};

/// Second derivatives, per square pixel, of a picture smoothed by a Gaussian: along x, along both, and along y.
#[derive(Clone, Debug, PartialEq)]
pub struct Hessian {
    /// Twice along x.
    pub xx: Plane,
    /// Along x and along y.
    pub xy: Plane,
    /// Twice along y.
    pub yy: Plane,
}

struct All;

impl Keep for All {
    const PLANES: usize = 3;

    #[inline(always)]
    fn keep<S: Simd>(_: S, _: f32, second: Second<S::f32s>, values: &mut Values, at: usize) {
        for (plane, derivative) in second.into_iter().enumerate() {
            *values.vector::<S>(plane, at) = derivative;
        }
    }
}

impl Hessian {
    /// Of the picture smoothed by a Gaussian of `sigma` pixels (0.5 to 64), mirrored at its border.
    ///
    /// Method: convolution with the Gaussian's derivatives, each the convolution of two first derivatives or Gaussians of sigma / sqrt 2, cut off at 5.5
    /// sigmas. Inside, that is scikit-image's `hessian_matrix` with `use_gaussian_derivatives` (version 0.26); near the border that function mirrors the
    /// first derivative once more without turning its sign, which the derivative of a mirrored picture would have. In single precision: off by about 1e-7
    /// of the picture's largest value.
    ///
    /// # Errors
    /// [`SigmaError`] when there is no kernel of that width.
    pub fn new(plane: &Plane, sigma: f64) -> Result<Self, SigmaError> {
        let kernels = [Kernel::new(sigma)?];
        let [mut xx, mut xy, mut yy] = [(); 3].map(|()| plane.blank());
        let strip = ROWS * plane.width();
        let strips =
            xx.values_mut().par_chunks_mut(strip).zip(xy.values_mut().par_chunks_mut(strip)).zip(yy.values_mut().par_chunks_mut(strip));
        strips.enumerate().for_each(|(strip, ((xx, xy), yy))| sweep::<All>(plane, &kernels, strip * ROWS, &mut [xx, xy, yy]));
        Ok(Self { xx, xy, yy })
    }

    /// The direction of a bright ridge in column `x` of row `y`, as a vector of length 1 (right, down): that in which the picture is bent down least. Its
    /// sign means nothing. None outside of the picture, nor where a derivative is not a number.
    #[must_use]
    pub fn along(&self, x: usize, y: usize) -> Option<[f64; 2]> {
        let [xx, xy, yy] = [&self.xx, &self.xy, &self.yy].map(|plane| plane.get(x, y).map(f64::from));
        let angle = 0.5 * (2.0 * xy?).atan2(xx? - yy?);
        angle.is_finite().then(|| [angle.cos(), angle.sin()])
    }
}
