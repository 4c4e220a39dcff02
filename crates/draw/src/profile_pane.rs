//! What a set takes at distances from an edge or a line, as a curve with its band.

use kurbo::{BezPath, Point, Rect};
use lastmicron_polish::Belief;
use lastmicron_polish::pass::range_um;
use lastmicron_units::Unit;

use crate::curve::step_for;
use crate::figure::{at_step, fixed};
use crate::lettering::width_pt;
use crate::place::{boxed, segment};
use crate::scene::{Class, Mark, TextAt, stroke, text};

/// Room left of the frame for numbers, and below it for numbers and words, points.
const LEFT_PT: f64 = 30.0;
const BELOW_PT: f64 = 26.0;
/// Room that one number needs along each axis, points.
const ACROSS_PT: f64 = 24.0;
const UP_PT: f64 = 16.0;

/// A profile to be drawn.
pub(crate) struct Profiled<'a> {
    /// Distances, mm, and depths there, um.
    pub(crate) depths: Vec<(f64, Belief)>,
    /// Depth in the middle of a section, um.
    pub(crate) middle_um: f64,
    /// The most that any profile of the figure reaches, um: one scale for all.
    pub(crate) most_um: f64,
    /// What distances are counted from.
    pub(crate) from: &'a str,
    pub(crate) unit: Unit,
}

struct Axes {
    frame: Rect,
    most_mm: f64,
    most_um: f64,
}

impl Axes {
    fn point(&self, mm: f64, um: f64) -> Point {
        let (x, y) = ((mm / self.most_mm).clamp(0.0, 1.0), (um / self.most_um).clamp(0.0, 1.0));
        Point::new(self.frame.x0 + x * self.frame.width(), self.frame.y1 - y * self.frame.height())
    }
}

/// The profile within `area`, its axes' numbers and words included.
pub(crate) fn profile(of: &Profiled<'_>, area: Rect) -> Vec<Mark> {
    let frame = Rect::new(area.x0 + LEFT_PT, area.y0 + 3.0, area.x1 - 9.0, area.y1 - BELOW_PT);
    let most_mm = of.depths.iter().map(|(mm, _)| *mm).fold(0.0, f64::max);
    if !(of.most_um > 0.0 && of.most_um.is_finite() && most_mm > 0.0 && most_mm.is_finite()) {
        return vec![text(Class::Note, Point::new(area.x0, area.y0 + 10.0), TextAt::Start, "no profile")];
    }
    let axes = Axes { frame, most_mm, most_um: of.most_um };
    let mut marks = lattice(&axes, of);
    let low = of.depths.iter().map(|(mm, depth)| axes.point(*mm, range_um(*depth)[0]));
    let high = of.depths.iter().rev().map(|(mm, depth)| axes.point(*mm, range_um(*depth)[1]));
    let mut band = line(low.chain(high));
    band.close_path();
    marks.insert(0, stroke(Class::CurveBand, band));
    let middle = axes.point(0.0, of.middle_um).y;
    marks.push(stroke(Class::Guide, segment(Point::new(frame.x0, middle), Point::new(frame.x1, middle))));
    marks.push(stroke(Class::Curve, line(of.depths.iter().map(|(mm, depth)| axes.point(*mm, depth.mean)))));
    let letter_pt = Class::Label.letter_pt();
    let words = "a section's middle";
    if width_pt(words, letter_pt) < frame.width() {
        marks.push(text(Class::Label, Point::new(frame.x1 - 3.0, middle + letter_pt + 3.0), TextAt::End, words));
    }
    marks
}

fn line(points: impl Iterator<Item = Point>) -> BezPath {
    let mut path = BezPath::new();
    for (i, p) in points.enumerate() {
        if i == 0 { path.move_to(p) } else { path.line_to(p) }
    }
    path
}

/// Lines at round depths and distances, their numbers, the axes, and what they say.
fn lattice(axes: &Axes, of: &Profiled<'_>) -> Vec<Mark> {
    let (frame, one) = (axes.frame, of.unit.micrometres());
    let letter_pt = Class::Label.letter_pt();
    let mut marks = Vec::new();
    let step_um = step_for(axes.most_um / one / (frame.height() / UP_PT).clamp(2.0, 8.0)) * one;
    for um in ticks(step_um, axes.most_um) {
        let y = axes.point(0.0, um).y;
        marks.push(stroke(Class::Lattice, segment(Point::new(frame.x0, y), Point::new(frame.x1, y))));
        marks.push(text(Class::Label, Point::new(frame.x0 - 4.0, y + 2.3), TextAt::End, at_step(um, step_um, of.unit)));
    }
    let step_mm = step_for(axes.most_mm / (frame.width() / ACROSS_PT).clamp(2.0, 10.0));
    for mm in ticks(step_mm, axes.most_mm) {
        let x = axes.point(mm, 0.0).x;
        marks.push(stroke(Class::Lattice, segment(Point::new(x, frame.y0), Point::new(x, frame.y1))));
        marks.push(text(Class::Label, Point::new(x, frame.y1 + letter_pt + 3.0), TextAt::Middle, fixed(mm, usize::from(step_mm < 1.0))));
    }
    marks.push(stroke(Class::Axis, boxed(frame)));
    let words = format!("mm from the {}; taken in {}", of.from, of.unit.symbol());
    marks.push(text(Class::Note, Point::new(frame.center().x, frame.y1 + 22.0), TextAt::Middle, words));
    marks
}

/// Multiples of a step up to the most.
fn ticks(step: f64, most: f64) -> impl Iterator<Item = f64> {
    (0..100_u32).map(move |i| f64::from(i) * step).take_while(move |tick| *tick <= most * (1.0 + 1e-9))
}
