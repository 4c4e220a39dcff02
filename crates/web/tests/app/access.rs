//! Who may: every route by everybody, codes, PINs, locks, links, and what a guess costs.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::ConnectInfo;
use axum::http::{HeaderMap, Method, Request, StatusCode};
use lastmicron_job::event::When;
use lastmicron_store::{People as _, Sqlite, restore};
use lastmicron_web::{Arrived, Reach, Shop, Way, router_for};
use serde_json::{Value, json};
use tempfile::TempDir;
use tower::ServiceExt as _;

use crate::{app, attributes, event, id, plan, vehicle};

const FORM: (&str, &str) = ("content-type", "application/x-www-form-urlencoded");
const OWNERS_PIN: &str = "402817";
const HELPERS_PIN: &str = "739164";

/// A workshop with a clock that is moved by hand.
struct Workshop {
    router: Router,
    way: Way,
    clock_s: Arc<AtomicI64>,
    code: String,
    store: Arc<Sqlite>,
    folder: TempDir,
}

struct Told {
    status: StatusCode,
    headers: HeaderMap,
    text: String,
}

impl Told {
    fn header(&self, name: &str) -> &str {
        self.headers.get(name).map_or("", |value| value.to_str().unwrap())
    }

    fn detail(&self) -> String {
        serde_json::from_str::<Value>(&self.text).unwrap()["detail"].as_str().unwrap().to_owned()
    }

    /// What a browser sends back of a cookie that was set.
    fn cookie(&self) -> String {
        self.header("set-cookie").split(';').next().unwrap().to_owned()
    }
}

/// The time so many seconds after the first of May, for a month.
fn may(seconds: i64) -> When {
    let (day, rest) = (1 + seconds / 86_400, seconds % 86_400);
    format!("2024-05-{day:02}T{:02}:{:02}:{:02}Z", rest / 3600, rest / 60 % 60, rest % 60).parse().unwrap()
}

/// Asked from the machine itself.
fn workshop() -> Workshop {
    workshop_for(Reach::default(), Way::Loopback)
}

fn workshop_for(reach: Reach, way: Way) -> Workshop {
    workshop_in(tempfile::tempdir().unwrap(), reach, way, 1)
}

/// Over records in a folder; by the seed its chance is another one.
fn workshop_in(folder: TempDir, reach: Reach, way: Way, seed: u64) -> Workshop {
    let store = Arc::new(Sqlite::open(folder.path()).unwrap());
    let clock_s = Arc::new(AtomicI64::new(0));
    let clock = Arc::clone(&clock_s);
    // Numbers that are other ones each time, and the same in each test: splitmix64.
    let state = AtomicU64::new(seed);
    let random = move || {
        let mut bytes = [0; 32];
        for eight in bytes.chunks_mut(8) {
            let mut z = state.fetch_add(0x9e37_79b9_7f4a_7c15, Ordering::Relaxed);
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            eight.copy_from_slice(&(z ^ (z >> 31)).to_be_bytes());
        }
        Some(bytes)
    };
    let shop = Shop::new(Arc::<Sqlite>::clone(&store), move || may(clock.load(Ordering::Relaxed)))
        .with_people(Arc::<Sqlite>::clone(&store), random);
    let code = shop.first_code().unwrap().unwrap_or_default();
    Workshop { router: router_for(Arc::new(shop), reach), way, clock_s, code, store, folder }
}

impl Workshop {
    fn ask_from(&self, peer: &str, method: Method, path: &str, with: &[(&str, &str)], body: impl Into<Body>) -> Told {
        let host = if with.iter().any(|(name, _)| *name == "host") {
            None
        } else {
            Some(("host", if self.way == Way::Loopback { "localhost:8086" } else { "bay.local:8086" }))
        };
        let request = with
            .iter()
            .copied()
            .chain(host)
            .fold(Request::builder().method(method).uri(path), |request, (name, value)| request.header(name, value));
        let mut request = request.body(body.into()).unwrap();
        let from = Some(format!("{peer}:5000").parse().unwrap());
        request.extensions_mut().insert(ConnectInfo(Arrived { way: self.way, from }));
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build().unwrap();
        runtime.block_on(async {
            let response = self.router.clone().oneshot(request).await.unwrap();
            let (status, headers) = (response.status(), response.headers().clone());
            // A line that says what changes has no end.
            let is_line = headers.get("content-type").is_some_and(|kind| kind == "text/event-stream");
            let bytes = if is_line { Vec::new() } else { to_bytes(response.into_body(), usize::MAX).await.unwrap().to_vec() };
            Told { status, headers, text: String::from_utf8_lossy(&bytes).into_owned() }
        })
    }

    fn ask(&self, method: Method, path: &str, with: &[(&str, &str)], body: impl Into<Body>) -> Told {
        self.ask_from("192.0.2.1", method, path, with, body)
    }

    fn get(&self, path: &str, cookie: &str) -> Told {
        self.ask(Method::GET, path, &[("cookie", cookie)], "")
    }

    fn post(&self, path: &str, cookie: &str, form: &str) -> Told {
        self.ask(Method::POST, path, &[("cookie", cookie), FORM], form.to_owned())
    }

    fn send(&self, cookie: &str, query: &str, events: &[Value]) -> Told {
        self.ask(Method::POST, &format!("/jobs/{}/events{query}", id(0)), &[("cookie", cookie)], Value::from(events).to_string())
    }

    fn passes(&self, seconds: i64) {
        self.clock_s.fetch_add(seconds, Ordering::Relaxed);
    }

    /// Makes the first owner, M., and gives the cookie of their device.
    fn claimed(&self) -> String {
        let claimed = self.post("/enter", "", &format!("code={}&name=M.&secret={OWNERS_PIN}&device=bay+tablet&shared=yes", self.code));
        assert_eq!(claimed.status, StatusCode::SEE_OTHER, "{}", claimed.text);
        claimed.cookie()
    }

    /// The code that a page shows.
    fn code_on(page: &Told) -> String {
        let code = page.text.split("class=\"shown-code\">").nth(1).unwrap_or_default().split('<').next().unwrap().to_owned();
        assert_ne!(code, "", "{}", page.text);
        code
    }

    /// Puts the helper T. in, and gives the cookie of their phone.
    fn with_helper(&self, owner: &str) -> String {
        let code = Self::code_on(&self.post("/people", owner, "name=T.&role=helper"));
        let entered = self.post("/enter", "", &format!("code={code}&secret={HELPERS_PIN}&shared=no"));
        assert_eq!(entered.status, StatusCode::SEE_OTHER, "{}", entered.text);
        entered.cookie()
    }

    /// Gives the cookie of a browser that was given a link.
    fn looking(&self, owner: &str, days: u32) -> String {
        let made = self.post(&format!("/jobs/{}/links", id(0)), owner, &format!("days={days}"));
        let token = made.text.split("/look#").nth(1).unwrap_or_default().split('<').next().unwrap().to_owned();
        assert_ne!(token, "", "{}", made.text);
        let opened = self.ask(Method::POST, "/look", &[], token);
        assert_eq!(opened.status, StatusCode::NO_CONTENT, "{}", opened.text);
        opened.cookie()
    }

    /// The id of somebody, as the owner's page has it.
    fn person(&self, owner: &str, name: &str) -> String {
        let page = self.get("/people", owner).text;
        let label = format!("aria-label=\"A code for a device of {name}\"");
        let before = page.split(&label).next().unwrap();
        before.rsplit("/people/").next().unwrap().split('/').next().unwrap().to_owned()
    }
}

fn said_by(who: &str, n: u64, body: Value) -> Value {
    let mut event = event(n, body);
    event["who"] = json!(who);
    event
}

/// For whom a route is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum For {
    Everybody,
    WhoeverHasALink,
    KnownDevices,
    People,
    Owners,
}

