//! Pages of a job, and what begins one.

use axum::http::StatusCode;
use serde_json::{Value, json};

use crate::{app, attributes, event, id, stated};

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

#[test]
fn all_that_happened_can_be_paged_through() {
    let app = app();
    let noted = |n: u64| event(n, json!({ "kind": "noted", "text": format!("note {n}") }));
    for part in [2..=200_u64, 201..=251] {
        assert_eq!(app.send(&part.map(noted).collect::<Vec<_>>()).status, StatusCode::OK);
    }
    let path = format!("/jobs/{}/history", id(0));
    // Each page: its first number from above, its last event but one, and where the ways lead.
    let mut at = path.clone();
    for (start, last, earlier, later) in [(250, 152, Some(151), None), (150, 52, Some(51), Some("")), (50, 2, None, Some("?before=151"))] {
        let page = app.get(&at).text;
        assert!(page.contains(&format!("start=\"{start}\"")) && page.contains(&format!("text note {last}<")), "{at}: {page}");
        assert!(
            !page.contains(&format!("text note {}<", start + 2)) && !page.contains(&format!("text note {}<", last - 1)),
            "{at}: {page}"
        );
        let href = |id: &str| page.split(&format!("id=\"{id}\" href=\"")).nth(1).map(|rest| rest.split('"').next().unwrap().to_owned());
        assert_eq!(href("later"), later.map(|query| format!("{path}{query}")), "{at}");
        assert_eq!(href("earlier"), earlier.map(|before| format!("{path}?before={before}")), "{at}");
        at = href("earlier").unwrap_or_default();
    }
    // It is brought up to date with what it is a page of.
    assert!(app.get(&format!("{path}?before=51")).text.contains("id=\"history\" data-live"));
    for (query, status) in [("?before=0", 200), ("?before=99999", 200), ("?before=x", 404), ("?before=-1", 404)] {
        assert_eq!(app.get(&format!("{path}{query}")).status.as_u16(), status, "{query}");
    }
}

#[test]
fn a_short_record_is_one_page() {
    let app = app();
    stated(&app);
    let page = app.get(&format!("/jobs/{}/history", id(0))).text;
    assert!(!page.contains("Earlier") && !page.contains("Later"), "{page}");
}

#[test]
fn risk_and_goal_are_chosen_by_somebody() {
    let app = app();
    stated(&app);
    let path = format!("/jobs/{}/terms", id(0));
    let page = app.get(&path).text;
    assert!(
        page.contains("name=\"risk\" value=\"0.02\" required") && page.contains("name=\"correction\" value=\"0.85\" required"),
        "{page}"
    );
    assert!(!page.contains(" checked"), "{page}");
    let terms =
        json!({ "kind": "terms-agreed", "floor": { "number": "18", "unit": "um" }, "risk": "0.03", "correction": "0.72", "hours": "12" });
    app.send(&[event(20, terms)]);
    let page = app.get(&path).text;
    for said in [
        "name=\"risk\" value=\"0.03\" checked",
        "<strong>1 in 33</strong>",
        "name=\"correction\" value=\"0.72\" checked",
        "<strong>72 %</strong>",
    ] {
        assert!(page.contains(said), "{said}: {page}");
    }
    assert_eq!(page.matches(" checked").count(), 2);
}

#[test]
fn a_sound_is_not_kept_as_a_photograph() {
    let app = app();
    let kept = |kind: &[u8]| app.post("/photographs", [b"RIFF\x10\0\0\0".as_slice(), kind, &[0; 12]].concat(), &[]).status;
    assert_eq!((kept(b"WAVE"), kept(b"WEBP")), (StatusCode::UNPROCESSABLE_ENTITY, StatusCode::OK));
}

#[test]
fn one_of_a_thing_is_not_told_as_many() {
    let app = app();
    let one_and_more = |page: &str| {
        let text = page.replace("&#39;", "'");
        let words = text.split(|c: char| !c.is_alphanumeric() && c != '.' && c != '-').filter(|word| !word.is_empty()).collect::<Vec<_>>();
        let many = ["panels", "readings", "sections", "sets", "events", "rows", "days", "hours", "minutes", "looks", "times"];
        words.windows(2).filter(|two| two[0] == "1" && many.contains(&two[1])).map(|two| two.join(" ")).collect::<Vec<_>>()
    };
    let path = |end: &str| format!("/jobs/{}{end}", id(0));
    let seen = |paths: &[String]| {
        for path in paths {
            let page = app.get(path);
            assert_eq!(page.status, StatusCode::OK, "{path}");
            assert_eq!(one_and_more(&page.text), Vec::<String>::new(), "{path}");
        }
    };
    app.send(&[event(2, json!({ "kind": "vehicle-stated", "title": "Sage roadster" }))]);
    seen(&[path("/handover")]);
    let reading =
        json!({ "kind": "reading-taken", "panel": "bonnet", "x_mm": "1", "y_mm": "1", "value": { "number": "120", "unit": "um" } });
    app.send(&[
        event(3, json!({ "kind": "panel-stated", "name": "bonnet", "width_mm": "400", "height_mm": "400" })),
        event(4, reading),
        event(6, json!({ "kind": "gauge-stated", "accuracy": { "fixed_um": "1", "percent": "1" }, "repeatability_um": "0.8" })),
        event(
            7,
            json!({ "kind": "process-stated", "name": "finish", "removal_um": { "mean": "0.5", "sd": "0.2" }, "minutes_per_m2": "20" }),
        ),
        event(
            5,
            json!({ "kind": "terms-agreed", "floor": { "number": "18", "unit": "um" }, "risk": "0.02", "correction": "0.6", "hours": "1" }),
        ),
    ]);
    assert!(app.get("/").text.contains("1 panel, 1 reading<") && app.get(&path("")).text.contains("in 1 hour."));
    seen(&[
        "/".to_owned(),
        path(""),
        path("/terms"),
        path("/handover"),
        path("/survey"),
        path("/survey/bonnet"),
        path("/plan"),
        path("/plan/bonnet"),
        path("/handover/bonnet"),
        path("/history"),
    ]);
    let csv = app.post(
        &path("/readings"),
        "text=panel,x_mm,y_mm,reading,unit%0Abonnet,9,9,121,um",
        &[("content-type", "application/x-www-form-urlencoded")],
    );
    assert!(csv.text.contains("1 row: 1 can be taken"), "{}", csv.text);
}
