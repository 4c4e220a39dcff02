//! What a section's sets take at a place.

use lastmicron_plan::{CarPanel, KeepOff, KeepOffLine, Worked};
use lastmicron_polish::Step;
use rand_pcg::Pcg64;

use crate::orders::PanelOrders;
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

/// What is worked of a panel of the car.
#[derive(Clone, Copy)]
pub(crate) struct On<'a> {
    /// Number of the panel.
    pub(crate) k: usize,
    pub(crate) panel: &'a CarPanel,
    keep_off: &'a [KeepOff],
    keep_off_lines: &'a [KeepOffLine],
    /// A taped patch of it only.
    patch: Option<&'a Worked>,
}

impl<'a> On<'a> {
    /// All of it.
    pub(crate) fn whole(k: usize, panel: &'a CarPanel) -> Self {
        Self { k, panel, keep_off: &[], keep_off_lines: &[], patch: None }
    }

    /// What the orders leave of it.
    pub(crate) fn ordered(k: usize, panel: &'a CarPanel, orders: &'a PanelOrders) -> Self {
        Self { keep_off: &orders.keep_off, keep_off_lines: &orders.keep_off_lines, ..Self::whole(k, panel) }
    }

    /// A patch of it.
    pub(crate) fn patch(panel: &'a CarPanel, patch: &'a Worked) -> Self {
        Self { patch: Some(patch), ..Self::whole(patch.panel, panel) }
    }

    /// How far an edge is kept off, mm.
    pub(crate) fn edge_off_mm(self, edge: usize) -> Option<f64> {
        self.keep_off.iter().filter(|off| off.edge == edge && off.mm > 0.0).map(|off| off.mm).max_by(f64::total_cmp)
    }

    /// How far a body line is kept off, mm.
    pub(crate) fn line_off_mm(self, line: usize) -> Option<f64> {
        self.keep_off_lines.iter().filter(|off| off.line == line && off.mm > 0.0).map(|off| off.mm).max_by(f64::total_cmp)
    }

    /// How far a patch is from an edge, mm.
    pub(crate) fn patch_from_edge_mm(self, edge: usize) -> Option<f64> {
        let Worked { x_mm, y_mm, width_mm, height_mm, .. } = self.patch?;
        let corners = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [1.0, 1.0]].map(|[u, v]| [x_mm + u * width_mm, y_mm + v * height_mm]);
        corners.iter().map(|[x, y]| self.panel.panel.distance_to_edge_mm(edge, *x, *y)).min_by(f64::total_cmp)
    }

    fn is_kept_off(self, at_mm: [f64; 2]) -> bool {
        let [x_mm, y_mm] = at_mm;
        let near_edge = |off: &KeepOff| self.panel.panel.distance_to_edge_mm(off.edge, x_mm, y_mm) < off.mm;
        let near_line = |off: &KeepOffLine| self.panel.lines.get(off.line).is_some_and(|line| line.distance_mm(at_mm) < off.mm);
        self.keep_off.iter().any(near_edge) || self.keep_off_lines.iter().any(near_line)
    }
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

    /// Film taken at a place, um; nothing where the orders keep off.
    pub(crate) fn taken_um(&self, truth: &Truth, on: On<'_>, at_mm: [f64; 2]) -> f64 {
        if on.is_kept_off(at_mm) {
            return 0.0;
        }
        match &truth.edges {
            // A law has no edges on a patch.
            TrueEdges::Law { .. } if on.patch.is_some() => self.middle_um,
            TrueEdges::Law { gain, reach_mm } => {
                let edge_mm = on.panel.panel.edge_distance_mm(at_mm[0], at_mm[1]);
                self.middle_um * (1.0 + gain * (-edge_mm / (reach_mm / 2.0)).exp())
            }
            TrueEdges::Summed(physics) => {
                self.sets.iter().map(|set| set.middle_um * physics.taken(set.process, on, at_mm, set.strokes)).sum()
            }
        }
    }
}
