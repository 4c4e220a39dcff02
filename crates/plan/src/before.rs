//! What was done on a tile before the plan is made.
//!
//! A tile is planned as one, so what was done on it is told as one: a set counts from when at least half of its places have had it. A test spot within
//! it counts for its film, place by place, and not for the tile's defects.

use std::collections::BTreeMap;

use lastmicron_film::grid::Grid;
use lastmicron_polish::Step;

use crate::car::Car;
use crate::drawn::Drawn;
use crate::gain::{Blend, Gain, Nearness};
use crate::patch::{places, worked_on};
use crate::treatment::{Done, MOST_SETS, mean_rates, sample};

/// Sets of each process, in all.
pub(crate) type SetsOfEach = BTreeMap<usize, u32>;

/// What was done on a tile before.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Before {
    /// In the order of work; empty where the tile counts as untouched.
    steps: Vec<Step>,
    /// What they have of each law of gains.
    blend: Blend,
    /// Film that they took in the tile's middle, mean over the draws, before the panel's factor, um.
    pub(crate) mean_um: f64,
}

impl Before {
    /// Whether the tile counts as untouched.
    pub(crate) const fn is_nothing(&self) -> bool {
        self.steps.is_empty()
    }

    /// What was done, where it took `factor` times what rates say.
    pub(crate) fn taking(&self, factor: f64) -> Done<'_> {
        Done { steps: &self.steps, factor }
    }

    /// The gain that it had at a place.
    pub(crate) fn gain(&self, drawn: &Drawn, near: Nearness) -> Gain {
        drawn.knowledge.gains.at(&self.blend, near)
    }

    /// Sets of each process in all, once `steps` have followed.
    pub(crate) fn and(&self, steps: &[Step]) -> SetsOfEach {
        let mut sets = SetsOfEach::new();
        self.steps.iter().chain(steps).for_each(|s| *sets.entry(s.process).or_default() += s.sets);
        sets
    }

    /// Whether `steps` may follow: no more sets in all than one section is given, and nothing done is always allowed.
    pub(crate) fn leaves_sets_for(&self, steps: &[Step]) -> bool {
        self.is_nothing() || steps.is_empty() || self.and(steps).values().sum::<u32>() <= MOST_SETS
    }
}

/// The rectangles of a panel on which sets were done, by the places that count with them.
pub(crate) struct WorkedPlaces<'a> {
    /// In the order of the car: what was done, and whether each node of the panel's grid has it.
    rectangles: Vec<(&'a [Step], Vec<bool>)>,
    /// What one set of each process takes in the mean, um.
    rates_um: Vec<f64>,
    drawn: &'a Drawn<'a>,
}

impl<'a> WorkedPlaces<'a> {
    /// Of a panel.
    pub(crate) fn of(car: &'a Car, drawn: &'a Drawn<'a>, panel: usize, grid: &Grid) -> Self {
        let all = worked_on(car, panel);
        let rectangle = |&worked: &&'a crate::car::Worked| {
            let mut has_it = vec![false; grid.nodes()];
            places(worked, &all, grid).for_each(|n| has_it[n] = true);
            (worked.after.as_slice(), has_it)
        };
        let rates_um = if all.is_empty() { vec![0.0; car.processes.len()] } else { mean_rates(car, drawn, &sample(drawn)) };
        Self { rectangles: all.iter().map(rectangle).collect(), rates_um, drawn }
    }

    /// What was done on a tile of these nodes.
    pub(crate) fn before(&self, nodes: &[usize]) -> Before {
        let steps = self.steps(nodes);
        let blend = self.drawn.knowledge.gains.blend(&steps, &self.rates_um);
        let mean_um = steps.iter().map(|s| f64::from(s.sets) * self.rates_um[s.process]).sum::<f64>() + 0.0;
        Before { steps, blend, mean_um }
    }

    fn steps(&self, nodes: &[usize]) -> Vec<Step> {
        let mut had: BTreeMap<usize, Vec<u32>> = BTreeMap::new();
        let mut steps: Vec<Step> = Vec::new();
        let done = self.rectangles.iter().flat_map(|(after, has_it)| after.iter().map(move |step| (step, has_it)));
        for (step, has_it) in done {
            let sets = had.entry(step.process).or_insert_with(|| vec![0; nodes.len()]);
            let counted = had_by_half(sets);
            sets.iter_mut().zip(nodes).filter(|(_, n)| has_it[**n]).for_each(|(sets, _)| *sets = sets.saturating_add(step.sets));
            let more = had_by_half(sets) - counted;
            match steps.last_mut().filter(|last| last.process == step.process) {
                Some(last) => last.sets += more,
                None if more > 0 => steps.push(Step { process: step.process, sets: more }),
                None => {}
            }
        }
        steps
    }
}

/// The most sets that at least half of some places had.
fn had_by_half(sets: &[u32]) -> u32 {
    let mut most_first = sets.to_vec();
    most_first.sort_unstable_by(|a, b| b.cmp(a));
    most_first.get(sets.len().div_ceil(2).saturating_sub(1)).copied().unwrap_or(0)
}

#[cfg(test)]
mod standing;
#[cfg(test)]
mod tests;
