//! Test spots: where one is proposed, and what is next on it.

use axum::http::StatusCode;
use serde_json::{Value, json};

use crate::{App, app, event, id, vehicle};

/// Records what each body says, one after the other.
fn records(app: &App, from: u64, bodies: Vec<Value>) {
    let events: Vec<Value> = (from..).zip(bodies).map(|(n, body)| event(n, body)).collect();
    let sent = app.send(&events);
    assert_eq!(sent.status, StatusCode::OK, "{}", sent.text);
}

fn panel(name: &str, substrate: &str) -> Value {
    json!({ "kind": "panel-stated", "name": name, "width_mm": "900", "height_mm": "700", "substrate": substrate })
}

fn reading(panel: &str, x: u32, y: u32, number: &str) -> Value {
    json!({ "kind": "reading-taken", "panel": panel, "x_mm": x.to_string(), "y_mm": y.to_string(), "value": { "number": number, "unit": "um" } })
}

fn process(name: &str, mean: &str) -> Value {
    json!({ "kind": "process-stated", "name": name, "removal_um": { "mean": mean, "sd": "0.1" }, "minutes_per_m2": "22" })
}

fn set(process: &str) -> Value {
    json!({ "kind": "set-done", "process": process, "spot": "spot 1" })
}

fn judged(seen: &Value) -> Value {
    json!({ "kind": "spot-judged", "spot": "spot 1", "seen": seen, "wiped": true })
}

fn spot(name: &str) -> Value {
    json!({ "kind": "spot-marked", "spot": name, "panel": "boot lid", "x_mm": "300", "y_mm": "300", "width_mm": "150", "height_mm": "150" })
}

/// A saloon, its plastic bumper first; the boot lid has more film than the roof, and a wing of which something else is stated the most.
fn read() -> App {
    let app = app();
    let mut wing = panel("left wing", "steel");
    wing["undercoat"] = json!({ "mean_um": "60", "sd_um": "20" });
    let gauge = json!({ "kind": "gauge-stated", "accuracy": { "fixed_um": "1", "percent": "1" }, "repeatability_um": "0.8" });
    app.send(&[vehicle(2, "Sage saloon")]);
    let on = |name: &'static str, um: &'static str| [(200, 200), (600, 500)].map(|(x, y)| reading(name, x, y, um)).to_vec();
    records(
        &app,
        3,
        vec![panel("front bumper", "plastic"), panel("bonnet", "steel"), panel("roof", "steel"), panel("boot lid", "steel"), wing, gauge],
    );
    records(&app, 20, [on("roof", "84"), on("boot lid", "96"), on("left wing", "190")].concat());
    app
}

fn page(app: &App, query: &str) -> String {
    let page = app.get(&format!("/jobs/{}/spots{query}", id(0)));
    assert_eq!(page.status, StatusCode::OK, "{}", page.text);
    page.text
}

/// The heading of what is next.
fn next(app: &App) -> String {
    page(app, "").split("<h3>").find_map(|part| part.strip_prefix("Next: ")).unwrap().split('<').next().unwrap().to_owned()
}

#[test]
fn a_spot_is_proposed_on_the_thickest_original_film_that_was_read() {
    let app = read();
    let proposed = page(&app, "");
    assert!(
        proposed.contains("name=\"panel\" value=\"boot lid\"") && proposed.contains("of the original panels that were read"),
        "{proposed}"
    );
    assert!(!proposed.contains("through to plastic"));
    // Another may be chosen, with what speaks against it.
    let bumper = page(&app, "?panel=front%20bumper");
    assert!(bumper.contains("name=\"panel\" value=\"front bumper\"") && bumper.contains("through to plastic"), "{bumper}");
    assert!(page(&app, "?panel=bonnet").contains("None of its film was read."));
    assert!(page(&app, "?panel=nonsense").contains("name=\"panel\" value=\"boot lid\""));
}

#[test]
fn nothing_is_proposed_before_a_panel_that_a_gauge_reads_was_read() {
    let app = app();
    app.send(&[vehicle(2, "Sage saloon")]);
    assert!(page(&app, "").contains("No panel is entered yet."));
    records(&app, 3, vec![panel("front bumper", "plastic"), panel("bonnet", "steel")]);
    let empty = page(&app, "");
    assert!(empty.contains("no such panel was read yet") && !empty.contains("data-event=\"spot-marked\""), "{empty}");
}

#[test]
fn a_spot_can_be_marked_on_its_map_and_by_number_and_those_that_are_there_are_on_the_map() {
    let app = read();
    let form = page(&app, "");
    for said in [
        "id=\"map\"",
        "data-wide=\"900\" data-high=\"700\"",
        "name=\"x_mm\"",
        "name=\"y_mm\"",
        "name=\"spot\" value=\"spot 1\" data-proposed",
    ] {
        assert!(form.contains(said), "{said}: {form}");
    }
    assert!(!form.contains("spot-outline"));
    records(&app, 40, vec![spot("spot 2")]);
    let marked = page(&app, "");
    assert!(marked.contains("spot-outline") && marked.contains("from 300 mm across and 300 mm up"), "{marked}");
    // A name that is taken is not proposed.
    assert!(marked.contains("name=\"spot\" value=\"spot 3\""), "{marked}");
}

