//! The sections of an accepted plan in working order, and how each stands.

use std::collections::HashSet;

use lastmicron_draw::{SectionAt, Standing as Drawn};
use lastmicron_folder::planned::{Planned, PlannedPanel, PlannedSection, PlannedStep};
use lastmicron_job::event::{Id, Section};
use lastmicron_job::fold::{Deed, Rectangle, Standing, Where, Work};
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
    /// The topcoat was gone through on it or just beside: nothing more is done to it.
    Through,
}

/// A section to work.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Place {
    /// Its number in working order, from 1.
    pub(crate) number: usize,
    /// Index of the panel in the plan.
    pub(crate) planned: usize,
    /// Index of the panel in the job; none where it is no longer stated there.
    pub(crate) panel: Option<usize>,
    /// Index of the section on the panel.
    pub(crate) section: usize,
    /// How it stands.
    pub(crate) state: State,
    /// The event by which the topcoat was gone through elsewhere on its panel, until it was decided to go on all the same.
    pub(crate) held: Option<Id>,
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
            let of_job = standing.panels.iter().position(|known| known.panel.name == panel.name);
            for (section, one) in panel.sections.iter().enumerate().filter(|(_, one)| !one.steps.is_empty()) {
                let lost = || Stands { state: State::LeftAlone("its panel is no longer stated".to_owned()), held: None, since: None };
                let Stands { state, held, since: begun } = of_job.map_or_else(lost, |of_job| since.stands(one, of_job));
                let done = of_job.map_or_else(|| vec![0; one.steps.len()], |of_job| since.done(one, of_job));
                places.push(Place { number: places.len() + 1, planned: at, panel: of_job, section, state, held, since: begun, done });
            }
        }
        Self { places }
    }

    /// What somebody does next: what they are on, or the first that nobody is.
    pub(crate) fn next_for(&self, who: &str) -> Option<usize> {
        let own = self.places.iter().position(|place| matches!(&place.state, State::Begun(begun) if begun == who));
        own.or_else(|| self.places.iter().position(Place::waits))
    }

    /// Sections that somebody is on, each with who.
    pub(crate) fn in_hand(&self) -> impl Iterator<Item = (&Place, &str)> {
        self.places.iter().filter_map(|place| match &place.state {
            State::Begun(who) => Some((place, who.as_str())),
            _ => None,
        })
    }

    /// The section that an event names; none where the plan works no such.
    pub(crate) fn named(&self, planned: &Planned, said: &Section) -> Option<&Place> {
        let number = |text: &str| text.trim().parse::<f64>().ok();
        let corner_mm = [number(&said.x_mm)?, number(&said.y_mm)?];
        let size_mm = [number(&said.width_mm)?, number(&said.height_mm)?];
        self.places.iter().find(|place| {
            let panel = planned.panels.get(place.planned);
            let on = Rectangle { panel: 0, corner_mm, size_mm };
            panel.is_some_and(|panel| {
                panel.name == said.panel.trim() && panel.sections.get(place.section).is_some_and(|section| is(section, 0, &on))
            })
        })
    }

    /// The sections of a panel as they are drawn.
    pub(crate) fn drawn(&self, panel: &PlannedPanel, planned: usize) -> Vec<SectionAt> {
        let standing = |section: usize| {
            let place = self.places.iter().find(|place| place.planned == planned && place.section == section);
            match place.map(|place| (&place.state, place.held)) {
                None => Drawn::Left,
                Some((State::Waits, None)) => Drawn::Waits,
                Some((State::Begun(_), _)) => Drawn::Begun,
                Some((State::Done(_), _)) => Drawn::Done,
                Some((State::Waits | State::Stopped(..) | State::LeftAlone(_) | State::Through, _)) => Drawn::Stopped,
            }
        };
        let sections = panel.sections.iter().enumerate();
        sections
            .map(|(at, one)| SectionAt { corner_mm: [one.x_mm, one.y_mm], size_mm: [one.width_mm, one.height_mm], standing: standing(at) })
            .collect()
    }
}

/// How a section stands by all that was said of it.
struct Stands {
    state: State,
    held: Option<Id>,
    /// Since when, where somebody is on it.
    since: Option<String>,
}

impl Place {
    /// Whether it may be begun as it is.
    pub(crate) fn waits(&self) -> bool {
        self.state == State::Waits && self.held.is_none()
    }

    /// Whether nobody works it further for a reason that was given.
    pub(crate) fn is_halted(&self) -> bool {
        matches!(self.state, State::Stopped(..) | State::LeftAlone(_) | State::Through)
            || (self.state == State::Waits && self.held.is_some())
    }

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
    fn stands(&self, section: &PlannedSection, panel: usize) -> Stands {
        let mut now = Stands { state: State::Waits, held: None, since: None };
        for work in &self.standing.work {
            let is_since = self.events.contains(&work.event);
            let (state, since) = match &work.deed {
                Deed::Started(on, ..) if is(section, panel, on) => {
                    if is_since {
                        (State::Begun(work.who.clone()), Some(work.when.to_string()))
                    } else {
                        (State::Waits, None)
                    }
                }
                Deed::Done(on) if is(section, panel, on) => (if is_since { State::Done(work.who.clone()) } else { State::Waits }, None),
                Deed::Stopped(on, why) if is(section, panel, on) => (State::Stopped(work.event, why.clone()), None),
                Deed::LeftAlone(whole, None, why) if *whole == panel => (State::LeftAlone(why.clone()), None),
                Deed::LeftAlone(_, Some(on), why) if is(section, panel, on) => (State::LeftAlone(why.clone()), None),
                _ => continue,
            };
            (now.state, now.since) = (state, since);
        }
        if self.is_gone_through(section, panel, &now.state) {
            return Stands { state: State::Through, held: None, since: None };
        }
        Stands { held: self.held(panel), ..now }
    }

    /// Whether nothing more is done to a section because the topcoat was gone through on it, or so near that no plan would work it; what was done beside such
    /// a place was done.
    fn is_gone_through(&self, section: &PlannedSection, panel: usize, state: &State) -> bool {
        let Some(of) = self.standing.panels.get(panel) else { return false };
        let is_near = of.is_gone_through_near([section.x_mm, section.y_mm], [section.width_mm, section.height_mm]);
        let is_on = of.gone_through.iter().any(|through| holds(section, through.place_mm));
        is_on || is_near && !matches!(state, State::Done(_))
    }

    /// The event by which a panel was gone through last, until it was decided to go on in spite of all such places on it.
    fn held(&self, panel: usize) -> Option<Id> {
        self.standing.panels.get(panel).filter(|of| of.gone_through.iter().any(|through| !through.despite))?;
        let through = |work: &&Work| matches!(work.deed, Deed::GoneThrough(on, ..) if on == panel);
        self.standing.work.iter().rev().find(through).map(|work| work.event)
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
