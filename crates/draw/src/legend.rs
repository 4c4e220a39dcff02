//! The scales' legends: colours with numbers, and a length.

use kurbo::{Point, Rect};
use lastmicron_units::Unit;

use crate::figure::at_step;
use crate::film_pane::Shows;
use crate::labels::Taken;
use crate::lettering::width_pt;
use crate::place::{boxed, segment};
use crate::scales::Scale;
use crate::scene::{Class, Mark, TextAt, stroke, text};

/// Height of a legend, points.
pub(crate) const LEGEND_PT: f64 = 19.0;

/// The legend of a scale: a swatch a band, numbers at the levels, and the floor where the scale holds it.
pub(crate) fn legend(scale: &Scale, shows: Shows, unit: Unit, floor_um: Option<f64>, corner: Point, width_pt_: f64) -> Vec<Mark> {
    let bands = scale.bands();
    if bands == 0 {
        return vec![text(Class::Note, Point::new(corner.x, corner.y + 8.0), TextAt::Start, "no estimate: hatched")];
    }
    let each = width_pt_ / bands as f64;
    let (top, bottom) = (corner.y, corner.y + 7.0);
    let mut marks = Vec::new();
    for band in 0..bands {
        let x = corner.x + band as f64 * each;
        let fill = Some(shows.colour(scale, band));
        marks.push(Mark::Path { class: Class::Band, path: boxed(Rect::new(x, top, x + each, bottom)), fill });
    }
    marks.push(stroke(Class::Tick, boxed(Rect::new(corner.x, top, corner.x + width_pt_, bottom))));
    let mut taken = Taken::default();
    let letter_pt = Class::Label.letter_pt();
    for (i, level) in scale.levels_um.iter().enumerate() {
        let x = corner.x + i as f64 * each;
        let mut words = at_step(*level, scale.step_um, unit);
        if scale.open_above && i + 1 == bands {
            words.push('+');
        }
        let (anchor, mut left) = if i == 0 { (TextAt::Start, x) } else { (TextAt::Middle, x - width_pt(&words, letter_pt) / 2.0) };
        let anchor = if i == bands { TextAt::End } else { anchor };
        if i == 0 {
            words = format!("{words} {}", unit.symbol());
        } else if i == bands {
            left = x - width_pt(&words, letter_pt);
        }
        if taken.try_take(Rect::new(left, bottom, left + width_pt(&words, letter_pt) + 2.0, bottom + 9.0)) {
            marks.push(stroke(Class::Tick, segment(Point::new(x, bottom), Point::new(x, bottom + 1.8))));
            marks.push(text(Class::Label, Point::new(x, bottom + 9.0), anchor, words));
        }
    }
    marks.extend(floor_um.and_then(|floor| floor_tick(scale, floor, corner, each)));
    marks
}

/// A bar across the legend at the floor, when the scale reaches down to it.
fn floor_tick(scale: &Scale, floor_um: f64, corner: Point, each_pt: f64) -> Option<Mark> {
    let (first, last) = (scale.levels_um.first()?, scale.levels_um.last()?);
    if floor_um < *first || floor_um > *last {
        return None;
    }
    let x = corner.x + (floor_um - first) / scale.step_um * each_pt;
    Some(stroke(Class::Guide, segment(Point::new(x, corner.y - 3.0), Point::new(x, corner.y + 7.0))))
}

/// A length in millimetres, drawn to the scale of the panel.
pub(crate) fn length_bar(pt_per_mm: f64, most_pt: f64, corner: Point) -> Vec<Mark> {
    let lengths = [1000.0, 500.0, 200.0, 100.0, 50.0, 20.0, 10.0, 5.0, 2.0, 1.0_f64];
    let mm = lengths.into_iter().find(|mm| mm * pt_per_mm <= most_pt).unwrap_or(1.0);
    let (x, y) = (corner.x + (mm * pt_per_mm).min(most_pt), corner.y);
    let mut bar = segment(Point::new(corner.x, y - 2.5), Point::new(corner.x, y + 2.5));
    bar.extend(segment(corner, Point::new(x, y)));
    bar.extend(segment(Point::new(x, y - 2.5), Point::new(x, y + 2.5)));
    vec![stroke(Class::Tick, bar), text(Class::Note, Point::new(x + 4.0, y + 2.5), TextAt::Start, format!("{mm:.0} mm"))]
}
