//! One panel at the handover: its topcoat before work and now on one scale, what was removed, and how sure what is left is.

use kurbo::Point;
use lastmicron_film::grid::Grid;
use lastmicron_plan::taken::{PanelTaken, Removed};
use lastmicron_plan::{Car, CarPanel, Interval, PanelFilm, Worked};

use crate::edges::EDGE_MARGIN_PT;
use crate::figure::{counted, in_unit, in_unit_bare};
use crate::film_pane::{Shows, contour_numbers, field, lowest, lowest_mark};
use crate::labels::{Taken, baseline, text_box};
use crate::legend::{LEGEND_PT, legend, length_bar};
use crate::lettering::{shortened, wrapped};
use crate::place::{Placed, boxed, fitting_scale};
use crate::readings;
use crate::scales::{Scale, TakenScales};
use crate::scene::{Class, Mark, Room, Scene, TextAt, stroke, text};

const GAP_PT: f64 = 14.0;
const HEADING_PT: f64 = 13.0;
const LINE_PT: f64 = 9.0;
/// What stands round a pane: its heading, margins, a length, a legend, and notes of three lines.
const ROUND_PT: f64 = HEADING_PT + 2.0 * EDGE_MARGIN_PT + 12.0 + LEGEND_PT + 3.0 * LINE_PT + 3.0 + ROWS_APART_PT;
const ROWS_APART_PT: f64 = 6.0;

/// One estimate over the panel.
struct Pane<'a> {
    name: &'static str,
    part: &'static str,
    shows: Shows,
    film: Option<PanelFilm>,
    levels: &'a Scale,
    /// Whether the places read and the least of the film are marked.
    marked: bool,
    note: Option<&'static str>,
}

/// The drawing of panel `taken.panel` of `car`, as wide as `room` and hardly higher than it. Where nothing is recorded as worked, what is there now stands for
/// what was there before.
#[must_use]
pub fn taken_map(car: &Car, taken: &PanelTaken, scales: &TakenScales, room: Room) -> Scene {
    let Some(panel) = car.panels.get(taken.panel) else {
        let description = "There is no such panel.".to_owned();
        return Scene { width_pt: room.width_pt, height_pt: 1.0, title: String::new(), description, marks: Vec::new() };
    };
    let panes = panes(panel, taken, scales);
    let width = (room.width_pt - GAP_PT) / 2.0;
    let rows = panes.len().div_ceil(2).max(1) as f64;
    let high = (room.height_pt / rows - ROUND_PT).max(30.0);
    let pt_per_mm = fitting_scale(panel.panel.size_mm(), width - 2.0 * EDGE_MARGIN_PT, high);
    let drawn = Drawn { car, panel, taken, scales, pt_per_mm, width };
    let (mut marks, mut top) = (Vec::new(), 0.0);
    for row in panes.chunks(2) {
        let mut end = top;
        for (column, pane) in row.iter().enumerate() {
            let corner = Point::new(column as f64 * (width + GAP_PT), top);
            end = f64::max(end, drawn.pane(&mut marks, pane, corner));
        }
        top = end + ROWS_APART_PT;
    }
    let title = panel.panel.name.clone();
    Scene { width_pt: room.width_pt, height_pt: top, title, description: described(panel, taken, scales), marks }
}

