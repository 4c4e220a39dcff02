//! From a place on a panel to a point of the drawing.

use kurbo::{BezPath, Point, Rect};
use lastmicron_plan::CarPanel;

/// Where a panel stands in the drawing and how large.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Placed {
    /// The panel's bounding box in the drawing.
    pub(crate) frame: Rect,
    /// Points a millimetre.
    pub(crate) pt_per_mm: f64,
}

/// Largest scale: full size, 72 points to 25.4 mm. Judgement: a panel is never drawn larger than it is.
const FULL_SIZE_PT_PER_MM: f64 = 72.0 / 25.4;

/// Points a millimetre at which a panel of `size_mm` fits into `width_pt` by `height_pt`.
pub(crate) fn fitting_scale(size_mm: [f64; 2], width_pt: f64, height_pt: f64) -> f64 {
    let [w, h] = size_mm.map(|mm| mm.max(1.0));
    (width_pt / w).min(height_pt / h).clamp(1e-4, FULL_SIZE_PT_PER_MM)
}

impl Placed {
    /// The panel with its upper left at `corner`.
    pub(crate) fn new(size_mm: [f64; 2], corner: Point, pt_per_mm: f64) -> Self {
        let [w, h] = size_mm.map(|mm| mm.max(1.0) * pt_per_mm);
        Self { frame: Rect::new(corner.x, corner.y, corner.x + w, corner.y + h), pt_per_mm }
    }

    /// The point of a place, held inside the frame: what lies off the panel is drawn at its border.
    pub(crate) fn point(&self, x_mm: f64, y_mm: f64) -> Point {
        let f = self.frame;
        Point::new(held(f.x0 + x_mm * self.pt_per_mm, f.x0, f.x1), held(f.y1 - y_mm * self.pt_per_mm, f.y0, f.y1))
    }

    /// The place, mm, of a point.
    pub(crate) fn place_mm(&self, p: Point) -> [f64; 2] {
        [(p.x - self.frame.x0) / self.pt_per_mm, (self.frame.y1 - p.y) / self.pt_per_mm]
    }

    /// The course through places, closed.
    pub(crate) fn polygon(&self, corners_mm: &[[f64; 2]]) -> BezPath {
        let mut path = self.line(corners_mm);
        if !corners_mm.is_empty() {
            path.close_path();
        }
        path
    }

    /// The course through places, open.
    pub(crate) fn line(&self, points_mm: &[[f64; 2]]) -> BezPath {
        let mut path = BezPath::new();
        for (i, [x, y]) in points_mm.iter().enumerate() {
            let p = self.point(*x, *y);
            if i == 0 { path.move_to(p) } else { path.line_to(p) }
        }
        path
    }

    /// The box of a rectangle on the panel.
    pub(crate) fn rect(&self, x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64) -> Rect {
        Rect::from_points(self.point(x_mm, y_mm), self.point(x_mm + width_mm, y_mm + height_mm))
    }

    /// Whether a box of the drawing lies on the panel: its corners, its middle and the middles of its sides do.
    pub(crate) fn holds(&self, panel: &CarPanel, area: Rect) -> bool {
        let c = area.center();
        let xs = [area.x0, c.x, area.x1];
        let ys = [area.y0, c.y, area.y1];
        xs.iter().all(|x| {
            ys.iter().all(|y| {
                let [x_mm, y_mm] = self.place_mm(Point::new(*x, *y));
                panel.panel.contains(x_mm, y_mm)
            })
        })
    }
}

/// A rectangle as a path.
pub(crate) fn boxed(r: Rect) -> BezPath {
    let mut path = BezPath::new();
    path.move_to((r.x0, r.y0));
    path.line_to((r.x1, r.y0));
    path.line_to((r.x1, r.y1));
    path.line_to((r.x0, r.y1));
    path.close_path();
    path
}

/// A line from one point to another.
pub(crate) fn segment(a: Point, b: Point) -> BezPath {
    let mut path = BezPath::new();
    path.move_to(a);
    path.line_to(b);
    path
}

fn held(value: f64, low: f64, high: f64) -> f64 {
    if value.is_nan() { low } else { value.max(low).min(high) }
}
