//! One panel's drawing: what to do where, the topcoat there now, and how sure that is.

use kurbo::Point;
use lastmicron_plan::{Car, CarPanel, Outcome, PanelFilm, PanelPlan};

use crate::edges::{EDGE_MARGIN_PT, names};
use crate::figure::{counted, in_unit};
use crate::film_pane::{Shows, contour_numbers, field, lowest, lowest_mark};
use crate::labels::Taken;
use crate::legend::{LEGEND_PT, legend, length_bar};
use crate::lettering::{shortened, wrapped};
use crate::place::{Placed, fitting_scale};
use crate::readings;
use crate::scales::Scales;
use crate::scene::{Class, Mark, Room, Scene, TextAt, stroke, text};
use crate::work_pane::work;

const GAP_PT: f64 = 14.0;
const HEADING_PT: f64 = 13.0;
const LINE_PT: f64 = 9.0;
/// Half the span of 9 times in 10 of a normal law, in standard deviations.
const NINE_IN_TEN: f64 = 1.645;
/// Most lines below a drawing: a section's steps stand in the plan's table as well.
const MOST_NOTES: usize = 16;

struct Subject<'a> {
    car: &'a Car,
    panel: &'a CarPanel,
    index: usize,
    film: Option<&'a PanelFilm>,
    plan: Option<&'a PanelPlan>,
    scales: &'a Scales,
}

/// How the panes stand.
#[derive(Clone, Copy, Debug)]
enum Arrangement {
    /// What to do above, both estimates side by side below.
    Stacked,
    /// All three side by side, for a panel higher than wide.
    Row,
}

/// The drawing of panel `index` of `car`, as wide as `room` and hardly higher than it.
///
/// A panel that has no estimate is hatched; one that isn't there is an empty drawing that says so.
#[must_use]
pub fn panel_map(car: &Car, outcome: &Outcome, index: usize, scales: &Scales, room: Room) -> Scene {
    let Some(panel) = car.panels.get(index) else {
        return Scene {
            width_pt: room.width_pt,
            height_pt: 1.0,
            title: String::new(),
            description: "There is no such panel.".to_owned(),
            marks: Vec::new(),
        };
    };
    let plan = outcome.plan.panels.iter().find(|p| p.panel == index);
    let subject = Subject { car, panel, index, film: outcome.film.get(index), plan, scales };
    let drawn = [Arrangement::Stacked, Arrangement::Row].map(|arrangement| largest(&subject, arrangement, room));
    let [stacked, row] = drawn;
    let Drawn { marks, height_pt, .. } = if row.pt_per_mm > stacked.pt_per_mm { row } else { stacked };
    Scene { width_pt: room.width_pt, height_pt, title: panel.panel.name.clone(), description: described(&subject), marks }
}

struct Drawn {
    marks: Vec<Mark>,
    height_pt: f64,
    /// Scale of the work, and the estimates', together: what makes one arrangement better than another.
    pt_per_mm: f64,
}

/// Notes depend on how large the panel is drawn, and that on the room they leave: smaller until all fits.
fn largest(subject: &Subject<'_>, arrangement: Arrangement, room: Room) -> Drawn {
    let sizes = [1.0, 0.9, 0.81, 0.73, 0.66, 0.59, 0.53, 0.43, 0.35, 0.25, 0.15];
    let mut drawn = drawing(subject, arrangement, room, sizes[0]);
    for share in sizes.into_iter().skip(1) {
        if drawn.height_pt <= room.height_pt {
            break;
        }
        drawn = drawing(subject, arrangement, room, share);
    }
    drawn
}

fn drawing(subject: &Subject<'_>, arrangement: Arrangement, room: Room, share: f64) -> Drawn {
    let size = subject.panel.panel.size_mm();
    let high = room.height_pt * share;
    let margin = 2.0 * EDGE_MARGIN_PT;
    // Widths and heights of the work and of each estimate.
    let (wide, narrow, work_high, film_high) = match arrangement {
        Arrangement::Stacked => (room.width_pt - margin, (room.width_pt - GAP_PT) / 2.0 - margin, high * 0.5, high * 0.32),
        Arrangement::Row => (room.width_pt * 0.46 - margin, (room.width_pt * 0.54 - 2.0 * GAP_PT) / 2.0 - margin, high * 0.85, high * 0.85),
    };
    let (work, film) = (fitting_scale(size, wide, work_high), fitting_scale(size, narrow, film_high));
    let first = match arrangement {
        Arrangement::Stacked => 0.0,
        Arrangement::Row => wide + margin + GAP_PT,
    };
    let xs = [0.0, first, first + narrow + margin + GAP_PT];
    let (marks, height_pt) = panes(subject, arrangement, [(xs[0], work, wide), (xs[1], film, narrow), (xs[2], film, narrow)], room);
    Drawn { marks, height_pt, pt_per_mm: work + film }
}

