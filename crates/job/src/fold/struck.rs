//! Which events were struck out.

use std::collections::BTreeMap;

use super::reason::{Reason, Unusable};
use crate::event::{Body, Event, Id};

/// An event that was struck out.
#[derive(Clone, Debug, PartialEq)]
pub struct Struck {
    /// The event that counts no more.
    pub event: Id,
    /// The event that struck it out.
    pub by: Id,
    /// Who did.
    pub who: String,
    /// Why.
    pub why: String,
}

/// What is left when the struck out are taken away.
pub(super) struct Left<'e> {
    /// In the order of the record; those that strike out, and what they struck, are not among them.
    pub(super) events: Vec<&'e Event>,
    /// In the order of what was struck out.
    pub(super) struck: Vec<Struck>,
    /// Strikings-out of nothing.
    pub(super) unusable: Vec<Unusable>,
}

/// Takes away what was struck out. A striking-out may itself be struck out, and then what it struck counts again; it reaches only what came before it.
pub(super) fn without_struck<'e>(all: &[&'e Event]) -> Left<'e> {
    let mut first_at = BTreeMap::new();
    for (i, event) in all.iter().enumerate() {
        first_at.entry(event.id).or_insert(i);
    }
    let mut by: Vec<Option<usize>> = vec![None; all.len()];
    let mut unusable = Vec::new();
    for (i, event) in all.iter().enumerate().rev() {
        let Body::StruckOut(said) = &event.body else { continue };
        if by[i].is_some() {
            continue;
        }
        match first_at.get(&said.event) {
            // The first to strike it out is the one that is told.
            Some(&at) if at < i => by[at] = Some(i),
            _ => unusable.push(Unusable { event: event.id, why: Reason::NoEvent(said.event) }),
        }
    }
    let mut events = Vec::new();
    let mut struck = Vec::new();
    for (event, by) in all.iter().zip(&by) {
        match by.and_then(|by| all.get(by)) {
            Some(striking) => {
                if let Body::StruckOut(said) = &striking.body {
                    struck.push(Struck { event: event.id, by: striking.id, who: striking.who.clone(), why: said.why.clone() });
                }
            }
            None if matches!(event.body, Body::StruckOut(_)) => {}
            None => events.push(*event),
        }
    }
    Left { events, struck, unusable }
}
