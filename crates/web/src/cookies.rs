//! Cookies: how they are called, set and read.
//!
//! A browser keeps one jar for all ports of a host, so that two apps on one machine find each other's in it. The name of one that says who somebody is has the port in it.

use axum::http::header::{COOKIE, HOST, HeaderMap, HeaderValue};
use lastmicron_job::event::Id;

use crate::failure::Failure;
use crate::reach::{Way, port};

/// What the name of a cookie by which a device is known begins with, behind what is put before it on an encrypted line.
const DEVICE: &str = "known";
/// The same of one by which a client looks at their job.
const LOOK: &str = "look";
/// The same of what somebody is called who has not signed in.
const WHO: &str = "who";
/// How long a device keeps what it is known by, seconds: as long as browsers keep any cookie.
pub(crate) const KEPT_S: i64 = 400 * 24 * 3600;

/// The cookie by which a device is known to the app at this address. Another app that takes this one's place at its port, a demo, knows it as another device.
pub(crate) fn of_device(device: Id, headers: &HeaderMap) -> String {
    format!("{}-{device}", here(DEVICE, headers))
}

/// The cookie by which a client looks at their job.
pub(crate) fn of_look(headers: &HeaderMap) -> String {
    here(LOOK, headers)
}

/// The cookie that has what somebody is called who has not signed in.
pub(crate) fn of_who(headers: &HeaderMap) -> String {
    here(WHO, headers)
}

fn here(name: &str, headers: &HeaderMap) -> String {
    let host = headers.get(HOST).and_then(|host| host.to_str().ok()).unwrap_or_default();
    port(host).map_or_else(|| name.to_owned(), |port| format!("{name}-{port}"))
}

/// A cookie's whole name: on an encrypted line one that only this host may set, and over no other line.
fn on_line(name: &str, way: Way) -> String {
    match way {
        Way::Loopback | Way::Plain => name.to_owned(),
        Way::Tls => format!("__Host-{name}"),
    }
}

/// A cookie that no script reads and no other site sends. What holds for every cookie on an encrypted line is added where all answers pass.
///
/// # Errors
/// `Inside`, for a value that is none.
pub(crate) fn set(name: &str, value: &str, lasts_s: i64, way: Way) -> Result<HeaderValue, Failure> {
    let name = on_line(name, way);
    HeaderValue::from_str(&format!("{name}={value}; Path=/; Max-Age={lasts_s}; HttpOnly; SameSite=Strict")).map_err(|_| Failure::Inside)
}

/// What a browser shows by which a device may be known, to whichever app and at whichever port: records that are served at another one still know it.
pub(crate) fn of_devices(headers: &HeaderMap, way: Way) -> impl Iterator<Item = &str> {
    let start = on_line(DEVICE, way);
    pairs(headers).filter(move |(name, _)| name.starts_with(&start)).map(|(_, value)| value)
}

/// What the cookie says by which a client looks at their job.
pub(crate) fn looking(headers: &HeaderMap, way: Way) -> Option<&str> {
    said(headers, &on_line(&of_look(headers), way))
}

/// What a cookie of this name says.
pub(crate) fn said<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    pairs(headers).find(|(key, _)| *key == name).map(|(_, value)| value)
}

fn pairs(headers: &HeaderMap) -> impl Iterator<Item = (&str, &str)> {
    let lines = headers.get_all(COOKIE).into_iter().filter_map(|value| value.to_str().ok());
    lines.flat_map(|line| line.split(';')).filter_map(|pair| pair.trim().split_once('='))
}
