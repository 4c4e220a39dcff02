//! The app as a browser or a device meets it, without a network between.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

use std::sync::Arc;

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode};
use lastmicron_job::event::Id;
use lastmicron_store::Sqlite;
use lastmicron_web::{Shop, router};
use serde_json::{Value, json};
use tempfile::TempDir;
use tower::ServiceExt as _;

const NOON: &str = "2024-05-01T12:00:00Z";

struct App {
    router: Router,
    _folder: TempDir,
}

struct Answer {
    status: StatusCode,
    headers: HeaderMap,
    text: String,
}

impl Answer {
    fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap()
    }

    fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |value| value.to_str().unwrap())
    }
}

fn app() -> App {
    let folder = tempfile::tempdir().unwrap();
    let store = Arc::new(Sqlite::open(folder.path()).unwrap());
    App { router: router(Shop::new(store, || NOON.parse().unwrap())), _folder: folder }
}

impl App {
    fn ask(&self, request: Request<Body>) -> Answer {
        let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
        runtime.block_on(async {
            let response = self.router.clone().oneshot(request).await.unwrap();
            let (status, headers) = (response.status(), response.headers().clone());
            let bytes = to_bytes(response.into_body(), usize::MAX).await.unwrap();
            Answer { status, headers, text: String::from_utf8(bytes.to_vec()).unwrap() }
        })
    }

    fn get(&self, path: &str) -> Answer {
        self.ask(Request::get(path).header("host", "localhost:8086").body(Body::empty()).unwrap())
    }

    fn post(&self, path: &str, body: impl Into<Body>, more: &[(&str, &str)]) -> Answer {
        let request =
            more.iter().fold(Request::post(path).header("host", "localhost:8086"), |request, (name, value)| request.header(*name, *value));
        self.ask(request.body(body.into()).unwrap())
    }

    fn send(&self, events: &[Value]) -> Answer {
        self.post(&format!("/jobs/{}/events", id(0)), Value::from(events).to_string(), &[])
    }
}

fn id(n: u64) -> Id {
    Id::made_at(1_714_550_000_000 + n, [7; 10])
}

fn event(n: u64, body: Value) -> Value {
    json!({ "id": id(n).to_string(), "job": id(0).to_string(), "when": "2024-05-01T09:30:00+02:00", "device": id(1).to_string(), "who": "J.", "body": body })
}

fn vehicle(n: u64, title: &str) -> Value {
    event(n, json!({ "kind": "vehicle-stated", "title": title, "substrate": "steel" }))
}

#[test]
fn an_empty_shop_says_what_a_job_is() {
    let answer = app().get("/");
    assert_eq!(answer.status, StatusCode::OK);
    assert!(answer.text.contains("No job is here yet"));
}

#[test]
fn what_was_sent_is_on_the_pages() {
    let app = app();
    let panel = event(3, json!({ "kind": "panel-stated", "name": "bonnet", "width_mm": "1400", "height_mm": "1150" }));
    let sent = app.send(&[vehicle(2, "Sage roadster"), panel]);
    assert_eq!(sent.status, StatusCode::OK);
    let receipts = sent.json();
    assert_eq!(receipts[1]["receipt"]["seq"], 2);
    assert_eq!(receipts[1]["receipt"]["received"], NOON);
    assert!(app.get("/").text.contains("Sage roadster"));
    let page = app.get(&format!("/jobs/{}", id(0)));
    assert!(page.text.contains("bonnet"));
    let history = app.get(&format!("/jobs/{}/history", id(0))).text;
    assert!(history.contains("panel stated: name bonnet, width 1400, height 1150") && history.contains(">2024-05-01 09:30<"));
    // What comes later is seen too, and what is struck out is said to be.
    app.send(&[event(4, json!({ "kind": "struck-out", "event": id(3).to_string(), "why": "twice" }))]);
    let history = app.get(&format!("/jobs/{}/history", id(0))).text;
    assert!(history.contains("<s>panel stated: name bonnet, width 1400, height 1150</s> (struck out by J.: twice)"), "{history}");
}

