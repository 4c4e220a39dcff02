//! An invented coupe with three panels, read, tried and planned: enough for every screen, and quick to compute.

use lastmicron_job::event::{Event, Id};
use serde_json::{Value, json};

/// The job's id.
pub(crate) fn job() -> Id {
    id(0)
}

fn id(n: u64) -> Id {
    Id::made_at(1_714_550_000_000 + n, [7; 10])
}

fn event(job: Id, n: u64, body: &Value) -> Event {
    let whole = json!({ "id": id(n).to_string(), "job": job.to_string(), "when": "2024-05-01T09:30:00+02:00", "device": id(1).to_string(), "who": "M.", "body": body });
    serde_json::from_value(whole).unwrap()
}

fn reading(panel: &str, x: u32, y: u32, number: &str) -> Value {
    json!({ "kind": "reading-taken", "panel": panel, "x_mm": x.to_string(), "y_mm": y.to_string(), "value": { "number": number, "unit": "um" }, "session": "a" })
}

fn process(name: &str, mean: &str, sd: &str) -> Value {
    json!({ "kind": "process-stated", "name": name, "removal_um": { "mean": mean, "sd": sd }, "minutes_per_m2": "22", "marks": { "mean": "0.01", "sd": "0.01" } })
}

/// All that is said of it before it is read.
pub(crate) fn stated() -> Vec<Value> {
    let panel =
        |name: &str, width: &str, height: &str| json!({ "kind": "panel-stated", "name": name, "width_mm": width, "height_mm": height });
    vec![
        json!({ "kind": "vehicle-stated", "title": "Sage coupe, <b>first</b> correction", "body": "coupe", "built": "1968", "substrate": "steel", "history": "Waxed by hand." }),
        json!({ "kind": "paint-stated", "system": "single-stage", "hardness": "soft", "undercoat": { "mean_um": "34", "sd_um": "4" } }),
        json!({ "kind": "gauge-stated", "accuracy": { "fixed_um": "1.0", "percent": "1.0" }, "repeatability_um": "0.8", "resolution_um": "0.1" }),
        process("finish", "0.5", "0.2"),
        process("one-step", "1.1", "0.4"),
        panel("bonnet", "1100", "900"),
        panel("roof", "900", "900"),
        panel("left door", "900", "600"),
        json!({ "kind": "session-began", "session": "a", "checks": [{ "shim": { "number": "50", "unit": "um" }, "shown": [{ "number": "50.4", "unit": "um" }] }] }),
    ]
}

fn read() -> Vec<Value> {
    let bonnet = [(150, 150, "70.2"), (550, 200, "71.6"), (950, 150, "69.8"), (300, 600, "72.4"), (800, 650, "70.9"), (550, 830, "66.3")];
    let roof = [(150, 150, "74.0"), (450, 450, "75.2"), (750, 200, "73.1"), (450, 800, "72.2")];
    let door = [(150, 300, "66.4"), (450, 300, "67.7"), (750, 300, "65.2"), (450, 550, "61.0")];
    let on = |panel: &'static str, places: Vec<(u32, u32, &'static str)>| {
        places.into_iter().map(move |(x, y, number)| reading(panel, x, y, number))
    };
    on("bonnet", bonnet.to_vec()).chain(on("roof", roof.to_vec())).chain(on("left door", door.to_vec())).collect()
}

fn tried() -> Vec<Value> {
    let judged = |left: &str| json!({ "kind": "spot-judged", "spot": "spot 1", "seen": { "left": left }, "wiped": true });
    vec![
        json!({ "kind": "terms-agreed", "floor": { "number": "18", "unit": "um" }, "risk": "0.02", "correction": "0.8", "hours": "10", "spend": { "number": "4", "unit": "um" } }),
        json!({ "kind": "spot-marked", "spot": "spot 1", "panel": "roof", "x_mm": "600", "y_mm": "600", "width_mm": "150", "height_mm": "150" }),
        json!({ "kind": "set-done", "process": "finish", "spot": "spot 1" }),
        judged("half"),
        json!({ "kind": "set-done", "process": "one-step", "spot": "spot 1" }),
        judged("few"),
        json!({ "kind": "noted", "text": "Soft: dries with marks." }),
    ]
}

fn numbered(car: u64, bodies: &[Value]) -> Vec<Event> {
    (1000 * car + 2..).zip(bodies).map(|(n, body)| event(id(1000 * car), n, body)).collect()
}

fn ready() -> Vec<Value> {
    [stated(), read(), tried()].concat()
}

/// It has arrived; nothing was read.
pub(crate) fn arrived() -> Vec<Event> {
    numbered(0, &stated())
}

/// Read and tried, ready to be planned.
pub(crate) fn tried_on() -> Vec<Event> {
    numbered(0, &ready())
}

/// The same of as many cars, each with its job: the first is [`job`].
pub(crate) fn as_many(cars: usize) -> Vec<(Id, Vec<Event>)> {
    (0..cars as u64).map(|car| (id(1000 * car), numbered(car, &ready()))).collect()
}