/// Every route that there is, with for whom it is. A route that is added stands here too, or the test fails.
const ROUTES: [(&str, For); 53] = [
    ("/healthz", For::Everybody),
    ("/readyz", For::Everybody),
    ("/waiting", For::Everybody),
    ("/worker.js", For::Everybody),
    ("/manifest.webmanifest", For::Everybody),
    ("/photographs/{digest}", For::People),
    ("/", For::People),
    ("/device", For::People),
    ("/new", For::People),
    ("/new/{body}", For::People),
    ("/sheets", For::People),
    ("/photographs", For::People),
    ("/jobs/{job}", For::People),
    ("/jobs/{job}/vehicle", For::People),
    ("/jobs/{job}/panels", For::People),
    ("/jobs/{job}/terms", For::People),
    ("/jobs/{job}/workshop", For::People),
    ("/jobs/{job}/gauge", For::People),
    ("/jobs/{job}/survey", For::People),
    ("/jobs/{job}/readings", For::People),
    ("/jobs/{job}/survey/{panel}", For::People),
    ("/jobs/{job}/survey/{panel}/question", For::People),
    ("/jobs/{job}/spots", For::People),
    ("/jobs/{job}/plan", For::People),
    ("/jobs/{job}/acceptance", For::Owners),
    ("/jobs/{job}/plan/{panel}", For::People),
    ("/jobs/{job}/work", For::People),
    ("/records", For::Owners),
    ("/jobs/{job}/record", For::Owners),
    ("/verify", For::People),
    ("/jobs/{job}/handover", For::People),
    ("/jobs/{job}/handover/{panel}", For::People),
    ("/jobs/{job}/handover.pdf", For::People),
    ("/jobs/{job}/photographs/{digest}", For::People),
    ("/jobs/{job}/history", For::People),
    ("/jobs/{job}/events", For::People),
    ("/jobs/{job}/changes", For::People),
    ("/jobs/{job}/links", For::Owners),
    ("/enter", For::Everybody),
    ("/lock", For::KnownDevices),
    ("/lock/here", For::People),
    ("/people", For::Owners),
    ("/people/{person}/code", For::Owners),
    ("/people/{person}/remove", For::Owners),
    ("/people/devices/{device}/revoke", For::Owners),
    ("/people/links/{link}/withdraw", For::Owners),
    ("/look", For::WhoeverHasALink),
    ("/look/photographs/{digest}", For::WhoeverHasALink),
    ("/assets/{name}", For::Everybody),
    // No route at all, and one that is nobody's.
    ("/nowhere", For::People),
    ("/people/nowhere/else/at/all", For::People),
    ("/jobs", For::People),
    // The last: it locks the device that it is asked from.
    ("/lock/now", For::KnownDevices),
];

/// An address of a route.
fn address(route: &str) -> String {
    let job = id(0).to_string();
    let somebody = id(99).to_string();
    [
        ("{job}", job.as_str()),
        ("{body}", "coupe"),
        ("{panel}", "bonnet"),
        ("{person}", &somebody),
        ("{device}", &somebody),
        ("{link}", &somebody),
        ("{digest}", &"0".repeat(64)),
        ("{name}", "style.css"),
    ]
    .into_iter()
    .fold(route.to_owned(), |route, (pattern, value)| route.replace(pattern, value))
}

#[test]
fn every_route_is_in_the_table_of_who_may() {
    let source = include_str!("../../src/router.rs");
    let routes: Vec<&str> = source.split(".route(\"").skip(1).map(|rest| rest.split('"').next().unwrap()).collect();
    assert!(routes.len() > 30, "{routes:?}");
    for route in routes {
        assert!(ROUTES.iter().any(|(known, _)| *known == route), "{route}: say in ROUTES who may");
    }
}

#[test]
fn every_route_is_for_whom_it_is_meant_by_every_method_and_for_nobody_else() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let helper = workshop.with_helper(&owner);
    workshop.send(&owner, "", &[said_by("M.", 2, json!({ "kind": "vehicle-stated", "title": "Sage roadster" }))]);
    let viewer = workshop.looking(&owner, 7);
    let methods = [Method::GET, Method::HEAD, Method::POST, Method::PUT, Method::DELETE, Method::PATCH, Method::OPTIONS];
    let mut asked = 0;
    for (caller, cookie) in [("nobody", ""), ("a viewer", viewer.as_str()), ("a helper", &helper), ("an owner", &owner)] {
        for (route, whose) in ROUTES {
            for method in &methods {
                let told = workshop.ask(method.clone(), &address(route), &[("cookie", cookie)], "");
                let is_known = matches!(caller, "a helper" | "an owner");
                let is_open = match whose {
                    For::Everybody => route != "/assets/{name}" || method.is_safe() || is_known,
                    For::WhoeverHasALink => true,
                    For::KnownDevices | For::People => is_known,
                    For::Owners => caller == "an owner",
                };
                let status = told.status.as_u16();
                let what = format!("{method} {route} by {caller}: {status}");
                if whose == For::WhoeverHasALink {
                    // What it shows is looked at below; here, that it asks for the link and for nothing else.
                    let may_show = caller == "a viewer" && route == "/look" && matches!(*method, Method::GET | Method::HEAD);
                    assert!(status != 423 && (may_show || status != 200), "{what}");
                } else if is_open {
                    assert!(!matches!(status, 401 | 403 | 423), "{what}: {}", told.text);
                } else {
                    assert_eq!(status, if is_known { 403 } else { 401 }, "{what}");
                    assert!(!told.text.contains("Sage roadster"), "{what}");
                }
                asked += 1;
            }
        }
        // The device is locked now: nothing shows but the pad.
        for (route, whose) in ROUTES.iter().filter(|_| matches!(caller, "a helper" | "an owner")) {
            let told = workshop.get(&address(route), cookie);
            match whose {
                For::People | For::Owners => assert_eq!(told.status, StatusCode::LOCKED, "{route} by {caller}"),
                For::KnownDevices | For::Everybody | For::WhoeverHasALink => {}
            }
            assert!(!told.text.contains("Sage roadster"), "{route} by {caller}");
        }
    }
    assert_eq!(asked, 4 * ROUTES.len() * methods.len());
}

#[test]
fn while_nobody_has_claimed_it_this_machine_needs_no_code_and_any_other_does() {
    let here = workshop();
    assert_eq!(here.get("/", "").status, StatusCode::OK);
    assert_eq!(here.send("", "", &[vehicle(2, "Sage roadster")]).status, StatusCode::OK);
    assert!(here.get("/people", "").text.contains("Nobody has claimed this app"));
    assert_eq!(here.post("/people", "", "name=T.&role=owner").status, StatusCode::FORBIDDEN);
    let beyond = workshop_for(Reach::beyond_loopback(vec!["bay.local".to_owned()], None), Way::Plain);
    assert_eq!(beyond.get("/", "").status, StatusCode::UNAUTHORIZED);
    assert_eq!(beyond.send("", "", &[vehicle(2, "Sage roadster")]).status, StatusCode::UNAUTHORIZED);
    assert_eq!(beyond.get("/enter", "").status, StatusCode::OK);
    let owner = beyond.claimed();
    assert_eq!(beyond.get("/", &owner).status, StatusCode::OK);
    // Without people there is nobody who could be known.
    let folder = tempfile::tempdir().unwrap();
    let shop = Shop::new(Arc::new(Sqlite::open(folder.path()).unwrap()), || may(0));
    let nobody = Workshop { router: router_for(Arc::new(shop), Reach::beyond_loopback(vec![], None)), ..here };
    assert_eq!(nobody.get("/", "").status, StatusCode::UNAUTHORIZED);
}

#[test]
fn whoever_has_the_code_of_the_terminal_becomes_the_owner_and_nobody_after_them() {
    let workshop = workshop();
    let wrong = workshop.post("/enter", "", "code=00000-00000");
    assert_eq!(wrong.status, StatusCode::FORBIDDEN);
    assert!(wrong.text.contains("This code does not hold"), "{}", wrong.text);
    let right = workshop.post("/enter", "", &format!("code={}", workshop.code.to_lowercase().replace('-', " ")));
    assert!(right.status == StatusCode::OK && right.text.contains("The owner of this app"), "{}", right.text);
    for (form, said) in [
        ("name=66.1&secret=402817", "This is no name"),
        ("name=M.&secret=123456", "anybody would try first"),
        ("name=M.&secret=4028", "at least 6 digits"),
    ] {
        let refused = workshop.post("/enter", "", &format!("code={}&{form}", workshop.code));
        assert!(refused.status == StatusCode::FORBIDDEN && refused.text.contains(said), "{said}: {}", refused.text);
    }
    let owner = workshop.claimed();
    assert!(workshop.get("/", &owner).text.contains("data-who=\"M.\""));
    assert_eq!(workshop.get("/", "").status, StatusCode::UNAUTHORIZED);
    let again = workshop.post("/enter", "", &format!("code={}&name=X.&secret={OWNERS_PIN}", workshop.code));
    assert_eq!((again.status, again.header("set-cookie")), (StatusCode::FORBIDDEN, ""));
}

