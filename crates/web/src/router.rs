//! Which address is answered by what.

use std::sync::Arc;

use axum::Router;
use axum::middleware::from_fn;
use axum::routing::{get, post};

use crate::failure::Failure;
use crate::shop::Shop;
use crate::{asset, events, job_page, jobs_page, policy};

/// The whole app over a shop.
pub fn router(shop: Shop) -> Router {
    Router::new()
        .route("/", get(jobs_page::jobs))
        .route("/jobs/{job}", get(job_page::job))
        .route("/jobs/{job}/events", post(events::take))
        .route("/assets/{name}", get(asset::asset))
        .fallback(async || Failure::NoPage)
        .with_state(Arc::new(shop))
        .layer(from_fn(policy::hold))
}

/// Does what blocks beside the threads that answer.
pub(crate) async fn blocking<T: Send + 'static>(work: impl FnOnce() -> Result<T, Failure> + Send + 'static) -> Result<T, Failure> {
    tokio::task::spawn_blocking(work).await.map_err(|_| Failure::Inside)?
}
