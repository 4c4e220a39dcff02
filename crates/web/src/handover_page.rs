//! What goes home with the vehicle: what was taken and what is left, what was not done and why, and the document of it.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{Html, IntoResponse, Response};
use lastmicron_draw::{Room, TakenScales, in_unit, in_unit_bare, taken_map};
use lastmicron_folder::planned::{Planned, PlannedPanel};
use lastmicron_job::event::Id;
use lastmicron_job::fold::{Standing, Status, Where};
use lastmicron_plan::Car;
use lastmicron_plan::taken::{Likely, PanelTaken, Taken, thin_places};
use lastmicron_record::Head;
use lastmicron_units::Unit;
use maud::{Markup, PreEscaped, html};

use crate::accepted::{Accepted, DAMAGED};
use crate::asked::{JobId, panel_address, panel_named};
use crate::failure::Failure;
use crate::frame::{OfJob, Page, Part};
use crate::job_page::title;
use crate::order::{Order, Place, State as At};
use crate::papers::HandedOver;
use crate::plan_page;
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};
use crate::terms_page;
use crate::through::warned;
use crate::wording::{counted, counted_chance, minute};

/// Room of a panel's drawing, points: shown as wide as the screen.
const PANEL: Room = Room { width_pt: 330.0, height_pt: 420.0 };

/// Care after correction. Common practice, no source.
const CARE: [&str; 5] = [
    "Look at it again the next day and after the first wash: what polish filled shows then.",
    "Wash with two buckets and soft cloths, dry by patting or air: soft paint marks when it is wiped dry.",
    "Nothing abrasive: the film that is left is stated here, and the next polishing begins from it.",
    "A coating or wax protects from washing and sun, and adds no film that may be polished.",
    "Read through a clean film, never bare on a finished panel.",
];

/// Where thin places are told of a panel.
const THIN: usize = 2;

/// What the page shows.
struct Shown {
    folded: Folded,
    estimated: Option<(Car, Arc<Taken>)>,
    unbegun: Vec<(String, String)>,
    has_papers: bool,
}

/// Answers with the page.
pub(crate) async fn handover(State(shop): State<Arc<Shop>>, preferences: Preferences, JobId(id): JobId) -> Result<Html<String>, Failure> {
    let unit = preferences.unit;
    let shown = blocking(move || shown(&shop, id, shop.folded(id)?)).await?;
    let standing = &shown.folded.standing;
    let body = html! {
        h1 { "Hand over" }
        div id="handover" data-live {
            @if let Some(terms) = standing.terms.last() { p { "Agreed: " (terms_page::words(terms, unit)) } }
            (warned(standing, None))
            (in_short(&shown, unit))
            (not_done(&shown))
            (panels(&shown, id, unit))
            (photographs(&format!("/jobs/{id}"), standing))
            (next_person(&shown, unit))
            section { h2 { "Care" } ul { @for care in CARE { li { (care) } } } p.quiet { "Common practice, no source." } }
            (record(&shown))
        }
        (document(id, &shown))
        (go_home(standing, id, preferences.offers(lastmicron_access::Deed::Agree)))
    };
    Ok(Page { preferences: &preferences, title: "Hand over", job: Some(OfJob { id, part: Part::HandOver }), script: None }.with(&body))
}

/// What a client is shown of their job: its name, how far it is, and what will go home with it.
pub(crate) fn for_client(shop: &Shop, id: Id, unit: Unit) -> Result<(String, Markup), Failure> {
    let shown = shown(shop, id, shop.folded(id)?)?;
    let standing = &shown.folded.standing;
    let states: Vec<At> = match Accepted::of(shop, standing)? {
        Accepted::Plan(planned) => Order::of(&planned, &shown.folded).places.into_iter().map(|place| place.state).collect(),
        Accepted::Damaged | Accepted::None => Vec::new(),
    };
    let done = states.iter().filter(|state| matches!(state, At::Done(_))).count();
    let in_hand = states.iter().filter(|state| matches!(state, At::Begun(_))).count();
    let at = match standing.status() {
        Status::Arrived => "It has arrived.",
        Status::OnTheFloor => "It is on the floor.",
        Status::GoneHome => "It has gone home.",
    };
    let body = html! {
        section {
            h2 { "How far it is" }
            p { (at) " " (counted(standing.readings.len(), "reading of the film was", "readings of the film were")) " taken." }
            @if !states.is_empty() { p.figure { (done) " of " (counted(states.len(), "section", "sections")) " done" @if in_hand > 0 { ", " (in_hand) " in hand" } "." } }
        }
        @if let Some(terms) = standing.terms.last() { p { "Agreed: " (terms_page::words(terms, unit)) } }
        (warned(standing, None))
        (in_short(&shown, unit))
        (not_done(&shown))
        @if let Some((car, taken)) = &shown.estimated {
            section {
                h2 { (of_panels(&shown)) }
                ul { @for panel in &taken.panels { li { strong { (car.panels.get(panel.panel).map_or("", |of| of.panel.name.as_str())) } ": " (told(&shown, car, panel, unit)) } } }
            }
        }
        (photographs("/look", standing))
        section { h2 { "Care" } ul { @for care in CARE { li { (care) } } } p.quiet { "Common practice, no source." } }
        (record(&shown))
    };
    Ok((title(standing).to_owned(), body))
}

