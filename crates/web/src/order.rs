//! The sections of an accepted plan in working order, and how each stands.

use std::collections::HashSet;

use lastmicron_draw::{SectionAt, Standing as Drawn};
use lastmicron_folder::planned::{Planned, PlannedPanel, PlannedSection, PlannedStep};
use lastmicron_job::event::Id;
use lastmicron_job::fold::{Deed, Rectangle, Standing, Where};
use lastmicron_job::on_panel::is_in_rectangle;
use maud::{Markup, html};

use crate::shop::Folded;

/// How far two ways of writing one rectangle may differ, mm.
const SAME_MM: f64 = 0.5;

/// How a section stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum State {
    /// Nobody has begun it.
    Waits,
    /// Somebody is on it.
    Begun(String),
    /// Somebody has done it.
    Done(String),
    /// It was stopped, by this event and with this reason.
    Stopped(Id, String),
    /// It is left alone, with the reason.
    LeftAlone(String),
    /// The topcoat was gone through elsewhere on its panel: nobody goes on without having been told to.
    Held,
    /// The topcoat was gone through on it: nothing more is done to it.
    Through,
}

impl State {
    /// Whether nobody works it further for a reason that was given.
    pub(crate) const fn is_halted(&self) -> bool {
        matches!(self, Self::Stopped(..) | Self::LeftAlone(_) | Self::Held | Self::Through)
    }
}

/// A section to work.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Place {
    /// Its number in working order, from 1.
    pub(crate) number: usize,
    /// Index of the panel in the plan.
    pub(crate) planned: usize,
    /// Index of the panel in the job.
    pub(crate) panel: usize,
    /// Index of the section on the panel.
    pub(crate) section: usize,
    /// How it stands.
    pub(crate) state: State,
    /// Since when, where somebody is on it.
    pub(crate) since: Option<String>,
    /// Sets done of each of its steps.
    pub(crate) done: Vec<u32>,
}

/// All sections that the plan works.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Order {
    pub(crate) places: Vec<Place>,
}

/// What happened after a plan was accepted: what was done before is counted in the plan itself.
struct Since<'a> {
    standing: &'a Standing,
    events: HashSet<Id>,
}

impl Order {
    /// Of the plan that was accepted last, in the order of its panels, which is that of a walk round the vehicle.
    pub(crate) fn of(planned: &Planned, folded: &Folded) -> Self {
        let standing = folded.standing.as_ref();
        let events = standing.plans.last().map(|accepted| folded.since(accepted.event)).unwrap_or_default();
        let since = Since { standing, events };
        let mut places = Vec::new();
        for (at, panel) in planned.panels.iter().enumerate() {
            let Some(of_job) = standing.panels.iter().position(|known| known.panel.name == panel.name) else { continue };
            for (section, one) in panel.sections.iter().enumerate().filter(|(_, one)| !one.steps.is_empty()) {
                let (state, begun) = since.state(one, of_job);
                places.push(Place {
                    number: places.len() + 1,
                    planned: at,
                    panel: of_job,
                    section,
                    state,
                    since: begun,
                    done: since.done(one, of_job),
                });
            }
        }
        Self { places }
    }

    /// What somebody does next: what they are on, or the first that nobody is.
    pub(crate) fn next_for(&self, who: &str) -> Option<usize> {
        let own = self.places.iter().position(|place| matches!(&place.state, State::Begun(begun) if begun == who));
        own.or_else(|| self.places.iter().position(|place| place.state == State::Waits))
    }

    /// Sections that somebody is on, each with who.
    pub(crate) fn in_hand(&self) -> impl Iterator<Item = (&Place, &str)> {
        self.places.iter().filter_map(|place| match &place.state {
            State::Begun(who) => Some((place, who.as_str())),
            _ => None,
        })
    }

