//! What holds of every record.

use lastmicron_job::event::{Event, Id};
use lastmicron_job::fold::{Standing, fold};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::pen::{event, events, id, opening};

/// Numbers as people and gauges give them, good and bad.
fn number() -> impl Strategy<Value = String> {
    prop_oneof![6 => (300_u32..900).prop_map(|tenths| format!("{}.{}", tenths / 10, tenths % 10)), 1 => "\\PC{0,6}", 1 => Just("1,234".to_owned())]
}

fn name(names: &'static [&'static str]) -> impl Strategy<Value = String> {
    prop_oneof![8 => prop::sample::select(names).prop_map(str::to_owned), 1 => "\\PC{0,4}"]
}

fn place() -> impl Strategy<Value = String> {
    prop_oneof![9 => (0_u32..1200).prop_map(|mm| mm.to_string()), 1 => number()]
}

fn panel() -> impl Strategy<Value = String> {
    name(&["bonnet", "boot lid", "roof"])
}

fn after() -> impl Strategy<Value = Value> {
    prop_oneof![
        Just(Value::Null),
        (name(&["cut", "finish"]), 0_u32..4).prop_map(|(process, sets)| json!([{"process": process, "sets": sets}]))
    ]
}

/// A body of any kind that may follow the opening, but no striking-out.
fn body() -> impl Strategy<Value = Value> {
    let spot = || name(&["spot 1", "spot 2"]);
    let process = || name(&["cut", "finish"]);
    let section = (panel(), place(), place())
        .prop_map(|(panel, x, y)| json!({"panel": panel, "x_mm": x, "y_mm": y, "width_mm": "200", "height_mm": "200"}))
        .boxed();
    prop_oneof![
        4 => (panel(), place(), place(), number(), name(&["um", "mil"]), after()).prop_map(|(panel, x, y, number, unit, after)| {
            json!({"kind": "reading-taken", "panel": panel, "x_mm": x, "y_mm": y, "value": {"number": number, "unit": unit}, "after": after})
        }),
        2 => (process(), section.clone(), 0_u32..3).prop_map(|(process, section, sets)| json!({"kind": "set-done", "process": process, "sets": sets, "sections": [section]})),
        1 => (process(), spot()).prop_map(|(process, spot)| json!({"kind": "set-done", "process": process, "spot": spot})),
        1 => (spot(), panel(), place(), place()).prop_map(|(spot, panel, x, y)| {
            json!({"kind": "spot-marked", "spot": spot, "panel": panel, "x_mm": x, "y_mm": y, "width_mm": "180", "height_mm": "180"})
        }),
        1 => (spot(), name(&["most", "half", "few"]), after()).prop_map(|(spot, left, after)| json!({"kind": "spot-judged", "spot": spot, "seen": {"left": left}, "after": after})),
        1 => (panel(), place(), place()).prop_map(|(name, w, h)| json!({"kind": "panel-stated", "name": name, "width_mm": w, "height_mm": h})),
        1 => (process(), process(), number()).prop_map(|(name, next, mean)| {
            json!({"kind": "process-stated", "name": name, "removal_um": {"mean": mean, "sd": "0.1"}, "minutes_per_m2": "20", "followed_by": next})
        }),
        1 => prop_oneof![
            Just(json!({"kind": "session-began", "session": "survey"})),
            Just(json!({"kind": "session-ended", "session": "survey"})),
        ],
        1 => section.prop_map(|section| json!({"kind": "work-done", "section": section})),
        1 => number().prop_map(|risk| json!({"kind": "terms-agreed", "floor": {"number": "16", "unit": "um"}, "risk": risk, "correction": "0.8", "hours": "9"})),
    ]
}

fn record() -> impl Strategy<Value = Vec<Event>> {
    prop::collection::vec(body(), 0..40).prop_map(|bodies| events(opening().into_iter().chain(bodies)))
}

fn strike(n: usize, of: Id) -> Event {
    event(n, json!({"kind": "struck-out", "event": of, "why": "a slip"}))
}

fn without_list_of_struck(standing: Standing) -> Standing {
    Standing { struck: Vec::new(), ..standing }
}

proptest! {
    #[test]
    fn striking_out_is_as_if_it_had_never_been_said(record in record(), at in any::<prop::sample::Index>(), later in prop::collection::vec(body(), 0..5)) {
        let at = at.index(record.len());
        let later: Vec<Event> = later.into_iter().enumerate().map(|(i, body)| event(100 + i, body)).collect();
        let striking = strike(90, record[at].id);
        let struck: Vec<&Event> = record.iter().chain([&striking]).chain(&later).collect();
        let never: Vec<&Event> = record.iter().enumerate().filter(|(i, _)| *i != at).map(|(_, event)| event).chain(&later).collect();
        let folded = fold(struck);
        prop_assert_eq!(folded.struck.len(), 1);
        prop_assert_eq!(without_list_of_struck(folded), fold(never));
    }

    #[test]
    fn striking_out_the_striking_out_is_as_if_neither_had_been_said(record in record(), at in any::<prop::sample::Index>()) {
        let mut both = record.clone();
        both.push(strike(90, record[at.index(record.len())].id));
        both.push(strike(91, id(90)));
        prop_assert_eq!(without_list_of_struck(fold(&both)), fold(&record));
    }

    #[test]
    fn what_was_read_and_done_by_then_is_the_beginning_of_what_was_read_and_done_in_all(record in record(), end in any::<prop::sample::Index>()) {
        // Panels, processes and spots stand as they are: only what is done and measured goes on.
        let stated = |event: &&Event| { let kind = serde_json::to_value(&event.body).unwrap()["kind"].as_str().unwrap().to_owned(); kind.ends_with("-stated") || kind == "spot-marked" };
        let record: Vec<&Event> = record.iter().filter(stated).chain(record.iter().filter(|event| !stated(event))).collect();
        let first = record.iter().filter(|event| stated(event)).count();
        let end = first + end.index(record.len() - first + 1);
        let (by_then, in_all) = (fold(record[..end].iter().copied()), fold(record));
        prop_assert!(in_all.readings.starts_with(&by_then.readings));
        prop_assert!(in_all.judged.starts_with(&by_then.judged));
        prop_assert!(in_all.done.starts_with(&by_then.done));
        prop_assert!(in_all.terms.starts_with(&by_then.terms));
        prop_assert!(in_all.unusable.len() >= by_then.unusable.len());
    }

    #[test]
    fn every_event_is_used_or_struck_out_or_listed_and_folding_again_gives_the_same(record in record()) {
        let standing = fold(&record);
        let readings = record.iter().filter(|event| serde_json::to_value(&event.body).unwrap()["kind"] == "reading-taken").count();
        let listed = standing.unusable.iter().filter(|unusable| record.iter().any(|event| event.id == unusable.event && serde_json::to_value(&event.body).unwrap()["kind"] == "reading-taken")).count();
        prop_assert_eq!(standing.readings.len() + listed, readings);
        prop_assert_eq!(fold(&record), standing);
    }

    #[test]
    fn any_text_is_read_as_an_event_or_refused(text in "\\PC{0,200}") {
        let _ = serde_json::from_str::<Event>(&text);
    }
}
