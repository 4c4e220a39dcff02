//! Repeats within days within runs, on check standards.

use lastmicron_numerics::anova::AnovaError;

use super::super::repeats::number;

/// One day's readings of a check standard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Check {
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation.
    pub sd: f64,
}

/// Standard deviations of three levels, pooled over check standards, in the readings' unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levels {
    /// Within a day: repeatability, with its degrees of freedom.
    pub within_days: (f64, f64),
    /// Of day means within a run.
    pub of_days: (f64, f64),
    /// Of run means.
    pub of_runs: (f64, f64),
    /// Variance that days add to what repeats explain; 0 when it comes out below.
    pub days_variance: f64,
    /// Variance that runs add to what days explain; 0 when it comes out below.
    pub runs_variance: f64,
    /// Whether a variance came out below 0 and was set to it: days, runs.
    pub clamped: [bool; 2],
}

impl Levels {
    /// Standard deviation of a single reading, taken on any day of any run.
    #[must_use]
    pub fn reproducibility(&self) -> f64 {
        (self.within_days.0.powi(2) + self.days_variance + self.runs_variance).sqrt()
    }
}

/// Levels of `checks[standard][run]` = days, each of `readings` repeats.
///
/// Source: NIST/SEMATECH e-Handbook of Statistical Methods, 2.4.4 and 2.6.1. Variances are pooled, not standard deviations.
///
/// # Errors
/// [`AnovaError`] with fewer than two readings, runs or days, standards that differ in their number of runs or days, or a value
/// that is not finite.
pub fn nested(checks: &[Vec<Vec<Check>>], readings: usize) -> Result<Levels, AnovaError> {
    at_least("readings a day", readings, 2)?;
    at_least("check standards", checks.len(), 1)?;
    let runs = checks[0].len();
    at_least("runs", runs, 2)?;
    let days = checks[0][0].len();
    at_least("days", days, 2)?;
    let (mut within, mut of_days, mut of_runs) = (Pool::default(), Pool::default(), Pool::default());
    for (row, standard) in checks.iter().enumerate() {
        if standard.len() != runs {
            return Err(AnovaError::Unbalanced { row, column: standard.len().min(runs), found: 0, expected: days });
        }
        let mut run_means = Vec::with_capacity(runs);
        for (column, run) in standard.iter().enumerate() {
            if run.len() != days {
                return Err(AnovaError::Unbalanced { row, column, found: run.len(), expected: days });
            }
            for day in run {
                finite(day.mean)?;
                finite(day.sd)?;
                within.add(day.sd.powi(2), number(readings - 1));
            }
            let (mean, variance) = spread(&run.iter().map(|day| day.mean).collect::<Vec<f64>>());
            of_days.add(variance, number(days - 1));
            run_means.push(mean);
        }
        of_runs.add(spread(&run_means).1, number(runs - 1));
    }
    let days_variance = of_days.variance() - within.variance() / number(readings);
    let runs_variance = of_runs.variance() - of_days.variance() / number(days);
    Ok(Levels {
        within_days: within.sd(),
        of_days: of_days.sd(),
        of_runs: of_runs.sd(),
        days_variance: days_variance.max(0.0),
        runs_variance: runs_variance.max(0.0),
        clamped: [days_variance < 0.0, runs_variance < 0.0],
    })
}

#[derive(Default)]
struct Pool {
    squares: f64,
    df: f64,
}

impl Pool {
    fn add(&mut self, variance: f64, df: f64) {
        self.squares += variance * df;
        self.df += df;
    }

    fn variance(&self) -> f64 {
        self.squares / self.df
    }

    fn sd(&self) -> (f64, f64) {
        (self.variance().sqrt(), self.df)
    }
}

fn spread(values: &[f64]) -> (f64, f64) {
    let n = number(values.len());
    let mean = values.iter().sum::<f64>() / n;
    (mean, values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / (n - 1.0))
}

fn at_least(what: &'static str, found: usize, needed: usize) -> Result<(), AnovaError> {
    if found < needed { Err(AnovaError::TooFew { what, found, needed }) } else { Ok(()) }
}

