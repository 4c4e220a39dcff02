//! A device that is locked, and who signs in on it.

use std::sync::Arc;

use axum::extract::State;
use axum::http::header::{HeaderMap, LOCATION, SET_COOKIE};
use axum::http::{HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use axum::{Form, Json};
use lastmicron_access::{Device, Person, Secret};
use lastmicron_job::event::Id;
use lastmicron_store::{SignIn, SignedIn};
use maud::{Markup, html};
use serde::Deserialize;
use serde_json::json;

use crate::asset::LOCK;
use crate::bare::{bare, unknown};
use crate::caller::{Caller, Whence};
use crate::cookies;
use crate::failure::Failure;
use crate::guard::{Gate, device_of};
use crate::reach::{Arrived, Way};
use crate::router::blocking;
use crate::shop::Shop;

/// Who signs in.
#[derive(Debug, Deserialize)]
pub(crate) struct Signing {
    person: String,
    secret: String,
}

/// Answers a page that was asked for on a device that is locked.
pub(crate) async fn held(gate: &Gate, way: Way, headers: &HeaderMap) -> Response {
    match device_of(gate, way, headers).await {
        Ok(Some(device)) => {
            asks(&gate.shop, way, device).await.map_or_else(IntoResponse::into_response, |page| (StatusCode::LOCKED, page).into_response())
        }
        Ok(None) => unknown(way),
        Err(failure) => failure.into_response(),
    }
}

/// Answers with the page on which somebody signs in; by its status it tells whether the device is locked.
pub(crate) async fn page(State(shop): State<Arc<Shop>>, Arrived { way, .. }: Arrived, caller: Caller) -> Result<Response, Failure> {
    let status = if matches!(caller, Caller::Held(_)) { StatusCode::LOCKED } else { StatusCode::OK };
    let device = caller.device().ok_or(Failure::NoPage)?.clone();
    Ok((status, asks(&shop, way, device).await?).into_response())
}

/// Signs somebody in who is known by their PIN or passphrase.
pub(crate) async fn sign_in(
    State(shop): State<Arc<Shop>>,
    Arrived { way, .. }: Arrived,
    caller: Caller,
    Whence(source): Whence,
    headers: HeaderMap,
    Form(told): Form<Signing>,
) -> Response {
    match signed_in(&shop, way, &headers, &caller, source, told).await {
        Ok((cookie, person)) => ([(SET_COOKIE, cookie)], Json(json!({ "who": person.name }))).into_response(),
        Err(failure) => failure.problem(),
    }
}

async fn signed_in(
    shop: &Arc<Shop>,
    way: Way,
    headers: &HeaderMap,
    caller: &Caller,
    source: lastmicron_access::Source,
    told: Signing,
) -> Result<(HeaderValue, Person), Failure> {
    let door = shop.door().ok_or(Failure::NoPage)?;
    let device = caller.device().ok_or(Failure::Unknown)?.clone();
    let now_s = shop.now().unix_seconds();
    let nobody = || Failure::NotAllowed("nobody of this name signs in on this device".to_owned());
    let id: Id = told.person.parse().map_err(|_| nobody())?;
    let person = {
        let (shop, device) = (Arc::clone(shop), device.clone());
        blocking(move || Ok(signing(&shop, &device)?.into_iter().find(|person| person.id == id))).await?.ok_or_else(nobody)?
    };
    door.ask_source(source, now_s)?;
    door.ask_account(person.id, now_s)?;
    let kept = person.secret.clone().ok_or_else(nobody)?;
    let Some(kept) = door.check(kept, &Secret::typed(&told.secret)).await? else {
        return Err(Failure::NotAllowed(format!("this is not the PIN or passphrase of {}", person.name)));
    };
    let token = door.token()?;
    let cookie = cookies::set(&cookies::of_device(device.id, headers), &token.text(), cookies::KEPT_S, way)?;
    let is_kept_anew = person.secret.as_ref() != Some(&kept);
    let person = Person { secret: Some(kept), ..person };
    let sign_in = SignIn {
        code: None,
        person: is_kept_anew.then(|| person.clone()),
        device: Device { person: person.id, signed_in_s: now_s, active_s: now_s, is_locked: false, ..device },
        must_be_known: true,
        token: token.hash(),
    };
    let signed_in = {
        let shop = Arc::clone(shop);
        blocking(move || Ok(shop.door().ok_or(Failure::NoPage)?.people.sign_in(&sign_in)?)).await?
    };
    if signed_in != SignedIn::Done {
        return Err(Failure::Unknown);
    }
    door.forget_source(source);
    door.forget_account(person.id);
    Ok((cookie, person))
}

/// Locks the device, and asks who is next.
pub(crate) async fn now(State(shop): State<Arc<Shop>>, caller: Caller) -> Result<Response, Failure> {
    let device = caller.device().ok_or(Failure::NoPage)?.id;
    blocking(move || Ok(shop.door().ok_or(Failure::NoPage)?.people.lock(device)?)).await?;
    Ok((StatusCode::SEE_OTHER, [(LOCATION, HeaderValue::from_static("/lock"))]).into_response())
}

/// Somebody touches the device: that alone was asked for, and noted at the door.
pub(crate) async fn here() -> StatusCode {
    StatusCode::NO_CONTENT
}

/// Who may sign in on a device: everybody who has chosen a PIN, and on one that only one person uses they alone.
fn signing(shop: &Shop, device: &Device) -> Result<Vec<Person>, Failure> {
    let here = shop.door().ok_or(Failure::NoPage)?.here()?;
    Ok(here.into_iter().filter(|person| person.secret.is_some() && (device.is_shared || person.id == device.person)).collect())
}

async fn asks(shop: &Arc<Shop>, way: Way, device: Device) -> Result<axum::response::Html<String>, Failure> {
    let shop = Arc::clone(shop);
    let (device, people) = blocking(move || signing(&shop, &device).map(|people| (device, people))).await?;
    Ok(bare(way, "Locked", Some(&LOCK), &pad(&device, &people)))
}

/// Who, and a pad with keys that a glove presses.
fn pad(device: &Device, people: &[Person]) -> Markup {
    html! {
        form.lock id="pad" {
            h1 id="pad-asked" { "Who is at the " (device.name) "?" }
            @if people.is_empty() { p.stop { "Nobody signs in on this device: an owner makes a code, and it is entered at " a href="/enter" { "this page" } "." } }
            fieldset {
                legend { "Who" }
                div.choices.people {
                    @for person in people {
                        label.choice { input type="radio" name="person" value=(person.id) checked[person.id == device.person] required; span { (person.name) } }
                    }
                }
            }
            div.asked {
                label.field for="pad-secret" { "PIN or passphrase" }
                input id="pad-secret" name="secret" type="password" required autocomplete="off";
            }
            p.stop.wrong role="alert" hidden {}
            div.pad {
                @for digit in ["1", "2", "3", "4", "5", "6", "7", "8", "9"] { button.key type="button" data-digit=(digit) { (digit) } }
                button.key type="button" data-digit="" aria-label="Take the last one away" { "\u{232b}" }
                button.key type="button" data-digit="0" { "0" }
                button.key.primary { "OK" }
            }
            p.quiet { "What was typed on this device and what waits on it stays." }
        }
    }
}
