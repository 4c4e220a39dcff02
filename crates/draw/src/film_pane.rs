//! An estimate of the film over a panel: bands, contours with numbers, places read.

use kurbo::{BezPath, Point, Rect};
use lastmicron_plan::{CarPanel, PanelFilm};
use lastmicron_units::Unit;

use crate::bands::{Above, Nodes, areas_above};
use crate::figure::at_step;
use crate::hatch::{Lean, hatch};
use crate::labels::{Taken, baseline, text_box};
use crate::place::{Placed, segment};
use crate::scales::Scale;
use crate::scene::{Class, Mark, TextAt, stroke, text};

/// Two numbers on one line are at least so far apart, points.
const NUMBERS_APART_PT: f64 = 110.0;

/// Which estimate a pane shows, in which colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shows {
    /// The mean, in cividis.
    Mean,
    /// The standard deviation, in greys.
    Sd,
}

impl Shows {
    fn values(self, film: &PanelFilm) -> &[f64] {
        match self {
            Self::Mean => &film.topcoat_mean_um,
            Self::Sd => &film.topcoat_sd_um,
        }
    }

    pub(crate) fn colour(self, scale: &Scale, band: usize) -> [u8; 3] {
        match self {
            Self::Mean => scale.colour(band),
            Self::Sd => scale.grey(band),
        }
    }
}

/// The estimate over a panel, without outline, readings or numbers: to be clipped by the outline.
pub(crate) struct Field {
    areas: Vec<Above>,
    /// Bands, lines and hatching from back to front.
    pub(crate) marks: Vec<Mark>,
}

impl Field {
    /// Leaves islands narrower than this without a number, except where a level has no others: strokes leave a row of them.
    pub(crate) fn number_only_wider(&mut self, pt: f64) {
        let is_wide = |ring: &Vec<Point>| {
            let span = |of: fn(&Point) -> f64| {
                let (low, high) = ring.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
                high - low
            };
            span(|p| p.x).max(span(|p| p.y)) >= pt
        };
        for area in &mut self.areas {
            if area.rings.iter().any(is_wide) {
                area.rings.retain(is_wide);
            } else {
                area.rings.truncate(1);
            }
        }
    }
}

/// Draws the estimate of `film` over the panel; `None` for the film is all hatched.
pub(crate) fn field(panel: &CarPanel, film: Option<&PanelFilm>, shows: Shows, scale: &Scale, placed: &Placed) -> Field {
    let values = film.map(|f| shows.values(f)).unwrap_or_default();
    let known = film.filter(|f| f.nx * f.ny == values.len() && values.iter().any(|v| v.is_finite()));
    let Some(film) = known else {
        let mut lines = BezPath::new();
        hatch(&mut lines, placed.frame, 5.0, Lean::Left);
        return Field { areas: Vec::new(), marks: vec![stroke(Class::Missing, lines)] };
    };
    let nodes = Nodes { nx: film.nx, ny: film.ny, step_mm: film.step_mm, values_um: values };
    let mut field = coloured(nodes, placed.polygon(&panel.panel.outline_mm), shows, scale, placed);
    field.marks.extend(missing(panel, film, values, placed));
    field
}

/// Draws values over an outline, all of which have one.
pub(crate) fn coloured(nodes: Nodes<'_>, outline: BezPath, shows: Shows, scale: &Scale, placed: &Placed) -> Field {
    let areas = areas_above(nodes, scale.contours_um(), placed);
    let mut marks = vec![Mark::Path { class: Class::Band, path: outline, fill: Some(shows.colour(scale, 0)) }];
    for (i, area) in areas.iter().enumerate().filter(|(_, area)| !area.rings.is_empty()) {
        marks.push(Mark::Path { class: Class::Band, path: area.path(), fill: Some(shows.colour(scale, i + 1)) });
    }
    for class in [Class::ContourCasing, Class::Contour] {
        marks.extend(areas.iter().filter(|area| !area.rings.is_empty()).map(|area| stroke(class, area.path())));
    }
    Field { areas, marks }
}

