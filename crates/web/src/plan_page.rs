//! The plan: the whole vehicle, dials, what a turn of them changes, and one panel to turn to the owner.

mod compared;
mod pads;

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, Query, State};
use axum::response::Html;
use lastmicron_access::Deed;
use lastmicron_draw::{Room, Scales, in_unit, panel_map};
use lastmicron_folder::plan_json;
use lastmicron_folder::planned::{Planned, PlannedPanel, PlannedSection, PlannedStep};
use lastmicron_job::Job;
use lastmicron_job::event::{Digest, Id};
use lastmicron_plan::{Alike, Car, Outcome, alike};
use lastmicron_record::sha256;
use lastmicron_units::Unit;
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::accepted::{Accepted, DAMAGED};
use crate::asked::{JobId, panel_address};
use crate::dials::Dials;
use crate::failure::Failure;
use crate::frame::{OfJob, Page, Part};
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};
use crate::start::may_accept;
use crate::through::{self, warned};
use crate::wording::{counted, counted_chance, minute};
use crate::{job_page, parallel, vehicle_drawn};
use compared::compared;

/// Room of a panel's drawing, points: shown as wide as the screen, so that its letters are large.
const PANEL: Room = Room { width_pt: 360.0, height_pt: 520.0 };

/// A share of defects that is worth telling where nothing is done.
const LEAST_GONE: f64 = 0.005;

/// What the page of the plan shows.
struct Shown {
    folded: Folded,
    job: Job,
    outcome: Arc<Outcome>,
    planned: Planned,
    /// What tells it from any other: the hash of what would be kept of it.
    digest: Digest,
    /// The plan by what is agreed, where dials stand elsewhere.
    agreed: Option<Planned>,
    accepted: Accepted,
}

/// Answers with the plan of the vehicle.
pub(crate) async fn vehicle(
    State(shop): State<Arc<Shop>>,
    preferences: Preferences,
    JobId(id): JobId,
    Query(dials): Query<Dials>,
) -> Result<Html<String>, Failure> {
    let unit = preferences.unit;
    let (of_dials, looks) = (Arc::clone(&shop), preferences.clone());
    let shown = blocking(move || shown(&shop, id, dials, &looks)).await?;
    if let Ok(shown) = &shown
        && shown.agreed.is_none()
    {
        // What a first turn of the dials is held against is made while the page is looked at.
        let car = shown.job.car.clone();
        tokio::task::spawn_blocking(move || of_dials.estimates.sketch(id, car, unit));
    }
    let body = match shown {
        Err(lacking) => html! { h1 { "Plan" } div id="plan" data-live { (missing(id, &lacking)) } },
        Ok(shown) => html! {
            h1 { "Plan" }
            div.planned {
                (dials.turned(&shown.job, id))
                div id="plan" data-live { (warned(&shown.folded.standing, None)) (parallel::planned_from(id, &shown.folded.standing)) (totals(&shown, unit)) (what_changed(&shown, unit)) (accept(&shown, dials, id, preferences.offers(Deed::Agree))) }
            }
            div id="panels" data-live { (picture(&shown, id)) (panels(&shown, id, unit)) (pads::asked(&shown.job.car, &shown.outcome)) (known(&shown)) }
        },
    };
    Ok(Page { preferences: &preferences, title: "Plan", job: Some(OfJob { id, part: Part::Plan }), script: None }.with(&body))
}

/// What a plan can't be made without: a sentence, where to go, and what that is called.
type Missing = (String, &'static str, &'static str);

