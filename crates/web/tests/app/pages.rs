//! Pages of a job, and what begins one.

use axum::http::StatusCode;
use serde_json::Value;

use crate::{app, attributes};

/// Sizes of the panels that a new job would state: width and height, mm.
fn outlines(page: &str) -> Vec<Value> {
    let bodies = attributes(page, "data-body").into_iter().map(|text| serde_json::from_str::<Value>(&text).unwrap());
    bodies.filter(|body| body["kind"] == "panel-stated").map(|body| body["outline_mm"].clone()).collect()
}

#[test]
fn a_body_that_measures_otherwise_is_drawn_so() {
    let app = app();
    let usual = app.get("/new/saloon");
    assert!(usual.text.contains("Drawn 4650 by 1780 by 1440 mm"), "{}", usual.text);
    let long = app.get("/new/saloon?length_mm=4800&width_mm=&wheelbase_mm=2850");
    assert_eq!(long.status, StatusCode::OK);
    assert!(long.text.contains("Drawn 4800 by 1780 by 1440 mm") && long.text.contains("value=\"2850\""), "{}", long.text);
    assert_eq!(outlines(&usual.text).len(), outlines(&long.text).len());
    assert_ne!(outlines(&usual.text), outlines(&long.text));
    assert!(!app.get("/new/custom").text.contains("It measures otherwise"));
}

#[test]
fn sizes_that_make_no_body_are_told_and_begin_no_job() {
    let app = app();
    for (query, said) in [
        ("length_mm=long", "The overall length: 'long' is not a number"),
        ("length_mm=9000", "The overall length is 9000 mm: a saloon has 3955 to 5350 mm."),
        ("length_mm=4000&wheelbase_mm=3100", "these dimensions"),
    ] {
        let answer = app.get(&format!("/new/saloon?{query}"));
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{query}");
        assert!(answer.text.to_lowercase().contains(&said.to_lowercase()), "{said}: {}", answer.text);
        assert!(answer.text.contains("<details id=\"measured\" open") && !answer.text.contains("The vehicle is here"), "{}", answer.text);
    }
}
