//! What a device has been told of the person who holds it: name, unit and theme, in cookies, so that the first thing drawn is right. The name is one app's, the others are for all of the host.

use std::convert::Infallible;

use axum::Form;
use axum::extract::FromRequestParts;
use axum::http::header::{HeaderValue, LOCATION, SET_COOKIE};
use axum::http::request::Parts;
use axum::http::uri::PathAndQuery;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use lastmicron_access::{Deed, Role};
use lastmicron_units::Unit;
use percent_encoding::{NON_ALPHANUMERIC, percent_decode_str, utf8_percent_encode};
use serde::Deserialize;

use crate::caller::Caller;
use crate::cookies::{of_who, said};
use crate::keeping::Banner;
use crate::reach::{Arrived, Way};

/// How long a device remembers, seconds: a year.
const REMEMBERED_S: u32 = 31_536_000;

/// Longest name of a person that is remembered, in characters.
const LONGEST_WHO: usize = 60;

/// How bright the pages are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) enum Theme {
    /// As the device is set.
    #[default]
    Device,
    /// For work.
    Bright,
    /// For the lamp.
    Dark,
}

impl Theme {
    pub(crate) const ALL: [(Self, &str); 3] = [(Self::Device, "device"), (Self::Bright, "bright"), (Self::Dark, "dark")];

    /// Its word.
    pub(crate) fn word(self) -> &'static str {
        Self::ALL.iter().find(|(theme, _)| *theme == self).map_or("device", |(_, word)| word)
    }

    fn meant_by(word: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, known)| *known == word).map(|(theme, _)| *theme)
    }
}

/// What a device remembers, and where it is now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Preferences {
    /// Who holds it: a name or initials; empty until said.
    pub(crate) who: String,
    /// Whether they signed in: then they are who they are until somebody else does.
    pub(crate) is_known: bool,
    /// What they may do is what this role may; where nobody signed in it is for the door to say.
    pub(crate) role: Option<Role>,
    /// The unit that films are shown in.
    pub(crate) unit: Unit,
    /// How bright.
    pub(crate) theme: Theme,
    /// The address within the app that is being looked at, to come back to.
    pub(crate) path: String,
    /// What stands on every page now; not remembered, but told by whoever answers.
    pub(crate) banner: Option<Banner>,
    /// The way by which it came here.
    pub(crate) way: Way,
}

impl<S: Sync> FromRequestParts<S> for Preferences {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        let way = parts.extensions.get::<Arrived>().map_or(Way::default(), |arrived| arrived.way);
        let told = Self::of(&parts.headers, parts.uri.path_and_query().map_or("/", PathAndQuery::as_str), way);
        let told = Self { banner: parts.extensions.get().cloned(), ..told };
        Ok(told.at(parts.extensions.get()))
    }
}

impl Preferences {
    /// The same where it was found who asks.
    pub(crate) fn at(self, caller: Option<&Caller>) -> Self {
        match caller.and_then(Caller::person) {
            Some(person) => Self { who: person.name.clone(), is_known: true, role: Some(person.role), ..self },
            None => self,
        }
    }

    /// Whether a thing is offered: not to those who may not do it.
    pub(crate) fn offers(&self, deed: Deed) -> bool {
        self.role.is_none_or(|role| role.may(deed))
    }

    pub(crate) fn of(headers: &HeaderMap, path: &str, way: Way) -> Self {
        let cookie = |name: &str| said(headers, name).map(|value| percent_decode_str(value).decode_utf8_lossy().into_owned());
        Self {
            is_known: false,
            role: None,
            who: cookie(&of_who(headers)).map(|who| one_line(&who)).unwrap_or_default(),
            unit: cookie("unit").and_then(|unit| unit.parse().ok()).unwrap_or(Unit::Micrometre),
            theme: cookie("theme").and_then(|theme| Theme::meant_by(&theme)).unwrap_or_default(),
            path: path.to_owned(),
            banner: None,
            way,
        }
    }
}

fn one_line(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).take(LONGEST_WHO).collect::<String>().trim().to_owned()
}

/// What a device is told.
#[derive(Debug, Deserialize)]
pub(crate) struct Told {
    who: Option<String>,
    unit: Option<String>,
    theme: Option<String>,
    back: Option<String>,
}

/// Remembers on the device what it is told, and goes back to where it was.
pub(crate) async fn tell(headers: HeaderMap, Form(told): Form<Told>) -> Response {
    let mut response = StatusCode::SEE_OTHER.into_response();
    let known = [
        (of_who(&headers), told.who.map(|who| one_line(&who))),
        ("unit".to_owned(), told.unit.and_then(|unit| unit.parse::<Unit>().ok()).map(|unit| unit.symbol().to_owned())),
        ("theme".to_owned(), told.theme.and_then(|theme| Theme::meant_by(&theme)).map(|theme| theme.word().to_owned())),
    ];
    for (name, value) in known {
        let Some(value) = value else { continue };
        let value = utf8_percent_encode(&value, NON_ALPHANUMERIC);
        let cookie = format!("{name}={value}; Path=/; Max-Age={REMEMBERED_S}; SameSite=Lax; HttpOnly");
        if let Ok(cookie) = HeaderValue::from_str(&cookie) {
            response.headers_mut().append(SET_COOKIE, cookie);
        }
    }
    let back = told.back.filter(|back| is_here(back)).and_then(|back| HeaderValue::from_str(&back).ok());
    response.headers_mut().insert(LOCATION, back.unwrap_or(HeaderValue::from_static("/")));
    response
}

/// Whether an address is a path of this app, and not another site's in disguise.
pub(crate) fn is_here(address: &str) -> bool {
    // Browsers leave tabs and line breaks out of an address, after which it may begin with two slashes.
    let is_plain = |c: char| c.is_ascii_graphic() && c != '\\';
    address.starts_with('/') && !address.starts_with("//") && address.chars().all(is_plain)
}

#[cfg(test)]
mod tests {
    use axum::http::header::COOKIE;

    use super::*;

    #[test]
    fn what_a_device_remembers_is_read_and_nonsense_is_not() {
        let of = |cookies: &str| {
            let mut headers = HeaderMap::new();
            headers.insert(COOKIE, HeaderValue::from_str(cookies).unwrap());
            Preferences::of(&headers, "/", Way::Loopback)
        };
        let told = of("theme=dark; who=J%2E%20%C3%84; unit=mil");
        assert_eq!((told.who.as_str(), told.unit, told.theme), ("J. \u{c4}", Unit::Mil, Theme::Dark));
        let nonsense = of("theme=pink; unit=furlong; who=a%0Ab; who2=c");
        assert_eq!((nonsense.who.as_str(), nonsense.unit, nonsense.theme), ("ab", Unit::Micrometre, Theme::Device));
    }

    #[test]
    fn only_a_path_of_this_app_is_gone_back_to() {
        assert!(is_here("/jobs/1?x=2"));
        for elsewhere in [
            "",
            "jobs",
            "//elsewhere.example",
            "https://elsewhere.example",
            "/\\elsewhere.example",
            "/\t/elsewhere.example",
            "/\n/elsewhere.example",
        ] {
            assert!(!is_here(elsewhere), "{elsewhere}");
        }
    }
}
