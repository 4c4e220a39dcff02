//! How a device becomes known: a one-time code, then who is at it.

use std::sync::Arc;

use axum::Form;
use axum::extract::State;
use axum::http::StatusCode;
use axum::http::header::{HeaderMap, LOCATION, RETRY_AFTER, SET_COOKIE};
use axum::response::{IntoResponse, Response};
use lastmicron_access::{Code, Device, Grant, KeptCode, Person, Role, Secret, name};
use lastmicron_store::{SignIn, SignedIn};
use maud::{Markup, html};
use serde::Deserialize;

use crate::bare::bare;
use crate::caller::{Caller, Whence};
use crate::cookies;
use crate::door::Door;
use crate::failure::Failure;
use crate::reach::{Arrived, Way};
use crate::router::blocking;
use crate::shop::Shop;
use crate::wording::capital;

/// Longest name of a device, in characters.
const LONGEST_DEVICE: usize = 60;

/// What is handed in: first the code alone, then with the rest.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Entering {
    code: String,
    name: Option<String>,
    secret: Option<String>,
    device: Option<String>,
    shared: Option<String>,
}

/// What a code that holds opens, for whom.
struct Opened {
    code: KeptCode,
    /// Nobody yet for the first owner.
    person: Option<Person>,
}

impl Opened {
    /// Whether a PIN or passphrase is chosen, and not asked for.
    fn is_chosen(&self) -> bool {
        let is_new = match self.code.grant {
            Grant::FirstOwner => true,
            Grant::Device { new_secret, .. } => new_secret,
        };
        is_new || self.person.as_ref().is_none_or(|person| person.secret.is_none())
    }
}

/// Answers with the page that asks for a code.
pub(crate) async fn page(State(shop): State<Arc<Shop>>, Arrived { way, .. }: Arrived) -> Result<Response, Failure> {
    shop.door().ok_or(Failure::NoPage)?;
    Ok(asks_for_code(way, "").into_response())
}

/// Takes a code, and with it who is at the device.
pub(crate) async fn enter(
    State(shop): State<Arc<Shop>>,
    Arrived { way, .. }: Arrived,
    caller: Caller,
    Whence(source): Whence,
    headers: HeaderMap,
    Form(told): Form<Entering>,
) -> Result<Response, Failure> {
    let door = shop.door().ok_or(Failure::NoPage)?;
    let now_s = shop.now().unix_seconds();
    if let Err(failure) = door.ask_source(source, now_s) {
        return Ok(refused(&failure, &asks_for_code(way, &failure.to_string())));
    }
    let Some(opened) = opened(&shop, &told.code, now_s).await? else {
        let wrong = Failure::NotAllowed(
            "this code does not hold: each is used once, and for half an hour. Look at it again, or have a new one made".to_owned(),
        );
        return Ok(refused(&wrong, &asks_for_code(way, &wrong.to_string())));
    };
    let Some(secret) = told.secret.clone() else { return Ok(asks_who(way, &opened, &told, "").into_response()) };
    let person = match person_of(door, &opened, &told, &secret, now_s).await {
        Ok(person) => person,
        Err(failure) => return Ok(refused(&failure, &asks_who(way, &opened, &told, &failure.to_string()))),
    };
    let token = door.token()?;
    let device = device_of(door, &caller, &told, &person, now_s)?;
    let cookie = cookies::set(&cookies::of_device(device.id, &headers), &token.text(), cookies::KEPT_S, way)?;
    let sign_in = SignIn { code: Some(opened.code.hash), person: Some(person), device, must_be_known: false, token: token.hash() };
    let signed_in = {
        let shop = Arc::clone(&shop);
        blocking(move || Ok(shop.door().ok_or(Failure::NoPage)?.people.sign_in(&sign_in)?)).await?
    };
    let failure = match signed_in {
        SignedIn::Done => {
            door.forget_source(source);
            let headers = [(LOCATION, "/".parse().map_err(|_| Failure::Inside)?), (SET_COOKIE, cookie)];
            return Ok((StatusCode::SEE_OTHER, headers).into_response());
        }
        SignedIn::CodeGone => Failure::NotAllowed("this code was used meanwhile: have a new one made".to_owned()),
        SignedIn::Gone => Failure::NotAllowed("whoever this code was for was removed meanwhile: ask an owner".to_owned()),
        SignedIn::NameTaken => Failure::NotAllowed("somebody here is called so already: give another name".to_owned()),
    };
    Ok(refused(&failure, &asks_who(way, &opened, &told, &failure.to_string())))
}

async fn opened(shop: &Arc<Shop>, text: &str, now_s: i64) -> Result<Option<Opened>, Failure> {
    let Ok(code) = Code::read(text) else { return Ok(None) };
    let shop = Arc::clone(shop);
    blocking(move || {
        let door = shop.door().ok_or(Failure::NoPage)?;
        let Some(code) = door.people.code(code.hash())?.filter(|code| code.is_usable(now_s)) else { return Ok(None) };
        Ok(match code.grant {
            Grant::FirstOwner => (!door.is_claimed()?).then_some(Opened { code, person: None }),
            Grant::Device { person, .. } => door.person(person)?.map(|person| Opened { code, person: Some(person) }),
        })
    })
    .await
}

