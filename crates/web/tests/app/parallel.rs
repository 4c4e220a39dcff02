//! Two state the same thing without having seen each other's statement: what the pages say of it.

use axum::http::StatusCode;
use serde_json::{Value, json};

use crate::{App, app, attributes, event, id};

/// Somebody at a device of their own states something, with these statements before them.
fn says(app: &App, (n, who): (u64, &str), over: &[u64], body: &Value) {
    let mut said = event(n, body.clone());
    said["who"] = json!(who);
    said["device"] = json!(id(50 + u64::from(who.as_bytes()[0])).to_string());
    said["over"] = json!(over.iter().map(|n| id(*n).to_string()).collect::<Vec<_>>());
    assert_eq!(app.send(&[said]).status, StatusCode::OK);
}

fn page(app: &App, name: &str) -> String {
    let answer = app.get(&format!("/jobs/{}{name}", id(0)));
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text);
    answer.text
}

fn door(otherwise: &Value) -> Value {
    let mut body = json!({ "kind": "panel-stated", "name": "left door", "width_mm": "900", "height_mm": "600" });
    body.as_object_mut().unwrap().extend(otherwise.as_object().unwrap().clone());
    body
}

/// M. states the door; A. and B. state it anew, each over that.
fn two(a: &Value, b: &Value) -> App {
    let app = app();
    says(&app, (2, "M."), &[], &json!({ "kind": "vehicle-stated", "title": "Sage coupe" }));
    says(&app, (3, "M."), &[], &door(&json!({})));
    says(&app, (4, "A."), &[3], &door(a));
    says(&app, (5, "B."), &[3], &door(b));
    app
}

/// What the form of a page that settles something is laid over, what it says it was stated over, and its choices.
fn settling(page: &str) -> (Value, Vec<String>, Vec<Value>) {
    let form = page.split("<form").find(|form| form.contains("data-settles")).unwrap();
    let form = format!(" {}", form.split("</form>").next().unwrap());
    let values = |name: &str| -> Vec<Value> { attributes(&form, name).iter().map(|text| serde_json::from_str(text).unwrap()).collect() };
    let over = values("data-over").remove(0);
    (values("data-base").remove(0), serde_json::from_value(over).unwrap(), values("data-lay"))
}

#[test]
fn both_values_are_told_with_who_said_them_and_a_choice_settles_it() {
    let app = two(&json!({ "hardness": "soft" }), &json!({ "hardness": "hard" }));
    let first = page(&app, "");
    for words in ["The panel left door, how easily it marks", "A. said soft", "B. said hard", "What A. said holds until", "Say which holds"]
    {
        assert!(first.contains(words), "{words}: {first}");
    }
    let (base, over, choices) = settling(&page(&app, "/panels"));
    assert_eq!(base, door(&json!({ "hardness": "soft" })));
    assert_eq!(over, [id(4), id(5)].map(|id| id.to_string()));
    assert_eq!(choices, [json!({ "hardness": "soft" }), json!({ "hardness": "hard" })]);
    assert!(page(&app, "/history").contains("Stated without having seen what A. stated of it."));
    says(&app, (6, "M."), &[4, 5], &door(&json!({ "hardness": "hard" })));
    for name in ["", "/panels", "/history"] {
        let settled = page(&app, name);
        assert!(!settled.contains("seen what") && !settled.contains("data-settles") && !settled.contains("Say which holds"), "{settled}");
    }
}

#[test]
fn what_was_taken_together_is_noted_until_somebody_has_looked() {
    let app = two(&json!({ "hardness": "soft" }), &json!({ "visibility": "0.5" }));
    assert!(page(&app, "").contains("A. and B. stated it without having seen each other"));
    let (base, over, choices) = settling(&page(&app, "/panels"));
    assert_eq!((base.clone(), choices), (door(&json!({ "hardness": "soft", "visibility": "0.5" })), vec![]));
    assert_eq!(over.len(), 2);
    says(&app, (6, "M."), &[4, 5], &base);
    assert!(!page(&app, "").contains("without having seen"));
}

#[test]
fn a_form_says_over_what_it_states_something_anew() {
    let app = app();
    says(&app, (2, "M."), &[], &json!({ "kind": "vehicle-stated", "title": "Sage coupe" }));
    let overs = |name: &str| attributes(&page(&app, name), "data-over");
    assert_eq!(overs("/vehicle"), [format!("[\"{}\"]", id(2)), "[]".to_owned()]);
    assert_eq!(overs("/panels"), ["[]"]);
}
