//! RFC 8785.

use lastmicron_record::canonical;
use proptest::prelude::*;
use serde_json::{Value, json};

fn text(value: &Value) -> String {
    String::from_utf8(canonical(value).unwrap()).unwrap()
}

#[test]
fn texts_are_escaped_as_the_standards_example_is() {
    // [M] RFC 8785, section 3.2.2 and 3.2.3, from memory: its "string" and "literals", without its floating-point numbers, which no event has.
    let sample = r#"{"string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/", "literals": [null, true, false]}"#;
    let want = "{\"literals\":[null,true,false],\"string\":\"\u{20ac}$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}";
    assert_eq!(text(&serde_json::from_str(sample).unwrap()), want);
}

#[test]
fn members_stand_in_the_order_of_the_standards_example() {
    // [M] RFC 8785, section 3.2.3, from memory: sorted by UTF-16 units, so that a surrogate pair stands before U+FB33.
    let sample = json!({
        "\u{20ac}": "Euro Sign", "\r": "Carriage Return", "\u{fb33}": "Hebrew Letter Dalet With Dagesh", "1": "One",
        "\u{1f600}": "Emoji: Grinning Face", "\u{80}": "Control", "\u{f6}": "Latin Small Letter O With Diaeresis"
    });
    let text = text(&sample);
    let read: serde_json::Map<String, Value> = serde_json::from_str(&text).unwrap();
    let names = [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ];
    assert_eq!(read.values().map(|name| name.as_str().unwrap()).collect::<Vec<_>>(), names);
}

#[test]
fn whole_numbers_are_digits() {
    assert_eq!(text(&json!([0, 1, 20_000, 9_007_199_254_740_991_u64])), "[0,1,20000,9007199254740991]");
}

/// Any JSON that an event might hold: no numbers but whole ones.
fn json() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<u32>().prop_map(Value::from),
        any::<String>().prop_map(Value::from)
    ];
    leaf.prop_recursive(4, 40, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(Value::from),
            prop::collection::vec((any::<String>(), inner), 0..6).prop_map(|members| Value::Object(members.into_iter().collect())),
        ]
    })
}

proptest! {
    #[test]
    fn what_is_canonical_reads_back_the_same_and_is_its_own_canonical_form(value in json()) {
        let bytes = canonical(&value).unwrap();
        let back: Value = serde_json::from_slice(&bytes).unwrap();
        prop_assert_eq!(&back, &value);
        prop_assert_eq!(canonical(&back).unwrap(), bytes);
    }

    #[test]
    fn the_order_of_members_makes_no_difference(members in prop::collection::vec((any::<String>(), any::<u32>()), 0..8)) {
        let forward: serde_json::Map<String, Value> = members.iter().map(|(name, n)| (name.clone(), json!(n))).collect();
        let backward: serde_json::Map<String, Value> = forward.clone().into_iter().rev().collect();
        prop_assert_eq!(canonical(&forward).unwrap(), canonical(&backward).unwrap());
    }
}