    /// The sections of a panel as they are drawn.
    pub(crate) fn drawn(&self, panel: &PlannedPanel, planned: usize) -> Vec<SectionAt> {
        let standing = |section: usize| {
            let place = self.places.iter().find(|place| place.planned == planned && place.section == section);
            match place.map(|place| &place.state) {
                None => Drawn::Left,
                Some(State::Waits) => Drawn::Waits,
                Some(State::Begun(_)) => Drawn::Begun,
                Some(State::Done(_)) => Drawn::Done,
                Some(State::Stopped(..) | State::LeftAlone(_) | State::Held | State::Through) => Drawn::Stopped,
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
    pub(crate) fn remaining<'s>(&self, section: &'s PlannedSection) -> Option<&'s PlannedStep> {
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

/// Whether a place lies on a section.
pub(crate) fn holds(section: &PlannedSection, place_mm: [f64; 2]) -> bool {
    is_in_rectangle(place_mm, [section.x_mm, section.y_mm], [section.width_mm, section.height_mm])
}

impl Since<'_> {
    /// What was said of a section last. That it was stopped, left alone or gone through holds whatever was planned since; that it was begun or done is of the
    /// plan by which it was.
    fn state(&self, section: &PlannedSection, panel: usize) -> (State, Option<String>) {
        let mut now = (State::Waits, None);
        for work in &self.standing.work {
            let is_since = self.events.contains(&work.event);
            let was_through = now.0 == State::Through;
            match &work.deed {
                Deed::GoneThrough(whole, at, _) if *whole == panel && holds(section, *at) => now = (State::Through, None),
                _ if was_through => {}
                Deed::GoneThrough(whole, ..) if *whole == panel && now.0 == State::Waits => now = (State::Held, None),
                Deed::Started(on, _) if is(section, panel, on) => {
                    now = if is_since { (State::Begun(work.who.clone()), Some(work.when.to_string())) } else { (State::Waits, None) };
                }
                Deed::Done(on) if is(section, panel, on) => {
                    now = if is_since { (State::Done(work.who.clone()), None) } else { (State::Waits, None) }
                }
                Deed::Stopped(on, why) if is(section, panel, on) => now = (State::Stopped(work.event, why.clone()), None),
                Deed::LeftAlone(whole, None, why) if *whole == panel => now = (State::LeftAlone(why.clone()), None),
                Deed::LeftAlone(_, Some(on), why) if is(section, panel, on) => now = (State::LeftAlone(why.clone()), None),
                _ => {}
            }
        }
        now
    }

    /// Sets of each step that were done on a section. What was done of a process counts for its steps in turn.
    fn done(&self, section: &PlannedSection, panel: usize) -> Vec<u32> {
        let on = |place: &Where| matches!(place, Where::Sections(sections) if sections.iter().any(|one| is(section, panel, one)));
        let sets = |process: &str| {
            let of = self.standing.done.iter().filter(|done| self.events.contains(&done.event) && on(&done.place));
            of.filter(|done| self.standing.processes.get(done.step.process).is_some_and(|known| known.name == process))
                .map(|done| done.step.sets)
                .sum::<u32>()
        };
        let before = |at: usize| {
            section.steps[..at].iter().filter(|step| step.process == section.steps[at].process).map(|step| step.sets).sum::<u32>()
        };
        let counted = |at: usize| sets(&section.steps[at].process).saturating_sub(before(at)).min(section.steps[at].sets);
        (0..section.steps.len()).map(counted).collect()
    }
}

/// The section as an event says it.
pub(crate) fn said(panel: &str, section: &PlannedSection) -> Markup {
    fields("section", panel, section)
}

/// The section as the only one of a list.
pub(crate) fn said_in_list(panel: &str, section: &PlannedSection) -> Markup {
    fields("sections.0", panel, section)
}

/// What the plan keeps off on a panel, as what was kept off on the section just done.
pub(crate) fn kept_off(panel: &PlannedPanel) -> Markup {
    html! {
        @for (at, off) in panel.keep_off.iter().enumerate() {
            input type="hidden" name={ "keep_off." (at) ".edge" } data-as="whole" value=(off.edge);
            input type="hidden" name={ "keep_off." (at) ".mm" } value=(off.mm);
        }
        @for (at, off) in panel.keep_off_lines.iter().enumerate() {
            input type="hidden" name={ "keep_off_lines." (at) ".line" } data-as="whole" value=(off.line);
            input type="hidden" name={ "keep_off_lines." (at) ".mm" } value=(off.mm);
        }
    }
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

#[cfg(test)]
mod tests;
