//! The sections of an accepted plan in working order, and how each stands.

use lastmicron_draw::{SectionAt, Standing as Drawn};
use lastmicron_folder::planned::{Planned, PlannedPanel, PlannedSection, PlannedStep};
use lastmicron_job::fold::{Deed, Rectangle, Standing, Where};
use maud::{Markup, html};

/// How far two ways of writing one rectangle may differ, mm.
const SAME_MM: f64 = 0.5;

/// How a section stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum State {
    /// Nobody has begun it.
    Waits,
    /// Somebody is on it.
    Begun(String),
    /// Somebody has done it.
    Done(String),
    /// It was stopped or is left alone, with the reason.
    Stopped(String),
}

/// A section to work.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Place {
    /// Its number in working order, from 1.
    pub(super) number: usize,
    /// Index of the panel in the plan.
    pub(super) planned: usize,
    /// Index of the panel in the job.
    pub(super) panel: usize,
    /// Index of the section on the panel.
    pub(super) section: usize,
    /// How it stands.
    pub(super) state: State,
    /// Since when, where somebody is on it.
    pub(super) since: Option<String>,
    /// Sets done of each of its steps.
    pub(super) done: Vec<u32>,
}

/// All sections that the plan works.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Order {
    pub(super) places: Vec<Place>,
}

impl Order {
    /// In the order of the plan's panels, which is that of a walk round the vehicle.
    pub(super) fn of(planned: &Planned, standing: &Standing) -> Self {
        let mut places = Vec::new();
        for (at, panel) in planned.panels.iter().enumerate() {
            let Some(of_job) = standing.panels.iter().position(|known| known.panel.name == panel.name) else { continue };
            for (section, one) in panel.sections.iter().enumerate().filter(|(_, one)| !one.steps.is_empty()) {
                let (state, since) = state(one, of_job, standing);
                places.push(Place {
                    number: places.len() + 1,
                    planned: at,
                    panel: of_job,
                    section,
                    state,
                    since,
                    done: done(one, of_job, standing),
                });
            }
        }
        Self { places }
    }

    /// What somebody does next: what they are on, or the first that nobody is.
    pub(super) fn next_for(&self, who: &str) -> Option<usize> {
        let own = self.places.iter().position(|place| matches!(&place.state, State::Begun(begun) if begun == who));
        own.or_else(|| self.places.iter().position(|place| place.state == State::Waits))
    }

    /// The sections of a panel as they are drawn.
    pub(super) fn drawn(&self, panel: &PlannedPanel, planned: usize) -> Vec<SectionAt> {
        let standing = |section: usize| {
            let place = self.places.iter().find(|place| place.planned == planned && place.section == section);
            match place.map(|place| &place.state) {
                None => Drawn::Left,
                Some(State::Waits) => Drawn::Waits,
                Some(State::Begun(_)) => Drawn::Begun,
                Some(State::Done(_)) => Drawn::Done,
                Some(State::Stopped(_)) => Drawn::Stopped,
            }
        };
        let sections = panel.sections.iter().enumerate();
        sections
            .map(|(at, one)| SectionAt { corner_mm: [one.x_mm, one.y_mm], size_mm: [one.width_mm, one.height_mm], standing: standing(at) })
            .collect()
    }
}

impl Place {
    /// The step of which a set is due; none when all are done.
    pub(super) fn remaining<'s>(&self, section: &'s PlannedSection) -> Option<&'s PlannedStep> {
        section.steps.iter().zip(&self.done).find(|(step, done)| **done < step.sets).map(|(step, _)| step)
    }
}

fn is(section: &PlannedSection, panel: usize, on: &Rectangle) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= SAME_MM;
    on.panel == panel
        && near(on.corner_mm[0], section.x_mm)
        && near(on.corner_mm[1], section.y_mm)
        && near(on.size_mm[0], section.width_mm)
        && near(on.size_mm[1], section.height_mm)
}

/// What was said of it last.
fn state(section: &PlannedSection, panel: usize, standing: &Standing) -> (State, Option<String>) {
    let mut now = (State::Waits, None);
    for work in &standing.work {
        match &work.deed {
            Deed::Started(on, _) if is(section, panel, on) => now = (State::Begun(work.who.clone()), Some(work.when.to_string())),
            Deed::Done(on) if is(section, panel, on) => now = (State::Done(work.who.clone()), None),
            Deed::Stopped(on, why) if is(section, panel, on) => now = (State::Stopped(why.clone()), None),
            Deed::LeftAlone(whole, None, why) if *whole == panel => now = (State::Stopped(format!("left alone: {why}")), None),
            Deed::LeftAlone(_, Some(on), why) if is(section, panel, on) => now = (State::Stopped(format!("left alone: {why}")), None),
            _ => {}
        }
    }
    now
}

/// Sets of each step that were done on it. What was done of a process counts for its steps in turn.
fn done(section: &PlannedSection, panel: usize, standing: &Standing) -> Vec<u32> {
    let on = |place: &Where| matches!(place, Where::Sections(sections) if sections.iter().any(|one| is(section, panel, one)));
    let sets = |process: &str| {
        let of = standing.done.iter().filter(|done| on(&done.place));
        of.filter(|done| standing.processes.get(done.step.process).is_some_and(|known| known.name == process))
            .map(|done| done.step.sets)
            .sum::<u32>()
    };
    let before =
        |at: usize| section.steps[..at].iter().filter(|step| step.process == section.steps[at].process).map(|step| step.sets).sum::<u32>();
    let counted = |at: usize| sets(&section.steps[at].process).saturating_sub(before(at)).min(section.steps[at].sets);
    (0..section.steps.len()).map(counted).collect()
}

/// The section as an event says it.
pub(super) fn said(panel: &str, section: &PlannedSection) -> Markup {
    fields("section", panel, section)
}

/// The section as the only one of a list.
pub(super) fn said_in_list(panel: &str, section: &PlannedSection) -> Markup {
    fields("sections.0", panel, section)
}

fn fields(name: &str, panel: &str, section: &PlannedSection) -> Markup {
    html! {
        input type="hidden" name={ (name) ".panel" } value=(panel);
        input type="hidden" name={ (name) ".x_mm" } value=(section.x_mm);
        input type="hidden" name={ (name) ".y_mm" } value=(section.y_mm);
        input type="hidden" name={ (name) ".width_mm" } value=(section.width_mm);
        input type="hidden" name={ (name) ".height_mm" } value=(section.height_mm);
    }
}
