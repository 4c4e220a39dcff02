//! What holds for every request and every answer, in one place.

use std::sync::Arc;

use axum::extract::{Request, State};
use axum::http::header::{CACHE_CONTROL, HOST, HeaderName, HeaderValue, ORIGIN};
use axum::http::uri::PathAndQuery;
use axum::http::{HeaderMap, Method};
use axum::middleware::Next;
use axum::response::Response;

use crate::failure::Failure;
use crate::keeping::Banner;
use crate::preference::Preferences;
use crate::shop::Shop;

/// Headers of every answer: nothing from elsewhere, nothing inline, in no frame; what is sent is what its type says, and comes from the app; the browser offers the page nothing that it doesn't use.
const HEADERS: [(&str, &str); 7] = [
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; form-action 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("permissions-policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-resource-policy", "same-origin"),
    // That the app answers, and not a gateway in its place.
    ("x-lastmicron", "app"),
];

/// Names that this machine calls itself: a page that another name points here (DNS rebinding) gets nothing.
const HOSTS: [&str; 3] = ["localhost", "127.0.0.1", "[::1]"];

/// Refuses what comes by another name or from another site, and puts the headers on whatever is answered.
pub(crate) async fn hold(State(shop): State<Arc<Shop>>, mut request: Request, next: Next) -> Response {
    let banner = Banner::of(&shop.room());
    let path = request.uri().path_and_query().map_or("/", PathAndQuery::as_str);
    let preferences = Preferences { banner: banner.clone(), ..Preferences::of(request.headers(), path) };
    if let Some(banner) = banner {
        request.extensions_mut().insert(banner);
    }
    let mut response = match refusal(request.method(), request.headers()) {
        Some(failure) => failure.page(&preferences),
        None => next.run(request).await,
    };
    if let Some(failure) = response.extensions_mut().remove::<Failure>() {
        response = failure.page(&preferences);
    }
    // A page is as it is now: going back must not show what was before.
    response.headers_mut().entry(CACHE_CONTROL).or_insert(HeaderValue::from_static("no-store"));
    for (name, value) in HEADERS {
        response.headers_mut().insert(HeaderName::from_static(name), HeaderValue::from_static(value));
    }
    response
}

fn refusal(method: &Method, headers: &HeaderMap) -> Option<Failure> {
    let text = |name: &HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    let Some(host) = text(&HOST).filter(|host| HOSTS.contains(&without_port(host))) else { return Some(Failure::Host) };
    if method.is_safe() {
        return None;
    }
    // Browsers leave Sec-Fetch-Site out on plain http by another name than localhost; then the Origin tells.
    let is_own = match headers.get("sec-fetch-site").map(HeaderValue::as_bytes) {
        Some(site) => matches!(site, b"same-origin" | b"none"),
        None => headers.get(ORIGIN).is_none_or(|origin| origin.as_bytes() == format!("http://{host}").as_bytes()),
    };
    (!is_own).then_some(Failure::CrossSite)
}

fn without_port(host: &str) -> &str {
    match host.rsplit_once(':') {
        Some((name, port)) if !port.is_empty() && port.bytes().all(|byte| byte.is_ascii_digit()) => name,
        _ => host,
    }
}