#[test]
fn a_code_ends_after_half_an_hour() {
    let workshop = workshop();
    workshop.passes(30 * 60);
    assert_eq!(workshop.post("/enter", "", &format!("code={}", workshop.code)).status, StatusCode::FORBIDDEN);
}

#[test]
fn who_is_not_known_is_led_to_where_they_become_so_and_a_program_is_told_in_its_way() {
    let workshop = workshop();
    workshop.claimed();
    let page = workshop.get("/", "");
    assert!(page.text.contains("href=\"/enter\"") && page.text.contains("stays on it"), "{}", page.text);
    assert_eq!((page.header("www-authenticate"), page.header("cache-control")), ("Code", "no-store"));
    let program = workshop.send("", "", &[vehicle(2, "Sage roadster")]);
    assert_eq!((program.status.as_u16(), program.header("content-type")), (401, "application/problem+json"));
    assert!(program.detail().contains("What waits on it stays there"), "{}", program.text);
    for answer in [page, program] {
        assert!(
            answer.header("content-security-policy").starts_with("default-src 'none'")
                && answer.header("x-content-type-options") == "nosniff"
        );
    }
}

#[test]
fn cookies_are_read_by_no_script_sent_by_no_other_site_and_bound_to_this_host_where_the_line_is_encrypted() {
    let set = |workshop: Workshop| {
        let claimed = workshop.post("/enter", "", &format!("code={}&name=M.&secret={OWNERS_PIN}", workshop.code));
        let device = claimed.header("set-cookie").to_owned();
        workshop.send(&claimed.cookie(), "", &[said_by("M.", 2, json!({ "kind": "vehicle-stated", "title": "Sage roadster" }))]);
        let made = workshop.post(&format!("/jobs/{}/links", id(0)), &claimed.cookie(), "days=1");
        let token = made.text.split("/look#").nth(1).unwrap().split('<').next().unwrap().to_owned();
        let look = workshop.ask(Method::POST, "/look", &[], token).header("set-cookie").to_owned();
        [device, look].map(|cookie| {
            let (pair, rest) = cookie.split_once(';').unwrap();
            let (name, value) = pair.split_once('=').unwrap();
            assert_eq!(value.len(), 43, "256 bits as base64url");
            // What is behind the port is the device's own.
            let name = name.split_once("8086").map_or(name, |(before, _)| before);
            format!("{name};{rest}")
        })
    };
    assert_eq!(
        set(workshop()),
        ["known-; Path=/; Max-Age=34560000; HttpOnly; SameSite=Strict", "look-; Path=/; Max-Age=86400; HttpOnly; SameSite=Strict"]
    );
    assert_eq!(
        set(workshop_for(Reach::beyond_loopback(vec!["bay.local".to_owned()], None), Way::Tls)),
        [
            "__Host-known-; Path=/; Max-Age=34560000; HttpOnly; SameSite=Strict; Secure",
            "__Host-look-; Path=/; Max-Age=86400; HttpOnly; SameSite=Strict; Secure"
        ]
    );
}

/// A browser: one jar for all ports of a host.
#[derive(Default)]
struct Jar(BTreeMap<String, String>);

impl Jar {
    fn ask(&mut self, workshop: &Workshop, port: u16, method: Method, path: &str, body: impl Into<Body>) -> Told {
        let cookies = self.0.iter().map(|(name, value)| format!("{name}={value}")).collect::<Vec<_>>().join("; ");
        let host = format!("{}:{port}", if workshop.way == Way::Loopback { "localhost" } else { "bay.local" });
        let told = workshop.ask(method, path, &[("host", &host), ("cookie", &cookies), FORM], body);
        for cookie in told.headers.get_all("set-cookie") {
            let (name, value) = cookie.to_str().unwrap().split(';').next().unwrap().split_once('=').unwrap();
            self.0.insert(name.to_owned(), value.to_owned());
        }
        told
    }

    fn status(&mut self, workshop: &Workshop, port: u16, path: &str) -> StatusCode {
        self.ask(workshop, port, Method::GET, path, "").status
    }

    /// Makes the first owner.
    fn claims(&mut self, workshop: &Workshop, port: u16) {
        let form = format!("code={}&name=M.&secret={OWNERS_PIN}&shared=no", workshop.code);
        assert_eq!(self.ask(workshop, port, Method::POST, "/enter", form).status, StatusCode::SEE_OTHER);
    }
}

fn other(seed: u64, way: Way) -> Workshop {
    let reach = if way == Way::Loopback { Reach::default() } else { Reach::beyond_loopback(vec!["bay.local".to_owned()], None) };
    workshop_in(tempfile::tempdir().unwrap(), reach, way, seed)
}

#[test]
fn a_browser_stays_known_to_each_app_on_one_machine_whichever_it_signs_in_to() {
    for way in [Way::Loopback, Way::Tls] {
        let (first, second, demo) = (other(1, way), other(2, way), other(3, way));
        let mut jar = Jar::default();
        jar.claims(&first, 8086);
        jar.claims(&second, 9001);
        // Once the first was ended, and this one took its port.
        jar.claims(&demo, 8086);
        let all = [(&first, 8086), (&second, 9001), (&demo, 8086)];
        assert_eq!(all.map(|(workshop, port)| jar.status(workshop, port, "/people")), [StatusCode::OK; 3]);
        // Records that are served at another port know it, too.
        assert_eq!(jar.status(&first, 9500, "/people"), StatusCode::OK);
        // What is known to others opens nothing.
        let (stranger, mut elsewhere) = (other(4, way), Jar::default());
        elsewhere.claims(&stranger, 8086);
        assert_eq!(jar.status(&stranger, 8086, "/people"), StatusCode::UNAUTHORIZED);
    }
}

#[test]
fn a_browser_that_signs_in_to_restored_records_stays_known_to_those_that_they_were_copied_from() {
    let first = workshop();
    let mut jar = Jar::default();
    jar.claims(&first, 8086);
    let beside = tempfile::tempdir().unwrap();
    let copy = beside.path().join("copy");
    first.store.back_up(&copy, may(0)).unwrap();
    let into = tempfile::tempdir().unwrap();
    restore(&copy, into.path()).unwrap();
    let restored = workshop_in(into, Reach::default(), Way::Loopback, 2);
    // As `lastmicron restore` does: every device is locked, and known still.
    restored.store.devices().unwrap().iter().for_each(|device| restored.store.lock(device.id).unwrap());
    let asked = jar.ask(&restored, 9001, Method::GET, "/", "");
    assert_eq!(asked.status, StatusCode::LOCKED);
    let person = restored.store.people().unwrap().remove(0).id;
    let signed_in = jar.ask(&restored, 9001, Method::POST, "/lock", format!("person={person}&secret={OWNERS_PIN}"));
    assert_eq!(signed_in.status, StatusCode::OK, "{}", signed_in.text);
    // Whichever is asked first, and again when what was held before is forgotten.
    for _ in 0..2 {
        restored.passes(61);
        let both = [(&restored, 9001), (&first, 8086)].map(|(workshop, port)| jar.status(workshop, port, "/people"));
        assert_eq!(both, [StatusCode::OK; 2]);
    }
}

#[test]
fn a_link_that_is_opened_takes_the_place_of_none_of_another_app_and_a_name_is_said_to_one_app_alone() {
    let (first, second) = (other(1, Way::Loopback), other(2, Way::Loopback));
    let mut jar = Jar::default();
    for (workshop, port, title) in [(&first, 8086, "Sage roadster"), (&second, 9001, "Blue saloon")] {
        jar.claims(workshop, port);
        let stated = Value::from(vec![said_by("M.", 2, json!({ "kind": "vehicle-stated", "title": title }))]).to_string();
        assert_eq!(jar.ask(workshop, port, Method::POST, &format!("/jobs/{}/events", id(0)), stated).status, StatusCode::OK);
        let made = jar.ask(workshop, port, Method::POST, &format!("/jobs/{}/links", id(0)), "days=1");
        let token = made.text.split("/look#").nth(1).unwrap().split('<').next().unwrap().to_owned();
        assert_eq!(jar.ask(workshop, port, Method::POST, "/look", token).status, StatusCode::NO_CONTENT);
    }
    assert!(jar.ask(&first, 8086, Method::GET, "/look", "").text.contains("Sage roadster"));
    assert!(jar.ask(&second, 9001, Method::GET, "/look", "").text.contains("Blue saloon"));
    let (first, second) = (workshop(), workshop());
    let mut jar = Jar::default();
    jar.ask(&first, 8086, Method::POST, "/device", "who=M.&unit=mil");
    jar.ask(&second, 9001, Method::POST, "/device", "who=T.");
    let named = |told: &Told| attributes(&told.text, "data-who").concat();
    let (here, there) = (jar.ask(&first, 8086, Method::GET, "/", ""), jar.ask(&second, 9001, Method::GET, "/", ""));
    assert_eq!([named(&here), named(&there)], ["M.", "T."]);
    assert!(there.text.contains(">mil<"), "how films are shown is the device's, whichever app it is");
}

