//! What has been done where.

use lastmicron_plan::{CarPanel, KeptOff, Worked};
use lastmicron_polish::{Process, Step};

use super::read::{named, number, times};
use super::reason::Reason;
use crate::bounds::{LENGTH_MM, MOST_SETS, PLACE_MM};
use crate::event::{Id, Section, Sets};
use crate::on_panel::{ROUNDING_MM, is_in_rectangle, is_place_on, is_rectangle_on};

/// A rectangle on a panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rectangle {
    /// Index of the panel.
    pub panel: usize,
    /// Lower left corner, mm.
    pub corner_mm: [f64; 2],
    /// Size, mm.
    pub size_mm: [f64; 2],
}

/// Where sets were done.
#[derive(Clone, Debug, PartialEq)]
pub enum Where {
    /// On a test spot, by its index.
    Spot(usize),
    /// On sections.
    Sections(Vec<Rectangle>),
}

/// Sets that were done.
#[derive(Clone, Debug, PartialEq)]
pub struct Done {
    /// The event.
    pub event: Id,
    /// Who did them.
    pub who: String,
    /// What was done.
    pub step: Step,
    /// Where.
    pub place: Where,
    /// What pads were kept off there.
    pub kept_off: KeptOff,
}

/// A set on a rectangle.
#[derive(Clone, Debug)]
pub(super) struct Patch {
    pub(super) on: Rectangle,
    pub(super) kept_off: KeptOff,
    pub(super) step: Step,
}

pub(super) fn rectangle(said: &Section, panels: &[CarPanel]) -> Result<Rectangle, Reason> {
    let panel = panel(&said.panel, panels)?;
    rectangle_on(panel, [&said.x_mm, &said.y_mm, &said.width_mm, &said.height_mm], panels)
}

pub(super) fn rectangle_on(panel: usize, [x, y, w, h]: [&String; 4], panels: &[CarPanel]) -> Result<Rectangle, Reason> {
    let corner_mm = [number(x, "x_mm", &PLACE_MM)?, number(y, "y_mm", &PLACE_MM)?];
    let size_mm = [number(w, "width_mm", &LENGTH_MM)?, number(h, "height_mm", &LENGTH_MM)?];
    let on = panels.get(panel).map(|panel| &panel.panel);
    match on.filter(|on| !is_rectangle_on(on, corner_mm, size_mm)) {
        Some(on) => Err(Reason::OffPanel { x_mm: corner_mm[0], y_mm: corner_mm[1], panel: on.name.clone() }),
        None => Ok(Rectangle { panel, corner_mm, size_mm }),
    }
}

pub(super) fn panel(name: &str, panels: &[CarPanel]) -> Result<usize, Reason> {
    named(name, "panel", panels.iter().map(|panel| panel.panel.name.as_str()))
}

pub(super) fn place_mm(panel: usize, [x, y]: [&String; 2], panels: &[CarPanel]) -> Result<[f64; 2], Reason> {
    let [x_mm, y_mm] = [number(x, "x_mm", &PLACE_MM)?, number(y, "y_mm", &PLACE_MM)?];
    let on = panels.get(panel).map(|panel| &panel.panel);
    match on.filter(|on| !is_place_on(on, [x_mm, y_mm])) {
        Some(on) => Err(Reason::OffPanel { x_mm, y_mm, panel: on.name.clone() }),
        None => Ok([x_mm, y_mm]),
    }
}

pub(super) fn process(name: &str, processes: &[Process]) -> Result<usize, Reason> {
    named(name, "process", processes.iter().map(|process| process.name.as_str()))
}

/// What had been done as it was said.
pub(super) fn steps(said: &[Sets], processes: &[Process]) -> Result<Vec<Step>, Reason> {
    said.iter().map(|sets| Ok(Step { process: process(&sets.process, processes)?, sets: times(sets.sets, "sets", MOST_SETS)? })).collect()
}

/// Adds sets to what was done before; those of the same process that follow each other are one step.
pub(super) fn add(steps: &mut Vec<Step>, step: Step) {
    match steps.last_mut().filter(|last| last.process == step.process) {
        // What is added one by one is believed no further than what is said at once.
        Some(last) => last.sets = last.sets.saturating_add(step.sets).min(MOST_SETS),
        None => steps.push(step),
    }
}

/// Adds sets on a rectangle to what has been worked: to those on the same where the same was kept off.
pub(super) fn work(worked: &mut Vec<Worked>, patch: &Patch) {
    let Patch { on, kept_off, step } = patch.clone();
    let [x_mm, y_mm] = on.corner_mm;
    let [width_mm, height_mm] = on.size_mm;
    let is_same = |w: &&mut Worked| rectangle_of(w) == on && w.kept_off == kept_off;
    match worked.iter_mut().find(is_same) {
        Some(there) => add(&mut there.after, step),
        None => worked.push(Worked { panel: on.panel, x_mm, y_mm, width_mm, height_mm, after: vec![step], kept_off }),
    }
}

fn rectangle_of(worked: &Worked) -> Rectangle {
    Rectangle { panel: worked.panel, corner_mm: [worked.x_mm, worked.y_mm], size_mm: [worked.width_mm, worked.height_mm] }
}

/// What sets on its panel have done at a place: none of those that were kept off there. On a border where two sections meet those of the upper or right one
/// count, as in a plan: they were worked side by side, not one upon the other.
pub(super) fn done_at(panel: &CarPanel, place_mm: [f64; 2], patches: &[Patch]) -> Vec<Step> {
    let covers =
        |patch: &&Patch| is_in_rectangle(place_mm, patch.on.corner_mm, patch.on.size_mm) && !patch.kept_off.leaves_out(panel, place_mm);
    let covering = || patches.iter().filter(covers);
    let is_at = |mm: f64, border_mm: f64| (mm - border_mm).abs() <= ROUNDING_MM;
    let high = |on: &Rectangle, axis: usize| on.corner_mm[axis] + on.size_mm[axis];
    let begins = |on: &Rectangle, axis: usize| covering().any(|other| other.on != *on && is_at(other.on.corner_mm[axis], high(on, axis)));
    let is_anothers = |on: &Rectangle| (0..2).any(|axis| is_at(place_mm[axis], high(on, axis)) && begins(on, axis));
    let mut steps = Vec::new();
    covering().filter(|patch| !is_anothers(&patch.on)).for_each(|patch| add(&mut steps, patch.step));
    steps
}
