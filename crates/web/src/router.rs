//! Which address is answered by what.

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn_with_state, map_response};
use axum::routing::{MethodRouter, get, post};

use crate::failure::{Failure, as_problem};
use crate::shop::Shop;
use crate::{
    asset, changes, csv_page, device_page, events, gauge_page, handover_page, history_page, job_page, jobs_page, keeping, new_job,
    panels_page, photographs, plan_page, policy, preference, question, records, sheets, spots_page, survey_page, terms_page, vehicle_page,
    verify_page, waiting_page, work_page, worker, workshop_page,
};

/// Most bytes of a form that a browser sends by itself, as of what a device is told. What scripts send has limits of its own.
const FORM_BYTES: usize = 4096;

/// The whole app over a shop.
pub fn router(shop: Shop) -> Router {
    let shop = Arc::new(shop);
    Router::new()
        .route("/healthz", get(keeping::healthz))
        .route("/readyz", for_programs(get(keeping::readyz)))
        .route("/", get(jobs_page::jobs))
        .route("/device", get(device_page::device).post(preference::tell))
        .route("/new", get(new_job::bodies))
        .route("/new/{body}", get(new_job::vehicle))
        .route("/sheets", for_programs(post(sheets::keep)))
        .route("/photographs", for_programs(post(photographs::keep)))
        .route("/photographs/{digest}", for_programs(get(photographs::there).put(photographs::part)))
        .route("/jobs/{job}", get(job_page::job))
        .route("/jobs/{job}/vehicle", get(vehicle_page::vehicle))
        .route("/jobs/{job}/panels", get(panels_page::panels))
        .route("/jobs/{job}/terms", get(terms_page::terms))
        .route("/jobs/{job}/workshop", get(workshop_page::workshop))
        .route("/jobs/{job}/gauge", get(gauge_page::gauge))
        .route("/jobs/{job}/survey", get(survey_page::vehicle))
        .route("/jobs/{job}/readings", get(csv_page::empty).post(csv_page::preview))
        .route("/jobs/{job}/survey/{panel}", get(survey_page::panel))
        .route("/jobs/{job}/survey/{panel}/question", for_programs(post(question::question)))
        .route("/jobs/{job}/spots", get(spots_page::spots))
        .route("/jobs/{job}/plan", get(plan_page::vehicle))
        .route("/jobs/{job}/acceptance", for_programs(post(plan_page::kept)))
        .route("/jobs/{job}/plan/{panel}", get(plan_page::panel))
        .route("/jobs/{job}/work", get(work_page::work))
        .route("/records", for_programs(post(records::bring_in)))
        .route("/jobs/{job}/record", get(records::take_out))
        .route("/verify", get(verify_page::page).merge(for_programs(post(verify_page::verify))))
        .route("/jobs/{job}/handover", get(handover_page::handover))
        .route("/jobs/{job}/handover/{panel}", get(handover_page::panel))
        .route("/jobs/{job}/handover.pdf", get(handover_page::pdf))
        .route("/jobs/{job}/photographs/{digest}", get(photographs::photograph))
        .route("/jobs/{job}/history", get(history_page::history))
        .route("/jobs/{job}/events", for_programs(post(events::take)))
        .route("/jobs/{job}/changes", get(changes::changes))
        .route("/waiting", get(waiting_page::waiting))
        .route("/worker.js", get(worker::worker))
        .route("/manifest.webmanifest", get(worker::manifest))
        .route("/assets/{name}", get(asset::asset))
        .fallback(async || Failure::NoPage)
        .layer(DefaultBodyLimit::max(FORM_BYTES))
        .with_state(Arc::clone(&shop))
        .layer(from_fn_with_state(shop, policy::hold))
}

/// What scripts and other programs ask: what goes wrong is told in their way.
fn for_programs(asked: MethodRouter<Arc<Shop>>) -> MethodRouter<Arc<Shop>> {
    asked.layer(map_response(as_problem))
}

/// Does what blocks beside the threads that answer.
pub(crate) async fn blocking<T: Send + 'static>(work: impl FnOnce() -> Result<T, Failure> + Send + 'static) -> Result<T, Failure> {
    tokio::task::spawn_blocking(work).await.map_err(|_| Failure::Inside)?
}
