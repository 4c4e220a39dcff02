//! The first page: every job, by where its vehicle is.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_access::Deed;
use lastmicron_job::event::Id;
use lastmicron_job::fold::Status;
use maud::{Markup, html};

use crate::door::Door;
use crate::failure::Failure;
use crate::frame::Page;
use crate::job_page::title;
use crate::keeping::age;
use crate::people_page::unclaimed;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};
use crate::wording::counted;

/// Where a vehicle is, in the order in which one looks.
const STATES: [(Status, &str, &str); 3] = [
    (Status::OnTheFloor, "On the floor", "Nothing is being worked."),
    (Status::Arrived, "Arrived", "No vehicle is waiting."),
    (Status::GoneHome, "Gone home", "No record has been handed over yet."),
];

/// Answers with the page.
pub(crate) async fn jobs(State(shop): State<Arc<Shop>>, preferences: Preferences) -> Result<Html<String>, Failure> {
    let (jobs, backups, unsigned, now, is_claimed) = blocking(move || {
        // Where nobody is kept, nobody can claim it.
        let is_claimed = shop.door().map_or(Ok(true), Door::is_claimed)?;
        Ok((shop.jobs()?, shop.backups(), shop.unsigned(), shop.now(), is_claimed))
    })
    .await?;
    let of = |state: Status| jobs.iter().filter(move |(_, folded)| folded.standing.status() == state);
    let body = html! {
        h1 { "Jobs" }
        @if jobs.is_empty() {
            p { "No job is here yet. A job is one vehicle at one visit: what it is, what its film reads, what was agreed with its owner, what was done, and what is left." }
            p { "Begin with the vehicle. Then read its film, agree on what may be spent, try a test spot, and make the plan: each page says what comes next." }
        }
        p { a.primary href="/new" { "A vehicle has arrived" } }
        @if !jobs.is_empty() {
            @for (state, name, nothing) in STATES {
                section {
                    h2 { (name) }
                    @if of(state).next().is_none() {
                        p.quiet { (nothing) }
                    } @else {
                        ul.jobs { @for (id, folded) in of(state) { li { (link(*id, folded)) } } }
                    }
                }
            }
        }
        @if !is_claimed {
            section {
                h2 { "Whose it is" }
                (unclaimed())
            }
        }
        @if let Some(backups) = backups {
            section {
                h2 { "Backup" }
                (age(&backups, &now, jobs.len()))
            }
        }
        @if let Some(trouble) = unsigned {
            section {
                h2 { "Signatures" }
                p.stop { "A record that was to be signed was not: " (trouble) "." }
            }
        }
        @if preferences.offers(Deed::CarryRecords) {
            section {
                h2 { "A record from elsewhere" }
                label.field for="record" { "A file that was taken out of another workshop's records" }
                input id="record" type="file" data-bring="/records";
            }
        }
    };
    Ok(Page { preferences: &preferences, title: "Jobs", job: None, script: None }.with(&body))
}

fn link(id: Id, folded: &Folded) -> Markup {
    let standing = &folded.standing;
    html! {
        a.button href={ "/jobs/" (id) } {
            strong { (title(standing)) }
            span { (counted(standing.panels.len(), "panel", "panels")) ", " (counted(standing.readings.len(), "reading", "readings")) }
        }
    }
}
