//! Fits of 10,000 interval-censored lifetimes.
//!
//! Inputs are CSV files `w6/records_monthly.csv`, `w6/grouped_monthly.csv` and `w6/records_daily.csv` (left, right, count; an
//! empty right end is right-censored) in the folder named by `LASTMICRON_BENCH_INPUTS`. Timed: from the rows to the fit.
#![expect(clippy::disallowed_methods, clippy::print_stdout, reason = "a benchmark reads its inputs and says what it fitted")]

use std::path::Path;

use divan::Bencher;
use lastmicron_numerics::survival::{Censored, exponential, nonparametric, weibull};

const DATA: [&str; 3] = ["grouped_monthly", "records_monthly", "records_daily"];

fn main() {
    if std::env::var_os("LASTMICRON_BENCH_INPUTS").is_none() {
        println!("skipped: LASTMICRON_BENCH_INPUTS names no folder of inputs");
        return;
    }
    for name in DATA {
        if let Some(rows) = rows(name)
            && let (Ok(best), Ok(curve)) = (nonparametric(&rows), weibull(&rows))
        {
            println!(
                "{name}: {} rows, {} masses, log-likelihood {:.6}, gap {:.1e}; Weibull {:.8} {:.8} {:.6}",
                rows.len(),
                best.masses.len(),
                best.log_likelihood,
                best.gap,
                curve.shape,
                curve.scale,
                curve.log_likelihood
            );
        }
    }
    divan::main();
}

fn rows(name: &str) -> Option<Vec<Censored>> {
    let folder = std::env::var_os("LASTMICRON_BENCH_INPUTS")?;
    let text = std::fs::read_to_string(Path::new(&folder).join("w6").join(format!("{name}.csv"))).ok()?;
    text.lines().skip(1).map(row).collect()
}

fn row(line: &str) -> Option<Censored> {
    let mut fields = line.split(',');
    let low = fields.next()?.parse().ok()?;
    let high = fields.next().and_then(|field| field.parse().ok());
    let count = fields.next().map_or(Some(1.0), |field| field.parse().ok())?;
    Censored::new(low, high, count).ok()
}

fn fit<T>(bencher: Bencher, name: &str, fit: impl Fn(&[Censored]) -> T + Sync) {
    if let Some(rows) = rows(name) {
        bencher.bench(|| fit(divan::black_box(&rows)));
    }
}

#[divan::bench(args = DATA)]
fn nonparametric_fit(bencher: Bencher, name: &str) {
    fit(bencher, name, nonparametric);
}

#[divan::bench(args = DATA)]
fn weibull_fit(bencher: Bencher, name: &str) {
    fit(bencher, name, weibull);
}

#[divan::bench(args = DATA)]
fn exponential_fit(bencher: Bencher, name: &str) {
    fit(bencher, name, exponential);
}
