//! Is a document what it says it is?

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::response::Html;
use lastmicron_record::{Citation, Entry};
use maud::html;
use serde_json::{Value, json};

use crate::asked::AtMost;
use crate::asset::VERIFY;
use crate::failure::Failure;
use crate::frame::Page;
use crate::papers::ReadBack;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::Shop;
use crate::wording::{counted, minute};

/// Most bytes of a document that is looked at: as many as its reader takes.
const MOST_BYTES: usize = 64 * 1024 * 1024;

/// Answers with the page.
pub(crate) async fn page(preferences: Preferences) -> Html<String> {
    let body = html! {
        h1 { "Check a document" }
        p { "A handover carries its record. Here it is checked that nothing of the file was changed, that the record is whole, that it is the one that was signed, that it ends as the pages say, and, where the job is kept here, that it is the same as this workshop's." }
        div.asked {
            label.field for="document" { "The document, a PDF" }
            input id="document" type="file" accept="application/pdf,.pdf";
        }
        div.verdict id="verdict" role="status" {}
        p.quiet { "That a document was not made anew as a whole shows only against what is kept elsewhere: compare the hash on the paper in your hand, and the workshop's key." }
    };
    Page { preferences: &preferences, title: "Check a document", job: None, script: Some(VERIFY.path()) }.with(&body)
}

/// Answers with what is found of a document.
pub(crate) async fn verify(State(shop): State<Arc<Shop>>, AtMost(bytes): AtMost<MOST_BYTES>) -> Result<Json<Value>, Failure> {
    blocking(move || {
        let papers = shop.papers().ok_or(Failure::NoPage)?;
        let ReadBack { citation, entries, signed } = papers.read(&bytes).map_err(Failure::NoSense)?;
        let kept = shop.entries(citation.job)?;
        Ok(Json(json!({ "whole": whole(&citation, &entries), "signed": signed, "here": here(&citation, &kept) })))
    })
    .await
}

fn whole(citation: &Citation, entries: &[Entry]) -> String {
    let last = entries.last().map(|entry| minute(&entry.received)).unwrap_or_default();
    format!(
        "The record in it is whole: {}, the last of {last}, and it ends as the pages say: {}.",
        counted(citation.head.seq, "event", "events"),
        citation.head.hash
    )
}

/// Whether it is what is kept here.
fn here(citation: &Citation, kept: &[Entry]) -> String {
    if kept.is_empty() {
        return "This job is not kept here: nothing more can be said of it.".to_owned();
    }
    match kept.iter().find(|entry| entry.seq == citation.head.seq) {
        Some(entry) if entry.hash == citation.head.hash => {
            let since = kept.len() as u64 - citation.head.seq;
            if since == 0 {
                "It is the record that is kept here, to its last event.".to_owned()
            } else {
                format!("It is the record that is kept here; {} since.", counted(since, "event came", "events came"))
            }
        }
        Some(_) => "It is NOT the record that is kept here: one of the two was changed.".to_owned(),
        None => "It says more than the record that is kept here: this one may be an older copy.".to_owned(),
    }
}