#[test]
fn another_site_is_refused_on_either_kind_of_line_and_only_names_that_were_listed_are_answered() {
    for (way, own, other) in [(Way::Plain, "http", "https"), (Way::Tls, "https", "http")] {
        let workshop = workshop_for(Reach::beyond_loopback(vec!["bay.local".to_owned(), "192.0.2.10".to_owned()], None), way);
        let enter = |host: &str, more: &[(&str, &str)]| {
            let with: Vec<(&str, &str)> = [("host", host), FORM].into_iter().chain(more.iter().copied()).collect();
            workshop.ask(Method::POST, "/enter", &with, format!("code={}", workshop.code)).status.as_u16()
        };
        for host in ["bay.local:8443", "192.0.2.10:8443", "BAY.LOCAL"] {
            assert_eq!(enter(host, &[("origin", &format!("{own}://{host}"))]), 200, "{own} {host}");
            assert_eq!(enter(host, &[("origin", &format!("{other}://{host}"))]), 403, "{own} {host}");
            assert_eq!(enter(host, &[("origin", "null")]), 403);
            assert_eq!(enter(host, &[("origin", &format!("{own}://elsewhere.example"))]), 403);
            assert_eq!(enter(host, &[("sec-fetch-site", "cross-site"), ("origin", &format!("{own}://{host}"))]), 403);
            assert_eq!(enter(host, &[("sec-fetch-site", "same-origin")]), 200);
        }
        for host in ["elsewhere.example", "bay.local.elsewhere.example", "192.0.2.11", "localhost:8443"] {
            assert_eq!(enter(host, &[]), 421, "{host}");
        }
        // What a proxy says is believed of nobody.
        assert_eq!(enter("elsewhere.example", &[("x-forwarded-host", "bay.local"), ("forwarded", "host=bay.local")]), 421);
    }
}

#[test]
fn a_thousand_guesses_of_a_code_are_throttled_where_they_come_from_and_nowhere_else() {
    let workshop = workshop();
    let guess = |peer: &str, n: u32, more: &[(&str, &str)]| {
        let with: Vec<(&str, &str)> = [FORM].into_iter().chain(more.iter().copied()).collect();
        workshop.ask_from(peer, Method::POST, "/enter", &with, format!("code=00000{n:05}"))
    };
    let statuses: Vec<u16> =
        (0..1000).map(|n| guess("192.0.2.66", n, &[("x-forwarded-for", &format!("198.51.100.{}", n % 256))]).status.as_u16()).collect();
    assert_eq!(statuses.iter().filter(|status| **status == 403).count(), 10, "looked at");
    assert_eq!(statuses.iter().filter(|status| **status == 429).count(), 990, "not looked at");
    let throttled = guess("192.0.2.66", 0, &[]);
    assert_eq!(throttled.header("retry-after"), "60");
    assert!(throttled.text.contains("Too many tries: wait 60 seconds"), "{}", throttled.text);
    // The right code is not looked at from there either, and is from elsewhere.
    let right = format!("code={}", workshop.code);
    assert_eq!(workshop.ask_from("192.0.2.66", Method::POST, "/enter", &[FORM], right.clone()).status.as_u16(), 429);
    assert_eq!(workshop.ask_from("192.0.2.67", Method::POST, "/enter", &[FORM], right.clone()).status.as_u16(), 200);
    workshop.passes(60);
    assert_eq!(workshop.ask_from("192.0.2.66", Method::POST, "/enter", &[FORM], right).status.as_u16(), 200);
}

#[test]
fn a_thousand_guesses_of_a_pin_are_throttled_for_the_person_wherever_they_come_from() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let person = workshop.person(&owner, "M.");
    let guess = |n: u32, secret: &str| {
        let peer = format!("192.0.2.{}", 2 + n % 200);
        workshop.ask_from(&peer, Method::POST, "/lock", &[FORM, ("cookie", &owner)], format!("person={person}&secret={secret}"))
    };
    let statuses: Vec<u16> = (0..1000).map(|n| guess(n, "000000").status.as_u16()).collect();
    assert_eq!(statuses.iter().filter(|status| **status == 403).count(), 10);
    assert_eq!(statuses.iter().filter(|status| **status == 429).count(), 990);
    assert_eq!(guess(7, OWNERS_PIN).status.as_u16(), 429);
    // Never for good: a minute later it is looked at again, and who is right has nothing to wait for.
    workshop.passes(60);
    let right = guess(7, OWNERS_PIN);
    assert_eq!(right.status, StatusCode::OK, "{}", right.text);
    assert_eq!(
        workshop.ask(Method::POST, "/lock", &[FORM, ("cookie", &right.cookie())], format!("person={person}&secret={OWNERS_PIN}")).status,
        StatusCode::OK
    );
}

/// One event of every kind, and whether only an owner records it.
fn kinds() -> Vec<(Value, bool)> {
    let film = json!({ "number": "63", "unit": "um" });
    let mean = json!({ "mean": "1", "sd": "1" });
    let section = json!({ "panel": "bonnet", "x_mm": "0", "y_mm": "0", "width_mm": "450", "height_mm": "450" });
    let digest = "0".repeat(64);
    let helpers = [
        json!({ "kind": "vehicle-stated", "title": "Sage roadster" }),
        json!({ "kind": "paint-stated" }),
        json!({ "kind": "panel-stated", "name": "bonnet" }),
        json!({ "kind": "gauge-stated", "accuracy": { "fixed_um": "1", "percent": "1" }, "repeatability_um": "0.8" }),
        json!({ "kind": "machine-stated", "name": "a", "drive": "forced", "spin_rpm": "400" }),
        json!({ "kind": "pad-stated", "name": "a", "diameter_mm": "125", "stiffness_pa_per_m": "1", "edge": "square" }),
        json!({ "kind": "process-stated", "name": "finish", "removal_um": mean, "minutes_per_m2": "20" }),
        json!({ "kind": "scatter-stated", "panel": "0.1", "section": "0.1" }),
        json!({ "kind": "edge-stated", "gain": mean, "reach_mm": "20" }),
        json!({ "kind": "session-began", "session": "a" }),
        json!({ "kind": "session-ended", "session": "a" }),
        json!({ "kind": "reading-taken", "panel": "bonnet", "x_mm": "1", "y_mm": "1", "value": film }),
        json!({ "kind": "gloss-read", "spot": "1" }),
        json!({ "kind": "spot-marked", "spot": "1", "panel": "bonnet" }),
        json!({ "kind": "spot-judged", "spot": "1", "seen": { "left": "few" } }),
        json!({ "kind": "set-done", "process": "finish" }),
        json!({ "kind": "work-started", "section": section }),
        json!({ "kind": "work-done", "section": section }),
        json!({ "kind": "work-stopped", "section": section, "why": "heat" }),
        json!({ "kind": "left-alone", "panel": "bonnet", "why": "thin" }),
        json!({ "kind": "gone-through", "panel": "bonnet", "x_mm": "1", "y_mm": "1", "note": "primer" }),
        json!({ "kind": "photograph-attached", "photograph": digest }),
        json!({ "kind": "noted", "text": "Soft." }),
        // Struck out: an own note, which is the event 2 of what is sent before.
        json!({ "kind": "struck-out", "event": id(2).to_string(), "why": "twice" }),
    ];
    let owners = [
        json!({ "kind": "terms-agreed", "floor": film, "risk": "0.02", "correction": "0.8", "hours": "10" }),
        json!({ "kind": "plan-accepted", "plan": digest, "risk": "0.02", "correction": "0.8", "hours": "10" }),
        json!({ "kind": "status-changed", "status": "gone-home" }),
        // Struck out: the owner's terms.
        json!({ "kind": "struck-out", "event": id(3).to_string(), "why": "undone" }),
    ];
    helpers.into_iter().map(|kind| (kind, false)).chain(owners.into_iter().map(|kind| (kind, true))).collect()
}

