//! Which address is answered by what.

use std::sync::Arc;

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn_with_state, map_response};
use axum::routing::{MethodRouter, get, post};

use crate::failure::{Failure, as_problem};
use crate::guard::Gate;
use crate::reach::Reach;
use crate::shop::Shop;
use crate::{
    asset, changes, csv_page, device_page, enter_page, events, gauge_page, guard, handover_page, history_page, job_page, jobs_page,
    keeping, links_page, lock_page, look_page, new_job, panels_page, people_page, photographs, plan_page, policy, preference, question,
    records, sheets, spots_page, survey_page, terms_page, vehicle_page, verify_page, waiting_page, work_page, worker, workshop_page,
};

/// Most bytes of a form that a browser sends by itself, as of what a device is told. What scripts send has limits of its own.
const FORM_BYTES: usize = 4096;

/// The whole app over a shop, for this machine only.
pub fn router(shop: Shop) -> Router {
    router_for(Arc::new(shop), Reach::default())
}

/// The same, for those whom it is to reach. Whatever answers on a socket tells how and from where a request comes (`ConnectInfo<Arrived>`), or it is taken for one of this machine.
pub fn router_for(shop: Arc<Shop>, reach: Reach) -> Router {
    let gate = Gate { shop: Arc::clone(&shop), reach: Arc::new(reach) };
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
        .route("/enter", get(enter_page::page).post(enter_page::enter))
        .route("/lock", get(lock_page::page).post(lock_page::sign_in))
        .route("/lock/now", post(lock_page::now))
        .route("/lock/here", for_programs(post(lock_page::here)))
        .route("/people", get(people_page::page).post(people_page::add))
        .route("/people/{person}/code", get(people_page::no_code).post(people_page::code))
        .route("/people/{person}/remove", post(people_page::remove))
        .route("/people/devices/{device}/revoke", post(people_page::revoke))
        .route("/people/links/{link}/withdraw", post(people_page::withdraw))
        .route("/jobs/{job}/links", get(links_page::page).post(links_page::make))
        .route("/look", get(look_page::page).post(look_page::show))
        .route("/look/photographs/{digest}", get(look_page::photograph))
        .route("/waiting", get(waiting_page::waiting))
        .route("/worker.js", get(worker::worker))
        .route("/manifest.webmanifest", get(worker::manifest))
        .route("/assets/{name}", get(asset::asset))
        .fallback(async || Failure::NoPage)
        .layer(DefaultBodyLimit::max(FORM_BYTES))
        .with_state(shop)
        .layer(from_fn_with_state(gate.clone(), guard::hold))
        .layer(from_fn_with_state(gate, policy::hold))
}

/// What scripts and other programs ask: what goes wrong is told in their way.
fn for_programs(asked: MethodRouter<Arc<Shop>>) -> MethodRouter<Arc<Shop>> {
    asked.layer(map_response(as_problem))
}

/// Does what blocks beside the threads that answer.
pub(crate) async fn blocking<T: Send + 'static>(work: impl FnOnce() -> Result<T, Failure> + Send + 'static) -> Result<T, Failure> {
    tokio::task::spawn_blocking(work).await.map_err(|_| Failure::Inside)?
}
