//! The survey: every panel with what is known of it, and one panel while it is read.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::Html;
use lastmicron_draw::{Room, in_unit_bare, survey_map};
use lastmicron_film::gauge::{Layer, Substrate};
use lastmicron_film::panel::Panel;
use lastmicron_job::event::Id;
use lastmicron_job::fold::{Standing, Taken};
use lastmicron_job::on_panel::is_place_on;
use lastmicron_plan::survey::{PanelSurvey, Word, go_to};
use lastmicron_plan::{CarPanel, Reading};
use lastmicron_units::{Thickness, Unit};
use maud::{Markup, PreEscaped, html};
use serde::Deserialize;

use crate::asked::{JobId, panel_address, panel_named};
use crate::asset::SURVEY;
use crate::estimates::ToSurvey;
use crate::failure::Failure;
use crate::frame::{OfJob, Page, Part};
use crate::preference::Preferences;
use crate::router::blocking;
use crate::shop::{Folded, Shop};
use crate::through::warned;
use crate::vehicle_drawn;
use crate::wording::{capital, film_between, minute};
use crate::work_page::Asked;

/// Room of the map, points: drawn small and shown as wide as the screen, so that its numbers are large.
const MAP: Room = Room { width_pt: 200.0, height_pt: 190.0 };

/// Readings listed below the map.
const LISTED: usize = 8;

/// Answers with every panel.
pub(crate) async fn vehicle(State(shop): State<Arc<Shop>>, preferences: Preferences, JobId(id): JobId) -> Result<Html<String>, Failure> {
    let unit = preferences.unit;
    let (folded, panels, is_whole) = blocking(move || {
        let folded = shop.folded(id)?;
        let ToSurvey { car, is_whole } = ToSurvey::of(&folded.standing);
        let panels = shop.estimates.survey(id, car, unit)?;
        Ok((folded, panels, is_whole))
    })
    .await?;
    let standing = &folded.standing;
    let on_panels: Vec<(String, String)> = panels
        .iter()
        .map(|p| (name(standing, p.panel).to_owned(), p.lowest_likely_um().map_or_else(String::new, |um| in_unit_bare(um.max(0.0), unit))))
        .collect();
    let body = html! {
        h1 { "Survey" }
        div id="survey" data-live {
            (session(id, standing, &preferences.who))
            @if panels.is_empty() {
                p { "No panel is entered yet." }
                p { a.primary href={ "/jobs/" (id) "/panels" } { "Enter the panels" } }
            } @else {
                @if let Some(next) = next_panel(&panels, standing) { p { a.primary href=(panel_address(id, "survey", name(standing, next))) { "Read the " (name(standing, next)) } } }
                (vehicle_drawn::vehicle(standing, &on_panels, None, &format!("/jobs/{id}/survey/")))
                p.quiet { "Numbers are each panel's lowest likely topcoat in " (unit.symbol()) ": its smallest lies below one time in twenty." }
                (table(id, standing, &panels, unit, is_whole))
            }
            p { a.button href={ "/jobs/" (id) "/readings" } { "Bring in readings from a file" } }
        }
    };
    Ok(Page { preferences: &preferences, title: "Survey", job: Some(OfJob { id, part: Part::Survey }), script: None }.with(&body))
}

fn name(standing: &Standing, panel: usize) -> &str {
    standing.panels.get(panel).map_or("", |panel| panel.panel.name.as_str())
}

/// Where to begin, or to go on.
fn next_panel(panels: &[PanelSurvey], standing: &Standing) -> Option<usize> {
    let last = standing.readings.last().map_or(usize::MAX, |taken| taken.reading.panel);
    go_to(panels, last.min(panels.len()))
}

fn table(id: Id, standing: &Standing, panels: &[PanelSurvey], unit: Unit, is_whole: bool) -> Markup {
    html! {
        table {
            caption.quiet { "Every panel, in working order" }
            thead { tr { th scope="col" { "panel" } th.number scope="col" { "read" } th.number scope="col" { "lowest likely" } @if is_whole { th scope="col" { "bears" } } } }
            tbody {
                @for panel in panels {
                    tr {
                        th scope="row" { a.cell href=(panel_address(id, "survey", name(standing, panel.panel))) { (name(standing, panel.panel)) } }
                        td.number { (panel.readings) }
                        td.number { (panel.lowest_likely_um().map_or_else(|| "\u{2013}".to_owned(), |um| in_unit_bare(um.max(0.0), unit))) }
                        @if is_whole { td { (panel.verdict.word.words()) } }
                    }
                }
            }
        }
    }
}

