//! A new job: first the body, then what is known of the vehicle when it arrives.

mod size;

use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::Html;
use lastmicron_access::Deed;
use lastmicron_body::{Body, BodyPanel, Dimensions, Kind, Measure};
use lastmicron_draw::{Room, vehicle_side};
use lastmicron_job::words::{SUBSTRATES, word_for};
use lastmicron_plan::CarPanel;
use maud::{Markup, PreEscaped, html};
use serde_json::{Value, json};

use crate::failure::Failure;
use crate::field::{Answer, Field, Need, one_of};
use crate::frame::Page;
use crate::preference::Preferences;
use crate::wording::capital;
use crate::workshop_page;
use size::{Sizes, drawn, key};

/// Room for a body on the page of choices, points.
const SIDE: Room = Room { width_pt: 240.0, height_pt: 110.0 };

/// How the paint is told.
pub(crate) const SYSTEMS: [Answer<'static>; 5] = [
    Answer {
        value: "single-stage",
        label: "Single-stage",
        help: "One pigmented coat is all there is. A white cloth with a trace of polish takes the car's colour on a hidden place.",
    },
    Answer {
        value: "lacquer",
        label: "Lacquer",
        help: "Single-stage that thinner softens at once. Try it only where it will never be seen.",
    },
    Answer { value: "base-clear", label: "Clear over colour", help: "The cloth stays clean of colour; stone chips show a clear rim." },
    Answer {
        value: "tri-coat",
        label: "Three coats",
        help: "Clear over a tinted or pearl coat over a ground colour. The cloth stays clean.",
    },
    Answer { value: "unknown", label: "Not known", help: "The plan then allows for what either could be." },
];

/// How easily the paint marks.
pub(crate) const HARDNESSES: [Answer<'static>; 6] = [
    Answer { value: "very-soft", label: "Very soft", help: "A dry cloth marks it." },
    Answer { value: "soft", label: "Soft", help: "Drying marks it; polishing leaves haze." },
    Answer { value: "medium", label: "Medium", help: "" },
    Answer { value: "hard", label: "Hard", help: "" },
    Answer { value: "very-hard", label: "Very hard", help: "Mild polish hardly shows." },
    Answer { value: "", label: "Not known", help: "" },
];

/// What the panels are pressed from.
pub(crate) const METALS: [Answer<'static>; 5] = [
    Answer { value: "steel", label: "Steel", help: "A magnet holds." },
    Answer {
        value: "galvanised",
        label: "Galvanised steel",
        help: "A magnet holds, and the maker dipped it: a magnetic gauge reads the zinc too.",
    },
    Answer { value: "aluminium", label: "Aluminium", help: "No magnet holds." },
    Answer {
        value: "plastic",
        label: "Plastic or fibre",
        help: "No magnet holds, and neither a magnetic nor an eddy-current gauge reads through to it.",
    },
    Answer { value: "unknown", label: "Not known", help: "" },
];

/// Answers with the bodies to choose from.
pub(crate) async fn bodies(preferences: Preferences) -> Html<String> {
    let body = html! {
        h1 { "A new job: which body?" }
        p { "It is a starting point: panels can be added, changed or left alone afterwards." }
        ul.bodies {
            @for kind in Kind::ALL {
                li { a.body href={ "/new/" (kind.name()) } { (Body::new(kind, Dimensions::usual(kind)).map(|body| side(&body)).unwrap_or_default()) span { (capital(kind.name())) } } }
            }
            li { a.body.primary href="/new/custom" { span { "None of these: enter the panels" } } }
        }
    };
    Page { preferences: &preferences, title: "A new job", job: None, script: None }.with(&body)
}

/// A body from its left.
fn side(body: &Body) -> Markup {
    // The name stands beside it: twice would be read out twice.
    html! { span aria-hidden="true" { (PreEscaped(vehicle_side(body, SIDE).svg())) } }
}

