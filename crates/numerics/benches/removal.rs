//! A stencil over a path, and the dwell that takes what is wanted under a cap.
//!
//! Inputs are in the folder named by `LASTMICRON_BENCH_INPUTS`. `w3/path.csv` (pass, ix, iy, `dwell_s`) and `w3/kernel_radial.csv` on a grid of
//! 600 x 400 cells: timed from the path and the kernel to the map. `w4/influence.csv` (da, db, rate), `w4/target.csv` and `w4/cap.csv`, 60 x 40
//! positions over 120 x 80 cells: timed from these to the dwell.

#![expect(clippy::disallowed_methods, clippy::print_stdout, reason = "a benchmark reads its inputs and prints what it found")]

use std::path::Path;

use divan::Bencher;
use lastmicron_numerics::bounded::{Bounded, BoundedError, Lattice, Touch};
use lastmicron_numerics::superposition::{Stencil, SuperpositionError, add_superposed};

const NX: usize = 600;
const NY: usize = 400;

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

/// What the libraries print too, to compare.
fn answers() -> Option<String> {
    let (stencil, path) = (kernel()?, path()?);
    let map = map(&stencil, &path).ok()?;
    let direct = direct(&stencil, &path);
    let largest = map.iter().copied().fold(0.0, f64::max);
    let off = map.iter().zip(&direct).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    let found = dwell(&problem()?).ok()?;
    let cap = table("w4/cap.csv")?.concat();
    let over = found.reached.iter().zip(&cap).map(|(reached, cap)| reached - cap).fold(f64::NEG_INFINITY, f64::max);
    Some(format!(
        "map: mean {:.9}, largest {largest:.9}, at (300, 200) {:.9}, off direct sums by {:.1e} of the largest; dwell: objective {:.8}, gap {:.1e}, \
         over cap {over:.1e}, least {:.1e}, total {:.4} s, zero {}, {} factors",
        map.iter().sum::<f64>() / map.len() as f64,
        map[200 * NX + 300],
        off / largest,
        found.residual.powi(2) / 2.0,
        found.gap,
        found.x.iter().copied().fold(f64::INFINITY, f64::min),
        found.x.iter().sum::<f64>(),
        found.x.iter().filter(|x| **x <= 0.0).count(),
        found.factors
    ))
}

fn table(name: &str) -> Option<Vec<Vec<f64>>> {
    let folder = std::env::var_os("LASTMICRON_BENCH_INPUTS")?;
    let text = std::fs::read_to_string(Path::new(&folder).join(name)).ok()?;
    let header = usize::from(text.starts_with(|first: char| first.is_alphabetic()));
    text.lines().skip(header).map(|line| line.split(',').map(|value| value.parse().ok()).collect()).collect()
}

fn kernel() -> Option<Stencil> {
    Stencil::new(31, 31, table("w3/kernel_radial.csv")?.concat()).ok()
}

fn path() -> Option<Vec<(usize, usize, f64)>> {
    table("w3/path.csv")?.iter().map(|row| Some((*row.get(1)? as usize, *row.get(2)? as usize, *row.get(3)?))).collect()
}

fn map(stencil: &Stencil, path: &[(usize, usize, f64)]) -> Result<Vec<f64>, SuperpositionError> {
    let mut weights = vec![0.0; NX * NY];
    for (x, y, seconds) in path {
        weights[y * NX + x] += seconds;
    }
    let mut map = vec![0.0; NX * NY];
    add_superposed(stencil, &weights, NX, &mut map)?;
    Ok(map)
}

fn direct(stencil: &Stencil, path: &[(usize, usize, f64)]) -> Vec<f64> {
    let mut map = vec![0.0; NX * NY];
    for &(x, y, seconds) in path {
        for (j, row) in stencil.values().chunks_exact(63).enumerate() {
            for (i, value) in row.iter().enumerate() {
                if let (Some(x), Some(y)) = ((x + i).checked_sub(31).filter(|x| *x < NX), (y + j).checked_sub(31).filter(|y| *y < NY)) {
                    map[y * NX + x] += seconds * value;
                }
            }
        }
    }
    map
}

/// Stencil, target and cap.
struct Problem {
    stencil: Vec<Touch>,
    target: Vec<f64>,
    cap: Vec<f64>,
}

fn problem() -> Option<Problem> {
    let touch = |row: &Vec<f64>| Some(Touch { right: *row.first()? as isize, up: *row.get(1)? as isize, influence: *row.get(2)? });
    let stencil = table("w4/influence.csv")?.iter().map(touch).collect::<Option<Vec<Touch>>>()?;
    Some(Problem { stencil, target: table("w4/target.csv")?.concat(), cap: table("w4/cap.csv")?.concat() })
}

fn dwell(problem: &Problem) -> Result<Bounded, BoundedError> {
    Lattice::new([60, 40], [2, 2], [120, 80], &problem.stencil)?.nearest(&problem.target, Some(&problem.cap))
}

#[divan::bench]
fn superposition(bencher: Bencher) {
    if let (Some(stencil), Some(path)) = (kernel(), path()) {
        bencher.bench(|| map(divan::black_box(&stencil), divan::black_box(&path)));
    }
}

#[divan::bench(sample_count = 20)]
fn capped_dwell(bencher: Bencher) {
    if let Some(problem) = problem() {
        bencher.bench(|| dwell(divan::black_box(&problem)));
    }
}
