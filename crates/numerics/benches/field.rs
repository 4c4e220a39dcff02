//! Field estimates, fits and the smallest value, on the inputs of the baseline measurements.
//!
//! Inputs are `w1/readings_n12.csv`, `_n60` and `_n300` (x, y, value, noise variance; mm and um) in the folder named by
//! `LASTMICRON_BENCH_INPUTS`. Matern 3/2 of sd 6 um and length 400 mm, constant mean; grid 1500 x 1200 mm, 10 mm for the field, 25 mm and
//! 1,000 draws for the smallest value. Timed: from the readings to the two arrays, or to the three quantiles.
//! `RAYON_NUM_THREADS` sets the number of cores.

#![expect(clippy::disallowed_methods, clippy::print_stdout, reason = "a benchmark reads its inputs and prints what it found")]

use std::path::Path;

use divan::Bencher;
use lastmicron_numerics::circulant::Circulant;
use lastmicron_numerics::gp::{Estimates, Field, GpError, Grid, Mean, Reading, fit};
use lastmicron_numerics::kernel::{Family, Kernel};
use lastmicron_numerics::minimum::{Minimum, MinimumError};
use rand::SeedableRng;
use rand_pcg::Pcg64;

const COUNTS: [usize; 3] = [12, 60, 300];

fn main() {
    if std::env::var_os("LASTMICRON_BENCH_INPUTS").is_none() {
        println!("skipped: LASTMICRON_BENCH_INPUTS names no folder of inputs");
        return;
    }
    if let Some(answers) = answers() {
        println!("{answers}");
    }
    divan::main();
}

/// What the baseline prints too, to compare: the field at (750, 600), the fit, the quantiles of the smallest value.
fn answers() -> Option<String> {
    let estimates = field(&readings(300)?).ok()?;
    let node = 60 * 151 + 75;
    let fitted = fit(&readings(300)?, Family::Matern32, Mean::Constant).ok()?.field;
    let smallest = smallest(&readings(60)?, 20_000).ok()?;
    let quantiles: Option<Vec<String>> =
        [0.01, 0.05, 0.5].iter().map(|share| smallest.quantile(*share).ok().map(|q| format!("{q:.3}"))).collect();
    Some(format!(
        "n = 300 at (750, 600): {:.6} {:.6}; fitted sd^2 {:.4}, length {:.3}, log-likelihood {:.6}; smallest, 20,000 draws: {}",
        estimates.mean[node],
        estimates.sd[node],
        fitted.kernel().sd().powi(2),
        fitted.kernel().length_mm(),
        fitted.log_likelihood(),
        quantiles?.join(" ")
    ))
}

fn readings(count: usize) -> Option<Vec<Reading>> {
    let folder = std::env::var_os("LASTMICRON_BENCH_INPUTS")?;
    let text = std::fs::read_to_string(Path::new(&folder).join(format!("w1/readings_n{count}.csv"))).ok()?;
    text.lines().skip(1).map(row).collect()
}

fn row(line: &str) -> Option<Reading> {
    let numbers: Vec<f64> = line.split(',').map(str::parse).collect::<Result<_, _>>().ok()?;
    let [x_mm, y_mm, value, variance] = numbers[..] else { return None };
    Some(Reading { x_mm, y_mm, value, sd: variance.sqrt() })
}

fn field(readings: &[Reading]) -> Result<Estimates, GpError> {
    let field = Field::new(readings, Kernel::new(Family::Matern32, 6.0, 400.0)?, Mean::Constant)?;
    Ok(field.on(Grid::over(1500.0, 1200.0, 10.0)?))
}

fn smallest(readings: &[Reading], draws: usize) -> Result<Minimum, MinimumError> {
    let kernel = Kernel::new(Family::Matern32, 6.0, 400.0).map_err(GpError::from)?;
    let field = Field::new(readings, kernel, Mean::Constant)?;
    Minimum::on(&field, Grid::over(1500.0, 1200.0, 25.0)?, draws, 7)
}

#[divan::bench(args = COUNTS)]
fn fixed(bencher: Bencher, count: usize) {
    if let Some(readings) = readings(count) {
        bencher.bench(|| field(divan::black_box(&readings)));
    }
}

#[divan::bench(args = COUNTS, sample_count = 10)]
fn fitted(bencher: Bencher, count: usize) {
    if let Some(readings) = readings(count) {
        bencher.bench(|| {
            let fit = fit(divan::black_box(&readings), Family::Matern32, Mean::Constant)?;
            Ok::<_, GpError>(fit.field.on(Grid::over(1500.0, 1200.0, 10.0)?))
        });
    }
}

#[divan::bench(sample_count = 30)]
fn minimum_of_1000_draws(bencher: Bencher) {
    if let Some(readings) = readings(60) {
        bencher.bench(|| smallest(divan::black_box(&readings), 1000));
    }
}

#[divan::bench(args = Family::ALL)]
fn embedding(family: Family) -> Option<f64> {
    Circulant::new(divan::black_box(family), 400.0, 61, 49, 25.0).ok().map(|circulant| circulant.covariance_error())
}

#[divan::bench]
fn pair_of_unconditional_fields(bencher: Bencher) {
    if let Ok(circulant) = Circulant::new(Family::Matern32, 400.0, 61, 49, 25.0) {
        let mut rng = Pcg64::seed_from_u64(1);
        let (mut first, mut second) = (vec![0.0; circulant.nodes()], vec![0.0; circulant.nodes()]);
        bencher.bench_local(|| circulant.draw_pair(&mut rng, &mut first, &mut second));
    }
}
