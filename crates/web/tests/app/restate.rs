//! Things stated anew through their forms: what a form doesn't show stays as it was stated.

use axum::http::StatusCode;
use serde_json::{Value, json};

use crate::{App, app, attributes, event, id};

/// Sends what is stated, and gives the app.
fn with(bodies: &[Value]) -> App {
    let app = app();
    let events: Vec<Value> = (2..).zip(bodies).map(|(n, body)| event(n, body.clone())).collect();
    assert_eq!(app.send(&events).status, StatusCode::OK);
    app
}

fn page(app: &App, name: &str) -> String {
    let answer = app.get(&format!("/jobs/{}/{name}", id(0)));
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text);
    answer.text
}

/// What the forms of a page are laid over.
fn bases(page: &str) -> Vec<Value> {
    attributes(page, "data-base").iter().map(|text| serde_json::from_str(text).unwrap()).collect()
}

/// What stands in the field with this id.
fn field(page: &str, id: &str) -> String {
    let control = page.split(&format!(" id=\"{id}\"")).nth(1).unwrap().split('>').next().unwrap();
    attributes(control, "value").pop().unwrap()
}

fn panel() -> Value {
    json!({
        "kind": "panel-stated", "name": "left door", "width_mm": "900", "height_mm": "600.0", "undercoat": { "mean_um": "38", "sd_um": "5" },
        "metallic": true, "visibility": "0.50", "lines": [{ "points_mm": [["0", "300"], ["900", "300"]], "radius_mm": "8" }],
    })
}

fn process(name: &str, followed_by: Option<&str>) -> Value {
    let mut body = json!({
        "kind": "process-stated", "name": name, "removal_um": { "mean": "1.10", "sd": "0.4" }, "minutes_per_m2": "22.0",
        "uses": { "machine": "long throw", "pad": "foam", "load_n": "40", "overlap": "0.5", "stages": [{ "passes": 2, "arm_speed_mm_s": "40" }, { "pad": "clean" }] },
    });
    if let Some(next) = followed_by {
        body["followed_by"] = json!(next);
    }
    body
}

fn equipment() -> [Value; 2] {
    [
        json!({ "kind": "machine-stated", "name": "long throw", "drive": "free", "spin_rpm": "300", "orbit_radius_mm": "7.5", "orbits_per_minute": "4000" }),
        json!({ "kind": "pad-stated", "name": "foam", "diameter_mm": "130", "stiffness_pa_per_m": "2.4e6", "edge": "upright" }),
    ]
}

fn gauge(name: Option<&str>, repeatability: &str) -> Value {
    let mut body = json!({ "kind": "gauge-stated", "accuracy": { "fixed_um": "1.00", "percent": "1" }, "repeatability_um": repeatability, "through_um": "20.0" });
    if let Some(name) = name {
        body["name"] = json!(name);
    }
    body
}

#[test]
fn a_panel_keeps_its_outline_its_lines_and_its_undercoat() {
    let vehicle = json!({ "kind": "vehicle-stated", "title": "Sage coupe", "substrate": "steel" });
    let page = page(&with(&[vehicle, panel()]), "panels");
    assert_eq!(bases(&page), [panel()]);
    assert_eq!(field(&page, "panel-0-visibility"), "0.50");
    // What follows the vehicle goes on following it.
    assert!(page.contains("<select id=\"panel-0-substrate\" name=\"substrate\"><option value=\"\">as the vehicle</option>"), "{page}");
    assert!(!page.contains("selected"), "{page}");
}

#[test]
fn a_process_keeps_how_it_is_worked() {
    let [machine, pad] = equipment();
    let page = page(&with(&[machine, pad, process("cut", Some("finish")), process("finish", None)]), "workshop");
    assert_eq!(bases(&page), [process("cut", Some("finish")), process("finish", None)]);
    assert_eq!((field(&page, "process-0-removal_um-mean").as_str(), field(&page, "process-0-minutes_per_m2").as_str()), ("1.10", "22.0"));
    assert!(page.contains("<option value=\"finish\" selected>"), "{page}");
}

#[test]
fn a_process_whose_follower_is_not_there_is_laid_over_what_states_it_all_the_same() {
    let [machine, pad] = equipment();
    let app = with(&[machine, pad, process("cut", Some("finish"))]);
    assert!(page(&app, "history").contains("Not used"));
    assert_eq!(bases(&page(&app, "workshop")), [process("cut", Some("finish"))]);
}

#[test]
fn every_gauge_is_shown_by_its_name_and_keeps_it() {
    let page = page(&with(&[gauge(Some("pocket"), "1.5"), gauge(None, "0.80")]), "workshop");
    assert_eq!(bases(&page), [gauge(None, "0.80"), gauge(Some("pocket"), "1.5")]);
    assert!(
        page.contains("<strong>The usual gauge</strong>") && page.contains("<strong>pocket</strong>") && page.contains("Another gauge"),
        "{page}"
    );
    assert_eq!(
        ["gauge-0-repeatability_um", "gauge-1-repeatability_um", "gauge-1-through_um"].map(|id| field(&page, id)),
        ["0.80", "1.5", "20.0"]
    );
}

#[test]
fn a_vehicle_and_its_paint_keep_what_was_stated() {
    let vehicle = json!({ "kind": "vehicle-stated", "title": "Sage coupe", "body": "coupe", "built": "1966", "owner": "a".repeat(64) });
    let paint =
        json!({ "kind": "paint-stated", "system": "single-stage", "metallic": true, "undercoat": { "mean_um": "34.50", "sd_um": "4" } });
    let page = page(&with(&[vehicle.clone(), paint.clone()]), "vehicle");
    assert_eq!(bases(&page), [vehicle, paint]);
    assert_eq!((field(&page, "field-undercoat-mean_um").as_str(), field(&page, "field-built").as_str()), ("34.50", "1966"));
}

#[test]
fn what_was_struck_out_or_could_not_be_used_states_nothing() {
    let unusable = json!({ "kind": "panel-stated", "name": "left door", "width_mm": "0", "height_mm": "600" });
    let other = json!({ "kind": "panel-stated", "name": "right door", "width_mm": "901", "height_mm": "600" });
    let mut wrong = panel();
    wrong["width_mm"] = json!("700");
    let app = with(&[panel(), wrong, unusable, other.clone()]);
    app.send(&[event(9, json!({ "kind": "struck-out", "event": id(3).to_string(), "why": "measured wrongly" }))]);
    assert_eq!(bases(&page(&app, "panels")), [panel(), other]);
}

#[test]
fn every_label_has_a_field_of_its_own() {
    let [machine, pad] = equipment();
    let bodies = [machine, pad, process("cut", None), process("finish", None), gauge(None, "0.8"), gauge(Some("pocket"), "1"), panel()];
    let app = with(&bodies);
    for name in ["workshop", "panels", "vehicle", "terms"] {
        let page = page(&app, name);
        let mut ids = attributes(&page, "id");
        let count = ids.len();
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), count, "an id of {name} stands twice");
        for of in attributes(&page, "for") {
            assert!(ids.contains(&of), "{of} of {name}");
        }
    }
}
