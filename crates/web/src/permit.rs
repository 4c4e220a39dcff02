//! Whether an event may be recorded by whoever hands it in, and in the name that it bears.

use lastmicron_access::{Deed, Person};
use lastmicron_job::event::{Body, Event, Id};
use lastmicron_record::Sealed;

use crate::caller::{Caller, not_allowed};
use crate::failure::Failure;
use crate::shop::Shop;

/// For each event why it may not, as a sentence; none where it may.
///
/// # Errors
/// When the store can't answer.
pub(crate) fn refusals(shop: &Shop, caller: &Caller, job: Id, events: &[Sealed]) -> Result<Vec<Option<String>>, Failure> {
    let (Caller::Known(person, device), Some(door)) = (caller, shop.door()) else { return Ok(vec![None; events.len()]) };
    let everybody = door.people.people()?;
    let been_at = door.people.been_at(device.id)?;
    let folded = shop.job(job)?;
    let recorded = |id: Id| folded.as_ref().and_then(|folded| folded.events.iter().find(|event| event.id == id)).map(AsRef::as_ref);
    let together = |id: Id| events.iter().map(Sealed::event).find(|event| event.id == id);
    let why = |event: &Event| {
        // What is in the record already is sent again since its receipt was lost, and gets it.
        if recorded(event.id).is_some() {
            return None;
        }
        let author = match author(&everybody, &been_at, &event.who) {
            Ok(author) => author,
            Err(why) => return Some(why),
        };
        let deed = deed(event, |id| recorded(id).or_else(|| together(id)));
        let may = person.role.may(deed) && author.role.may(deed);
        (!may).then(|| not_allowed(deed).to_string())
    };
    Ok(events.iter().map(|sealed| why(sealed.event())).collect())
}

/// Why events are refused that bear another's name than the caller's: whoever they name had the page, and the caller is signed in on the device now. None where all
/// bear the caller's.
///
/// # Errors
/// When the store can't answer.
pub(crate) fn others(shop: &Shop, caller: &Caller, job: Id, events: &[Sealed]) -> Result<Option<String>, Failure> {
    let Some(person) = caller.person() else { return Ok(None) };
    let folded = shop.job(job)?;
    // What is in the record already gets its receipt.
    let is_new = |event: &&Event| !folded.as_ref().is_some_and(|folded| folded.holds(event.id));
    let another = events.iter().map(Sealed::event).filter(is_new).find(|event| !person.is_called(&event.who));
    Ok(another.map(|event| {
        format!(
            "this was entered under the name {}, and {} is signed in on this device now: load the page anew, or sign in as {}",
            event.who, person.name, event.who
        )
    }))
}

/// Strikings-out of strikings-out that are followed. Judgement: more than anybody means; ids that were made up may lead round in a circle.
const MOST_FOLLOWED: usize = 16;

/// What it is to record an event. Whoever strikes something out undoes it, and whoever strikes that out has it hold again: that is the same deed. What is struck out and not known, or
/// can't be followed to its end, only an owner may strike out.
pub(crate) fn deed<'e>(event: &'e Event, known: impl Fn(Id) -> Option<&'e Event>) -> Deed {
    let mut at = event;
    for _ in 0..MOST_FOLLOWED {
        match &at.body {
            Body::StruckOut(struck) => match known(struck.event) {
                Some(struck) => at = struck,
                None => return Deed::Agree,
            },
            body => return Deed::of(body),
        }
    }
    Deed::Agree
}

/// Who is meant by an event's name: somebody who belongs to the workshop and has signed in on this device.
fn author<'p>(everybody: &'p [Person], been_at: &[Id], who: &str) -> Result<&'p Person, String> {
    let called = |person: &&Person| person.is_called(who);
    let Some(person) = everybody.iter().filter(|person| person.is_here()).find(called) else {
        return Err(if everybody.iter().any(|person| called(&person)) {
            format!(
                "{who} does not belong to this workshop any more: what is recorded in this name stays on this device, until an owner says what becomes of it"
            )
        } else {
            format!("nobody here is called '{who}': sign in on this device, and record it under your name")
        });
    };
    if been_at.contains(&person.id) {
        Ok(person)
    } else {
        Err(format!(
            "{who} has not signed in on this device, where this was recorded: it stays on the device until they do, and is then tried again on the page of what waits"
        ))
    }
}
