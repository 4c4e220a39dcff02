//! Files that a browser keeps: each has its hash in its address, so that a new one is another address.

use std::sync::LazyLock;

use axum::extract::Path;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};

use crate::failure::Failure;

/// A file and its address.
#[derive(Debug)]
pub(crate) struct Asset {
    name: String,
    kind: &'static str,
    bytes: &'static [u8],
}

/// The stylesheet.
pub(crate) static STYLE: LazyLock<Asset> =
    LazyLock::new(|| Asset::new("style", "css", "text/css; charset=utf-8", include_bytes!("../assets/style.css")));

impl Asset {
    fn new(stem: &str, ending: &str, kind: &'static str, bytes: &'static [u8]) -> Self {
        let hash: String = Sha256::digest(bytes).iter().take(8).map(|byte| format!("{byte:02x}")).collect();
        Self { name: format!("{stem}-{hash}.{ending}"), kind, bytes }
    }

    /// Its address.
    pub(crate) fn path(&self) -> String {
        format!("/assets/{}", self.name)
    }
}

/// Answers with the file of that name.
pub(crate) async fn asset(Path(name): Path<String>) -> Result<Response, Failure> {
    let found = [&*STYLE].into_iter().find(|asset| asset.name == name).ok_or(Failure::NoPage)?;
    Ok(([(CONTENT_TYPE, found.kind), (CACHE_CONTROL, "public, max-age=31536000, immutable")], found.bytes).into_response())
}