/// What pages offer to whoever has this cookie, from the first page on along every link: "go to" with the address of each page that was looked at, "open" with an address, "send to" with one, "record" with a kind of event, "strike out" with an event.
fn offered(workshop: &Workshop, cookie: &str) -> BTreeSet<String> {
    let (mut offered, mut to_open, mut opened) = (BTreeSet::new(), vec!["/".to_owned()], BTreeSet::new());
    while let Some(path) = to_open.pop() {
        if !opened.insert(path.clone()) {
            continue;
        }
        offered.insert(format!("go to {path}"));
        let mut page = workshop.get(&path, cookie);
        if page.status == StatusCode::SEE_OTHER {
            page = workshop.get(page.header("location"), cookie);
        }
        assert_ne!(page.status, StatusCode::FORBIDDEN, "{path} is offered, and refused");
        let local = |name: &str| attributes(&page.text, name).into_iter().filter(|to| to.starts_with('/') && !to.starts_with("/assets/"));
        for address in local("href") {
            offered.insert(format!("open {address}"));
            // Bodies and places lead to the same page again; sections of the work are pages of their own, and so are plans of dials that are turned, once.
            let page = address.split('?').next().unwrap();
            let is_turned = page.ends_with("/plan") && !path.contains('?');
            to_open.push(if page.ends_with("/work") || is_turned { address } else { page.to_owned() });
        }
        offered.extend(["action", "data-kept", "data-bring"].iter().flat_map(|name| local(name)).map(|to| format!("send to {to}")));
        let bodies = attributes(&page.text, "data-body").into_iter().map(|body| serde_json::from_str::<Value>(&body).unwrap());
        let kinds = bodies.filter_map(|body| body["kind"].as_str().map(str::to_owned)).chain(attributes(&page.text, "data-event"));
        offered.extend(kinds.map(|kind| format!("record {kind}")));
        let strikes = page.text.split("data-event=\"struck-out\"").skip(1).map(|form| form.split("</form>").next().unwrap());
        offered.extend(strikes.map(|form| format!("strike out {}", attributes(form, "value")[0])));
    }
    offered
}

#[test]
fn a_helper_is_offered_nothing_that_is_refused_to_them() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let helper = workshop.with_helper(&owner);
    let send = |n: u64, body: Value| {
        let sent = workshop.send(&owner, "", &[said_by("M.", n, body)]);
        assert_eq!(sent.status, StatusCode::OK, "{}", sent.text);
    };
    (2..).zip(plan::equipped()).for_each(|(n, body)| send(n, body));
    let terms = 2 + plan::equipped().iter().position(|body| body["kind"] == "terms-agreed").unwrap() as u64;
    let (mut to_owner, mut to_helper) = (offered(&workshop, &owner), offered(&workshop, &helper));
    let page = workshop.get(&format!("/jobs/{}/plan", id(0)), &owner).text;
    let kept = workshop.ask(Method::POST, &attributes(&page, "data-kept")[0], &[("cookie", &owner)], "");
    let mut accepted: Value = serde_json::from_str(&kept.text).unwrap();
    accepted["kind"] = json!("plan-accepted");
    send(90, accepted);
    send(91, json!({ "kind": "gone-through", "panel": "bonnet", "x_mm": "10", "y_mm": "10", "note": "primer" }));
    to_owner.extend(offered(&workshop, &owner));
    to_helper.extend(offered(&workshop, &helper));
    let job = id(0);
    let only_to_owner: Vec<String> = [
        "open /people".to_owned(),
        format!("open /jobs/{job}/links"),
        format!("open /jobs/{job}/record"),
        "send to /records".to_owned(),
        "send to /people".to_owned(),
        format!("send to /jobs/{job}/links"),
        "record terms-agreed".to_owned(),
        "record plan-accepted".to_owned(),
        "record status-changed".to_owned(),
        "record went-on".to_owned(),
        format!("strike out {}", id(terms)),
        format!("strike out {}", id(90)),
    ]
    .into();
    for what in only_to_owner {
        assert!(to_owner.contains(&what) && !to_helper.contains(&what), "{what}: {}", to_owner.contains(&what));
    }
    // Whatever else there is: none of it is refused for who they are.
    let may: Vec<String> =
        kinds().iter().filter(|(_, is_owners)| !is_owners).map(|(kind, _)| kind["kind"].to_string().replace('"', "")).collect();
    for what in &to_helper {
        if let Some(kind) = what.strip_prefix("record ") {
            assert!(kind == "usual" || may.iter().any(|known| known == kind), "{what}");
        } else if let Some(address) = what.strip_prefix("send to ").filter(|address| *address != "/lock/now") {
            assert_ne!(workshop.post(address, &helper, "").status, StatusCode::FORBIDDEN, "{what}");
        }
    }
    for what in ["record panel-stated", "record vehicle-stated", "record gone-through"] {
        assert!(to_helper.contains(what), "{what}");
    }
    for turned in ["correction", "risk", "hours"] {
        assert!(to_helper.iter().any(|what| what.starts_with(&format!("go to /jobs/{job}/plan?{turned}="))), "{turned}");
    }
}

#[test]
fn each_kind_of_event_is_recorded_by_whom_it_may_be() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let helper = workshop.with_helper(&owner);
    let first = [
        said_by("M.", 2, json!({ "kind": "noted", "text": "Chalky." })),
        said_by(
            "M.",
            3,
            json!({ "kind": "terms-agreed", "floor": { "number": "18", "unit": "um" }, "risk": "0.02", "correction": "0.8", "hours": "10" }),
        ),
    ];
    assert_eq!(workshop.send(&owner, "", &first).status, StatusCode::OK);
    // All kinds that there are: the enum of events has as many, one of them twice here.
    assert_eq!(kinds().len(), 27 + 1);
    for (n, (body, is_owners)) in (100..).step_by(2).zip(kinds()) {
        let by_helper = workshop.send(&helper, "", &[said_by("T.", n, body.clone())]);
        let by_owner = workshop.send(&owner, "", &[said_by("M.", n + 1, body.clone())]);
        assert_eq!(by_owner.status, StatusCode::OK, "{body}: {}", by_owner.text);
        if is_owners {
            assert_eq!(by_helper.status, StatusCode::CONFLICT, "{body}");
            assert!(by_helper.text.contains("only an owner"), "{body}: {}", by_helper.text);
            // Told first where somebody is still there; nothing of it is recorded.
            let first = workshop.send(
                &helper,
                "?told=first",
                &[said_by("T.", n, json!({ "kind": "noted", "text": "x" })), said_by("T.", n + 500, body.clone())],
            );
            assert!(first.status == StatusCode::FORBIDDEN && first.detail().contains("Nothing was recorded"), "{}", first.text);
            // Nor in the owner's name, from a device where they never were.
            let in_name = workshop.send(&helper, "", &[said_by("M.", n + 700, body)]);
            assert!(in_name.text.contains("M. has not signed in on this device"), "{}", in_name.text);
        } else {
            assert_eq!(by_helper.status, StatusCode::OK, "{body}: {}", by_helper.text);
        }
    }
}

#[test]
fn what_an_owner_struck_out_no_helper_has_hold_again() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let helper = workshop.with_helper(&owner);
    let struck = |of: u64| json!({ "kind": "struck-out", "event": id(of).to_string(), "why": "undone" });
    let gone_home = json!({ "kind": "status-changed", "status": "gone-home" });
    let sent = workshop.send(&owner, "", &[said_by("M.", 3, gone_home), said_by("M.", 4, struck(3))]);
    assert_eq!(sent.status, StatusCode::OK, "{}", sent.text);
    let refused = |events: &[Value]| {
        let sent = workshop.send(&helper, "", events);
        assert!(sent.status == StatusCode::CONFLICT && sent.text.contains("only an owner"), "{}", sent.text);
    };
    refused(&[said_by("T.", 5, struck(4))]);
    // By a way round, by something that nobody knows, and in a circle.
    refused(&[said_by("T.", 6, struck(7)), said_by("T.", 7, struck(4))]);
    refused(&[said_by("T.", 8, struck(999))]);
    refused(&[said_by("T.", 9, struck(10)), said_by("T.", 10, struck(9))]);
    assert_eq!(workshop.send(&owner, "", &[said_by("M.", 11, struck(4))]).status, StatusCode::OK);
}

