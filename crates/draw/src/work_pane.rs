//! What to do where: sections with their steps, bands kept off, places worked before.

use kurbo::{BezPath, Point, Rect};
use lastmicron_plan::{Car, CarPanel, PanelPlan, SectionPlan, kept_off_in_words};
use lastmicron_polish::Step;

use crate::edges::{kept_off, kept_off_lines};
use crate::figure::fixed;
use crate::hatch::{Lean, hatch};
use crate::labels::{Taken, baseline, text_box};
use crate::lettering::{width_pt, wrapped};
use crate::place::{Placed, boxed};
use crate::scene::{Class, Mark, TextAt, stroke, text};
use crate::steps::{StepNames, steps_in_words};

/// Most lines that a step in words may take on a section. Judgement: a name of more is better said once, below.
const MOST_LINES: usize = 3;

/// How sections are labelled: the first of these that fits every section of the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Wording {
    /// The steps in words.
    Words,
    /// A letter a process, explained below.
    Codes,
    /// The section's number alone; what to do is listed below.
    Numbers,
}

/// The marks of a pane, to be clipped by the outline, those upon it, and what is to be said below it.
pub(crate) struct Work {
    /// Inside the outline.
    pub(crate) clipped: Vec<Mark>,
    /// On top, not clipped.
    pub(crate) labels: Vec<Mark>,
    /// Sentences.
    pub(crate) notes: Vec<String>,
}

/// Draws what to do on a panel.
pub(crate) fn work(car: &Car, panel: &CarPanel, index: usize, plan: Option<&PanelPlan>, placed: &Placed, id: &str) -> Work {
    let sections = plan.map(|p| p.sections.as_slice()).unwrap_or_default();
    let keep_off = plan.map(|p| p.keep_off.as_slice()).unwrap_or_default();
    let names = StepNames::new(&car.processes);
    let mut clipped = Vec::new();
    for section in sections.iter().filter(|s| s.steps.is_empty()) {
        let mut lines = BezPath::new();
        hatch(&mut lines, area(section, placed), 7.0, Lean::Right);
        clipped.push(stroke(Class::LeftAlone, lines));
    }
    clipped.extend(kept_off(panel, keep_off, placed, id));
    clipped.extend(kept_off_lines(panel, plan.map(|p| p.keep_off_lines.as_slice()).unwrap_or_default(), placed, id));
    clipped.extend(sections.iter().map(|section| stroke(Class::Section, boxed(area(section, placed)))));
    clipped.extend(panel.lines.iter().map(|line| stroke(Class::BodyLine, placed.line(&line.points_mm))));
    let worked: Vec<_> = car.worked.iter().filter(|w| w.panel == index).collect();
    clipped.extend(worked.iter().map(|w| stroke(Class::Worked, boxed(placed.rect(w.x_mm, w.y_mm, w.width_mm, w.height_mm)))));

    let chosen = [Wording::Words, Wording::Codes]
        .into_iter()
        .find_map(|wording| section_labels(sections, panel, placed, &names, wording).map(|labels| (wording, labels)));
    let (wording, labels) = chosen.unwrap_or_else(|| (Wording::Numbers, bare_numbers(sections, panel, placed)));
    let mut notes = key(sections, &names, wording, car);
    notes.extend(kept_off_note(panel, plan));
    notes.extend(worked_note(&worked.iter().map(|w| w.after.as_slice()).collect::<Vec<_>>(), car));
    notes.extend(lines_note(panel));
    Work { clipped, labels, notes }
}

fn area(section: &SectionPlan, placed: &Placed) -> Rect {
    placed.rect(section.x_mm, section.y_mm, section.width_mm, section.height_mm)
}

