//! What is round every page.

use axum::response::Html;
use maud::{DOCTYPE, Markup, html};

use crate::asset::STYLE;

/// A page with a title.
pub(crate) fn page(title: &str, body: &Markup) -> Html<String> {
    let whole = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " · lastmicron" }
                link rel="stylesheet" href=(STYLE.path());
            }
            body {
                a.skip href="#main" { "To the content" }
                header { a.home href="/" { "lastmicron" } }
                main id="main" { (body) }
            }
        }
    };
    Html(whole.into_string())
}
