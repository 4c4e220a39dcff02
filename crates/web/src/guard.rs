//! What each route asks of whoever comes, in one table, and whether they are let in.

use std::sync::Arc;

use axum::extract::{MatchedPath, Request, State};
use axum::http::header::{ACCEPT, CONTENT_TYPE, HeaderName, HeaderValue, WWW_AUTHENTICATE};
use axum::http::{HeaderMap, Method};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use lastmicron_access::{Deed, Device, Holding, Person, Token};

use crate::bare::unknown;
use crate::caller::{Caller, not_allowed};
use crate::cookies;
use crate::door::Door;
use crate::failure::Failure;
use crate::lock_page;
use crate::reach::{Arrived, Reach, Way};
use crate::router::blocking;
use crate::shop::Shop;

/// How often it is noted that somebody does something on a device, seconds.
const NOTED_S: i64 = 60;

/// Cookies of a request that are looked up at most. Judgement: browsers hold no more than about 180 for a host; with fewer a device that is known to many apps is not found,
/// and with more a stranger's request makes work.
const LOOKED_UP: usize = 180;

/// What a page asks for of itself bears this header: nobody touched the device for it.
const UNASKED: HeaderName = HeaderName::from_static("x-unasked");

/// A shop, and how it is reached.
#[derive(Clone, Debug)]
pub(crate) struct Gate {
    pub(crate) shop: Arc<Shop>,
    pub(crate) reach: Arc<Reach>,
}

/// What a route asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Need {
    /// Nothing, or what it looks at itself.
    Nothing,
    /// A device that is known, locked or not.
    Device,
    /// Somebody who may do this.
    May(Deed),
}

/// By the route's pattern; whatever is not named here is for people who work.
fn need(route: Option<&str>, method: &Method) -> Need {
    match route.unwrap_or_default() {
        "/enter" | "/healthz" | "/readyz" | "/look" | "/look/photographs/{digest}" => Need::Nothing,
        // Whoever was made unknown still saves to a file what waits on the device: nothing of the records is on that page.
        "/waiting" | "/worker.js" | "/manifest.webmanifest" => Need::Nothing,
        // What every page is made of, for a page of whoever is not known is too.
        route if route.starts_with("/assets/") && method.is_safe() => Need::Nothing,
        "/lock" | "/lock/now" => Need::Device,
        "/records" | "/jobs/{job}/record" => Need::May(Deed::CarryRecords),
        "/jobs/{job}/acceptance" => Need::May(Deed::Agree),
        "/jobs/{job}/links" => Need::May(Deed::ManagePeople),
        route if route.starts_with("/people") => Need::May(Deed::ManagePeople),
        _ => Need::May(Deed::Work),
    }
}

/// Lets in whoever may, and leads the others to where they become known.
pub(crate) async fn hold(State(gate): State<Gate>, mut request: Request, next: Next) -> Response {
    let need = need(request.extensions().get::<MatchedPath>().map(MatchedPath::as_str), request.method());
    request.extensions_mut().insert(Arc::clone(&gate.reach));
    let way = request.extensions().get::<Arrived>().copied().unwrap_or_default().way;
    let reads_pages = reads_pages(request.method(), request.headers());
    let found = found(&gate, way, request.headers()).await;
    let asks = found.as_ref().ok().cloned();
    let mut response = match admitted(found, need) {
        Ok(caller) => {
            request.extensions_mut().insert(caller);
            next.run(request).await
        }
        Err(Failure::Unknown) => {
            let mut response = if reads_pages { unknown(way) } else { Failure::Unknown.problem() };
            response.headers_mut().insert(WWW_AUTHENTICATE, HeaderValue::from_static("Code"));
            response
        }
        Err(Failure::Locked) if reads_pages => lock_page::held(&gate, way, request.headers()).await,
        Err(failure) if reads_pages => failure.into_response(),
        Err(failure) => failure.problem(),
    };
    // What went wrong is told on a page that is framed as theirs.
    if let Some(asks) = asks {
        response.extensions_mut().insert(asks);
    }
    response
}

/// Whether whoever asks shows pages to a person: they ask for one, or hand in a form of one.
fn reads_pages(method: &Method, headers: &HeaderMap) -> bool {
    let holds =
        |name: &HeaderName, what: &str| headers.get(name).and_then(|value| value.to_str().ok()).is_some_and(|text| text.contains(what));
    let is_form = holds(&CONTENT_TYPE, "application/x-www-form-urlencoded");
    holds(&ACCEPT, "text/html") || (!headers.contains_key(ACCEPT) && (method.is_safe() || is_form))
}

