//! Whether what somebody is about to start, or to accept, may be: asked before it is recorded, for their page may be older than what a colleague has done.

use lastmicron_folder::planned::Planned;
use lastmicron_job::event::{Body, Event, Id, WorkStarted};

use crate::accepted::Accepted;
use crate::failure::Failure;
use crate::order::{Order, State};
use crate::shop::{Folded, Shop};

/// # Errors
/// `NoSense` with what stands in the way.
pub(crate) fn sensible<'e>(shop: &Shop, job: Id, new: impl Iterator<Item = &'e Event>) -> Result<(), Failure> {
    let bound: Vec<&Event> = new.filter(|event| matches!(event.body, Body::WorkStarted(_) | Body::PlanAccepted(_))).collect();
    if bound.is_empty() {
        return Ok(());
    }
    let Some(folded) = shop.job(job)? else { return Ok(()) };
    // What is in the record already is sent again since its receipt was lost.
    let bound: Vec<&Event> = bound.into_iter().filter(|event| !folded.holds(event.id)).collect();
    let Accepted::Plan(planned) = Accepted::of(shop, &folded.standing)? else { return Ok(()) };
    let order = Order::of(&planned, &folded);
    for event in bound {
        match &event.body {
            Body::WorkStarted(said) => may_start(&order, &planned, said, &event.who)?,
            _ => nobody_works(&order, &planned)?,
        }
    }
    Ok(())
}

fn may_start(order: &Order, planned: &Planned, said: &WorkStarted, who: &str) -> Result<(), Failure> {
    let Some(place) = order.named(planned, &said.section) else { return Ok(()) };
    let why = match &place.state {
        State::Through => "The topcoat was gone through on this section or just beside it: nothing more is done to it".to_owned(),
        State::Begun(other) if other != who => format!("{other} is on this section already"),
        _ if place.held.is_some() && said.despite != place.held => {
            "The topcoat of this panel was gone through: look at the page as it is now before anything on it is worked".to_owned()
        }
        _ => return Ok(()),
    };
    Err(Failure::NoSense(format!("{why}. Nothing was recorded")))
}

/// A section that somebody is on is of the plan by which they began it: it is ended first.
fn nobody_works(order: &Order, planned: &Planned) -> Result<(), Failure> {
    order.in_hand().next().map_or(Ok(()), |(place, who)| {
        let panel = planned.panels.get(place.planned).map_or("", |panel| panel.name.as_str());
        Err(Failure::NoSense(format!(
            "{who} is on the {panel}, section {}: let it be done or stopped first, then accept the new plan",
            place.number
        )))
    })
}

/// Whether a plan may be accepted now.
///
/// # Errors
/// `NoSense` while somebody is on a section.
pub(crate) fn may_accept(shop: &Shop, folded: &Folded) -> Result<(), Failure> {
    let Accepted::Plan(planned) = Accepted::of(shop, &folded.standing)? else { return Ok(()) };
    nobody_works(&Order::of(&planned, folded), &planned)
}
