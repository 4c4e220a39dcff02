//! What an event may look like.

use lastmicron_job::event::Event;
use serde_json::{Value, json};

use crate::pen::{event, id, opening, reading};

fn refused(event: Value) -> String {
    serde_json::from_value::<Event>(event).unwrap_err().to_string()
}

#[test]
fn an_event_is_written_as_it_was_read_with_what_was_not_said_left_out() {
    for body in opening().into_iter().chain([reading("63.20", "um")]) {
        let read = event(10, body.clone());
        assert_eq!(serde_json::to_value(&read).unwrap()["body"], body);
    }
    let with_null = json!({"kind": "noted", "text": "chalk marks under the lid", "panel": null});
    assert_eq!(serde_json::to_value(event(10, with_null)).unwrap()["body"], json!({"kind": "noted", "text": "chalk marks under the lid"}));
}

#[test]
fn what_is_no_event_is_refused_with_what_is_wrong() {
    let sound = serde_json::to_value(event(10, reading("63.2", "um"))).unwrap();
    let with = |path: &str, value: Value| {
        let mut event = sound.clone();
        *event.pointer_mut(path).unwrap() = value;
        event
    };
    assert!(refused(with("/body/value/number", json!(63.2))).contains("expected a string"));
    assert!(refused(with("/body/kind", json!("reading-guessed"))).contains("unknown variant `reading-guessed`"));
    assert!(refused(with("/id", json!("1"))).contains("not a UUID of version 7"));
    assert!(refused(with("/when", json!("2024-05-01T09:30:00"))).contains("not an RFC 3339 time"));
    let mut more = sound.clone();
    more["body"]["colour"] = json!("sage");
    assert!(refused(more).contains("unknown field `colour`"));
    let mut more = sound.clone();
    more["seq"] = json!(1);
    assert!(refused(more).contains("unknown field `seq`"));
    let mut less = sound;
    less["body"].as_object_mut().unwrap().remove("panel");
    assert!(refused(less).contains("missing field `panel`"));
}

#[test]
fn what_is_kept_beside_the_record_is_named_by_what_refers_to_it() {
    let digest = "ab".repeat(32);
    let of = |body: Value| event(10, body).body.references().iter().map(ToString::to_string).collect::<Vec<_>>();
    assert_eq!(of(json!({"kind": "photograph-attached", "photograph": digest, "event": id(11)})), std::slice::from_ref(&digest));
    assert_eq!(of(json!({"kind": "vehicle-stated", "title": "Sage roadster", "owner": digest})), std::slice::from_ref(&digest));
    let accepted =
        json!({"kind": "plan-accepted", "plan": digest, "risk": "0.017", "correction": "0.71", "hours": "9.5", "with": "cd".repeat(32)});
    assert_eq!(of(accepted), [digest, "cd".repeat(32)]);
    assert_eq!(of(reading("63.2", "um")), Vec::<String>::new());
}

#[test]
fn over_what_something_was_stated_is_written_where_it_was_said_and_nothing_is_something_else_than_not_said() {
    let said = |over: Value| {
        let mut whole = serde_json::to_value(event(10, json!({"kind": "paint-stated", "system": "single-stage"}))).unwrap();
        whole["over"] = over;
        let read: Event = serde_json::from_value(whole).unwrap();
        serde_json::to_value(&read).unwrap().get("over").cloned()
    };
    assert_eq!((said(Value::Null), said(json!([]))), (None, Some(json!([]))));
    let before = json!([id(11).to_string(), id(12).to_string()]);
    assert_eq!(said(before.clone()), Some(before));
}
