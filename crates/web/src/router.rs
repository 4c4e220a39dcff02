//! Which address is answered by what.

use std::sync::Arc;

use axum::Router;
use axum::middleware::from_fn;
use axum::routing::{get, post};

use crate::failure::Failure;
use crate::shop::Shop;
use crate::{
    asset, changes, device_page, events, gauge_page, history_page, job_page, jobs_page, new_job, panels_page, plan_page, policy,
    preference, question, sheets, survey_page, terms_page, vehicle_page, workshop_page,
};

/// The whole app over a shop.
pub fn router(shop: Shop) -> Router {
    Router::new()
        .route("/", get(jobs_page::jobs))
        .route("/device", get(device_page::device).post(preference::tell))
        .route("/new", get(new_job::bodies))
        .route("/new/{body}", get(new_job::vehicle))
        .route("/sheets", post(sheets::keep))
        .route("/jobs/{job}", get(job_page::job))
        .route("/jobs/{job}/vehicle", get(vehicle_page::vehicle))
        .route("/jobs/{job}/panels", get(panels_page::panels))
        .route("/jobs/{job}/terms", get(terms_page::terms))
        .route("/jobs/{job}/workshop", get(workshop_page::workshop))
        .route("/jobs/{job}/gauge", get(gauge_page::gauge))
        .route("/jobs/{job}/survey", get(survey_page::vehicle))
        .route("/jobs/{job}/survey/{panel}", get(survey_page::panel))
        .route("/jobs/{job}/survey/{panel}/question", post(question::question))
        .route("/jobs/{job}/plan", get(plan_page::vehicle))
        .route("/jobs/{job}/plan/kept", post(plan_page::kept))
        .route("/jobs/{job}/plan/{panel}", get(plan_page::panel))
        .route("/jobs/{job}/history", get(history_page::history))
        .route("/jobs/{job}/events", post(events::take))
        .route("/jobs/{job}/changes", get(changes::changes))
        .route("/assets/{name}", get(asset::asset))
        .fallback(async || Failure::NoPage)
        .with_state(Arc::new(shop))
        .layer(from_fn(policy::hold))
}

/// Does what blocks beside the threads that answer.
pub(crate) async fn blocking<T: Send + 'static>(work: impl FnOnce() -> Result<T, Failure> + Send + 'static) -> Result<T, Failure> {
    tokio::task::spawn_blocking(work).await.map_err(|_| Failure::Inside)?
}
