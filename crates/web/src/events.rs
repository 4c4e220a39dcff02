//! Events taken in.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use lastmicron_job::event::Id;
use lastmicron_record::{Refusal, Sealed};
use lastmicron_store::{Outcome, Receipt};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::asked::{AtMost, JobId};
use crate::caller::Caller;
use crate::failure::Failure;
use crate::permit;
use crate::router::blocking;
use crate::shop::Shop;
use crate::start;

/// Most events that are taken at once, and most bytes of them. Judgement: a device that was away for a day sends thousands, in parts; one part is answered within a second.
const MOST_EVENTS: usize = 200;
const MOST_BYTES: usize = 1 << 20;

/// Takes an array of events of a job, as docs/record.md has them, and answers for each in turn: with its receipt, the first one however often it is sent, or why it was refused.
///
/// 200 when all are in the record; 409 when some can't be, since another event has their id, or since whoever hands them in, or is named in them, may not
/// record them; the others are in all the same. A person who is still there
/// is told first what could not be used: then nothing is taken.
pub(crate) async fn take(
    State(shop): State<Arc<Shop>>,
    caller: Caller,
    JobId(job): JobId,
    Query(told): Query<Told>,
    AtMost(bytes): AtMost<MOST_BYTES>,
) -> Result<Response, Failure> {
    let events = read(job, &bytes)?;
    let answers: Vec<Value> = blocking(move || {
        let refusals = permit::refusals(&shop, &caller, job, &events)?;
        if told.told == Some(Moment::First) {
            let refused = refusals.into_iter().flatten().next();
            let others = if refused.is_none() { permit::others(&shop, &caller, job, &events)? } else { None };
            if let Some(why) = refused.or(others) {
                return Err(Failure::NotAllowed(format!("{why}. Nothing was recorded")));
            }
            sensible(&shop, job, &events)?;
            return Ok(shop.take(events)?.iter().map(answer).collect());
        }
        let allowed = events.into_iter().zip(&refusals).filter(|(_, why)| why.is_none()).map(|(event, _)| event).collect();
        let mut outcomes = shop.take(allowed)?.into_iter();
        Ok(refusals
            .iter()
            .filter_map(|why| why.as_ref().map_or_else(|| outcomes.next().as_ref().map(answer), |why| Some(json!({ "refused": why }))))
            .collect())
    })
    .await?;
    let status = if answers.iter().all(|answer| answer.get("refused").is_none()) { StatusCode::OK } else { StatusCode::CONFLICT };
    Ok((status, Json(answers)).into_response())
}

/// When somebody is told what can't be used.
#[derive(Debug, Deserialize)]
pub(crate) struct Told {
    told: Option<Moment>,
}

/// When that is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Moment {
    /// Before it is recorded. What waited on a device that was away is recorded first: it happened.
    First,
}

fn sensible(shop: &Shop, job: Id, events: &[Sealed]) -> Result<(), Failure> {
    start::sensible(shop, job, events.iter().map(Sealed::event))?;
    let unusable = shop.unusable(job, events)?;
    if unusable.is_empty() {
        return Ok(());
    }
    let why: Vec<String> = unusable.iter().map(|one| one.why.to_string()).collect();
    Err(Failure::NoSense(format!("{}. Nothing was recorded", why.join("; "))))
}

fn read(job: Id, bytes: &[u8]) -> Result<Vec<Sealed>, Failure> {
    let values: Vec<Value> =
        serde_json::from_slice(bytes).map_err(|error| Failure::NotEvents(format!("this is not an array of events: {error}")))?;
    if values.len() > MOST_EVENTS {
        return Err(Failure::NotEvents(format!("{} events: at most {MOST_EVENTS} are taken at once", values.len())));
    }
    let sealed = |(at, value): (usize, Value)| {
        let not = |why: &dyn std::fmt::Display| Failure::NotEvents(format!("event {}: {why}. Nothing was taken", at + 1));
        let sealed = Sealed::read(value.to_string().as_bytes()).map_err(|refusal| not(&refusal))?;
        if sealed.event().job == job { Ok(sealed) } else { Err(not(&"it belongs to another job")) }
    };
    values.into_iter().enumerate().map(sealed).collect()
}

fn answer(outcome: &Outcome) -> Value {
    match outcome {
        Ok(Receipt { id, job, event, seq, received, hash }) => json!({
            "receipt": {
                "id": id.to_string(),
                "job": job.to_string(),
                "event": event.to_string(),
                "seq": seq,
                "received": received.to_string(),
                "hash": hash.to_string(),
            }
        }),
        Err(refusal @ (Refusal::Taken(_) | Refusal::NotJson(_) | Refusal::TooLarge { .. } | Refusal::LongText { .. })) => {
            json!({ "refused": refusal.to_string() })
        }
    }
}
