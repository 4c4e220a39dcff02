//! Which bytes are an event.

use lastmicron_record::{MOST_EVENT_BYTES, Refusal, Sealed};
use proptest::prelude::*;
use serde_json::json;

use crate::pen::{event_json, note};

fn read(event: &serde_json::Value) -> Result<Sealed, Refusal> {
    Sealed::read(event.to_string().as_bytes())
}

#[test]
fn one_event_has_one_writing() {
    let sealed = note(10, "chalk marks \u{2713}");
    let want = concat!(
        r#"{"body":{"kind":"noted","text":"chalk marks ✓"},"device":"018f3324-c981-7707-8707-070707070707","id":"018f3324-c98a-7707-8707-070707070707","#,
        r#""job":"018f3324-c980-7707-8707-070707070707","when":"2024-05-01T09:30:00+02:00","who":"J."}"#
    );
    assert_eq!(std::str::from_utf8(sealed.bytes()).unwrap(), want);
    let loose =
        serde_json::to_string_pretty(&event_json(10, json!({"text": "chalk marks \u{2713}", "panel": null, "kind": "noted"}))).unwrap();
    assert_eq!(Sealed::read(loose.as_bytes()).unwrap(), sealed);
}

#[test]
fn sizes_that_nobody_enters_are_refused() {
    let named = |length: usize| read(&event_json(10, json!({"kind": "vehicle-stated", "title": "x".repeat(length)})));
    assert!(named(1000).is_ok());
    assert_eq!(named(1001), Err(Refusal::LongText { place: "/body/title".to_owned(), found: 1001 }));
    assert!(matches!(named(1_000_000), Err(Refusal::TooLarge { found }) if found > 1_000_000));
    let outline = |corners: usize| {
        let corners: Vec<[String; 2]> = (0..corners).map(|i| [i.to_string(), "1150.25".to_owned()]).collect();
        read(&event_json(10, json!({"kind": "panel-stated", "name": "wing", "outline_mm": corners})))
    };
    assert!(outline(1000).is_ok());
    assert!(matches!(outline(5000), Err(Refusal::TooLarge { found }) if found > MOST_EVENT_BYTES));
    let who = |who: String| {
        let mut event = event_json(10, json!({"kind": "noted", "text": ""}));
        event["who"] = json!(who);
        read(&event)
    };
    assert_eq!(who("\u{1f600}".repeat(1001)).unwrap_err().to_string(), "the text at /who has 1001 characters: at most 1000 are taken");
}

#[test]
fn what_is_no_event_is_refused_with_what_is_wrong() {
    let message = |bytes: &[u8]| Sealed::read(bytes).unwrap_err().to_string();
    assert!(message(b"").starts_with("this is not an event: EOF"));
    assert!(message(b"[]").starts_with("this is not an event: invalid"));
    assert!(message(b"\xff\xfe").starts_with("this is not an event: "));
    assert!(message("[".repeat(100_000).as_bytes()).starts_with("this is not an event: "));
    let twice = event_json(10, json!({"kind": "noted", "text": ""})).to_string().replacen("\"who\"", "\"who\":\"K.\",\"who\"", 1);
    assert!(message(twice.as_bytes()).contains("duplicate field `who`"));
    let twice = event_json(10, json!({"kind": "noted", "text": ""})).to_string().replacen("\"text\"", "\"text\":\"a\",\"text\"", 1);
    assert!(message(twice.as_bytes()).contains("duplicate field `text`"), "{}", message(twice.as_bytes()));
}

proptest! {
    #[test]
    fn any_bytes_are_an_event_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let _ = Sealed::read(&bytes);
    }

    #[test]
    fn an_event_with_bytes_changed_is_an_event_or_refused(at in any::<prop::sample::Index>(), byte in any::<u8>(), text in "\\PC{0,40}") {
        let mut bytes = note(10, &text).bytes().to_vec();
        let at = at.index(bytes.len());
        bytes[at] = byte;
        if let Ok(sealed) = Sealed::read(&bytes) {
            prop_assert_eq!(Sealed::read(sealed.bytes()).unwrap(), sealed);
        }
    }

    #[test]
    fn what_is_sealed_reads_back_as_the_same_bytes(text in ".{0,300}") {
        let sealed = note(10, &text);
        let back = Sealed::read(sealed.bytes()).unwrap();
        prop_assert_eq!(back.bytes(), sealed.bytes());
    }
}
