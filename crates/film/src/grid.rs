//! The nodes at which a panel's film is estimated.

use crate::panel::Panel;

/// Wanted distance of nodes, mm. Half the shortest edge reach that matters (about 50 mm): a coarser grid steps over thin edges and the gain
/// there, a finer one costs time with the square and changes the smallest value by less than the gauge's noise.
pub const STEP_MM: f64 = 25.0;

/// Nodes over a panel's bounding box, x running fastest from the bottom row; the outermost lie on its edges.
#[derive(Clone, Debug, PartialEq)]
pub struct Grid {
    /// Nodes along x.
    pub nx: usize,
    /// Nodes along y.
    pub ny: usize,
    /// Spacing along x and y, mm: near [`STEP_MM`].
    pub step_mm: [f64; 2],
    /// Distance of each node to the outline, mm; NaN where the node is off the panel.
    pub edge_mm: Vec<f64>,
}

/// Where a place lies among the nodes: up to four of them with weights that sum to 1 (bilinear).
pub type Between = [(usize, f64); 4];

impl Grid {
    /// The nodes of a panel.
    ///
    /// A node just off a slanted outline (within half a step) counts as lying on it, so that no stretch of edge goes unseen.
    #[must_use]
    pub fn of(panel: &Panel) -> Self {
        let [width, height] = panel.size_mm();
        let cells = |size: f64| (size / STEP_MM).round().max(2.0);
        let (cx, cy) = (cells(width), cells(height));
        let step_mm = [width / cx, height / cy];
        let (nx, ny) = (cx as usize + 1, cy as usize + 1);
        let half = STEP_MM / 2.0;
        let edge_mm = (0..nx * ny)
            .map(|i| {
                let [x, y] = [(i % nx) as f64 * step_mm[0], (i / nx) as f64 * step_mm[1]];
                let distance = panel.edge_distance_mm(x, y);
                match (panel.contains(x, y), distance < half) {
                    (true, _) => distance,
                    (false, true) => 0.0,
                    (false, false) => f64::NAN,
                }
            })
            .collect();
        Self { nx, ny, step_mm, edge_mm }
    }

    /// Number of nodes, those off the panel included.
    #[must_use]
    pub const fn nodes(&self) -> usize {
        self.nx * self.ny
    }

    /// Place of a node, mm.
    #[must_use]
    pub fn place_mm(&self, node: usize) -> [f64; 2] {
        [(node % self.nx) as f64 * self.step_mm[0], (node / self.nx) as f64 * self.step_mm[1]]
    }

    /// Whether a node lies on the panel.
    #[must_use]
    pub fn on_panel(&self, node: usize) -> bool {
        !self.edge_mm[node].is_nan()
    }

    /// The nodes around a place and their bilinear weights.
    #[must_use]
    pub fn between(&self, x_mm: f64, y_mm: f64) -> Between {
        let split = |v: f64, step: f64, n: usize| {
            let cell = (v / step).floor().clamp(0.0, (n - 2) as f64);
            (cell as usize, (v / step - cell).clamp(0.0, 1.0))
        };
        let (i, u) = split(x_mm, self.step_mm[0], self.nx);
        let (j, v) = split(y_mm, self.step_mm[1], self.ny);
        let at = |i: usize, j: usize| j * self.nx + i;
        [(at(i, j), (1.0 - u) * (1.0 - v)), (at(i + 1, j), u * (1.0 - v)), (at(i, j + 1), (1.0 - u) * v), (at(i + 1, j + 1), u * v)]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gauge::Substrate;

    #[test]
    fn the_outermost_nodes_lie_on_the_edges() {
        let grid = Grid::of(&Panel::rectangle("wing", 1010.0, 60.0, Substrate::Steel));
        assert_eq!((grid.nx, grid.ny), (41, 3));
        let last = grid.nodes() - 1;
        assert!((grid.place_mm(last)[0] - 1010.0).abs() < 1e-9 && (grid.place_mm(last)[1] - 60.0).abs() < 1e-9);
        assert!(grid.edge_mm[last].abs() < 1e-9 && (grid.edge_mm[grid.nx + 20] - 30.0).abs() < 1e-9);
    }

    #[test]
    fn weights_between_nodes_reproduce_a_plane() {
        let grid = Grid::of(&Panel::rectangle("door", 500.0, 400.0, Substrate::Steel));
        let plane = |n: usize| grid.place_mm(n)[0] + 2.0 * grid.place_mm(n)[1];
        let sum: f64 = grid.between(133.0, 399.0).iter().map(|&(n, w)| w * plane(n)).sum();
        assert!((sum - (133.0 + 2.0 * 399.0)).abs() < 1e-9);
    }

    #[test]
    fn nodes_off_a_triangle_are_nan_and_its_slope_is_seen() {
        let mut panel = Panel::rectangle("corner", 400.0, 400.0, Substrate::Steel);
        panel.outline_mm = vec![[0.0, 0.0], [400.0, 0.0], [0.0, 400.0]];
        let grid = Grid::of(&panel);
        assert!(!grid.on_panel(grid.nodes() - 1));
        assert!(grid.edge_mm.iter().enumerate().any(|(n, e)| *e < 1e-6 && grid.place_mm(n)[0] > 100.0 && grid.place_mm(n)[1] > 100.0));
    }
}