/// A number and a line a step on every section, or nothing when one of them doesn't fit.
fn section_labels(
    sections: &[SectionPlan],
    panel: &CarPanel,
    placed: &Placed,
    names: &StepNames<'_>,
    wording: Wording,
) -> Option<Vec<Mark>> {
    let mut marks = Vec::new();
    for (i, section) in sections.iter().enumerate() {
        let rect = area(section, placed).inset(-1.5);
        let lines = match wording {
            Wording::Words => words(section, names, rect.width())?,
            Wording::Codes | Wording::Numbers => codes(section, names),
        };
        marks.extend(stacked((i + 1).to_string(), &lines, rect, panel, placed)?);
    }
    Some(marks)
}

/// The steps in words, or nothing when a word would be cut or a name take more lines than are read at a glance.
fn words(section: &SectionPlan, names: &StepNames<'_>, room_pt: f64) -> Option<Vec<String>> {
    if section.steps.is_empty() {
        return Some(vec!["leave".to_owned()]);
    }
    let letter_pt = Class::Steps.letter_pt();
    let mut all = Vec::new();
    for step in &section.steps {
        // The sets stay with the end of the name.
        let words = names.words(*step).replace(" \u{d7} ", "\u{a0}\u{d7}\u{a0}");
        let lines = wrapped(&words, letter_pt, room_pt);
        if lines.len() > MOST_LINES || words.split(' ').any(|word| width_pt(word, letter_pt) > room_pt) {
            return None;
        }
        all.extend(lines.iter().map(|line| line.replace('\u{a0}', " ")));
    }
    Some(all)
}

fn codes(section: &SectionPlan, names: &StepNames<'_>) -> Vec<String> {
    if section.steps.is_empty() { vec!["leave".to_owned()] } else { section.steps.iter().map(|s| names.code(*s)).collect() }
}

/// The number and the lines beneath it, in the middle of the part of `rect` that is on the panel.
fn stacked(number: String, lines: &[String], rect: Rect, panel: &CarPanel, placed: &Placed) -> Option<Vec<Mark>> {
    let (small, large) = (Class::SectionNumber.letter_pt(), Class::Steps.letter_pt());
    let width = lines.iter().map(|l| width_pt(l, large)).fold(width_pt(&number, small), f64::max);
    let (lead_small, lead_large) = (small * 1.15, large * 1.12);
    let height = lead_small + lead_large * lines.len() as f64;
    let centre = spot(rect, width, height, panel, placed)?;
    let mut y = centre.y - height / 2.0 + lead_small / 2.0;
    let mut marks = vec![text(Class::SectionNumber, baseline(Point::new(centre.x, y), small), TextAt::Middle, number)];
    y += (lead_small + lead_large) / 2.0;
    for line in lines {
        marks.push(text(Class::Steps, baseline(Point::new(centre.x, y), large), TextAt::Middle, line.clone()));
        y += lead_large;
    }
    Some(marks)
}

/// The place nearest the middle of `rect` where a box of this size lies inside it and on the panel.
fn spot(rect: Rect, width: f64, height: f64, panel: &CarPanel, placed: &Placed) -> Option<Point> {
    if width > rect.width() || height > rect.height() {
        return None;
    }
    let free = ((rect.width() - width) / 2.0, (rect.height() - height) / 2.0);
    let shares = [0.0, 0.25, 0.5, 0.75, 1.0_f64];
    let mut offsets: Vec<(f64, f64)> = Vec::new();
    for dx in shares {
        for dy in shares {
            offsets.extend([(dx, dy), (-dx, dy), (dx, -dy), (-dx, -dy)]);
        }
    }
    offsets.sort_by(|a, b| f64::hypot(a.0 * free.0, a.1 * free.1).total_cmp(&f64::hypot(b.0 * free.0, b.1 * free.1)));
    let at = |(dx, dy): &(f64, f64)| Point::new(rect.center().x + dx * free.0, rect.center().y + dy * free.1);
    offsets.iter().map(at).find(|p| placed.holds(panel, Rect::from_center_size(*p, (width, height))))
}

