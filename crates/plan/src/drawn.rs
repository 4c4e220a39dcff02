//! Joint draws of a car: film, rates, defect depths, the hand near edges and lines, marks.

use std::ops::Range;

use lastmicron_film::{Draws, FilmError, UNDERCOATS};
use lastmicron_look::{DepthLaw, DepthModel, Look, looks};
use lastmicron_numerics::mixture::Prior;
use lastmicron_polish::Step;
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_distr::StandardNormal;
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

use crate::car::Car;
use crate::knowledge::{Knowledge, believed};

/// Least film that one set takes, um: no pad and polish takes nothing.
const LEAST_RATE_UM: f64 = 0.05;
/// Least factor by which a panel or a tile differs from a rate.
const LEAST_FACTOR: f64 = 0.2;

/// Joint draws of a car. The first half is to choose on, the second to judge the choice by. Several draws share one film: each has
/// rates, a depth law, gains and factors of its own, and an undercoat of its own unless the topcoat was read ([`UNDERCOATS`]).
pub(crate) struct Drawn<'a> {
    pub(crate) knowledge: &'a Knowledge,
    pub(crate) film: Draws<'a>,
    /// What one resampled film's readings and counts say of work, by film.
    work: Vec<Work>,
    /// How the hand differs near edges and lines, in standard deviations of the gains there, by draw.
    hand: Vec<f64>,
    /// Factor on rates: by draw, then panel.
    panel_factor: Vec<f64>,
    panels: usize,
    seed: u64,
}

/// Rates and depths that go together.
struct Work {
    /// Film that one set takes in work still to come, um: by process.
    rates_um: Vec<f64>,
    /// Share of new defects that one set leaves: by process.
    marks: Vec<f64>,
    /// Depth law of the defects.
    law: DepthLaw,
    /// Factor of each panel, where it was worked before.
    panel_factor: Vec<Option<f64>>,
}

impl<'a> Drawn<'a> {
    /// Draws `count` films for each half.
    pub(crate) fn new(car: &Car, knowledge: &'a Knowledge, count: usize, seed: u64) -> Result<Self, FilmError> {
        let film = knowledge.posterior.draw(count, seed)?;
        let mut rng = Pcg64Mcg::seed_from_u64(seed ^ 0x7261_7465);
        let work = work(car, knowledge, &film, seed, &mut rng);
        let hand = believed(0.0, 1.0);
        let (all, panels) = (film.count() * UNDERCOATS, car.panels.len());
        let hand = (0..all).map(|_| hand.draw(&mut rng)).collect();
        let mut drawn = Self { knowledge, film, work, hand, panel_factor: Vec::with_capacity(all * panels), panels, seed };
        for draw in 0..all {
            for panel in 0..panels {
                let own = drawn.work(draw).panel_factor[panel];
                let factor = own.unwrap_or_else(|| 1.0 + knowledge.scatter.panel * rng.sample::<f64, _>(StandardNormal));
                drawn.panel_factor.push(factor.max(LEAST_FACTOR));
            }
        }
        Ok(drawn)
    }

    /// Number of draws, both halves.
    pub(crate) fn count(&self) -> usize {
        self.hand.len()
    }

    /// Draws to choose on.
    pub(crate) fn first_half(&self) -> Range<usize> {
        0..self.count() / 2
    }

    /// Draws to judge a choice by.
    pub(crate) fn second_half(&self) -> Range<usize> {
        self.count() / 2..self.count()
    }

    /// The film that `draw` shares with its neighbours.
    pub(crate) fn film_of(draw: usize) -> usize {
        draw / UNDERCOATS
    }

    /// The first of the draws that share film `film`.
    pub(crate) fn first_with(film: usize) -> usize {
        film * UNDERCOATS
    }

    /// How the hand differs near edges and lines in `draw`, in standard deviations.
    pub(crate) fn hand(&self, draw: usize) -> f64 {
        self.hand[draw]
    }

    /// Undercoat of `panel` in `draw`, um.
    pub(crate) fn undercoat_um(&self, draw: usize, panel: usize) -> f64 {
        self.film.undercoat_um(Self::film_of(draw), draw % UNDERCOATS, panel)
    }

    /// Work to come hardly depends on the film, so draws of one film are given rates and depths from films a quarter of the half apart.
    fn work(&self, draw: usize) -> &Work {
        &self.work[work_of(draw, self.film.count() / 2)]
    }

    /// Film that one set of `process` takes in `draw`, um.
    pub(crate) fn rate_um(&self, draw: usize, process: usize) -> f64 {
        self.work(draw).rates_um[process]
    }

    /// Share of new defects that one set of `process` leaves in `draw`.
    pub(crate) fn mark(&self, draw: usize, process: usize) -> f64 {
        self.work(draw).marks[process]
    }

    /// Depth law of the defects in `draw`.
    pub(crate) fn law(&self, draw: usize) -> DepthLaw {
        self.work(draw).law
    }

    /// Factor on rates of `panel` in `draw`.
    pub(crate) fn panel_factor(&self, draw: usize, panel: usize) -> f64 {
        self.panel_factor[draw * self.panels + panel]
    }

    /// Factors on rates of one tile, by draw: a stream of its own for every tile, so that plans with other tiles stay comparable.
    pub(crate) fn tile_factors(&self, panel: usize, tile: usize) -> Vec<f64> {
        let mut rng = Pcg64Mcg::seed_from_u64(self.seed ^ 0x7365_6374_0000 ^ ((panel as u64) << 32) ^ ((tile as u64) << 8));
        let sd = self.knowledge.scatter.section;
        (0..self.count()).map(|_| (1.0 + sd * rng.sample::<f64, _>(StandardNormal)).max(LEAST_FACTOR)).collect()
    }

