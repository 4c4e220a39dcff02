//! One job: where it stands, what is next, and all that was stated.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_access::Deed;
use lastmicron_job::event::Id;
use lastmicron_job::fold::{Lacking, Standing, Status};
use lastmicron_job::words::{HARDNESSES, SUBSTRATES, SYSTEMS, word_for};
use lastmicron_units::Unit;
use maud::{Markup, html};

use crate::asked::{JobId, panel_address};
use crate::failure::Failure;
use crate::frame::{OfJob, Page, Part};
use crate::parallel;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};
use crate::terms_page;
use crate::wording::{capital, counted};

/// Answers with the page.
pub(crate) async fn job(State(shop): State<Arc<Shop>>, preferences: Preferences, JobId(id): JobId) -> Result<Html<String>, Failure> {
    let folded = blocking(move || shop.folded(id)).await?;
    let standing = &folded.standing;
    let title = title(standing);
    let body = html! {
        h1 { (title) }
        div id="job" data-live {
            (parallel::told(id, standing))
            (next(id, standing, &preferences))
            (stated(id, standing, preferences.unit))
            (panels(id, standing))
            (unusable(id, &folded))
        }
        div id="place" data-live { (place(standing, preferences.offers(Deed::Agree))) }
        div.row {
            a.button href={ "/jobs/" (id) "/history" } { "All that happened" }
            @if preferences.offers(Deed::CarryRecords) { a.button href={ "/jobs/" (id) "/record" } { "Take the record out, as a file" } }
            @if preferences.offers(Deed::ManagePeople) { a.button href={ "/jobs/" (id) "/links" } { "A link for the client" } }
        }
    };
    Ok(Page { preferences: &preferences, title, job: Some(OfJob { id, part: Part::Overview }), script: None }.with(&body))
}

/// What the job is called.
pub(crate) fn title(standing: &Standing) -> &str {
    standing.vehicle.as_ref().map_or("(no vehicle stated yet)", |vehicle| vehicle.title.as_str())
}

/// What is missing, in a sentence; where to go for it, and what that is called to whoever looks.
pub(crate) fn missing(lacking: Lacking, preferences: &Preferences) -> (String, &'static str, &'static str) {
    let (end, words) = match lacking {
        Lacking::Vehicle => ("/vehicle", "State the vehicle"),
        Lacking::Panels => ("/panels", "Enter the panels"),
        Lacking::Gauge => ("/workshop", "State the gauge"),
        Lacking::Processes => ("/workshop", "Add a process"),
        Lacking::Terms if preferences.offers(Deed::Agree) => ("/terms", "Agree on floor, risk and goal"),
        Lacking::Terms => ("/terms", "What is agreed"),
    };
    (capital(&lacking.to_string()), end, words)
}

/// What to do next, and why.
fn next(id: Id, standing: &Standing, preferences: &Preferences) -> Markup {
    let to = |end: &str, words: &str, why: &str| {
        html! { section.next { h2 { "Next" } p { (why) } a.primary href={ "/jobs/" (id) (end) } { (words) } } }
    };
    let lacking = standing.job().err().unwrap_or_default();
    if standing.status() == Status::GoneHome {
        return to("/handover", "What went home with it", "The vehicle has gone home. Its record can be read and checked.");
    }
    if lacking.contains(&Lacking::Panels) {
        return to("/panels", "Enter the panels", "No panel is entered yet: each is worked and read by itself.");
    }
    if lacking.contains(&Lacking::Gauge) || lacking.contains(&Lacking::Processes) {
        return to("/workshop", "Gauge and processes", "A plan needs to know what you read with and what you work with.");
    }
    if standing.readings.is_empty() {
        return to(
            "/survey",
            "Begin the survey",
            "Read the film first: nothing is known of it yet. Wash and dry without marring, then read.",
        );
    }
    if lacking.contains(&Lacking::Terms) {
        let (_, end, words) = missing(Lacking::Terms, preferences);
        let with = if preferences.offers(Deed::Agree) { "you" } else { "an owner of the workshop" };
        return to(end, words, &format!("There are readings. What may be spent of the film is the vehicle's owner's to say, with {with}."));
    }
    if standing.judged.is_empty() {
        return to("/spots", "Try a test spot", "What one set takes and gives on this paint is a belief until a test spot shows it.");
    }
    if standing.plans.is_empty() {
        return to("/plan", "Make the plan", "Film, terms and test spot are there.");
    }
    to("/work", "Go on with the work", "A plan is accepted.")
}

