//! How the work went.

use lastmicron_plan::GoneThrough;
use lastmicron_polish::Step;

use super::done::{Done, Rectangle, Where, panel, place_mm, process, rectangle};
use super::kept_off::kept_off;
use super::read::{named, times, word};
use super::reason::Reason;
use super::standing::Standing;
use super::terms::Accepted;
use crate::bounds::MOST_SETS;
use crate::event::{Body, Digest, Event, Id, PhotographAttached, SetDone, When};

/// Where a vehicle is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// In the workshop, not begun.
    Arrived,
    /// Being worked.
    OnTheFloor,
    /// Handed over.
    GoneHome,
}

/// The word for a vehicle that was handed over.
pub const GONE_HOME: &str = "gone-home";

/// The words.
const STATUSES: [(&str, Status); 3] = [("arrived", Status::Arrived), ("on-the-floor", Status::OnTheFloor), (GONE_HOME, Status::GoneHome)];

/// Where the vehicle was from some time on.
#[derive(Clone, Debug, PartialEq)]
pub struct Stood {
    /// The event.
    pub event: Id,
    /// Since when.
    pub when: When,
    /// Where.
    pub status: Status,
}

/// What was done with a section or a place.
#[derive(Clone, Debug, PartialEq)]
pub enum Deed {
    /// Work on it began, with this process where one was said, and in spite of this event by which the topcoat of its panel was gone through.
    Started(Rectangle, Option<usize>, Option<Id>),
    /// It is done.
    Done(Rectangle),
    /// It was left before it was done.
    Stopped(Rectangle, String),
    /// It is left alone; the whole panel, or a section of it.
    LeftAlone(usize, Option<Rectangle>, String),
    /// The topcoat was gone through at a place, mm.
    GoneThrough(usize, [f64; 2], String),
    /// Work on a panel goes on in spite of where it had been gone through so far.
    WentOn(usize, String),
}

/// A step of the work.
#[derive(Clone, Debug, PartialEq)]
pub struct Work {
    /// The event.
    pub event: Id,
    /// When.
    pub when: When,
    /// Who.
    pub who: String,
    /// What.
    pub deed: Deed,
}

/// A photograph.
#[derive(Clone, Debug, PartialEq)]
pub struct Attached {
    /// The event.
    pub event: Id,
    /// When.
    pub when: When,
    /// The hash of its bytes.
    pub photograph: Digest,
    /// Index of the panel that it shows.
    pub panel: Option<usize>,
    /// Index of the spot that it shows.
    pub spot: Option<usize>,
    /// The event that it belongs to.
    pub of: Option<Id>,
    /// Free text.
    pub note: String,
}

/// A note.
#[derive(Clone, Debug, PartialEq)]
pub struct Jotted {
    /// The event.
    pub event: Id,
    /// When.
    pub when: When,
    /// Who.
    pub who: String,
    /// The text.
    pub text: String,
    /// Index of the panel that it is about.
    pub panel: Option<usize>,
}

/// Sets that were done, read.
pub(super) fn done(event: &Event, said: &SetDone, standing: &Standing) -> Result<Done, Reason> {
    let step = Step { process: process(&said.process, &standing.processes)?, sets: times(said.sets.unwrap_or(1), "sets", MOST_SETS)? };
    let place = match (&said.spot, said.sections.as_deref()) {
        (Some(spot), None) => Where::Spot(spot_of(spot, standing)?),
        (None, Some(sections @ [_, ..])) => {
            Where::Sections(sections.iter().map(|section| rectangle(section, &standing.panels)).collect::<Result<_, _>>()?)
        }
        _ => return Err(Reason::OneOf("either the spot or the sections where it was done")),
    };
    let kept_off = kept_off(said, &place, &standing.panels)?;
    Ok(Done { event: event.id, who: event.who.clone(), step, place, kept_off })
}

fn spot_of(name: &str, standing: &Standing) -> Result<usize, Reason> {
    named(name, "spot", standing.spots.iter().map(|spot| spot.name.as_str()))
}

