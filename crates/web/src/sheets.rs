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

/// Fewest letters of a sheet's salt. Judgement: 16 hexadecimal digits are 64 bits, too many to try with every name; fewer, and a name could be guessed from
/// the hash; more, and sheets of other programs would be refused for nothing. Our pages send 32. Sheets with fewer are still read.
const FEWEST_OF_SALT: usize = 16;

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
    let found = sheet.salt.chars().count();
    if found < FEWEST_OF_SALT {
        return Err(Failure::NoSense(format!(
            "this sheet has {found} random letters: at least {FEWEST_OF_SALT} are wanted, so that nobody can guess the name from its hash"
        )));
    }
    let bytes = serde_json::to_vec(&sheet).map_err(|_| Failure::Inside)?;
    let digest = blocking(move || Ok(shop.keep(&bytes)?)).await?;
    Ok(Json(json!({ "sheet": digest.to_string() })))
}

/// The sheet of that hash; none where it was erased, or is not here.
pub(crate) fn read(shop: &Shop, digest: Digest) -> Option<Sheet> {
    let bytes = shop.kept(digest).ok().flatten()?;
    serde_json::from_slice(&bytes).ok()
}
