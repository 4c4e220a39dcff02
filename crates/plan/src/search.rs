//! The search: most correction for the risk, the hours and the film.
//!
//! Risk has a price while searching; the price falls from forbidding until the limit is reached (a Lagrangian path), with coordinate ascent
//! over treatments and distances kept off at every price. Then what is left of the limit is filled, and panels are torn up and chosen anew.
//! Greedy additions alone leave half of an allowed risk unused, because tiles share their bad draws.

use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

use crate::hazard::Hazard;
use crate::problem::{Choice, Problem, combined};
use crate::room::KEEP_OFF_MM;

/// What one minute is worth in correction of the vehicle, when hours aren't short. Judgement: ten hours for one per cent: enough to choose the
/// quicker of two equals, too little to skip a tile.
const MINUTE: f64 = 0.001 / 60.0;

/// What one um over the whole vehicle is worth in correction. Judgement: of treatments that meet the goal the one that takes least is taken,
/// and a last per cent before the goal that would cost more than a third of a micron is left.
const MICRON: f64 = 0.03;

/// What a border between two tiles that are worked differently is worth, as a share of their mean weight. Judgement: a tile unlike all four of
/// its neighbours must gain an eighth of its defects by it. On simulated cars that halves the borders, and costs 0.003 of the correction.
const BORDER: f64 = 0.03;

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

/// What may not be passed, for the draws to choose on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bounds {
    pub(crate) risk: f64,
    pub(crate) through_risk: f64,
    pub(crate) minutes: f64,
}

/// A choice for every tile and edge.
#[derive(Clone, Debug)]
pub(crate) struct Chosen {
    /// Level kept off, by panel and edge group.
    pub(crate) levels: Vec<Vec<usize>>,
    /// Treatment of each tile.
    pub(crate) treatment: Vec<usize>,
    below: Hazard,
    through: Hazard,
    minutes: f64,
}

#[derive(Clone, Copy, Debug)]
struct Prices {
    risk: f64,
    through: f64,
    minute: f64,
}

/// The best choice found within `bounds`.
pub(crate) fn search(problem: &Problem, bounds: Bounds, seed: u64) -> Chosen {
    let mut rng = Pcg64Mcg::seed_from_u64(seed ^ 0x0073_6561_7263_6800);
    let mut minute = MINUTE;
    let mut chosen = along_path(problem, bounds, minute, &mut rng);
    if chosen.minutes > bounds.minutes {
        // Hours are short: their price rises until the work fits, then half-way back while it does.
        let (mut low, mut high) = (minute, minute);
        while chosen.minutes > bounds.minutes && high < 1.0 {
            (low, high) = (high, high * 3.0);
            chosen = along_path(problem, bounds, high, &mut rng);
        }
        for _ in 0..7 {
            let middle = (low * high).sqrt();
            let other = along_path(problem, bounds, middle, &mut rng);
            if other.minutes <= bounds.minutes {
                (high, chosen) = (middle, other);
            } else {
                low = middle;
            }
        }
        minute = high;
    }
    improve(problem, bounds, minute, chosen, &mut rng)
}

/// Follows the price of risk down until a limit on risk is reached, then narrows the last step. Minutes have their price and no bound.
fn along_path(problem: &Problem, bounds: Bounds, minute: f64, rng: &mut Pcg64Mcg) -> Chosen {
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
    within
}

/// Fills what the bounds leave, and tears up a few panels at a time to choose them anew.
fn improve(problem: &Problem, bounds: Bounds, minute: f64, start: Chosen, rng: &mut Pcg64Mcg) -> Chosen {
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
        let price = 10f64.powf(rng.random_range(-0.5..1.5));
        sweep(problem, &mut other, &torn, Prices { risk: price, through: price, minute }, None, 1, &mut rng);
        other.is_within(bounds).then(|| {
            fill(problem, &mut other, bounds, minute, &mut rng);
            (worth(&other), other)
        })
    };
    let mut best = start;
    fill(problem, &mut best, bounds, minute, rng);
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

/// Takes every step that is worth its time and stays within `bounds`: those that are worth most for a minute first, for a price that falls from
/// `minute` leaves what a lone tile gains after its borders to be found last.
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
        for group in 0..problem.panels[panel].groups {
            chosen.choose_level(problem, panel, group, prices, bounds);
        }
    }
}

