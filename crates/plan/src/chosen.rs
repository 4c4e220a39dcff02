//! A choice of treatments and distances kept off, its worth and its danger, and the steps by which it is bettered.

use crate::hazard::Hazard;
use crate::problem::{Choice, Problem, ProblemTile};

/// What one um over the whole vehicle is worth in correction. Judgement: of treatments that meet the goal the one that takes least is taken,
/// and a last per cent before the goal that would cost more than a third of a micron is left.
const MICRON: f64 = 0.03;

/// What a border between two tiles that are worked differently, what was done before counted in, is worth, as a share of their mean weight.
/// Judgement: a tile unlike all four of its neighbours must gain an eighth of its defects by it. On simulated cars that halves the borders, and
/// costs 0.003 of the correction.
const BORDER: f64 = 0.03;

/// What may not be passed, for the draws to choose on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bounds {
    pub(crate) risk: f64,
    pub(crate) through_risk: f64,
    pub(crate) minutes: f64,
}

/// A choice for every tile and strip.
#[derive(Clone, Debug)]
pub(crate) struct Chosen {
    /// Level kept off, by panel and strip.
    pub(crate) levels: Vec<Vec<usize>>,
    /// Treatment of each tile.
    pub(crate) treatment: Vec<usize>,
    below: Hazard,
    through: Hazard,
    minutes: f64,
}

/// What danger and time cost, in correction of the vehicle.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Prices {
    /// The certainty that a place ends below the floor.
    pub(crate) risk: f64,
    /// The certainty that a place reaches the undercoat.
    pub(crate) through: f64,
    pub(crate) minute: f64,
}

impl Choice {
    /// Worth at prices when it takes `minutes`, danger left out.
    fn net(&self, prices: Prices, minutes: f64) -> f64 {
        self.value - MICRON * self.film - prices.minute * minutes
    }
}

impl Chosen {
    /// Everything left alone: what is endangered is what was worked before and stands so.
    pub(crate) fn nothing(problem: &Problem) -> Self {
        let (mut below, mut through) = (Hazard::new(problem.draws), Hazard::new(problem.draws));
        for tile in &problem.tiles {
            below.add(&tile.standing.below);
            through.add(&tile.standing.through);
        }
        Self {
            levels: problem.panels.iter().map(|p| vec![0; p.levels.len()]).collect(),
            treatment: vec![0; problem.tiles.len()],
            below,
            through,
            minutes: 0.0,
        }
    }

    /// Minutes of all that is chosen.
    pub(crate) fn minutes(&self) -> f64 {
        self.minutes
    }

    /// Share of the draws to choose on in which a worked place ends below the floor.
    pub(crate) fn risk(&self) -> f64 {
        self.below.risk()
    }

    /// Share of the draws to choose on in which a worked place reaches the undercoat; 0 where no limit is set on that.
    pub(crate) fn through_risk(&self) -> f64 {
        self.through.risk()
    }

    pub(crate) fn is_within(&self, bounds: Bounds) -> bool {
        self.is_within_risks(bounds) && (self.minutes <= bounds.minutes || self.treatment.iter().all(|t| *t == 0))
    }

    pub(crate) fn is_within_risks(&self, bounds: Bounds) -> bool {
        self.below.risk() <= bounds.risk + 1e-12 && self.through.risk() <= bounds.through_risk + 1e-12
    }

    /// Combined level at which the edges of tile `i` are kept off.
    pub(crate) fn level(&self, problem: &Problem, i: usize) -> usize {
        let tile = &problem.tiles[i];
        tile.levels.combined(&self.levels[tile.panel])
    }