/// Who they are from now on.
async fn person_of(door: &Door, opened: &Opened, told: &Entering, secret: &str, now_s: i64) -> Result<Person, Failure> {
    let person = match &opened.person {
        Some(person) => person.clone(),
        None => {
            let name = name(told.name.as_deref().unwrap_or_default()).map_err(|why| Failure::NotAllowed(why.to_string()))?;
            Person { id: door.id(now_s)?, name, role: Role::Owner, secret: None, since_s: now_s, removed_s: None }
        }
    };
    if opened.is_chosen() {
        let chosen = Secret::chosen(secret).map_err(|why| Failure::NotAllowed(why.to_string()))?;
        return Ok(Person { secret: Some(door.keep(chosen).await?), ..person });
    }
    let kept = person.secret.clone().ok_or(Failure::Inside)?;
    door.ask_account(person.id, now_s)?;
    let Some(kept) = door.check(kept, &Secret::typed(secret)).await? else {
        return Err(Failure::NotAllowed(format!("this is not the PIN or passphrase of {}", person.name)));
    };
    door.forget_account(person.id);
    Ok(Person { secret: Some(kept), ..person })
}

/// The device that they are at: the same where it was known already.
fn device_of(door: &Door, caller: &Caller, told: &Entering, person: &Person, now_s: i64) -> Result<Device, Failure> {
    let name: String = told.device.as_deref().unwrap_or_default().chars().filter(|c| !c.is_control()).take(LONGEST_DEVICE).collect();
    let name = if name.trim().is_empty() { format!("{}'s device", person.name) } else { name.trim().to_owned() };
    let known = caller.device();
    Ok(Device {
        id: known.map_or_else(|| door.id(now_s), |device| Ok(device.id))?,
        name,
        is_shared: told.shared.as_deref() == Some("yes"),
        person: person.id,
        since_s: known.map_or(now_s, |device| device.since_s),
        signed_in_s: now_s,
        active_s: now_s,
        is_locked: false,
    })
}

fn refused(failure: &Failure, page: &axum::response::Html<String>) -> Response {
    let mut response = (failure.status(), page.clone()).into_response();
    if let Failure::Throttled { wait_s } = failure {
        response.headers_mut().insert(RETRY_AFTER, (*wait_s).into());
    }
    response
}

fn why(words: &str) -> Markup {
    html! { @if !words.is_empty() { p.stop role="alert" { (capital(words)) "." } } }
}

fn asks_for_code(way: Way, words: &str) -> axum::response::Html<String> {
    let body = html! {
        h1 { "A code for this device" }
        (why(words))
        form.stack method="post" action="/enter" {
            div.asked {
                label.field for="code" { "The code" }
                input.code id="code" name="code" required maxlength="20" autocomplete="one-time-code" autocapitalize="characters" spellcheck="false" aria-describedby="code-help";
                p.quiet id="code-help" { "Ten letters and digits. An owner makes it on the page of people; the first is printed by the terminal in which the app was started." }
            }
            button.primary { "Go on" }
        }
    };
    bare(way, "A code for this device", None, &body)
}

fn asks_who(way: Way, opened: &Opened, told: &Entering, words: &str) -> axum::response::Html<String> {
    let is_chosen = opened.is_chosen();
    let body = html! {
        h1 { @match &opened.person { Some(person) => { "This device, for " (person.name) } None => "The owner of this app" } }
        (why(words))
        form.stack method="post" action="/enter" {
            input type="hidden" name="code" value=(told.code);
            @if opened.person.is_none() {
                div.asked {
                    label.field for="name" { "Your name or initials" }
                    input id="name" name="name" required maxlength="60" autocomplete="off" value=(told.name.as_deref().unwrap_or_default());
                    p.quiet { "What you record is recorded under it." }
                }
            }
            div.asked {
                label.field for="secret" { @if is_chosen { "Choose a PIN or a passphrase" } @else { "Your PIN or passphrase" } }
                input id="secret" name="secret" type="password" required autocomplete="off" aria-describedby="secret-help";
                p.quiet id="secret-help" { @if is_chosen { "A PIN of 6 digits or more, or 8 characters or more. It lets you back in where a device has locked, and opens no device that is not known." } @else { "The one that you chose." } }
            }
            div.asked {
                label.field for="device" { "What this device is called" }
                input id="device" name="device" maxlength=(LONGEST_DEVICE) autocomplete="off" value=(told.device.as_deref().unwrap_or_default()) placeholder="bay tablet";
            }
            fieldset {
                legend { "Who uses it" }
                div.choices {
                    label.choice { input type="radio" name="shared" value="no" checked; span { "Only I" } }
                    label.choice { input type="radio" name="shared" value="yes"; span { "Several of us: it locks when nobody touches it for 15 minutes" } }
                }
            }
            button.primary { "Go on" }
        }
    };
    bare(way, "Who is at this device", None, &body)
}