#[test]
fn one_event_that_may_not_be_recorded_holds_up_no_other() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let helper = workshop.with_helper(&owner);
    let note = |who: &str, n: u64| said_by(who, n, json!({ "kind": "noted", "text": "Soft." }));
    let sent = workshop.send(
        &helper,
        "",
        &[note("T.", 2), said_by("T.", 3, json!({ "kind": "status-changed", "status": "gone-home" })), note("nobody", 4), note("T.", 5)],
    );
    assert_eq!(sent.status, StatusCode::CONFLICT);
    let answers: Vec<Value> = serde_json::from_str(&sent.text).unwrap();
    assert_eq!([&answers[0]["receipt"]["seq"], &answers[3]["receipt"]["seq"]], [&json!(1), &json!(2)]);
    assert!(
        answers[1]["refused"].as_str().unwrap().contains("only an owner")
            && answers[2]["refused"].as_str().unwrap().contains("nobody here is called 'nobody'"),
        "{answers:?}"
    );
}

#[test]
fn what_waited_on_a_device_is_taken_while_its_author_belongs_to_the_workshop() {
    let workshop = workshop();
    let owner = workshop.claimed();
    workshop.with_helper(&owner);
    let [own, other] = ["M.", "T."].map(|name| workshop.person(&owner, name));
    let note = |n: u64| said_by("T.", n, json!({ "kind": "noted", "text": "Soft." }));
    // On the shared tablet T. was never.
    assert!(workshop.send(&owner, "", &[note(2)]).text.contains("T. has not signed in on this device"));
    let switched = workshop.post("/lock", &owner, &format!("person={other}&secret={HELPERS_PIN}"));
    assert_eq!(switched.status, StatusCode::OK, "{}", switched.text);
    let tablet = workshop.post("/lock", &switched.cookie(), &format!("person={own}&secret={OWNERS_PIN}")).cookie();
    // What T. recorded there is handed in while M. is at it; terms in T.'s name are still none of T.'s.
    let taken = workshop.send(&tablet, "", &[note(2)]);
    assert_eq!(taken.status, StatusCode::OK, "{}", taken.text);
    assert!(
        workshop
            .send(&tablet, "", &[said_by("T.", 3, json!({ "kind": "status-changed", "status": "gone-home" }))])
            .text
            .contains("only an owner")
    );
    assert_eq!(workshop.post(&format!("/people/{other}/remove"), &tablet, "").status, StatusCode::SEE_OTHER);
    let refused = workshop.send(&tablet, "", &[note(4), note(2)]);
    assert!(
        refused.text.contains("T. does not belong to this workshop any more") && refused.text.contains("stays on this device"),
        "{}",
        refused.text
    );
    // What is in the record already gets its receipt all the same.
    assert_eq!(serde_json::from_str::<Value>(&refused.text).unwrap()[1], serde_json::from_str::<Value>(&taken.text).unwrap()[0]);
}

#[test]
fn a_shared_device_locks_when_nobody_touches_it_and_a_pin_opens_it_with_another_cookie() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let person = workshop.person(&owner, "M.");
    // What a page asks for of itself is nobody's touch; what somebody does is.
    for _ in 0..4 {
        workshop.passes(4 * 60);
        assert_eq!(workshop.get("/", &owner).status, StatusCode::OK);
    }
    workshop.passes(10 * 60);
    assert_eq!(workshop.ask(Method::GET, "/", &[("cookie", &owner), ("x-unasked", "1")], "").status, StatusCode::OK);
    workshop.passes(5 * 60);
    let locked = workshop.get("/", &owner);
    assert_eq!(locked.status, StatusCode::LOCKED);
    assert!(locked.text.contains("id=\"pad\"") && locked.text.contains("data-digit=\"7\""), "{}", locked.text);
    let program = workshop.send(&owner, "", &[said_by("M.", 2, json!({ "kind": "noted", "text": "Soft." }))]);
    assert_eq!((program.status.as_u16(), program.header("content-type")), (423, "application/problem+json"));
    let opened = workshop.post("/lock", &owner, &format!("person={person}&secret={OWNERS_PIN}"));
    assert!(opened.status == StatusCode::OK && opened.text.contains("\"who\":\"M.\""), "{}", opened.text);
    assert_ne!(opened.cookie(), owner);
    assert_eq!(
        workshop.send(&opened.cookie(), "", &[said_by("M.", 2, json!({ "kind": "noted", "text": "Soft." }))]).status,
        StatusCode::OK
    );
    // What it had before opens the pad and nothing else: the answer may have been lost on its way. Then it is nothing.
    assert_eq!(workshop.get("/", &owner).status, StatusCode::LOCKED);
    workshop.passes(90);
    workshop.get("/", &opened.cookie());
    assert_eq!(workshop.get("/", &owner).status, StatusCode::UNAUTHORIZED);
    // By hand.
    assert_eq!(workshop.post("/lock/now", &opened.cookie(), "").header("location"), "/lock");
    assert_eq!(workshop.get("/", &opened.cookie()).status, StatusCode::LOCKED);
}

#[test]
fn nobody_stays_signed_in_for_more_than_thirty_days() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let helper = workshop.with_helper(&owner);
    // The helper's phone is theirs alone: it does not lock when nobody touches it.
    workshop.passes(29 * 86_400);
    assert_eq!(workshop.get("/", &helper).status, StatusCode::OK);
    workshop.passes(86_400);
    let asked = workshop.get("/", &helper);
    assert_eq!(asked.status, StatusCode::LOCKED);
    assert!(asked.text.contains(">T.<") && !asked.text.contains(">M.<"), "{}", asked.text);
}

#[test]
fn a_device_that_is_revoked_is_unknown_at_once_and_its_person_comes_back_by_a_code_and_their_pin() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let helper = workshop.with_helper(&owner);
    let page = workshop.get("/people", &owner).text;
    assert!(page.contains("T.&#39;s device") || page.contains("T.'s device"), "{page}");
    let devices: Vec<&str> = page.split("action=\"/people/devices/").skip(1).map(|rest| rest.split('/').next().unwrap()).collect();
    let [first, second] = devices[..] else { panic!("{devices:?}") };
    let of_helper = if page.split(first).next().unwrap().contains("(this one)") { second } else { first };
    assert_eq!(workshop.post(&format!("/people/devices/{of_helper}/revoke"), &helper, "").status, StatusCode::FORBIDDEN);
    assert_eq!(workshop.post(&format!("/people/devices/{of_helper}/revoke"), &owner, "").status, StatusCode::SEE_OTHER);
    assert_eq!(workshop.get("/", &helper).status, StatusCode::UNAUTHORIZED);
    assert_eq!(workshop.get("/", &owner).status, StatusCode::OK);
    let person = workshop.person(&owner, "T.");
    let code = Workshop::code_on(&workshop.post(&format!("/people/{person}/code"), &owner, ""));
    let entered = |secret: &str| workshop.post("/enter", &helper, &format!("code={code}&secret={secret}"));
    assert!(entered("000000").text.contains("This is not the PIN or passphrase of T."));
    assert_eq!(entered(HELPERS_PIN).status, StatusCode::SEE_OTHER);
    // A code with a new PIN asks for no old one.
    let code = Workshop::code_on(&workshop.post(&format!("/people/{person}/code"), &owner, "new_pin=yes"));
    assert_eq!(workshop.post("/enter", "", &format!("code={code}&secret=581290")).status, StatusCode::SEE_OTHER);
}

#[test]
fn the_last_owner_stays_and_whoever_is_removed_is_out() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let helper = workshop.with_helper(&owner);
    let [own, other] = ["M.", "T."].map(|name| workshop.person(&owner, name));
    let kept = workshop.post(&format!("/people/{own}/remove"), &owner, "");
    assert!(kept.status == StatusCode::UNPROCESSABLE_ENTITY && kept.text.contains("the only owner"), "{}", kept.text);
    assert!(workshop.post("/people", &owner, "name=t.&role=helper").text.contains("called t. already"));
    workshop.post(&format!("/people/{other}/remove"), &owner, "");
    assert_eq!(workshop.get("/", &helper).status, StatusCode::UNAUTHORIZED);
    assert!(!workshop.get("/lock", &owner).text.contains(">T.<"));
    // Who comes back is somebody new of the same name.
    assert_eq!(workshop.post("/people", &owner, "name=T.&role=helper").status, StatusCode::OK);
}