impl Choice {
    /// Worth at prices when it takes `minutes`, danger left out.
    fn net(&self, prices: Prices, minutes: f64) -> f64 {
        self.value - MICRON * self.film - prices.minute * minutes
    }
}

impl Chosen {
    /// Everything left alone.
    pub(crate) fn nothing(problem: &Problem) -> Self {
        Self {
            levels: problem.panels.iter().map(|p| vec![0; p.groups]).collect(),
            treatment: vec![0; problem.tiles.len()],
            below: Hazard::new(problem.draws),
            through: Hazard::new(problem.draws),
            minutes: 0.0,
        }
    }

    /// Share of the draws to choose on in which a worked place ends below the floor.
    pub(crate) fn risk(&self) -> f64 {
        self.below.risk()
    }

    /// Share of the draws to choose on in which a worked place reaches the undercoat; 0 where no limit is set on that.
    pub(crate) fn through_risk(&self) -> f64 {
        self.through.risk()
    }

    fn is_within(&self, bounds: Bounds) -> bool {
        self.is_within_risks(bounds) && (self.minutes <= bounds.minutes || self.treatment.iter().all(|t| *t == 0))
    }

    fn is_within_risks(&self, bounds: Bounds) -> bool {
        self.below.risk() <= bounds.risk + 1e-12 && self.through.risk() <= bounds.through_risk + 1e-12
    }