/// The three panes from their left sides, scales and widths; their tops follow from what stands above.
fn panes(subject: &Subject<'_>, arrangement: Arrangement, at: [(f64, f64, f64); 3], room: Room) -> (Vec<Mark>, f64) {
    let mut marks = Vec::new();
    let [(work_x, work_scale, work_width), mean, sd] = at;
    let (notes, work_end) = work_pane(subject, &mut marks, Point::new(work_x, 0.0), work_scale, work_width);
    match arrangement {
        Arrangement::Stacked => {
            let y = written(&mut marks, &notes, work_end, room.width_pt) + 8.0;
            let ends = [(Shows::Mean, mean), (Shows::Sd, sd)].map(|(shows, (x, scale, width))| {
                let (notes, end) = estimate_pane(subject, &mut marks, shows, Point::new(x, y), scale, width);
                written_at(&mut marks, &notes, x, end, width + 2.0 * EDGE_MARGIN_PT)
            });
            (marks, ends[0].max(ends[1]) + 3.0)
        }
        Arrangement::Row => {
            let mut all = notes;
            let ends = [(Shows::Mean, mean), (Shows::Sd, sd)].map(|(shows, (x, scale, width))| {
                let (notes, end) = estimate_pane(subject, &mut marks, shows, Point::new(x, 0.0), scale, width);
                all.extend(notes);
                end
            });
            let end = written(&mut marks, &all, work_end.max(ends[0]).max(ends[1]), room.width_pt);
            (marks, end + 3.0)
        }
    }
}

fn work_pane(subject: &Subject<'_>, marks: &mut Vec<Mark>, corner: Point, scale: f64, width: f64) -> (Vec<String>, f64) {
    heading(marks, "What to do where", corner, width);
    let placed = placed(subject, corner, scale);
    let id = format!("lm-{}-work", subject.index);
    let work = work(subject.car, subject.panel, subject.index, subject.plan, &placed, &id);
    let outline = placed.polygon(&subject.panel.panel.outline_mm);
    marks.push(Mark::Clipped { id, area: outline.clone(), marks: work.clipped });
    marks.push(stroke(Class::Outline, outline));
    marks.extend(work.labels);
    let keep_off = subject.plan.map(|p| p.keep_off.as_slice()).unwrap_or_default();
    marks.extend(names(subject.panel, keep_off, &placed, &mut Taken::default()));
    let y = placed.frame.y1 + EDGE_MARGIN_PT + 6.0;
    marks.extend(length_bar(placed.pt_per_mm, width / 3.0, Point::new(placed.frame.x0, y)));
    (work.notes, y + 6.0)
}

fn estimate_pane(subject: &Subject<'_>, marks: &mut Vec<Mark>, shows: Shows, corner: Point, scale: f64, width: f64) -> (Vec<String>, f64) {
    let (levels, name, part) = match shows {
        Shows::Mean => (&subject.scales.topcoat, "Topcoat now (mean)", "mean"),
        Shows::Sd => (&subject.scales.sd, "How sure (sd)", "sd"),
    };
    let unit = subject.scales.unit;
    heading(marks, name, corner, width + 2.0 * EDGE_MARGIN_PT);
    let placed = placed(subject, corner, scale);
    let outline = placed.polygon(&subject.panel.panel.outline_mm);
    let field = field(subject.panel, subject.film, shows, levels, &placed);
    let mut taken = Taken::default();
    let mut notes = Vec::new();
    let mut upon = Vec::new();
    match shows {
        Shows::Mean => {
            let (read, seen) = readings::marks(&subject.car.readings, subject.index, &placed, &mut taken);
            upon.extend(read);
            let least = subject.film.and_then(|film| Some((film, lowest(subject.panel, film)?)));
            if let Some((film, (node, place))) = least {
                let mean = film.topcoat_mean_um[node];
                upon.extend(lowest_mark(place, &in_unit(mean, unit), &placed, &mut taken));
                notes.push(least_note(film, node, place, subject.scales));
            }
            notes.push(format!("Marks: {}.", seen.key()));
        }
        Shows::Sd => notes.push("The darker, the less is known: measure there.".to_owned()),
    }
    if subject.film.is_none_or(|f| f.topcoat_mean_um.iter().all(|v| !v.is_finite())) {
        notes.push("Hatched: no estimate.".to_owned());
    }
    let on_top = contour_numbers(&field, |place| placed.holds(subject.panel, place), levels, unit, &mut taken);
    marks.push(Mark::Clipped { id: format!("lm-{}-{part}", subject.index), area: outline.clone(), marks: field.marks });
    marks.push(stroke(Class::Outline, outline));
    marks.extend(upon);
    marks.extend(on_top);
    marks.extend(names(subject.panel, &[], &placed, &mut Taken::default()));
    let y = placed.frame.y1 + EDGE_MARGIN_PT + 5.0;
    let floor = (shows == Shows::Mean).then_some(subject.car.limits.floor.micrometres());
    marks.extend(legend(levels, shows, unit, floor, Point::new(corner.x + EDGE_MARGIN_PT, y), width));
    (notes, y + LEGEND_PT + 3.0)
}

