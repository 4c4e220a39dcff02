//! Whole records, taken out as a file and brought in.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use lastmicron_record::{Bundle, is_waited, read_waited};
use lastmicron_store::{BroughtIn, TakenIn};
use serde_json::{Value, json};

use crate::asked::{AtMost, JobId};
use crate::failure::Failure;
use crate::router::blocking;
use crate::shop::Shop;

/// Most bytes of a record's file. Judgement: thirty photographs of 8 MB, as base64.
const MOST_BYTES: usize = 320 * 1024 * 1024;

/// Answers with the record of a job as a file.
pub(crate) async fn take_out(State(shop): State<Arc<Shop>>, JobId(id): JobId) -> Result<Response, Failure> {
    let bytes = blocking(move || {
        let bundle = shop.take_out(id)?.ok_or(Failure::NoJob)?;
        bundle.write().map_err(|broken| Failure::NoSense(broken.to_string()))
    })
    .await?;
    let name = format!("attachment; filename=\"{id}.record\"");
    Ok(([(CONTENT_TYPE, "application/jsonl".to_owned()), (CONTENT_DISPOSITION, name)], bytes).into_response())
}

/// Brings a record in, or events that waited on a device, and answers with what became of it.
pub(crate) async fn bring_in(State(shop): State<Arc<Shop>>, AtMost(bytes): AtMost<MOST_BYTES>) -> Result<Json<Value>, Failure> {
    blocking(move || {
        if is_waited(&bytes) {
            return waited(&shop, &bytes);
        }
        let bundle = Bundle::read(&bytes).map_err(|error| Failure::NoSense(error.to_string()))?;
        let brought = shop.bring_in(&bundle)?.ok_or_else(|| Failure::NoSense("there are no events in it".to_owned()))?;
        let BroughtIn { job, events, new, refused, left_out, same } = brought;
        Ok(Json(json!({ "job": job, "events": events, "new": new, "refused": refused, "left_out": left_out, "same": same })))
    })
    .await
}

fn waited(shop: &Shop, bytes: &[u8]) -> Result<Json<Value>, Failure> {
    let events = read_waited(bytes).map_err(|error| Failure::NoSense(error.to_string()))?;
    let TakenIn { jobs, events, refused } = shop.take_in(&events)?;
    let job = jobs.first().ok_or_else(|| Failure::NoSense("there are no events in it that are not refused".to_owned()))?;
    Ok(Json(json!({ "job": job, "events": events, "refused": refused.len(), "same": false })))
}
