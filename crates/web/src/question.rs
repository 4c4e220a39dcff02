//! Asking before a number is taken.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, State};
use lastmicron_film::gauge::Layer;
use lastmicron_job::fold::Standing;
use lastmicron_job::words::{LAYERS, meant_by};
use lastmicron_plan::Reading;
use lastmicron_plan::survey::Question;
use lastmicron_units::{Entered, Thickness, Unit};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::asked::{AtMost, JobId, panel_named};
use crate::estimates::ToSurvey;
use crate::failure::Failure;
use crate::router::blocking;
use crate::shop::Shop;

/// Most bytes of what is asked about.
const MOST_BYTES: usize = 2048;

/// A number that somebody is about to take.
#[derive(Debug, Deserialize)]
pub(crate) struct About {
    number: String,
    unit: String,
    x_mm: f64,
    y_mm: f64,
    layer: Option<String>,
    session: Option<String>,
}

/// Answers with what is to be asked about a number, and what may have been meant; with no question where it is to be expected.
pub(crate) async fn question(
    State(shop): State<Arc<Shop>>,
    JobId(job): JobId,
    Path((_, panel)): Path<(String, String)>,
    AtMost(bytes): AtMost<MOST_BYTES>,
) -> Result<Json<Value>, Failure> {
    let about: About = serde_json::from_slice(&bytes).map_err(|error| Failure::NoSense(error.to_string()))?;
    let unit: Unit = about.unit.parse().map_err(|error| Failure::NoSense(format!("{error}")))?;
    if about.number.contains(',') {
        return Ok(Json(not_a_number(&about, unit, "a comma may part thousands or stand before decimals")));
    }
    let entered = match Entered::read(&about.number, unit) {
        Ok(entered) => entered,
        Err(error) => return Ok(Json(not_a_number(&about, unit, &error.to_string()))),
    };
    let question = blocking(move || {
        let folded = shop.folded(job)?;
        let panel = panel_named(&folded.standing, &panel)?;
        let car = ToSurvey::of(&folded.standing).car;
        let reading = Reading {
            panel,
            x_mm: about.x_mm,
            y_mm: about.y_mm,
            value: Thickness::NOTHING,
            layer: about.layer.as_deref().and_then(|word| meant_by(word, &LAYERS)).unwrap_or(Layer::Total),
            after: folded.standing.done_at(panel, [about.x_mm, about.y_mm]),
            gauge: gauge_of(&folded.standing, about.session.as_deref()),
            session: about.session.unwrap_or_default(),
            line: None,
        };
        Ok(shop.estimates.expected(job, car, reading)?.question(entered))
    })
    .await?;
    Ok(Json(question.map_or_else(|| json!({ "taken": as_said(entered) }), |question| told(&question))))
}

/// The gauge of a session; the first where none is named.
fn gauge_of(standing: &Standing, session: Option<&str>) -> usize {
    let named = standing.sessions.iter().rev().find(|known| session == Some(known.name.as_str()));
    named.map_or(0, |session| session.gauge)
}

/// A text that is no number: a comma is never guessed to be a point, but may be said to be one.
fn not_a_number(about: &About, unit: Unit, why: &str) -> Value {
    let with_point = about.number.replace(',', ".");
    let meant: Vec<Value> = Entered::read(&with_point, unit).ok().filter(|_| with_point != about.number).map(as_said).into_iter().collect();
    json!({ "question": format!("{}: {why}.", about.number), "meant": meant })
}

fn told(question: &Question) -> Value {
    json!({
        "question": question.to_string(),
        "meant": question.meant.iter().copied().map(as_said).collect::<Vec<_>>(),
        "taken": as_said(question.entered),
    })
}

fn as_said(entered: Entered) -> Value {
    let text = entered.to_string();
    let (number, unit) = text.split_once(' ').unwrap_or((&text, "um"));
    json!({ "number": number, "unit": unit })
}
