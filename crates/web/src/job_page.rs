//! One job: what is stated, what can't be used, and all that happened.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Html;
use lastmicron_job::event::{Event, When};
use maud::{Markup, html};

use crate::failure::Failure;
use crate::frame::page;
use crate::router::blocking;
use crate::shop::{Folded, Shop};

/// Events shown of a job. Judgement: who looks here looks for the last ones; all 20,000 of a long job would be megabytes.
const MOST_SHOWN: usize = 200;

/// Answers with the page.
pub(crate) async fn job(State(shop): State<Arc<Shop>>, Path(job): Path<String>) -> Result<Html<String>, Failure> {
    let id = job.parse().map_err(|_| Failure::NoJob)?;
    let folded = blocking(move || shop.job(id)?.ok_or(Failure::NoJob)).await?;
    let standing = &folded.standing;
    let title = standing.vehicle.as_ref().map_or("(no vehicle stated yet)", |vehicle| vehicle.title.as_str());
    let body = html! {
        h1 { (title) }
        (panels(&folded))
        (unusable(&folded))
        (history(&folded))
    };
    Ok(page(title, &body))
}

fn panels(folded: &Folded) -> Markup {
    let standing = &folded.standing;
    let readings = |panel: usize| standing.readings.iter().filter(|taken| taken.reading.panel == panel).count();
    html! {
        section {
            h2 { "Panels" }
            table {
                thead { tr { th scope="col" { "panel" } th.number scope="col" { "readings" } } }
                tbody {
                    @for (at, panel) in standing.panels.iter().enumerate() {
                        tr { th scope="row" { (panel.panel.name) } td.number { (readings(at)) } }
                    }
                }
            }
        }
    }
}

fn unusable(folded: &Folded) -> Markup {
    html! {
        @if !folded.standing.unusable.is_empty() {
            section {
                h2 { "Not used" }
                ul { @for one in &folded.standing.unusable { li { (one.why) } } }
            }
        }
    }
}

fn history(folded: &Folded) -> Markup {
    let struck = |event: &Event| folded.standing.struck.iter().any(|struck| struck.event == event.id);
    html! {
        section {
            h2 { "What happened" }
            @if folded.events.len() > MOST_SHOWN { p.quiet { "The last " (MOST_SHOWN) " of " (folded.events.len()) "." } }
            ol.history reversed start=(folded.events.len()) {
                @for event in folded.events.iter().rev().take(MOST_SHOWN) {
                    li {
                        time datetime=(event.when) { (minute(&event.when)) } " " (event.who) ": "
                        @if struck(event) { s { (kind(event)) } " (struck out)" } @else { (kind(event)) }
                    }
                }
            }
        }
    }
}

/// The date and the minute, by the device's clock.
fn minute(when: &When) -> String {
    when.as_str().chars().take(16).collect::<String>().replace('T', " ")
}

/// The name of what happened, as the record has it, in words.
fn kind(event: &Event) -> String {
    let value = serde_json::to_value(&event.body).unwrap_or_default();
    value.get("kind").and_then(serde_json::Value::as_str).unwrap_or_default().replace('-', " ")
}
