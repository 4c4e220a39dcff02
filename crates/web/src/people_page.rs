//! People, their devices, and the links that were given: what an owner sees to.

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::header::{HOST, HeaderMap, HeaderValue, LOCATION};
use axum::response::{Html, IntoResponse, Response};
use axum::{Extension, Form};
use lastmicron_access::{Code, Device, Grant, Link, Person, Role, name, removable};
use lastmicron_job::event::Id;
use maud::{Markup, html};
use serde::Deserialize;

use crate::caller::{Caller, Owner};
use crate::door::Door;
use crate::failure::Failure;
use crate::frame::Page;
use crate::job_page::title;
use crate::preference::Preferences;
use crate::reach::Reach;
use crate::router::blocking;
use crate::shop::Shop;
use crate::wording::counted;

/// Somebody new.
#[derive(Debug, Deserialize)]
pub(crate) struct New {
    name: String,
    role: String,
}

/// Whether a code lets somebody choose a new PIN.
#[derive(Debug, Deserialize)]
pub(crate) struct Asked {
    new_pin: Option<String>,
}

/// All that is known.
struct Known {
    people: Vec<Person>,
    devices: Vec<Device>,
    links: Vec<Led>,
}

/// A link that holds, and what the job is called to which it leads.
pub(crate) struct Led {
    link: Link,
    title: String,
}

/// Answers with the page.
pub(crate) async fn page(State(shop): State<Arc<Shop>>, caller: Caller, preferences: Preferences) -> Result<Html<String>, Failure> {
    let Caller::Known(_, own) = caller else {
        shop.door().ok_or(Failure::NoPage)?;
        return Ok(framed(&preferences, "People", &html! { h1 { "People" } (unclaimed()) }));
    };
    let now_s = shop.now().unix_seconds();
    let known = blocking(move || {
        let door = door(&shop)?;
        let links = usable(door, now_s)?;
        Ok(Known { people: door.people.people()?, devices: door.people.devices()?, links: led(&shop, links) })
    })
    .await?;
    Ok(framed(&preferences, "People", &all(&known, &own, now_s)))
}

fn door(shop: &Shop) -> Result<&Door, Failure> {
    shop.door().ok_or(Failure::NoPage)
}

fn framed(preferences: &Preferences, title: &str, body: &Markup) -> Html<String> {
    Page { preferences, title, job: None, script: None }.with(body)
}

/// That there is no owner yet, and how one comes to be.
pub(crate) fn unclaimed() -> Markup {
    html! {
        p { "Nobody has claimed this app: whoever is at this machine may do everything, and no other machine reaches it." }
        p { "The code that " code { "lastmicron serve" } " printed when it was started makes its first owner, within half an hour. Started anew, it prints another." }
        p { a.button href="/enter" { "I have the code" } }
    }
}

fn all(known: &Known, own: &Device, now_s: i64) -> Markup {
    html! {
        h1 { "People" }
        (people(&known.people))
        (devices(known, own, now_s))
        (links(&known.links, now_s))
    }
}

fn people(everybody: &[Person]) -> Markup {
    html! {
        section {
            ul.readings {
                @for person in everybody.iter().filter(|person| person.is_here()) {
                    @let at = format!("/people/{}", person.id);
                    li {
                        strong { (person.name) } span { (person.role) } @if person.secret.is_none() { span.quiet { "has not come in yet" } }
                        form method="post" action={ (at) "/code" } { button aria-label={ "A code for a device of " (person.name) } { "A code for a device" } }
                        form method="post" action={ (at) "/code" } { button name="new_pin" value="yes" aria-label={ "A code and a new PIN for " (person.name) } { "A code and a new PIN" } }
                        @if removable(everybody, person.id) {
                            details id={ "remove-" (person.id) } {
                                summary { "Remove " (person.name) }
                                p { "Devices that only " (person.name) " uses are unknown at once. What is in the record stays." }
                                form method="post" action={ (at) "/remove" } { button.second { "Remove " (person.name) } }
                            }
                        }
                    }
                }
            }
            h2 { "Somebody new" }
            form.stack method="post" action="/people" {
                div.asked {
                    label.field for="name" { "Name or initials" }
                    input id="name" name="name" required maxlength="60" autocomplete="off";
                }
                fieldset {
                    legend { "Who is" }
                    div.choices {
                        label.choice { input type="radio" name="role" value="helper" checked; span { strong { "Helper" } " " span.quiet { "Records what is there, what is measured and what is worked, with photographs and notes." } } }
                        label.choice { input type="radio" name="role" value="owner"; span { strong { "Owner" } " " span.quiet { "Also agrees terms, accepts plans, hands over, carries records in and out, and sees to people." } } }
                    }
                }
                button.primary { "Add, and make a code" }
            }
        }
    }
}

