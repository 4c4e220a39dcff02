//! The work: one section at a time, large, with what comes next below it in working order.

mod edges;
mod in_hand;
mod pads;
mod stops;

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use lastmicron_folder::planned::{Planned, PlannedPanel, PlannedSection};
use lastmicron_job::event::Id;
use lastmicron_plan::survey::PanelSurvey;
use maud::{Markup, html};
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use serde::Deserialize;

use crate::accepted::{Accepted, DAMAGED};
use crate::asked::{JobId, panel_address};
use crate::asset::WORK;
use crate::estimates::ToSurvey;
use crate::failure::Failure;
use crate::frame::{OfJob, Page, Part};
use crate::order::{Order, Place, State as At};
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};
use crate::wording::counted;

/// Sections listed as next.
const NEXT: usize = 4;

/// Letters of a plan's hash that tell it from the one before in an address.
const HASH_LETTERS: usize = 12;

/// Which section was asked for.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Asked {
    /// Its number in working order, from 1.
    section: Option<usize>,
    /// The plan in which it has that number.
    plan: Option<String>,
}

impl Asked {
    /// The address of the section that was asked for; none where none was.
    pub(crate) fn address(&self, id: Id) -> Option<String> {
        self.section.map(|_| format!("/jobs/{id}/work?{}", self.query()))
    }

    fn query(&self) -> String {
        let plan = utf8_percent_encode(self.plan.as_deref().unwrap_or_default(), NON_ALPHANUMERIC);
        self.section.map_or_else(String::new, |section| format!("plan={plan}&section={section}"))
    }
}

/// What the page shows.
struct Shown {
    folded: Folded,
    planned: Planned,
    /// What tells the plan from others.
    plan: String,
    order: Order,
    /// The section in hand, by its place in the order.
    in_hand: Option<usize>,
    /// The film of its panel now.
    film: Option<Arc<PanelSurvey>>,
    /// Who looks, and what they may.
    looks: Preferences,
}

/// What there is to work by.
enum Found {
    Nothing,
    Damaged,
    /// The section in hand has an address of its own: a page never becomes another's while somebody's finger is on it.
    At(String),
    Work(Box<Shown>),
}

/// Answers with the page.
pub(crate) async fn work(
    State(shop): State<Arc<Shop>>,
    preferences: Preferences,
    JobId(id): JobId,
    Query(asked): Query<Asked>,
) -> Result<Response, Failure> {
    let (unit, looks) = (preferences.unit, preferences.clone());
    let body = match blocking(move || found(&shop, id, &asked, looks)).await? {
        Found::At(address) => return Ok(Redirect::to(&address).into_response()),
        Found::Nothing => none(id, "No plan is accepted yet. Work follows the plan as it was accepted, section by section."),
        Found::Damaged => none(id, DAMAGED),
        Found::Work(shown) => html! {
            h1 { "Work" }
            div id="progress" data-live { (progress(&shown)) }
            @match shown.in_hand.and_then(|at| shown.order.places.get(at)) {
                Some(place) => { (in_hand::in_hand(&shown, id, place, unit)) }
                None => { div id="nothing-waits" data-live { (nothing_waits(&shown, id)) } }
            }
            div id="next" data-live { (next(&shown, id)) }
        },
    };
    let page = Page { preferences: &preferences, title: "Work", job: Some(OfJob { id, part: Part::Work }), script: Some(WORK.path()) };
    Ok(page.with(&body).into_response())
}

fn none(id: Id, why: &str) -> Markup {
    html! {
        h1 { "Work" }
        div id="none" data-live {
            p { (why) }
            p { a.primary href={ "/jobs/" (id) "/plan" } { "To the plan" } }
        }
    }
}

fn found(shop: &Shop, id: Id, asked: &Asked, looks: Preferences) -> Result<Found, Failure> {
    let folded = shop.folded(id)?;
    let (Accepted::Plan(planned), Some(last)) = (Accepted::of(shop, &folded.standing)?, folded.standing.plans.last()) else {
        return Ok(if folded.standing.plans.is_empty() { Found::Nothing } else { Found::Damaged });
    };
    let plan: String = last.said.plan.to_string().chars().take(HASH_LETTERS).collect();
    let order = Order::of(&planned, &folded);
    let is_of_plan = asked.plan.as_ref() == Some(&plan);
    let at = asked.section.and_then(|n| n.checked_sub(1)).filter(|at| is_of_plan && *at < order.places.len());
    let in_hand = at.or_else(|| order.next_for(&looks.who));
    let film = match in_hand.and_then(|at| order.places.get(at)?.panel) {
        Some(panel) => shop.estimates.panel(id, ToSurvey::of(&folded.standing).car, panel, looks.unit)?,
        None => None,
    };
    let shown = Shown { planned: *planned, plan, order, in_hand, film, folded, looks };
    Ok(match in_hand {
        Some(in_hand) if at.is_none() => Found::At(address(id, &shown, in_hand + 1)),
        _ => Found::Work(Box::new(shown)),
    })
}