    /// What may be done on tile `i`, edges kept off as they are now.
    fn options<'p>(&self, problem: &'p Problem, i: usize) -> &'p [Choice] {
        let tile = &problem.tiles[i];
        &tile.options[combined(&tile.groups, &self.levels[tile.panel])]
    }

    fn option<'p>(&self, problem: &'p Problem, i: usize, treatment: usize) -> &'p Choice {
        &self.options(problem, i)[treatment]
    }

    /// Worth of some tiles at prices, risk left out.
    fn worth(&self, problem: &Problem, tiles: impl Iterator<Item = usize>, prices: Prices) -> f64 {
        tiles.map(|i| self.tile_worth(problem, i, self.treatment[i], prices) - 0.5 * self.borders(problem, i, self.treatment[i])).sum()
    }

    fn tile_worth(&self, problem: &Problem, i: usize, treatment: usize, prices: Prices) -> f64 {
        self.option(problem, i, treatment).net(prices, problem.tiles[i].minutes[treatment])
    }

    fn borders(&self, problem: &Problem, i: usize, treatment: usize) -> f64 {
        let tile = &problem.tiles[i];
        let differing = tile.neighbours.iter().filter(|&&n| self.treatment[n] != treatment);
        differing.map(|&n| BORDER * 0.5 * (tile.weight + problem.tiles[n].weight)).sum()
    }

    /// Takes tile `i` out of the sums.
    fn lift(&mut self, problem: &Problem, i: usize) {
        let option = self.option(problem, i, self.treatment[i]);
        self.below.remove(&option.below);
        self.through.remove(&option.through);
        self.minutes -= problem.tiles[i].minutes[self.treatment[i]];
    }

    /// Puts a tile that was lifted back, with the treatment that it has now.
    fn lay(&mut self, problem: &Problem, i: usize) {
        let option = self.option(problem, i, self.treatment[i]);
        self.below.add(&option.below);
        self.through.add(&option.through);
        self.minutes += problem.tiles[i].minutes[self.treatment[i]];
    }

    /// Gives tile `i` the treatment that is worth most at these prices (or, within `bounds`, the best that stays inside them).
    fn choose_treatment(&mut self, problem: &Problem, i: usize, prices: Prices, bounds: Option<Bounds>) -> bool {
        let old = self.treatment[i];
        self.lift(problem, i);
        let (tile, options) = (&problem.tiles[i], self.options(problem, i));
        let mut best = (old, f64::NEG_INFINITY);
        // The strongest first: most of the milder ones are then no better even without their danger.
        for t in std::iter::once(old).chain((0..problem.treatments).rev().filter(|&t| t != old)) {
            let option = &options[t];
            let free = option.net(prices, tile.minutes[t]) - self.borders(problem, i, t);
            // Danger only takes off, so what is no better without it needs no counting.
            if !option.allowed || free <= best.1 + 1e-9 {
                continue;
            }
            let (below, through) = (self.below.more(&option.below), self.through.more(&option.through));
            let inside = bounds.is_none_or(|b| {
                self.below.risk() + below <= b.risk + 1e-12
                    && self.through.risk() + through <= b.through_risk + 1e-12
                    && self.minutes + tile.minutes[t] <= b.minutes
            });
            let worth = free - prices.risk * below - prices.through * through;
            if inside && worth > best.1 + 1e-9 {
                best = (t, worth);
            }
        }
        self.treatment[i] = best.0;
        self.lay(problem, i);
        best.0 != old
    }

    /// Tries every level of an edge group, its tiles chosen anew at each; keeps the best.
    fn choose_level(&mut self, problem: &Problem, panel: usize, group: usize, prices: Prices, bounds: Option<Bounds>) {
        let touched: Vec<usize> =
            problem.panels[panel].tiles.iter().copied().filter(|&i| problem.tiles[i].groups.contains(&group)).collect();
        let old = self.state(panel, group, &touched);
        let mut best = (self.panel_worth(problem, panel, prices), old.clone());
        for level in (0..KEEP_OFF_MM.len()).filter(|l| *l != old.level) {
            self.put(problem, panel, group, &touched, &State { level, treatments: old.treatments.clone() });
            for &i in &touched {
                self.choose_treatment(problem, i, prices, bounds);
            }
            let worth = self.panel_worth(problem, panel, prices);
            if worth > best.0 + 1e-9 && bounds.is_none_or(|b| self.is_within(b)) {
                best = (worth, self.state(panel, group, &touched));
            }
        }
        self.put(problem, panel, group, &touched, &best.1);
    }

    /// Worth of a panel's tiles, risk of the whole vehicle taken off.
    fn panel_worth(&self, problem: &Problem, panel: usize, prices: Prices) -> f64 {
        let worth = self.worth(problem, problem.panels[panel].tiles.iter().copied(), prices);
        worth - prices.risk * self.below.risk() - prices.through * self.through.risk()
    }

    fn state(&self, panel: usize, group: usize, touched: &[usize]) -> State {
        State { level: self.levels[panel][group], treatments: touched.iter().map(|&i| self.treatment[i]).collect() }
    }

    /// Keeps `group` off at another level and treats the tiles it touches so; one that is not allowed there is left alone.
    fn put(&mut self, problem: &Problem, panel: usize, group: usize, touched: &[usize], state: &State) {
        touched.iter().for_each(|&i| self.lift(problem, i));
        self.levels[panel][group] = state.level;
        for (&i, &t) in touched.iter().zip(&state.treatments) {
            self.treatment[i] = if self.option(problem, i, t).allowed { t } else { 0 };
            self.lay(problem, i);
        }
    }

    /// Leaves a whole panel alone, no edge kept off.
    fn tear_up(&mut self, problem: &Problem, panel: usize) {
        for &i in &problem.panels[panel].tiles {
            self.lift(problem, i);
            self.treatment[i] = 0;
        }
        self.levels[panel].iter_mut().for_each(|l| *l = 0);
    }
}

/// What changing an edge group's level changes.
#[derive(Clone, Debug)]
struct State {
    level: usize,
    /// Treatments of the tiles touched.
    treatments: Vec<usize>,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example::{EFFORT, car, with_made};

    #[test]
    fn a_choice_stays_within_its_bounds_and_looser_bounds_are_worth_no_less() {
        let mut car = car();
        car.limits.risk = 0.3;
        car.limits.through_risk = Some(0.1);
        with_made(&car, EFFORT, |made| {
            let value = |bounds: Bounds| {
                let chosen = search(made.problem, bounds, 1);
                let minutes: f64 = chosen.treatment.iter().zip(&made.problem.tiles).map(|(&t, tile)| tile.minutes[t]).sum();
                assert!(chosen.is_within(bounds), "{bounds:?}");
                assert!(minutes <= bounds.minutes + 1e-9, "{bounds:?}");
                (0..chosen.treatment.len()).map(|i| chosen.option(made.problem, i, chosen.treatment[i]).value).sum::<f64>()
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
