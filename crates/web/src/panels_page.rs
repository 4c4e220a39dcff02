//! The panels: added, changed, or left as they are.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_job::words::{HARDNESSES, SUBSTRATES, word_for};
use lastmicron_plan::CarPanel;
use maud::{Markup, html};

use crate::asked::JobId;
use crate::failure::Failure;
use crate::field::{Field, Need};
use crate::frame::{OfJob, Page, Part};
use crate::new_job::said;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::Shop;

/// Answers with the page.
pub(crate) async fn panels(State(shop): State<Arc<Shop>>, preferences: Preferences, JobId(id): JobId) -> Result<Html<String>, Failure> {
    let folded = blocking(move || shop.folded(id)).await?;
    let body = html! {
        h1 { "Panels" }
        p { "Each as one stands to work it: millimetres from its lower left. A jamb is a panel of its own." }
        div id="panels" data-live {
            @for (at, panel) in folded.standing.panels.iter().enumerate() { (known(at, panel)) }
        }
        (added())
    };
    Ok(Page { preferences: &preferences, title: "Panels", job: Some(OfJob { id, part: Part::Overview }), script: None }.with(&body))
}

fn known(at: usize, panel: &CarPanel) -> Markup {
    let [width, height] = panel.panel.size_mm();
    let substrate = word_for(&panel.panel.substrate, &SUBSTRATES);
    let hardness = panel.hardness.map_or("", |hardness| word_for(&hardness, &HARDNESSES));
    let body = said(panel);
    html! {
        details.card id={ "panel-" (at) } {
            summary { span { strong { (panel.panel.name) } " " span.quiet { (format!("{width:.0} by {height:.0} mm, {substrate}")) @if !panel.work { ", stays as it is" } } } }
            form.stack data-record data-event="panel-stated" data-said="The panel is recorded." {
                input type="hidden" name="name" value=(panel.panel.name);
                input type="hidden" name="outline_mm" data-as="json" value=(body["outline_mm"]);
                @if !panel.lines.is_empty() { input type="hidden" name="lines" data-as="json" value=(body["lines"]); }
                label.choice { input type="checkbox" name="work" data-off="false" checked[panel.work]; span { strong { "It may be worked" } " " span.quiet { "Not ticked: it stays as it is." } } }
                (choice(at, "substrate", "Made of", &SUBSTRATES.map(|(word, _)| word), substrate))
                (choice(at, "hardness", "How easily it marks, where it differs", &[&[""][..], &HARDNESSES.map(|(word, _)| word)[..]].concat(), hardness))
                (Field { name: "visibility", label: "How much the eye cares: 1 as a rule, less for a sill", value: &panel.visibility.to_string(), help: "" }.number(Need::Must, ""))
                button.primary { "Record the panel" }
            }
        }
    }
}

fn choice(at: usize, name: &str, label: &str, words: &[&str], chosen: &str) -> Markup {
    let id = format!("{name}-{at}");
    html! {
        div.asked {
            label.field for=(id) { (label) }
            select id=(id) name=(name) { @for word in words { option value=(word) selected[*word == chosen] { @if word.is_empty() { "as the vehicle" } @else { (word) } } } }
        }
    }
}

fn added() -> Markup {
    html! {
        form.stack data-record data-event="panel-stated" data-said="The panel is added." {
            h2 { "Another panel" }
            (Field { name: "name", label: "Name", value: "", help: "As you call it: left front wing, upper door jamb." }.text(Need::Must))
            (Field { name: "width_mm", label: "Width", value: "", help: "" }.number(Need::Must, "mm"))
            (Field { name: "height_mm", label: "Height", value: "", help: "As seen from where you stand to work it." }.number(Need::Must, "mm"))
            (choice(usize::MAX, "substrate", "Made of", &[&[""][..], &SUBSTRATES.map(|(word, _)| word)[..]].concat(), ""))
            (Field { name: "visibility", label: "How much the eye cares", value: "1", help: "" }.number(Need::Must, ""))
            button.primary { "Add the panel" }
        }
    }
}
