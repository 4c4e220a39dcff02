//! One panel in words and as a drawing.

use lastmicron_draw::{Scales, Scene, in_unit_bare, panel_map, steps_in_words};
use lastmicron_film::panel::Panel;
use lastmicron_plan::{Car, Chance, Outcome, PanelPlan, SectionPlan, alike, kept_off_in_words};
use lastmicron_polish::Step;
use lastmicron_units::Unit;
use serde::Serialize;

use crate::Page;
use crate::printable::cut;
use crate::ranges::{film_range, percent, percent_range, removal_range};

/// Longest name and longest sentence printed, characters. Judgement: more is a slip of the clipboard; the record keeps it whole.
pub(crate) const NAME_CHARS: usize = 80;
pub(crate) const SENTENCE_CHARS: usize = 600;

/// A drawing to be placed at its own size.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Drawing {
    /// SVG text.
    pub svg: String,
    /// What it shows, for somebody who does not see it.
    pub alt: String,
    /// Width, points.
    pub width_pt: f64,
    /// Height, points.
    pub height_pt: f64,
}

/// One row of a panel's table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SectionLine {
    /// Its number on the map.
    pub number: String,
    /// Where it is: from and to, mm.
    pub place: String,
    /// What to do.
    pub steps: String,
    /// Film taken in its middle.
    pub takes: String,
    /// Smallest topcoat left: the middle value, and what it exceeds 19 times in 20.
    pub leaves: String,
    /// Share of defects gone.
    pub correction: String,
    /// Chance of ending below the floor.
    pub risk: String,
    /// Minutes of machine work.
    pub minutes: String,
}

/// One panel.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PanelSheet {
    /// Its name.
    pub name: String,
    /// In a line: how many sections are worked.
    pub summary: String,
    /// Edges to stay off, in a line; empty when there are none.
    pub keep_off: String,
    /// Smallest topcoat there now.
    pub smallest: String,
    /// Chance of ending below the floor.
    pub risk: String,
    /// Minutes of machine work.
    pub minutes: String,
    /// What to know before work.
    pub notes: Vec<String>,
    /// Its map.
    pub map: Drawing,
    /// Its sections, in the order of their numbers.
    pub sections: Vec<SectionLine>,
    /// Why sections get this much and no more, those together that are treated alike for the same reason.
    pub whys: Vec<String>,
}

/// The sheet of the `index`-th panel.
pub(crate) fn panel_sheet(car: &Car, outcome: &Outcome, index: usize, scales: &Scales, page: Page) -> PanelSheet {
    let unit = scales.unit;
    let plan = outcome.plan.panels.iter().find(|p| p.panel == index);
    let measured = plan.is_some_and(|p| p.measured);
    let sections = plan.map(|p| p.sections.as_slice()).unwrap_or_default();
    let worked = sections.iter().filter(|s| !s.steps.is_empty()).count();
    let panel = car.panels.get(index).map(|p| &p.panel);
    let risk = |p: f64| if measured { Chance::counted(p, outcome.plan.films).to_string() } else { "not counted".to_owned() };
    let smallest = outcome.film.get(index).map_or_else(|| "not known".to_owned(), |film| film_range(&film.smallest_um, unit));
    PanelSheet {
        name: panel.map(|p| cut(&p.name, NAME_CHARS)).unwrap_or_default(),
        summary: format!("{worked} of {} sections", sections.len()),
        keep_off: plan.map(|p| kept_off(panel, p)).unwrap_or_default(),
        smallest: if measured { smallest } else { "not measured".to_owned() },
        risk: plan.map_or_else(|| "not known".to_owned(), |p| risk(p.risk)),
        minutes: format!("{:.0}", sections.iter().map(|s| s.minutes).filter(|m| m.is_finite()).fold(0.0, |sum, m| sum + m)),
        notes: notes(plan),
        map: drawing(&panel_map(car, outcome, index, scales, page.map_room())),
        sections: sections.iter().enumerate().map(|(i, s)| line(car, i, s, unit, measured, risk(s.risk))).collect(),
        whys: whys(sections),
    }
}

/// A scene ready for a page.
pub(crate) fn drawing(scene: &Scene) -> Drawing {
    let alt = cut(&scene.description, SENTENCE_CHARS);
    Drawing { svg: scene.svg(), alt, width_pt: scene.width_pt, height_pt: scene.height_pt }
}

fn kept_off(panel: Option<&Panel>, plan: &PanelPlan) -> String {
    let bands = panel.map(|panel| kept_off_in_words(panel, &plan.keep_off, &[])).unwrap_or_default();
    bands.join("; ").replace(" mm", "\u{a0}mm")
}

/// Why each section gets this much and no more, a reason once.
fn whys(sections: &[SectionPlan]) -> Vec<String> {
    let said: Vec<(&[Step], &str)> = sections.iter().map(|s| (s.steps.as_slice(), s.why.as_str())).collect();
    alike(&said).iter().map(|group| cut(&format!("{}: {}", group.named(), group.why), SENTENCE_CHARS)).collect()
}

fn notes(plan: Option<&PanelPlan>) -> Vec<String> {
    match plan {
        None => vec!["There is no plan for this panel.".to_owned()],
        Some(plan) => plan.notes.iter().map(|note| cut(note, SENTENCE_CHARS)).collect(),
    }
}

fn line(car: &Car, index: usize, section: &SectionPlan, unit: Unit, measured: bool, risk: String) -> SectionLine {
    let [x, y] = [section.x_mm, section.y_mm];
    let none = section.steps.is_empty();
    let steps = section.steps.iter().map(|s| steps_in_words(std::slice::from_ref(s), &car.processes));
    let steps: Vec<String> = steps.map(|s| cut(&s, NAME_CHARS).replace(" \u{d7} ", "\u{a0}\u{d7}\u{a0}")).collect();
    let dash = || "\u{2013}".to_owned();
    let left = format!("{} (over {})", in_unit_bare(section.topcoat_after_p50_um, unit), in_unit_bare(section.topcoat_after_p05_um, unit));
    SectionLine {
        number: (index + 1).to_string(),
        place: format!("x {x:.0}\u{2013}{:.0}, y {y:.0}\u{2013}{:.0} mm", x + section.width_mm, y + section.height_mm),
        steps: if none { "leave as it is".to_owned() } else { steps.join(", then ") },
        takes: if none { dash() } else { removal_range(&section.removal_um, unit) },
        leaves: if measured { left } else { "not known".to_owned() },
        // What was gone before is gone where nothing more is done.
        correction: if none { percent(section.correction.mean) } else { percent_range(&section.correction) },
        risk: if none { dash() } else { risk },
        minutes: if none { dash() } else { format!("{:.0}", section.minutes) },
    }
}
