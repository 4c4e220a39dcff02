//! Gauge and processes: what the workshop reads with and works with.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_job::fold::Standing;
use maud::{Markup, html};
use serde_json::{Value, json};

use crate::asked::JobId;
use crate::failure::Failure;
use crate::field::{Field, Need};
use crate::frame::{OfJob, Page, Part};
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::Shop;

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
        div id="workshop" data-live { (gauges(&folded.standing)) (processes(&folded.standing)) }
    };
    Ok(Page { preferences: &preferences, title: "Gauge and processes", job: Some(OfJob { id, part: Part::Overview }), script: None }
        .with(&body))
}

fn gauges(standing: &Standing) -> Markup {
    let gauge = standing.gauges.first();
    let text = |um: Option<f64>| um.map(|um| um.to_string()).unwrap_or_default();
    let fixed = text(gauge.map(|gauge| gauge.fixed_um));
    let percent = text(gauge.map(|gauge| gauge.percent));
    let repeats = text(gauge.map(|gauge| gauge.repeatability_um));
    let step = text(gauge.map(|gauge| gauge.resolution_um).filter(|um| *um > 0.0));
    let foil = text(gauge.map(|gauge| gauge.through_um).filter(|um| *um > 0.0));
    html! {
        section {
            h2 { "The gauge" }
            form.stack data-record data-event="gauge-stated" data-said="The gauge is recorded." {
                (Field { name: "accuracy.fixed_um", label: "Accuracy, the fixed part", value: &fixed, help: "The maker states \u{b1} so many um and per cent of the reading." }.number(Need::Must, "um"))
                (Field { name: "accuracy.percent", label: "Accuracy, the part that grows", value: &percent, help: "" }.number(Need::Must, "% of the reading"))
                (Field { name: "repeatability_um", label: "Repeatability", value: &repeats, help: "Standard deviation of ten readings at one place, the probe lifted between." }.number(Need::Must, "um"))
                (Field { name: "resolution_um", label: "The display's step", value: &step, help: "" }.number(Need::May, "um"))
                (Field { name: "through_um", label: "Clean film left under the probe", value: &foil, help: "On soft paint read through a clean film, never bare on a finished panel: its thickness is taken off every reading." }.number(Need::May, "um"))
                button.primary { "Record the gauge" }
            }
        }
    }
}

fn processes(standing: &Standing) -> Markup {
    html! {
        section {
            h2 { "Processes" }
            p { "A process is one machine, pad and polish used one way. What is believed of it is a starting point: the test spot tells." }
            @for (at, process) in standing.processes.iter().enumerate() {
                details id={ "process-" (at) } {
                    summary { span { strong { (process.name) } ": " (process.removal_um.mean) " \u{b1} " (process.removal_um.sd) " um a set, " (process.minutes_per_m2) " min a m\u{b2}" } }
                    (form(standing, Some(at)))
                }
            }
            details id="process-new" { summary { "Another process" } (form(standing, None)) }
        }
    }
}

fn form(standing: &Standing, at: Option<usize>) -> Markup {
    let process = at.and_then(|at| standing.processes.get(at));
    let text =
        |of: &dyn Fn(&lastmicron_polish::Process) -> Option<f64>| process.and_then(of).map(|number| number.to_string()).unwrap_or_default();
    let mean = text(&|process| Some(process.removal_um.mean));
    let sd = text(&|process| Some(process.removal_um.sd));
    let minutes = text(&|process| Some(process.minutes_per_m2));
    let marks = text(&|process| process.marks.map(|marks| marks.mean));
    let marks_sd = text(&|process| process.marks.map(|marks| marks.sd));
    let followed = process.and_then(|process| process.followed_by).and_then(|next| standing.processes.get(next));
    html! {
        form.stack data-record data-event="process-stated" data-said="The process is recorded." {
            @match process {
                Some(process) => { input type="hidden" name="name" value=(process.name); }
                None => { (Field { name: "name", label: "Name", value: "", help: "Machine, pad and polish in your own words." }.text(Need::Must)) }
            }
            (Field { name: "removal_um.mean", label: "One set takes about", value: &mean, help: "" }.number(Need::Must, "um"))
            (Field { name: "removal_um.sd", label: "give or take", value: &sd, help: "One standard deviation. Half of it when you only know it from other paints." }.number(Need::Must, "um"))
            (Field { name: "minutes_per_m2", label: "One set's time", value: &minutes, help: "" }.number(Need::Must, "minutes a m\u{b2}"))
            (Field { name: "marks.mean", label: "New marks that one set leaves, as a share", value: &marks, help: "0.01 is one in a hundred of what there was." }.number(Need::May, ""))
            (Field { name: "marks.sd", label: "give or take", value: &marks_sd, help: "" }.number(Need::May, ""))
            div.asked {
                label.field for={ "followed-" (at.unwrap_or(standing.processes.len())) } { "Must be followed by" }
                select id={ "followed-" (at.unwrap_or(standing.processes.len())) } name="followed_by" {
                    option value="" { "nothing" }
                    @for (other, process) in standing.processes.iter().enumerate().filter(|(other, _)| Some(*other) != at) {
                        option value=(process.name) selected[followed.is_some_and(|followed| followed.name == standing.processes[other].name)] { (process.name) }
                    }
                }
            }
            button.primary { "Record the process" }
        }
    }
}
