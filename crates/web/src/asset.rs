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
    bytes: Vec<u8>,
}

/// The stylesheet.
pub(crate) static STYLE: LazyLock<Asset> = LazyLock::new(|| {
    Asset::new("style", "css", concat!(include_str!("../assets/style.css"), include_str!("../assets/people.css")).as_bytes().to_vec())
});
/// The mark beside a page's name: layers of film, and a probe on the last.
pub(crate) static ICON: LazyLock<Asset> = LazyLock::new(|| Asset::new("icon", "svg", include_bytes!("../assets/icon.svg").to_vec()));
/// The same among a device's other apps.
pub(crate) static HOME_ICON: LazyLock<Asset> =
    LazyLock::new(|| Asset::new("icon-192", "png", include_bytes!("../assets/icon-192.png").to_vec()));
/// The same, large.
pub(crate) static LARGE_ICON: LazyLock<Asset> =
    LazyLock::new(|| Asset::new("icon-512", "png", include_bytes!("../assets/icon-512.png").to_vec()));
/// The same for devices that cut their own shape out of it: all that matters lies within the middle four fifths.
pub(crate) static CUT_ICON: LazyLock<Asset> =
    LazyLock::new(|| Asset::new("icon-cut", "png", include_bytes!("../assets/icon-cut.png").to_vec()));
/// What knows bytes by their hash.
pub(crate) static SHA256: LazyLock<Asset> = LazyLock::new(|| script("sha256", include_str!("../assets/sha256.js"), &[]));
/// What alone makes pages of texts.
pub(crate) static TRUSTED: LazyLock<Asset> = LazyLock::new(|| script("trusted", include_str!("../assets/trusted.js"), &[]));
/// What knows for whom a page was made.
pub(crate) static WHOSE: LazyLock<Asset> = LazyLock::new(|| script("whose", include_str!("../assets/whose.js"), &[]));
/// What asks for a PIN where the device is locked.
pub(crate) static LOCK: LazyLock<Asset> =
    LazyLock::new(|| script("lock", include_str!("../assets/lock.js"), &[("trusted", &TRUSTED), ("whose", &WHOSE)]));
/// What shows a client their job.
pub(crate) static LOOK: LazyLock<Asset> = LazyLock::new(|| script("look", include_str!("../assets/look.js"), &[]));
/// What keeps events and photographs until they are in the record.
pub(crate) static OUTBOX: LazyLock<Asset> = LazyLock::new(|| script("outbox", include_str!("../assets/outbox.js"), &[("sha256", &SHA256)]));
/// What sends them.
pub(crate) static SEND: LazyLock<Asset> =
    LazyLock::new(|| script("send", include_str!("../assets/send.js"), &[("outbox", &OUTBOX), ("lock", &LOCK)]));
/// What says how a page stands, and what waits.
pub(crate) static STANDING: LazyLock<Asset> =
    LazyLock::new(|| script("standing", include_str!("../assets/standing.js"), &[("outbox", &OUTBOX)]));
/// What makes events.
pub(crate) static RECORD: LazyLock<Asset> = LazyLock::new(|| {
    script("record", include_str!("../assets/record.js"), &[("sha256", &SHA256), ("outbox", &OUTBOX), ("send", &SEND), ("whose", &WHOSE)])
});
/// What shows what others record.
pub(crate) static LIVE: LazyLock<Asset> = LazyLock::new(|| {
    script("live", include_str!("../assets/live.js"), &[("standing", &STANDING), ("lock", &LOCK), ("trusted", &TRUSTED), ("whose", &WHOSE)])
});
/// What every page runs.
pub(crate) static APP: LazyLock<Asset> =
    LazyLock::new(|| script("app", include_str!("../assets/app.js"), &[("record", &RECORD), ("live", &LIVE), ("standing", &STANDING)]));
/// What tells where on a panel's map a finger came down.
pub(crate) static MAP: LazyLock<Asset> = LazyLock::new(|| script("map", include_str!("../assets/map.js"), &[]));
/// What marks a test spot on the map.
pub(crate) static SPOTS: LazyLock<Asset> =
    LazyLock::new(|| script("spots", include_str!("../assets/spots.js"), &[("live", &LIVE), ("map", &MAP)]));
