//! Readings brought in from a file: looked at first, with the columns and units that somebody chose, and taken only when confirmed.

mod table;

use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_job::event::Id;
use lastmicron_units::Unit;
use maud::{Markup, html};

use crate::asked::{AtMost, JobId};
use crate::failure::Failure;
use crate::frame::{OfJob, Page, Part};
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};
use table::{COLUMNS, Choice, Decimal, Row, Table};

/// Most bytes of a file with readings. Judgement: 300 readings are 15,000 bytes; who has more has another file in hand.
const MOST_BYTES: usize = 1 << 20;

/// Rows that are shown; those with something wrong come first.
const SHOWN: usize = 30;

/// Answers with the page, before there is a file.
pub(crate) async fn empty(State(shop): State<Arc<Shop>>, preferences: Preferences, JobId(id): JobId) -> Result<Html<String>, Failure> {
    blocking(move || shop.folded(id)).await?;
    Ok(page(&preferences, id, &html! { (asked(id, &Choice::default(), None)) }))
}

/// Answers with what would be taken.
pub(crate) async fn preview(
    State(shop): State<Arc<Shop>>,
    preferences: Preferences,
    JobId(id): JobId,
    AtMost(bytes): AtMost<MOST_BYTES>,
) -> Result<Html<String>, Failure> {
    let (choice, table, rows) = blocking(move || {
        let folded = shop.folded(id)?;
        let (choice, table) = read(&bytes, &folded)?;
        let rows = table.rows(&choice, id, &shop)?;
        Ok((choice, table, rows))
    })
    .await?;
    let body = html! { (asked(id, &choice, Some(&table))) (shown(id, &rows)) };
    Ok(page(&preferences, id, &body))
}

fn read(bytes: &[u8], folded: &Folded) -> Result<(Choice, Table), Failure> {
    let choice: Choice = serde_urlencoded::from_bytes(bytes).map_err(|error| Failure::NoSense(error.to_string()))?;
    let table = Table::read(&choice.text).map_err(Failure::NoSense)?;
    let session = folded.standing.open_session().map(|session| session.name.clone());
    Ok((choice.guessed(&table, session), table))
}

fn page(preferences: &Preferences, id: Id, content: &Markup) -> Html<String> {
    let body = html! {
        h1 { "Readings from a file" }
        p { "A table with a heading: panel, place in mm from the panel's lower left, and what the gauge showed. Nothing is taken until you confirm what is shown." }
        (content)
    };
    Page { preferences, title: "Readings from a file", job: Some(OfJob { id, part: Part::Survey }), script: None }.with(&body)
}

fn asked(id: Id, choice: &Choice, table: Option<&Table>) -> Markup {
    html! {
        form.stack method="post" action={ "/jobs/" (id) "/readings" } {
            div.asked {
                label.field for="file" { "The file" }
                input id="file" type="file" accept=".csv,.txt,.tsv,text/csv,text/plain" data-into="text";
            }
            div.asked {
                label.field for="text" { "or paste it here" }
                textarea id="text" name="text" rows="6" required spellcheck="false" placeholder="panel,x_mm,y_mm,reading,unit" { (choice.text) }
            }
            @if let Some(table) = table {
                fieldset {
                    legend { "Which column is what" }
                    @for (name, label) in COLUMNS {
                        div.asked {
                            label.field for={ "column-" (name) } { (label) }
                            select id={ "column-" (name) } name=(name) {
                                option value="" { "none" }
                                @for (at, heading) in table.headings.iter().enumerate() { option value=(at) selected[choice.column(name) == Some(at)] { (heading) } }
                            }
                        }
                    }
                }
                fieldset {
                    legend { "How numbers are written" }
                    div.asked {
                        label.field for="of" { "Unit, where no column says it" }
                        select id="of" name="of" { @for unit in Unit::ALL { option value=(unit.symbol()) selected[choice.of == unit.symbol()] { (unit.symbol()) } } }
                    }
                    div.choices {
                        @for (decimal, word, label) in Decimal::ALL {
                            label.choice { input type="radio" name="decimal" value=(word) checked[choice.decimal == decimal]; span { (label) } }
                        }
                    }
                }
            }
            button.primary { @if table.is_some() { "Look again" } @else { "Look at it" } }
        }
    }
}

fn shown(id: Id, rows: &[Row]) -> Markup {
    let good: Vec<&serde_json::Value> = rows.iter().filter_map(|row| row.read.as_ref().ok()).collect();
    let bad = rows.iter().filter(|row| row.read.is_err());
    let listed: Vec<&Row> = bad.chain(rows.iter().filter(|row| row.read.is_ok())).take(SHOWN).collect();
    html! {
        section {
            h2 { (rows.len()) " rows: " (good.len()) " can be taken, " (rows.len() - good.len()) " can't" }
            table {
                thead { tr { th.number scope="col" { "line" } th scope="col" { "reading" } th scope="col" { "why not" } } }
                tbody {
                    @for row in listed {
                        tr {
                            td.number { (row.line) }
                            td { (row.words) }
                            td { @match &row.read { Ok(_) => { "\u{2713}" } Err(why) => { strong { (why) } } } }
                        }
                    }
                }
            }
            @if rows.len() > SHOWN { p.quiet { "Of " (rows.len()) " rows " (SHOWN) " are shown, those with something wrong first." } }
            @if !good.is_empty() {
                form data-record data-then={ "/jobs/" (id) "/survey" } data-bodies=(serde_json::Value::from(good.into_iter().cloned().collect::<Vec<_>>())) {
                    button.primary { "Take these readings" }
                }
            }
        }
    }
}
