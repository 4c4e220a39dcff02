//! Events written down one after the other.

use lastmicron_job::event::{Event, Id};
use lastmicron_job::fold::{Standing, fold};
use serde_json::{Value, json};

/// The `n`th id.
pub(crate) fn id(n: usize) -> Id {
    let n = u8::try_from(n % 256).unwrap();
    Id::made_at(1_714_550_000_000 + u64::from(n), [n; 10])
}

/// An event of a job, with ids by number.
pub(crate) fn event(n: usize, body: Value) -> Event {
    let [own, job, device] = [id(n), id(0), id(1)].map(|id| id.to_string());
    let event = json!({"id": own, "job": job, "when": "2024-05-01T09:30:00+02:00", "device": device, "who": "J.", "body": body});
    serde_json::from_value(event.clone()).unwrap_or_else(|error| panic!("{event}: {error}"))
}

/// Bodies as the events of one job, in order; the first has the number 10.
pub(crate) fn events(bodies: impl IntoIterator<Item = Value>) -> Vec<Event> {
    bodies.into_iter().enumerate().map(|(i, body)| event(10 + i, body)).collect()
}

/// What must be said before a plan can be made.
pub(crate) fn opening() -> Vec<Value> {
    vec![
        json!({"kind": "vehicle-stated", "title": "Sage roadster", "body": "roadster", "built": "1971", "substrate": "steel"}),
        json!({"kind": "paint-stated", "system": "single-stage", "hardness": "soft"}),
        json!({"kind": "gauge-stated", "accuracy": {"fixed_um": "1.0", "percent": "1"}, "repeatability_um": "0.8"}),
        json!({"kind": "process-stated", "name": "finish", "removal_um": {"mean": "0.4", "sd": "0.1"}, "minutes_per_m2": "22"}),
        json!({"kind": "process-stated", "name": "cut", "removal_um": {"mean": "1.9", "sd": "0.5"}, "minutes_per_m2": "28", "followed_by": "finish"}),
        json!({"kind": "panel-stated", "name": "bonnet", "width_mm": "1400", "height_mm": "1150"}),
        json!({"kind": "panel-stated", "name": "boot lid", "width_mm": "1200", "height_mm": "600", "substrate": "aluminium"}),
        json!({"kind": "terms-agreed", "floor": {"number": "0.8", "unit": "mil"}, "risk": "0.02", "correction": "0.85", "hours": "14"}),
    ]
}

/// A reading on the bonnet.
pub(crate) fn reading(number: &str, unit: &str) -> Value {
    json!({"kind": "reading-taken", "panel": "bonnet", "x_mm": "400", "y_mm": "300", "value": {"number": number, "unit": unit}, "session": "survey"})
}

/// The opening and what follows it, folded.
pub(crate) fn folded(rest: impl IntoIterator<Item = Value>) -> Standing {
    fold(&events(opening().into_iter().chain(rest)))
}
