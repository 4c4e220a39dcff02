//! The distribution of the smallest value of a field, given readings.
//!
//! The smallest of many correlated places is not told by the places one by one: it takes draws of all of them together.

mod conditional;
mod direct;
mod stencil;

use crate::circulant::CirculantError;
use crate::gp::{Field, GpError, Grid, finite_places};

/// Most places that are drawn by factoring their covariance matrix: beyond, the time (its third power) and the memory run away.
pub const MOST_PLACES: usize = 3000;

/// Most draws.
pub const MOST_DRAWS: usize = 10_000_000;

/// Why there is no distribution of the smallest value.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MinimumError {
    /// No place to take the smallest value of.
    #[error("there are no places to take the smallest value over")]
    NoPlaces,
    /// Too many places in no order.
    #[error("{places} places in no order are too many to draw together ({most} at most): ask for a grid instead")]
    TooManyPlaces {
        /// Places given.
        places: usize,
        /// Most places accepted.
        most: usize,
    },
    /// Readings so far off the grid that it can't be widened to hold them.
    #[error("the readings lie too far off a grid of {nodes} nodes to be drawn with it: leave out those far away, or take a wider step")]
    FarReadings {
        /// Nodes of the grid.
        nodes: usize,
    },
    /// No draws, or too many.
    #[error("{draws} draws: it takes 1 to {most}")]
    Draws {
        /// Draws asked for.
        draws: usize,
        /// Most draws accepted.
        most: usize,
    },
    /// The places' covariance matrix is singular, beyond what rounding explains.
    #[error("the places' covariance is singular at place {place} (counted from 1): it is too near others for so smooth a kernel")]
    Singular {
        /// The first place that can't be told from those before it.
        place: usize,
    },
    /// A share of the draws outside 0 to 1.
    #[error("a quantile's share must be 0 to 1, not {0}")]
    Share(f64),
    /// The field can't be drawn.
    #[error(transparent)]
    Circulant(#[from] CirculantError),
    /// A place that isn't finite.
    #[error(transparent)]
    Field(#[from] GpError),
}

/// The smallest values of joint draws, in ascending order.
#[derive(Clone, Debug, PartialEq)]
pub struct Minimum {
    ascending: Vec<f64>,
}

impl Minimum {
    /// Draws the field jointly over a grid, `draws` times, and takes the smallest value of each draw.
    ///
    /// Method: an unconditional field is drawn by circulant embedding, read at the readings' places with their noise, and the difference
    /// of the true readings from those is kriged and added (Matheron's rule); no matrix of the grid's size is formed. With an estimated
    /// mean its uncertainty is in the draws. Readings between nodes are drawn from the 64 nodes about them: the correlation of such a
    /// reading with the grid is then off by less than 0.001 for lengths from two steps up (0.01 at one step), and nothing on the nodes.
    /// Values carry single precision, a relative 1e-6. The same seed gives the same draws on any number of threads.
    ///
    /// Source: Journel & Huijbregts, Mining Geostatistics (1978), section VII.A.1 (conditioning by kriging); Chilès & Delfiner, Geostatistics
    /// (2nd ed. 2012), section 7.3.1; and [`crate::circulant::Circulant`].
    ///
    /// # Errors
    /// [`MinimumError`] for no draws or more than [`MOST_DRAWS`], and for readings too far off the grid.
    pub fn on(field: &Field, grid: Grid, draws: usize, seed: u64) -> Result<Self, MinimumError> {
        check(draws)?;
        let minima = match conditional::Conditional::new(field, grid) {
            Ok(conditional) => conditional.minima(draws, seed),
            Err(MinimumError::FarReadings { .. }) if grid.nx() * grid.ny() <= MOST_PLACES => {
                direct::minima(field.conditioned(), &field.on(grid).mean, &grid.places(), draws, seed)?
            }
            Err(error) => return Err(error),
        };
        Ok(Self::of(minima))
    }

    /// The same over places in no order, by factoring their covariance matrix.
    ///
    /// The matrix' diagonal is raised by 1e-9 of the field's variance, more where rounding needs it, but never by more than 1e-6.
    ///
    /// # Errors
    /// [`MinimumError`] as for a grid, and for no places, more than [`MOST_PLACES`], or places that aren't finite.
    pub fn at(field: &Field, places: &[[f64; 2]], draws: usize, seed: u64) -> Result<Self, MinimumError> {
        check(draws)?;
        finite_places(places)?;
        if places.is_empty() {
            return Err(MinimumError::NoPlaces);
        }
        if places.len() > MOST_PLACES {
            return Err(MinimumError::TooManyPlaces { places: places.len(), most: MOST_PLACES });
        }
        let mean = field.at(places)?.mean;
        Ok(Self::of(direct::minima(field.conditioned(), &mean, places, draws, seed)?))
    }

    fn of(mut minima: Vec<f64>) -> Self {
        minima.sort_by(f64::total_cmp);
        Self { ascending: minima }
    }

    /// The smallest values drawn, in ascending order.
    #[must_use]
    pub fn ascending(&self) -> &[f64] {
        &self.ascending
    }

    /// Mean of the smallest value.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.ascending.iter().sum::<f64>() / self.ascending.len() as f64
    }

    /// The value that the smallest stays below in a `share` of the draws, interpolated between the two nearest.
    ///
    /// Source: Hyndman & Fan, Sample quantiles in statistical packages, The American Statistician 50 (1996), definition 7.
    ///
    /// # Errors
    /// [`MinimumError::Share`] outside 0 to 1.
    pub fn quantile(&self, share: f64) -> Result<f64, MinimumError> {
        if !(0.0..=1.0).contains(&share) {
            return Err(MinimumError::Share(share));
        }
        let last = self.ascending.len() - 1;
        let at = share * last as f64;
        let below = (at.floor() as usize).min(last);
        let above = (below + 1).min(last);
        Ok((self.ascending[above] - self.ascending[below]).mul_add(at - below as f64, self.ascending[below]))
    }
}

const fn check(draws: usize) -> Result<(), MinimumError> {
    if draws == 0 || draws > MOST_DRAWS { Err(MinimumError::Draws { draws, most: MOST_DRAWS }) } else { Ok(()) }
}

/// A seed of its own for the draw numbered `number`, so that draws can be made in any order.
const fn seed_of(seed: u64, number: u64) -> u64 {
    // The golden ratio's odd multiple spreads the numbers over all seeds (Knuth, The Art of Computer Programming 3, section 6.4); the
    // generator hashes what it is given.
    seed.wrapping_add(number.wrapping_add(1).wrapping_mul(0x9E37_79B9_7F4A_7C15))
}

#[cfg(test)]
mod tests;
