//! The search: most correction for the risk, the hours and the film.
//!
//! Risk has a price while searching; the price falls from forbidding until the limit is reached (a Lagrangian path), with coordinate ascent
//! over treatments and distances kept off at every price. Then what is left of the limit is filled, and panels are torn up and chosen anew.
//! Greedy additions alone leave half of an allowed risk unused, because tiles share their bad draws.

use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

use crate::chosen::{Bounds, Chosen, Prices};
use crate::problem::Problem;

/// What one minute is worth in correction of the vehicle, when hours aren't short. Judgement: ten hours for one per cent: enough to choose the
/// quicker of two equals, too little to skip a tile.
const MINUTE: f64 = 0.001 / 60.0;

/// Prices of risk (correction for the certainty of a breach) between which the path runs.
const PRICES: (f64, f64) = (400.0, 0.02);
/// Factor from one price to the next.
const STEP: f64 = 0.72;
/// Sweeps at each price.
const SWEEPS: usize = 3;
/// Rounds in which a few panels are torn up and chosen anew, in so many ways side by side; the best way is gone on from.
const ROUNDS: usize = 15;
/// See [`ROUNDS`].
const ABREAST: usize = 4;
/// How much dearer danger is for a panel that is chosen anew, as powers of ten between which one is drawn.
const DEARER: (f64, f64) = (-0.5, 0.5);

/// The best choice found within `bounds`.
pub(crate) fn search(problem: &Problem, bounds: Bounds, seed: u64) -> Chosen {
    let mut rng = Pcg64Mcg::seed_from_u64(seed ^ 0x0073_6561_7263_6800);
    let mut minute = MINUTE;
    let (mut chosen, mut prices) = along_path(problem, bounds, minute, &mut rng);
    if chosen.minutes() > bounds.minutes {
        // Hours are short: their price rises until the work fits, then half-way back while it does.
        let (mut low, mut high) = (minute, minute);
        while chosen.minutes() > bounds.minutes && high < 1.0 {
            (low, high) = (high, high * 3.0);
            (chosen, prices) = along_path(problem, bounds, high, &mut rng);
        }
        for _ in 0..7 {
            let middle = (low * high).sqrt();
            let (other, at) = along_path(problem, bounds, middle, &mut rng);
            if other.minutes() <= bounds.minutes {
                (high, chosen, prices) = (middle, other, at);
            } else {
                low = middle;
            }
        }
        minute = high;
        if chosen.minutes() > bounds.minutes {
            chosen = Chosen::nothing(problem);
        }
    }
    improve(problem, bounds, Prices { minute, ..prices }, chosen, &mut rng)
}

/// Follows the price of risk down until a limit on risk is reached, then narrows the last step; the prices there come with it. Minutes have
/// their price and no bound.
fn along_path(problem: &Problem, bounds: Bounds, minute: f64, rng: &mut Pcg64Mcg) -> (Chosen, Prices) {
    let everywhere: Vec<usize> = (0..problem.panels.len()).collect();
    let mut within = Chosen::nothing(problem);
    let price = |risk: f64| Prices { risk, through: risk * (bounds.risk / bounds.through_risk).clamp(1.0, 1e4), minute };
    let (mut high, mut low) = (PRICES.0, PRICES.0);
    while low > PRICES.1 {
        let mut next = within.clone();
        sweep(problem, &mut next, &everywhere, price(low), None, SWEEPS, rng);
        if !next.is_within_risks(bounds) {
            break;
        }
        within = next;
        (high, low) = (low, low * STEP);
    }
    for _ in 0..6 {
        let middle = (low * high).sqrt();
        let mut next = within.clone();
        sweep(problem, &mut next, &everywhere, price(middle), None, SWEEPS, rng);
        if next.is_within_risks(bounds) {
            (high, within) = (middle, next);
        } else {
            low = middle;
        }
    }
    (within, price(high))
}

/// Fills what the bounds leave, and tears up a few panels at a time to choose them anew, at prices about those of the `start`.
fn improve(problem: &Problem, bounds: Bounds, prices: Prices, start: Chosen, rng: &mut Pcg64Mcg) -> Chosen {
    let free = Prices { risk: 0.0, through: 0.0, minute: MINUTE };
    let everywhere: Vec<usize> = (0..problem.panels.len()).collect();
    let worth = |chosen: &Chosen| chosen.worth(problem, 0..problem.tiles.len(), free);
    let torn_up = |best: &Chosen, seed: u64| {
        let mut rng = Pcg64Mcg::seed_from_u64(seed);
        let mut other = best.clone();
        let mut torn: Vec<usize> =
            (0..rng.random_range(1..=3.min(everywhere.len()))).map(|_| rng.random_range(0..everywhere.len())).collect();
        torn.sort_unstable();
        torn.dedup();
        torn.iter().for_each(|&panel| other.tear_up(problem, panel));
        let times = 10f64.powf(rng.random_range(DEARER.0..DEARER.1));
        let at = Prices { risk: times * prices.risk, through: times * prices.through, minute: prices.minute };
        sweep(problem, &mut other, &torn, at, None, 1, &mut rng);
        other.is_within(bounds).then(|| {
            fill(problem, &mut other, bounds, prices.minute, &mut rng);
            (worth(&other), other)
        })
    };
    let mut best = start;
    fill(problem, &mut best, bounds, prices.minute, rng);
    let mut best_worth = worth(&best);
    for _ in 0..if everywhere.is_empty() { 0 } else { ROUNDS } {
        let seeds: [u64; ABREAST] = rng.random();
        let others: Vec<Option<(f64, Chosen)>> = seeds.into_par_iter().map(|seed| torn_up(&best, seed)).collect();
        for (worth, other) in others.into_iter().flatten() {
            if worth > best_worth + 1e-9 {
                (best, best_worth) = (other, worth);
            }
        }
    }
    best
}

