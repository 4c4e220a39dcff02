//! What was agreed.

use lastmicron_plan::{Goal, Limits};
use lastmicron_units::{Entered, Thickness};

use super::read::{film, maybe, number};
use super::reason::Reason;
use crate::bounds::{CHANCE, CORRECTION, FLOOR_UM, HOURS, SPEND_UM};
use crate::event::{Digest, Event, Id, PlanAccepted, TermsAgreed, When};

/// Terms as they were agreed.
#[derive(Clone, Debug, PartialEq)]
pub struct Terms {
    /// The event.
    pub event: Id,
    /// When.
    pub when: When,
    /// Who wrote them down.
    pub who: String,
    /// The sheet that names with whom.
    pub with: Option<Digest>,
    /// What was said of it.
    pub note: String,
    /// The floor as entered.
    pub floor: Entered,
    /// The spend as entered.
    pub spend: Option<Entered>,
    /// What may not be passed.
    pub limits: Limits,
    /// What is wanted.
    pub goal: Goal,
}

pub(super) fn terms(event: &Event, said: &TermsAgreed) -> Result<Terms, Reason> {
    let floor = film(&said.floor, "floor", &FLOOR_UM)?;
    let spend = said.spend.as_ref().map(|spend| film(spend, "spend", &SPEND_UM)).transpose()?;
    Ok(Terms {
        event: event.id,
        when: event.when.clone(),
        who: event.who.clone(),
        with: said.with,
        note: said.note.clone().unwrap_or_default(),
        floor,
        spend,
        limits: Limits {
            floor: floor.thickness(),
            risk: number(&said.risk, "risk", &CHANCE)?,
            spend: spend.map(|spend| spend.thickness() - Thickness::NOTHING),
            through_risk: maybe(said.through_risk.as_ref(), "through_risk", &CHANCE)?,
        },
        goal: Goal { correction: number(&said.correction, "correction", &CORRECTION)?, hours: number(&said.hours, "hours", &HOURS)? },
    })
}

/// A plan that was accepted.
#[derive(Clone, Debug, PartialEq)]
pub struct Accepted {
    /// The event.
    pub event: Id,
    /// When.
    pub when: When,
    /// Who accepted it.
    pub who: String,
    /// What was accepted.
    pub said: PlanAccepted,
}