fn shown(shop: &Shop, id: Id, folded: Folded) -> Result<Shown, Failure> {
    let estimated = match folded.standing.job() {
        Ok(job) => {
            let taken = shop.estimates.taken(id, job.car.clone())?;
            Some((job.car, taken))
        }
        Err(_) => None,
    };
    let unbegun = match Accepted::of(shop, &folded.standing)? {
        // Before the work nothing of it is undone.
        Accepted::Plan(planned) if folded.standing.is_begun() => unbegun(&planned, &folded),
        // That the plan is lost is to be known before anything is worked, too.
        Accepted::Damaged => vec![("the plan".to_owned(), DAMAGED.to_owned())],
        Accepted::Plan(_) | Accepted::None => Vec::new(),
    };
    Ok(Shown { folded, estimated, unbegun, has_papers: shop.papers().is_some() })
}

/// What the accepted plan works that nobody began, and what it leaves as it is: a panel's name and a sentence.
fn unbegun(planned: &Planned, folded: &Folded) -> Vec<(String, String)> {
    let order = Order::of(planned, folded);
    let of_panel = |(at, panel): (usize, &PlannedPanel)| {
        if !panel.is_worked() {
            return Some((panel.name.clone(), format!("The plan leaves it as it is: {}.", plan_page::why_left(panel))));
        }
        let of: Vec<&Place> = order.places.iter().filter(|place| place.planned == at).collect();
        let waiting = of.iter().filter(|place| place.state == At::Waits).count();
        let all = counted(of.len(), "section that the plan works", "sections that the plan works");
        (waiting > 0).then(|| (panel.name.clone(), format!("{waiting} of {all} {} not begun.", if waiting == 1 { "was" } else { "were" })))
    };
    planned.panels.iter().enumerate().filter_map(of_panel).collect()
}

fn is_gone_through(car: &Car, panel: usize) -> bool {
    car.panels.get(panel).is_some_and(|panel| !panel.gone_through.is_empty())
}

/// What is left by the estimates, which know nothing of where it was gone through.
fn elsewhere(is_through: bool, left: &str) -> String {
    if is_through { format!("none where it was gone through; elsewhere {left}") } else { left.to_owned() }
}

/// Between which bounds, 9 times in 10.
fn between(likely: Likely, unit: Unit) -> String {
    format!("{} to {}", in_unit_bare(likely.p05, unit), in_unit(likely.p95, unit))
}

fn in_short(shown: &Shown, unit: Unit) -> Markup {
    let Some((_, taken)) = &shown.estimated else {
        return html! { p { "Nothing can be said of the film yet: readings, processes and terms are needed for that." } };
    };
    let is_through = shown.folded.standing.panels.iter().any(|panel| !panel.gone_through.is_empty());
    let chance = |p: f64| {
        let counted = counted_chance(p, taken.films);
        if is_through { format!("it has where it was gone through; elsewhere {counted}") } else { counted }
    };
    html! {
        dl.totals {
            @if let Some(left) = taken.smallest_left_um { div { dt { "smallest topcoat now, anywhere that was read" } dd { strong { (elsewhere(is_through, &between(left, unit))) } span { "9 times in 10" } } } }
            @if let Some(most) = taken.most_um { div { dt { "most taken anywhere" } dd { strong { (between(most, unit)) } span { "9 times in 10" } } } }
            @if let Some(below) = taken.below_floor { div { dt { "some worked place stands below the floor" } dd { strong { (chance(below)) } } } }
            @if let Some(through) = taken.reached_undercoat { div { dt { "some worked place has reached the undercoat" } dd { strong { (chance(through)) } } } }
        }
    }
}