fn panes<'a>(panel: &CarPanel, taken: &PanelTaken, scales: &'a TakenScales) -> Vec<Pane<'a>> {
    let topcoat = &scales.film.topcoat;
    let film = taken.film.as_ref();
    let now = |name| Pane {
        name,
        part: "left",
        shows: Shows::Mean,
        film: film.map(|f| f.left.clone()),
        levels: topcoat,
        marked: true,
        note: None,
    };
    let sure = Pane {
        name: "How sure of that (sd)",
        part: "sd",
        shows: Shows::Sd,
        film: film.map(|f| f.left.clone()),
        levels: &scales.film.sd,
        marked: false,
        note: Some("The darker, the less is known: read there first."),
    };
    let removed = taken.removed.as_ref().filter(|removed| removed.over_worked_um.is_some()).map(|removed| Pane {
        name: "Removed (mean)",
        part: "removed",
        shows: Shows::Mean,
        film: Some(as_film(removed, panel)),
        levels: &scales.removed,
        marked: false,
        note: Some("Broken lines: where sets are recorded; the numbers are for their middle."),
    });
    match (film, removed) {
        (None, None) => vec![now("Topcoat now")],
        (None, Some(removed)) => vec![now("Topcoat now"), removed],
        (Some(_), None) => vec![now("Topcoat now (mean)"), sure],
        (Some(film), Some(removed)) => {
            let before =
                Pane { name: "Topcoat before work (mean)", part: "before", film: Some(film.before.clone()), marked: false, ..now("") };
            vec![before, now("Topcoat left now (mean)"), removed, sure]
        }
    }
}

/// What was removed as a film of its own, to be drawn like one.
fn as_film(removed: &Removed, panel: &CarPanel) -> PanelFilm {
    let Grid { step_mm, nx, ny, .. } = Grid::of(&panel.panel);
    let smallest_um = Interval { mean: f64::NAN, p05: f64::NAN, p95: f64::NAN };
    PanelFilm { step_mm, nx, ny, topcoat_mean_um: removed.mean_um.clone(), topcoat_sd_um: removed.sd_um.clone(), smallest_um }
}

/// What all panes of a drawing share.
struct Drawn<'a> {
    car: &'a Car,
    panel: &'a CarPanel,
    taken: &'a PanelTaken,
    scales: &'a TakenScales,
    pt_per_mm: f64,
    /// Width of a pane, points.
    width: f64,
}

