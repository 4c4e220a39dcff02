//! What a test spot has come to, and what one more set would.

use lastmicron_polish::Step;
use lastmicron_units::Unit;

use crate::car::Car;
use crate::choose::{Effort, Prepared};
use crate::drawn::Drawn;
use crate::error::PlanError;
use crate::outcome::{Interval, Spread};
use crate::report::{interval, spread};
use crate::treatment::{Done, Treatment};

/// A spot after what was done on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Trial {
    /// Share of the defects gone, net of the marks that the work left.
    pub gone: Interval,
    /// Film taken in its middle, um.
    pub taken_um: Spread,
    /// What one more set of each process would do, in the order of the job.
    pub one_more: Vec<OneMore>,
}

/// One more set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OneMore {
    /// Index of the process.
    pub process: usize,
    /// Share of the defects that it takes out beyond what is gone, net of its marks; below 0 where it makes things worse.
    pub gains: Interval,
    /// Film that it takes, um.
    pub takes_um: Spread,
    /// Share of new marks that it leaves.
    pub marks: Interval,
}

/// What has been reached where `after` was done, from the same draws as a plan: the spot's own looks and readings count as all others do.
///
/// # Errors
/// [`PlanError`] when the car gives nothing to plan from.
pub fn trial(car: &Car, after: &[Step], effort: Effort) -> Result<Trial, PlanError> {
    let prepared = Prepared::new(car, effort, Unit::Micrometre)?;
    let drawn = prepared.drawn()?;
    let known: Vec<Step> = after.iter().copied().filter(|step| step.process < car.processes.len()).collect();
    let done = Treatment::of(known.clone());
    let each = |of: &dyn Fn(usize) -> f64| (0..drawn.count()).map(of).collect::<Vec<f64>>();
    let one_more = (0..car.processes.len()).map(|process| one_more(&drawn, &done, &known, process)).collect();
    Ok(Trial {
        gone: interval(each(&|draw| done.correction(&drawn, draw, 1.0, Done::NOTHING))),
        taken_um: spread(&each(&|draw| done.removal_um(&drawn, draw))),
        one_more,
    })
}

fn one_more(drawn: &Drawn, done: &Treatment, steps: &[Step], process: usize) -> OneMore {
    let mut steps = steps.to_vec();
    steps.push(Step { process, sets: 1 });
    let more = Treatment::of(steps);
    let each = |of: &dyn Fn(usize) -> f64| (0..drawn.count()).map(of).collect::<Vec<f64>>();
    let gone = |treatment: &Treatment, draw: usize| treatment.correction(drawn, draw, 1.0, Done::NOTHING);
    OneMore {
        process,
        gains: interval(each(&|draw| gone(&more, draw) - gone(done, draw))),
        takes_um: spread(&each(&|draw| drawn.rate_um(draw, process))),
        marks: interval(each(&|draw| drawn.mark(draw, process))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example::{EFFORT, car};
    use crate::plan;
    use crate::rates;

    #[test]
    fn nothing_done_takes_and_gives_nothing() {
        let trial = trial(&car(), &[], EFFORT).unwrap();
        assert_eq!((trial.taken_um.mean, trial.taken_um.sd), (0.0, 0.0));
        assert_eq!(trial.gone, Interval { mean: 0.0, p05: 0.0, p95: 0.0 });
    }

    #[test]
    fn sets_add_up_and_each_more_gains_less() {
        let car = car();
        let at = |sets: u32| trial(&car, &[Step { process: 0, sets }], EFFORT).unwrap();
        let [one, two, three] = [at(1), at(2), at(3)];
        let gains = |of: &Trial| of.one_more[0].gains.mean;
        assert!((one.gone.mean + gains(&one) - two.gone.mean).abs() < 1e-12);
        assert!((two.gone.mean + gains(&two) - three.gone.mean).abs() < 1e-12);
        assert!(gains(&one) > gains(&two) && gains(&two) > gains(&three));
        assert!((two.taken_um.mean - 2.0 * one.taken_um.mean).abs() < 1e-9);
        let rate = rates(&car, EFFORT).unwrap()[0].posterior_um;
        assert_eq!(one.one_more[0].takes_um, rate);
    }

    #[test]
    fn a_set_that_leaves_more_than_it_takes_out_makes_it_worse() {
        let mut car = car();
        car.processes[0].marks = Some(lastmicron_polish::Belief { mean: 0.3, sd: 0.02 });
        let worn = trial(&car, &[Step { process: 0, sets: 6 }], EFFORT).unwrap();
        let fresh = trial(&car, &[], EFFORT).unwrap();
        assert!(worn.one_more[0].gains.mean < fresh.one_more[0].gains.mean);
        assert!(worn.gone.p95 < 0.9, "{:?}", worn.gone);
    }

    #[test]
    fn the_curve_of_the_plan_passes_through_what_a_spot_has_reached() {
        let car = car();
        let outcome = plan(&car, EFFORT, Unit::Micrometre).unwrap();
        let trial = trial(&car, &[Step { process: 0, sets: 2 }], EFFORT).unwrap();
        let below = outcome.curve.iter().rev().find(|(depth, _)| *depth <= trial.taken_um.mean).unwrap();
        let above = outcome.curve.iter().find(|(depth, _)| *depth >= trial.taken_um.mean).unwrap();
        // The curve is of a depth, the spot of sets whose depth is not sure: near each other, not the same.
        assert!(trial.gone.mean > below.1.mean - 0.08 && trial.gone.mean < above.1.mean + 0.08, "{trial:?} {below:?} {above:?}");
    }
}
