//! A field estimated from readings: Gaussian process regression, or kriging.

mod estimate;
mod fit;
mod grid;
mod likelihood;
mod tiles;
mod triangle;

pub use estimate::Estimates;
pub use fit::{Fit, fit};
pub use grid::Grid;
pub(crate) use likelihood::Conditioned;
pub(crate) use triangle::Triangle;

use crate::kernel::{Kernel, KernelError};
use estimate::Forms;

/// One reading of the field at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Place along x, mm.
    pub x_mm: f64,
    /// Place along y, mm.
    pub y_mm: f64,
    /// What was read, in the field's unit.
    pub value: f64,
    /// Standard deviation of the reading's noise, in the field's unit; 0 for a reading without any.
    pub sd: f64,
}

/// The field's mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mean {
    /// Known beforehand, in the field's unit.
    Known(f64),
    /// One unknown number for the whole field, with a flat prior; its uncertainty is part of every answer (ordinary kriging).
    Constant,
}

/// Why a field can't be estimated.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum GpError {
    /// No reading at all.
    #[error("there are no readings: a field needs at least one")]
    Empty,
    /// More readings than a dense matrix of them has room for.
    #[error("{readings} readings are too many for an exact estimate: {most} at most, so thin or average them")]
    TooMany {
        /// Readings given.
        readings: usize,
        /// Most readings accepted.
        most: usize,
    },
    /// A reading that has a number which isn't finite, or a noise below nothing.
    #[error(
        "reading {reading} (counted from 1) is not usable: place ({x_mm}, {y_mm}), value {value}, sd {sd}; all must be finite and the sd not below 0"
    )]
    Reading {
        /// The reading, counted from 1.
        reading: usize,
        /// Its place along x, mm.
        x_mm: f64,
        /// Its place along y, mm.
        y_mm: f64,
        /// Its value.
        value: f64,
        /// Its noise.
        sd: f64,
    },
    /// Two readings without noise at one place: they agree and add nothing, or contradict each other.
    #[error("readings {first} and {second} (counted from 1) are at one place and both without noise: give them an sd above 0, or keep one")]
    Repeated {
        /// One of them, counted from 1.
        first: usize,
        /// The other.
        second: usize,
    },
    /// The readings' covariance matrix is singular to working precision.
    #[error(
        "the readings' covariance is singular at reading {reading} (counted from 1): it is too near others for so little noise and so smooth a kernel"
    )]
    Singular {
        /// The first reading that can't be told from those before it.
        reading: usize,
    },
    /// A known mean that isn't finite.
    #[error("a known mean must be finite, not {0}")]
    Mean(f64),
    /// A kernel that makes no sense.
    #[error(transparent)]
    Kernel(#[from] KernelError),
    /// A grid that makes no sense or is too fine.
    #[error(
        "a grid over {width_mm} x {height_mm} mm with a step of {step_mm} mm is not usable: finite sizes, a step above 0, {most} nodes at most"
    )]
    Grid {
        /// Size along x, mm.
        width_mm: f64,
        /// Size along y, mm.
        height_mm: f64,
        /// Step, mm.
        step_mm: f64,
        /// Most nodes accepted.
        most: usize,
    },
    /// A place asked for isn't finite.
    #[error("place {place} (counted from 1) is not finite: ({x_mm}, {y_mm})")]
    Place {
        /// The place, counted from 1.
        place: usize,
        /// Along x, mm.
        x_mm: f64,
        /// Along y, mm.
        y_mm: f64,
    },
    /// Too little to tell a kernel's two numbers from.
    #[error("a kernel can't be fitted to readings at {places} different places: it takes at least {least}")]
    TooFewToFit {
        /// Different places read.
        places: usize,
        /// Least that a fit takes.
        least: usize,
    },
    /// All readings are equal and without noise.
    #[error("a kernel can't be fitted: the readings are all equal and without noise")]
    NothingToFit,
}

/// Most readings accepted: the matrix of them takes 200 MB.
pub const MOST_READINGS: usize = 5000;