fn shown(shop: &Shop, id: Id, dials: Dials, preferences: &Preferences) -> Result<Result<Shown, Vec<Missing>>, Failure> {
    let unit = preferences.unit;
    let folded = shop.folded(id)?;
    let standing = &folded.standing;
    let job = match standing.job() {
        Ok(job) => job,
        Err(lacking) => return Ok(Err(lacking.into_iter().map(|one| job_page::missing(one, preferences)).collect())),
    };
    if job.car.readings.is_empty() {
        let why = "There are no readings: nothing is known of the film, so nothing can be planned".to_owned();
        return Ok(Err(vec![(why, "/survey", "Begin the survey")]));
    }
    let (turned, outcome, agreed) = if dials.are_turned(&job) {
        let turned = dials.turn(job.clone());
        let outcome = shop.estimates.sketch(id, turned.car.clone(), unit)?;
        // Both from as many films: what their number changes is not what the dials change.
        let agreed = shop.estimates.sketch(id, job.car.clone(), unit)?;
        (turned, outcome, Some(planned(&to_keep(&job.car, &agreed))?))
    } else {
        let outcome = shop.estimates.plan(id, job.car.clone(), unit)?;
        (job, outcome, None)
    };
    let bytes = to_keep(&turned.car, &outcome);
    let accepted = Accepted::of(shop, standing)?;
    Ok(Ok(Shown { planned: planned(&bytes)?, digest: sha256(&bytes), job: turned, outcome, agreed, accepted, folded }))
}

/// A plan as it is kept.
fn to_keep(car: &Car, outcome: &Outcome) -> Vec<u8> {
    format!("{:#}", plan_json(car, outcome, &[])).into_bytes()
}

fn planned(bytes: &[u8]) -> Result<Planned, Failure> {
    Planned::read(bytes).map_err(|_| Failure::Inside)
}

fn missing(id: Id, lacking: &[Missing]) -> Markup {
    html! {
        p { "A plan says for every section which process to use and how many sets, what that takes and leaves, and how likely it is to go too far. For it is needed:" }
        ul.jobs { @for (why, end, words) in lacking { li { p { (why) "." } a.primary href={ "/jobs/" (id) (end) } { (words) } } } }
    }
}

fn totals(shown: &Shown, unit: Unit) -> Markup {
    let Planned { risk, correction, hours, .. } = &shown.planned;
    let risk = risk
        .map_or_else(|| "not known: no gauge has read what is worked".to_owned(), |risk| counted_chance(risk, shown.outcome.plan.films));
    let unread: Vec<&str> =
        shown.planned.panels.iter().filter(|panel| panel.is_worked() && !panel.measured).map(|panel| panel.name.as_str()).collect();
    html! {
        dl.totals {
            div { dt { "defects gone" } dd { strong { (format!("{:.0} %", 100.0 * correction.mean)) } span { (format!("{:.0} to {:.0} %, 9 times in 10", 100.0 * correction.p05, 100.0 * correction.p95)) } } }
            div { dt { "some place ends below " (in_unit(shown.job.car.limits.floor.micrometres(), unit)) } dd { strong { (risk) } @if !unread.is_empty() { span { "not counted, since nobody has read them: " (unread.join(", ")) } } } }
            div { dt { "machine work" } dd { strong { (format!("{hours:.1} h")) } } }
        }
    }
}

/// What a turn of the dials changed, or what has changed since the plan was accepted.
fn what_changed(shown: &Shown, unit: Unit) -> Markup {
    let (before, since) = match (&shown.agreed, shown.accepted.plan()) {
        (Some(agreed), _) => (agreed, "Against what is agreed"),
        (None, Some(accepted)) => (accepted, "Since the plan was accepted"),
        (None, None) => return html! {},
    };
    let lines = compared(before, &shown.planned, unit);
    html! {
        section {
            h2 { (since) }
            @if lines.is_empty() { p { "Nothing changes." } } @else { ul { @for line in &lines { li { (line) } } } }
            @if shown.agreed.is_none() { p.quiet { (came(shown)) } }
        }
    }
}

/// What came to the record since the plan was accepted: that is why it changed.
fn came(shown: &Shown) -> String {
    let standing = &shown.folded.standing;
    let Some(accepted) = standing.plans.last() else { return String::new() };
    let since = shown.folded.since(accepted.event);
    let readings = standing.readings.iter().filter(|taken| since.contains(&taken.event)).count();
    let sets = standing.done.iter().filter(|done| since.contains(&done.event)).count();
    let judged = standing.judged.iter().filter(|judged| since.contains(&judged.event)).count();
    format!(
        "Accepted {} by {}; since then {}, sets done {}, {} at test spots.",
        minute(&accepted.when),
        accepted.who,
        counted(readings, "reading", "readings"),
        counted(sets, "time", "times"),
        counted(judged, "look", "looks"),
    )
}

