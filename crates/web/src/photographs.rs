//! Photographs: kept by their hash beside the record, and shown to whoever looks at the job.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::http::header::{CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_SECURITY_POLICY, CONTENT_TYPE, HeaderName};
use axum::response::{IntoResponse, Response};
use lastmicron_job::event::{Digest, Id};
use lastmicron_store::{Part, Parted, There};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::asked::{AtMost, JobId};
use crate::failure::Failure;
use crate::router::blocking;
use crate::shop::Shop;

/// Most bytes of a photograph. Judgement: a phone's are 2 to 12 million; one of 48 megapixels some 20.
const MOST_BYTES: usize = 32 * 1024 * 1024;

/// Most bytes of a part of one. Judgement: what weak Wi-Fi carries in a few seconds, so that little is lost with a line.
const MOST_PART_BYTES: usize = 256 * 1024;

/// How files of each kind begin, and what they are called.
const KINDS: [(&[u8], &str); 2] = [(b"\xff\xd8\xff", "image/jpeg"), (b"\x89PNG\r\n\x1a\n", "image/png")];

/// What was handed in is a picture in a page and nothing by itself: opened alone it is saved, and were it more than a picture it could do nothing.
pub(crate) const UNTRUSTED: [(HeaderName, &str); 2] =
    [(CONTENT_SECURITY_POLICY, "default-src 'none'; sandbox"), (CONTENT_DISPOSITION, "attachment")];

fn kind(bytes: &[u8]) -> Option<&'static str> {
    // RIFF holds sounds and films too: which it is stands behind the length.
    if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        return Some("image/webp");
    }
    KINDS.iter().find(|(start, _)| bytes.starts_with(start)).map(|(_, kind)| *kind)
}

/// Keeps a photograph, and answers with its hash.
pub(crate) async fn keep(State(shop): State<Arc<Shop>>, AtMost(bytes): AtMost<MOST_BYTES>) -> Result<Json<Value>, Failure> {
    if kind(&bytes).is_none() {
        return Err(not_one());
    }
    let digest = blocking(move || Ok(shop.keep(&bytes)?)).await?;
    Ok(Json(json!({ "photograph": digest.to_string() })))
}

/// Where a part stands among the bytes of its photograph, and whose it is.
#[derive(Debug, Deserialize)]
pub(crate) struct Placed {
    /// Bytes before it.
    at: usize,
    /// Bytes of them all.
    of: usize,
    /// The job whose pages are told when all are there.
    job: Option<Id>,
}

/// Takes a part of a photograph, and answers with how much of it is there: 409 where that is not what the part goes on from, for then it was not taken.
pub(crate) async fn part(
    State(shop): State<Arc<Shop>>,
    Path(digest): Path<String>,
    Query(placed): Query<Placed>,
    AtMost(bytes): AtMost<MOST_PART_BYTES>,
) -> Result<Response, Failure> {
    let digest: Digest = digest.parse().map_err(|_| Failure::NoPage)?;
    let Placed { at, of, job } = placed;
    if of > MOST_BYTES || bytes.len() > of.saturating_sub(at) {
        return Err(Failure::NoSense(format!(
            "a photograph has at most {MOST_BYTES} bytes, and no more than were said: this was not kept"
        )));
    }
    if at == 0 && kind(&bytes).is_none() {
        return Err(not_one());
    }
    let parted = blocking(move || Ok(shop.keep_part(Part { digest, size: of, at, bytes: &bytes }, job)?)).await?;
    match parted {
        Parted::Taken(there) => Ok(told(digest, there).into_response()),
        Parted::Elsewhere(there) => Ok((StatusCode::CONFLICT, told(digest, there)).into_response()),
        Parted::NotThose => {
            Err(Failure::NoSense("the bytes that came are not those of this photograph, and were thrown away: send it anew".to_owned()))
        }
    }
}

/// Answers with how much of a photograph is there.
pub(crate) async fn there(State(shop): State<Arc<Shop>>, Path(digest): Path<String>) -> Result<Json<Value>, Failure> {
    let digest: Digest = digest.parse().map_err(|_| Failure::NoPage)?;
    blocking(move || Ok(told(digest, shop.there(digest)?))).await
}

fn told(digest: Digest, there: There) -> Json<Value> {
    Json(match there {
        There::Whole => json!({ "photograph": digest.to_string(), "whole": true }),
        There::Bytes(bytes) => json!({ "photograph": digest.to_string(), "whole": false, "there": bytes }),
    })
}

fn not_one() -> Failure {
    Failure::NoSense("this is neither JPEG nor PNG nor WebP, and was not kept".to_owned())
}

/// Answers with a photograph of a job, and of no other.
pub(crate) async fn photograph(
    State(shop): State<Arc<Shop>>,
    JobId(id): JobId,
    Path((_, digest)): Path<(String, String)>,
) -> Result<Response, Failure> {
    let digest: Digest = digest.parse().map_err(|_| Failure::NoPage)?;
    let (bytes, kind) = blocking(move || of_job(&shop, id, digest)).await?;
    Ok((UNTRUSTED, [(CONTENT_TYPE, kind), (CACHE_CONTROL, "private, max-age=31536000, immutable")], bytes).into_response())
}

/// The bytes of a photograph of a job, and of no other, with their kind.
pub(crate) fn of_job(shop: &Shop, id: Id, digest: Digest) -> Result<(Vec<u8>, &'static str), Failure> {
    let folded = shop.folded(id)?;
    let is_of_job = folded.standing.photographs.iter().any(|attached| attached.photograph == digest);
    let bytes = shop.kept(digest)?.filter(|_| is_of_job).ok_or(Failure::NoPage)?;
    let kind = kind(&bytes).ok_or(Failure::NoPage)?;
    Ok((bytes, kind))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_what_its_first_bytes_say_and_a_sound_is_no_photograph() {
        assert_eq!(kind(b"RIFF\x24\x00\x00\x00WEBPVP8 "), Some("image/webp"));
        assert_eq!(kind(b"\xff\xd8\xff\xe0"), Some("image/jpeg"));
        for other in [&b"RIFF\x24\x00\x00\x00WAVEfmt "[..], b"RIFF\x24\x00\x00\x00WEB", b"RIFF", b"\x89PNG", b""] {
            assert_eq!(kind(other), None, "{other:?}");
        }
    }
}
