//! What one set of each process takes, as a plan believes it.

use lastmicron_polish::Process;
use lastmicron_units::Unit;

use crate::car::Car;
use crate::choose::{Effort, Prepared};
use crate::drawn::Drawn;
use crate::error::PlanError;
use crate::outcome::{Rate, Spread};
use crate::report::spread;

/// What one set of each process takes, before anything was measured and after the test spot and all else: the numbers of a plan made with the same
/// effort, without the plan.
///
/// # Errors
/// [`PlanError`] when the car gives nothing to plan from.
pub fn rates(car: &Car, effort: Effort) -> Result<Vec<Rate>, PlanError> {
    let prepared = Prepared::new(car, effort, Unit::Micrometre)?;
    Ok(of(car, &prepared.drawn()?))
}

/// The same from draws.
pub(crate) fn of(car: &Car, drawn: &Drawn) -> Vec<Rate> {
    let rate = |(process, p): (usize, &Process)| {
        let draws: Vec<f64> = (0..drawn.count()).map(|draw| drawn.rate_um(draw, process)).collect();
        let prior_um = Spread { mean: p.removal_um.mean, sd: p.removal_um.sd };
        Rate { process, prior_um, posterior_um: spread(&draws) }
    };
    car.processes.iter().enumerate().map(rate).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::example::{EFFORT, car};
    use crate::plan;

    #[test]
    fn rates_are_those_of_the_plan() {
        let car = car();
        assert_eq!(rates(&car, EFFORT).unwrap(), plan(&car, EFFORT, Unit::Mil).unwrap().rates);
    }
}
