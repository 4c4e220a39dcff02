//! Plans judged on the truth, beside the bench rule and the oracle.

use lastmicron_plan::Plan;

use crate::oracle::{OracleScore, oracle};
use crate::orders::{Unlawful, orders_of};
use crate::working::work;
use crate::{Rehearsal, bench_rule};

/// What became of one car.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Score {
    /// Most chance of a breach that the job allows.
    pub limit: f64,
    /// Chance of a breach that the plan stated.
    pub stated: f64,
    /// Correction that the plan promised, in the mean.
    pub promised: f64,
    /// What the plan did.
    pub plan: Worked,
    /// What the bench rule did.
    pub bench: Worked,
    /// What the oracle would have done.
    pub oracle: OracleScore,
}

/// What orders did to one car.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worked {
    /// Whether any worked place ended below the floor.
    pub breached: bool,
    /// Share of the defects gone.
    pub correction: f64,
    /// Film taken, um, in the mean.
    pub film_um: f64,
}

/// What became of many cars.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tally {
    /// How many.
    pub cars: usize,
    /// Breaches that the limits allow, in the mean.
    pub allowed: f64,
    /// Breaches that the plans stated, in the mean.
    pub stated: f64,
    /// Standard deviation of the number of breaches if each plan is right about its risk.
    pub stated_sd: f64,
    /// Correction promised.
    pub promised: f64,
    /// Breaches of the plans.
    pub breaches: usize,
    /// Breaches of the bench rule.
    pub bench_breaches: usize,
    /// Correction of the plans.
    pub correction: f64,
    /// Correction of the bench rule.
    pub bench_correction: f64,
    /// Correction of the oracle.
    pub oracle_correction: f64,
    /// Film taken by the plans, um.
    pub film_um: f64,
    /// Film taken by the bench rule, um.
    pub bench_film_um: f64,
    /// Film taken by the oracle, um.
    pub oracle_film_um: f64,
}

/// Works a plan and the bench rule on the truth, and asks the oracle.
///
/// # Errors
/// [`Unlawful`] when the plan can't be carried out as it stands.
pub fn score(rehearsal: &Rehearsal, plan: &Plan) -> Result<Score, Unlawful> {
    let floor_um = rehearsal.car.limits.floor.micrometres();
    let judge = |orders: &[crate::PanelOrders]| {
        work(rehearsal, orders).map(|a| Worked { breached: a.breached(floor_um), correction: a.correction, film_um: a.film_um })
    };
    Ok(Score {
        limit: rehearsal.car.limits.risk,
        stated: plan.risk,
        promised: plan.correction.mean,
        plan: judge(&orders_of(plan))?,
        bench: judge(&bench_rule(&rehearsal.car))?,
        oracle: oracle(rehearsal),
    })
}

/// Sums and means over cars; nothing for no cars.
#[must_use]
pub fn tally(scores: &[Score]) -> Option<Tally> {
    if scores.is_empty() {
        return None;
    }
    let sum = |f: fn(&Score) -> f64| scores.iter().map(f).sum::<f64>();
    let mean = |f: fn(&Score) -> f64| sum(f) / scores.len() as f64;
    let count = |f: fn(&Score) -> bool| scores.iter().filter(|s| f(s)).count();
    Some(Tally {
        cars: scores.len(),
        allowed: sum(|s| s.limit),
        stated: sum(|s| s.stated),
        stated_sd: sum(|s| s.stated * (1.0 - s.stated)).max(0.0).sqrt(),
        promised: mean(|s| s.promised),
        breaches: count(|s| s.plan.breached),
        bench_breaches: count(|s| s.bench.breached),
        correction: mean(|s| s.plan.correction),
        bench_correction: mean(|s| s.bench.correction),
        oracle_correction: mean(|s| s.oracle.correction),
        film_um: mean(|s| s.plan.film_um),
        bench_film_um: mean(|s| s.bench.film_um),
        oracle_film_um: mean(|s| s.oracle.film_um),
    })
}