/// Who asks.
async fn found(gate: &Gate, way: Way, headers: &HeaderMap) -> Result<Caller, Failure> {
    let is_beyond = gate.reach.beyond_loopback;
    if gate.shop.door().is_none() && !is_beyond {
        return Ok(Caller::Anyone);
    }
    let tokens = known_by(way, headers);
    let is_asked = !headers.contains_key(UNASKED);
    let shop = Arc::clone(&gate.shop);
    blocking(move || {
        let Some(door) = shop.door() else { return Err(Failure::Unknown) };
        if !door.is_claimed()? && !is_beyond {
            return Ok(Caller::Anyone);
        }
        let now_s = shop.now().unix_seconds();
        let (device, holding, person) = identified(door, &tokens)?.ok_or(Failure::Unknown)?;
        match person {
            Some(person) if !device.is_locked_at(now_s, holding) => {
                if is_asked && now_s - device.active_s >= NOTED_S {
                    // A device that is not noted to be in use locks too soon, which is no reason to do nothing for it.
                    let _ = door.people.seen(device.id, now_s);
                }
                Ok(Caller::Known(person, device))
            }
            _ => Ok(Caller::Held(device)),
        }
    })
    .await
}

/// Whether they are let in.
fn admitted(found: Result<Caller, Failure>, need: Need) -> Result<Caller, Failure> {
    match (found, need) {
        (Err(Failure::Unknown), Need::Nothing) => Ok(Caller::Anyone),
        (Ok(caller), Need::Nothing | Need::Device) => Ok(caller),
        (Ok(Caller::Held(_)), Need::May(_)) => Err(Failure::Locked),
        (Ok(Caller::Known(person, _)), Need::May(deed)) if !person.role.may(deed) => Err(not_allowed(deed)),
        (found, _) => found,
    }
}

/// What a device shows that it is known by, here or to other apps on the same machine.
fn known_by(way: Way, headers: &HeaderMap) -> Vec<Token> {
    cookies::of_devices(headers, way).filter_map(|text| Token::read(text).ok()).take(LOOKED_UP).collect()
}

/// The device that is known by one of the tokens, and who is at it; nobody where they were removed. Where there are several, the one that was signed in on last.
fn identified(door: &Door, tokens: &[Token]) -> Result<Option<(Device, Holding, Option<Person>)>, Failure> {
    let mut known = Vec::new();
    for token in tokens {
        known.extend(door.people.device(token.hash())?);
    }
    let last = known.into_iter().max_by_key(|(device, holding)| (*holding == Holding::Current, device.signed_in_s));
    let Some((device, holding)) = last else { return Ok(None) };
    let person = door.person(device.person)?;
    Ok(Some((device, holding, person)))
}

/// The device of a request, locked or not.
pub(crate) async fn device_of(gate: &Gate, way: Way, headers: &HeaderMap) -> Result<Option<Device>, Failure> {
    let tokens = known_by(way, headers);
    let shop = Arc::clone(&gate.shop);
    blocking(move || {
        let Some(door) = shop.door() else { return Ok(None) };
        Ok(identified(door, &tokens)?.map(|(device, ..)| device))
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_in_the_table_is_for_people_who_work() {
        assert_eq!(need(None, &Method::GET), Need::May(Deed::Work));
        assert_eq!(need(Some("/something/new"), &Method::POST), Need::May(Deed::Work));
        assert_eq!(need(Some("/assets/{name}"), &Method::POST), Need::May(Deed::Work));
        assert_eq!(need(Some("/people/{person}/code"), &Method::POST), Need::May(Deed::ManagePeople));
    }

    #[test]
    fn programs_are_told_in_their_way() {
        let reads = |method: Method, with: &[(&'static str, &'static str)]| {
            let headers = with.iter().map(|(name, value)| (HeaderName::from_static(name), HeaderValue::from_static(value))).collect();
            reads_pages(&method, &headers)
        };
        assert!(reads(Method::GET, &[]) && reads(Method::GET, &[("accept", "text/html,*/*")]));
        assert!(reads(Method::POST, &[("content-type", "application/x-www-form-urlencoded")]));
        assert!(!reads(Method::GET, &[("accept", "text/event-stream")]) && !reads(Method::GET, &[("accept", "*/*")]));
        assert!(!reads(Method::POST, &[]) && !reads(Method::POST, &[("accept", "*/*"), ("content-type", "application/json")]));
    }
}
