//! Pages for whoever is not known here, or not yet: nothing of the app is round them.

use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use maud::{DOCTYPE, Markup, html};

use crate::asset::{Asset, ICON, STYLE};
use crate::frame::in_the_open;
use crate::reach::Way;

/// A page that came by a way, with its content and a script.
pub(crate) fn bare(way: Way, title: &str, script: Option<&Asset>, body: &Markup) -> Html<String> {
    page(title, script, &html! { @if way == Way::Plain { (in_the_open()) } main id="main" { (body) } })
}

/// A page with all that it shows.
pub(crate) fn page(title: &str, script: Option<&Asset>, shown: &Markup) -> Html<String> {
    let whole = html! {
        (DOCTYPE)
        html lang="en" data-theme="device" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                // As round every page of the app: a form says where it comes from.
                meta name="referrer" content="same-origin";
                title { (title) " · lastmicron" }
                link rel="stylesheet" href=(STYLE.path());
                link rel="icon" type="image/svg+xml" href=(ICON.path());
                @if let Some(script) = script { script type="module" src=(script.path()) {} }
            }
            body { (shown) }
        }
    };
    Html(whole.into_string())
}

/// Answers whoever is not known.
pub(crate) fn unknown(way: Way) -> Response {
    let body = html! {
        h1 { "This device is not known here" }
        p { "A device becomes known with a code: an owner makes one on the page of people, or the terminal prints it." }
        p { a.primary href="/enter" { "I have a code" } }
        p.quiet { "What was recorded on this device and not sent yet stays on it, and is sent when it is known again." }
    };
    (StatusCode::UNAUTHORIZED, bare(way, "Not known", None, &body)).into_response()
}
