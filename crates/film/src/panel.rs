//! A panel: its outline and its edges.

mod edge_names;

use crate::gauge::Substrate;

pub use edge_names::Called;

/// A panel of the vehicle, seen from where one stands to work it, in millimetres from its lower left.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// The panel's name, unique on the vehicle.
    pub name: String,
    /// Corners in order, anticlockwise; edge `i` runs from corner `i` to the next. A rectangle's edges are 0 bottom, 1 right, 2 top, 3 left.
    pub outline_mm: Vec<[f64; 2]>,
    /// What lies under the paint.
    pub substrate: Substrate,
}

impl Panel {
    /// A rectangular panel of `width_mm` by `height_mm`.
    #[must_use]
    pub fn rectangle(name: &str, width_mm: f64, height_mm: f64, substrate: Substrate) -> Self {
        let outline_mm = vec![[0.0, 0.0], [width_mm, 0.0], [width_mm, height_mm], [0.0, height_mm]];
        Self { name: name.to_owned(), outline_mm, substrate }
    }

    /// Upper right corner of the bounding box, mm. The lower left is the origin.
    #[must_use]
    pub fn size_mm(&self) -> [f64; 2] {
        self.outline_mm.iter().fold([0.0, 0.0], |[w, h], [x, y]| [f64::max(w, *x), f64::max(h, *y)])
    }

    /// Whether a place lies on the panel, its edges included.
    #[must_use]
    pub fn contains(&self, x_mm: f64, y_mm: f64) -> bool {
        if self.edge_distance_mm(x_mm, y_mm) < 1e-6 {
            return true;
        }
        let mut inside = false;
        for ([ax, ay], [bx, by]) in self.edges() {
            if (ay > y_mm) != (by > y_mm) && x_mm < ax + (y_mm - ay) / (by - ay) * (bx - ax) {
                inside = !inside;
            }
        }
        inside
    }

    /// Distance from a place to the nearest edge, mm.
    #[must_use]
    pub fn edge_distance_mm(&self, x_mm: f64, y_mm: f64) -> f64 {
        self.edges().map(|(a, b)| distance_to_segment_mm([x_mm, y_mm], a, b)).fold(f64::INFINITY, f64::min)
    }

    /// Distance from a place to edge `edge`, mm.
    #[must_use]
    pub fn distance_to_edge_mm(&self, edge: usize, x_mm: f64, y_mm: f64) -> f64 {
        let n = self.outline_mm.len();
        distance_to_segment_mm([x_mm, y_mm], self.outline_mm[edge % n], self.outline_mm[(edge + 1) % n])
    }

    /// The edges as pairs of corners, in order.
    pub fn edges(&self) -> impl Iterator<Item = ([f64; 2], [f64; 2])> + '_ {
        let n = self.outline_mm.len();
        (0..n).map(move |i| (self.outline_mm[i], self.outline_mm[(i + 1) % n]))
    }

    /// How narrow the panel is, mm: the least of its widths square to an edge. Exact for a convex outline, no less than that for others.
    #[must_use]
    pub fn narrowest_mm(&self) -> f64 {
        let across = |([ax, ay], [bx, by]): ([f64; 2], [f64; 2])| {
            let (dx, dy) = (bx - ax, by - ay);
            let length = f64::hypot(dx, dy);
            let from_line = |[x, y]: [f64; 2]| ((x - ax) * dy - (y - ay) * dx).abs() / length;
            self.outline_mm.iter().map(|&p| from_line(p)).fold(0.0, f64::max)
        };
        self.edges().filter(|([ax, ay], [bx, by])| f64::hypot(bx - ax, by - ay) > 0.0).map(across).fold(f64::INFINITY, f64::min)
    }

    /// Area inside the outline, m2.
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        let twice: f64 = self.edges().map(|([ax, ay], [bx, by])| ax * by - bx * ay).sum();
        twice.abs() / 2.0 * 1e-6
    }
}

/// Distance from a place to a straight line between two others, mm.
#[must_use]
pub fn distance_to_segment_mm(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length2 = dx * dx + dy * dy;
    let t = if length2 > 0.0 { (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length2).clamp(0.0, 1.0) } else { 0.0 };
    f64::hypot(p[0] - a[0] - t * dx, p[1] - a[1] - t * dy)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panel_is_as_narrow_as_it_is_square_to_an_edge() {
        let rectangle = Panel::rectangle("roof", 1200.0, 900.0, Substrate::Steel);
        assert!((rectangle.narrowest_mm() - 900.0).abs() < 1e-9);
        // [D] twice the area of a triangle with legs of 300 and 400 mm over its longest side
        let triangle = Panel { outline_mm: vec![[0.0, 0.0], [400.0, 0.0], [0.0, 300.0]], ..rectangle };
        assert!((triangle.narrowest_mm() - 240.0).abs() < 1e-9);
    }
}
