//! From values on a grid to areas between levels.

use contour::ContourBuilder;
use kurbo::{BezPath, Point};

use crate::place::Placed;

/// Values at the nodes of a grid, x running fastest from the bottom row; NaN where there is none.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Nodes<'a> {
    /// Nodes along x.
    pub(crate) nx: usize,
    /// Nodes along y.
    pub(crate) ny: usize,
    /// Distance of two of them along x and y, mm.
    pub(crate) step_mm: [f64; 2],
    /// The values, um.
    pub(crate) values_um: &'a [f64],
}

/// An area where the value is at least a level, and its border.
#[derive(Clone, Debug)]
pub(crate) struct Above {
    /// The level, um.
    pub(crate) level_um: f64,
    /// Rings, outer and inner, in the drawing.
    pub(crate) rings: Vec<Vec<Point>>,
}

impl Above {
    /// The rings as one path, to be filled by the even-odd rule.
    pub(crate) fn path(&self) -> BezPath {
        let mut path = BezPath::new();
        for ring in &self.rings {
            for (i, p) in ring.iter().enumerate() {
                if i == 0 { path.move_to(*p) } else { path.line_to(*p) }
            }
            path.close_path();
        }
        path
    }
}

/// The areas at or above each level. Values missing off the panel are carried on from the nearest one, since the drawing is clipped by
/// the outline; the caller hatches what is missing on the panel.
pub(crate) fn areas_above(nodes: Nodes<'_>, levels_um: &[f64], placed: &Placed) -> Vec<Above> {
    let Some(grid) = padded(nodes) else { return Vec::new() };
    let [step_x, step_y] = nodes.step_mm;
    // A value sits in the middle of its cell, and the padding is one cell wide: node 0 is at 1.5 cells.
    let builder =
        ContourBuilder::new(nodes.nx + 2, nodes.ny + 2, true).x_step(step_x).y_step(step_y).x_origin(-1.5 * step_x).y_origin(-1.5 * step_y);
    let Ok(contours) = builder.contours(&grid, levels_um) else { return Vec::new() };
    contours
        .iter()
        .map(|contour| {
            let rings = contour.geometry().0.iter().flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
            let rings = rings.map(|ring| ring.0.iter().map(|c| placed.point(c.x, c.y)).collect()).collect();
            Above { level_um: contour.threshold(), rings }
        })
        .collect()
}

/// The values with one more cell on every side and nothing missing; `None` when there is none to go by.
fn padded(Nodes { nx, ny, step_mm, values_um }: Nodes<'_>) -> Option<Vec<f64>> {
    if nx == 0 || ny == 0 || values_um.len() != nx * ny || step_mm.iter().any(|s| !(s.is_finite() && *s > 0.0)) {
        return None;
    }
    let (wide, high) = (nx + 2, ny + 2);
    let mut grid = vec![f64::NAN; wide * high];
    for (row, values) in values_um.chunks_exact(nx).enumerate() {
        let start = (row + 1) * wide + 1;
        grid[start..start + nx].copy_from_slice(values);
    }
    let mut front: Vec<usize> = (0..grid.len()).filter(|&i| grid[i].is_finite()).collect();
    if front.is_empty() {
        return None;
    }
    // Outward from what is known, a ring of cells at a time.
    while !front.is_empty() {
        let mut next = Vec::new();
        for &i in &front {
            let (x, y) = (i % wide, i / wide);
            let around =
                [(x > 0).then(|| i - 1), (x + 1 < wide).then(|| i + 1), (y > 0).then(|| i - wide), (y + 1 < high).then(|| i + wide)];
            for j in around.into_iter().flatten() {
                if !grid[j].is_finite() {
                    grid[j] = grid[i];
                    next.push(j);
                }
            }
        }
        front = next;
    }
    Some(grid)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn values(nx: usize, ny: usize, value: impl Fn(f64, f64) -> f64) -> Vec<f64> {
        (0..nx * ny).map(|i| value((i % nx) as f64 * 25.0, (i / nx) as f64 * 20.0)).collect()
    }

    fn nodes(nx: usize, ny: usize, values_um: &[f64]) -> Nodes<'_> {
        Nodes { nx, ny, step_mm: [25.0, 20.0], values_um }
    }

    fn placed(nx: usize, ny: usize) -> Placed {
        Placed::new([(nx - 1) as f64 * 25.0, (ny - 1) as f64 * 20.0], Point::new(0.0, 0.0), 1.0)
    }

    #[test]
    fn the_contour_of_a_slope_stands_where_the_slope_has_that_value() {
        let values = values(9, 6, |x, _| 20.0 + x / 10.0);
        let areas = areas_above(nodes(9, 6, &values), &[27.0], &placed(9, 6));
        let inside: Vec<&Point> = areas[0].rings[0].iter().filter(|p| p.x < 199.0 && p.y > 1.0 && p.y < 99.0).collect();
        assert!(inside.len() >= 4);
        assert!(inside.iter().all(|p| (p.x - 70.0).abs() < 1e-6), "{inside:?}");
    }

    #[test]
    fn a_place_without_estimate_off_the_panel_does_not_bend_the_contour() {
        let values = values(9, 6, |x, y| if x + y > 240.0 { f64::NAN } else { 20.0 + x / 10.0 });
        let areas = areas_above(nodes(9, 6, &values), &[27.0], &placed(9, 6));
        assert!(areas[0].rings[0].iter().filter(|p| p.x < 150.0 && p.y > 40.0 && p.y < 99.0).all(|p| (p.x - 70.0).abs() < 1e-6));
    }

    #[test]
    fn nothing_known_or_a_grid_that_does_not_add_up_gives_no_area() {
        assert!(areas_above(nodes(3, 3, &[f64::NAN; 9]), &[1.0], &placed(3, 3)).is_empty());
        assert!(areas_above(nodes(3, 3, &[1.0; 4]), &[1.0], &placed(3, 3)).is_empty());
    }

    proptest! {
        #[test]
        fn every_point_of_every_area_is_a_number_on_the_panel(values in prop::collection::vec(prop_oneof![9 => 0.0..100.0_f64, 1 => Just(f64::NAN), 1 => Just(50.0)], 42)) {
            for area in areas_above(nodes(7, 6, &values), &[10.0, 50.0, 90.0], &placed(7, 6)) {
                for p in area.rings.iter().flatten() {
                    prop_assert!((0.0..=150.0).contains(&p.x) && (0.0..=100.0).contains(&p.y));
                }
            }
        }
    }
}
