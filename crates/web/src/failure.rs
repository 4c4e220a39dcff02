//! Why a request has no answer, as a status and as a sentence: the one table from one to the other.

use axum::Extension;
use axum::http::StatusCode;
use axum::http::header::{CONTENT_TYPE, HeaderValue, RETRY_AFTER};
use axum::response::{IntoResponse, Response};
use lastmicron_plan::PlanError;
use lastmicron_store::StoreError;
use maud::html;
use serde_json::json;

use crate::came_from::{CameFrom, Known};
use crate::frame::Page;
use crate::keeping::told_in_browser;
use crate::preference::Preferences;
use crate::wording::{capital, waiting};

/// Why.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub(crate) enum Failure {
    #[error("there is no such page")]
    NoPage,
    #[error("there is no such job here: it may be in another workshop's record, or the address was cut short")]
    NoJob,
    #[error("this address is not one that the app answers to: open it by the address that it printed when it started")]
    Host,
    #[error("this came from another site, and was not taken")]
    CrossSite,
    #[error("this is more than {most} bytes, and was not taken: send it in parts")]
    TooLarge { most: usize },
    #[error("{0}")]
    NotEvents(String),
    #[error("{0}")]
    NoSense(String),
    #[error("there is no such panel in this job")]
    NoPanel,
    #[error("this device is not known here, or was made unknown: make it known at /enter, with a code. What waits on it stays there")]
    Unknown,
    #[error("this device is locked: sign in with your PIN or passphrase. What was typed and what waits stays")]
    Locked,
    #[error("{0}")]
    NotAllowed(String),
    #[error("too many tries: wait {} before the next", waiting(.wait_s))]
    Throttled { wait_s: i64 },
    #[error(transparent)]
    Plan(#[from] PlanError),
    #[error("{}", told_in_browser(.0))]
    Store(#[from] StoreError),
    #[error("nothing would be taken now: {}", told_in_browser(.0))]
    NotReady(StoreError),
    #[error("something went wrong inside: what was acknowledged before is kept. Try again")]
    Inside,
}

impl Failure {
    pub(crate) const fn status(&self) -> StatusCode {
        match self {
            Self::NoPage | Self::NoJob | Self::NoPanel => StatusCode::NOT_FOUND,
            Self::Host => StatusCode::MISDIRECTED_REQUEST,
            Self::CrossSite | Self::NotAllowed(_) => StatusCode::FORBIDDEN,
            Self::Unknown => StatusCode::UNAUTHORIZED,
            Self::Locked => StatusCode::LOCKED,
            Self::Throttled { .. } => StatusCode::TOO_MANY_REQUESTS,
            Self::TooLarge { .. } => StatusCode::PAYLOAD_TOO_LARGE,
            Self::NotEvents(_) | Self::NoSense(_) | Self::Plan(_) => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Store(StoreError::Full | StoreError::Low { .. }) => StatusCode::INSUFFICIENT_STORAGE,
            Self::NotReady(_)
            | Self::Store(
                StoreError::Damaged(_) | StoreError::Disk(_) | StoreError::Io { .. } | StoreError::OnlyRead | StoreError::Closed,
            ) => StatusCode::SERVICE_UNAVAILABLE,
            Self::Store(_) | Self::Inside => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    /// For a program that sent events: RFC 9457.
    pub(crate) fn problem(&self) -> Response {
        let status = self.status();
        let body = json!({ "title": status.canonical_reason(), "status": status.as_u16(), "detail": self.to_string() });
        let mut response = (status, [(CONTENT_TYPE, "application/problem+json")], body.to_string()).into_response();
        if let Self::Throttled { wait_s } = self {
            response.headers_mut().insert(RETRY_AFTER, HeaderValue::from(*wait_s));
        }
        response
    }

    /// For a person, as bright as their device has it, with ways back.
    pub(crate) fn page(&self, preferences: &Preferences, from: &CameFrom) -> Response {
        let ways = from.ways_back(if matches!(self, Self::NoJob) { Known::NotHere } else { Known::Perhaps });
        // What took a form need not be a page: the frame comes back to the form.
        let path = from.left().unwrap_or(&preferences.path).to_owned();
        let preferences = &Preferences { path, ..preferences.clone() };
        let body = html! {
            h1 { "Not found or not done" }
            p { (capital(&self.to_string())) "." }
            div.row { @for (at, (to, words)) in ways.iter().enumerate() { a.button.primary[at == 0] href=(to) { (words) } } }
        };
        (self.status(), Page { preferences, title: "Not done", job: None, script: None }.with(&body)).into_response()
    }
}

/// Tells a program what went wrong, where something did.
pub(crate) async fn as_problem(mut response: Response) -> Response {
    response.extensions_mut().remove::<Failure>().map_or(response, |failure| failure.problem())
}

/// What went wrong, without a page yet: what holds for every answer knows whose device it is for, and makes the page.
impl IntoResponse for Failure {
    fn into_response(self) -> Response {
        (self.status(), Extension(self)).into_response()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disk_that_fails_is_no_mistake_of_the_program_and_says_nothing_of_the_machine() {
        let path = std::path::PathBuf::from("/srv/bay/records/kept/ab");
        let failing = [
            StoreError::Io { path: path.clone(), what: "Input/output error (os error 5)".to_owned() },
            StoreError::Disk("unable to open database file: /srv/bay/records/record.sqlite".to_owned()),
            StoreError::Damaged(format!("{} has other bytes than it had", path.display())),
        ];
        for error in failing {
            for failure in [Failure::Store(error.clone()), Failure::NotReady(error.clone())] {
                assert_eq!(failure.status(), StatusCode::SERVICE_UNAVAILABLE, "{failure}");
                assert!(!failure.to_string().contains("/srv") && failure.to_string().contains("lastmicron doctor"), "{failure}");
            }
        }
        for error in [StoreError::NotARecord(path.clone()), StoreError::InUse(path.clone()), StoreError::NoRecord(path)] {
            assert!(!Failure::Store(error).to_string().contains("/srv"));
        }
    }
}
