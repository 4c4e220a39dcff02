//! What holds for every request and every answer, in one place.

use axum::extract::{ConnectInfo, Request, State};
use axum::http::header::{CACHE_CONTROL, HOST, HeaderName, HeaderValue, ORIGIN, SET_COOKIE};
use axum::http::uri::PathAndQuery;
use axum::http::{HeaderMap, Method};
use axum::middleware::Next;
use axum::response::Response;
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};

use crate::caller::Caller;
use crate::came_from::CameFrom;
use crate::failure::Failure;
use crate::guard::Gate;
use crate::keeping::Banner;
use crate::preference::Preferences;
use crate::reach::{Arrived, Reach, Way};

/// Headers of every answer: nothing from elsewhere, nothing inline, in no frame; what is sent is what its type says, and comes from the app; the browser offers the page nothing that it doesn't use.
pub(crate) const HEADERS: [(&str, &str); 7] = [
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; form-action 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types lastmicron",
    ),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("permissions-policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    // That the app answers, and not a gateway in its place.
    ("x-lastmicron", "app"),
];

/// To whom an answer was given, by which a page notices that another person has signed in since it was made.
const WHO: HeaderName = HeaderName::from_static("x-who");

/// Refuses what comes by another name or from another site, and puts the headers on whatever is answered.
pub(crate) async fn hold(State(gate): State<Gate>, mut request: Request, next: Next) -> Response {
    let arrived = request.extensions().get::<ConnectInfo<Arrived>>().map_or(Arrived::default(), |ConnectInfo(arrived)| *arrived);
    request.extensions_mut().insert(arrived);
    let banner = Banner::of(&gate.shop.room());
    let path = request.uri().path_and_query().map_or("/", PathAndQuery::as_str);
    let preferences = Preferences { banner: banner.clone(), ..Preferences::of(request.headers(), path, arrived.way) };
    let from = CameFrom::of(&request, arrived.way);
    if let Some(banner) = banner {
        request.extensions_mut().insert(banner);
    }
    let mut response = match refusal(&gate.reach, arrived.way, request.method(), request.headers()) {
        Some(failure) => failure.page(&preferences, &from),
        None => next.run(request).await,
    };
    let caller = response.extensions_mut().remove::<Caller>();
    if let Some(failure) = response.extensions_mut().remove::<Failure>() {
        response = failure.page(&preferences.at(caller.as_ref()), &from);
    }
    // What a browser keeps for all is nobody's.
    let is_kept = response.headers().contains_key(CACHE_CONTROL);
    if let Some(who) = caller.as_ref().and_then(Caller::person).filter(|_| !is_kept).and_then(|person| named(&person.name)) {
        response.headers_mut().insert(WHO, who);
    }
    // A page is as it is now: going back must not show what was before.
    response.headers_mut().entry(CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    for (name, value) in HEADERS {
        response.headers_mut().entry(name).or_insert(HeaderValue::from_static(value));
    }
    if arrived.way == Way::Tls {
        only_by_tls(response.headers_mut());
    }
    response
}

/// A name as a header has it.
fn named(name: &str) -> Option<HeaderValue> {
    HeaderValue::try_from(utf8_percent_encode(name, NON_ALPHANUMERIC).to_string()).ok()
}

/// What a browser was told over TLS it never tells again without.
fn only_by_tls(headers: &mut HeaderMap) {
    let told: Vec<HeaderValue> = headers.get_all(SET_COOKIE).iter().cloned().collect();
    headers.remove(SET_COOKIE);
    for cookie in told {
        let secure = HeaderValue::from_bytes(&[cookie.as_bytes(), b"; Secure"].concat()).unwrap_or(cookie);
        headers.append(SET_COOKIE, secure);
    }
}

fn refusal(reach: &Reach, way: Way, method: &Method, headers: &HeaderMap) -> Option<Failure> {
    let text = |name: &HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    // A page that another name points here (DNS rebinding) gets nothing.
    let Some(host) = text(&HOST).filter(|host| reach.answers_to(host, way)) else { return Some(Failure::Host) };
    if method.is_safe() {
        return None;
    }
    // Browsers leave Sec-Fetch-Site out on plain http by another name than localhost; then the Origin tells.
    let is_own = match headers.get("sec-fetch-site").map(HeaderValue::as_bytes) {
        Some(site) => matches!(site, b"same-origin" | b"none"),
        None => headers.get(ORIGIN).is_none_or(|origin| origin.as_bytes() == way.origin(host).as_bytes()),
    };
    (!is_own).then_some(Failure::CrossSite)
}