#[test]
fn a_link_shows_one_job_until_it_ends_or_is_taken_back() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let other = {
        let mut other = said_by("M.", 50, json!({ "kind": "vehicle-stated", "title": "Plum saloon" }));
        other["job"] = json!(id(9).to_string());
        other
    };
    workshop.send(
        &owner,
        "",
        &[
            said_by("M.", 2, json!({ "kind": "vehicle-stated", "title": "Sage roadster" })),
            said_by("M.", 3, json!({ "kind": "noted", "text": "Between us." })),
        ],
    );
    let sent = workshop.ask(Method::POST, &format!("/jobs/{}/events", id(9)), &[("cookie", &owner)], json!([other]).to_string());
    assert_eq!(sent.status, StatusCode::OK, "{}", sent.text);
    let viewer = workshop.looking(&owner, 7);
    let seen = workshop.get("/look", &viewer);
    assert!(seen.status == StatusCode::OK && seen.text.contains("Sage roadster") && seen.text.contains("How far it is"), "{}", seen.text);
    for hidden in ["Plum saloon", "Between us", "M.", "<form", "/jobs/", "data-who"] {
        assert!(!seen.text.contains(hidden), "{hidden}: {}", seen.text);
    }
    assert_eq!(seen.header("referrer-policy"), "no-referrer");
    // What opens it is in no address that the server sees, and in no header but the cookie.
    assert!(!seen.headers.contains_key("location") && !seen.text.contains(viewer.split('=').nth(1).unwrap()));
    workshop.passes(7 * 86_400 - 1);
    assert_eq!(workshop.get("/look", &viewer).status, StatusCode::OK);
    workshop.passes(1);
    assert_eq!(workshop.get("/look", &viewer).status, StatusCode::UNAUTHORIZED);
    let owner = workshop
        .post("/lock", &owner, &format!("person={}&secret={OWNERS_PIN}", locked_person(&workshop.get("/lock", &owner).text)))
        .cookie();
    let viewer = workshop.looking(&owner, 1);
    let page = workshop.get(&format!("/jobs/{}/links", id(0)), &owner).text;
    let link = page.split("/people/links/").nth(1).unwrap().split('/').next().unwrap().to_owned();
    workshop.post(&format!("/people/links/{link}/withdraw"), &owner, "");
    assert_eq!(workshop.get("/look", &viewer).status, StatusCode::UNAUTHORIZED);
    assert_eq!(workshop.post(&format!("/jobs/{}/links", id(0)), &owner, "days=365").status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(workshop.ask(Method::POST, "/look", &[], "nonsense").status, StatusCode::FORBIDDEN);
}

/// The one who is asked for first on the pad.
fn locked_person(pad: &str) -> String {
    pad.split("name=\"person\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned()
}

#[test]
fn a_photograph_is_shown_by_a_link_of_its_job_and_by_no_other() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let picture: Vec<u8> = [b"\x89PNG\r\n\x1a\n".as_slice(), &[0; 20]].concat();
    let kept = workshop.ask(Method::POST, "/photographs", &[("cookie", &owner)], picture);
    let digest = serde_json::from_str::<Value>(&kept.text).unwrap()["photograph"].as_str().unwrap().to_owned();
    workshop.send(&owner, "", &[said_by("M.", 2, json!({ "kind": "vehicle-stated", "title": "Sage roadster" }))]);
    let viewer = workshop.looking(&owner, 1);
    let path = format!("/look/photographs/{digest}");
    assert_eq!(workshop.get(&path, &viewer).status, StatusCode::NOT_FOUND);
    workshop.send(&owner, "", &[said_by("M.", 3, json!({ "kind": "photograph-attached", "photograph": digest }))]);
    assert!(workshop.get("/look", &viewer).text.contains(&path));
    assert_eq!((workshop.get(&path, &viewer).status, workshop.get(&path, "").status), (StatusCode::OK, StatusCode::UNAUTHORIZED));
}

#[test]
fn neither_a_pin_nor_a_code_nor_a_cookie_stands_in_the_files() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let secrets = [OWNERS_PIN, workshop.code.as_str(), owner.split('=').nth(1).unwrap()];
    let mut looked = 0;
    for file in std::fs::read_dir(workshop.folder.path()).unwrap().flatten().filter(|file| file.path().is_file()) {
        let bytes = std::fs::read(file.path()).unwrap();
        looked += usize::from(bytes.windows(9).any(|window| window == b"$argon2id"));
        for secret in secrets {
            assert!(!bytes.windows(secret.len()).any(|window| window == secret.as_bytes()), "{:?}", file.path());
        }
    }
    assert!(looked > 0, "no hash is there: too little was looked at");
}

#[test]
fn what_goes_wrong_is_told_to_whoever_is_signed_in_with_a_way_back_to_where_they_came_from() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let helper = workshop.with_helper(&owner);
    workshop.send(&owner, "", &[said_by("M.", 2, json!({ "kind": "vehicle-stated", "title": "Sage roadster" }))]);
    let links = format!("/jobs/{}/links", id(0));
    let job = format!("/jobs/{}", id(0));
    let ask = |method: Method, path: &str, cookie: &str, referer: &str, form: &str| {
        let told = workshop.ask(method, path, &[("cookie", cookie), ("referer", referer), FORM], form.to_owned());
        let main = told.text.split("<main").nth(1).unwrap_or_default().split("</main>").next().unwrap().to_owned();
        (
            told.status.as_u16(),
            attributes(&main, "href"),
            attributes(&told.text, "data-who").join(""),
            attributes(&told.text, "value")[0].clone(),
        )
    };
    let own = |path: &str| format!("http://localhost:8086{path}");
    let all = |ways: &[&str]| ways.iter().map(|way| (*way).to_owned()).collect::<Vec<_>>();
    // A form that makes no sense: back to the form, from the frame too.
    assert_eq!(ask(Method::POST, &links, &owner, &own(&links), "days=2"), (422, all(&[&links, &job, "/"]), "M.".to_owned(), links.clone()));
    // A page that is not there, and one that they may not open, with and without a page before.
    assert_eq!(ask(Method::GET, "/nowhere", &helper, &own(&job), ""), (404, all(&[&job, "/"]), "T.".to_owned(), "/nowhere".to_owned()));
    assert_eq!(ask(Method::GET, &links, &helper, "", ""), (403, all(&[&job, "/"]), "T.".to_owned(), links.clone()));
    // Another site's page is no way back, whatever it calls itself.
    for elsewhere in ["http://elsewhere.example/", "http://localhost:8086.elsewhere.example/", "http://localhost:8086//elsewhere.example"] {
        assert_eq!(
            ask(Method::POST, "/people", &owner, elsewhere, "name=&role=owner"),
            (422, all(&["/"]), "M.".to_owned(), "/".to_owned()),
            "{elsewhere}"
        );
    }
    // Whoever is not known is not named, and neither is who was at a device that is locked.
    workshop.post("/lock/now", &owner, "");
    for cookie in ["", &owner] {
        assert!(!workshop.ask(Method::GET, "/look/photographs/x", &[("cookie", cookie)], "").text.contains("M."));
    }
}

#[test]
fn the_first_page_says_that_nobody_has_claimed_it_until_somebody_has() {
    let workshop = workshop();
    let page = workshop.get("/", "").text;
    assert!(
        page.contains("Nobody has claimed this app")
            && page.contains("<code>lastmicron serve</code> printed")
            && page.contains("href=\"/enter\""),
        "{page}"
    );
    let owner = workshop.claimed();
    assert!(!workshop.get("/", &owner).text.contains("claimed"));
    // Where nobody is kept, nobody can claim it.
    assert!(!app().get("/").text.contains("claimed"));
}