/// Takes every step that is worth its time and stays within `bounds`. The price of a minute falls from `minute`, so that steps that gain most for
/// a minute come first.
fn fill(problem: &Problem, chosen: &mut Chosen, bounds: Bounds, mut minute: f64, rng: &mut Pcg64Mcg) {
    let everywhere: Vec<usize> = (0..problem.panels.len()).collect();
    loop {
        let free = Prices { risk: 0.0, through: 0.0, minute: minute.max(MINUTE) };
        sweep(problem, chosen, &everywhere, free, Some(bounds), SWEEPS, rng);
        if minute <= MINUTE {
            return;
        }
        minute *= STEP * STEP;
    }
}

/// Coordinate ascent over `panels`: every tile's treatment until none changes, then every edge's distance with its tiles chosen anew; within
/// `bounds` only steps that stay inside them.
fn sweep(
    problem: &Problem,
    chosen: &mut Chosen,
    panels: &[usize],
    prices: Prices,
    bounds: Option<Bounds>,
    sweeps: usize,
    rng: &mut Pcg64Mcg,
) {
    let mut order: Vec<usize> = panels.iter().flat_map(|&p| &problem.panels[p].tiles).copied().collect();
    for _ in 0..sweeps {
        order.shuffle(rng);
        let mut changed = false;
        for &i in &order {
            changed |= chosen.choose_treatment(problem, i, prices, bounds);
        }
        if !changed {
            break;
        }
    }
    for &panel in panels {
        for strip in 0..problem.panels[panel].levels.len() {
            chosen.choose_level(problem, panel, strip, prices, bounds);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example::{EFFORT, car, with_made};

    /// Share of draws in which any tile goes below the floor, and to the undercoat, counted from the options anew.
    fn recounted(problem: &Problem, chosen: &Chosen) -> (f64, f64) {
        let (mut below, mut through) = (vec![false; problem.draws], vec![false; problem.draws]);
        for (tile, &treatment) in problem.tiles.iter().zip(&chosen.treatment) {
            let option = &tile.options[tile.levels.combined(&chosen.levels[tile.panel])][treatment];
            option.below.iter().for_each(|d| below[*d as usize] = true);
            option.through.iter().for_each(|d| through[*d as usize] = true);
        }
        let share = |wrong: Vec<bool>| wrong.iter().filter(|w| **w).count() as f64 / problem.draws as f64;
        (share(below), share(through))
    }

    #[test]
    fn hours_too_short_for_any_tile_leave_everything_alone() {
        let mut car = car();
        car.processes.iter_mut().for_each(|p| p.minutes_per_m2 = 0.5);
        with_made(&car, EFFORT, |made| {
            let chosen = search(made.problem, Bounds { risk: 0.05, through_risk: 1.0, minutes: 0.001 }, 1);
            assert!(chosen.treatment.iter().all(|t| *t == 0));
        });
    }

    #[test]
    fn a_choice_stays_within_its_bounds_and_looser_bounds_are_worth_no_less() {
        let mut car = car();
        car.limits.risk = 0.3;
        car.limits.through_risk = Some(0.1);
        with_made(&car, EFFORT, |made| {
            let value = |bounds: Bounds| {
                let chosen = search(made.problem, bounds, 1);
                let minutes: f64 = chosen.treatment.iter().zip(&made.problem.tiles).map(|(&t, tile)| tile.minutes[t]).sum();
                let (below, through) = recounted(made.problem, &chosen);
                assert!(below <= bounds.risk + 1e-9 && through <= bounds.through_risk + 1e-9, "{bounds:?}: {below} {through}");
                assert!((below - chosen.risk()).abs() < 1e-12 && (through - chosen.through_risk()).abs() < 1e-12);
                assert!(minutes <= bounds.minutes + 1e-9, "{bounds:?}");
                made.problem
                    .tiles
                    .iter()
                    .zip(&chosen.treatment)
                    .map(|(tile, &t)| tile.options[tile.levels.combined(&chosen.levels[tile.panel])][t].value)
                    .sum::<f64>()
            };
            let wide = Bounds { risk: 0.3, through_risk: 0.1, minutes: 600.0 };
            let all = value(wide);
            assert!(all > 0.2, "{all}");
            for tight in [Bounds { risk: 0.1, ..wide }, Bounds { through_risk: 0.03, ..wide }, Bounds { minutes: 12.0, ..wide }] {
                assert!(value(tight) <= all + 0.01, "{tight:?}");
            }
            assert!(value(Bounds { minutes: 0.0, ..wide }).abs() < 1e-12);
        });
    }
}