/// Numbers alone, each as near the middle of its section's part on the panel as it can be, none over another.
fn bare_numbers(sections: &[SectionPlan], panel: &CarPanel, placed: &Placed) -> Vec<Mark> {
    let letter_pt = Class::SectionNumber.letter_pt();
    let mut taken = Taken::default();
    let mut marks = Vec::new();
    for (i, section) in sections.iter().enumerate() {
        let number = (i + 1).to_string();
        let rect = area(section, placed);
        let centre = spot(rect, width_pt(&number, letter_pt), letter_pt, panel, placed).unwrap_or_else(|| rect.center());
        if taken.try_take(text_box(&number, letter_pt, centre)) {
            marks.push(text(Class::SectionNumber, baseline(centre, letter_pt), TextAt::Middle, number));
        }
    }
    marks
}

fn key(sections: &[SectionPlan], names: &StepNames<'_>, wording: Wording, car: &Car) -> Vec<String> {
    if sections.is_empty() {
        return vec!["No plan for this panel.".to_owned()];
    }
    let mut notes = Vec::new();
    match wording {
        Wording::Words => {}
        Wording::Codes => {
            let all: Vec<Step> = sections.iter().flat_map(|s| s.steps.iter().copied()).collect();
            if !all.is_empty() {
                notes.push(format!("{}.", names.key(&all)));
            }
        }
        Wording::Numbers => notes.extend(by_steps(sections, car)),
    }
    if sections.iter().any(|s| s.steps.is_empty()) {
        notes.push("Wide hatching: leave as it is.".to_owned());
    }
    notes
}

/// Sections with the same steps, named by their numbers.
fn by_steps(sections: &[SectionPlan], car: &Car) -> Vec<String> {
    let mut groups: Vec<(&[Step], Vec<usize>)> = Vec::new();
    for (i, section) in sections.iter().enumerate() {
        match groups.iter_mut().find(|(steps, _)| *steps == section.steps.as_slice()) {
            Some((_, members)) => members.push(i + 1),
            None => groups.push((&section.steps, vec![i + 1])),
        }
    }
    groups.into_iter().map(|(steps, members)| format!("{}: {}.", ranges(&members), steps_in_words(steps, &car.processes))).collect()
}

/// Ascending numbers with runs drawn together: "1-3, 7".
fn ranges(numbers: &[usize]) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for &n in numbers {
        match runs.last_mut() {
            Some((_, end)) if *end + 1 == n => *end = n,
            _ => runs.push((n, n)),
        }
    }
    let words = |(a, b): (usize, usize)| match b - a {
        0 => a.to_string(),
        1 => format!("{a}, {b}"),
        _ => format!("{a}\u{2013}{b}"),
    };
    runs.into_iter().map(words).collect::<Vec<_>>().join(", ")
}

fn kept_off_note(panel: &CarPanel, plan: Option<&PanelPlan>) -> Option<String> {
    let bands = plan.map(|p| kept_off_in_words(&panel.panel, &p.keep_off, &p.keep_off_lines)).unwrap_or_default();
    (!bands.is_empty()).then(|| format!("Close hatching: keep off {}.", bands.join("; ")))
}

fn worked_note(after: &[&[Step]], car: &Car) -> Option<String> {
    let mut done: Vec<String> = after.iter().map(|steps| steps_in_words(steps, &car.processes)).collect();
    done.dedup();
    (!done.is_empty()).then(|| format!("Dashed box: worked already ({}).", done.join("; ")))
}

fn lines_note(panel: &CarPanel) -> Option<String> {
    let mut radii: Vec<String> = panel.lines.iter().map(|line| format!("{} mm", fixed(line.radius_mm, 0))).collect();
    radii.dedup();
    (!radii.is_empty()).then(|| format!("Dash and dot: body line, radius {}.", radii.join(", ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_of_section_numbers_are_drawn_together() {
        assert_eq!(ranges(&[1, 2, 3, 7, 9, 10]), "1\u{2013}3, 7, 9, 10");
        assert_eq!(ranges(&[]), "");
    }
}