impl Drawn<'_> {
    /// Draws a pane; where it ends.
    fn pane(&self, marks: &mut Vec<Mark>, pane: &Pane<'_>, corner: Point) -> f64 {
        let (index, unit) = (self.taken.panel, self.scales.film.unit);
        let heading = shortened(pane.name, Class::Heading.letter_pt(), self.width);
        marks.push(text(Class::Heading, Point::new(corner.x, corner.y + 9.0), TextAt::Start, heading));
        let upper_left = Point::new(corner.x + EDGE_MARGIN_PT, corner.y + HEADING_PT + EDGE_MARGIN_PT);
        let placed = Placed::new(self.panel.panel.size_mm(), upper_left, self.pt_per_mm);
        let outline = placed.polygon(&self.panel.panel.outline_mm);
        let field = field(self.panel, pane.film.as_ref(), pane.shows, pane.levels, &placed);
        let (mut taken, mut upon, mut notes) = (Taken::default(), Vec::new(), Vec::new());
        if pane.marked {
            let (read, seen) = readings::marks(&self.car.readings, index, &placed, &mut taken);
            upon.extend(read);
            let least = pane.film.as_ref().and_then(|film| Some((film, lowest(self.panel, film)?)));
            if let Some((film, (node, place))) = least {
                upon.extend(lowest_mark(place, &in_unit(film.topcoat_mean_um[node], unit), &placed, &mut taken));
                notes.push("Cross: the least mean.".to_owned());
            }
            notes.push(format!("Marks: {}.", seen.key()));
        }
        notes.extend(pane.note.map(str::to_owned));
        if pane.film.is_none() {
            notes.push("Hatched: not known.".to_owned());
        }
        let numbers = match pane.part {
            // Lines of one level lie side by side where a section ends: the number in its middle says it all.
            "removed" => self.in_sections(pane, &placed, &mut taken),
            _ => contour_numbers(&field, |place| placed.holds(self.panel, place), pane.levels, unit, &mut taken),
        };
        let mut clipped = field.marks;
        if pane.part == "removed" {
            clipped.extend(self.worked().map(|w| stroke(Class::Worked, boxed(placed.rect(w.x_mm, w.y_mm, w.width_mm, w.height_mm)))));
        }
        marks.push(Mark::Clipped { id: format!("lm-{index}-{}", pane.part), area: outline.clone(), marks: clipped });
        marks.push(stroke(Class::Outline, outline));
        marks.extend(upon);
        marks.extend(numbers);
        let y = placed.frame.y1 + EDGE_MARGIN_PT + 6.0;
        let inner = self.width - 2.0 * EDGE_MARGIN_PT;
        marks.extend(length_bar(self.pt_per_mm, inner / 3.0, Point::new(placed.frame.x0, y)));
        let mut end = y + 6.0;
        if pane.film.is_some() {
            let floor = (pane.part == "left" || pane.part == "before").then_some(self.car.limits.floor.micrometres());
            marks.extend(legend(pane.levels, pane.shows, unit, floor, Point::new(corner.x + EDGE_MARGIN_PT, end), inner));
            end += LEGEND_PT;
        }
        for line in notes.iter().flat_map(|note| wrapped(note, Class::Note.letter_pt(), self.width)) {
            end += LINE_PT;
            marks.push(text(Class::Note, Point::new(corner.x, end), TextAt::Start, line));
        }
        end + 3.0
    }

    /// The rectangles on which sets are recorded.
    fn worked(&self) -> impl Iterator<Item = &Worked> {
        self.car.worked.iter().filter(|w| w.panel == self.taken.panel && !w.after.is_empty())
    }

    /// What was removed in the middle of every rectangle worked, the smallest first, where there is room.
    fn in_sections(&self, pane: &Pane<'_>, placed: &Placed, taken: &mut Taken) -> Vec<Mark> {
        let Some(film) = &pane.film else { return Vec::new() };
        let mut worked: Vec<&Worked> = self.worked().collect();
        worked.sort_by(|a, b| (a.width_mm * a.height_mm).total_cmp(&(b.width_mm * b.height_mm)));
        let letter_pt = Class::Label.letter_pt();
        let mut marks = Vec::new();
        for w in worked {
            let [x, y] = [w.x_mm + 0.5 * w.width_mm, w.y_mm + 0.5 * w.height_mm];
            let node = |mm: f64, axis: usize, nodes: usize| ((mm / film.step_mm[axis]).round() as usize).min(nodes.saturating_sub(1));
            let mean = film.topcoat_mean_um.get(node(y, 1, film.ny) * film.nx + node(x, 0, film.nx)).copied().unwrap_or(f64::NAN);
            let words = in_unit_bare(mean, self.scales.film.unit);
            let middle = placed.point(x, y);
            let place = text_box(&words, letter_pt, middle);
            if mean.is_finite() && placed.holds(self.panel, place) && taken.try_take(place) {
                marks.push(text(Class::Label, baseline(middle, letter_pt), TextAt::Middle, words));
            }
        }
        marks
    }
}

/// The drawing in words.
fn described(panel: &CarPanel, taken: &PanelTaken, scales: &TakenScales) -> String {
    let unit = scales.film.unit;
    let [w, h] = panel.panel.size_mm();
    let between = |low: f64, high: f64| format!("19 times in 20 between {} and {}", in_unit(low, unit), in_unit(high, unit));
    let film = taken.film.as_ref().map_or_else(
        || "How much topcoat it has is not known.".to_owned(),
        |film| format!("Its smallest topcoat now is {}.", between(film.smallest_left_um.p025, film.smallest_left_um.p975)),
    );
    let over = taken.removed.as_ref().map(|removed| removed.over_worked_um);
    let removed = match over {
        None => "What was removed is not known.".to_owned(),
        Some(None) => "Nothing is recorded as removed.".to_owned(),
        Some(Some(over)) => format!("What was removed on the average where it was worked is {}.", between(over.p025, over.p975)),
    };
    format!("Maps of {}, {w:.0} by {h:.0} mm; {}. {removed} {film}", panel.panel.name, counted(taken.readings, "reading", "readings"))
}
