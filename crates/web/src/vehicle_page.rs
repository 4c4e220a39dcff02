//! The vehicle and its paint, stated anew.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_job::fold::Standing;
use lastmicron_job::words::{HARDNESSES, SUBSTRATES, SYSTEMS, word_for};
use maud::{Markup, html};

use crate::asked::JobId;
use crate::failure::Failure;
use crate::field::{Field, Need, one_of};
use crate::frame::{OfJob, Page, Part};
use crate::new_job;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::sheets::{self, Sheet};
use crate::shop::Shop;

/// Answers with the page.
pub(crate) async fn vehicle(State(shop): State<Arc<Shop>>, preferences: Preferences, JobId(id): JobId) -> Result<Html<String>, Failure> {
    let (folded, owner) = blocking(move || {
        let folded = shop.folded(id)?;
        let owner = folded.standing.vehicle.as_ref().and_then(|vehicle| vehicle.owner).and_then(|owner| sheets::read(&shop, owner));
        Ok((folded, owner))
    })
    .await?;
    let body = html! {
        h1 { "Vehicle and paint" }
        (stated(&folded.standing, owner.as_ref()))
        (paint(&folded.standing))
    };
    Ok(Page { preferences: &preferences, title: "Vehicle and paint", job: Some(OfJob { id, part: Part::Overview }), script: None }
        .with(&body))
}

fn stated(standing: &Standing, owner: Option<&Sheet>) -> Markup {
    let vehicle = standing.vehicle.as_ref();
    let text = |of: fn(&lastmicron_job::fold::Vehicle) -> &String| vehicle.map(of).map(String::as_str).unwrap_or_default();
    let built = vehicle.and_then(|vehicle| vehicle.built).map(|year| year.to_string()).unwrap_or_default();
    let metal = vehicle.and_then(|vehicle| vehicle.substrate).map_or("unknown", |metal| word_for(&metal, &SUBSTRATES));
    html! {
        form.stack data-record data-event="vehicle-stated" data-said="The vehicle is recorded." {
            h2 { "The vehicle" }
            input type="hidden" name="body" value=(text(|vehicle| &vehicle.body));
            @if let Some(owner) = vehicle.and_then(|vehicle| vehicle.owner) { input type="hidden" name="owner" value=(owner); }
            (Field { name: "title", label: "What the job is called", value: text(|vehicle| &vehicle.title), help: "" }.text(Need::Must))
            (Field { name: "built", label: "Year built", value: &built, help: "" }.number(Need::May, ""))
            (one_of("substrate", "What are most panels pressed from?", &new_job::METALS, metal))
            (Field { name: "history", label: "What is known of earlier work", value: text(|vehicle| &vehicle.history), help: "" }.words())
            (Field { name: "originality", label: "What must stay as it is", value: text(|vehicle| &vehicle.originality), help: "" }.words())
            fieldset data-sheet="owner" {
                legend { "The owner" }
                p.quiet { @match owner { Some(owner) => { "Now: " (owner.name) ". Leave this empty to keep it so." } None => { "Nobody is named, or the sheet was erased." } } }
                (Field { name: "name", label: "Name", value: "", help: "" }.text(Need::May))
                (Field { name: "reach", label: "How to reach them", value: "", help: "" }.text(Need::May))
            }
            button.primary { "Record the vehicle" }
        }
    }
}

fn paint(standing: &Standing) -> Markup {
    let paint = &standing.paint;
    let text = |um: Option<f64>| um.map(|um| um.to_string()).unwrap_or_default();
    let [mean, sd, spread] =
        [paint.undercoat.map(|u| u.mean_um), paint.undercoat.map(|u| u.sd_um), paint.undercoat.and_then(|u| u.panel_sd_um)].map(text);
    let hardness = paint.hardness.map_or("", |hardness| word_for(&hardness, &HARDNESSES));
    html! {
        form.stack data-record data-event="paint-stated" data-said="The paint is recorded." {
            h2 { "The paint" }
            (one_of("system", "How is it built up?", &new_job::SYSTEMS, word_for(&paint.system, &SYSTEMS)))
            (one_of("hardness", "How easily does it mark?", &new_job::HARDNESSES, hardness))
            label.choice { input type="checkbox" name="metallic" checked[paint.metallic]; span { strong { "There is flake in the colour coat" } } }
            fieldset {
                legend { "What lies under the topcoat, where you know it" }
                p.quiet { "Left empty, the published range of the paint system is taken. A reading where there is no topcoat tells more: take it in the survey." }
                (Field { name: "undercoat.mean_um", label: "About", value: &mean, help: "" }.number(Need::May, "um"))
                (Field { name: "undercoat.sd_um", label: "give or take", value: &sd, help: "" }.number(Need::May, "um"))
                (Field { name: "undercoat.panel_sd_um", label: "and from panel to panel", value: &spread, help: "" }.number(Need::May, "um"))
            }
            button.primary { "Record the paint" }
        }
    }
}