/// The gauge's session, or that there is none.
fn session(id: Id, standing: &Standing, who: &str) -> Markup {
    let open = standing.open_session(who);
    html! {
        p.row {
            @match open {
                Some(open) => { span { "Gauge session " strong { (open.name) } " since " (minute(&open.began)) "." } a.button href={ "/jobs/" (id) "/gauge" } { "Check and lay it down" } }
                None => { span { "The gauge has not been checked on shims for this session." } a.button href={ "/jobs/" (id) "/gauge" } { "Check the gauge" } }
            }
        }
    }
}

/// What the page of one panel shows.
struct Shown {
    folded: Folded,
    survey: Arc<PanelSurvey>,
    is_whole: bool,
    /// The place to read, mm: the one that the device holds fast, or else the next; none where no reading would help.
    place: Option<[f64; 2]>,
    /// Numbers that are not asked about at the next place, um: of the total and of an undercoat.
    unasked_um: [[f64; 2]; 2],
}

/// The place that a device holds fast while its probe is on the paint, mm: what others record does not move it.
#[derive(Clone, Copy, Debug, Default, Deserialize)]
pub(crate) struct Held {
    x_mm: Option<f64>,
    y_mm: Option<f64>,
}

impl Held {
    fn on(self, panel: &Panel) -> Option<[f64; 2]> {
        let place = [self.x_mm?, self.y_mm?];
        (place.iter().all(|mm| mm.is_finite()) && is_place_on(panel, place)).then_some(place)
    }
}

/// Places as near as this are told by the same numbers, mm.
const SAME_PLACE_MM: f64 = 1.0;

fn is_same_place(one: [f64; 2], other: [f64; 2]) -> bool {
    one.iter().zip(other).all(|(one, other)| (one - other).abs() <= SAME_PLACE_MM)
}

/// Answers with one panel.
pub(crate) async fn panel(
    State(shop): State<Arc<Shop>>,
    preferences: Preferences,
    JobId(id): JobId,
    Path((_, panel)): Path<(String, String)>,
    Query(held): Query<Held>,
    Query(from): Query<Asked>,
) -> Result<Html<String>, Failure> {
    let (unit, who) = (preferences.unit, preferences.who.clone());
    let shown = blocking(move || shown(&shop, id, &panel, held, (unit, &who))).await?;
    let standing = &shown.folded.standing;
    let at = shown.survey.panel;
    let of = standing.panels.get(at).ok_or(Failure::NoPanel)?;
    let title = format!("Survey: {}", of.panel.name);
    let body = html! {
        div.survey {
            div.told {
                h1 { (of.panel.name) }
                @match from.address(id) {
                    Some(back) => p { a.button.wide href=(back) { "Back to the section in hand" } }
                    None => (around(id, standing, at))
                }
                div id="verdict" data-live { (warned(standing, Some(at))) (verdict(&shown, of, unit)) }
            }
            div.mapped id="mapped" data-live { (map(&shown, of, unit)) }
            div.entry { (place(&shown, of, &preferences.who)) (entry(unit)) }
            div id="taken" data-live { (taken(standing, at, &preferences.who)) }
        }
        (asked())
    };
    Ok(Page { preferences: &preferences, title: &title, job: Some(OfJob { id, part: Part::Survey }), script: Some(SURVEY.path()) }
        .with(&body))
}

fn shown(shop: &Shop, id: Id, panel: &str, held: Held, (unit, who): (Unit, &str)) -> Result<Shown, Failure> {
    let folded = shop.folded(id)?;
    let at = panel_named(&folded.standing, panel)?;
    let ToSurvey { car, is_whole } = ToSurvey::of(&folded.standing);
    let survey = shop.estimates.panel(id, car.clone(), at, unit)?.ok_or(Failure::NoPanel)?;
    let held = folded.standing.panels.get(at).and_then(|panel| held.on(&panel.panel));
    let place = held.or_else(|| survey.next.as_ref().map(|next| [next.x_mm, next.y_mm]));
    let [x_mm, y_mm] = place.unwrap_or_default();
    let session = folded.standing.open_session(who);
    let reading = |layer: Layer| Reading {
        panel: at,
        x_mm,
        y_mm,
        value: Thickness::NOTHING,
        layer,
        after: folded.standing.done_at(at, [x_mm, y_mm]),
        gauge: session.map_or(0, |session| session.gauge),
        session: session.map(|session| session.name.clone()).unwrap_or_default(),
        line: None,
    };
    let total = shop.estimates.expected(id, car, reading(Layer::Total))?.unasked_um();
    Ok(Shown { folded, survey, is_whole, place, unasked_um: [total, [lastmicron_units::SINGLE_COAT.low_um, total[1]]] })
}

/// The panels before and after this one.
fn around(id: Id, standing: &Standing, at: usize) -> Markup {
    let last = standing.panels.len().saturating_sub(1);
    html! {
        nav.row aria-label="Other panels" {
            @if at > 0 { a.button href=(panel_address(id, "survey", name(standing, at - 1))) { "Before: " (name(standing, at - 1)) } }
            @if at < last { a.button href=(panel_address(id, "survey", name(standing, at + 1))) { "After: " (name(standing, at + 1)) } }
        }
    }
}