fn devices(known: &Known, own: &Device, now_s: i64) -> Markup {
    let name = |id: Id| known.people.iter().find(|person| person.id == id).map_or("nobody", |person| person.name.as_str());
    html! {
        section {
            h2 { "Devices" }
            ul.readings {
                @for device in &known.devices {
                    li {
                        strong { (device.name) @if device.id == own.id { " (this one)" } }
                        span { (name(device.person)) @if device.is_shared { ", shared" } ", " (ago(now_s - device.active_s)) }
                        form method="post" action={ "/people/devices/" (device.id) "/revoke" } { button aria-label={ "Make the " (device.name) " unknown" } { "Make unknown" } }
                    }
                }
            }
            p.quiet { "A device that is made unknown shows nothing more. What waits on it unsent stays there, and can be sent when it is known again." }
        }
    }
}

/// Every link that holds.
pub(crate) fn usable(door: &Door, now_s: i64) -> Result<Vec<Link>, Failure> {
    Ok(door.people.links()?.into_iter().filter(|link| link.is_usable(now_s)).collect())
}

/// Links with what their jobs are called. Of each job the whole record may have to be read for that: of no other, and once.
pub(crate) fn led(shop: &Shop, links: Vec<Link>) -> Vec<Led> {
    // A job that can't be read keeps nobody from taking back a link to it.
    let title_of =
        |job: Id| shop.job(job).ok().flatten().map_or_else(|| "A job that can't be read".to_owned(), |job| title(&job.standing).to_owned());
    let mut titles = BTreeMap::new();
    let led = |link: Link| Led { title: titles.entry(link.job).or_insert_with_key(|job| title_of(*job)).clone(), link };
    links.into_iter().map(led).collect()
}

fn links(links: &[Led], now_s: i64) -> Markup {
    html! {
        section {
            h2 { "Links to jobs" }
            @if links.is_empty() { p.quiet { "Nobody looks at a job by a link." } } @else { (listed(links, now_s)) }
        }
    }
}

/// Links that hold, each with a way to take it back.
pub(crate) fn listed(links: &[Led], now_s: i64) -> Markup {
    html! {
        ul.readings {
            @for Led { link, title } in links {
                li {
                    a href={ "/jobs/" (link.job) } { (title) }
                    span { "made " (ago(now_s - link.since_s)) ", ends in " (span_of(link.ends_s - now_s)) }
                    form method="post" action={ "/people/links/" (link.id) "/withdraw" } { button aria-label={ "Take it back: the link to " (title) } { "Take it back" } }
                }
            }
        }
    }
}

/// How long something is or was, as a person says it.
fn span_of(seconds: i64) -> String {
    match seconds {
        ..5_400 => counted(seconds / 60, "minute", "minutes"),
        5_400..129_600 => counted((seconds + 1800) / 3600, "hour", "hours"),
        _ => counted((seconds + 43_200) / 86_400, "day", "days"),
    }
}

fn ago(seconds: i64) -> String {
    if seconds < 60 { "just now".to_owned() } else { format!("{} ago", span_of(seconds)) }
}

/// Puts somebody in, and shows the code for their device.
pub(crate) async fn add(
    State(shop): State<Arc<Shop>>,
    Extension(reach): Extension<Arc<Reach>>,
    _: Owner,
    preferences: Preferences,
    headers: HeaderMap,
    Form(told): Form<New>,
) -> Result<Html<String>, Failure> {
    let name = name(&told.name).map_err(|why| Failure::NoSense(why.to_string()))?;
    let role: Role = told.role.parse().map_err(|why: lastmicron_access::NotARole| Failure::NoSense(why.to_string()))?;
    let (person, code) = blocking(move || {
        let now_s = shop.now().unix_seconds();
        let door = door(&shop)?;
        let person = Person { id: door.id(now_s)?, name, role, secret: None, since_s: now_s, removed_s: None };
        let is_free = !door.here()?.iter().any(|other| other.is_called(&person.name));
        if !is_free || !door.people.put_person(&person)? {
            return Err(Failure::NoSense(format!("somebody here is called {} already: give another name", person.name)));
        }
        let code = made(door, person.id, true, now_s)?;
        Ok((person, code))
    })
    .await?;
    Ok(shown(&preferences, &person, &code, &reach, &headers))
}

