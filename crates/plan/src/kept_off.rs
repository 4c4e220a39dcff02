//! What pads were kept off when a rectangle was worked.

use crate::car::CarPanel;
use crate::levels::is_left_out;
use crate::outcome::{KeepOff, KeepOffLine};

/// Edges and body lines of a panel that pads were kept off; nothing was where both are empty.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct KeptOff {
    /// Edges.
    pub edges: Vec<KeepOff>,
    /// Body lines, on both their sides.
    pub lines: Vec<KeepOffLine>,
}

impl KeptOff {
    /// In the order of edges and lines, without what was kept off by nothing, so that the same is known as the same.
    #[must_use]
    pub fn of(mut edges: Vec<KeepOff>, mut lines: Vec<KeepOffLine>) -> Self {
        edges.retain(|off| off.mm > 0.0);
        lines.retain(|off| off.mm > 0.0);
        edges.sort_by(|a, b| a.edge.cmp(&b.edge).then(a.mm.total_cmp(&b.mm)));
        lines.sort_by(|a, b| a.line.cmp(&b.line).then(a.mm.total_cmp(&b.mm)));
        Self { edges, lines }
    }

    /// Whether a place of `panel`, mm, was left out: it lies nearer to an edge or a line than that was kept off, by as much as a plan leaves it out for.
    /// Edges and lines that the panel doesn't have leave nothing out.
    #[must_use]
    pub fn leaves_out(&self, panel: &CarPanel, [x_mm, y_mm]: [f64; 2]) -> bool {
        let of = &panel.panel;
        let mut edges = self.edges.iter().filter(|off| off.edge < of.outline_mm.len());
        let near_line =
            |off: &KeepOffLine| panel.lines.get(off.line).is_some_and(|line| is_left_out(line.distance_mm([x_mm, y_mm]), off.mm));
        edges.any(|off| is_left_out(of.distance_to_edge_mm(off.edge, x_mm, y_mm), off.mm)) || self.lines.iter().any(near_line)
    }
}