#[test]
fn an_answer_says_to_whom_it_was_given_and_what_was_entered_by_another_is_told_first() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let helper = workshop.with_helper(&owner);
    let note = |who: &str, n: u64| said_by(who, n, json!({ "kind": "noted", "text": "Soft." }));
    assert_eq!(workshop.send(&owner, "", &[note("M.", 2)]).status, StatusCode::OK);
    let here = workshop.ask(Method::POST, "/lock/here", &[("cookie", &helper), ("x-unasked", "1")], "");
    let problem = workshop.get("/people", &helper);
    for told in [&workshop.get("/", &helper), &here, &problem, &workshop.send(&helper, "", &[])] {
        assert_eq!(told.header("x-who"), "T%2E", "{}", told.status);
    }
    // Nobody is named to whoever is not known, nor where a browser keeps an answer for all.
    let style = attributes(&workshop.get("/", &helper).text, "href").into_iter().find(|at| at.starts_with("/assets/style")).unwrap();
    for told in [workshop.get("/", ""), workshop.get("/enter", ""), workshop.get(&style, &helper)] {
        assert_eq!(told.header("x-who"), "", "{}", told.status);
    }
    // A tablet that both have signed in on: what M. entered before is M.'s, and T. is told before it is recorded.
    let code = Workshop::code_on(&workshop.post(&format!("/people/{}/code", workshop.person(&owner, "T.")), &owner, ""));
    let tablet = workshop.post("/enter", &owner, &format!("code={code}&secret={HELPERS_PIN}&shared=yes")).cookie();
    let told = workshop.send(&tablet, "?told=first", &[note("M.", 3)]);
    assert_eq!(told.status, StatusCode::FORBIDDEN, "{}", told.text);
    assert!(told.detail().contains("entered under the name M., and T. is signed in") && told.detail().contains("Nothing was recorded"));
    // What is in the record already gets its receipt, and what waited is recorded as it was entered.
    assert_eq!(workshop.send(&tablet, "?told=first", &[note("M.", 2)]).status, StatusCode::OK);
    assert_eq!(workshop.send(&tablet, "", &[note("M.", 3)]).status, StatusCode::OK);
    workshop.post("/lock/now", &tablet, "");
    assert_eq!(workshop.get("/", &tablet).header("x-who"), "");
}

#[test]
fn what_is_shown_once_is_kept_nowhere_and_nothing_leads_back_to_it() {
    let workshop = workshop();
    let owner = workshop.claimed();
    workshop.send(&owner, "", &[said_by("M.", 2, json!({ "kind": "vehicle-stated", "title": "Sage roadster" }))]);
    let at = format!("/people/{}/code", workshop.person(&owner, "M."));
    let (code, added) = (workshop.post(&at, &owner, ""), workshop.post("/people", &owner, "name=T.&role=helper"));
    let link = workshop.post(&format!("/jobs/{}/links", id(0)), &owner, "days=1");
    let asked = workshop.post("/enter", "", &format!("code={}", Workshop::code_on(&added)));
    for page in [&code, &added, &link, &asked] {
        assert_eq!((page.status, page.header("cache-control")), (StatusCode::OK, "no-store"), "{}", page.text);
    }
    for page in [&code, &added, &link] {
        assert!(page.text.contains(" data-once"), "a script takes out what is shown once: {}", page.text);
    }
    // Neither the frame nor what goes wrong from there on leads to where it was shown.
    assert_eq!(attributes(&code.text, "value")[0], "/people");
    let wrong = workshop.ask(Method::GET, "/nowhere", &[("cookie", &owner), ("referer", &format!("http://localhost:8086{at}"))], "");
    assert!(!wrong.text.contains(&at) && wrong.text.contains("href=\"/people\""), "{}", wrong.text);
    let again = workshop.get(&at, &owner);
    assert_eq!((again.status, again.header("location")), (StatusCode::SEE_OTHER, "/people"));
}

#[test]
fn links_are_listed_by_what_their_job_is_called() {
    let workshop = workshop();
    let owner = workshop.claimed();
    workshop.send(&owner, "", &[said_by("M.", 2, json!({ "kind": "vehicle-stated", "title": "Sage roadster" }))]);
    workshop.looking(&owner, 1);
    for path in ["/people".to_owned(), format!("/jobs/{}/links", id(0))] {
        let page = workshop.get(&path, &owner).text;
        assert!(page.contains(&format!("<a href=\"/jobs/{}\">Sage roadster</a>", id(0))), "{path}: {page}");
        assert!(page.contains("ends in 24 hours"), "{page}");
    }
}

#[test]
fn that_an_accepted_plan_is_lost_is_told_before_the_work_too() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let send = |n: u64, body: Value| assert_eq!(workshop.send(&owner, "", &[said_by("M.", n, body)]).status, StatusCode::OK);
    (2..).zip(plan::equipped()).for_each(|(n, body)| send(n, body));
    let viewer = workshop.looking(&owner, 7);
    let page = workshop.get(&format!("/jobs/{}/plan", id(0)), &owner).text;
    let kept = workshop.ask(Method::POST, &attributes(&page, "data-kept")[0], &[("cookie", &owner)], "");
    let mut accepted: Value = serde_json::from_str(&kept.text).unwrap();
    let digest = accepted["plan"].as_str().unwrap().to_owned();
    accepted["kind"] = json!("plan-accepted");
    send(90, accepted);
    let pages = || [workshop.get("/look", &viewer).text, workshop.get(&format!("/jobs/{}/handover", id(0)), &owner).text];
    let lost = "what was kept of it is gone or damaged";
    assert!(pages().iter().all(|page| page.contains("Work has not begun.") && !page.contains(lost)));
    let shelves = std::fs::read_dir(workshop.folder.path().join("kept")).unwrap().flatten();
    let file = shelves.map(|shelf| shelf.path().join(&digest)).find(|file| file.is_file()).unwrap();
    let is_told = || {
        for page in pages() {
            assert!(page.contains("Work has not begun.") && page.contains(&format!("the plan: A plan was accepted, but {lost}")), "{page}");
        }
    };
    std::fs::remove_file(&file).unwrap();
    is_told();
    std::fs::write(file, "{}").unwrap();
    is_told();
}

#[test]
fn before_the_work_no_panel_is_told_of_as_not_done() {
    let workshop = workshop();
    let owner = workshop.claimed();
    let send = |n: u64, body: Value| assert_eq!(workshop.send(&owner, "", &[said_by("M.", n, body)]).status, StatusCode::OK);
    send(2, json!({ "kind": "vehicle-stated", "title": "Sage roadster", "substrate": "steel" }));
    send(3, json!({ "kind": "panel-stated", "name": "roof", "width_mm": "900", "height_mm": "900" }));
    let viewer = workshop.looking(&owner, 7);
    let pages = || [workshop.get("/look", &viewer).text, workshop.get(&format!("/jobs/{}/handover", id(0)), &owner).text];
    let undone = ["Never reached", "not done", "not worked", "not begun.", "before and after"];
    let before = |when: &str| {
        for page in pages() {
            assert!(page.contains("Work has not begun."), "{when}: {page}");
            let told = page.replace("Work has not begun.", "");
            undone.iter().for_each(|words| assert!(!told.contains(words), "{when}: {words}: {page}"));
        }
    };
    before("arrived");
    (4..).zip(plan::equipped()).for_each(|(n, body)| send(n, body));
    before("read and agreed");
    let page = workshop.get(&format!("/jobs/{}/plan", id(0)), &owner).text;
    let kept = workshop.ask(Method::POST, &attributes(&page, "data-kept")[0], &[("cookie", &owner)], "");
    let mut accepted: Value = serde_json::from_str(&kept.text).unwrap();
    accepted["kind"] = json!("plan-accepted");
    send(90, accepted);
    before("planned");
    // To leave something alone is not to work: only that is told.
    send(91, json!({ "kind": "left-alone", "panel": "roof", "why": "thin" }));
    before("left alone");
    assert!(pages().iter().all(|page| page.contains("roof: Left alone: thin")));
    send(
        92,
        json!({ "kind": "spot-marked", "spot": "1", "panel": "bonnet", "x_mm": "600", "y_mm": "500", "width_mm": "150", "height_mm": "150" }),
    );
    send(93, json!({ "kind": "set-done", "process": "one-step", "spot": "1" }));
    assert!(pages().iter().all(|page| page.contains("Work has not begun: only test spots were tried.")));
    let work = workshop.get(workshop.get(&format!("/jobs/{}/work", id(0)), &owner).header("location"), &owner).text;
    let form = work.split("data-event=\"work-started\"").nth(1).unwrap().split("</form>").next().unwrap();
    let said = |name: &str| {
        form.split(&format!("name=\"section.{name}\"")).nth(1).unwrap().split("value=\"").nth(1).unwrap().split('"').next().unwrap()
    };
    let section = json!({ "panel": said("panel"), "x_mm": said("x_mm"), "y_mm": said("y_mm"), "width_mm": said("width_mm"), "height_mm": said("height_mm") });
    send(94, json!({ "kind": "work-started", "section": section }));
    for page in pages() {
        assert!(!page.contains("Work has not begun") && page.contains("sections that the plan works were not begun."), "{page}");
    }
}
