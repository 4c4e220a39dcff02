//! An outline in the making: corners in order, and of each side whether the panel ends there.

use lastmicron_film::panel::distance_to_segment_mm;
use lastmicron_plan::BodyLine;

use crate::curve::Spot;

/// What a side of a panel is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    /// The panel ends here: a shut line, a lip, a fold.
    Free,
    /// The paint runs on, or goes under trim.
    Joined,
}

/// Corners anticlockwise; each with the side that begins at it.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Outline(Vec<(Spot, Side)>);

impl Outline {
    /// Goes on along `course`. Its sides are `side`, and so is the one that leads on from its last corner.
    pub(crate) fn run(mut self, course: &[Spot], side: Side) -> Self {
        self.0.extend(course.iter().map(|p| (*p, side)));
        self
    }

    /// All sides free.
    pub(crate) fn free(corners: &[Spot]) -> Self {
        Self::default().run(corners, Side::Free).closed()
    }

    /// In whole millimetres, anticlockwise, without corners that stand twice. Of two equal corners the later says what the side after it is.
    pub(crate) fn closed(self) -> Self {
        let mut kept: Vec<(Spot, Side)> = Vec::new();
        for (p, side) in self.0 {
            let p = p.map(|mm| mm.round() + 0.0);
            match kept.last_mut() {
                Some(last) if is_same(last.0, p) => last.1 = side,
                _ => kept.push((p, side)),
            }
        }
        while kept.len() > 1 && kept.first().zip(kept.last()).is_some_and(|(a, b)| is_same(a.0, b.0)) {
            kept.pop();
        }
        let outline = Self(straightened(kept));
        if outline.twice_area() < 0.0 { outline.reversed() } else { outline }
    }

    /// As a panel has it: moved so that its lower left is the origin, beginning with the corner nearest to it.
    pub(crate) fn placed(&self) -> Self {
        let low = self.low();
        let mut corners: Vec<(Spot, Side)> = self.0.iter().map(|([x, y], side)| ([x - low[0], y - low[1]], *side)).collect();
        let key = |[x, y]: Spot| (x * x + y * y, y, x);
        let first = corners.iter().enumerate().min_by(|(_, a), (_, b)| {
            let (a, b) = (key(a.0), key(b.0));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2))
        });
        if let Some((first, _)) = first {
            corners.rotate_left(first);
        }
        Self(corners)
    }

    /// Each corner moved, in whole millimetres; a mirrored outline is turned round, so that it stays anticlockwise.
    pub(crate) fn moved(&self, by: impl Fn(Spot) -> Spot) -> Self {
        let moved = Self(self.0.iter().map(|(p, side)| (by(*p).map(|mm| mm.round() + 0.0), *side)).collect());
        if moved.twice_area() < 0.0 { moved.reversed() } else { moved }
    }

    /// The lower left of its bounding box.
    pub(crate) fn low(&self) -> Spot {
        [0, 1].map(|axis| self.0.iter().map(|(p, _)| p[axis]).fold(f64::INFINITY, f64::min))
    }

    pub(crate) fn corners(&self) -> Vec<Spot> {
        self.0.iter().map(|(p, _)| *p).collect()
    }

    pub(crate) fn free_sides(&self) -> Vec<usize> {
        (0..self.0.len()).filter(|i| self.0[*i].1 == Side::Free).collect()
    }

    /// The longest stretch of the straight way from `a` to `b` that lies inside, as a body line; none when it is shorter than 150 mm.
    ///
    /// Judgement: a shorter stretch is a corner's doing and no line that anybody would keep off.
    pub(crate) fn line(&self, a: Spot, b: Spot, radius_mm: f64) -> Option<BodyLine> {
        const SHORTEST_MM: f64 = 150.0;
        let mut at: Vec<f64> = vec![0.0, 1.0];
        for (i, (c, _)) in self.0.iter().enumerate() {
            at.extend(crossing(a, b, *c, self.0[(i + 1) % self.0.len()].0));
        }
        at.sort_by(f64::total_cmp);
        let point = |t: f64| [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
        let inside = at.windows(2).filter(|w| self.holds(point((w[0] + w[1]) / 2.0)));
        let longest = inside.max_by(|v, w| (v[1] - v[0]).total_cmp(&(w[1] - w[0])))?;
        let points_mm = [point(longest[0]), point(longest[1])].map(|p| p.map(|mm| mm.round() + 0.0));
        let length = f64::hypot(points_mm[1][0] - points_mm[0][0], points_mm[1][1] - points_mm[0][1]);
        (length >= SHORTEST_MM).then(|| BodyLine { points_mm: points_mm.to_vec(), radius_mm })
    }

    fn holds(&self, [x, y]: Spot) -> bool {
        let mut inside = false;
        for (i, ([ax, ay], _)) in self.0.iter().enumerate() {
            let [bx, by] = self.0[(i + 1) % self.0.len()].0;
            if (*ay > y) != (by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax) {
                inside = !inside;
            }
        }
        inside
    }

    fn twice_area(&self) -> f64 {
        let n = self.0.len();
        (0..n).map(|i| (self.0[i].0, self.0[(i + 1) % n].0)).map(|([ax, ay], [bx, by])| ax * by - bx * ay).sum()
    }

    /// The other way round: the side after a corner was the one before it.
    fn reversed(&self) -> Self {
        let n = self.0.len();
        Self((0..n).rev().map(|i| (self.0[i].0, self.0[(i + n - 1) % n].1)).collect())
    }
}