/// Makes a code for a device of somebody, and shows it.
pub(crate) async fn code(
    State(shop): State<Arc<Shop>>,
    Extension(reach): Extension<Arc<Reach>>,
    _: Owner,
    Path(person): Path<String>,
    preferences: Preferences,
    headers: HeaderMap,
    Form(asked): Form<Asked>,
) -> Result<Html<String>, Failure> {
    let id = person.parse().map_err(|_| Failure::NoPage)?;
    let (person, code) = blocking(move || {
        let door = door(&shop)?;
        let person = door.person(id)?.ok_or(Failure::NoPage)?;
        let code = made(door, id, asked.new_pin.is_some(), shop.now().unix_seconds())?;
        Ok((person, code))
    })
    .await?;
    Ok(shown(&preferences, &person, &code, &reach, &headers))
}

fn made(door: &Door, person: Id, new_secret: bool, now_s: i64) -> Result<Code, Failure> {
    let code = Code::of(&door.random()?);
    door.people.put_code(&code.kept(Grant::Device { person, new_secret }, now_s))?;
    Ok(code)
}

fn shown(preferences: &Preferences, person: &Person, code: &Code, reach: &Reach, headers: &HeaderMap) -> Html<String> {
    let host = headers.get(HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    // Its own address is none to come back to: there is no code to be seen any more.
    let preferences = &Preferences { path: "/people".to_owned(), ..preferences.clone() };
    let body = html! {
        h1 { "A code for " (person.name) }
        div data-once { p.shown-code { (code.text()) } }
        p { "It makes one device known, once, within half an hour. It is not shown again." }
        @match reach.origin_elsewhere(host, preferences.way) {
            Some(origin) => { p { "On that device: open " strong { (origin) "/enter" } " and type it there." } }
            None => { p { "The app answers only on this machine: type it here, at " strong { (preferences.way.origin(host)) "/enter" } ", for a browser of its own or on a tablet that is shared." } }
        }
        p { a.primary href="/people" { "To the people" } }
    };
    framed(preferences, "A code", &body)
}

/// Where a code was shown there is none any more: whoever goes there again is led to the people.
pub(crate) async fn no_code(_: Owner) -> Response {
    back_to("/people")
}

/// Removes somebody, and makes unknown what only they use.
pub(crate) async fn remove(State(shop): State<Arc<Shop>>, _: Owner, Path(person): Path<String>) -> Result<Response, Failure> {
    let id: Id = person.parse().map_err(|_| Failure::NoPage)?;
    blocking(move || {
        let door = door(&shop)?;
        let person = door.person(id)?.ok_or(Failure::NoPage)?;
        if !door.people.remove(id, shop.now().unix_seconds())? {
            return Err(Failure::NoSense(format!("{} is the only owner: put in another owner first", person.name)));
        }
        Ok(())
    })
    .await?;
    Ok(back_to("/people"))
}

/// Makes a device unknown.
pub(crate) async fn revoke(State(shop): State<Arc<Shop>>, _: Owner, Path(device): Path<String>) -> Result<Response, Failure> {
    let id = device.parse().map_err(|_| Failure::NoPage)?;
    blocking(move || Ok(door(&shop)?.people.revoke(id)?)).await?;
    Ok(back_to("/people"))
}

/// Takes a link back.
pub(crate) async fn withdraw(State(shop): State<Arc<Shop>>, _: Owner, Path(link): Path<String>) -> Result<Response, Failure> {
    let id = link.parse().map_err(|_| Failure::NoPage)?;
    blocking(move || Ok(door(&shop)?.people.withdraw(id)?)).await?;
    Ok(back_to("/people"))
}

fn back_to(place: &'static str) -> Response {
    (StatusCode::SEE_OTHER, [(LOCATION, HeaderValue::from_static(place))]).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_said_as_a_person_says_them() {
        let said = [0, 59, 60, 5_399, 5_400, 86_400, 129_600, 2_592_000].map(ago);
        assert_eq!(
            said,
            ["just now", "just now", "1 minute ago", "89 minutes ago", "2 hours ago", "24 hours ago", "2 days ago", "30 days ago"]
        );
    }
}
