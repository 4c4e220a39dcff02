//! Readings brought in from a file: looked at first, with the columns and units that somebody chose, and taken only when confirmed.

mod judged;
mod table;

use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_job::event::Id;
use lastmicron_units::Unit;
use maud::{Markup, html};
use serde_json::{Value, json};

use crate::asked::{AtMost, JobId};
use crate::failure::Failure;
use crate::frame::{OfJob, Page, Part};
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};
use crate::wording::counted;
use judged::{Fate, Row, judged};
use table::{COLUMNS, Choice, Decimal, Table};

/// Most bytes of a file with readings. Judgement: 300 readings are 15,000 bytes; who has more has another file in hand.
const MOST_BYTES: usize = 1 << 20;

/// Rows that are shown of those about which nothing is to be said, and of those that can't be taken.
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
    let who = preferences.who.clone();
    let (choice, table, rows) = blocking(move || {
        let folded = shop.folded(id)?;
        let (choice, table) = read(&bytes, &folded, &who)?;
        let rows = judged(&table, &choice, id, &folded, &shop)?;
        Ok((choice, table, rows))
    })
    .await?;
    let body = html! { (asked(id, &choice, Some(&table))) (shown(id, &rows)) };
    Ok(page(&preferences, id, &body))
}

fn read(bytes: &[u8], folded: &Folded, who: &str) -> Result<(Choice, Table), Failure> {
    let choice: Choice = serde_urlencoded::from_bytes(bytes).map_err(|error| Failure::NoSense(error.to_string()))?;
    let table = Table::read(&choice.text).map_err(Failure::NoSense)?;
    let session = folded.standing.open_session(who).map(|session| session.name.clone());
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
                    @match choice.heading_unit(table) {
                        Some(unit) => { p { "The heading of the readings says " (unit.symbol()) "." } }
                        None => {
                            div.asked {
                                label.field for="of" { "Unit, where no column says it" }
                                select id="of" name="of" {
                                    option value="" { "choose" }
                                    @for unit in Unit::ALL { option value=(unit.symbol()) selected[choice.of == unit.symbol()] { (unit.symbol()) } }
                                }
                            }
                        }
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

/// Rows by what becomes of them.
#[derive(Default)]
struct Sorted<'r> {
    /// With why.
    refused: Vec<(&'r Row, &'r str)>,
    /// With the event and what is asked.
    asked: Vec<(&'r Row, &'r Value, &'r str)>,
    /// With the event and that it is held.
    held: Vec<(&'r Row, &'r Value, &'r str)>,
    /// With a tick.
    good: Vec<(&'r Row, &'r str)>,
    /// The events of the good ones.
    bodies: Vec<&'r Value>,
}

fn sorted(rows: &[Row]) -> Sorted<'_> {
    let mut sorted = Sorted::default();
    for row in rows {
        match &row.fate {
            Fate::Refused(why) => sorted.refused.push((row, why)),
            Fate::Asked(body, question) => sorted.asked.push((row, body, question)),
            Fate::Held(body) => sorted.held.push((row, body, "Already in the record.")),
            Fate::Good(body) => {
                sorted.good.push((row, "\u{2713}"));
                sorted.bodies.push(body);
            }
        }
    }
    sorted
}

fn shown(id: Id, rows: &[Row]) -> Markup {
    let Sorted { refused, asked, held, good, bodies } = sorted(rows);
    let boxes = asked.len() + held.len();
    html! {
        // Looked at, and not recorded: it is not to be had again by its address.
        section.stack data-half-done {
            h2 { (counted(rows.len(), "row", "rows")) ": " (fates([good.len(), asked.len(), held.len(), refused.len()])) }
            (table_of("why not", &refused))
            @if !good.is_empty() || boxes > 0 {
                form.stack data-record data-then={ "/jobs/" (id) "/survey" } data-bodies=(json!(bodies)) {
                    @if !asked.is_empty() {
                        fieldset {
                            legend { "Not to be expected: tick what is right" }
                            (ticked(&asked))
                        }
                    }
                    @if !held.is_empty() {
                        details id="held" {
                            summary { "Already in the record: " (held.len()) }
                            p { "Same place, layer and number. Tick what is another reading all the same." }
                            (ticked(&held))
                        }
                    }
                    (table_of("to be taken", &good))
                    button.primary { @match (good.len(), boxes) { (_, 0) => "Take these readings", (0, _) => "Take what is ticked", (n, _) => { "Take the " (n) " that can be taken, and what is ticked" } } }
                }
            }
        }
    }
}

/// How many can be taken, are asked about, are in the record already, and can't be taken.
fn fates([good, asked, held, refused]: [usize; 4]) -> String {
    let mut parts = vec![format!("{good} can be taken")];
    parts.extend((asked > 0).then(|| format!("{asked} to be looked at")));
    parts.extend((held > 0).then(|| format!("{held} already in the record")));
    parts.push(format!("{refused} can't"));
    parts.join(", ")
}

/// Rows, and what is said of each; nothing where there are none.
fn table_of(heading: &str, rows: &[(&Row, &str)]) -> Markup {
    html! {
        @if !rows.is_empty() {
            table {
                thead { tr { th.number scope="col" { "line" } th scope="col" { "reading" } th scope="col" { (heading) } } }
                tbody { @for (row, said) in rows.iter().take(SHOWN) { tr { td.number { (row.line) } td { (row.words) } td { strong { (said) } } } } }
            }
            @if rows.len() > SHOWN { p.quiet { (SHOWN) " of " (rows.len()) " are shown." } }
        }
    }
}

/// Rows that are taken only where somebody says so, each with why.
fn ticked(rows: &[(&Row, &Value, &str)]) -> Markup {
    html! {
        div.choices {
            @for (row, body, why) in rows {
                label.choice { input type="checkbox" data-body=(body); span { "line " (row.line) ": " strong { (row.words) } " " span.quiet { (why) } } }
            }
        }
    }
}