/// The address of a section, by its number in working order.
fn address(id: Id, shown: &Shown, number: usize) -> String {
    format!("/jobs/{id}/work?{}", Asked { section: Some(number), plan: Some(shown.plan.clone()) }.query())
}

/// The page on which a panel is read, from which a section in hand is gone back to; at a place, mm, or where a reading helps most.
fn read_from(id: Id, shown: &Shown, place: &Place, panel: &PlannedPanel, at_mm: Option<[f64; 2]>) -> String {
    let at = at_mm.map_or_else(String::new, |[x, y]| format!("x_mm={x:.0}&y_mm={y:.0}&"));
    let back = Asked { section: Some(place.number), plan: Some(shown.plan.clone()) }.query();
    format!("{}?{at}{back}", panel_address(id, "survey", &panel.name))
}

fn panel_name<'s>(shown: &'s Shown, place: &Place) -> &'s str {
    shown.planned.panels.get(place.planned).map_or("", |panel| panel.name.as_str())
}

fn progress(shown: &Shown) -> Markup {
    let count = |is: fn(&Place) -> bool| shown.order.places.iter().filter(|place| is(place)).count();
    let done = count(|place| matches!(place.state, At::Done(_)));
    let halted = count(Place::is_halted);
    html! {
        p.figure { strong { (done) } " of " (counted(shown.order.places.len(), "section", "sections")) " done" @if halted > 0 { ", " (halted) " stopped or left" } }
        @for (place, who) in shown.order.in_hand() { p.quiet { (who) " is on the " (panel_name(shown, place)) ", section " (place.number) "." } }
    }
}

/// What is said to somebody for whom no section waits.
fn nothing_waits(shown: &Shown, id: Id) -> Markup {
    let others = shown.order.in_hand().count();
    let is_halted = shown.order.places.iter().any(Place::is_halted);
    html! {
        @if others > 0 {
            p { strong { "Nothing waits for you: the last sections are in hand." } }
        } @else if is_halted {
            p { strong { "Nothing waits. Some sections were stopped or left:" } " go on with them from the list below, or hand the vehicle over with them told." }
            p { a.primary href={ "/jobs/" (id) "/handover" } { "To the hand over" } }
        } @else {
            p { strong { "Every section of the plan is done." } }
            p { a.primary href={ "/jobs/" (id) "/handover" } { "To the hand over" } }
        }
    }
}

/// What comes next, in working order; and what was stopped or left.
fn next(shown: &Shown, id: Id) -> Markup {
    let row = |place: &&Place| {
        let panel = shown.planned.panels.get(place.planned);
        let words = panel.and_then(|panel| panel.sections.get(place.section)).map(PlannedSection::words).unwrap_or_default();
        html! { li { a.button.wide href=(address(id, shown, place.number)) { strong { (panel_name(shown, place)) span.quiet { " " (place.number) } } span { (words) } } } }
    };
    let of = |is: &dyn Fn(&Place) -> bool| shown.order.places.iter().filter(|place| is(place)).collect::<Vec<_>>();
    let at = shown.in_hand;
    let waiting = of(&|place| place.waits() && at != Some(place.number - 1));
    let halted = of(&Place::is_halted);
    html! {
        section {
            h2 { "Next" }
            @if waiting.is_empty() { p.quiet { "Nothing else waits." } }
            ul.jobs { @for one in waiting.iter().take(NEXT) { (row(one)) } }
            @if waiting.len() > NEXT { details id="all-next" { summary { "All " (waiting.len()) " that wait" } ul.jobs { @for one in waiting.iter().skip(NEXT) { (row(one)) } } } }
        }
        @if !halted.is_empty() {
            section { h2 { "Stopped or left" } ul.jobs { @for one in &halted { (row(one)) } } }
        }
    }
}
