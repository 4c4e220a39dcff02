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

/// Share of a limit that is aimed at on the draws to choose on. A choice looks better on the draws it was made on than it is: at 1 the risk
/// stated on fresh draws passed the limit on most cars, at 0.7 a fifth of the correction within reach was left.
const AIM: f64 = 0.85;
/// Times that a choice is made anew, aiming lower, because fresh draws put it above a limit.
const RETRIES: usize = 6;

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

/// Searches with the limits, then aims lower as long as the draws not used to choose put the choice above them.
pub(crate) fn choose(made: &Made, seed: u64) -> Chosen {
    let limits = made.car.limits;
    let through = limits.through_risk.unwrap_or(1.0);
    let unmeasured = report::unmeasured_minutes(made);
    let minutes = (made.car.goal.hours * 60.0 - unmeasured).max(0.0);
    let (mut aim, mut through_aim) = (AIM, AIM);
    let mut chosen = search(made.problem, Bounds { risk: aim * limits.risk, through_risk: through_aim * through, minutes }, seed);
    for _ in 0..RETRIES {
        let (risk, through_risk) = report::judged_risks(made, &chosen);
        if risk <= limits.risk && through_risk <= through {
            return chosen;
        }
        aim *= (limits.risk / risk.max(1e-9)).min(1.0) * 0.95;
        through_aim *= (through / through_risk.max(1e-9)).min(1.0) * 0.95;
        chosen = search(made.problem, Bounds { risk: aim * limits.risk, through_risk: through_aim * through, minutes }, seed);
    }
    let (risk, through_risk) = report::judged_risks(made, &chosen);
    if risk <= limits.risk && through_risk <= through {
        return chosen;
    }
    search(made.problem, Bounds { risk: 0.0, through_risk: 0.0, minutes: 0.0 }, seed)
}

fn no_film(error: FilmError) -> PlanError {
    match error {
        FilmError::NoReadings => PlanError::NoReadings,
        FilmError::Covariance(_) | FilmError::Field(_) => PlanError::Arithmetic(error.to_string()),
    }
}
