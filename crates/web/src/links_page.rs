//! Links by which a client looks at their job: made, and taken back.

use std::sync::Arc;

use axum::extract::State;
use axum::http::header::{HOST, HeaderMap};
use axum::response::Html;
use axum::{Extension, Form};
use lastmicron_access::{Link, LinkDays};
use maud::{Markup, html};
use serde::Deserialize;

use crate::asked::JobId;
use crate::caller::Owner;
use crate::failure::Failure;
use crate::frame::{OfJob, Page, Part};
use crate::people_page::{Led, led, listed, usable};
use crate::preference::Preferences;
use crate::reach::Reach;
use crate::router::blocking;
use crate::shop::Shop;
use crate::wording::counted;

/// How long a link is to hold.
#[derive(Debug, Deserialize)]
pub(crate) struct Wanted {
    days: i64,
}

/// Answers with the page.
pub(crate) async fn page(
    State(shop): State<Arc<Shop>>,
    _: Owner,
    preferences: Preferences,
    JobId(id): JobId,
) -> Result<Html<String>, Failure> {
    framed(shop, &preferences, id, html! {}).await
}

/// Makes a link, and shows it.
pub(crate) async fn make(
    State(shop): State<Arc<Shop>>,
    Extension(reach): Extension<Arc<Reach>>,
    _: Owner,
    preferences: Preferences,
    JobId(id): JobId,
    headers: HeaderMap,
    Form(wanted): Form<Wanted>,
) -> Result<Html<String>, Failure> {
    let lasts = LinkDays::of(wanted.days).ok_or_else(|| Failure::NoSense("a link holds for 1, 7 or 30 days".to_owned()))?;
    let token = {
        let shop = Arc::clone(&shop);
        blocking(move || {
            let (now_s, door) = (shop.now().unix_seconds(), shop.door().ok_or(Failure::NoPage)?);
            shop.folded(id)?;
            let token = door.token()?;
            door.people.put_link(&Link::made(door.id(now_s)?, id, lasts, now_s), token.hash())?;
            Ok(token)
        })
        .await?
    };
    let host = headers.get(HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    let origin = reach.origin_elsewhere(host, preferences.way);
    // Behind the mark the browser keeps it to itself: no log and no page that is led to has it.
    let link = format!("{}/look#{}", origin.clone().unwrap_or_else(|| preferences.way.origin(host)), token.text());
    let made = html! {
        section.next {
            h2 { "The link" }
            div data-once { p.link id="link" { (link) } }
            p { "It is not shown again. Whoever has it looks at this job until it ends." }
            @if origin.is_none() { p.caution { "The app answers only on this machine: nobody elsewhere can open this yet." } }
        }
    };
    framed(shop, &preferences, id, made).await
}

async fn framed(shop: Arc<Shop>, preferences: &Preferences, id: lastmicron_job::event::Id, made: Markup) -> Result<Html<String>, Failure> {
    let now_s = shop.now().unix_seconds();
    let links: Vec<Led> = blocking(move || {
        shop.folded(id)?;
        let mut links = usable(shop.door().ok_or(Failure::NoPage)?, now_s)?;
        links.retain(|link| link.job == id);
        Ok(led(&shop, links))
    })
    .await?;
    let body = html! {
        h1 { "A link for the client" }
        (made)
        form.stack method="post" action={ "/jobs/" (id) "/links" } {
            p { "By a link somebody sees how far this job is and what will be handed over, and nothing else. They change nothing." }
            fieldset {
                legend { "It holds for" }
                div.choices {
                    @for lasts in LinkDays::ALL {
                        label.choice { input type="radio" name="days" value=(lasts.days()) checked[lasts == LinkDays::Seven]; span { (counted(lasts.days(), "day", "days")) } }
                    }
                }
            }
            button.primary { "Make a link" }
        }
        @if !links.is_empty() { section { h2 { "Links that hold" } (listed(&links, now_s)) } }
    };
    Ok(Page { preferences, title: "A link for the client", job: Some(OfJob { id, part: Part::Overview }), script: None }.with(&body))
}
