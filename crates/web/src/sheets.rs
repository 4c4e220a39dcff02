//! Sheets that name somebody, kept apart from the record, which knows them by their hash: so that a name can be erased while the record stays whole.

use std::sync::Arc;

use axum::Json;
use axum::extract::State;
use lastmicron_job::event::Digest;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use crate::asked::AtMost;
use crate::failure::Failure;
use crate::router::blocking;
use crate::shop::Shop;

/// Most bytes of a sheet: a name and how to reach somebody.
const MOST_BYTES: usize = 4096;

/// What a sheet holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Sheet {
    /// Drawn at random, so that a name that is guessed can't be tried against the hash.
    pub(crate) salt: String,
    /// Who.
    pub(crate) name: String,
    /// How to reach them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) reach: Option<String>,
}

/// Keeps a sheet, and answers with its hash.
pub(crate) async fn keep(State(shop): State<Arc<Shop>>, AtMost(bytes): AtMost<MOST_BYTES>) -> Result<Json<Value>, Failure> {
    let sheet: Sheet = serde_json::from_slice(&bytes).map_err(|error| Failure::NoSense(format!("this is not a sheet: {error}")))?;
    let bytes = serde_json::to_vec(&sheet).map_err(|_| Failure::Inside)?;
    let digest = blocking(move || Ok(shop.keep(&bytes)?)).await?;
    Ok(Json(json!({ "sheet": digest.to_string() })))
}

/// The sheet of that hash; none where it was erased, or is not here.
pub(crate) fn read(shop: &Shop, digest: Digest) -> Option<Sheet> {
    let bytes = shop.kept(digest).ok().flatten()?;
    serde_json::from_slice(&bytes).ok()
}
