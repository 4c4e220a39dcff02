//! Whole records, taken out as a file and brought in.

use std::sync::Arc;

use axum::Json;
use axum::body::{Body, to_bytes};
use axum::extract::{Path, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use lastmicron_job::event::Id;
use lastmicron_record::Bundle;
use serde_json::{Value, json};

use crate::failure::Failure;
use crate::router::blocking;
use crate::shop::Shop;

/// Most bytes of a record's file. Judgement: thirty photographs of 8 MB, as base64.
const MOST_BYTES: usize = 320 * 1024 * 1024;

/// Answers with the record of a job as a file.
pub(crate) async fn take_out(State(shop): State<Arc<Shop>>, Path(job): Path<String>) -> Result<Response, Failure> {
    let id: Id = job.parse().map_err(|_| Failure::NoJob)?;
    let bytes = blocking(move || {
        let bundle = shop.take_out(id)?.ok_or(Failure::NoJob)?;
        bundle.write().map_err(|broken| Failure::NoSense(broken.to_string()))
    })
    .await?;
    let name = format!("attachment; filename=\"{id}.record\"");
    Ok(([(CONTENT_TYPE, "application/jsonl".to_owned()), (CONTENT_DISPOSITION, name)], bytes).into_response())
}

/// Brings a record in, and answers with what became of it.
pub(crate) async fn bring_in(State(shop): State<Arc<Shop>>, body: Body) -> Response {
    match brought(shop, body).await {
        Ok(value) => Json(value).into_response(),
        Err(failure) => failure.problem(),
    }
}

async fn brought(shop: Arc<Shop>, body: Body) -> Result<Value, Failure> {
    let bytes = to_bytes(body, MOST_BYTES).await.map_err(|_| Failure::TooLarge { most: MOST_BYTES })?;
    blocking(move || {
        let bundle = Bundle::read(&bytes).map_err(|error| Failure::NoSense(error.to_string()))?;
        let brought = shop.bring_in(&bundle)?.ok_or_else(|| Failure::NoSense("there are no events in it".to_owned()))?;
        Ok(json!({ "job": brought.job, "events": brought.events, "refused": brought.refused, "same": brought.same }))
    })
    .await
}
