//! Ten cars of the same kind in a table: no lucky seed.

use std::io::Write;

use lastmicron_plan::Chance;
use lastmicron_rehearsal::{Score, score, tally};

use super::{DemoError, Planned, plan_car};

/// The seeds of the table: the first ten there are.
const SEEDS: std::ops::RangeInclusive<u64> = 1..=10;

/// Plans the cars of seeds 1 to 10, works each plan on its truth, and prints a line a car and a sum.
pub(super) fn write(shown: &Planned, out: &mut dyn Write, progress: &mut dyn FnMut(&str)) -> Result<(), DemoError> {
    writeln!(out, "\nTEN CARS OF THE SAME KIND, seeds 1 to 10, none left out")?;
    writeln!(out, "       chance of a breach      breached          defects gone, %            film taken, um")?;
    writeln!(out, "seed   allowed      stated     plan    bench     plan  bench  knowing it    plan  bench  knowing it")?;
    let mut scores = Vec::new();
    for seed in SEEDS {
        progress(&format!("planning car {seed} of {}", SEEDS.end()));
        let (score, films) = score_of(seed, shown)?;
        writeln!(out, "{}", line(seed, &score, films))?;
        scores.push(score);
    }
    if let Some(sum) = tally(&scores) {
        writeln!(
            out,
            "all    {:>7.2}     {:>7.2}     {:>4}    {:>5}     {:>4.0}  {:>5.0}  {:>10.0}    {:>4.1}  {:>5.1}  {:>10.1}",
            sum.allowed,
            sum.stated,
            sum.breaches,
            sum.bench_breaches,
            100.0 * sum.correction,
            100.0 * sum.bench_correction,
            100.0 * sum.oracle_correction,
            sum.film_um,
            sum.bench_film_um,
            sum.oracle_film_um
        )?;
        writeln!(
            out,
            "(all: breaches to be expected and breaches seen; the rest are means. Ten cars show little of a risk of 1 in 50: the trial plans 240.)"
        )?;
    }
    Ok(())
}

/// What became of the plan of car `seed`, and the films that its stated chance was counted on.
fn score_of(seed: u64, shown: &Planned) -> Result<(Score, usize), DemoError> {
    let scored = |of: &Planned| Ok((score(&of.rehearsal, &of.outcome.plan)?, of.outcome.plan.films));
    if seed == shown.rehearsal.seed { scored(shown) } else { scored(&plan_car(seed)?) }
}

fn line(seed: u64, score: &Score, films: usize) -> String {
    let [allowed, stated] = [Chance::stated(score.limit), Chance::counted(score.stated, films)].map(|chance| format!("{chance:#}"));
    let breached = |b: bool| if b { "yes" } else { "no" };
    format!(
        "{seed:>4}   {allowed:>7}  {stated:>10}     {:>4}    {:>5}     {:>4.0}  {:>5.0}  {:>10.0}    {:>4.1}  {:>5.1}  {:>10.1}",
        breached(score.plan.breached),
        breached(score.bench.breached),
        100.0 * score.plan.correction,
        100.0 * score.bench.correction,
        100.0 * score.oracle.correction,
        score.plan.film_um,
        score.bench.film_um,
        score.oracle.film_um
    )
}