/// Without corners that lie within half a millimetre of the way between their neighbours, where both sides are alike.
fn straightened(corners: Vec<(Spot, Side)>) -> Vec<(Spot, Side)> {
    let mut kept: Vec<(Spot, Side)> = Vec::new();
    for (i, corner) in corners.iter().enumerate() {
        let after = corners[(i + 1) % corners.len()].0;
        let is_needless =
            kept.last().is_some_and(|(before, side)| *side == corner.1 && distance_to_segment_mm(corner.0, *before, after) < 0.5);
        if !is_needless {
            kept.push(*corner);
        }
    }
    kept
}

fn is_same(a: Spot, b: Spot) -> bool {
    (a[0] - b[0]).abs() < 0.5 && (a[1] - b[1]).abs() < 0.5
}

/// Where the way from `a` to `b` crosses the side from `c` to `d`, as a share of the way.
fn crossing(a: Spot, b: Spot, c: Spot, d: Spot) -> Option<f64> {
    let (rx, ry, sx, sy) = (b[0] - a[0], b[1] - a[1], d[0] - c[0], d[1] - c[1]);
    let across = rx * sy - ry * sx;
    if across.abs() < 1e-9 {
        return None;
    }
    let (qx, qy) = (c[0] - a[0], c[1] - a[1]);
    let (t, u) = ((qx * sy - qy * sx) / across, (qx * ry - qy * rx) / across);
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then_some(t)
}

#[cfg(test)]
mod tests {
    use super::*;

    const STRIP: [Spot; 4] = [[100.0, 50.0], [500.0, 50.0], [500.0, 150.0], [100.0, 150.0]];

    #[test]
    fn a_mirrored_outline_keeps_what_its_sides_are() {
        let strip = Outline::default().run(&STRIP[..2], Side::Free).run(&STRIP[2..], Side::Joined).closed();
        assert_eq!(strip.placed().free_sides(), [0, 1]);
        let mirrored = strip.moved(|[x, y]| [1000.0 - x, y]).placed();
        // Bottom stays free; what was right is now left, the last side.
        assert_eq!(mirrored.corners(), [[0.0, 0.0], [400.0, 0.0], [400.0, 100.0], [0.0, 100.0]]);
        assert_eq!(mirrored.free_sides(), [0, 3]);
    }

    #[test]
    fn a_line_is_cut_at_the_outline() {
        let strip = Outline::free(&STRIP);
        let line = strip.line([0.0, 100.0], [900.0, 100.0], 12.0).unwrap();
        assert_eq!(line.points_mm, [[100.0, 100.0], [500.0, 100.0]]);
        assert_eq!(strip.line([0.0, 300.0], [900.0, 300.0], 12.0), None);
        assert_eq!(strip.line([300.0, 0.0], [300.0, 900.0], 12.0), None);
    }
}
