//! What waits on a device until it is in the record: a page that the device itself fills, with or without the network.

use axum::response::Html;
use maud::html;

use crate::asset::WAITING;
use crate::frame::Page;
use crate::preference::Preferences;

/// Answers with the page.
pub(crate) async fn waiting(preferences: Preferences) -> Html<String> {
    let body = html! {
        h1 { "Waiting on this device" }
        p { "What is recorded here is on this device first, and leaves it when the workshop's computer has said that it has it." }
        p.stop id="kept-for-good" {}
        p id="nothing" hidden { "Nothing waits: all that was recorded here is in the record." }
        div.row {
            button.primary type="button" id="send-now" hidden { "Send now" }
            button.second type="button" id="save-all" hidden { "Save all events to a file" }
        }
        ol.waiting id="waiting" hidden {}
        section hidden { h2 { "Put aside" } ol.waiting id="aside" {} }
        p.quiet { "A file that was saved here is brought into the records by " code { "lastmicron import FILE" } ", or by an owner of the workshop on the page of the jobs." }
        p { a.button href="/" { "To the jobs" } }
    };
    Page { preferences: &preferences, title: "Waiting", job: None, script: Some(WAITING.path()) }.with(&body)
}
