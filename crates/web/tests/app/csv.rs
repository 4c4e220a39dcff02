//! Readings brought in from a file.

use axum::http::StatusCode;
use serde_json::{Value, json};

use crate::{App, app, attributes, event, id, stated};

/// The page that shows what would be taken.
fn looked(app: &App, fields: &[(&str, &str)]) -> String {
    let body = serde_urlencoded::to_string(fields).unwrap();
    let answer = app.post(&format!("/jobs/{}/readings", id(0)), body, &[("content-type", "application/x-www-form-urlencoded")]);
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text);
    answer.text
}

/// Numbers that are taken without a word.
fn good(page: &str) -> Vec<String> {
    let bodies = attributes(page, "data-bodies").pop().map_or_else(Vec::new, |text| serde_json::from_str::<Vec<Value>>(&text).unwrap());
    bodies.iter().map(|body| body["value"]["number"].as_str().unwrap().to_owned()).collect()
}

/// Numbers that are taken only where their box is ticked.
fn boxed(page: &str) -> Vec<String> {
    let bodies = attributes(page, "data-body").into_iter().map(|text| serde_json::from_str::<Value>(&text).unwrap());
    bodies.map(|body| body["value"]["number"].as_str().unwrap().to_owned()).collect()
}

/// What is said of a line that can't be taken.
fn said_of(page: &str, line: usize) -> &str {
    page.split(&format!("<td class=\"number\">{line}</td>")).nth(1).map_or("", |row| row.split("</tr>").next().unwrap())
}

fn reading(x: &str, number: &str) -> Value {
    json!({ "kind": "reading-taken", "panel": "bonnet", "x_mm": x, "y_mm": "200", "value": { "number": number, "unit": "um" } })
}

#[test]
fn a_row_that_makes_no_event_is_told_why_and_moves_no_other_rows_fault() {
    let app = app();
    stated(&app);
    let table = format!(
        "panel,x_mm,y_mm,reading_um,note\nbonnet,100,200,61.0,{}\nbonnet,110,200,62.0,\nbonnet,9000,200,63.0,\nbonnet,130,200,64.0,",
        "x".repeat(1001)
    );
    let page = looked(&app, &[("text", &table)]);
    assert!(page.contains("4 rows: 2 can be taken, 2 can't"), "{page}");
    assert!(said_of(&page, 2).contains("the text at /body/note has 1001 characters"), "{}", said_of(&page, 2));
    assert!(said_of(&page, 4).contains("is not on 'bonnet'"), "{}", said_of(&page, 4));
    assert_eq!(good(&page), ["62.0", "64.0"]);
}

#[test]
fn a_unit_that_nothing_says_has_to_be_chosen() {
    let app = app();
    stated(&app);
    let table = "panel,x_mm,y_mm,reading\nbonnet,100,200,63.2\nbonnet,110,200,2.5 mil";
    let page = looked(&app, &[("text", table)]);
    assert!(page.contains("<option value=\"\">choose</option>") && !page.contains("<option value=\"um\" selected"), "{page}");
    assert!(said_of(&page, 2).contains("nothing says the unit"), "{page}");
    assert_eq!(good(&page), ["2.5"]);
    let columns = [("panel", "0"), ("x_mm", "1"), ("y_mm", "2"), ("reading", "3"), ("text", table)];
    let page = looked(&app, &[&columns[..], &[("of", "um")]].concat());
    assert!(page.contains("<option value=\"um\" selected>"), "{page}");
    assert_eq!(good(&page), ["63.2", "2.5"]);
    let page = looked(&app, &[("text", "panel,x_mm,y_mm,value (mil)\nbonnet,100,200,2.5")]);
    assert!(page.contains("The heading of the readings says mil.") && !page.contains("id=\"of\""), "{page}");
    assert_eq!(good(&page), ["2.5"]);
}

#[test]
fn a_number_that_is_not_to_be_expected_is_asked_about_and_taken_only_when_ticked() {
    let app = app();
    stated(&app);
    let read = [("100", "63.2"), ("300", "64.1"), ("500", "63.7"), ("700", "64.6"), ("900", "63.9"), ("1100", "64.4")];
    let events: Vec<Value> = (20..).zip(read).map(|(n, (x, number))| event(n, reading(x, number))).collect();
    assert_eq!(app.send(&events).status, StatusCode::OK);
    let page = looked(
        &app,
        &[(
            "text",
            "panel,x_mm,y_mm,reading_um,layer\nbonnet,600,500,64.0,\nbonnet,600,600,640,\nbonnet,600,700,2.6,\nbonnet,600,800,31,undercoat",
        )],
    );
    assert!(page.contains("4 rows: 2 can be taken, 1 to be looked at, 1 can't"), "{page}");
    assert_eq!((good(&page), boxed(&page)), (vec!["64.0".to_owned(), "31".to_owned()], vec!["640".to_owned()]));
    assert!(page.contains("640 um? Expected here is ") && page.contains("Was it 64.0 um?"), "{page}");
    // What stands before the button is seen first.
    assert!(page.find("640 um?") < page.find("\u{2713}"), "{page}");
}

#[test]
fn what_the_record_holds_is_not_taken_twice_unless_somebody_says_so() {
    let app = app();
    stated(&app);
    let table = "panel,x_mm,y_mm,reading_um\nbonnet,100,200,63.2\nbonnet,100.0,200,63.20\nbonnet,100,200,63.2\nbonnet,300,200,64.0\nbonnet,100,200,63.3";
    // Alike within one file are repeats.
    let page = looked(&app, &[("text", table)]);
    assert!(page.contains("5 rows: 5 can be taken, 0 can't") && boxed(&page).is_empty(), "{page}");
    let struck = json!({ "kind": "struck-out", "event": id(22).to_string(), "why": "wrong panel" });
    let events =
        [event(20, reading("100", "63.2")), event(21, reading("100", "63.2")), event(22, reading("300", "64.0")), event(23, struck)];
    assert_eq!(app.send(&events).status, StatusCode::OK);
    let page = looked(&app, &[("text", table)]);
    assert!(page.contains("5 rows: 3 can be taken, 2 already in the record, 0 can't"), "{page}");
    assert_eq!(boxed(&page), ["63.2", "63.20"]);
    assert_eq!(good(&page), ["63.2", "64.0", "63.3"]);
    // Another layer or another unit is another reading.
    let page = looked(&app, &[("text", "panel,x_mm,y_mm,reading,layer\nbonnet,100,200,63.2 um,topcoat\nbonnet,100,200,0.0632 mm,")]);
    assert!(page.contains("2 rows: 2 can be taken, 0 can't"), "{page}");
}
