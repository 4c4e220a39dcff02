//! The app as a browser or a device meets it, without a network between.

#![allow(clippy::unwrap_used, reason = "a test may stop")]

#[path = "app/access.rs"]
mod access;
#[path = "app/csv.rs"]
mod csv;
#[path = "app/keeping.rs"]
mod keeping;
#[path = "app/lan.rs"]
mod lan;
#[path = "app/offline.rs"]
mod offline;
#[path = "app/pages.rs"]
mod pages;
#[path = "app/parallel.rs"]
mod parallel;
#[path = "app/plan.rs"]
mod plan;
#[path = "app/restate.rs"]
mod restate;
#[path = "app/spots.rs"]
mod spots;

use std::sync::Arc;

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode};
use lastmicron_job::event::Id;
use lastmicron_store::Sqlite;
use lastmicron_web::{Shop, Signs, router};
use serde_json::{Value, json};
use tempfile::TempDir;
use tower::ServiceExt as _;

const NOON: &str = "2024-05-01T12:00:00Z";

struct App {
    router: Router,
    folder: TempDir,
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
    App { router: router(Shop::new(store, || NOON.parse().unwrap())), folder }
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

    /// Status and kind of what need not be text.
    fn ask_bytes(&self, path: &str) -> (StatusCode, String) {
        let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
        let request = Request::get(path).header("host", "localhost").body(Body::empty()).unwrap();
        let response = runtime.block_on(self.router.clone().oneshot(request)).unwrap();
        (response.status(), response.headers()["content-type"].to_str().unwrap().to_owned())
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

/// What attributes of this name say, in the order of the page.
fn attributes(page: &str, name: &str) -> Vec<String> {
    let before = format!(" {name}=\"");
    let texts = page.split(&before).skip(1).map(|part| part.split('"').next().unwrap());
    texts.map(|text| text.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")).collect()
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
    let page =
        app.ask(Request::get("/").header("host", "localhost:8086").header("cookie", cookies.join("; ")).body(Body::empty()).unwrap());
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

fn stated(app: &App) {
    let gauge = json!({ "kind": "gauge-stated", "accuracy": { "fixed_um": "1", "percent": "1" }, "repeatability_um": "0.8" });
    let panel = json!({ "kind": "panel-stated", "name": "bonnet", "width_mm": "1400", "height_mm": "1150", "substrate": "steel" });
    assert_eq!(app.send(&[vehicle(2, "Sage roadster"), event(3, panel), event(4, gauge)]).status, StatusCode::OK);
}

#[test]
fn readings_from_a_file_are_looked_at_row_by_row_and_none_is_taken_by_looking() {
    let app = app();
    stated(&app);
    let path = format!("/jobs/{}/readings", id(0));
    assert_eq!(app.get(&path).status, StatusCode::OK);
    let table = "panel,x_mm,y_mm,reading,unit\nbonnet,100,200,63.2,um\nbonnet,9000,200,63.2,um\nroof,1,1,63.2,um\nbonnet,1,1,<b>,um";
    let body = format!("text={}", table.replace('\n', "%0A").replace('<', "%3C").replace('>', "%3E"));
    let looked = app.post(&path, body, &[("content-type", "application/x-www-form-urlencoded")]);
    assert_eq!(looked.status, StatusCode::OK);
    for said in [
        "4 rows: 1 can be taken, 3 can't",
        "is not on &#39;bonnet&#39;",
        "&#39;roof&#39; is not a panel known in this job",
        "&lt;b&gt;",
        "data-bodies",
    ] {
        assert!(looked.text.contains(said) || looked.text.contains(&said.replace("&#39;", "'")), "{said}: {}", looked.text);
    }
    assert!(!looked.text.contains("<b>"));
    assert!(app.get(&format!("/jobs/{}/survey/bonnet", id(0))).text.contains("Read here: 0"));
    assert_eq!(app.post(&path, "text=", &[]).status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(app.post(&path, vec![b'x'; (1 << 20) + 1], &[]).status, StatusCode::PAYLOAD_TOO_LARGE);
}

#[test]
fn a_number_is_asked_about_where_it_is_not_to_be_expected() {
    let app = app();
    stated(&app);
    let ask = |number: &str| {
        let about = json!({ "number": number, "unit": "um", "x_mm": 100.0, "y_mm": 100.0 });
        app.post(&format!("/jobs/{}/survey/bonnet/question", id(0)), about.to_string(), &[]).json()
    };
    assert_eq!(ask("66.0"), json!({ "taken": { "number": "66.0", "unit": "um" } }));
    assert!(ask("2.6")["question"].as_str().unwrap().starts_with("2.6 um?"));
    // A comma is never guessed to be a point.
    assert_eq!(ask("66,1")["meant"], json!([{ "number": "66.1", "unit": "um" }]));
    assert!(ask("abc")["question"].as_str().unwrap().starts_with("abc:"));
    let about = json!({ "number": "66.0", "unit": "um", "x_mm": 100.0, "y_mm": 100.0 }).to_string();
    assert_eq!(app.post(&format!("/jobs/{}/survey/x/question", id(0)), about, &[]).status, StatusCode::NOT_FOUND);
}

#[test]
fn a_photograph_is_kept_and_shown_with_its_job_only() {
    let app = app();
    stated(&app);
    let picture: Vec<u8> = [b"\x89PNG\r\n\x1a\n".as_slice(), &[0; 20]].concat();
    let kept = app.post("/photographs", picture, &[]).json()["photograph"].as_str().unwrap().to_owned();
    let path = format!("/jobs/{}/photographs/{kept}", id(0));
    assert_eq!(app.get(&path).status, StatusCode::NOT_FOUND);
    app.send(&[event(9, json!({ "kind": "photograph-attached", "photograph": kept, "panel": "bonnet" }))]);
    let shown = app.ask_bytes(&path);
    assert_eq!(shown, (StatusCode::OK, "image/png".to_owned()));
    assert!(app.get(&format!("/jobs/{}/handover", id(0))).text.contains(&kept));
    assert_eq!(app.post("/photographs", "<svg onload=alert(1)>", &[]).status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[test]
fn a_record_is_taken_out_and_brought_into_another_shop() {
    let (here, there) = (app(), app());
    stated(&here);
    let record = here.get(&format!("/jobs/{}/record", id(0)));
    assert!(record.header("content-disposition").starts_with("attachment"));
    let brought = there.post("/records", record.text.clone(), &[]).json();
    assert_eq!(brought, json!({ "job": id(0).to_string(), "events": 3, "new": 3, "refused": 0, "left_out": 0, "same": true }));
    assert_eq!(there.get(&format!("/jobs/{}/record", id(0))).text, record.text);
    assert_eq!(there.post("/records", record.text.replace("Sage", "Rust"), &[]).status, StatusCode::UNPROCESSABLE_ENTITY);
    // Without what makes documents there are none.
    assert_eq!(here.get(&format!("/jobs/{}/handover.pdf", id(0))).status, StatusCode::NOT_FOUND);
    assert!(here.get(&format!("/jobs/{}/handover", id(0))).text.contains("No documents are made by this program"));
}

#[test]
fn a_sheet_that_names_somebody_is_kept_apart_from_the_record() {
    let app = app();
    let sheet = app.post("/sheets", json!({ "salt": "0123456789abcdef", "name": "A. Owner" }).to_string(), &[]).json()["sheet"]
        .as_str()
        .unwrap()
        .to_owned();
    app.send(&[event(2, json!({ "kind": "vehicle-stated", "title": "Sage roadster", "owner": sheet }))]);
    assert!(app.get(&format!("/jobs/{}/vehicle", id(0))).text.contains("A. Owner"));
    let record = app.get(&format!("/jobs/{}/history", id(0))).text;
    assert!(!record.contains("A. Owner") && record.contains(&sheet));
    assert!(app.get(&format!("/jobs/{}/vehicle", id(0))).text.contains("Leave this empty to keep it so"));
    assert_eq!(app.post("/sheets", "{}", &[]).status, StatusCode::UNPROCESSABLE_ENTITY);
    // The same name has another hash with another salt, and none without one that can't be guessed.
    let with = |salt: &str| app.post("/sheets", json!({ "salt": salt, "name": "A. Owner" }).to_string(), &[]);
    assert_ne!(with("fedcba9876543210").json()["sheet"], json!(sheet));
    assert_eq!(["", "0123456789abcde"].map(|salt| with(salt).status), [StatusCode::UNPROCESSABLE_ENTITY; 2]);
    assert_eq!(app.post("/sheets", "x".repeat(5000), &[]).status, StatusCode::PAYLOAD_TOO_LARGE);
    // Erased, it is not taken for a sheet that nobody made.
    std::fs::remove_file(app.folder.path().join("kept").join(&sheet[..2]).join(&sheet)).unwrap();
    let vehicle = app.get(&format!("/jobs/{}/vehicle", id(0))).text;
    assert!(vehicle.contains("Now: erased.") && !vehicle.contains("A. Owner"));
}

/// Remembers who went home.
#[derive(Default)]
struct Remembers(std::sync::Mutex<Vec<Id>>);

impl Signs for Remembers {
    fn gone_home(&self, job: Id) {
        self.0.lock().unwrap().push(job);
    }

    fn trouble(&self) -> Option<String> {
        Some("the disk is full".to_owned())
    }
}

#[test]
fn what_signs_is_told_of_a_vehicle_that_has_gone_home_and_its_trouble_is_told_on_the_first_page() {
    let folder = tempfile::tempdir().unwrap();
    let (store, signs) = (Arc::new(Sqlite::open(folder.path()).unwrap()), Arc::new(Remembers::default()));
    let shop = Shop::new(store, || NOON.parse().unwrap()).with_signs(Arc::clone(&signs) as Arc<dyn Signs>);
    let app = App { router: router(shop), folder };
    stated(&app);
    app.send(&[event(20, json!({ "kind": "status-changed", "status": "on-the-floor" }))]);
    assert_eq!(*signs.0.lock().unwrap(), []);
    app.send(&[event(21, json!({ "kind": "status-changed", "status": "gone-home" }))]);
    assert_eq!(*signs.0.lock().unwrap(), [id(0)]);
    assert!(app.get("/").text.contains("A record that was to be signed was not: the disk is full."));
}

#[test]
fn a_clock_that_is_a_day_wrong_is_recorded_as_it_said_beside_the_time_here() {
    let app = app();
    let mut late = vehicle(2, "Sage roadster");
    late["when"] = json!("2024-05-02T14:00:00+02:00");
    assert_eq!(app.send(&[late]).json()[0]["receipt"]["received"], NOON);
    assert!(app.get(&format!("/jobs/{}/history", id(0))).text.contains("2024-05-02 14:00"));
}