/// Takes what no plan is made from; what is taken elsewhere is left.
pub(super) fn record(event: &Event, standing: &mut Standing) -> Result<(), Reason> {
    let (when, who) = (event.when.clone(), event.who.clone());
    match &event.body {
        Body::StatusChanged(said) => {
            standing.status.push(Stood { event: event.id, when, status: word(&said.status, "status", &STATUSES)? });
        }
        Body::PlanAccepted(said) => standing.plans.push(Accepted { event: event.id, when, who, said: said.clone() }),
        Body::Noted(said) => {
            let panel = said.panel.as_ref().map(|name| panel(name, &standing.panels)).transpose()?;
            standing.notes.push(Jotted { event: event.id, when, who, text: said.text.clone(), panel });
        }
        Body::PhotographAttached(said) => standing.photographs.push(attached(event, said, standing)?),
        _ => {
            if let Some(deed) = deed(&event.body, standing)? {
                goes_through(&deed, standing);
                standing.work.push(Work { event: event.id, when, who, deed });
            }
        }
    }
    Ok(())
}

/// Takes down on its panel where the topcoat was gone through, and that work goes on in spite of it.
fn goes_through(deed: &Deed, standing: &mut Standing) {
    match deed {
        Deed::GoneThrough(on, place_mm, _) => {
            if let Some(panel) = standing.panels.get_mut(*on) {
                panel.gone_through.push(GoneThrough { place_mm: *place_mm, despite: false });
            }
        }
        Deed::WentOn(on, _) => {
            let places = standing.panels.get_mut(*on).into_iter().flat_map(|panel| &mut panel.gone_through);
            places.for_each(|through| through.despite = true);
        }
        Deed::Started(on, _, Some(despite)) => {
            let told = standing.work.iter().find(|work| work.event == *despite).map(|work| &work.deed);
            let Some(Deed::GoneThrough(panel, place_mm, _)) = told else { return };
            let Some(of) = standing.panels.get_mut(*panel).filter(|_| *panel == on.panel) else { return };
            let is_it = |through: &&mut GoneThrough| through.place_mm.map(f64::to_bits) == place_mm.map(f64::to_bits);
            of.gone_through.iter_mut().filter(is_it).for_each(|through| through.despite = true);
        }
        Deed::Started(..) | Deed::Done(_) | Deed::Stopped(..) | Deed::LeftAlone(..) => {}
    }
}

fn attached(event: &Event, said: &PhotographAttached, standing: &Standing) -> Result<Attached, Reason> {
    Ok(Attached {
        event: event.id,
        when: event.when.clone(),
        photograph: said.photograph,
        panel: said.panel.as_ref().map(|name| panel(name, &standing.panels)).transpose()?,
        spot: said.spot.as_ref().map(|name| spot_of(name, standing)).transpose()?,
        of: said.event,
        note: said.note.clone().unwrap_or_default(),
    })
}

fn deed(body: &Body, standing: &Standing) -> Result<Option<Deed>, Reason> {
    let panels = &standing.panels;
    Ok(Some(match body {
        Body::WorkStarted(said) => {
            let with = said.process.as_ref().map(|name| process(name, &standing.processes)).transpose()?;
            Deed::Started(rectangle(&said.section, panels)?, with, said.despite)
        }
        Body::WorkDone(said) => Deed::Done(rectangle(&said.section, panels)?),
        Body::WorkStopped(said) => Deed::Stopped(rectangle(&said.section, panels)?, said.why.clone()),
        Body::LeftAlone(said) => {
            let section = said.section.as_ref().map(|section| rectangle(section, panels)).transpose()?;
            Deed::LeftAlone(panel(&said.panel, panels)?, section, said.why.clone())
        }
        Body::GoneThrough(said) => {
            let on = panel(&said.panel, panels)?;
            Deed::GoneThrough(on, place_mm(on, [&said.x_mm, &said.y_mm], panels)?, said.note.clone())
        }
        Body::WentOn(said) => Deed::WentOn(panel(&said.panel, panels)?, said.why.clone()),
        _ => return Ok(None),
    }))
}
