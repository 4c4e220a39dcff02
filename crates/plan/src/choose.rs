//! From a car to its plan.

use lastmicron_film::{Expected, FilmError};
use lastmicron_units::Unit;
use rayon::prelude::*;

use crate::car::{Car, Reading};
use crate::chosen::{Bounds, Chosen};
use crate::drawn::Drawn;
use crate::error::PlanError;
use crate::gain::{Blend, Gains};
use crate::knowledge::Knowledge;
use crate::outcome::Outcome;
use crate::panel_room::{PanelRoom, panel_room};
use crate::problem::{Problem, WORTH_LISTING};
use crate::report::{self, Made, Totals, Verdict};
use crate::search::search;
use crate::treatment::{Treatment, treatments};

/// How much computing a plan is worth, and its seed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Joint films of the vehicle to choose on; as many again, not used to choose, state the risk.
    pub draws: usize,
    /// Same seed, same plan.
    pub seed: u64,
}

impl Default for Effort {
    fn default() -> Self {
        Self { draws: 2000, seed: 1 }
    }
}

/// Share of a limit that is aimed at first on the draws to choose on: a choice looks better on the draws it was made on than it is on fresh ones.
const FIRST_AIM: f64 = 0.94;
/// Times that a choice is made anew with another aim before a margin is widened.
const TRIES: usize = 6;
/// A judged risk between this share of its limit and the limit needs no better aim.
const NEAR_ENOUGH: f64 = 0.9;
/// A search that uses less than this share of the risk that it may is held back by something else. Judgement.
const UNUSED: f64 = 0.7;
/// Margins that are added to what a treatment takes while choosing, um. On a large vehicle many tiles each go wrong in less than one draw of
/// those to choose on; a search then picks the lucky ones, and no lower aim helps: near misses have to count.
const MARGINS_UM: [f64; 5] = [0.0, 0.4, 0.9, 1.8, 3.5];
/// A judged risk of less than this share of its limit is worth another margin.
const WORTH_KEEPING: f64 = 0.5;

/// A car's knowledge, ready to be drawn from.
pub(crate) struct Prepared<'a> {
    car: &'a Car,
    knowledge: Knowledge,
    effort: Effort,
    unit: Unit,
}

impl<'a> Prepared<'a> {
    pub(crate) fn new(car: &'a Car, effort: Effort, unit: Unit) -> Result<Self, PlanError> {
        if car.processes.is_empty() {
            return Err(PlanError::NoProcess);
        }
        let gains = Gains::of(car).map_err(|no| PlanError::Use { process: car.processes[no.process].name.clone(), why: no.why })?;
        let knowledge = Knowledge::of(car, gains).map_err(no_film)?;
        Ok(Self { car, knowledge, effort, unit })
    }

    /// Draws of the car.
    pub(crate) fn drawn(&self) -> Result<Drawn<'_>, PlanError> {
        Drawn::new(self.car, &self.knowledge, self.effort.draws.max(64), self.effort.seed).map_err(no_film)
    }

    /// The law of one more reading, um, less what lies under the probe on purpose.
    pub(crate) fn expected(&self, reading: &Reading) -> Result<Expected, PlanError> {
        let at = self.knowledge.one_more(self.car, reading);
        self.knowledge.posterior.expected(&at, self.effort.draws.max(64), self.effort.seed).map_err(no_film)
    }

    /// Draws, sums up every panel and weighs every treatment, then hands all of it to `then`.
    pub(crate) fn with<T>(&self, then: impl FnOnce(&Made) -> Result<T, PlanError>) -> Result<T, PlanError> {
        let drawn = self.drawn()?;
        let (treatments, blends) = treatments(self.car, &drawn);
        self.with_panels(&drawn, (&treatments, &blends), |_| true, then)
    }

    /// Sums up the panels that are `wanted` alone, as if the others could not be worked, and hands that to `then`.
    pub(crate) fn with_panels<T>(
        &self,
        drawn: &Drawn,
        (treatments, blends): (&[Treatment], &[Blend]),
        wanted: impl Fn(usize) -> bool + Sync,
        then: impl FnOnce(&Made) -> Result<T, PlanError>,
    ) -> Result<T, PlanError> {
        let car = self.car;
        let room = |k: usize| wanted(k).then(|| panel_room(car, drawn, blends, k)).flatten();
        let rooms: Vec<Option<PanelRoom>> = (0..car.panels.len()).into_par_iter().map(room).collect();
        let problem = Problem::new(car, drawn, &rooms, (treatments, blends), 0.0);
        let minutes = car.goal.hours * 60.0;
        let mut made = Made { unit: self.unit, car, drawn, rooms: &rooms, treatments, blends, problem: &problem, minutes };
        made.minutes = report::minutes_left(&made, car.panels.len());
        then(&made)
    }
}

