//! Joint draws over places in no order, by factoring their covariance.

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64;
use rayon::prelude::*;

use super::{MinimumError, seed_of};
use crate::gp::{Conditioned, Triangle};

/// The smallest value over the places in each of `draws` joint draws about `mean`.
pub(super) fn minima(given: &Conditioned, mean: &[f64], places: &[[f64; 2]], draws: usize, seed: u64) -> Result<Vec<f64>, MinimumError> {
    let factor = factor(given, places)?;
    let draw = |number: usize| {
        let mut rng = Pcg64::seed_from_u64(seed_of(seed, number as u64));
        let fresh: Vec<f64> = places.iter().map(|_| StandardNormal.sample(&mut rng)).collect();
        factor.times(&fresh).iter().zip(mean).map(|(rest, mean)| mean + rest).fold(f64::INFINITY, f64::min)
    };
    Ok((0..draws).into_par_iter().map(draw).collect())
}

/// Factor of the posterior covariance of the places.
fn factor(given: &Conditioned, places: &[[f64; 2]]) -> Result<Triangle, MinimumError> {
    /// Added to the diagonal, in the field's variance, so that places near each other or read without noise have a factor.
    const ADDED: [f64; 4] = [1e-9, 1e-8, 1e-7, 1e-6];
    let n = places.len();
    let whitened: Vec<(Vec<f64>, f64)> = places.par_iter().map(|place| given.whitened(*place)).collect();
    let mut covariance = vec![0.0; n * n];
    covariance.par_chunks_exact_mut(n).enumerate().for_each(|(i, row)| {
        let (mine, my_rest) = &whitened[i];
        for (j, entry) in row.iter_mut().enumerate().take(i + 1) {
            let (theirs, their_rest) = &whitened[j];
            let prior = given.kernel.covariance(f64::hypot(places[i][0] - places[j][0], places[i][1] - places[j][1]));
            let explained: f64 = mine.iter().zip(theirs).map(|(a, b)| a * b).sum();
            *entry = prior - explained + my_rest * their_rest * given.level_variance;
        }
    });
    let variance = given.kernel.sd() * given.kernel.sd();
    let mut singular = 0;
    for added in ADDED {
        let mut raised = covariance.clone();
        raised.iter_mut().step_by(n + 1).for_each(|diagonal| *diagonal += added * variance);
        match Triangle::factor(n, raised) {
            Ok(factor) => return Ok(factor),
            Err(row) => singular = row + 1,
        }
    }
    Err(MinimumError::Singular { place: singular })
}