#[test]
fn an_event_is_taken_once_however_often_it_is_sent() {
    let app = app();
    let first = app.send(&[vehicle(2, "Sage roadster")]);
    let again = app.send(&[vehicle(2, "Sage roadster"), vehicle(5, "Sage roadster, again")]);
    assert_eq!(first.json()[0], again.json()[0]);
    assert_eq!(again.json()[1]["receipt"]["seq"], 2);
    let other = app.send(&[vehicle(2, "Another"), vehicle(6, "Third")]);
    assert_eq!(other.status, StatusCode::CONFLICT);
    assert!(other.json()[0]["refused"].as_str().unwrap().contains("another event has the id"));
    assert_eq!(other.json()[1]["receipt"]["seq"], 3);
}

#[test]
fn script_in_a_name_stays_text() {
    let app = app();
    app.send(&[vehicle(2, "<script>alert(1)</script>\"'&")]);
    for path in ["/".to_owned(), format!("/jobs/{}", id(0)), format!("/jobs/{}/vehicle", id(0)), format!("/jobs/{}/history", id(0))] {
        let page = app.get(&path).text;
        assert!(!page.contains("<script>") && page.contains("&lt;script&gt;alert(1)"), "{page}");
    }
}

#[test]
fn what_could_not_be_used_is_told_first_to_whoever_is_there() {
    let app = app();
    let floor = |number: &str| json!({ "kind": "terms-agreed", "floor": { "number": number, "unit": "um" }, "risk": "0.02", "correction": "0.85", "hours": "12" });
    let path = format!("/jobs/{}/events", id(0));
    let first = app.post(&format!("{path}?told=first"), Value::from(vec![event(2, floor("0.8"))]).to_string(), &[]);
    assert_eq!(first.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(first.json()["detail"].as_str().unwrap().contains("floor: 0.8 makes no sense here"), "{}", first.text);
    assert!(app.get("/").text.contains("No job is here yet"));
    assert_eq!(app.post(&format!("{path}?told=first"), Value::from(vec![event(2, floor("18"))]).to_string(), &[]).status, StatusCode::OK);
    // What waited on a device that was away has happened, and is recorded whatever becomes of it.
    assert_eq!(app.post(&path, Value::from(vec![event(3, floor("0.8"))]).to_string(), &[]).status, StatusCode::OK);
    assert!(app.get(&format!("/jobs/{}", id(0))).text.contains("floor: 0.8 makes no sense here"));
}

#[test]
fn a_device_remembers_who_holds_it_the_unit_and_the_theme() {
    let app = app();
    let told =
        app.post("/device", "who=J.%3Cb%3E&unit=mil&theme=dark&back=%2Fnew", &[("content-type", "application/x-www-form-urlencoded")]);
    assert_eq!((told.status, told.header("location")), (StatusCode::SEE_OTHER, "/new"));
    let cookies: Vec<&str> =
        told.headers.get_all("set-cookie").iter().map(|cookie| cookie.to_str().unwrap().split(';').next().unwrap()).collect();
    let page = app.ask(Request::get("/").header("host", "localhost").header("cookie", cookies.join("; ")).body(Body::empty()).unwrap());
    assert!(
        page.text.contains("data-theme=\"dark\"") && page.text.contains("data-who=\"J.&lt;b&gt;\"") && page.text.contains(">mil<"),
        "{}",
        page.text
    );
    let elsewhere =
        app.post("/device", "back=https%3A%2F%2Felsewhere.example%2F", &[("content-type", "application/x-www-form-urlencoded")]);
    assert_eq!(elsewhere.header("location"), "/");
}

#[test]
fn every_body_can_be_begun_with() {
    let app = app();
    let bodies = app.get("/new").text;
    for body in ["coupe", "saloon", "hatchback", "estate", "roadster", "off-roader", "pickup", "van", "motorcycle", "custom"] {
        assert!(bodies.contains(&format!("href=\"/new/{body}\"")), "{body}");
        assert_eq!(app.get(&format!("/new/{body}")).status, StatusCode::OK, "{body}");
    }
    assert_eq!(app.get("/new/boat").status, StatusCode::NOT_FOUND);
}

#[test]
fn what_can_not_be_taken_is_told_and_nothing_is_taken() {
    let app = app();
    let path = format!("/jobs/{}/events", id(0));
    let elsewhere = Value::from([vehicle(2, "a")].as_slice()).to_string();
    let many = Value::from(vec![vehicle(2, "a"); 201]).to_string();
    for (path, body, status, said) in [
        (path.as_str(), "{".to_owned(), 422, "not an array of events"),
        (&path, "[{}]".to_owned(), 422, "event 1: this is not an event"),
        (&path, many, 422, "at most 200"),
        (
            &path,
            Value::from(vec![vehicle(2, "a"), vehicle(3, &"x".repeat(1001))]).to_string(),
            422,
            "event 2: the text at /body/title has 1001 characters",
        ),
        (&path, format!("[{}]", " ".repeat(1 << 20)), 413, "more than 1048576 bytes"),
        (&path, Value::from(vec![vehicle(2, &"x".repeat(900_000))]).to_string(), 422, "event 1"),
        (&format!("/jobs/{}/events", id(9)), elsewhere, 422, "belongs to another job"),
        ("/jobs/nonsense/events", "[]".to_owned(), 404, "no such job"),
    ] {
        let answer = app.post(path, body, &[]);
        assert_eq!(answer.status.as_u16(), status, "{said}");
        assert_eq!(answer.header("content-type"), "application/problem+json");
        assert!(answer.json()["detail"].as_str().unwrap().contains(said), "{}", answer.text);
    }
    assert!(app.get("/").text.contains("No job is here yet"));
}

#[test]
fn what_is_not_there_has_a_way_back() {
    let app = app();
    for path in ["/nowhere", "/jobs/nonsense", &format!("/jobs/{}", id(8)), "/assets/style.css"] {
        let answer = app.get(path);
        assert_eq!(answer.status, StatusCode::NOT_FOUND, "{path}");
        assert!(answer.text.contains("href=\"/\""), "{path}");
    }
}

#[test]
fn every_answer_is_held_to_the_policy() {
    let app = app();
    let answers = [
        app.get("/"),
        app.get("/nowhere"),
        app.post(&format!("/jobs/{}/events", id(0)), "{", &[]),
        app.ask(Request::get("/").header("host", "elsewhere.example").body(Body::empty()).unwrap()),
    ];
    for answer in answers {
        assert!(answer.header("content-security-policy").starts_with("default-src 'none'; script-src 'self'"), "{}", answer.status);
        assert_eq!((answer.header("x-content-type-options"), answer.header("referrer-policy")), ("nosniff", "no-referrer"));
        assert!(!answer.text.contains("style=") && !answer.text.contains("<style") && answer.text.len() < 200_000);
    }
}

#[test]
fn what_comes_by_another_name_or_from_another_site_is_refused() {
    let app = app();
    let host = |host: &str| app.ask(Request::get("/").header("host", host).body(Body::empty()).unwrap()).status.as_u16();
    assert_eq!([host("localhost"), host("127.0.0.1:8086"), host("[::1]:8086")], [200; 3]);
    assert_eq!([host("elsewhere.example"), host("localhost.elsewhere.example:8086"), host("")], [421; 3]);
    let path = format!("/jobs/{}/events", id(0));
    let post = |more: &[(&str, &str)]| app.post(&path, "[]", more).status.as_u16();
    assert_eq!(post(&[]), 200);
    assert_eq!(post(&[("sec-fetch-site", "same-origin"), ("origin", "http://localhost:8086")]), 200);
    assert_eq!(post(&[("origin", "http://localhost:8086")]), 200);
    assert_eq!(post(&[("sec-fetch-site", "cross-site")]), 403);
    assert_eq!(post(&[("sec-fetch-site", "same-site")]), 403);
    assert_eq!(post(&[("origin", "http://elsewhere.example")]), 403);
    assert_eq!(post(&[("origin", "null")]), 403);
    // Looking from another site shows nothing that a link would not.
    assert_eq!(
        app.ask(Request::get("/").header("host", "localhost").header("sec-fetch-site", "cross-site").body(Body::empty()).unwrap()).status,
        StatusCode::OK
    );
}

#[test]
fn the_stylesheet_is_kept_under_its_hash() {
    let app = app();
    let page = app.get("/").text;
    let path = page.split("href=\"").find(|part| part.starts_with("/assets/style")).unwrap().split('"').next().unwrap().to_owned();
    let style = app.get(&path);
    assert_eq!((style.status, style.header("content-type")), (StatusCode::OK, "text/css; charset=utf-8"));
    assert_eq!(style.header("cache-control"), "public, max-age=31536000, immutable");
}
