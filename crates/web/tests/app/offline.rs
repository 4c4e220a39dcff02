//! What a device needs to go on without the network, and what it sends afterwards.

use axum::body::Body;
use axum::http::{Request, StatusCode};
use lastmicron_record::sha256;
use serde_json::{Value, json};

use crate::{Answer, App, app, event, id, vehicle};

/// Bytes that are sent at once, at most.
const PART: usize = 256 * 1024;

/// A photograph of three parts and a bit, as far as anybody looks.
fn photograph() -> Vec<u8> {
    let start = b"\xff\xd8\xff\xe0".to_vec();
    start.into_iter().chain((0..3 * PART + 1000).map(|i| u8::try_from(i % 253).unwrap())).collect()
}

fn put(app: &App, digest: &str, at: usize, of: usize, bytes: &[u8]) -> Answer {
    let path = format!("/photographs/{digest}?at={at}&of={of}&job={}", id(0));
    app.ask(Request::put(path).header("host", "localhost").body(Body::from(bytes.to_vec())).unwrap())
}

fn there(app: &App, digest: &str) -> Value {
    app.get(&format!("/photographs/{digest}")).json()
}

#[test]
fn wherever_the_line_of_a_photograph_is_cut_it_goes_on_from_there() {
    let whole = photograph();
    let digest = sha256(&whole).to_string();
    let starts: Vec<usize> = (0..whole.len()).step_by(PART).collect();
    for cut in 0..=starts.len() {
        let app = app();
        let send = |at: usize| put(&app, &digest, at, whole.len(), &whole[at..whole.len().min(at + PART)]);
        for at in &starts[..cut] {
            assert_eq!(send(*at).status, StatusCode::OK);
        }
        // The answer to the last of them was lost: it is sent again, and refused with what is there.
        if cut > 0 && cut < starts.len() {
            let again = send(starts[cut - 1]);
            assert_eq!((again.status, &again.json()["there"]), (StatusCode::CONFLICT, &json!(cut * PART)));
        }
        let mut known = there(&app, &digest);
        assert_eq!(known["whole"], cut == starts.len());
        while known["whole"] == false {
            known = send(usize::try_from(known["there"].as_u64().unwrap()).unwrap()).json();
        }
        app.send(&[vehicle(2, "Sage roadster"), event(3, json!({ "kind": "photograph-attached", "photograph": digest }))]);
        let path = format!("/jobs/{}/photographs/{digest}", id(0));
        assert_eq!(app.ask_bytes(&path), (StatusCode::OK, "image/jpeg".to_owned()));
    }
}

#[test]
fn a_photograph_that_is_another_or_none_or_too_large_is_not_kept() {
    let app = app();
    let whole = photograph();
    let other = sha256(b"another").to_string();
    let part = &whole[..1000];
    let wrong = put(&app, &other, 0, 1000, part);
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.json()["detail"].as_str().unwrap().contains("not those of this photograph"), "{}", wrong.text);
    assert_eq!(there(&app, &other), json!({ "photograph": other, "whole": false, "there": 0 }));
    let page = b"<html>Say who you are</html>";
    for (at, of, bytes, status) in [
        (0, page.len(), &page[..], 422),
        (0, 33 * 1024 * 1024, part, 422),
        (0, 999, part, 422),
        (0, whole.len(), &whole[..=PART], 413),
        (500, 1500, part, 409),
    ] {
        assert_eq!(put(&app, &other, at, of, bytes).status.as_u16(), status, "{at} of {of}");
    }
    assert_eq!(there(&app, &other)["there"], 0);
    assert_eq!(put(&app, "nothing", 0, 1000, part).status, StatusCode::NOT_FOUND);
}

#[test]
fn what_a_device_saved_is_brought_in_and_what_is_there_already_is_left() {
    let app = app();
    app.send(&[vehicle(2, "Sage roadster")]);
    let noted = |n: u64, text: &str| event(n, json!({ "kind": "noted", "text": text }));
    let file = Value::from(vec![vehicle(2, "Sage roadster"), noted(3, "dries with marks"), noted(4, "soft")]).to_string();
    let brought = app.post("/records", file.clone(), &[]).json();
    assert_eq!(brought, json!({ "job": id(0).to_string(), "events": 3, "refused": 0, "same": false }));
    assert_eq!(app.post("/records", file, &[]).json()["events"], 3);
    let history = app.get(&format!("/jobs/{}/history", id(0))).text;
    assert_eq!(history.matches("dries with marks").count(), 1);
    let broken = app.post("/records", "[{\"id\": 1}]", &[]);
    assert_eq!(broken.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(broken.json()["detail"].as_str().unwrap().starts_with("event 1: "), "{}", broken.text);
}

#[test]
fn a_device_is_told_all_that_it_takes_along_and_each_of_it_is_there() {
    let app = app();
    let worker = app.get("/worker.js");
    assert_eq!((worker.header("cache-control"), worker.header("content-type")), ("no-cache", "text/javascript; charset=utf-8"));
    let listed = |name: &str| -> Vec<String> {
        let line = worker.text.lines().find_map(|line| line.strip_prefix(&format!("const {name} = "))).unwrap();
        serde_json::from_str(line.trim_end_matches(';')).unwrap()
    };
    let (files, pages) = (listed("ASSETS"), listed("PAGES"));
    assert_eq!(pages, ["/", "/waiting"]);
    for path in &files {
        assert_eq!(app.ask_bytes(path).0, StatusCode::OK, "{path}");
    }
    // A script that imports another, or a page that names one, names one that is taken along.
    let texts = files.iter().filter(|path| path.ends_with(".js")).chain(&pages).map(|path| app.get(path).text);
    for text in texts {
        for named in text.split('"').filter(|part| part.starts_with("/assets/")) {
            assert!(files.iter().any(|path| path == named), "{named}");
        }
    }
    let manifest = app.get("/manifest.webmanifest");
    assert_eq!(manifest.header("content-type"), "application/manifest+json");
    for icon in manifest.json()["icons"].as_array().unwrap() {
        let (status, kind) = app.ask_bytes(icon["src"].as_str().unwrap());
        assert_eq!((status, kind.as_str()), (StatusCode::OK, icon["type"].as_str().unwrap()));
    }
}

#[test]
fn whatever_the_app_answers_says_that_it_is_the_app() {
    let app = app();
    for path in ["/", "/nowhere", "/worker.js", "/manifest.webmanifest", "/waiting"] {
        assert_eq!(app.get(path).header("x-lastmicron"), "app", "{path}");
    }
    let policy = app.get("/waiting").header("content-security-policy").to_owned();
    assert!(policy.contains("worker-src 'self'; manifest-src 'self'"), "{policy}");
}