fn stated(id: Id, standing: &Standing, unit: Unit) -> Markup {
    let paint = &standing.paint;
    html! {
        section {
            h2 { "What is stated" }
            dl.facts {
                @if let Some(vehicle) = &standing.vehicle {
                    dt { "Vehicle" } dd { (vehicle.body) @if let Some(built) = vehicle.built { ", built " (built) } @if let Some(metal) = vehicle.substrate { ", " (word_for(&metal, &SUBSTRATES)) } }
                    @if !vehicle.history.is_empty() { dt { "Earlier work" } dd { (vehicle.history) } }
                    @if !vehicle.originality.is_empty() { dt { "Stays as it is" } dd { (vehicle.originality) } }
                }
                dt { "Paint" } dd { (word_for(&paint.system, &SYSTEMS)) @if let Some(hardness) = paint.hardness { ", " (word_for(&hardness, &HARDNESSES)) } @if paint.metallic { ", metallic" } }
                dt { "Agreed" } dd { @match standing.terms.last() { Some(terms) => { (terms_page::words(terms, unit)) } None => { "Nothing yet." } } }
                dt { "Works with" } dd { @if standing.processes.is_empty() { "No process yet." } @else { (standing.processes.iter().map(|process| process.name.as_str()).collect::<Vec<_>>().join(", ")) } }
            }
            div.row {
                a.button href={ "/jobs/" (id) "/vehicle" } { "Vehicle and paint" }
                a.button href={ "/jobs/" (id) "/terms" } { "What is agreed" }
                a.button href={ "/jobs/" (id) "/workshop" } { "Gauge and processes" }
                a.button href={ "/jobs/" (id) "/panels" } { "Panels" }
            }
        }
    }
}

fn panels(id: Id, standing: &Standing) -> Markup {
    let readings = |panel: usize| standing.readings.iter().filter(|taken| taken.reading.panel == panel).count();
    html! {
        @if !standing.panels.is_empty() {
            section {
                h2 { "Panels" }
                ul.panels {
                    @for (at, panel) in standing.panels.iter().enumerate() {
                        li {
                            a.button href=(panel_address(id, "survey", &panel.panel.name)) {
                                strong { (panel.panel.name) }
                                span { @if panel.work { (counted(readings(at), "reading", "readings")) } @else { "stays as it is" } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn unusable(id: Id, folded: &Folded) -> Markup {
    html! {
        @if !folded.standing.unusable.is_empty() {
            section {
                h2 { "Not used" }
                ul { @for one in &folded.standing.unusable { li { (one.why) "." } } }
                p { a href={ "/jobs/" (id) "/history" } { "Where that happened" } }
            }
        }
    }
}

/// Where the vehicle is.
fn place(standing: &Standing, is_offered: bool) -> Markup {
    let at = standing.status();
    let moves = [
        (Status::Arrived, "arrived", "It waits"),
        (Status::OnTheFloor, "on-the-floor", "It is on the floor"),
        (Status::GoneHome, "gone-home", "It has gone home"),
    ];
    html! {
        section {
            h2 { "Where it is" }
            div.row {
                @for (status, word, words) in moves {
                    @if status == at { p.here { (words) "." } } @else if is_offered {
                        form data-record data-event="status-changed" data-then="" { input type="hidden" name="status" value=(word); button.second { (words) } }
                    }
                }
            }
        }
    }
}
