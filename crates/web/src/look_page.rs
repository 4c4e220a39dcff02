//! What a client sees by a link: their job, read-only, and nothing else.

use std::sync::Arc;

use axum::body::Bytes;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE, HeaderMap, SET_COOKIE};
use axum::response::{IntoResponse, Response};
use lastmicron_access::{Link, Token};
use lastmicron_job::event::Digest;
use maud::html;

use crate::asset::LOOK as SCRIPT;
use crate::bare::bare;
use crate::cookies;
use crate::failure::Failure;
use crate::handover_page::for_client;
use crate::photographs;
use crate::preference::Preferences;
use crate::reach::{Arrived, Way};
use crate::router::blocking;
use crate::shop::Shop;

/// Answers with the job of the link that this browser has; without one, with a page that takes it from the address.
pub(crate) async fn page(
    State(shop): State<Arc<Shop>>,
    Arrived { way, .. }: Arrived,
    preferences: Preferences,
    headers: HeaderMap,
) -> Result<Response, Failure> {
    let held = held(&headers, way);
    let unit = preferences.unit;
    let shown = blocking(move || {
        let Some(link) = held.map(|token| usable(&shop, &token)).transpose()?.flatten() else { return Ok(None) };
        for_client(&shop, link.job, unit).map(Some)
    })
    .await?;
    let Some((title, body)) = shown else {
        let body = html! {
            h1 { "A job to look at" }
            p id="looking" { "This needs the whole link, as it was given to you. Links end: ask the workshop for a new one." }
            noscript { p.stop { "This page needs its script to open the link: allow scripts for this address." } }
        };
        return Ok((StatusCode::UNAUTHORIZED, bare(way, "A job to look at", Some(&SCRIPT), &body)).into_response());
    };
    let body = html! { h1 { (title) } (body) };
    Ok(bare(way, &title, Some(&SCRIPT), &body).into_response())
}

/// Takes what stands behind the mark of a link, by which this browser looks at its job from now on.
pub(crate) async fn show(State(shop): State<Arc<Shop>>, Arrived { way, .. }: Arrived, headers: HeaderMap, body: Bytes) -> Response {
    let ended = || Failure::NotAllowed("this link has ended, was taken back, or was cut short: ask the workshop for a new one".to_owned());
    let taken = async {
        let token = std::str::from_utf8(&body).ok().and_then(|text| Token::read(text.trim()).ok()).ok_or_else(ended)?;
        let lasts_s = {
            let token = token.clone();
            blocking(move || Ok(usable(&shop, &token)?.map(|link| link.ends_s - shop.now().unix_seconds()))).await?.ok_or_else(ended)?
        };
        cookies::set(&cookies::of_look(&headers), &token.text(), lasts_s, way)
    };
    match taken.await {
        Ok(cookie) => (StatusCode::NO_CONTENT, [(SET_COOKIE, cookie)]).into_response(),
        Err(failure) => failure.problem(),
    }
}

/// Answers with a photograph of the link's job.
pub(crate) async fn photograph(
    State(shop): State<Arc<Shop>>,
    Arrived { way, .. }: Arrived,
    headers: HeaderMap,
    Path(digest): Path<String>,
) -> Result<Response, Failure> {
    let held = held(&headers, way).ok_or(Failure::Unknown)?;
    let digest: Digest = digest.parse().map_err(|_| Failure::NoPage)?;
    let (bytes, kind) = blocking(move || {
        let link = usable(&shop, &held)?.ok_or(Failure::Unknown)?;
        photographs::of_job(&shop, link.job, digest)
    })
    .await?;
    Ok((photographs::UNTRUSTED, [(CONTENT_TYPE, kind), (CACHE_CONTROL, "no-store")], bytes).into_response())
}

fn held(headers: &HeaderMap, way: Way) -> Option<Token> {
    cookies::looking(headers, way).and_then(|text| Token::read(text).ok())
}

fn usable(shop: &Shop, token: &Token) -> Result<Option<Link>, Failure> {
    let Some(door) = shop.door() else { return Ok(None) };
    let now_s = shop.now().unix_seconds();
    Ok(door.people.link(token.hash())?.filter(|link| link.is_usable(now_s)))
}
