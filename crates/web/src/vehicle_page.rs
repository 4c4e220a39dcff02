//! The vehicle and its paint, stated anew.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_job::event::Thing;
use maud::{Markup, html};

use crate::asked::JobId;
use crate::failure::Failure;
use crate::field::{Field, Need, one_of};
use crate::frame::{OfJob, Page, Part};
use crate::new_job;
use crate::parallel;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::sheets::{self, Sheet};
use crate::shop::{Folded, Shop};
use crate::stated::Stated;

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
        div id="vehicle" data-live {
            (parallel::settled(&folded, |thing| matches!(thing, Thing::Vehicle | Thing::Paint)))
            (vehicle_form(&folded, owner.as_ref())) (paint_form(&folded)) }
    };
    Ok(Page { preferences: &preferences, title: "Vehicle and paint", job: Some(OfJob { id, part: Part::Overview }), script: None }
        .with(&body))
}

fn vehicle_form(folded: &Folded, owner: Option<&Sheet>) -> Markup {
    let stated = Stated::of(folded, &Thing::Vehicle);
    let is_named = folded.standing.vehicle.as_ref().is_some_and(|vehicle| vehicle.owner.is_some());
    html! {
        form.stack data-record data-event="vehicle-stated" data-base=[stated.base()] data-over=(stated.over()) data-said="The vehicle is recorded." {
            h2 { "The vehicle" }
            (Field { name: "title", label: "What the job is called", value: stated.text("title"), help: "" }.text(Need::Must))
            (Field { name: "built", label: "Year built", value: stated.text("built"), help: "" }.number(Need::May, ""))
            (one_of("substrate", "What are most panels pressed from?", &new_job::METALS, or(stated.text("substrate"), "unknown")))
            (Field { name: "history", label: "What is known of earlier work", value: stated.text("history"), help: "" }.words())
            (Field { name: "originality", label: "What must stay as it is", value: stated.text("originality"), help: "" }.words())
            fieldset data-sheet="owner" {
                legend { "The owner" }
                p.quiet { @match owner { Some(owner) => { "Now: " (owner.name) ". Leave this empty to keep it so." } None if is_named => { "Now: erased. Who it was is no longer kept here." } None => { "Nobody is named." } } }
                (Field { name: "name", label: "Name", value: "", help: "" }.text(Need::May))
                (Field { name: "reach", label: "How to reach them", value: "", help: "" }.text(Need::May))
            }
            button.primary { "Record the vehicle" }
        }
    }
}

fn paint_form(folded: &Folded) -> Markup {
    let stated = Stated::of(folded, &Thing::Paint);
    html! {
        form.stack data-record data-event="paint-stated" data-base=[stated.base()] data-over=(stated.over()) data-said="The paint is recorded." {
            h2 { "The paint" }
            (one_of("system", "How is it built up?", &new_job::SYSTEMS, or(stated.text("system"), "unknown")))
            (one_of("hardness", "How easily does it mark?", &new_job::HARDNESSES, stated.text("hardness")))
            label.choice { input type="checkbox" name="metallic" checked[folded.standing.paint.metallic]; span { strong { "There is flake in the colour coat" } } }
            fieldset {
                legend { "What lies under the topcoat, where you know it" }
                p.quiet { "Left empty, the published range of the paint system is taken. A reading where there is no topcoat tells more: take it in the survey." }
                (Field { name: "undercoat.mean_um", label: "About", value: stated.text("undercoat.mean_um"), help: "" }.number(Need::May, "um"))
                (Field { name: "undercoat.sd_um", label: "give or take", value: stated.text("undercoat.sd_um"), help: "" }.number(Need::May, "um"))
                (Field { name: "undercoat.panel_sd_um", label: "and from panel to panel", value: stated.text("undercoat.panel_sd_um"), help: "" }.number(Need::May, "um"))
            }
            button.primary { "Record the paint" }
        }
    }
}

fn or<'a>(stated: &'a str, unstated: &'a str) -> &'a str {
    if stated.is_empty() { unstated } else { stated }
}
