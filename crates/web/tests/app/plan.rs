//! What a plan asks of machines and pads, before the work and while it goes on.

use axum::http::StatusCode;
use serde_json::{Value, json};

use crate::{App, app, attributes, event, id};

/// What is said of a bonnet that was read at six places, with one process of a machine and a pad, and no gain stated at edges.
pub(crate) fn equipped() -> Vec<Value> {
    let readings = [("200", "200"), ("700", "200"), ("1200", "200"), ("200", "900"), ("700", "900"), ("1200", "900")].map(
        |(x, y)| json!({ "kind": "reading-taken", "panel": "bonnet", "x_mm": x, "y_mm": y, "value": { "number": "120", "unit": "um" } }),
    );
    let mut bodies = vec![
        json!({ "kind": "vehicle-stated", "title": "Sage roadster", "substrate": "steel" }),
        json!({ "kind": "panel-stated", "name": "bonnet", "width_mm": "1400", "height_mm": "1150", "substrate": "steel" }),
        json!({ "kind": "gauge-stated", "accuracy": { "fixed_um": "1", "percent": "1" }, "repeatability_um": "0.8" }),
        json!({ "kind": "paint-stated", "system": "single-stage", "undercoat": { "mean_um": "34", "sd_um": "3" } }),
        json!({ "kind": "machine-stated", "name": "long throw", "drive": "free", "spin_rpm": "200", "orbit_radius_mm": "7.5", "orbits_per_minute": "4200" }),
        json!({ "kind": "pad-stated", "name": "foam", "diameter_mm": "130", "stiffness_pa_per_m": "2.4e6", "edge": "upright" }),
        json!({
            "kind": "process-stated", "name": "one-step", "removal_um": { "mean": "1.2", "sd": "0.2" }, "minutes_per_m2": "22",
            "uses": { "machine": "long throw", "pad": "foam", "load_n": "40", "overlap": "0.5", "passes": 4, "arm_speed_mm_s": "40" },
        }),
        json!({ "kind": "terms-agreed", "floor": { "number": "18", "unit": "um" }, "risk": "0.02", "correction": "0.6", "hours": "12" }),
    ];
    bodies.extend(readings);
    bodies
}

/// An app with that job.
fn with_it() -> App {
    let app = app();
    let events: Vec<Value> = (2..).zip(equipped()).map(|(n, body)| event(n, body)).collect();
    let sent = app.send(&events);
    assert_eq!(sent.status, StatusCode::OK, "{}", sent.text);
    app
}

#[test]
fn a_plan_says_where_to_tape_and_what_it_asks_of_pads_on_every_page() {
    let app = with_it();
    let plan = app.get(&format!("/jobs/{}/plan", id(0))).text;
    for said in [
        "<h2>Tape, machines and pads</h2>",
        "<strong>Tape</strong>: none for what is kept off",
        "<h3>one-step (long throw, foam)</h3>",
        "let no more than 32 mm of it over an edge",
        "<strong>pads</strong>: a set on 450 mm square leaves",
        "<strong>heat</strong>: steel warms by about",
        "Heat is an estimate of the order",
    ] {
        assert!(plan.contains(said), "{said}: {plan}");
    }
    // Accepted as it was shown, it is worked by, and the section in hand says the same of its edges.
    let kept = app.post(&attributes(&plan, "data-kept")[0], "", &[]);
    assert_eq!(kept.status, StatusCode::OK, "{}", kept.text);
    let mut accepted = kept.json();
    accepted["kind"] = json!("plan-accepted");
    assert_eq!(app.send(&[event(90, accepted)]).status, StatusCode::OK);
    let first = app.get(&format!("/jobs/{}/work", id(0)));
    let work = app.get(first.header("location")).text;
    assert!(work.contains(": to the edge with the foam flat, no more than 32 mm of it over: an edge takes more"), "{work}");
    assert!(work.contains("Held still for 10 s: about") && !work.contains("never over it"), "{work}");
}
