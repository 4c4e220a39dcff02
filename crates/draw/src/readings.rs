//! Places read, marked by the layer that was read.

use kurbo::{BezPath, Circle, Point, Rect, Shape};
use lastmicron_film::gauge::Layer;
use lastmicron_plan::Reading;

use crate::labels::Taken;
use crate::place::{Placed, boxed};
use crate::scene::{Class, Mark, stroke};

/// Half the size of a mark, points.
const HALF_PT: f64 = 2.1;

/// What the marks on a map stand for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Seen {
    /// Readings of the total film.
    pub(crate) total: usize,
    /// Readings of the undercoat.
    pub(crate) undercoat: usize,
    /// Readings of the topcoat.
    pub(crate) topcoat: usize,
    /// Of all these, how many were taken after work.
    pub(crate) after: usize,
}

impl Seen {
    /// What the shapes mean, for those that are on the map.
    pub(crate) fn key(&self) -> String {
        let one = |n: usize, shape: &str, what: &str| (n > 0).then(|| format!("{shape} {what} ({n})"));
        let parts = [
            one(self.total, "circle", "total film read"),
            one(self.topcoat, "triangle", "topcoat read"),
            one(self.undercoat, "square", "undercoat read"),
            one(self.after, "black:", "read after work"),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        if parts.is_empty() { "no reading on this panel".to_owned() } else { parts.join("; ") }
    }
}

/// The marks of a panel's readings. Marks that would lie on one another are drawn once.
pub(crate) fn marks(readings: &[Reading], panel: usize, placed: &Placed, taken: &mut Taken) -> (Vec<Mark>, Seen) {
    let mut seen = Seen::default();
    let mut marks = Vec::new();
    let mut drawn = std::collections::BTreeSet::new();
    for reading in readings.iter().filter(|r| r.panel == panel) {
        let after = !reading.after.is_empty();
        seen.after += usize::from(after);
        match reading.layer {
            Layer::Total => seen.total += 1,
            Layer::Undercoat => seen.undercoat += 1,
            Layer::Topcoat => seen.topcoat += 1,
        }
        let p = placed.point(reading.x_mm, reading.y_mm);
        if drawn.insert((cell(p.x), cell(p.y), reading.layer, after)) {
            taken.take(Rect::from_center_size(p, (2.0 * HALF_PT, 2.0 * HALF_PT)));
            marks.push(stroke(if after { Class::ReadingAfter } else { Class::Reading }, shape(reading.layer, p)));
        }
    }
    (marks, seen)
}

#[expect(clippy::cast_possible_truncation, reason = "a point of a drawing, in cells of half a mark")]
fn cell(pt: f64) -> i64 {
    (pt / HALF_PT).round() as i64
}

fn shape(layer: Layer, p: Point) -> BezPath {
    match layer {
        Layer::Total => Circle::new(p, HALF_PT).to_path(0.05),
        Layer::Undercoat => boxed(Rect::from_center_size(p, (1.8 * HALF_PT, 1.8 * HALF_PT))),
        Layer::Topcoat => {
            let mut path = BezPath::new();
            path.move_to((p.x, p.y - 1.3 * HALF_PT));
            path.line_to((p.x + 1.2 * HALF_PT, p.y + 0.9 * HALF_PT));
            path.line_to((p.x - 1.2 * HALF_PT, p.y + 0.9 * HALF_PT));
            path.close_path();
            path
        }
    }
}