/// Plans a car: film, rates, defects, then what to do where. Films in its sentences are told in `unit`; its numbers are in um.
///
/// # Errors
/// [`PlanError`] when the car gives nothing to plan from.
pub fn plan(car: &Car, effort: Effort, unit: Unit) -> Result<Outcome, PlanError> {
    Prepared::new(car, effort, unit)?.with(|made| Ok(report::outcome(made, &choose(made, effort.seed))))
}

/// Searches with the limits and judges the choice on draws not used to make it: aims lower while they put it above a limit, higher while they
/// leave much of the limit unused, widens a margin where no aim helps, and keeps the choice of largest judged risk that is within the limits.
/// Where what was worked before is beyond them as it stands, only what endangers nothing follows.
pub(crate) fn choose(made: &Made, seed: u64) -> Chosen {
    let nothing = Chosen::nothing(made.problem);
    let stands = Verdict::of(made, &nothing).stands();
    if stands.is_beyond(made.car.limits) {
        return choose_harmless(made, seed, stands).unwrap_or(nothing);
    }
    let mut kept = Judged { chosen: nothing, share: -1.0 };
    for margin_um in MARGINS_UM {
        if margin_um > 0.0 {
            let wary = Problem::new(made.car, made.drawn, made.rooms, (made.treatments, made.blends), margin_um);
            aim_at_limits(made, &wary, seed, &mut kept);
        } else {
            aim_at_limits(made, made.problem, seed, &mut kept);
        }
        if kept.share >= WORTH_KEEPING {
            break;
        }
    }
    kept.chosen
}

/// Of the treatments that endanger nothing in the draws to choose on, those worth most, under the first margin at which no draw to judge by goes wrong
/// that doesn't as it `stands`.
fn choose_harmless(made: &Made, seed: u64, stands: Totals) -> Option<Chosen> {
    MARGINS_UM.into_iter().find_map(|margin_um| {
        let problem = Problem::new(made.car, made.drawn, made.rooms, (made.treatments, made.blends), margin_um).harmless();
        let chosen = search(&problem, Bounds { risk: 1.0, through_risk: 1.0, minutes: made.minutes }, seed);
        let judged = Verdict::of(made, &chosen).all;
        (judged.below <= stands.below && judged.through <= stands.through).then_some(chosen)
    })
}

/// A choice with its judged risk as a share of the limit, the larger of the two limits'.
struct Judged {
    chosen: Chosen,
    share: f64,
}

fn aim_at_limits(made: &Made, problem: &Problem, seed: u64, kept: &mut Judged) {
    let limits = made.car.limits;
    let through = limits.through_risk.unwrap_or(1.0);
    // What stands already can't be avoided, and what adds nothing to it may always follow.
    let stands = Chosen::nothing(problem);
    let (mut aim, mut passed, mut failed) = (FIRST_AIM, 0.0, f64::INFINITY);
    for _ in 0..TRIES {
        let (risk, through_risk) = ((aim * limits.risk).max(stands.risk()), (aim * through).max(stands.through_risk()));
        let chosen = search(problem, Bounds { risk, through_risk, minutes: made.minutes }, seed);
        let judged = Verdict::of(made, &chosen).all;
        let share = (judged.below / limits.risk).max(judged.through / through);
        if share <= 1.0 {
            passed = aim;
            // Where the goal is met everywhere, or the hours are used, the limits are not what holds the plan back.
            let saturated = chosen.risk() < UNUSED * aim * limits.risk && chosen.through_risk() < UNUSED * aim * through;
            if share > kept.share {
                *kept = Judged { chosen, share: if saturated { 1.0 } else { share } };
            }
            if share >= NEAR_ENOUGH || saturated {
                return;
            }
        } else {
            failed = failed.min(aim);
        }
        let wanted = aim * 0.95 / share.max(0.3);
        aim = if failed.is_finite() && wanted >= failed { 0.5 * (passed + failed) } else { wanted.max(passed * 1.02) }.min(WORTH_LISTING);
        if failed.is_finite() && failed - passed < 0.05 {
            return;
        }
    }
}

fn no_film(error: FilmError) -> PlanError {
    match error {
        FilmError::NoReadings => PlanError::NoReadings,
        FilmError::Covariance(_) | FilmError::Field(_) => PlanError::Arithmetic(error.to_string()),
    }
}
