//! Gauge and processes: what the workshop reads with and works with.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_job::event::Thing;
use lastmicron_polish::Process;
use maud::{Markup, html};
use serde_json::{Value, json};

use crate::asked::JobId;
use crate::failure::Failure;
use crate::field::{Field, Need};
use crate::frame::{OfJob, Page, Part};
use crate::parallel;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};
use crate::stated::Stated;

/// What a new job starts with: an ordinary gauge, and three processes from mild to strong. Judgement: wide enough that a test spot, and not these numbers,
/// decides; narrower, and a plan without a test spot would be trusted too far.
pub(crate) fn usual() -> [Value; 4] {
    let process = |name: &str, mean: &str, sd: &str, minutes: &str, marks: [&str; 2]| {
        json!({
            "kind": "process-stated", "name": name, "removal_um": { "mean": mean, "sd": sd }, "minutes_per_m2": minutes,
            "marks": { "mean": marks[0], "sd": marks[1] },
        })
    };
    let mut cut = process("cut", "2.4", "1.0", "32", ["0.03", "0.02"]);
    cut["followed_by"] = json!("finish");
    [
        json!({ "kind": "gauge-stated", "accuracy": { "fixed_um": "1.0", "percent": "1.0" }, "repeatability_um": "0.8", "resolution_um": "0.1" }),
        process("finish", "0.5", "0.25", "18", ["0.005", "0.005"]),
        process("one-step", "1.1", "0.5", "26", ["0.01", "0.01"]),
        cut,
    ]
}

/// Answers with the page.
pub(crate) async fn workshop(State(shop): State<Arc<Shop>>, preferences: Preferences, JobId(id): JobId) -> Result<Html<String>, Failure> {
    let folded = blocking(move || shop.folded(id)).await?;
    let body = html! {
        h1 { "Gauge and processes" }
        div id="workshop" data-live {
            (parallel::settled(&folded, is_here))
            (gauges(&folded)) (processes(&folded)) }
    };
    Ok(Page { preferences: &preferences, title: "Gauge and processes", job: Some(OfJob { id, part: Part::Overview }), script: None }
        .with(&body))
}

/// What stands on this page.
const fn is_here(thing: &Thing) -> bool {
    !matches!(thing, Thing::Vehicle | Thing::Paint | Thing::Panel(_) | Thing::Spot(_))
}

fn gauges(folded: &Folded) -> Markup {
    let gauges = &folded.standing.gauges;
    let has_usual = gauges.first().is_some_and(|gauge| gauge.name.is_empty());
    let unnamed = html! {};
    html! {
        section {
            h2 { "Gauges" }
            p { "As their makers state them. A reading that names no gauge was taken with the usual one." }
            @if !has_usual { (gauge("gauge-usual", &Stated::default(), &unnamed)) }
            @for (at, known) in gauges.iter().enumerate() {
                @let form = format!("gauge-{at}");
                details id=(form) {
                    summary { span { strong { @if known.name.is_empty() { "The usual gauge" } @else { (known.name) } } ": \u{b1} (" (known.fixed_um) " um + " (known.percent) " %)" } }
                    (gauge(&form, &Stated::of(folded, &Thing::Gauge(known.name.clone())), &unnamed))
                }
            }
            @if has_usual {
                details id="gauge-new" {
                    summary { "Another gauge" }
                    (gauge("gauge-new", &Stated::default(), &Field { name: "name", label: "Name", value: "", help: "As you call it: a session of readings names it." }.of("gauge-new").text(Need::Must)))
                }
            }
        }
    }
}

/// A form that states a gauge; one that has its name asks for no other.
fn gauge(form: &str, stated: &Stated, name: &Markup) -> Markup {
    let field = |name: &'static str, label: &'static str, help: &'static str| Field { name, label, value: stated.text(name), help };
    html! {
        form.stack data-record data-event="gauge-stated" data-base=[stated.base()] data-over=(stated.over()) data-said="The gauge is recorded." {
            (name)
            (field("accuracy.fixed_um", "Accuracy, the fixed part", "The maker states \u{b1} so many um and per cent of the reading.").of(form).number(Need::Must, "um"))
            (field("accuracy.percent", "Accuracy, the part that grows", "").of(form).number(Need::Must, "% of the reading"))
            (field("repeatability_um", "Repeatability", "Standard deviation of ten readings at one place, the probe lifted between.").of(form).number(Need::Must, "um"))
            (field("resolution_um", "The display's step", "").of(form).number(Need::May, "um"))
            (field("through_um", "Clean film left under the probe", "On soft paint read through a clean film, never bare on a finished panel: its thickness is taken off every reading.").of(form).number(Need::May, "um"))
            button.primary { "Record the gauge" }
        }
    }
}

fn processes(folded: &Folded) -> Markup {
    let processes = &folded.standing.processes;
    html! {
        section {
            h2 { "Processes" }
            p { "A process is one machine, pad and polish used one way. What is believed of it is a starting point: the test spot tells." }
            @for (at, known) in processes.iter().enumerate() {
                @let form = format!("process-{at}");
                details id=(form) {
                    summary { span { strong { (known.name) } ": " (known.removal_um.mean) " \u{b1} " (known.removal_um.sd) " um a set, " (known.minutes_per_m2) " min a m\u{b2}" } }
                    (process(&form, &Stated::of(folded, &Thing::Process(known.name.clone())), &html! {}, &others(processes, &known.name)))
                }
            }
            details id="process-new" {
                summary { "Another process" }
                (process("process-new", &Stated::default(), &Field { name: "name", label: "Name", value: "", help: "Machine, pad and polish in your own words." }.of("process-new").text(Need::Must), &others(processes, "")))
            }
        }
    }
}

/// The names of all processes but one.
fn others<'p>(processes: &'p [Process], but: &str) -> Vec<&'p str> {
    processes.iter().map(|process| process.name.as_str()).filter(|name| *name != but).collect()
}

/// A form that states a process; one that has its name asks for no other.
fn process(form: &str, stated: &Stated, name: &Markup, others: &[&str]) -> Markup {
    let field = |name: &'static str, label: &'static str, help: &'static str| Field { name, label, value: stated.text(name), help };
    let followed = stated.text("followed_by").trim();
    html! {
        form.stack data-record data-event="process-stated" data-base=[stated.base()] data-over=(stated.over()) data-names=[stated.base().is_none().then(|| json!(others))] data-said="The process is recorded." {
            (name)
            (field("removal_um.mean", "One set takes about", "").of(form).number(Need::Must, "um"))
            (field("removal_um.sd", "give or take", "One standard deviation. Half of it when you only know it from other paints.").of(form).number(Need::Must, "um"))
            (field("minutes_per_m2", "One set's time", "").of(form).number(Need::Must, "minutes a m\u{b2}"))
            (field("marks.mean", "New marks that one set leaves, as a share", "0.01 is one in a hundred of what there was.").of(form).number(Need::May, ""))
            (field("marks.sd", "give or take", "").of(form).number(Need::May, ""))
            div.asked {
                label.field for={ (form) "-followed_by" } { "Must be followed by" }
                select id={ (form) "-followed_by" } name="followed_by" {
                    option value="" { "nothing" }
                    @for other in others { option value=(other) selected[*other == followed] { (other) } }
                }
            }
            button.primary { "Record the process" }
        }
    }
}