#[test]
fn the_defects_are_counted_before_the_first_set() {
    let app = read();
    records(&app, 40, vec![process("finish", "0.5"), process("one-step", "1.1"), spot("spot 1")]);
    assert_eq!(next(&app), "read it, before the first set");
    records(&app, 50, vec![reading("boot lid", 375, 375, "96")]);
    assert_eq!(next(&app), "count the defects before the first set");
    assert!(page(&app, "").contains("in a square of <strong>100 mm</strong>"));
    // The deep ones alone say nothing of the fine.
    let mut deep = judged(&json!({ "count": "3" }));
    deep["of"] = json!("deep");
    records(&app, 60, vec![deep]);
    assert_eq!(next(&app), "count the defects before the first set");
    records(&app, 70, vec![judged(&json!({ "count": "41" }))]);
    assert_eq!(next(&app), "work one set, mildest first");
    let sets = page(&app, "");
    let at = |words: &str| sets.find(words).unwrap();
    assert!(at("primary\">One set of finish is done") < at("second\">One set of one-step is done"));
    records(&app, 80, vec![set("finish")]);
    assert_eq!(next(&app), "wipe it, then look under the lamp");
    let mut unwiped = judged(&json!({ "count": "20" }));
    unwiped["wiped"] = json!(false);
    records(&app, 90, vec![unwiped]);
    assert_eq!(next(&app), "wipe it, then look under the lamp");
    records(&app, 100, vec![judged(&json!({ "count": "22" }))]);
    assert_eq!(next(&app), "read it again");
    records(&app, 110, vec![reading("boot lid", 375, 375, "95.2")]);
    assert_eq!(next(&app), "enough, or one more set?");
    assert!(page(&app, "").contains("Looked at 4 times"));
}

#[test]
fn a_look_is_an_opening_too_and_once_is_a_word() {
    let app = read();
    records(
        &app,
        40,
        vec![process("finish", "0.5"), spot("spot 1"), reading("boot lid", 375, 375, "96"), judged(&json!({ "left": "all" }))],
    );
    assert_eq!(next(&app), "work one set, mildest first");
    assert!(page(&app, "").contains("Looked at once<"));
    records(&app, 50, vec![set("finish"), judged(&json!({ "left": "half" }))]);
    assert!(page(&app, "").contains("Looked at twice<"));
}

#[test]
fn where_the_gauge_cannot_tell_so_little_it_says_what_to_do_instead() {
    let app = read();
    let terms =
        json!({ "kind": "terms-agreed", "floor": { "number": "18", "unit": "um" }, "risk": "0.02", "correction": "0.99", "hours": "10" });
    let paint = json!({ "kind": "paint-stated", "system": "single-stage", "undercoat": { "mean_um": "34", "sd_um": "4" } });
    records(&app, 40, vec![paint, process("finish", "0.5"), terms, spot("spot 1"), reading("boot lid", 375, 375, "96")]);
    records(&app, 50, vec![judged(&json!({ "count": "41" })), set("finish"), judged(&json!({ "count": "22" }))]);
    let told = page(&app, "");
    assert!(
        told.contains("This gauge can\u{2019}t tell so little a removal here. It tells ") && told.contains("Or trust the count."),
        "{told}"
    );
    assert!(!told.contains("Too few readings"), "{told}");
    // To read again would tell nothing: it is not asked for.
    assert_eq!(next(&app), "enough, or one more set?");
    assert!(told.contains("read again (left out)"));
}

#[test]
fn film_that_bears_nothing_is_warned_of_and_where_it_was_gone_through_nothing_is_worked() {
    let app = read();
    let terms =
        json!({ "kind": "terms-agreed", "floor": { "number": "60", "unit": "um" }, "risk": "0.02", "correction": "0.8", "hours": "10" });
    let paint = json!({ "kind": "paint-stated", "system": "single-stage", "undercoat": { "mean_um": "34", "sd_um": "4" } });
    records(&app, 40, vec![paint, process("finish", "0.5"), spot("spot 1"), reading("boot lid", 375, 375, "96")]);
    records(&app, 50, vec![judged(&json!({ "count": "41" }))]);
    assert!(!page(&app, "").contains("bears not even one set of the mildest"));
    records(&app, 60, vec![terms]);
    let thin = page(&app, "");
    assert!(thin.contains("bears not even one set of the mildest: read here first"), "{thin}");
    let app = read();
    let through = json!({ "kind": "gone-through", "panel": "boot lid", "x_mm": "100", "y_mm": "100", "note": "primer" });
    records(&app, 40, vec![process("finish", "0.5"), spot("spot 1"), through]);
    let gone = page(&app, "");
    assert!(gone.contains("Stop: work nothing more here") && gone.contains("The topcoat was gone through at (100, 100) mm"), "{gone}");
    // Nor is a spot proposed there.
    assert!(gone.contains("name=\"panel\" value=\"roof\""), "{gone}");
}

#[test]
fn on_plastic_no_reading_is_asked_for() {
    let app = read();
    let mut on_bumper = spot("spot 1");
    on_bumper["panel"] = json!("front bumper");
    records(&app, 40, vec![process("finish", "0.5"), on_bumper]);
    assert_eq!(next(&app), "count the defects before the first set");
}
