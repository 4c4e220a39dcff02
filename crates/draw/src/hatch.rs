//! Hatching: slanted lines in one phase over the whole drawing, so that neighbouring areas join.

use kurbo::{BezPath, Rect};

/// Which way the lines of a hatching lean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Lean {
    /// Upwards to the right.
    Right,
    /// Downwards to the right.
    Left,
}

/// Adds to `path` the lines that cross `area`, `gap_pt` apart along x.
pub(crate) fn hatch(path: &mut BezPath, area: Rect, gap_pt: f64, lean: Lean) {
    if !(area.width() > 0.0 && area.height() > 0.0 && area.is_finite()) {
        return;
    }
    // Lines x + y = c lean right, x - y = c lean left.
    let (low, high) = match lean {
        Lean::Right => (area.x0 + area.y0, area.x1 + area.y1),
        Lean::Left => (area.x0 - area.y1, area.x1 - area.y0),
    };
    let mut c = (low / gap_pt).ceil() * gap_pt;
    while c < high {
        let (x0, x1, y) = match lean {
            Lean::Right => (area.x0.max(c - area.y1), area.x1.min(c - area.y0), -1.0),
            Lean::Left => (area.x0.max(c + area.y0), area.x1.min(c + area.y1), 1.0),
        };
        if x1 > x0 {
            path.move_to((x0, y * (x0 - c)));
            path.line_to((x1, y * (x1 - c)));
        }
        c += gap_pt;
    }
}

#[cfg(test)]
mod tests {
    use kurbo::Shape;
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn hatching_stays_inside_its_area(x in -50.0..500.0_f64, y in -50.0..500.0_f64, w in 0.1..300.0_f64, h in 0.1..300.0_f64) {
            for lean in [Lean::Right, Lean::Left] {
                let area = Rect::new(x, y, x + w, y + h);
                let mut path = BezPath::new();
                hatch(&mut path, area, 4.0, lean);
                if !path.elements().is_empty() {
                    let bounds = path.bounding_box();
                    prop_assert!(area.inflate(1e-6, 1e-6).union(bounds) == area.inflate(1e-6, 1e-6), "{bounds:?} leaves {area:?}");
                }
                if w > 8.5 || h > 8.5 {
                    prop_assert!(!path.elements().is_empty());
                }
            }
        }
    }
}
