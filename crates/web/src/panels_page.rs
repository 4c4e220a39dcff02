//! The panels: added, changed, or left as they are.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_job::event::Thing;
use lastmicron_job::fold::Standing;
use lastmicron_job::words::{HARDNESSES, SUBSTRATES, word_for};
use lastmicron_plan::CarPanel;
use maud::{Markup, html};
use serde_json::json;

use crate::asked::JobId;
use crate::failure::Failure;
use crate::field::{Field, Need};
use crate::frame::{OfJob, Page, Part};
use crate::parallel;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::Shop;
use crate::stated::Stated;

/// Answers with the page.
pub(crate) async fn panels(State(shop): State<Arc<Shop>>, preferences: Preferences, JobId(id): JobId) -> Result<Html<String>, Failure> {
    let folded = blocking(move || shop.folded(id)).await?;
    let body = html! {
        h1 { "Panels" }
        p { "Each as one stands to work it: millimetres from its lower left. A jamb is a panel of its own." }
        div id="panels" data-live {
            (parallel::settled(&folded, |thing| matches!(thing, Thing::Panel(_))))
            @for (at, panel) in folded.standing.panels.iter().enumerate() { (known(at, panel, &Stated::of(&folded, &Thing::Panel(panel.panel.name.clone())))) }
        }
        div id="added" data-live { (added(&folded.standing)) }
    };
    Ok(Page { preferences: &preferences, title: "Panels", job: Some(OfJob { id, part: Part::Overview }), script: None }.with(&body))
}

fn known(at: usize, panel: &CarPanel, stated: &Stated) -> Markup {
    let [width, height] = panel.panel.size_mm();
    let substrate = word_for(&panel.panel.substrate, &SUBSTRATES);
    let form = format!("panel-{at}");
    html! {
        details.card id=(form) {
            summary { span { strong { (panel.panel.name) } " " span.quiet { (format!("{width:.0} by {height:.0} mm, {substrate}")) @if !panel.work { ", stays as it is" } } } }
            form.stack data-record data-event="panel-stated" data-base=[stated.base()] data-over=(stated.over()) data-said="The panel is recorded." {
                label.choice { input type="checkbox" name="work" data-off="false" checked[panel.work]; span { strong { "It may be worked" } " " span.quiet { "Not ticked: it stays as it is." } } }
                (choice(&form, "substrate", "Made of", &SUBSTRATES.map(|(word, _)| word), stated.text("substrate")))
                (choice(&form, "hardness", "How easily it marks", &HARDNESSES.map(|(word, _)| word), stated.text("hardness")))
                (Field { name: "visibility", label: "How much the eye cares", value: stated.text("visibility"), help: "1 as a rule and when it is left empty, less for a sill." }.of(&form).number(Need::May, ""))
                button.primary { "Record the panel" }
            }
        }
    }
}

/// One of a few words, or what holds for the vehicle.
fn choice(form: &str, name: &str, label: &str, words: &[&str], chosen: &str) -> Markup {
    let id = format!("{form}-{name}");
    html! {
        div.asked {
            label.field for=(id) { (label) }
            select id=(id) name=(name) {
                option value="" { "as the vehicle" }
                @for word in words { option value=(word) selected[*word == chosen] { (word) } }
            }
        }
    }
}

fn added(standing: &Standing) -> Markup {
    let names: Vec<&str> = standing.panels.iter().map(|panel| panel.panel.name.as_str()).collect();
    html! {
        form.stack data-record data-event="panel-stated" data-over="[]" data-said="The panel is added." data-names=(json!(names)) {
            h2 { "Another panel" }
            (Field { name: "name", label: "Name", value: "", help: "As you call it: left front wing, upper door jamb." }.text(Need::Must))
            (Field { name: "width_mm", label: "Width", value: "", help: "" }.number(Need::Must, "mm"))
            (Field { name: "height_mm", label: "Height", value: "", help: "As seen from where you stand to work it." }.number(Need::Must, "mm"))
            (choice("field", "substrate", "Made of", &SUBSTRATES.map(|(word, _)| word), ""))
            (Field { name: "visibility", label: "How much the eye cares", value: "1", help: "" }.number(Need::Must, ""))
            button.primary { "Add the panel" }
        }
    }
}
