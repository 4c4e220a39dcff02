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
    text: String,
}

/// The stylesheet.
pub(crate) static STYLE: LazyLock<Asset> = LazyLock::new(|| Asset::new("style", "css", include_str!("../assets/style.css").to_owned()));
/// The mark beside a page's name: layers of film, and a probe on the last.
pub(crate) static ICON: LazyLock<Asset> = LazyLock::new(|| Asset::new("icon", "svg", include_str!("../assets/icon.svg").to_owned()));
/// What makes events.
pub(crate) static RECORD: LazyLock<Asset> = LazyLock::new(|| Asset::new("record", "js", include_str!("../assets/record.js").to_owned()));
/// What shows what others record.
pub(crate) static LIVE: LazyLock<Asset> = LazyLock::new(|| Asset::new("live", "js", include_str!("../assets/live.js").to_owned()));
/// What every page runs.
pub(crate) static APP: LazyLock<Asset> =
    LazyLock::new(|| script("app", include_str!("../assets/app.js"), &[("record", &RECORD), ("live", &LIVE)]));
/// What tells where on a panel's map a finger came down.
pub(crate) static MAP: LazyLock<Asset> = LazyLock::new(|| Asset::new("map", "js", include_str!("../assets/map.js").to_owned()));
/// What takes readings.
pub(crate) static SURVEY: LazyLock<Asset> = LazyLock::new(|| {
    script("survey", include_str!("../assets/survey.js"), &[("record", &RECORD), ("live", &LIVE), ("app", &APP), ("map", &MAP)])
});
/// What marks a test spot on the map.
pub(crate) static SPOTS: LazyLock<Asset> =
    LazyLock::new(|| script("spots", include_str!("../assets/spots.js"), &[("live", &LIVE), ("map", &MAP)]));
/// What shows how long a section takes.
pub(crate) static WORK: LazyLock<Asset> = LazyLock::new(|| script("work", include_str!("../assets/work.js"), &[]));
/// What has a document checked.
pub(crate) static VERIFY: LazyLock<Asset> = LazyLock::new(|| script("verify", include_str!("../assets/verify.js"), &[]));
/// What shows what a gauge sends.
pub(crate) static GAUGE: LazyLock<Asset> = LazyLock::new(|| script("gauge", include_str!("../assets/gauge.js"), &[]));

/// A script, with the addresses of those that it imports.
fn script(stem: &str, text: &str, imports: &[(&str, &Asset)]) -> Asset {
    let whole =
        |text: String, (name, asset): &(&str, &Asset)| text.replace(&format!("\"/assets/{name}.js\""), &format!("\"{}\"", asset.path()));
    Asset::new(stem, "js", imports.iter().fold(text.to_owned(), whole))
}

impl Asset {
    fn new(stem: &str, ending: &str, text: String) -> Self {
        let hash: String = Sha256::digest(&text).iter().take(8).map(|byte| format!("{byte:02x}")).collect();
        let kind = match ending {
            "css" => "text/css; charset=utf-8",
            "svg" => "image/svg+xml",
            _ => "text/javascript; charset=utf-8",
        };
        Self { name: format!("{stem}-{hash}.{ending}"), kind, text }
    }

    /// Its address.
    pub(crate) fn path(&self) -> String {
        format!("/assets/{}", self.name)
    }
}

/// Answers with the file of that name.
pub(crate) async fn asset(Path(name): Path<String>) -> Result<Response, Failure> {
    let all = [&*STYLE, &*ICON, &*RECORD, &*LIVE, &*APP, &*MAP, &*SURVEY, &*SPOTS, &*GAUGE, &*WORK, &*VERIFY];
    let found = all.into_iter().find(|asset| asset.name == name).ok_or(Failure::NoPage)?;
    Ok(([(CONTENT_TYPE, found.kind), (CACHE_CONTROL, "public, max-age=31536000, immutable")], found.text.as_str()).into_response())
}
