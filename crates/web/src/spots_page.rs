//! Test spots: marked, read, worked a set at a time, looked at under the lamp, and what one more set would do.

mod card;
mod course;
mod looks;
mod marking;
mod proposed;
mod readings;
mod said;

use std::collections::BTreeMap;
use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::Html;
use lastmicron_draw::{Room, correction_curve, in_unit};
use lastmicron_job::event::{Id, Thing};
use lastmicron_plan::survey::PanelSurvey;
use lastmicron_plan::{Car, Outcome, Trial};
use lastmicron_units::Unit;
use maud::{PreEscaped, html};
use serde::Deserialize;

use crate::asked::JobId;
use crate::asset::SPOTS;
use crate::estimates::ToSurvey;
use crate::failure::Failure;
use crate::frame::{OfJob, Page, Part};
use crate::parallel;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};

/// Room of the curve, points: shown as wide as the screen.
const CURVE: Room = Room { width_pt: 260.0, height_pt: 190.0 };

/// The panel that a spot is to be marked on, where one was chosen.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Chosen {
    panel: Option<String>,
}

/// What the page shows.
struct Shown {
    folded: Folded,
    /// What is known of each panel.
    surveys: Arc<Vec<PanelSurvey>>,
    /// Whether what a panel bears may be told.
    is_whole: bool,
    estimated: Option<Estimated>,
}

/// What the page shows of the film and the defects; none before there is something to plan from.
struct Estimated {
    car: Car,
    trials: BTreeMap<usize, Arc<Trial>>,
    outcome: Arc<Outcome>,
}

/// Answers with the page.
pub(crate) async fn spots(
    State(shop): State<Arc<Shop>>,
    preferences: Preferences,
    JobId(id): JobId,
    Query(chosen): Query<Chosen>,
) -> Result<Html<String>, Failure> {
    let unit = preferences.unit;
    let shown = blocking(move || shown(&shop, id, unit)).await?;
    let standing = &shown.folded.standing;
    let estimated = shown.estimated.as_ref();
    let body = html! {
        h1 { "Test spots" }
        p { "A small taped place where processes are tried, mildest first, until one is enough: on the thickest original panel, one for each distinct paint." }
        div id="spots" data-live {
            (parallel::settled(&shown.folded, |thing| matches!(thing, Thing::Spot(_))))
            @for (at, spot) in standing.spots.iter().enumerate().rev() { (card::card(id, (at, spot), &shown, unit)) }
            @if estimated.is_none() { p.quiet { "What sets take and give is told as soon as there are readings and something is agreed." } }
        }
        div id="marking" data-live { (marking::marking(id, &shown, chosen.panel.as_deref(), unit)) }
        div id="curve" data-live {
            @if let Some(estimated) = estimated {
                section {
                    h2 { "What film buys" }
                    div.map { (PreEscaped(correction_curve(&estimated.car, &estimated.outcome, unit, CURVE).svg())) }
                    p { (bend(&estimated.outcome, unit)) }
                }
            }
        }
    };
    let page =
        Page { preferences: &preferences, title: "Test spots", job: Some(OfJob { id, part: Part::Spots }), script: Some(SPOTS.path()) };
    Ok(page.with(&body))
}

fn shown(shop: &Shop, id: Id, unit: Unit) -> Result<Shown, Failure> {
    let folded = shop.folded(id)?;
    let ToSurvey { car, is_whole } = ToSurvey::of(&folded.standing);
    let surveys = shop.estimates.survey(id, car, unit)?;
    let estimated = estimated(shop, id, &folded, unit)?;
    Ok(Shown { folded, surveys, is_whole, estimated })
}

fn estimated(shop: &Shop, id: Id, folded: &Folded, unit: Unit) -> Result<Option<Estimated>, Failure> {
    let standing = &folded.standing;
    let Some(job) = standing.job().ok().filter(|job| !job.car.readings.is_empty()) else { return Ok(None) };
    let mut trials = BTreeMap::new();
    for (at, spot) in standing.spots.iter().enumerate() {
        trials.insert(at, shop.estimates.trial(id, at, job.car.clone(), spot.done.clone())?);
    }
    let outcome = shop.estimates.plan(id, job.car.clone(), unit)?;
    Ok(Some(Estimated { car: job.car, trials, outcome }))
}

fn bend(outcome: &Outcome, unit: Unit) -> String {
    if outcome.curve.len() < 2 || !outcome.bend_um.is_finite() {
        return "Nothing was looked at yet: how deep the defects are is not known.".to_owned();
    }
    format!("The curve bends near {}: beyond it each per cent costs more film than the one before.", in_unit(outcome.bend_um, unit))
}
