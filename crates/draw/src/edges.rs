//! The names of a panel's edges, and the bands kept off.

use kurbo::{BezPath, Point, Rect, Vec2};
use lastmicron_plan::{CarPanel, KeepOff, KeepOffLine};

use crate::figure::fixed;
use crate::hatch::{Lean, hatch};
use crate::labels::Taken;
use crate::lettering::width_pt;
use crate::place::{Placed, segment};
use crate::scene::{Class, Mark, TextAt, stroke};

/// Room outside the outline for an edge's name, points.
pub(crate) const EDGE_MARGIN_PT: f64 = 12.0;

/// The names of the edges that are kept off, outside the outline and along it, each name once: at the longest of its edges that has room. One that would
/// cover another is left out. Edges that nothing is kept off have no name here: which is the bottom is seen.
pub(crate) fn names(panel: &CarPanel, keep_off: &[KeepOff], placed: &Placed, taken: &mut Taken) -> Vec<Mark> {
    let edges: Vec<(Point, Point)> = panel.panel.edges().map(|(a, b)| (placed.point(a[0], a[1]), placed.point(b[0], b[1]))).collect();
    let outward = if is_anticlockwise(&panel.panel.outline_mm) { 1.0 } else { -1.0 };
    let mut off: Vec<&KeepOff> = keep_off.iter().filter(|off| off.edge < edges.len()).collect();
    let length = |off: &KeepOff| edges[off.edge].0.distance(edges[off.edge].1);
    off.sort_by(|a, b| length(b).total_cmp(&length(a)));
    let mut named: Vec<(String, f64)> = Vec::new();
    let mut marks = Vec::new();
    for off in off {
        let name = (panel.panel.edge_name(off.edge), off.mm);
        if named.contains(&name) {
            continue;
        }
        if let Some(mark) = edge_label(edges[off.edge], outward, &wordings(&name.0, off.mm), taken) {
            marks.push(mark);
            named.push(name);
        }
    }
    marks
}

/// What may be said of an edge, the longest wording first.
fn wordings(name: &str, off_mm: f64) -> [String; 4] {
    let mm = fixed(off_mm, 0);
    [format!("{name}: keep off {mm} mm"), format!("{name}: {mm} mm off"), format!("{mm} mm off"), format!("{mm} mm")]
}

fn edge_label((a, b): (Point, Point), outward: f64, wordings: &[String], taken: &mut Taken) -> Option<Mark> {
    let along = b - a;
    let length = along.hypot();
    if length < 3.0 {
        return None;
    }
    let normal = Vec2::new(-along.y, along.x) / length * outward;
    let centre = a.midpoint(b) + normal * (EDGE_MARGIN_PT / 2.0 + 0.5);
    let mut turn_deg = along.y.atan2(along.x).to_degrees();
    if turn_deg > 90.0 {
        turn_deg -= 180.0;
    } else if turn_deg <= -90.0 {
        turn_deg += 180.0;
    }
    let letter_pt = Class::EdgeLabel.letter_pt();
    let (sin, cos) = turn_deg.to_radians().sin_cos();
    for text in wordings.iter().filter(|text| width_pt(text, letter_pt) <= length) {
        let width = width_pt(text, letter_pt);
        let size = (width * cos.abs() + letter_pt * sin.abs(), width * sin.abs() + letter_pt * cos.abs());
        if taken.try_take(Rect::from_center_size(centre, size)) {
            // The baseline lies below the middle, in the turned text's own sense.
            let at = centre + Vec2::new(-sin, cos) * (0.36 * letter_pt);
            return Some(Mark::Text { class: Class::EdgeLabel, at, anchor: TextAt::Middle, turn_deg, text: text.clone() });
        }
    }
    None
}

/// The bands kept off along edges, hatched, each ended by a line; to be clipped by the outline.
pub(crate) fn kept_off(panel: &CarPanel, keep_off: &[KeepOff], placed: &Placed, id: &str) -> Vec<Mark> {
    let outline = &panel.panel.outline_mm;
    let inward = if is_anticlockwise(outline) { 1.0 } else { -1.0 };
    let mut marks = Vec::new();
    for (edge, (a, b)) in panel.panel.edges().enumerate() {
        let Some(mm) = keep_off.iter().find(|k| k.edge == edge).map(|k| k.mm).filter(|mm| mm.is_finite() && *mm > 0.0) else { continue };
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let length = f64::hypot(dx, dy);
        if !(length.is_finite() && length > 0.0) {
            continue;
        }
        let (nx, ny) = (-dy / length * mm * inward, dx / length * mm * inward);
        let limit = [[a[0] + nx, a[1] + ny], [b[0] + nx, b[1] + ny]];
        let lean = if edge % 2 == 0 { Lean::Right } else { Lean::Left };
        marks.push(hatched(format!("{id}-off-{edge}"), placed.polygon(&[a, b, limit[1], limit[0]]), lean));
        marks.push(limit_line(limit, placed));
    }
    marks
}

/// The bands kept off on both sides of body lines, in the same manner; to be clipped by the outline. A leg's band ends square at its ends.
pub(crate) fn kept_off_lines(panel: &CarPanel, keep_off: &[KeepOffLine], placed: &Placed, id: &str) -> Vec<Mark> {
    let mut marks = Vec::new();
    for off in keep_off.iter().filter(|off| off.mm.is_finite() && off.mm > 0.0) {
        let points = panel.lines.get(off.line).map(|line| line.points_mm.as_slice()).unwrap_or_default();
        for (leg, ends) in points.windows(2).enumerate() {
            let ([ax, ay], [bx, by]) = (ends[0], ends[1]);
            let length = f64::hypot(bx - ax, by - ay);
            if !(length.is_finite() && length > 0.0) {
                continue;
            }
            let (nx, ny) = (-(by - ay) / length * off.mm, (bx - ax) / length * off.mm);
            let sides = [1.0, -1.0].map(|side| [[ax + side * nx, ay + side * ny], [bx + side * nx, by + side * ny]]);
            let band = placed.polygon(&[sides[0][0], sides[0][1], sides[1][1], sides[1][0]]);
            marks.push(hatched(format!("{id}-off-line-{}-{leg}", off.line), band, Lean::Right));
            marks.extend(sides.map(|side| limit_line(side, placed)));
        }
    }
    marks
}

/// A band kept off.
fn hatched(id: String, band: BezPath, lean: Lean) -> Mark {
    let mut lines = BezPath::new();
    hatch(&mut lines, bounds(&band), 2.6, lean);
    Mark::Clipped { id, area: band, marks: vec![stroke(Class::KeepOff, lines)] }
}

/// Where it ends.
fn limit_line(ends_mm: [[f64; 2]; 2], placed: &Placed) -> Mark {
    let [p, q] = ends_mm.map(|[x, y]| placed.point(x, y));
    stroke(Class::KeepOffLimit, segment(p, q))
}

fn bounds(path: &BezPath) -> Rect {
    use kurbo::Shape;
    path.bounding_box()
}

fn is_anticlockwise(outline_mm: &[[f64; 2]]) -> bool {
    let n = outline_mm.len();
    let twice: f64 = (0..n)
        .map(|i| {
            let ([ax, ay], [bx, by]) = (outline_mm[i], outline_mm[(i + 1) % n]);
            ax * by - bx * ay
        })
        .sum();
    twice >= 0.0
}