/// What has pages kept on the device.
pub(crate) static ALONG: LazyLock<Asset> =
    LazyLock::new(|| script("along", include_str!("../assets/along.js"), &[("outbox", &OUTBOX), ("lock", &LOCK), ("trusted", &TRUSTED)]));
/// What takes readings.
pub(crate) static SURVEY: LazyLock<Asset> = LazyLock::new(|| {
    let imports: [(&str, &Asset); 7] =
        [("record", &RECORD), ("live", &LIVE), ("app", &APP), ("outbox", &OUTBOX), ("send", &SEND), ("map", &MAP), ("whose", &WHOSE)];
    script("survey", include_str!("../assets/survey.js"), &imports)
});
/// What shows how long a section takes, and what is done on it where nobody answers.
pub(crate) static WORK: LazyLock<Asset> =
    LazyLock::new(|| script("work", include_str!("../assets/work.js"), &[("outbox", &OUTBOX), ("live", &LIVE)]));
/// What shows what waits on the device.
pub(crate) static WAITING: LazyLock<Asset> =
    LazyLock::new(|| script("waiting", include_str!("../assets/waiting.js"), &[("outbox", &OUTBOX), ("send", &SEND), ("app", &APP)]));
/// What has a document checked.
pub(crate) static VERIFY: LazyLock<Asset> = LazyLock::new(|| script("verify", include_str!("../assets/verify.js"), &[]));
/// What shows what a gauge sends.
pub(crate) static GAUGE: LazyLock<Asset> = LazyLock::new(|| script("gauge", include_str!("../assets/gauge.js"), &[]));

/// All of them: what a device takes along.
pub(crate) fn all() -> [&'static Asset; 24] {
    [
        &STYLE,
        &ICON,
        &HOME_ICON,
        &LARGE_ICON,
        &CUT_ICON,
        &SHA256,
        &TRUSTED,
        &WHOSE,
        &LOCK,
        &LOOK,
        &OUTBOX,
        &SEND,
        &STANDING,
        &RECORD,
        &LIVE,
        &APP,
        &ALONG,
        &MAP,
        &SPOTS,
        &SURVEY,
        &WORK,
        &WAITING,
        &VERIFY,
        &GAUGE,
    ]
}

/// A script, with the addresses of those that it imports.
fn script(stem: &str, text: &str, imports: &[(&str, &Asset)]) -> Asset {
    let whole =
        |text: String, (name, asset): &(&str, &Asset)| text.replace(&format!("\"/assets/{name}.js\""), &format!("\"{}\"", asset.path()));
    Asset::new(stem, "js", imports.iter().fold(text.to_owned(), whole).into_bytes())
}

impl Asset {
    fn new(stem: &str, ending: &str, bytes: Vec<u8>) -> Self {
        let hash: String = Sha256::digest(&bytes).iter().take(8).map(|byte| format!("{byte:02x}")).collect();
        let kind = match ending {
            "css" => "text/css; charset=utf-8",
            "svg" => "image/svg+xml",
            "png" => "image/png",
            _ => "text/javascript; charset=utf-8",
        };
        Self { name: format!("{stem}-{hash}.{ending}"), kind, bytes }
    }

    /// Its address.
    pub(crate) fn path(&self) -> String {
        format!("/assets/{}", self.name)
    }

    /// What it is.
    pub(crate) const fn kind(&self) -> &'static str {
        self.kind
    }

    /// What is in it.
    pub(crate) const fn bytes(&self) -> &[u8] {
        self.bytes.as_slice()
    }
}

/// Answers with the file of that name.
pub(crate) async fn asset(Path(name): Path<String>) -> Result<Response, Failure> {
    let found = all().into_iter().find(|asset| asset.name == name).ok_or(Failure::NoPage)?;
    Ok(([(CONTENT_TYPE, found.kind), (CACHE_CONTROL, "public, max-age=31536000, immutable")], found.bytes.as_slice()).into_response())
}
