//! What makes the app start and go on without the network: the worker that keeps its files and pages on a device, and what installs it there.

use std::sync::LazyLock;

use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use serde_json::json;

use crate::asset::{self, CUT_ICON, HOME_ICON, ICON, LARGE_ICON};

/// Pages that are there from the first time on.
const PAGES: [&str; 2] = ["/", "/waiting"];

/// The worker with the addresses of what it takes along: another version of any file makes it another worker.
static WORKER: LazyLock<String> = LazyLock::new(|| {
    let files: Vec<String> = asset::all().into_iter().map(asset::Asset::path).collect();
    let list = |of: serde_json::Value, mark: &str, text: &str| text.replace(&format!("/*{mark}*/[]"), &of.to_string());
    let with_files = list(json!(files), "assets", include_str!("../assets/worker.js"));
    list(json!(PAGES), "pages", &with_files)
});

/// Answers with the worker. A browser asks for it anew each time, so that a device has the newest.
pub(crate) async fn worker() -> Response {
    ([(CONTENT_TYPE, "text/javascript; charset=utf-8"), (CACHE_CONTROL, "no-cache")], WORKER.as_str()).into_response()
}

/// Answers with what a device needs to have the app among its own (W3C, Web Application Manifest).
pub(crate) async fn manifest() -> Response {
    let icon = |of: &asset::Asset, sizes: &str, kind: &str, purpose: &str| json!({ "src": of.path(), "sizes": sizes, "type": kind, "purpose": purpose });
    let manifest = json!({
        "id": "/",
        "name": "lastmicron",
        "short_name": "lastmicron",
        "start_url": "/",
        "scope": "/",
        "display": "standalone",
        "background_color": "#f6f4ee",
        "theme_color": "#20463a",
        "icons": [
            icon(&ICON, "any", "image/svg+xml", "any"),
            icon(&HOME_ICON, "192x192", "image/png", "any"),
            icon(&LARGE_ICON, "512x512", "image/png", "any"),
            icon(&CUT_ICON, "512x512", "image/png", "maskable"),
        ],
    });
    ([(CONTENT_TYPE, "application/manifest+json"), (CACHE_CONTROL, "no-cache")], manifest.to_string()).into_response()
}
