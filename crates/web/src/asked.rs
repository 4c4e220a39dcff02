//! What an address and a body say, read in one way for every page: the job, and no more bytes than are allowed.

use axum::body::{Bytes, to_bytes};
use axum::extract::{FromRequest, FromRequestParts, RawPathParams, Request};
use axum::http::request::Parts;
use lastmicron_job::event::Id;

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
