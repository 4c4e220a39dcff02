//! What an address and a body say, read in one way for every page: the job, the panel, and no more bytes than are allowed.

use axum::body::{Bytes, to_bytes};
use axum::extract::{FromRequest, FromRequestParts, RawPathParams, Request};
use axum::http::request::Parts;
use lastmicron_job::event::Id;
use lastmicron_job::fold::Standing;
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};

use crate::failure::Failure;

/// The job that an address names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct JobId(pub(crate) Id);

impl<S: Send + Sync> FromRequestParts<S> for JobId {
    type Rejection = Failure;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Failure> {
        let named = RawPathParams::from_request_parts(parts, state).await.map_err(|_| Failure::NoJob)?;
        let job = named.iter().find_map(|(name, value)| (name == "job").then_some(value));
        job.and_then(|job| job.parse().ok()).map(Self).ok_or(Failure::NoJob)
    }
}

/// A body of at most so many bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct AtMost<const BYTES: usize>(pub(crate) Bytes);

impl<S: Send + Sync, const BYTES: usize> FromRequest<S> for AtMost<BYTES> {
    type Rejection = Failure;

    async fn from_request(request: Request, _: &S) -> Result<Self, Failure> {
        to_bytes(request.into_body(), BYTES).await.map(Self).map_err(|_| Failure::TooLarge { most: BYTES })
    }
}

/// The address of a panel's page: `part` is the page's, like `survey`. It says the panel's name, for its index is another as soon as a panel before it is struck out.
pub(crate) fn panel_address(job: Id, part: &str, name: &str) -> String {
    format!("/jobs/{job}/{part}/{}", utf8_percent_encode(name, NON_ALPHANUMERIC))
}

/// Index of the panel that an address names.
///
/// # Errors
/// `NoPanel` where no panel is called so.
pub(crate) fn panel_named(standing: &Standing, name: &str) -> Result<usize, Failure> {
    standing.panels.iter().position(|panel| panel.panel.name == name).ok_or(Failure::NoPanel)
}
