//! What was done on a tile before the plan is made.
//!
//! A tile is planned as one, so what was done on it is told as one: a set counts from when at least half of its places have had it. Places that were kept off
//! count neither way; they are told as untouched. A test spot within
//! it counts for its film, place by place, and not for the tile's defects.

use std::collections::BTreeMap;

use lastmicron_film::grid::Grid;
use lastmicron_polish::Step;

use crate::car::Car;
use crate::drawn::Drawn;
use crate::gain::{Blend, Gain, Nearness};
use crate::patch::{places, places_left_out, worked_on};
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

/// A rectangle by the nodes of the panel's grid.
struct OnPlaces<'a> {
    /// What was done.
    after: &'a [Step],
    /// Whether each node has it.
    has_it: Vec<bool>,
    /// Whether each node was kept off.
    left_out: Vec<bool>,
}

/// The rectangles of a panel on which sets were done, by the places that count with them.
pub(crate) struct WorkedPlaces<'a> {
    /// In the order of the car.
    rectangles: Vec<OnPlaces<'a>>,
    /// What one set of each process takes in the mean, um.
    rates_um: Vec<f64>,
    drawn: &'a Drawn<'a>,
}

impl<'a> WorkedPlaces<'a> {
    /// Of a panel.
    pub(crate) fn of(car: &'a Car, drawn: &'a Drawn<'a>, panel: usize, grid: &Grid) -> Self {
        let all = worked_on(car, panel);
        let of = &car.panels[panel];
        let rectangle = |&worked: &&'a crate::car::Worked| {
            let [mut has_it, mut left_out] = [(); 2].map(|()| vec![false; grid.nodes()]);
            places(of, worked, &all, grid).for_each(|n| has_it[n] = true);
            places_left_out(of, worked, grid).for_each(|n| left_out[n] = true);
            OnPlaces { after: &worked.after, has_it, left_out }
        };
        let rates_um = if all.is_empty() { vec![0.0; car.processes.len()] } else { mean_rates(car, drawn, &sample(drawn)) };
        Self { rectangles: all.iter().map(rectangle).collect(), rates_um, drawn }
    }

    /// What was done on a tile of these nodes.
    pub(crate) fn before(&self, nodes: &[usize]) -> Before {
        self.told(self.steps(nodes))
    }

    /// Where nothing was done.
    pub(crate) fn nothing(&self) -> Before {
        self.told(Vec::new())
    }

    /// Whether a node was kept off by all that was done about it.
    pub(crate) fn is_left_out(&self, node: usize) -> bool {
        self.rectangles.iter().any(|on| on.left_out[node]) && !self.rectangles.iter().any(|on| on.has_it[node])
    }

    fn told(&self, steps: Vec<Step>) -> Before {
        let blend = self.drawn.knowledge.gains.blend(&steps, &self.rates_um);
        let mean_um = steps.iter().map(|s| f64::from(s.sets) * self.rates_um[s.process]).sum::<f64>() + 0.0;
        Before { steps, blend, mean_um }
    }

    fn steps(&self, nodes: &[usize]) -> Vec<Step> {
        let mut had: BTreeMap<usize, (Vec<usize>, Vec<u32>)> = BTreeMap::new();
        let mut steps: Vec<Step> = Vec::new();
        let done = self.rectangles.iter().flat_map(|on| on.after.iter().map(move |step| (step, &on.has_it)));
        for (step, has_it) in done {
            let (nodes, sets) = had.entry(step.process).or_insert_with(|| {
                let nodes = self.counted(step.process, nodes);
                let sets = vec![0; nodes.len()];
                (nodes, sets)
            });
            let counted = had_by_half(sets);
            sets.iter_mut().zip(nodes.iter()).filter(|(_, n)| has_it[**n]).for_each(|(sets, _)| *sets = sets.saturating_add(step.sets));
            let more = had_by_half(sets) - counted;
            match steps.last_mut().filter(|last| last.process == step.process) {
                Some(last) => last.sets += more,
                None if more > 0 => steps.push(Step { process: step.process, sets: more }),
                None => {}
            }
        }
        steps
    }

    /// Those of `nodes` that count for a process: all but those that were kept off whenever it was used about them.
    fn counted(&self, process: usize, nodes: &[usize]) -> Vec<usize> {
        let with_it: Vec<&OnPlaces> = self.rectangles.iter().filter(|on| on.after.iter().any(|step| step.process == process)).collect();
        let counts = |n: usize| with_it.iter().any(|on| on.has_it[n]) || !with_it.iter().any(|on| on.left_out[n]);
        nodes.iter().copied().filter(|&n| counts(n)).collect()
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