    /// What may be done on tile `i`, edges kept off as they are now.
    pub(crate) fn options<'p>(&self, problem: &'p Problem, i: usize) -> &'p [Choice] {
        &problem.tiles[i].options[self.level(problem, i)]
    }

    fn option<'p>(&self, problem: &'p Problem, i: usize, treatment: usize) -> &'p Choice {
        &self.options(problem, i)[treatment]
    }

    /// Worth of some tiles at prices, risk left out.
    pub(crate) fn worth(&self, problem: &Problem, tiles: impl Iterator<Item = usize>, prices: Prices) -> f64 {
        tiles.map(|i| self.tile_worth(problem, i, self.treatment[i], prices) - 0.5 * self.borders(problem, i, self.treatment[i])).sum()
    }

    fn tile_worth(&self, problem: &Problem, i: usize, treatment: usize, prices: Prices) -> f64 {
        self.option(problem, i, treatment).net(prices, problem.tiles[i].minutes[treatment])
    }

    fn borders(&self, problem: &Problem, i: usize, treatment: usize) -> f64 {
        let tile = &problem.tiles[i];
        let in_all = |tile: &ProblemTile, treatment: usize| problem.in_all[tile.before][treatment];
        let own = in_all(tile, treatment);
        let differing = tile.neighbours.iter().filter(|&&n| in_all(&problem.tiles[n], self.treatment[n]) != own);
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
    pub(crate) fn choose_treatment(&mut self, problem: &Problem, i: usize, prices: Prices, bounds: Option<Bounds>) -> bool {
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

    /// Tries every level of a strip, its tiles chosen anew at each; keeps the best.
    pub(crate) fn choose_level(&mut self, problem: &Problem, panel: usize, strip: usize, prices: Prices, bounds: Option<Bounds>) {
        let touched: Vec<usize> =
            problem.panels[panel].tiles.iter().copied().filter(|&i| problem.tiles[i].levels.strips.contains(&strip)).collect();
        let old = self.state(panel, strip, &touched);
        let mut best = (self.panel_worth(problem, panel, prices), old.clone());
        for level in (0..problem.panels[panel].levels[strip]).filter(|l| *l != old.level) {
            self.put(problem, panel, strip, &touched, &State { level, treatments: old.treatments.clone() });
            for &i in &touched {
                self.choose_treatment(problem, i, prices, bounds);
            }
            let worth = self.panel_worth(problem, panel, prices);
            if worth > best.0 + 1e-9 && bounds.is_none_or(|b| self.is_within(b)) {
                best = (worth, self.state(panel, strip, &touched));
            }
        }
        self.put(problem, panel, strip, &touched, &best.1);
    }

    /// Worth of a panel's tiles, risk of the whole vehicle taken off.
    fn panel_worth(&self, problem: &Problem, panel: usize, prices: Prices) -> f64 {
        let worth = self.worth(problem, problem.panels[panel].tiles.iter().copied(), prices);
        worth - prices.risk * self.below.risk() - prices.through * self.through.risk()
    }

    fn state(&self, panel: usize, strip: usize, touched: &[usize]) -> State {
        State { level: self.levels[panel][strip], treatments: touched.iter().map(|&i| self.treatment[i]).collect() }
    }

    /// Keeps `strip` off at another level and treats the tiles it touches so; one that is not allowed there is left alone.
    fn put(&mut self, problem: &Problem, panel: usize, strip: usize, touched: &[usize], state: &State) {
        touched.iter().for_each(|&i| self.lift(problem, i));
        self.levels[panel][strip] = state.level;
        for (&i, &t) in touched.iter().zip(&state.treatments) {
            self.treatment[i] = if self.option(problem, i, t).allowed { t } else { 0 };
            self.lay(problem, i);
        }
    }

    /// Leaves a whole panel alone, no edge kept off.
    pub(crate) fn tear_up(&mut self, problem: &Problem, panel: usize) {
        for &i in &problem.panels[panel].tiles {
            self.lift(problem, i);
            self.treatment[i] = 0;
        }
        self.levels[panel].iter_mut().for_each(|l| *l = 0);
    }
}

/// What changing a strip's level changes.
#[derive(Clone, Debug)]
struct State {
    level: usize,
    /// Treatments of the tiles touched.
    treatments: Vec<usize>,
}
