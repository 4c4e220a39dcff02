//! What each draw takes for true: field, texture, spread of panels, and whether each panel was resprayed or thins towards its edges.

use lastmicron_numerics::mixture::pick;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use crate::hyper::Weight;
use crate::panel_system::State;
use crate::posterior::Posterior;

/// Groups of fields (one family and length) lighter than this are left out of the draws: each needs a
/// kernel and fields of its own on every panel, for a handful of draws.
const LEAST_GROUP_WEIGHT: f64 = 0.012;

/// Hypotheses of one draw.
#[derive(Clone, Debug)]
pub(super) struct Hypothesis {
    pub(super) weight: Weight,
    /// Group of fields, and the draw's position within its half of that group.
    pub(super) group: usize,
    pub(super) position: usize,
    pub(super) second_half: bool,
    /// State of each measured panel.
    pub(super) states: Vec<State>,
}

impl Posterior {
    /// Hypotheses of both halves, in proportion to their weights (systematic sampling), those of one field together.
    pub(super) fn hypotheses(&self, count: usize, seed: u64) -> Vec<Hypothesis> {
        let fields = &self.hyper.fields;
        let mut group_weight = vec![0.0; fields.last().map_or(0, |f| f.group + 1)];
        for w in &self.hyper.weights {
            group_weight[fields[w.field].group] += w.weight;
        }
        let kept = |w: &&Weight| group_weight[fields[w.field].group] >= LEAST_GROUP_WEIGHT;
        let total: f64 = self.hyper.weights.iter().filter(kept).map(|w| w.weight).sum();
        let mut rng = Pcg64Mcg::seed_from_u64(seed ^ 0x6879_706F);
        let mut all = Vec::with_capacity(2 * count);
        for second_half in [false, true] {
            let (mut sum, mut next) = (0.0, rng.random::<f64>());
            let (mut group, mut position) = (usize::MAX, 0);
            for weight in self.hyper.weights.iter().filter(kept) {
                sum += weight.weight / total * count as f64;
                while next < sum && all.len() < count * (1 + usize::from(second_half)) {
                    if fields[weight.field].group != group {
                        (group, position) = (fields[weight.field].group, 0);
                    }
                    let states =
                        (0..self.systems.len()).map(|i| State(pick(&mut rng, self.hyper.states(weight, i).iter().copied()))).collect();
                    all.push(Hypothesis { weight: *weight, group, position, second_half, states });
                    position += 1;
                    next += 1.0;
                }
            }
        }
        all
    }
}
