//! What this device remembers: who holds it, the unit, the theme.

use axum::extract::Query;
use axum::response::Html;
use lastmicron_access::Deed;
use lastmicron_units::Unit;
use maud::html;
use serde::Deserialize;

use crate::frame::Page;
use crate::preference::{Preferences, Theme};

/// Where to go back to.
#[derive(Debug, Deserialize)]
pub(crate) struct From {
    back: Option<String>,
}

/// Answers with the page.
pub(crate) async fn device(preferences: Preferences, Query(from): Query<From>) -> Html<String> {
    let body = html! {
        h1 { "This device" }
        @if preferences.is_known {
            p { (preferences.who) " is at it: what is recorded from here is recorded under this name." }
            form.row method="post" action="/lock/now" { button.primary { "Lock it, or let somebody else sign in" } }
        }
        @if preferences.offers(Deed::ManagePeople) { p { a.button href="/people" { "People, devices and links" } } }
        form.stack method="post" action="/device" {
            input type="hidden" name="back" value=(from.back.as_deref().unwrap_or("/"));
            @if !preferences.is_known { div {
                label.field for="device-who" { "Who is at it: a name or initials" }
                input id="device-who" name="who" maxlength="60" autocomplete="off" value=(preferences.who);
                p.quiet { "What is recorded from here is recorded under it." }
            } }
            fieldset {
                legend { "Films are shown in" }
                div.choices {
                    @for unit in Unit::ALL {
                        label.choice {
                            input type="radio" name="unit" value=(unit.symbol()) checked[unit == preferences.unit];
                            span { (unit.symbol()) }
                        }
                    }
                }
                p.quiet { "What was entered stays as it was entered, in its own unit." }
            }
            fieldset {
                legend { "The pages are" }
                div.choices {
                    @for (theme, word) in Theme::ALL {
                        label.choice {
                            input type="radio" name="theme" value=(word) checked[theme == preferences.theme];
                            span { (words(theme)) }
                        }
                    }
                }
            }
            button.primary { "Keep" }
        }
    };
    Page { preferences: &preferences, title: "This device", job: None, script: None }.with(&body)
}

const fn words(theme: Theme) -> &'static str {
    match theme {
        Theme::Device => "as the device is set",
        Theme::Bright => "bright, for work",
        Theme::Dark => "dark, for the lamp",
    }
}