    /// `count` draws of a noise of standard deviation `sd`, from stream `stream`.
    pub(crate) fn noise(&self, count: usize, stream: usize, sd: f64) -> Vec<f32> {
        let mut rng = Pcg64Mcg::seed_from_u64(self.seed ^ 0x6E6F_6973_0000 ^ ((stream as u64) << 20));
        (0..count).map(|_| (sd * rng.sample::<f64, _>(StandardNormal)) as f32).collect()
    }

    /// Film that `steps` took on `panel` before the plan, in the middle, um.
    pub(crate) fn already_removed_um(&self, film: usize, panel: usize, steps: &[Step]) -> f64 {
        let on = self.knowledge.work.removed(panel, steps, |_| 0.0);
        on.iter().map(|&(u, c)| c * self.film.named(film, u)).sum::<f64>().max(0.0)
    }
}

/// The film whose work goes with `draw`, where a half has `half` films: from the same half, and another for each draw of one film.
fn work_of(draw: usize, half: usize) -> usize {
    let (film, again) = (Drawn::film_of(draw), draw % UNDERCOATS);
    let start = if film < half { 0 } else { half };
    start + (film - start + again * half / UNDERCOATS) % half
}

/// For every film, what working readings and counts say of rates and depths: films resampled by how well their rates explain the counts.
fn work(car: &Car, knowledge: &Knowledge, film: &Draws, seed: u64, rng: &mut Pcg64Mcg) -> Vec<Work> {
    let looks = looks(&car.counts);
    let model = DepthModel::new();
    let rate_of = |film_draw: usize, p: usize| knowledge.work.rate_um(film, film_draw, p).max(LEAST_RATE_UM);
    let own_factor =
        |film_draw: usize, panel: usize| knowledge.work.panel_factor(panel).map(|u| (1.0 + film.named(film_draw, u)).max(LEAST_FACTOR));
    let weighed: Vec<(DepthLaw, f64)> = (0..film.count())
        .into_par_iter()
        .map(|draw| {
            let mut rng = Pcg64Mcg::seed_from_u64(seed ^ 0x6C61_7773 ^ ((draw as u64) << 16));
            let taken = |look: &Look, done: &[(usize, u32)]| {
                let rate: f64 = done.iter().map(|&(p, sets)| f64::from(sets) * rate_of(draw, p)).sum();
                rate * own_factor(draw, look.panel).unwrap_or(1.0)
            };
            let seen: Vec<(f64, f64, f64, f64)> = looks.iter().map(|l| (taken(l, &l.from), taken(l, &l.to), l.before, l.left)).collect();
            model.draw(&seen, &mut rng)
        })
        .collect();
    let mut picked = Vec::with_capacity(film.count());
    for half in [film.first_half(), film.second_half()] {
        let log: Vec<f64> = weighed[half.clone()].iter().map(|w| w.1).collect();
        let mut chosen = resample(&log, rng.random());
        chosen.shuffle(rng);
        picked.extend(chosen.into_iter().map(|i| half.start + i));
    }
    let marks: Vec<Option<Prior>> = car.processes.iter().map(|p| p.marks.map(|m| believed(m.mean, m.sd))).collect();
    picked
        .into_iter()
        .map(|i| Work {
            rates_um: (0..car.processes.len()).map(|p| rate_of(i, p)).collect(),
            marks: marks.iter().map(|m| m.as_ref().map_or(0.0, |m| m.draw(rng).clamp(0.0, 1.0))).collect(),
            law: weighed[i].0,
            panel_factor: (0..car.panels.len()).map(|k| own_factor(i, k)).collect(),
        })
        .collect()
}

/// Indices drawn in proportion to exp(log weight), by systematic resampling from one uniform number (Kitagawa, J. Comput. Graph. Stat. 5, 1996).
fn resample(log_weights: &[f64], uniform: f64) -> Vec<usize> {
    let top = log_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = log_weights.iter().map(|l| (l - top).exp()).collect();
    let (total, n) = (weights.iter().sum::<f64>(), log_weights.len());
    let (mut chosen, mut sum, mut next) = (Vec::with_capacity(n), 0.0, uniform);
    for (i, w) in weights.iter().enumerate() {
        sum += w / total * n as f64;
        while next < sum && chosen.len() < n {
            chosen.push(i);
            next += 1.0;
        }
    }
    chosen.resize(n, n.saturating_sub(1));
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_stays_in_its_half_and_is_another_for_each_draw_of_a_film() {
        for half in [64, 65, 1000] {
            let mut used = vec![0; 2 * half];
            for film in 0..2 * half {
                let works: Vec<usize> = (0..UNDERCOATS).map(|again| work_of(Drawn::first_with(film) + again, half)).collect();
                assert!(works.iter().all(|w| (*w < half) == (film < half)));
                assert!((1..UNDERCOATS).all(|i| !works[..i].contains(&works[i])));
                works.iter().for_each(|w| used[*w] += 1);
            }
            assert!(used.iter().all(|n| *n == UNDERCOATS));
        }
    }

    #[test]
    fn resampling_takes_each_in_proportion_to_its_weight() {
        let chosen = resample(&[0.0, 3f64.ln(), f64::NEG_INFINITY, 0.0], 0.5);
        assert_eq!(chosen.len(), 4);
        assert_eq!(chosen.iter().filter(|&&i| i == 1).count(), 2);
        assert!(!chosen.contains(&2));
    }
}