fn least_note(film: &PanelFilm, node: usize, [x_mm, y_mm]: [f64; 2], scales: &Scales) -> String {
    let (mean, sd) = (film.topcoat_mean_um[node], film.topcoat_sd_um.get(node).copied().unwrap_or(f64::NAN));
    let (low, high) = (in_unit(mean - NINE_IN_TEN * sd, scales.unit), in_unit(mean + NINE_IN_TEN * sd, scales.unit));
    format!("Cross: least estimate, {} at {x_mm:.0}, {y_mm:.0} mm; {low} to {high} there, 9 times in 10.", in_unit(mean, scales.unit))
}

fn placed(subject: &Subject<'_>, corner: Point, scale: f64) -> Placed {
    let upper_left = Point::new(corner.x + EDGE_MARGIN_PT, corner.y + HEADING_PT + EDGE_MARGIN_PT);
    Placed::new(subject.panel.panel.size_mm(), upper_left, scale)
}

fn heading(marks: &mut Vec<Mark>, words: &str, corner: Point, width: f64) {
    let words = shortened(words, Class::Heading.letter_pt(), width);
    marks.push(text(Class::Heading, Point::new(corner.x, corner.y + 9.0), TextAt::Start, words));
}

fn written(marks: &mut Vec<Mark>, notes: &[String], y: f64, width: f64) -> f64 {
    written_at(marks, notes, 0.0, y, width)
}

/// Sentences below a pane, broken into lines; where they end.
fn written_at(marks: &mut Vec<Mark>, notes: &[String], x: f64, y: f64, width: f64) -> f64 {
    let mut lines: Vec<String> = notes.iter().flat_map(|note| wrapped(note, Class::Note.letter_pt(), width)).collect();
    if lines.len() > MOST_NOTES {
        lines.truncate(MOST_NOTES - 1);
        lines.push("The rest stands in the table of sections.".to_owned());
    }
    let mut y = y;
    for line in lines {
        y += LINE_PT;
        marks.push(text(Class::Note, Point::new(x, y), TextAt::Start, line));
    }
    y
}

/// The drawing in words.
fn described(subject: &Subject<'_>) -> String {
    let name = &subject.panel.panel.name;
    let [w, h] = subject.panel.panel.size_mm();
    let unit = subject.scales.unit;
    let sections = subject.plan.map(|p| p.sections.as_slice()).unwrap_or_default();
    let worked = sections.iter().filter(|s| !s.steps.is_empty()).count();
    let film = subject.film.map(|f| &f.smallest_um).filter(|s| s.mean.is_finite()).map_or_else(
        || "There is no estimate of its topcoat.".to_owned(),
        |s| {
            format!(
                "Its smallest topcoat now is {}, 9 times in 10 between {} and {}.",
                in_unit(s.mean, unit),
                in_unit(s.p05, unit),
                in_unit(s.p95, unit)
            )
        },
    );
    let readings = subject.car.readings.iter().filter(|r| r.panel == subject.index).count();
    format!(
        "Map of {name}, {w:.0} by {h:.0} mm: {}, {worked} to be worked and {} to be left; {}. {film}",
        counted(sections.len(), "section", "sections"),
        sections.len() - worked,
        counted(readings, "reading", "readings")
    )
}
