//! From a car to its plan.

use lastmicron_film::FilmError;
use rayon::prelude::*;

use crate::car::Car;
use crate::drawn::Drawn;
use crate::error::PlanError;
use crate::knowledge::Knowledge;
use crate::outcome::Outcome;
use crate::problem::Problem;
use crate::report::{self, Made};
use crate::room::{PanelRoom, panel_room};
use crate::search::{Bounds, Chosen, search};
use crate::treatment::treatments;

/// How much computing a plan is worth, and its seed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Joint draws of the film to choose on; as many again, not used to choose, state the risk.
    pub draws: usize,
    /// Same seed, same plan.
    pub seed: u64,
}

impl Default for Effort {
    fn default() -> Self {
        Self { draws: 2000, seed: 1 }
    }
}

/// Share of a limit that is aimed at first on the draws to choose on. A choice looks better on the draws it was made on than it is on fresh
/// ones, by a seventh as a rule.
const FIRST_AIM: f64 = 0.88;
/// Times that a choice is made anew with another aim.
const TRIES: usize = 6;
/// A judged risk between this share of its limit and the limit needs no better aim.
const NEAR_ENOUGH: f64 = 0.88;

/// A car's knowledge, ready to be drawn from.
pub(crate) struct Prepared<'a> {
    car: &'a Car,
    knowledge: Knowledge,
    effort: Effort,
}

impl<'a> Prepared<'a> {
    pub(crate) fn new(car: &'a Car, effort: Effort) -> Result<Self, PlanError> {
        if car.processes.is_empty() {
            return Err(PlanError::NoProcess);
        }
        let knowledge = Knowledge::of(car).map_err(no_film)?;
        Ok(Self { car, knowledge, effort })
    }

    /// Draws, sums up every panel and weighs every treatment, then hands all of it to `then`.
    pub(crate) fn with<T>(&self, then: impl FnOnce(&Made) -> Result<T, PlanError>) -> Result<T, PlanError> {
        let car = self.car;
        let drawn = Drawn::new(car, &self.knowledge, self.effort.draws.max(64), self.effort.seed).map_err(no_film)?;
        let rooms: Vec<Option<PanelRoom>> = (0..car.panels.len()).into_par_iter().map(|k| panel_room(car, &drawn, k)).collect();
        let treatments = treatments(car, &drawn);
        let problem = Problem::new(car, &drawn, &rooms, &treatments);
        then(&Made { car, drawn: &drawn, rooms: &rooms, treatments: &treatments, problem: &problem })
    }
}

/// Plans a car: film, rates, defects, then what to do where.
///
/// # Errors
/// [`PlanError`] when the car gives nothing to plan from.
pub fn plan(car: &Car, effort: Effort) -> Result<Outcome, PlanError> {
    Prepared::new(car, effort)?.with(|made| Ok(report::outcome(made, &choose(made, effort.seed))))
}

/// Searches with the limits and judges the choice on draws not used to make it: aims lower while they put it above a limit, higher while they
/// leave much of the limit unused, and keeps the choice of largest judged risk that is within the limits.
pub(crate) fn choose(made: &Made, seed: u64) -> Chosen {
    let limits = made.car.limits;
    let through = limits.through_risk.unwrap_or(1.0);
    let minutes = (made.car.goal.hours * 60.0 - report::unmeasured_minutes(made)).max(0.0);
    let with_aim = |aim: f64| search(made.problem, Bounds { risk: aim * limits.risk, through_risk: aim * through, minutes }, seed);
    let (mut kept, mut kept_share) = (Chosen::nothing(made.problem), -1.0);
    let (mut aim, mut passed, mut failed) = (FIRST_AIM, 0.0, f64::INFINITY);
    for attempt in 0..TRIES {
        if attempt + 1 == TRIES && kept_share < 0.0 {
            aim = 0.0;
        }
        let chosen = with_aim(aim);
        let (risk, through_risk) = report::judged_risks(made, &chosen);
        let share = (risk / limits.risk).max(through_risk / through);
        if share <= 1.0 {
            passed = aim;
            let saturated = chosen.risk() < 0.7 * aim * limits.risk;
            if share > kept_share {
                (kept, kept_share) = (chosen, share);
            }
            if share >= NEAR_ENOUGH || saturated {
                break;
            }
        } else {
            failed = failed.min(aim);
        }
        let wanted = aim * 0.95 / share.max(0.3);
        aim = if failed.is_finite() && wanted >= failed { 0.5 * (passed + failed) } else { wanted.max(passed * 1.02) };
        if failed.is_finite() && failed - passed < 0.05 {
            break;
        }
    }
    kept
}

fn no_film(error: FilmError) -> PlanError {
    match error {
        FilmError::NoReadings => PlanError::NoReadings,
        FilmError::Covariance(_) | FilmError::Field(_) => PlanError::Arithmetic(error.to_string()),
    }
}