fn standing_lacks_gauge(shown: &Shown) -> bool {
    shown.survey.film.is_some() && shown.folded.standing.gauges.is_empty()
}

fn verdict(shown: &Shown, panel: &CarPanel, unit: Unit) -> Markup {
    let survey = &shown.survey;
    html! {
        @if let Some(film) = &survey.film {
            p.figure { span.quiet { "Smallest topcoat, 9 times in 10 " } strong { (film_between(&film.smallest_um, unit)) } }
        }
        @if shown.is_whole || !panel.work {
            p.word data-word=(survey.verdict.word.words()) { strong { (mark(survey.verdict.word)) " " (survey.verdict.word.words()) } ": " (survey.verdict.why) "." }
        } @else if survey.film.is_none() {
            p { "Nothing is known of its film yet." }
        } @else {
            p { "What it bears is told as soon as a floor is agreed." }
        }
        @if standing_lacks_gauge(shown) { p.quiet { "No gauge is stated: these figures stand on what an ordinary one does." } }
        @if panel.panel.substrate == Substrate::Plastic { p.caution { "No magnetic or eddy-current gauge reads through to plastic: leave it unread." } }
    }
}

/// A shape for each word, so that colour alone carries none.
const fn mark(word: Word) -> &'static str {
    match word {
        Word::Work => "\u{25cf}",
        Word::MildOnly => "\u{25d0}",
        Word::LeaveAlone => "\u{25cb}",
        Word::NotKnownYet => "?",
    }
}

fn map(shown: &Shown, panel: &CarPanel, unit: Unit) -> Markup {
    let standing = &shown.folded.standing;
    let read: Vec<Reading> = standing.readings.iter().map(|taken| taken.reading.clone()).collect();
    let floor = standing.terms.last().filter(|_| shown.is_whole).map(|terms| terms.limits.floor.micrometres());
    let drawn = survey_map(panel, &shown.survey, &read, shown.place, floor, unit, MAP);
    let [x, y] = drawn.origin_pt;
    html! {
        div.map id="map" data-x=(x) data-y=(y) data-scale=(drawn.pt_per_mm) { (PreEscaped(drawn.scene.svg())) }
        p.quiet { "Circles: read. Ring with a cross: read next; tap the map to read elsewhere. Cross: least estimate of the topcoat." }
    }
}

/// Where the next reading is to be taken, for the script, and in words.
fn place(shown: &Shown, panel: &CarPanel, who: &str) -> Markup {
    let standing = &shown.folded.standing;
    let at = shown.survey.panel;
    let session = standing.open_session(who);
    let gauge =
        session.and_then(|session| standing.gauges.get(session.gauge)).map(|gauge| gauge.name.as_str()).filter(|name| !name.is_empty());
    let [total, undercoat] = shown.unasked_um;
    let [x, y] = [0, 1].map(|axis| shown.place.map(|place| format!("{:.0}", place[axis])));
    let last = standing.readings.last().filter(|last| last.reading.panel == at);
    let own = standing.readings.iter().rev().find(|taken| taken.reading.panel == at && taken.who == who);
    html! {
        div id="place" data-live data-panel=(panel.panel.name) data-x=[x.as_ref()] data-y=[y.as_ref()]
            data-session=[session.map(|session| session.name.as_str())] data-gauge=[gauge]
            data-low=(total[0]) data-high=(total[1]) data-undercoat-low=(undercoat[0]) data-undercoat-high=(undercoat[1]) {
            (where_to_read(shown, panel))
            @if let Some(last) = last.filter(|last| last.who != who && shown.place.is_some_and(|place| is_same_place(place, [last.reading.x_mm, last.reading.y_mm]))) {
                p { (last.who) " has read this place meanwhile: " strong { (last.entered) } "." }
            }
            @if let Some(undercoat) = &shown.survey.undercoat {
                details id="worth-more" {
                    summary { "A reading of the undercoat is worth more than any place" }
                    p { (capital(&undercoat.why)) "." }
                    p { "Where there is no topcoat but the same primers: mark it on the map, tick the box, and read." }
                }
            }
            @if let Some(own) = own { span hidden data-last-x=(own.reading.x_mm) data-last-y=(own.reading.y_mm) {} }
            p.quiet { @match session { Some(session) => { "Session " (session.name) @if let Some(gauge) = gauge { ", " (gauge) } "." } None => { "No session: the gauge was not checked on shims." } } }
        }
    }
}

