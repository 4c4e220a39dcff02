//! Correction against film removed.

use kurbo::{BezPath, Point, Rect};
use lastmicron_plan::{Car, Outcome};
use lastmicron_units::Unit;

use crate::figure::{at_step, in_unit};
use crate::labels::{Taken, text_box};
use crate::lettering::width_pt;
use crate::place::{boxed, segment};
use crate::scene::{Class, Mark, Room, Scene, TextAt, stroke, text};

struct Axes {
    frame: Rect,
    most_um: f64,
}

impl Axes {
    fn point(&self, depth_um: f64, share: f64) -> Point {
        let x = (depth_um / self.most_um).clamp(0.0, 1.0);
        Point::new(self.frame.x0 + x * self.frame.width(), self.frame.y1 - share.clamp(0.0, 1.0) * self.frame.height())
    }
}

/// The curve of correction against film removed with its 5 to 95 % band, the bend, the goal and the most to take at one visit.
#[must_use]
pub fn correction_curve(car: &Car, outcome: &Outcome, unit: Unit, room: Room) -> Scene {
    let known: Vec<_> =
        outcome.curve.iter().filter(|(d, i)| [*d, i.mean, i.p05, i.p95].iter().all(|v| v.is_finite()) && *d >= 0.0).collect();
    let most_um = known.iter().map(|(d, _)| *d).fold(0.0, f64::max);
    let title = "Correction against film removed".to_owned();
    if known.len() < 2 || most_um <= 0.0 {
        let words = "Nothing was counted: there is no curve.";
        let marks = vec![text(Class::Note, Point::new(0.0, 10.0), TextAt::Start, words)];
        return Scene { width_pt: room.width_pt, height_pt: 14.0, title, description: words.to_owned(), marks };
    }
    let axes = Axes { frame: Rect::new(34.0, 8.0, room.width_pt - 8.0, room.height_pt - 30.0), most_um };
    let mut marks = lattice(&axes, unit);
    marks.push(stroke(Class::CurveBand, band(&axes, &known)));
    marks.push(stroke(Class::Curve, line(&axes, known.iter().map(|(d, i)| (*d, i.mean)))));
    marks.extend(guides(&axes, car, outcome, unit));
    let description = format!(
        "Share of defects gone against film removed: {}. The bend is at {}; the goal is {:.0} %.",
        known.iter().step_by((known.len() / 5).max(1)).map(|(d, i)| said(*d, i, unit)).collect::<Vec<_>>().join("; "),
        in_unit(outcome.bend_um, unit),
        car.goal.correction * 100.0
    );
    Scene { width_pt: room.width_pt, height_pt: room.height_pt, title, description, marks }
}

fn said(depth_um: f64, share: &lastmicron_plan::Interval, unit: Unit) -> String {
    format!("{}: {:.0} % ({:.0} to {:.0})", in_unit(depth_um, unit), share.mean * 100.0, share.p05 * 100.0, share.p95 * 100.0)
}

fn line(axes: &Axes, points: impl Iterator<Item = (f64, f64)>) -> BezPath {
    let mut path = BezPath::new();
    for (i, (depth, share)) in points.enumerate() {
        let p = axes.point(depth, share);
        if i == 0 { path.move_to(p) } else { path.line_to(p) }
    }
    path
}

fn band(axes: &Axes, known: &[&(f64, lastmicron_plan::Interval)]) -> BezPath {
    let low = known.iter().map(|(d, i)| (*d, i.p05));
    let high = known.iter().rev().map(|(d, i)| (*d, i.p95));
    let mut path = line(axes, low.chain(high));
    path.close_path();
    path
}

fn lattice(axes: &Axes, unit: Unit) -> Vec<Mark> {
    let frame = axes.frame;
    let letter_pt = Class::Label.letter_pt();
    let mut marks = Vec::new();
    for percent in [0_u8, 20, 40, 60, 80, 100] {
        let y = axes.point(0.0, f64::from(percent) / 100.0).y;
        marks.push(stroke(Class::Lattice, segment(Point::new(frame.x0, y), Point::new(frame.x1, y))));
        marks.push(text(Class::Label, Point::new(frame.x0 - 4.0, y + 2.3), TextAt::End, format!("{percent} %")));
    }
    let one = unit.micrometres();
    let step = step_for(axes.most_um / one / 8.0) * one;
    let mut depth = 0.0;
    while depth <= axes.most_um * (1.0 + 1e-9) && step > 0.0 {
        let x = axes.point(depth, 0.0).x;
        marks.push(stroke(Class::Lattice, segment(Point::new(x, frame.y0), Point::new(x, frame.y1))));
        marks.push(text(Class::Label, Point::new(x, frame.y1 + letter_pt + 3.0), TextAt::Middle, at_step(depth, step, unit)));
        depth += step;
    }
    marks.push(stroke(Class::Axis, boxed(frame)));
    let below = Point::new(frame.center().x, frame.y1 + 22.0);
    let words = format!("film removed, {}; line: mean, band: 9 times in 10", unit.symbol());
    marks.push(text(Class::Note, below, TextAt::Middle, words));
    marks
}

/// The least of 1, 2, 5, 10 times a power of ten that is not below `raw`.
pub(crate) fn step_for(raw: f64) -> f64 {
    let power = 10_f64.powf(raw.max(1e-9).log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= raw * (1.0 - 1e-9)).unwrap_or(power)
}

/// Lines at the goal, the bend and the most to take, each with its words where no others stand.
fn guides(axes: &Axes, car: &Car, outcome: &Outcome, unit: Unit) -> Vec<Mark> {
    let frame = axes.frame;
    let letter_pt = Class::Note.letter_pt();
    let mut taken = Taken::default();
    let mut marks = Vec::new();
    if car.goal.correction.is_finite() {
        let y = axes.point(0.0, car.goal.correction).y;
        marks.push(stroke(Class::Guide, segment(Point::new(frame.x0, y), Point::new(frame.x1, y))));
        let words = format!("goal {:.0} %", car.goal.correction * 100.0);
        let y = if y - letter_pt - 3.0 < frame.y0 { y + letter_pt + 2.0 } else { y - 3.0 };
        let place = text_box(&words, letter_pt, Point::new(frame.x0 + 4.0 + width_pt(&words, letter_pt) / 2.0, y - 3.0));
        taken.take(place);
        marks.push(text(Class::Label, Point::new(frame.x0 + 4.0, y), TextAt::Start, words));
    }
    let spend = car.limits.spend.map(|s| ("most at this visit", s.micrometres()));
    for (name, depth) in [Some(("bend", outcome.bend_um)), spend].into_iter().flatten() {
        if !(depth.is_finite() && depth >= 0.0 && depth <= axes.most_um) {
            continue;
        }
        let x = axes.point(depth, 0.0).x;
        marks.push(stroke(Class::Guide, segment(Point::new(x, frame.y0), Point::new(x, frame.y1))));
        let words = format!("{name} {}", in_unit(depth, unit));
        let half = width_pt(&words, letter_pt) / 2.0;
        let middle = if x + 2.0 * half + 6.0 > frame.x1 { x - half - 3.0 } else { x + half + 3.0 };
        for up in 0..6_u8 {
            let centre = Point::new(middle, frame.y1 - 7.0 - f64::from(up) * 10.0);
            if taken.try_take(text_box(&words, letter_pt, centre)) {
                marks.push(text(Class::Label, Point::new(middle, centre.y + 2.5), TextAt::Middle, words));
                break;
            }
        }
    }
    marks
}
