//! What devices send, as JSON.

use serde_json::{Value, json};

/// Panels of the car that is read, and readings on each before it is measured: with them it has some 300.
pub(super) const PANELS: u64 = 15;
const READ_BEFORE: u64 = 20;

/// Events that are taken at once at most.
const AT_ONCE: usize = 200;

/// An id of version 7 (RFC 9562) for a number.
fn id(n: u64) -> String {
    format!("018f3324-{:04x}-7{:03x}-8000-{:012x}", n >> 16 & 0xffff, n & 0xfff, n)
}

/// The `n`th job.
pub(super) fn job(n: u64) -> String {
    id(n)
}

fn event(of: u64, n: u64, body: &Value) -> String {
    json!({ "id": id(n), "job": job(of), "when": "2024-05-01T09:30:00+02:00", "device": id(9), "who": "J.", "body": body }).to_string()
}

/// A job begins.
pub(super) fn vehicle(of: u64, n: u64) -> String {
    event(of, n, &json!({ "kind": "vehicle-stated", "title": format!("Job {of}"), "substrate": "steel" }))
}

pub(super) fn noted(of: u64, n: u64) -> String {
    event(of, n, &json!({ "kind": "noted", "text": format!("note {n}") }))
}

/// A job of so many events, as a device that was away sends it.
pub(super) fn long_job(count: u64) -> Vec<String> {
    let vehicle = event(2, 20_000_000, &json!({ "kind": "vehicle-stated", "title": "A long job", "substrate": "steel" }));
    let panel = event(2, 20_000_001, &json!({ "kind": "panel-stated", "name": "bonnet", "width_mm": "1400", "height_mm": "1100" }));
    let reading = |n: u64| {
        let number = format!("{:.1}", 68.0 + (n % 50) as f64 / 10.0);
        let [x, y] = [n % 1400, n * 7 % 1100].map(|mm| mm.to_string());
        event(
            2,
            20_000_000 + n,
            &json!({ "kind": "reading-taken", "panel": "bonnet", "x_mm": x, "y_mm": y, "value": { "number": number, "unit": "um" } }),
        )
    };
    let gauge = json!({ "kind": "gauge-stated", "accuracy": { "fixed_um": "1", "percent": "1" }, "repeatability_um": "0.8" });
    let events: Vec<String> = [vehicle, panel, event(2, 20_000_002, &gauge)].into_iter().chain((3..count).map(reading)).collect();
    events.chunks(AT_ONCE).map(|batch| format!("[{}]", batch.join(","))).collect()
}

/// A car with all that a survey needs, and its first readings.
pub(super) fn car() -> String {
    let mut bodies = vec![
        json!({ "kind": "vehicle-stated", "title": "A car to read", "substrate": "steel" }),
        json!({ "kind": "paint-stated", "system": "single-stage" }),
        json!({ "kind": "gauge-stated", "accuracy": { "fixed_um": "1", "percent": "1" }, "repeatability_um": "0.8" }),
        json!({ "kind": "process-stated", "name": "finish", "removal_um": { "mean": "0.5", "sd": "0.2" }, "minutes_per_m2": "18" }),
        json!({ "kind": "process-stated", "name": "one-step", "removal_um": { "mean": "1.1", "sd": "0.4" }, "minutes_per_m2": "26" }),
        json!({ "kind": "terms-agreed", "floor": { "number": "16", "unit": "um" }, "risk": "0.02", "correction": "0.85", "hours": "14" }),
    ];
    bodies.extend(
        (0..PANELS).map(|n| json!({ "kind": "panel-stated", "name": format!("panel {n}"), "width_mm": "1100", "height_mm": "700" })),
    );
    let stated = bodies.iter().enumerate().map(|(n, body)| event(3, 40_000_000 + n as u64, body));
    let readings = (0..PANELS).flat_map(|panel| (0..READ_BEFORE / 2).map(move |n| reading(panel, panel * 40 + n)));
    format!("[{}]", stated.chain(readings).collect::<Vec<_>>().join(","))
}

/// A reading on a panel.
pub(super) fn reading(panel: u64, n: u64) -> String {
    let number = format!("{:.1}", 66.0 + (n * 37 % 60) as f64 / 10.0);
    let [x, y] = [40 + n * 131 % 1020, 40 + n * 71 % 620].map(|mm| mm.to_string());
    event(
        3,
        50_000_000 + n,
        &json!({ "kind": "reading-taken", "panel": format!("panel {panel}"), "x_mm": x, "y_mm": y, "value": { "number": number, "unit": "um" } }),
    )
}
