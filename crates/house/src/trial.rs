//! Many invented cars, planned, and the plans worked on the truth.

use lastmicron_film::gauge::Layer;
use lastmicron_plan::{Car, Effort, PlanError, next, plan};
use lastmicron_rehearsal::{Place, Rehearsal, Scenario, ScenarioError, Score, Unlawful, anywhere, measure_again, rehearse, score};
use lastmicron_units::Unit;

/// Limits of risk that cars take in turn, so that a planner is asked for caution and for daring.
pub const RISKS: [f64; 2] = [0.02, 0.1];

/// One car of a trial, and what became of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Tried {
    /// Name of its family.
    pub family: String,
    /// The limit of risk that it was planned with.
    pub risk: f64,
    /// What became of it.
    pub score: Score,
}

/// Which readings are taken after the survey, before planning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum More {
    /// None: the survey alone.
    Nothing,
    /// So many, where the planner advises.
    Asked(usize),
    /// So many, anywhere.
    Anywhere(usize),
    /// One of the undercoat a panel, the rest of so many anywhere.
    Undercoats(usize),
}

/// Why a car has no score.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum TrialError {
    /// The scenario gives no car.
    #[error("car {car}: {cause}")]
    Scenario {
        /// Number of the car.
        car: usize,
        /// Why.
        cause: ScenarioError,
    },
    /// There is no plan.
    #[error("car {car}: {cause}")]
    Plan {
        /// Number of the car.
        car: usize,
        /// Why.
        cause: PlanError,
    },
    /// The plan can't be worked.
    #[error("car {car}: {cause}")]
    Unlawful {
        /// Number of the car.
        car: usize,
        /// Why.
        cause: Unlawful,
    },
}

/// The number `car` of a trial: families in turn, then limits of risk.
///
/// # Errors
/// [`TrialError::Scenario`] when the family's figures can't be a car's.
pub fn draw(families: &[Scenario], seed: u64, car: usize) -> Result<(Scenario, Rehearsal), TrialError> {
    let family = &families[car % families.len()];
    let scenario = family.clone().with_risk(RISKS[(car / families.len()) % RISKS.len()]);
    // Judgement: no trial has a million cars, so that no two trials share one.
    let rehearsal =
        rehearse(&scenario, seed.wrapping_mul(1_000_000).wrapping_add(car as u64)).map_err(|cause| TrialError::Scenario { car, cause })?;
    Ok((scenario, rehearsal))
}

/// Draws the car, takes the further readings, plans it and works the plan.
///
/// # Errors
/// [`TrialError`] naming the car.
pub fn try_car(families: &[Scenario], seed: u64, car: usize, more: More, effort: Effort) -> Result<Tried, TrialError> {
    let (scenario, mut rehearsal) = draw(families, seed, car)?;
    let refused = |cause| TrialError::Plan { car, cause };
    let places = places(&rehearsal, more, effort).map_err(refused)?;
    measure_again(&mut rehearsal, &places, 0);
    let outcome = plan(&rehearsal.car, effort, Unit::Micrometre).map_err(refused)?;
    let score = score(&rehearsal, &outcome.plan).map_err(|cause| TrialError::Unlawful { car, cause })?;
    Ok(Tried { family: scenario.name, risk: scenario.limits.risk, score })
}

fn places(rehearsal: &Rehearsal, more: More, effort: Effort) -> Result<Vec<Place>, PlanError> {
    let car = &rehearsal.car;
    Ok(match more {
        More::Nothing => Vec::new(),
        More::Anywhere(count) => anywhere(car, count, rehearsal.seed),
        More::Undercoats(count) => {
            let mut places = undercoats(car);
            places.truncate(count);
            places.extend(anywhere(car, count - places.len(), rehearsal.seed));
            places
        }
        More::Asked(count) => {
            let advice = next(car, count, effort)?;
            advice.into_iter().map(|a| Place { panel: a.panel, x_mm: a.x_mm, y_mm: a.y_mm, layer: a.layer }).collect()
        }
    })
}

fn undercoats(car: &Car) -> Vec<Place> {
    (0..car.panels.len()).map(|panel| Place { panel, x_mm: 0.0, y_mm: 0.0, layer: Layer::Undercoat }).collect()
}