fn accept(shown: &Shown, dials: Dials, id: Id, is_offered: bool) -> Markup {
    html! {
        @if shown.accepted == Accepted::Damaged { p.stop { (DAMAGED) } }
        @if shown.agreed.is_some() {
            p { "The dials only try things out. To plan by them, " @if is_offered { "agree on them with the owner." } @else { "let an owner of the workshop agree on them." } }
            div.row {
                @if is_offered { a.primary href={ "/jobs/" (id) "/terms" (dials.query()) } { "Agree on these" } }
                a.button href={ "/jobs/" (id) "/plan" } { "Back to what is agreed" }
            }
        } @else if !is_offered {
            p { "An owner of the workshop accepts it: work follows the plan as it was accepted." }
        } @else {
            form data-record data-event="plan-accepted" data-kept={ "/jobs/" (id) "/acceptance?shown=" (shown.digest) } data-said="The plan is kept as it was accepted." {
                button.primary { @if shown.accepted != Accepted::None { "Accept it as it is now" } @else { "Accept this plan" } }
            }
        }
    }
}

fn picture(shown: &Shown, id: Id) -> Markup {
    let on: Vec<(String, String)> = shown.planned.panels.iter().map(|panel| (panel.name.clone(), on_picture(panel))).collect();
    vehicle_drawn::vehicle(&shown.folded.standing, &on, None, &format!("/jobs/{id}/plan/"))
}

fn on_picture(panel: &PlannedPanel) -> String {
    if panel.is_worked() || panel.gone() > LEAST_GONE { format!("{:.0} %", 100.0 * panel.gone()) } else { "leave".to_owned() }
}

fn panels(shown: &Shown, id: Id, unit: Unit) -> Markup {
    html! {
        h2 { "Every panel" }
        p.quiet { "Percentages are of the defects gone. Turn a panel's page to the owner who asks why." }
        ul.jobs {
            @for panel in &shown.planned.panels {
                li { a.button.wide href=(panel_address(id, "plan", &panel.name)) { strong { (panel.name) } span { (sentence(panel, unit)) } } }
            }
        }
    }
}

/// A panel in one sentence.
pub(crate) fn sentence(panel: &PlannedPanel, unit: Unit) -> String {
    let mut kinds: Vec<(String, usize)> = Vec::new();
    for section in &panel.sections {
        let words = section.words();
        match kinds.iter_mut().find(|(known, _)| *known == words) {
            Some((_, count)) => *count += 1,
            None => kinds.push((words, 1)),
        }
    }
    if !panel.is_worked() {
        let gone = panel.gone();
        let gone = if gone > LEAST_GONE { format!(" {:.0} % of its defects are gone already.", 100.0 * gone) } else { String::new() };
        return format!("Leave it as it is: {}.{gone}", why_left(panel));
    }
    let many = panel.sections.len() > 1;
    let parts: Vec<String> = kinds
        .iter()
        .map(|(words, count)| if many { format!("{words} on {count} of {}", panel.sections.len()) } else { words.clone() })
        .collect();
    let leaves = panel.leaves_p05_um().map_or_else(
        || "nobody has read it, so what it leaves is not known".to_owned(),
        |um| format!("at least {} is left, 19 times in 20", in_unit(um, unit)),
    );
    format!("{}; {:.0} % of the defects go; {leaves}.", parts.join(", "), 100.0 * panel.gone())
}

/// Why a panel is left as it is, without the full stop.
pub(crate) fn why_left(panel: &PlannedPanel) -> &str {
    let why = panel.sections.first().map(|section| &section.why).or_else(|| panel.notes.first());
    why.map(String::as_str).unwrap_or_default().trim_end_matches('.')
}

