//! A test spot is marked: on which panel, and where on it, by a tap on its map or by millimetres.

use lastmicron_draw::{Room, SurveyMap, survey_map};
use lastmicron_film::gauge::Substrate;
use lastmicron_job::event::Id;
use lastmicron_job::fold::Standing;
use lastmicron_plan::survey::PanelSurvey;
use lastmicron_plan::{CarPanel, Reading};
use lastmicron_units::Unit;
use maud::{Markup, PreEscaped, html};
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};

use super::Shown;
use super::proposed::{Proposed, proposed};
use crate::field::{Field, Need};
use crate::through::warned;
use crate::wording::film_between;

/// Room of the map, points: drawn small and shown as wide as the screen, so that its numbers are large.
const MAP: Room = Room { width_pt: 200.0, height_pt: 190.0 };

/// Side of a spot that is proposed, mm. Common practice, no source: a machine's pad moves freely in it.
const SIDE_MM: &str = "150";

/// The form, on the panel that was chosen or else on the one that is proposed.
pub(super) fn marking(id: Id, shown: &Shown, chosen: Option<&str>, unit: Unit) -> Markup {
    let standing = &*shown.folded.standing;
    let proposed = proposed(&standing.panels, &shown.surveys, shown.is_whole);
    let chosen = chosen.and_then(|name| standing.panels.iter().position(|panel| panel.work && panel.panel.name == name));
    let on = chosen.or(proposed.map(|proposed| proposed.panel));
    let is_first = standing.spots.is_empty();
    html! {
        details.card id="new-spot" open[is_first || chosen.is_some()] {
            summary { @if is_first { "Mark a test spot" } @else { "Mark another test spot" } }
            @match on.and_then(|at| Some((standing.panels.get(at)?, shown.surveys.get(at)?))) {
                Some((panel, survey)) => {
                    (why(panel, survey, proposed.filter(|proposed| Some(proposed.panel) == on), unit))
                    (warned(standing, on))
                    (form(standing, panel, survey, unit))
                }
                None if standing.panels.is_empty() => {
                    p { "No panel is entered yet." }
                    p { a.primary href={ "/jobs/" (id) "/panels" } { "Enter the panels" } }
                }
                None => {
                    p { "A spot belongs on the thickest original film that a gauge reads, and no such panel was read yet." }
                    p { a.primary href={ "/jobs/" (id) "/survey" } { "Read some panels first" } }
                }
            }
            (others(id, shown, on, unit))
        }
    }
}

/// Why on this panel, or what speaks against it.
fn why(panel: &CarPanel, survey: &PanelSurvey, proposed: Option<Proposed>, unit: Unit) -> Markup {
    let smallest = survey.film.as_ref().map(|film| film_between(&film.smallest_um, unit));
    html! {
        p {
            strong { "On the " (panel.panel.name) }
            @match proposed {
                Some(Proposed { is_original: true, .. }) => { ": of the original panels that were read, its thinnest place likely has the most topcoat" }
                Some(Proposed { is_original: false, .. }) => { ": its thinnest place likely has the most topcoat, but no panel that was read is taken for original paint" }
                None => {}
            }
            @match smallest { Some(smallest) => { " (" (smallest) ", 9 times in 10)." } None => { ". None of its film was read." } }
        }
        @if panel.panel.substrate == Substrate::Plastic { p.caution { "No magnetic or eddy-current gauge reads through to plastic: what a set takes here is told by the count alone." } }
    }
}

fn form(standing: &Standing, panel: &CarPanel, survey: &PanelSurvey, unit: Unit) -> Markup {
    html! {
        form.stack data-record data-event="spot-marked" data-over="[]" data-then="/jobs/{job}/spots" {
            input type="hidden" name="panel" value=(panel.panel.name);
            (map(standing, panel, survey, unit))
            p.quiet { "Tap the map where the middle of the spot is to be; or type where it lies." }
            p.elsewhere id="chosen" role="status" hidden {}
            div.pair {
                (Field { name: "x_mm", label: "Its lower left corner: across", value: "", help: "" }.of("spot").number(Need::Must, "mm"))
                (Field { name: "y_mm", label: "and up", value: "", help: "" }.of("spot").number(Need::Must, "mm"))
                (Field { name: "width_mm", label: "Width", value: SIDE_MM, help: "" }.of("spot").number(Need::Must, "mm"))
                (Field { name: "height_mm", label: "Height", value: SIDE_MM, help: "" }.of("spot").number(Need::Must, "mm"))
            }
            (Field { name: "spot", label: "Name", value: &free_name(standing), help: "" }.of("spot").proposed())
            button.primary { "Mark it" }
        }
    }
}

/// "spot 1", or the first number behind it that no spot has.
fn free_name(standing: &Standing) -> String {
    let is_free = |name: &String| standing.spots.iter().all(|spot| spot.name != *name);
    (standing.spots.len() + 1..).map(|n| format!("spot {n}")).find(is_free).unwrap_or_default()
}

/// The panel with its film as it is known, and the spots that are on it.
fn map(standing: &Standing, panel: &CarPanel, survey: &PanelSurvey, unit: Unit) -> Markup {
    let read: Vec<Reading> = standing.readings.iter().map(|taken| taken.reading.clone()).collect();
    let spots = standing.spots.iter().filter(|spot| spot.panel == survey.panel);
    let bare = survey_map(panel, survey, &read, None, None, unit, MAP);
    let SurveyMap { scene, origin_pt: [x, y], pt_per_mm } = spots.fold(bare, |map, spot| match spot.rectangle {
        Some(on) => map.with_spot(&spot.name, on.corner_mm, on.size_mm),
        None => map,
    });
    let [wide, high] = panel.panel.size_mm();
    html! {
        div.map id="map" data-x=(x) data-y=(y) data-scale=(pt_per_mm) data-wide=(format!("{wide:.0}")) data-high=(format!("{high:.0}")) { (PreEscaped(scene.svg())) }
    }
}

/// Ways to the other panels that may be worked.
fn others(id: Id, shown: &Shown, on: Option<usize>, unit: Unit) -> Markup {
    let standing = &*shown.folded.standing;
    let others = standing.panels.iter().zip(shown.surveys.iter()).enumerate().filter(|(at, (panel, _))| panel.work && Some(*at) != on);
    let others: Vec<(&CarPanel, &PanelSurvey)> = others.map(|(_, of)| of).collect();
    let address = |name: &str| format!("/jobs/{id}/spots?panel={}", utf8_percent_encode(name, NON_ALPHANUMERIC));
    html! {
        @if !others.is_empty() {
            details id="other-panels" {
                summary { "On another panel" }
                ul.panels {
                    @for (panel, survey) in others {
                        li {
                            a.button href=(address(&panel.panel.name)) {
                                strong { (panel.panel.name) }
                                span { @match &survey.film { Some(film) => { "thinnest " (film_between(&film.smallest_um, unit)) } None => { "not read" } } }
                            }
                        }
                    }
                }
            }
        }
    }
}