/// The place in words; and, where it is held fast while another would help more, that one.
fn where_to_read(shown: &Shown, panel: &CarPanel) -> Markup {
    let Some(place) = shown.place else {
        return html! {
            @if panel.gone_through.is_empty() {
                p { strong { "No further reading would help here." } " Tap the map to read a place all the same." }
            } @else {
                p { strong { "Read round where it was gone through." } " Tap the map to say where: how far the thin place reaches, no estimate knows." }
            }
        };
    };
    let in_words = |[x, y]: [f64; 2]| format!("{x:.0} mm across, {y:.0} mm up");
    let next = shown.survey.next.as_ref();
    if let Some(next) = next.filter(|next| is_same_place(place, [next.x_mm, next.y_mm])) {
        if !panel.work && shown.survey.readings == 0 {
            return html! { p { "It stays as it is: it needs no reading." } };
        }
        return html! { p { strong { "Next: " (in_words(place)) } " (" (next.why) ")." } };
    }
    html! {
        p { strong { "Read at " (in_words(place)) } "." }
        @if let Some(next) = next {
            p.row {
                span { "A reading would help more at " (in_words([next.x_mm, next.y_mm])) " (" (next.why) ")." }
                button.second type="button" id="better" data-x=(format!("{:.0}", next.x_mm)) data-y=(format!("{:.0}", next.y_mm)) { "Go there" }
            }
        }
    }
}

/// The number as it is typed, and what it is typed with.
fn entry(unit: Unit) -> Markup {
    html! {
        p.elsewhere.row id="elsewhere" role="status" hidden {}
        div.echo { output id="echo" aria-label="The number as typed" {} span id="echo-unit" { (unit.symbol()) } }
        div.row {
            label.choice { input type="checkbox" id="undercoat"; span { "No topcoat here: undercoat" } }
            label.field for="unit" { "The gauge shows" }
            select id="unit" aria-label="Unit that the gauge shows" { @for one in Unit::ALL { option value=(one.symbol()) selected[one == unit] { (one.symbol()) } } }
        }
        div.pad role="group" aria-label="Number pad" {
            @for key in ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0"] { button.key type="button" data-key=(key) { (key) } }
            button.key type="button" data-key="Backspace" aria-label="Take the last digit back" { "\u{232b}" }
        }
        div.row.after {
            button.primary type="button" data-key="Enter" { "Take it" }
            button.second type="button" id="again" { "Again at the last place" }
            button.second type="button" id="called" aria-pressed="false" { "One reads aloud" }
        }
        details id="by-number" {
            summary { "Read elsewhere, by number" }
            div.row {
                label.field for="elsewhere-x" { "across" } input.number id="elsewhere-x" inputmode="decimal" autocomplete="off";
                label.field for="elsewhere-y" { "up" } input.number id="elsewhere-y" inputmode="decimal" autocomplete="off";
                span { "mm from the lower left" }
                button.second type="button" id="go-elsewhere" { "Read there" }
            }
        }
        p.quiet { "A gauge that acts as a keyboard is taken anywhere on this page. On soft paint read through a clean film, never bare on a finished panel." }
    }
}

/// The last readings of the panel, each of which can be struck out.
fn taken(standing: &Standing, at: usize, who: &str) -> Markup {
    let of: Vec<&Taken> = standing.readings.iter().filter(|taken| taken.reading.panel == at).collect();
    // What is undone at a touch is one's own: a colleague's is struck out with a reason.
    let own = of.iter().rev().find(|taken| taken.who == who).map(|taken| taken.event);
    html! {
        h2 { "Read here: " (of.len()) }
        ol.readings reversed start=(of.len()) {
            @for taken in of.iter().rev().take(LISTED) {
                li {
                    strong.entered { (taken.entered) } " "
                    span.quiet { (layer(taken.reading.layer)) " at " (format!("{:.0}, {:.0} mm", taken.reading.x_mm, taken.reading.y_mm)) @if !taken.reading.after.is_empty() { ", after work" } ", " (taken.who) }
                    @if own == Some(taken.event) {
                        form data-record data-event="struck-out" data-said="Struck out." {
                            input type="hidden" name="event" value=(taken.event);
                            input type="hidden" name="why" value="undone at once";
                            button.second id="undo" { "Undo" }
                        }
                    } @else { (crate::history_page::strike(taken.event)) }
                }
            }
        }
    }
}

const fn layer(layer: Layer) -> &'static str {
    match layer {
        Layer::Total => "total",
        Layer::Undercoat => "undercoat",
        Layer::Topcoat => "topcoat",
    }
}

/// What is asked about a number that is not to be expected.
fn asked() -> Markup {
    html! {
        dialog.who id="asked" aria-labelledby="question" {
            form method="dialog" {
                p.question id="question" {}
                div.stack id="meant" {}
                div.row {
                    button.second value="" id="not-taken" { "Read it again" }
                    button.second value="taken" { "It is right: take it" }
                }
            }
        }
    }
}