/// What was found and assumed on the way.
fn known(shown: &Shown) -> Markup {
    html! {
        details id="assumed" {
            summary { "What this rests on" }
            ul {
                @for finding in &shown.outcome.findings { li { (finding.sentence) "." } }
                @for assumed in &shown.outcome.assumptions { li { (assumed) "." } }
            }
        }
    }
}

/// Answers with one panel, to be turned to the owner.
pub(crate) async fn panel(
    State(shop): State<Arc<Shop>>,
    preferences: Preferences,
    JobId(id): JobId,
    Path((_, name)): Path<(String, String)>,
) -> Result<Html<String>, Failure> {
    let (unit, looks) = (preferences.unit, preferences.clone());
    let shown = blocking(move || shown(&shop, id, Dials::default(), &looks)).await?;
    let body = match shown {
        Err(lacking) => html! { h1 { "Plan" } (missing(id, &lacking)) },
        Ok(shown) => {
            let at = shown.planned.panels.iter().position(|panel| panel.name == name).ok_or(Failure::NoPanel)?;
            let planned = &shown.planned.panels[at];
            let map = panel_map(&shown.job.car, &shown.outcome, at, &Scales::of(&shown.outcome, unit), PANEL);
            let asked = if planned.is_worked() {
                format!("What is done to the {}, and why no more?", planned.name)
            } else {
                format!("Why not the {}?", planned.name)
            };
            html! {
                h1 { (asked) }
                (warned(&shown.folded.standing, shown.folded.standing.panels.iter().position(|panel| panel.panel.name == name)))
                div id="decided" data-live {
                    @if shown.folded.standing.panels.iter().any(|panel| panel.panel.name == name && panel.work && !panel.may_be_worked()) { (through::decided(&name, &preferences)) }
                }
                p.figure { (sentence(planned, unit)) }
                div.map { (PreEscaped(map.svg())) }
                @for note in &planned.notes { p { (note) "." } }
                (whys(planned))
                p { a.button href={ "/jobs/" (id) "/plan" } { "To the whole plan" } }
            }
        }
    };
    Ok(Page { preferences: &preferences, title: "Plan of a panel", job: Some(OfJob { id, part: Part::Plan }), script: None }.with(&body))
}

/// What is done on which sections, and why no more: those together that are treated alike for the same reason.
fn whys(panel: &PlannedPanel) -> Markup {
    let said: Vec<(&[PlannedStep], &str)> = panel.sections.iter().map(|section| (section.steps.as_slice(), section.why.as_str())).collect();
    let words =
        |group: &Alike| group.sections.first().and_then(|at| panel.sections.get(*at)).map(PlannedSection::words).unwrap_or_default();
    html! { ul.sections { @for group in alike(&said) { li { span.quiet { (group.named()) ": " } strong { (words(&group)) } ": " (group.why) "." } } } }
}

/// Which plan somebody saw when they accepted it.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(crate) struct Seen {
    shown: Digest,
}

/// Keeps the plan by what is agreed, if it is the one that was seen, and answers with what its acceptance says.
pub(crate) async fn kept(
    State(shop): State<Arc<Shop>>,
    preferences: Preferences,
    JobId(id): JobId,
    Query(seen): Query<Seen>,
) -> Result<Json<Value>, Failure> {
    blocking(move || {
        let folded = shop.folded(id)?;
        let job = folded.standing.job().map_err(|lacking| Failure::NoSense(lacking.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")))?;
        may_accept(&shop, &folded)?;
        let outcome = shop.estimates.plan(id, job.car.clone(), preferences.unit)?;
        let bytes = to_keep(&job.car, &outcome);
        if sha256(&bytes) != seen.shown {
            let why = "something was recorded since this plan was shown, and it is another now. Look at it again, then accept it";
            return Err(Failure::NoSense(why.to_owned()));
        }
        let kept = shop.keep(&bytes)?;
        let plan = &outcome.plan;
        let risk = if plan.risk.is_finite() { format!("{:.4}", plan.risk) } else { "unknown".to_owned() };
        Ok(Json(json!({
            "plan": kept.to_string(), "risk": risk, "correction": format!("{:.3}", plan.correction.mean), "hours": format!("{:.1}", plan.hours),
        })))
    })
    .await
}