fn finite(value: f64) -> Result<(), AnovaError> {
    if value.is_finite() { Ok(()) } else { Err(AnovaError::NotFinite(value)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MPC61: &str = include_str!("../../../../../checks/nist-mpc61.csv");

    /// Wafer, then run, then day; `runs` are those kept.
    fn probe(probe: &str, runs: &[&str]) -> Vec<Vec<Vec<Check>>> {
        let rows: Vec<Vec<&str>> =
            MPC61.lines().filter(|line| !line.starts_with('#')).skip(1).map(|line| line.split(',').collect()).collect();
        let of = |run: &str, wafer: &str| -> Vec<Check> {
            let rows = rows.iter().filter(|row| row[0] == run && row[1] == wafer && row[2] == probe);
            rows.map(|row| Check { mean: row[3].parse().unwrap(), sd: row[4].parse().unwrap() }).collect()
        };
        ["138", "139", "140", "141", "142"].iter().map(|wafer| runs.iter().map(|run| of(run, wafer)).collect()).collect()
    }

    #[track_caller]
    fn close(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() < tolerance, "{got} {want}");
    }

    #[test]
    fn the_handbooks_probe_has_its_published_levels() {
        // [S] NIST/SEMATECH e-Handbook 2.6.1, probe 2362; components and single reading [C]
        let got = nested(&probe("2362", &["1", "2"]), 6).unwrap();
        close(got.within_days.0, 0.072_87, 0.5e-5);
        close(got.of_days.0, 0.036_17, 0.5e-5);
        close(got.of_runs.0, 0.0196, 0.6e-4);
        assert_eq!((got.within_days.1, got.of_days.1, got.of_runs.1), (300.0, 50.0, 5.0));
        close(got.days_variance, 4.2322e-4, 0.5e-8);
        close(got.runs_variance, 1.6791e-4, 0.5e-8);
        close(got.reproducibility(), 0.076_82, 0.5e-5);
        assert_eq!(got.clamped, [false, false]);
    }

    #[test]
    fn each_run_has_its_published_levels() {
        // [S]: one run twice over pools as the run does alone, and has no variance between runs
        for (run, within, days) in [("1", 0.067_51, 0.033_34), ("2", 0.077_86, 0.038_79)] {
            let got = nested(&probe("2362", &[run, run]), 6).unwrap();
            close(got.within_days.0, within, 0.5e-5);
            close(got.of_days.0, days, 0.5e-5);
            assert!(got.of_runs.0 < 1e-12 && got.clamped == [false, true]);
        }
    }

    #[test]
    fn all_probes_have_their_levels() {
        // [C] pooled by the handbook's formulas
        let table = [
            ("1", 0.092_10, 0.047_33, 0.028_20),
            ("281", 0.110_75, 0.044_28, 0.032_35),
            ("283", 0.092_21, 0.045_69, 0.039_35),
            ("2062", 0.152_00, 0.057_52, 0.073_34),
            ("2362", 0.072_87, 0.036_17, 0.019_65),
        ];
        for (name, within, days, runs) in table {
            let got = nested(&probe(name, &["1", "2"]), 6).unwrap();
            close(got.within_days.0, within, 0.5e-5);
            close(got.of_days.0, days, 0.5e-5);
            close(got.of_runs.0, runs, 0.51e-5);
        }
    }

    #[test]
    fn the_handbooks_probe_has_its_published_means_and_biases() {
        // [S] means of probe 2362 by run and wafer, and how far they are from the mean of all probes
        let printed = [
            ("1", [95.092_82, 99.305_95, 96.035_73, 101.060_22, 94.214_82], [-0.0372, -0.0094, -0.0261, -0.0252, -0.0383]),
            ("2", [95.124_27, 99.309_78, 96.076_53, 101.079_00, 94.243_77], [-0.0508, -0.0657, -0.0398, -0.0534, -0.0469]),
        ];
        for (run, means, biases) in printed {
            for wafer in 0..5 {
                let of = |name: &str| probe(name, &[run])[wafer][0].iter().map(|day| day.mean).sum::<f64>() / 6.0;
                let mean = ["1", "281", "283", "2062", "2362"].iter().map(|name| of(name)).sum::<f64>() / 5.0;
                close(of("2362"), means[wafer], 0.6e-5);
                close(of("2362") - mean, biases[wafer], 0.6e-4);
            }
        }
    }

    #[test]
    fn a_missing_day_is_named() {
        let mut checks = probe("1", &["1", "2"]);
        checks[3][1].pop();
        assert_eq!(nested(&checks, 6), Err(AnovaError::Unbalanced { row: 3, column: 1, found: 5, expected: 6 }));
        assert!(nested(&checks, 1).is_err() && nested(&[], 6).is_err());
    }
}
