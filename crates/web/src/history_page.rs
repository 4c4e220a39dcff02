//! All that happened on a job, and what of it was struck out.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_job::event::{Event, Id};
use lastmicron_job::fold::Standing;
use maud::{Markup, html};
use serde_json::Value;

use crate::asked::JobId;
use crate::failure::Failure;
use crate::frame::{OfJob, Page, Part};
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};
use crate::wording::minute;

/// Events shown of a job. Judgement: who looks here looks for the last ones; all 20,000 of a long job would be megabytes.
const MOST_SHOWN: usize = 100;

/// Answers with the page.
pub(crate) async fn history(State(shop): State<Arc<Shop>>, preferences: Preferences, JobId(id): JobId) -> Result<Html<String>, Failure> {
    let folded = blocking(move || shop.folded(id)).await?;
    let body = html! {
        h1 { "What happened" }
        p { "Nothing is edited or deleted. What was wrong is struck out, with a reason, and stays to be read." }
        div id="history" data-live { (events(&folded)) }
    };
    Ok(Page { preferences: &preferences, title: "What happened", job: Some(OfJob { id, part: Part::Overview }), script: None }.with(&body))
}

fn events(folded: &Folded) -> Markup {
    let count = folded.events.len();
    html! {
        @if count > MOST_SHOWN { p.quiet { "The last " (MOST_SHOWN) " of " (count) "." } }
        ol.history reversed start=(count) {
            @for event in folded.events.iter().rev().take(MOST_SHOWN) { li { (one(event, &folded.standing)) } }
        }
    }
}

fn one(event: &Event, standing: &Standing) -> Markup {
    let struck = standing.struck.iter().find(|struck| struck.event == event.id);
    let unusable = standing.unusable.iter().find(|unusable| unusable.event == event.id);
    html! {
        time datetime=(event.when) { (minute(&event.when)) } " " (event.who) ": "
        @match struck {
            Some(struck) => { s { (said(event)) } " (struck out by " (struck.who) ": " (struck.why) ")" }
            None => {
                (said(event))
                @if let Some(unusable) = unusable { p.stop { "Not used: " (unusable.why) "." } }
                (strike(event.id))
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
