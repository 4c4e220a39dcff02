//! The gauge: checked on shims when it is taken up and when it is laid down, and tried.

use std::sync::Arc;

use axum::extract::State;
use axum::response::Html;
use lastmicron_draw::in_unit;
use lastmicron_film::gauge::Gauge;
use lastmicron_job::fold::{Session, Shim, Standing};
use lastmicron_units::Unit;
use maud::{Markup, html};

use crate::asked::JobId;
use crate::asset::GAUGE;
use crate::failure::Failure;
use crate::field::{Field, Need};
use crate::frame::{OfJob, Page, Part};
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::Shop;
use crate::wording::minute;

/// Shims that are asked for, and readings on each. Common practice, no source: one below and one above what the paint reads, three times each.
const SHIMS: usize = 2;
const TIMES: usize = 3;

/// Answers with the page.
pub(crate) async fn gauge(State(shop): State<Arc<Shop>>, preferences: Preferences, JobId(id): JobId) -> Result<Html<String>, Failure> {
    let (folded, now) = blocking(move || Ok((shop.folded(id)?, shop.now()))).await?;
    // Two people who each take up a gauge have two sessions.
    let name = format!("{}, {}", minute(&now), if preferences.who.is_empty() { "?" } else { &preferences.who });
    let standing = &folded.standing;
    let unit = preferences.unit;
    let open = standing.open_session(&preferences.who);
    let body = html! {
        h1 { "The gauge" }
        p { "Offset and gain of a gauge are common to all that it reads in one session: a check on shims tells them, and no number of readings does." }
        div id="gauge" data-live {
            @match open {
                Some(open) => {
                    (lay_down(open, unit))
                    @if open.who != preferences.who {
                        details id="another" {
                            summary { "Yours is another gauge than " (open.who) "'s" }
                            (take_up(standing, &name, unit))
                        }
                    }
                }
                None => { (take_up(standing, &name, unit)) }
            }
        }
        p { a.primary href={ "/jobs/" (id) "/survey" } { "To the survey" } }
        div id="sessions" data-live { (sessions(standing, unit)) }
        section {
            h2 { "Try the gauge" }
            p { "Read something now. What the gauge sends as a keyboard is shown here, and recorded nowhere." }
            ol id="sent" aria-live="polite" {}
        }
    };
    Ok(Page { preferences: &preferences, title: "The gauge", job: Some(OfJob { id, part: Part::Survey }), script: Some(GAUGE.path()) }
        .with(&body))
}

fn take_up(standing: &Standing, name: &str, unit: Unit) -> Markup {
    html! {
        form.stack data-record data-event="session-began" data-said="The session has begun." {
            h2 { "Take it up" }
            input type="hidden" name="session" value=(name);
            @if standing.gauges.len() > 1 {
                div.asked {
                    label.field for="which" { "Which gauge" }
                    select id="which" name="gauge" { @for gauge in &standing.gauges { option value=(gauge.name) { @if gauge.name.is_empty() { "the usual one" } @else { (gauge.name) } } } }
                }
            }
            p { "Set it to zero on bare metal of the kind that you read, then read each shim on it." }
            (checks(unit))
            (Field { name: "note", label: "Anything to note", value: "", help: "" }.text(Need::May))
            button.primary { "Begin the session" }
        }
    }
}

fn lay_down(open: &Session, unit: Unit) -> Markup {
    html! {
        form.stack data-record data-event="session-ended" data-said="The session has ended." {
            h2 { "Lay it down" }
            p { "The session " strong { (open.name) } " began " (minute(&open.began)) ". Read the shims once more: a gauge that drifted shows it now." }
            input type="hidden" name="session" value=(open.name);
            (checks(unit))
            button.primary { "End the session" }
        }
    }
}

fn checks(unit: Unit) -> Markup {
    html! {
        @for shim in 0..SHIMS {
            fieldset {
                legend { "Shim " (shim + 1) }
                (Field { name: &format!("checks.{shim}.shim"), label: "It is said to be", value: "", help: "" }.film(Need::May, unit))
                @for time in 0..TIMES {
                    (Field { name: &format!("checks.{shim}.shown.{time}"), label: &format!("The gauge shows, {}", ["first", "second", "third"][time]), value: "", help: "" }.film(Need::May, unit))
                }
            }
        }
    }
}

fn sessions(standing: &Standing, unit: Unit) -> Markup {
    html! {
        @if !standing.sessions.is_empty() {
            section {
                h2 { "Sessions" }
                ol reversed {
                    @for session in standing.sessions.iter().rev() {
                        li {
                            strong { (session.name) } ", " (minute(&session.began)) @if let Some(ended) = &session.ended { " to " (minute(ended)) }
                            @for (when, shims) in [("at the start", &session.before), ("at the end", &session.after)] {
                                @for shim in shims { p { (when) ": " (told(shim, standing.gauges.get(session.gauge), unit)) } }
                            }
                            @if session.before.is_empty() && session.after.is_empty() { p.stop { "Not checked on shims: its offset is known only by what the maker states." } }
                        }
                    }
                }
            }
        }
    }
}

/// What a shim says of the gauge.
fn told(shim: &Shim, gauge: Option<&Gauge>, unit: Unit) -> String {
    let is = shim.shim.thickness().micrometres();
    let shown: Vec<f64> = shim.shown.iter().map(|shown| shown.thickness().micrometres()).collect();
    if shown.is_empty() {
        return format!("a shim of {}, not read", in_unit(is, unit));
    }
    let off = shown.iter().sum::<f64>() / shown.len() as f64 - is;
    let side = if off < 0.0 { "low" } else { "high" };
    let within = gauge.map_or_else(String::new, |gauge| {
        let allowed = gauge.fixed_um + gauge.percent / 100.0 * is;
        let verdict = if off.abs() <= allowed { "within" } else { "beyond" };
        format!(", {verdict} the \u{b1} {} that the maker states", in_unit(allowed, unit))
    });
    format!("a shim of {} reads {} {side} in the mean of {}{within}", in_unit(is, unit), in_unit(off.abs(), unit), shown.len())
}