/// What was stopped, left alone or never begun. Where it was gone through is told above all else of the page.
fn not_done(shown: &Shown) -> Markup {
    let standing = &shown.folded.standing;
    let lines = lastmicron_job::not_done(standing, &shown.unbegun);
    if !standing.is_begun() {
        return before_work(standing, &lines);
    }
    html! { section { h2 { "What was not done, and why" } @if lines.is_empty() { p.quiet { "Nothing was stopped or left alone." } } @else { (listed(&lines)) } } }
}

fn listed(lines: &[(String, String)]) -> Markup {
    html! { ul { @for (panel, said) in lines { li { (panel) ": " (said) } } } }
}

fn before_work(standing: &Standing, lines: &[(String, String)]) -> Markup {
    let has_tried = standing.done.iter().any(|done| matches!(done.place, Where::Spot(_)));
    html! {
        section {
            h2 { "The work" }
            p { @if standing.status() == Status::GoneHome { "Nothing was worked on it" } @else { "Work has not begun" } @if has_tried { ": only test spots were tried." } @else { "." } }
            @if !lines.is_empty() { (listed(lines)) }
        }
    }
}

/// The heading of what is known of each panel.
fn of_panels(shown: &Shown) -> &'static str {
    if shown.folded.standing.is_begun() { "Panels, before and after" } else { "Panels, as they are known" }
}

fn panels(shown: &Shown, id: Id, unit: Unit) -> Markup {
    let Some((car, taken)) = &shown.estimated else { return html! {} };
    html! {
        section {
            h2 { (of_panels(shown)) }
            ul.jobs {
                @for panel in &taken.panels {
                    @let name = car.panels.get(panel.panel).map_or("", |of| of.panel.name.as_str());
                    li { a.button.wide href=(panel_address(id, "handover", name)) { strong { (name) } span { (told(shown, car, panel, unit)) } } }
                }
            }
        }
    }
}

/// Answers with one panel's film before and after.
pub(crate) async fn panel(
    State(shop): State<Arc<Shop>>,
    preferences: Preferences,
    JobId(id): JobId,
    Path((_, name)): Path<(String, String)>,
) -> Result<Html<String>, Failure> {
    let unit = preferences.unit;
    let shown = blocking(move || shown(&shop, id, shop.folded(id)?)).await?;
    let (car, taken) = shown.estimated.as_ref().ok_or(Failure::NoPanel)?;
    let at = panel_named(&shown.folded.standing, &name)?;
    let panel = taken.panels.iter().find(|panel| panel.panel == at).ok_or(Failure::NoPanel)?;
    let body = html! {
        h1 { (name) @if shown.folded.standing.is_begun() { ", before and after" } }
        (warned(&shown.folded.standing, Some(at)))
        p.figure { (told(&shown, car, panel, unit)) "." }
        div.map { (PreEscaped(taken_map(car, panel, &TakenScales::of(taken, unit), PANEL).svg())) }
        p { a.button href={ "/jobs/" (id) "/handover" } { "To the whole vehicle" } }
    };
    Ok(Page { preferences: &preferences, title: &name, job: Some(OfJob { id, part: Part::HandOver }), script: None }.with(&body))
}

/// A panel in a sentence.
fn told(shown: &Shown, car: &Car, panel: &PanelTaken, unit: Unit) -> String {
    let is_through = is_gone_through(car, panel.panel);
    let left = panel.film.as_ref().map_or_else(
        || if is_through { "film not known, but that it was gone through".to_owned() } else { "film not known".to_owned() },
        |film| format!("smallest now {}", elsewhere(is_through, &between(film.smallest_left_um, unit))),
    );
    let removed = match panel.removed.as_ref().and_then(|removed| removed.over_worked_um) {
        Some(over) if panel.worked_m2 > 0.0 => {
            format!("{} taken where it was worked, give or take {}", in_unit(over.mean, unit), in_unit_bare(over.sd, unit))
        }
        _ if panel.worked_m2 > 0.0 => "worked; what was taken is not known".to_owned(),
        _ if !shown.folded.standing.is_begun() => return left,
        _ => "not worked".to_owned(),
    };
    format!("{left}; {removed}")
}

