//! What a section's sets take at a place.

use lastmicron_plan::{CarPanel, KeepOff};
use lastmicron_polish::Step;
use rand_pcg::Pcg64;

use crate::physics::Strokes;
use crate::truth::{PanelTruth, TrueEdges, Truth, rate_factor};

/// A section's sets, with the luck that they were done with.
pub(crate) struct Done {
    /// What all of them take in the middle, um.
    middle_um: f64,
    sets: Vec<Set>,
}

/// One set.
struct Set {
    process: usize,
    middle_um: f64,
    /// Where its strokes fell; evenly where nobody looks.
    strokes: Option<Strokes>,
}

/// A panel of the car, by its number.
#[derive(Clone, Copy)]
pub(crate) struct On<'a> {
    pub(crate) k: usize,
    pub(crate) panel: &'a CarPanel,
    pub(crate) keep_off: &'a [KeepOff],
}

impl Done {
    /// Steps on a section: a rate of its own from `working`, strokes from `strokes`.
    pub(crate) fn draw(truth: &Truth, panel: &PanelTruth, steps: &[Step], [working, strokes]: [&mut Pcg64; 2]) -> Self {
        let factor = rate_factor(working, truth.section_scatter) * panel.rate_factor;
        let all = steps.iter().flat_map(|step| (0..step.sets).map(|_| step.process));
        let sets = all.map(|process| Set { process, middle_um: factor * truth.rates_um[process], strokes: Some(Strokes::draw(strokes)) });
        Self { middle_um: factor * steps.iter().map(|s| f64::from(s.sets) * truth.rates_um[s.process]).sum::<f64>(), sets: sets.collect() }
    }

    /// One process, taking `middle_um` in the middle, its strokes evenly there.
    pub(crate) fn evenly(process: usize, middle_um: f64) -> Self {
        Self { middle_um, sets: vec![Set { process, middle_um, strokes: None }] }
    }

    /// Film taken at a place of a patch, um: a law has no edges there.
    pub(crate) fn patch_um(&self, truth: &Truth, on: On<'_>, at_mm: [f64; 2]) -> f64 {
        match truth.edges {
            TrueEdges::Law { .. } => self.middle_um,
            TrueEdges::Summed(_) => self.taken_um(truth, on, at_mm),
        }
    }

    /// Film taken at a place, um; nothing on a band kept off.
    pub(crate) fn taken_um(&self, truth: &Truth, on: On<'_>, at_mm: [f64; 2]) -> f64 {
        let panel = &on.panel.panel;
        let [x_mm, y_mm] = at_mm;
        if on.keep_off.iter().any(|k| panel.distance_to_edge_mm(k.edge, x_mm, y_mm) < k.mm) {
            return 0.0;
        }
        match &truth.edges {
            TrueEdges::Law { gain, reach_mm } => {
                self.middle_um * (1.0 + gain * (-panel.edge_distance_mm(x_mm, y_mm) / (reach_mm / 2.0)).exp())
            }
            TrueEdges::Summed(physics) => {
                let of = |set: &Set| set.middle_um * physics.taken(set.process, (on.k, panel), on.keep_off, at_mm, set.strokes);
                self.sets.iter().map(of).sum()
            }
        }
    }
}