/// White cells, hatched, where a node on the panel has no estimate.
fn missing(panel: &CarPanel, film: &PanelFilm, values: &[f64], placed: &Placed) -> Vec<Mark> {
    let [step_x, step_y] = film.step_mm;
    let (mut ground, mut lines) = (BezPath::new(), BezPath::new());
    for (i, _) in values.iter().enumerate().filter(|(_, v)| !v.is_finite()) {
        let (x, y) = ((i % film.nx) as f64 * step_x, (i / film.nx) as f64 * step_y);
        if panel.panel.contains(x, y) && panel.panel.edge_distance_mm(x, y) > 0.5 {
            let cell = placed.rect(x - step_x / 2.0, y - step_y / 2.0, step_x, step_y);
            ground.extend(crate::place::boxed(cell));
            hatch(&mut lines, cell, 5.0, Lean::Left);
        }
    }
    if ground.elements().is_empty() { Vec::new() } else { vec![stroke(Class::Ground, ground), stroke(Class::Missing, lines)] }
}

/// Numbers on the contours, where nothing else stands and what is drawn holds them.
pub(crate) fn contour_numbers(field: &Field, holds: impl Fn(Rect) -> bool, scale: &Scale, unit: Unit, taken: &mut Taken) -> Vec<Mark> {
    let letter_pt = Class::Label.letter_pt();
    let mut marks = Vec::new();
    for area in &field.areas {
        let words = at_step(area.level_um, scale.step_um, unit);
        let mut last: Option<Point> = None;
        for &p in area.rings.iter().flatten() {
            let place = text_box(&words, letter_pt, p);
            if last.is_none_or(|q| q.distance(p) >= NUMBERS_APART_PT) && holds(place) && taken.try_take(place) {
                marks.push(text(Class::Label, baseline(p, letter_pt), TextAt::Middle, words.clone()));
                last = Some(p);
            }
        }
    }
    marks
}

/// The place of the least mean: index of its node and its place on the panel, mm.
pub(crate) fn lowest(panel: &CarPanel, film: &PanelFilm) -> Option<(usize, [f64; 2])> {
    if film.nx == 0 {
        return None;
    }
    let place = |i: usize| [(i % film.nx) as f64 * film.step_mm[0], (i / film.nx) as f64 * film.step_mm[1]];
    let nodes = film.topcoat_mean_um.iter().enumerate().filter(|(i, v)| v.is_finite() && panel.panel.contains(place(*i)[0], place(*i)[1]));
    nodes.min_by(|(_, a), (_, b)| a.total_cmp(b)).map(|(i, _)| (i, place(i)))
}

/// A cross at the place of the least mean, and its value beside it where there is room.
pub(crate) fn lowest_mark(place_mm: [f64; 2], words: &str, placed: &Placed, taken: &mut Taken) -> Vec<Mark> {
    let p = placed.point(place_mm[0], place_mm[1]);
    let mut cross = segment(Point::new(p.x - 2.5, p.y - 2.5), Point::new(p.x + 2.5, p.y + 2.5));
    cross.extend(segment(Point::new(p.x - 2.5, p.y + 2.5), Point::new(p.x + 2.5, p.y - 2.5)));
    taken.take(Rect::from_center_size(p, (6.0, 6.0)));
    let mut marks = vec![stroke(Class::Lowest, cross)];
    let letter_pt = Class::Label.letter_pt();
    let half = text_box(words, letter_pt, p).width() / 2.0;
    let around = [(half + 5.0, 0.0), (-half - 5.0, 0.0), (half, -8.0), (-half, -8.0), (half, 8.0), (-half, 8.0)];
    for (dx, dy) in around {
        let centre = Point::new(p.x + dx, p.y + dy);
        let place = text_box(words, letter_pt, centre);
        if placed.frame.union(place) == placed.frame && taken.try_take(place) {
            marks.push(text(Class::Label, baseline(centre, letter_pt), TextAt::Middle, words));
            break;
        }
    }
    marks
}
