//! All that happened on a job, and what of it was struck out.

use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::Html;
use lastmicron_job::event::{Event, Id};
use lastmicron_job::fold::Standing;
use maud::{Markup, html};
use serde::Deserialize;
use serde_json::Value;

use crate::asked::JobId;
use crate::failure::Failure;
use crate::frame::{OfJob, Page, Part};
use crate::parallel;
use crate::permit;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};
use crate::wording::minute;

/// Events on one page. Judgement: who looks here looks for the last ones; all 20,000 of a long job would be megabytes.
const ON_A_PAGE: usize = 100;

/// Which events are looked at: those before this one, by its place in the record; the last ones where it is left out.
#[derive(Debug, Deserialize)]
pub(crate) struct Looked {
    before: Option<String>,
}

/// Answers with the page.
pub(crate) async fn history(
    State(shop): State<Arc<Shop>>,
    preferences: Preferences,
    JobId(id): JobId,
    Query(looked): Query<Looked>,
) -> Result<Html<String>, Failure> {
    let before: Option<usize> = looked.before.map(|before| before.parse().map_err(|_| Failure::NoPage)).transpose()?;
    let folded = blocking(move || shop.folded(id)).await?;
    let body = html! {
        h1 { "What happened" }
        p { "Nothing is edited or deleted. What was wrong is struck out, with a reason, and stays to be read." }
        div id="history" data-live { (events(&folded, id, before, &preferences)) }
    };
    Ok(Page { preferences: &preferences, title: "What happened", job: Some(OfJob { id, part: Part::Overview }), script: None }.with(&body))
}

/// One page of events, the last first, and the way to those before and after.
fn events(folded: &Folded, id: Id, before: Option<usize>, preferences: &Preferences) -> Markup {
    let count = folded.events.len();
    let last = before.map_or(count, |before| before.saturating_sub(1).min(count));
    let before_first = last.saturating_sub(ON_A_PAGE);
    let shown = folded.events.get(before_first..last).unwrap_or_default();
    let may_strike =
        |event: &Event| preferences.offers(permit::deed(event, |id| folded.events.iter().map(AsRef::as_ref).find(|of| of.id == id)));
    html! {
        @if shown.len() < count { p.quiet { (before_first + 1) " to " (last) " of " (count) ", the last first." } }
        ol.history reversed start=(last) {
            @for event in shown.iter().rev() { li { (one(event, &folded.standing, may_strike(event))) } }
        }
        @if shown.len() < count {
            nav.row aria-label="Pages of what happened" {
                @if before_first > 0 { a.button id="earlier" href={ "/jobs/" (id) "/history?before=" (before_first + 1) } { "Earlier" } }
                @if last < count { a.button id="later" href=(later(id, last, count)) { "Later" } }
            }
        }
    }
}

/// The page after the one that ends with the event at `last`.
fn later(id: Id, last: usize, count: usize) -> String {
    let before = last + ON_A_PAGE + 1;
    // What comes to the record while it is looked at is shown on the page of the last ones.
    if before > count { format!("/jobs/{id}/history") } else { format!("/jobs/{id}/history?before={before}") }
}

fn one(event: &Event, standing: &Standing, may_strike: bool) -> Markup {
    let struck = standing.struck.iter().find(|struck| struck.event == event.id);
    let parallel = parallel::stated_beside(event, standing);
    let unusable = standing.unusable.iter().find(|unusable| unusable.event == event.id);
    html! {
        time datetime=(event.when) { (minute(&event.when)) } " " (event.who) ": "
        @match struck {
            Some(struck) => { s { (said(event)) } " (struck out by " (struck.who) ": " (struck.why) ")" }
            None => {
                (said(event))
                @if let Some(with) = parallel { p.quiet { "Stated without having seen what " (with) " stated of it." } }
                @if let Some(unusable) = unusable { p.stop { "Not used: " (unusable.why) "." } }
                @if may_strike { (strike(event.id)) }
            }
        }
    }
}

/// A form that strikes an event out.
pub(crate) fn strike(event: Id) -> Markup {
    html! {
        details id={ "strike-" (event) } {
            summary { "Strike out" }
            form.row data-record data-event="struck-out" data-said="Struck out." {
                input type="hidden" name="event" value=(event);
                input name="why" required aria-label="Why" placeholder="Why?" autocomplete="off";
                button.second { "Strike out" }
            }
        }
    }
}

/// What happened, in the record's words: its kind, and what it says in a line.
fn said(event: &Event) -> String {
    let value = serde_json::to_value(&event.body).unwrap_or_default();
    let kind = value.get("kind").and_then(Value::as_str).unwrap_or_default().replace('-', " ");
    let fields = value.as_object().into_iter().flatten().filter(|(key, _)| *key != "kind");
    let parts: Vec<String> = fields.filter_map(|(key, value)| told(key, value)).collect();
    if parts.is_empty() { kind } else { format!("{kind}: {}", parts.join(", ")) }
}

/// A field in a few words; none for what is long to say.
fn told(key: &str, value: &Value) -> Option<String> {
    let key = key.trim_end_matches("_mm").trim_end_matches("_um").replace('_', " ");
    match value {
        Value::String(text) => Some(format!("{key} {text}")),
        Value::Number(number) => Some(format!("{key} {number}")),
        Value::Bool(yes) => Some(format!("{key} {}", if *yes { "yes" } else { "no" })),
        Value::Object(inner) => {
            let parts: Vec<&str> = inner.values().filter_map(Value::as_str).collect();
            Some(format!("{key} {}", parts.join(" ")))
        }
        Value::Array(_) | Value::Null => None,
    }
}