/// A field given readings of it.
///
/// With k the kernel's covariances from the readings' places to a place, K those between the readings plus their noise, and m the mean, the
/// field there has mean m + k' K^-1 (y - m 1) and variance sd^2 - k' K^-1 k. With an estimated constant, m = 1' K^-1 y / 1' K^-1 1, and the
/// variance gains (1 - k' K^-1 1)^2 / 1' K^-1 1.
///
/// Noise belongs to a reading, not to the place: the field at a place read with noise stays uncertain.
///
/// Source: Rasmussen & Williams, Gaussian Processes for Machine Learning (2006), eqs 2.25, 2.26 and 2.42 with a flat prior (section 2.7);
/// Cressie, Statistics for Spatial Data (1993), section 3.2 (ordinary kriging with measurement error).
///
/// ```
/// use lastmicron_numerics::gp::{Field, Mean, Reading};
/// use lastmicron_numerics::kernel::{Family, Kernel};
/// // One reading of 12 with the kernel's own variance as noise: half of its distance from the mean of 10 is believed.
/// let reading = Reading { x_mm: 0.0, y_mm: 0.0, value: 12.0, sd: 3.0 };
/// let field = Field::new(&[reading], Kernel::new(Family::Matern32, 3.0, 100.0)?, Mean::Known(10.0))?;
/// let estimates = field.at(&[[0.0, 0.0]])?;
/// assert!((estimates.mean[0] - 11.0).abs() < 1e-12);
/// assert!((estimates.sd[0] - 4.5_f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), lastmicron_numerics::gp::GpError>(())
/// ```
pub struct Field {
    conditioned: Conditioned,
    forms: Forms,
}

impl Field {
    /// Conditions a field on readings.
    ///
    /// # Errors
    /// [`GpError`] for no readings or more than [`MOST_READINGS`], numbers that aren't finite, places repeated without noise, and readings
    /// so near each other that their covariance is singular.
    pub fn new(readings: &[Reading], kernel: Kernel, mean: Mean) -> Result<Self, GpError> {
        let conditioned = Conditioned::new(readings, kernel, mean)?;
        let forms = conditioned.forms();
        Ok(Self { conditioned, forms })
    }

    /// The kernel that was used.
    #[must_use]
    pub const fn kernel(&self) -> Kernel {
        self.conditioned.kernel
    }

    /// The mean, known or estimated, in the field's unit.
    #[must_use]
    pub const fn level(&self) -> f64 {
        self.conditioned.level
    }

    /// Natural logarithm of the readings' density under the kernel.
    ///
    /// With an estimated constant it is that of the readings' contrasts, as a flat prior has no density of its own.
    /// Source: Rasmussen & Williams (2006), eq. 2.30; eq. 2.45 for the constant.
    #[must_use]
    pub const fn log_likelihood(&self) -> f64 {
        self.conditioned.log_likelihood
    }

    /// Mean and standard deviation of the field, without noise, at each place (in mm).
    ///
    /// # Errors
    /// [`GpError::Place`] for a place that isn't finite.
    pub fn at(&self, places: &[[f64; 2]]) -> Result<Estimates, GpError> {
        finite_places(places)?;
        Ok(self.forms.estimates(places))
    }

    /// Mean and standard deviation of the field, without noise, at each node of a grid, x running fastest.
    #[must_use]
    pub fn on(&self, grid: Grid) -> Estimates {
        tiles::estimates(&self.forms, &self.conditioned, grid)
    }

    pub(crate) const fn conditioned(&self) -> &Conditioned {
        &self.conditioned
    }
}

pub(crate) fn finite_places(places: &[[f64; 2]]) -> Result<(), GpError> {
    match places.iter().position(|[x, y]| !(x.is_finite() && y.is_finite())) {
        Some(at) => Err(GpError::Place { place: at + 1, x_mm: places[at][0], y_mm: places[at][1] }),
        None => Ok(()),
    }
}

/// Refuses readings that no field can be conditioned on.
fn check(readings: &[Reading], mean: Mean) -> Result<(), GpError> {
    if readings.is_empty() {
        return Err(GpError::Empty);
    }
    if readings.len() > MOST_READINGS {
        return Err(GpError::TooMany { readings: readings.len(), most: MOST_READINGS });
    }
    for (at, Reading { x_mm, y_mm, value, sd }) in readings.iter().copied().enumerate() {
        if !([x_mm, y_mm, value, sd].iter().all(|number| number.is_finite()) && sd >= 0.0) {
            return Err(GpError::Reading { reading: at + 1, x_mm, y_mm, value, sd });
        }
    }
    if let Mean::Known(level) = mean
        && !level.is_finite()
    {
        return Err(GpError::Mean(level));
    }
    // Adding 0 makes -0 and 0 the same place.
    let mut exact: Vec<(u64, u64, usize)> = readings
        .iter()
        .enumerate()
        .filter(|(_, reading)| reading.sd <= 0.0)
        .map(|(at, reading)| ((reading.x_mm + 0.0).to_bits(), (reading.y_mm + 0.0).to_bits(), at))
        .collect();
    exact.sort_unstable();
    match exact.windows(2).find(|pair| (pair[0].0, pair[0].1) == (pair[1].0, pair[1].1)) {
        Some(pair) => Err(GpError::Repeated { first: pair[0].2 + 1, second: pair[1].2 + 1 }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests;
