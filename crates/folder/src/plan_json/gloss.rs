//! What gloss readings say, as JSON.

use lastmicron_look::gloss::{Change, Estimate, Haze, Level, Spot, State};
use lastmicron_plan::Car;
use serde_json::{Value, json};

use super::{number, process};

pub(super) fn json(car: &Car, spots: &[Spot]) -> Value {
    Value::Array(spots.iter().map(|one| spot(car, one)).collect())
}

fn spot(car: &Car, of: &Spot) -> Value {
    let panel = car.panels.get(of.panel).map(|panel| panel.panel.name.as_str());
    let states: Vec<Value> = of.states.iter().map(|one| state(car, one)).collect();
    json!({ "spot": of.name, "panel": panel, "index": estimate(of.index), "states": states })
}

fn state(car: &Car, of: &State) -> Value {
    let step = |(index, sets): &(usize, u32)| json!({ "process": process(car, *index), "sets": sets });
    json!({
        "after": of.after.iter().map(step).collect::<Vec<_>>(),
        "gloss_20": of.gloss_20.map(level),
        "gloss_60": of.gloss_60.map(level),
        "haze": of.haze.map(haze),
        "change": of.change.map(change),
    })
}

fn level(of: Level) -> Value {
    json!({
        "gloss_units": number(of.units),
        "readings": of.readings,
        "limit": estimate(of.limit),
        "share": estimate(of.share),
        "index_needed": of.index_needed.map(number),
    })
}

fn haze(of: Haze) -> Value {
    json!({ "gloss_units": number(of.units), "baseline": estimate(of.baseline), "excess": estimate(of.excess) })
}

fn change(of: Change) -> Value {
    json!({ "gloss_20": of.gloss_20.map(estimate), "gloss_60": of.gloss_60.map(estimate), "haze": of.haze.map(estimate) })
}

fn estimate(of: Estimate) -> Value {
    json!({ "estimate": number(of.value), "low": number(of.low), "high": number(of.high) })
}
