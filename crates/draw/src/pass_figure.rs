//! What one set of a machine and a pad takes: from a section, across an edge, and near lines.

use kurbo::{Point, Rect};
use lastmicron_polish::Belief;
use lastmicron_polish::near::Profile;
use lastmicron_polish::pass::{Pass, SectionMap, range_um};
use lastmicron_units::Unit;

use crate::bands::Nodes;
use crate::figure::fixed;
use crate::film_pane::{Shows, coloured, contour_numbers};
use crate::labels::Taken;
use crate::legend::{LEGEND_PT, legend, length_bar};
use crate::lettering::{shortened, wrapped};
use crate::place::{Placed, boxed};
use crate::profile_pane::{Profiled, profile};
use crate::scales::Scale;
use crate::scene::{Class, Mark, Room, Scene, TextAt, stroke, text};

const GAP_PT: f64 = 16.0;
const HEADING_PT: f64 = 14.0;
const LINE_PT: f64 = 9.0;
/// Height of a line's profile.
const PROFILE_PT: f64 = 110.0;
/// Most lines drawn: four of them leave a page's lower half to words.
const MOST_LINES: usize = 4;
/// Islands of a level that are narrower have no number of their own.
const ISLAND_PT: f64 = 60.0;
/// Part of a drawing's height that the section may take.
const SECTION_SHARE: f64 = 0.48;

/// The drawing of a set: `title` is its name, `caption` says with what it is worked.
#[must_use]
pub fn pass_figure(pass: &Pass, title: &str, caption: &str, unit: Unit, room: Room) -> Scene {
    let half = (room.width_pt - GAP_PT) / 2.0;
    let side = half.min(SECTION_SHARE * room.height_pt);
    let mut marks = Vec::new();
    let mut y = notes(&mut marks, caption, Point::ORIGIN, room.width_pt) + 6.0;
    heading(&mut marks, "Taken from a section by one set", Point::new(0.0, y), half);
    heading(&mut marks, "Across an edge", Point::new(half + GAP_PT, y), half);
    y += HEADING_PT;
    let below = match &pass.section {
        Ok(section) => section_pane(&mut marks, section, unit, Point::new(0.0, y), side),
        Err(why) => notes(&mut marks, &format!("No map: {why}."), Point::new(0.0, y), half),
    };
    let drawn = pass.lines.len().min(MOST_LINES);
    let most_um =
        pass.lines.iter().take(drawn).map(|(_, line)| line).chain([&pass.edge]).map(|of| highest_um(pass, of)).fold(0.0, f64::max);
    let profiled = |of: &Profile, from| Profiled { depths: depths(pass, of), middle_um: pass.set_um.mean, most_um, from, unit };
    marks.extend(profile(&profiled(&pass.edge, "edge"), Rect::new(half + GAP_PT, y, room.width_pt, y + side)));
    y = below.max(y + side) + 4.0;
    for row in pass.lines.get(..drawn).unwrap_or_default().chunks(2) {
        for (column, (radius_mm, line)) in row.iter().enumerate() {
            let x = column as f64 * (half + GAP_PT);
            heading(&mut marks, &format!("Over a line of radius {radius_mm} mm"), Point::new(x, y), half);
            let area = Rect::new(x, y + HEADING_PT, x + half, y + HEADING_PT + PROFILE_PT);
            marks.extend(profile(&profiled(line, "line, to either side"), area));
        }
        y += HEADING_PT + PROFILE_PT + 4.0;
    }
    let mut key = "Curve: mean; band: 19 times in 20 on one section.".to_owned();
    if pass.lines.len() > drawn {
        key += " Further lines stand in the table.";
    }
    y = notes(&mut marks, &key, Point::new(0.0, y), room.width_pt) + 3.0;
    Scene { width_pt: room.width_pt, height_pt: y, title: title.to_owned(), description: described(pass, caption, unit), marks }
}

fn depths(pass: &Pass, of: &Profile) -> Vec<(f64, Belief)> {
    of.distances_mm.iter().map(|mm| (*mm, pass.depth_um(of.at(*mm)))).collect()
}

fn highest_um(pass: &Pass, of: &Profile) -> f64 {
    depths(pass, of).into_iter().map(|(_, depth)| range_um(depth)[1]).fold(0.0, f64::max)
}

/// The section's map with its legend; where it ends.
fn section_pane(marks: &mut Vec<Mark>, section: &SectionMap, unit: Unit, corner: Point, side: f64) -> f64 {
    let placed = Placed::new([section.side_mm; 2], corner, side / section.side_mm);
    let scale = Scale::of_depths(&section.map.depth_um, unit);
    let outline = boxed(placed.frame);
    let nodes = Nodes { nx: section.nodes, ny: section.nodes, step_mm: [section.step_mm; 2], values_um: &section.map.depth_um };
    let mut field = coloured(nodes, outline.clone(), Shows::Mean, &scale, &placed);
    field.number_only_wider(ISLAND_PT);
    let numbers = contour_numbers(&field, |place| placed.frame.union(place) == placed.frame, &scale, unit, &mut Taken::default());
    marks.push(Mark::Clipped { id: "lm-section".to_owned(), area: outline.clone(), marks: field.marks });
    marks.push(stroke(Class::Outline, outline));
    marks.extend(numbers);
    let mut y = placed.frame.y1 + 5.0;
    marks.extend(legend(&scale, Shows::Mean, unit, None, Point::new(corner.x, y), side));
    y += LEGEND_PT + 4.0;
    marks.extend(length_bar(placed.pt_per_mm, side / 3.0, Point::new(corner.x, y)));
    let words = "The pad stays inside: neighbouring sections are worked over the sides.";
    notes(marks, words, Point::new(corner.x, y + 4.0), side)
}

fn heading(marks: &mut Vec<Mark>, words: &str, corner: Point, width: f64) {
    let words = shortened(words, Class::Heading.letter_pt(), width);
    marks.push(text(Class::Heading, Point::new(corner.x, corner.y + 9.0), TextAt::Start, words));
}

/// Sentences in lines; where they end.
fn notes(marks: &mut Vec<Mark>, words: &str, corner: Point, width: f64) -> f64 {
    let mut y = corner.y;
    for line in wrapped(words, Class::Note.letter_pt(), width) {
        y += LINE_PT;
        marks.push(text(Class::Note, Point::new(corner.x, y), TextAt::Start, line));
    }
    y
}

/// The drawing in words.
fn described(pass: &Pass, caption: &str, unit: Unit) -> String {
    let figure = |um: f64| format!("{} {}", fixed(um / unit.micrometres(), unit.decimals() + 1), unit.symbol());
    let at = |of: &Profile, mm: f64| {
        let depth = pass.depth_um(of.at(mm));
        let [low, high] = range_um(depth);
        format!("{} ({} to {}, 19 times in 20)", figure(depth.mean), figure(low), figure(high))
    };
    let map = pass.section.as_ref().map_or_else(
        |_| "There is no map of a section.".to_owned(),
        |section| {
            format!(
                "A section {} mm square: {} in the middle, at most {}.",
                section.side_mm,
                figure(section.middle_um()),
                figure(section.map.max_um)
            )
        },
    );
    let lines: Vec<String> =
        pass.lines.iter().map(|(radius_mm, line)| format!(" On a line of radius {radius_mm} mm: {}.", at(line, 0.0))).collect();
    format!("{caption} {map} At an edge: {}.{}", at(&pass.edge, 0.0), lines.concat())
}