/// Answers with what is asked of a vehicle of that body; of sizes that make no body, with why they make none.
pub(crate) async fn vehicle(
    preferences: Preferences,
    Path(name): Path<String>,
    Query(sizes): Query<Sizes>,
) -> Result<(StatusCode, Html<String>), Failure> {
    let kind = Kind::named(&name);
    if kind.is_none() && name != "custom" {
        return Err(Failure::NoPage);
    }
    let drawn = kind.map(|kind| (kind, drawn(kind, &sizes)));
    let status = if matches!(drawn, Some((_, Err(_)))) { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    let body = html! {
        h1 { "A new job: " @if kind.is_some() { (name) } @else { "a vehicle of its own shape" } }
        @match &drawn {
            Some((kind, drawn)) => {
                (measured(*kind, &sizes, drawn))
                @if let Ok(body) = drawn { (arrived(&name, body.panels(), &preferences)) }
            }
            None => { (arrived(&name, &[], &preferences)) }
        }
    };
    Ok((status, Page { preferences: &preferences, title: "A new job", job: None, script: None }.with(&body)))
}

/// What it is drawn from, and the way to draw it otherwise.
fn measured(kind: Kind, sizes: &Sizes, drawn: &Result<Body, String>) -> Markup {
    html! {
        @match drawn {
            Ok(body) => { p.row { (side(body)) span { "Drawn " @for (at, measure) in Sizes::FIRST.into_iter().enumerate() { @if at > 0 { " by " } (body.dimensions().get(measure)) } " mm: length, width and height." } } }
            Err(why) => { p.stop { (capital(why)) "." } }
        }
        details id="measured" open[drawn.is_err()] {
            summary { "It measures otherwise" }
            form.stack method="get" action={ "/new/" (kind.name()) } {
                p { "Its panels are drawn from these. What is left empty is taken as usual: a " (kind.name()) " of nobody's, about the middle of its kind." }
                @for measure in Measure::of(kind) {
                    @let [least, most] = Dimensions::bounds_mm(kind, measure);
                    (Field { name: key(measure), label: &capital(measure.name(kind)), value: sizes.said(measure), help: &format!("Usual is {}, and {least} to {most} can be drawn.", Dimensions::usual(kind).get(measure)) }.of("size").number(Need::May, "mm"))
                }
                button.second { "Draw it so" }
            }
        }
    }
}

/// The form that begins the job.
fn arrived(kind: &str, panels: &[BodyPanel], preferences: &Preferences) -> Markup {
    html! {
        form.stack data-record data-then="/jobs/{job}" {
            section data-event="vehicle-stated" {
                h2 { "The vehicle" }
                input type="hidden" name="body" value=(kind);
                (Field { name: "title", label: "What to call the job", value: "", help: "As you would say it on the floor: colour and body. A person's name does not belong here, since the title can't be erased." }.text(Need::Must))
                (Field { name: "built", label: "Year built", value: "", help: "Bumpers are drawn as plastic: where yours are of metal, state them so under Panels, and they can be read." }.number(Need::May, ""))
                (one_of("substrate", "What are most panels pressed from?", &METALS, "steel"))
                (Field { name: "history", label: "What is known of earlier work", value: "", help: "Resprays, dents taken out, earlier polishing, the last wax or coating." }.words())
                (Field { name: "originality", label: "What must stay as it is", value: "", help: "Chalk marks, stickers, patina, a first owner's stripe. Panels can be left alone one by one later." }.words())
                fieldset data-sheet="owner" {
                    legend { "The owner" }
                    p.quiet { "Kept apart from the record, which holds only a hash of it: it can be erased while the record stays whole." }
                    (Field { name: "name", label: "Name", value: "", help: "" }.text(Need::May))
                    (Field { name: "reach", label: "How to reach them", value: "", help: "" }.text(Need::May))
                }
            }
            section data-event="paint-stated" {
                h2 { "The paint" }
                (one_of("system", "How is it built up?", &SYSTEMS, "unknown"))
                (one_of("hardness", "How easily does it mark?", &HARDNESSES, ""))
                label.choice { input type="checkbox" name="metallic"; span { strong { "There is flake in the colour coat" } " " span.quiet { "Flake in single-stage paint must not be cut into." } } }
                p.caution { "Paint from before about 1980, and primers and repairs of any age, may hold lead or chromates: keep dust down, wear what the local rules ask for, and test before you sand." }
            }
            @for panel in panels.iter().map(|panel| said(&panel.stated)) { input type="hidden" data-event="panel-stated" data-body=(panel); }
            @for body in workshop_page::usual() { input type="hidden" data-event="usual" data-body=(body); }
            // A job of which nothing else is said has arrived.
            @if preferences.offers(Deed::Agree) { input type="hidden" data-event="status-changed" data-body=(json!({ "kind": "status-changed", "status": "arrived" })); }
            p.quiet { "An ordinary gauge and three processes are put in with it, as wide beliefs: change them to yours under the job." }
            button.primary { "The vehicle is here" }
        }
    }
}

/// A panel as an event says it.
fn said(panel: &CarPanel) -> Value {
    let points = |points: &[[f64; 2]]| points.iter().map(|point| json!(point.map(|mm| format!("{mm:.0}")))).collect::<Vec<Value>>();
    let mut said = json!({ "kind": "panel-stated", "name": panel.panel.name, "outline_mm": points(&panel.panel.outline_mm) });
    let substrate = word_for(&panel.panel.substrate, &SUBSTRATES);
    // Steel is what most panels are: those follow the vehicle.
    if substrate != "steel" {
        said["substrate"] = json!(substrate);
    }
    if (panel.visibility - 1.0).abs() > f64::EPSILON {
        said["visibility"] = json!(panel.visibility.to_string());
    }
    if !panel.work {
        said["work"] = json!(false);
    }
    if !panel.lines.is_empty() {
        let line =
            |line: &lastmicron_plan::BodyLine| json!({ "points_mm": points(&line.points_mm), "radius_mm": line.radius_mm.to_string() });
        said["lines"] = panel.lines.iter().map(line).collect();
    }
    said
}