fn photographs(base: &str, standing: &Standing) -> Markup {
    html! {
        @if !standing.photographs.is_empty() {
            section {
                h2 { "Photographs" }
                div.photographs {
                    @for attached in &standing.photographs {
                        @let of = attached.panel.and_then(|panel| standing.panels.get(panel)).map_or("the vehicle", |panel| panel.panel.name.as_str());
                        figure {
                            img src={ (base) "/photographs/" (attached.photograph) } alt={ "Photograph of the " (of) ", " (minute(&attached.when)) } loading="lazy";
                            figcaption { (of) ", " (minute(&attached.when)) @if !attached.note.is_empty() { ": " (attached.note) } }
                        }
                    }
                }
            }
        }
    }
}

/// What whoever polishes it next begins with.
fn next_person(shown: &Shown, unit: Unit) -> Markup {
    let Some((car, taken)) = &shown.estimated else { return html! {} };
    let thin = |panel: &PanelTaken| {
        let film = panel.film.as_ref()?;
        let places = thin_places(&film.left, THIN);
        let words: Vec<String> = places
            .iter()
            .map(|place| format!("{} near {:.0}, {:.0} mm", in_unit(place.topcoat_um.mean, unit), place.x_mm, place.y_mm))
            .collect();
        Some((
            car.panels.get(panel.panel)?.panel.name.clone(),
            elsewhere(is_gone_through(car, panel.panel), &in_unit(film.smallest_left_um.p05, unit)),
            words.join("; "),
        ))
    };
    let rows: Vec<(String, String, String)> = taken.panels.iter().filter_map(thin).collect();
    html! {
        @if !rows.is_empty() {
            section {
                h2 { "Where the next person begins" }
                table {
                    thead { tr { th scope="col" { "panel" } th.number scope="col" { "lowest likely" } th scope="col" { "thin places" } } }
                    tbody { @for (name, lowest, places) in &rows { tr { th scope="row" { (name) } td.number { (lowest) } td { (places) } } } }
                }
            }
        }
    }
}

fn record(shown: &Shown) -> Markup {
    let Head { seq, hash } = shown.folded.head;
    let hash = hash.to_string();
    let groups: Vec<&str> = hash.as_bytes().chunks(4).filter_map(|group| std::str::from_utf8(group).ok()).collect();
    html! {
        section {
            h2 { "The record" }
            p { (counted(seq, "event", "events")) ", each with the hash of the one before. The last is" }
            p.hash { @for group in &groups { span { (group) } " " } }
        }
    }
}

fn document(id: Id, shown: &Shown) -> Markup {
    html! {
        section {
            h2 { "The document" }
            @if shown.has_papers {
                p { "All this on paper, with the record's hash and a code of it, and the record itself attached, unless it is too large for that." }
                div.row { a.primary href={ "/jobs/" (id) "/handover.pdf" } { "The document, as a PDF" } a.button href="/verify" { "Check a document" } }
            } @else { p.quiet { "No documents are made by this program." } }
        }
    }
}

fn go_home(standing: &Standing, id: Id, is_offered: bool) -> Markup {
    html! {
        @if standing.status() != Status::GoneHome {
            section {
                h2 { "It goes home" }
                @if is_offered {
                    form data-record data-event="status-changed" data-then={ "/jobs/" (id) "/handover" } {
                        input type="hidden" name="status" value="gone-home";
                        button.primary { "It has gone home" }
                    }
                } @else { p { "An owner says so, once it has." } }
            }
        }
    }
}

/// Answers with the document.
pub(crate) async fn pdf(State(shop): State<Arc<Shop>>, preferences: Preferences, JobId(id): JobId) -> Result<Response, Failure> {
    let unit = preferences.unit;
    let bytes = blocking(move || {
        // The document says what its own entries say: those that it carries, whatever comes meanwhile.
        let entries = shop.entries(id)?;
        let Shown { folded, estimated, unbegun, .. } = shown(&shop, id, Folded::of(&entries).ok_or(Failure::NoJob)?)?;
        let papers = shop.papers().ok_or(Failure::NoPage)?;
        let checkpoint = shop.checkpoint(id, entries.len() as u64)?;
        let signed = checkpoint.as_ref().map(|kept| (&kept.note, &kept.keys));
        let taken = estimated.as_ref().map(|(car, taken)| (car, taken.as_ref()));
        papers
            .handover(HandedOver { standing: &folded.standing, taken, unbegun: &unbegun, entries: &entries, signed, unit })
            .map_err(Failure::NoSense)
    })
    .await?;
    let name = format!("inline; filename=\"handover-{id}.pdf\"");
    Ok(([(CONTENT_TYPE, "application/pdf".to_owned()), (CONTENT_DISPOSITION, name)], bytes).into_response())
}
