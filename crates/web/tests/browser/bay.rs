//! The app served, and browsers that look at it.

use std::collections::BTreeMap;
use std::env;
use std::fs;
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::Request;
use axum::middleware::{Next, from_fn};
use axum::response::{Html, Response};
use lastmicron_job::event::{Digest, Event, Id, When};
use lastmicron_record::{Sealed, sha256};
use lastmicron_store::{Sqlite, Store};
use lastmicron_web::{Doors, Shop, router, serve};
use serde_json::{Value, json};
use tempfile::TempDir;
use thirtyfour::WindowHandle;
use thirtyfour::common::command::{Command as Wire, ExtensionCommand};
use thirtyfour::prelude::*;
use tokio::runtime::{Builder, Runtime};

use crate::papers::Plain;

const NOON: &str = "2024-05-01T12:00:00Z";

/// The time so many minutes after noon, on the same day.
fn minutes_after(minutes: i64) -> When {
    format!("2024-05-01T{:02}:{:02}:00Z", 12 + minutes / 60, minutes % 60).parse().unwrap()
}

/// Longest that a page may take to become as it should be; most take a tenth.
const PATIENCE: Duration = Duration::from_secs(30);

/// A bay with the app running in it.
pub(crate) struct Bay {
    address: SocketAddr,
    at: String,
    arguments: Vec<String>,
    store: Arc<Sqlite>,
    driver: Driver,
    answering: Mutex<Option<Runtime>>,
    clock_minutes: Arc<AtomicI64>,
    code: Mutex<String>,
    folder: TempDir,
}

/// The program that starts browsers; ended with the bay.
struct Driver {
    child: Child,
    port: u16,
}

impl Drop for Driver {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Where the app answers, and how a browser gets there.
pub(crate) struct Called {
    pub(crate) doors: Doors,
    /// What the address of each page begins with.
    pub(crate) at: String,
    /// What the browser has to be told beyond the usual.
    pub(crate) arguments: Vec<String>,
}

/// Runs a test in a bay of which the browsers are on the same machine; without a browser it is left out, and that is said.
pub(crate) fn in_bay(test: impl AsyncFnOnce(&Bay)) {
    let Some(bay) = Bay::of_this_machine() else { return };
    bay.starts();
    bay.does(test);
}

/// The same, where the app answers as it is said and is never stopped. Told is where browsers have their home, too.
pub(crate) fn in_bay_called(called: impl FnOnce(TcpListener, &Path) -> Called, test: impl AsyncFnOnce(&Bay)) {
    let Some(bay) = Bay::of_this_machine() else { return };
    let Called { doors, at, arguments } = called(TcpListener::bind("127.0.0.1:0").unwrap(), &home(&bay.folder));
    let shop = bay.shop();
    thread::spawn(move || serve(shop, doors));
    Bay { at, arguments, ..bay }.does(test);
}

pub(crate) fn is_installed(name: &str) -> bool {
    env::var_os("PATH").is_some_and(|paths| env::split_paths(&paths).any(|path| path.join(name).is_file()))
}

/// Where a bay's browsers find what their user has told every one of them.
fn home(folder: &TempDir) -> PathBuf {
    folder.path().join("home")
}

fn driver(home: &Path) -> Option<Driver> {
    if !is_installed("chromium") || !is_installed("chromedriver") {
        return None;
    }
    fs::create_dir_all(home).unwrap();
    let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    let child = Command::new("chromedriver")
        .arg(format!("--port={port}"))
        .env("HOME", home)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let driver = Driver { child, port };
    let begun = Instant::now();
    while TcpStream::connect(("127.0.0.1", port)).is_err() {
        assert!(begun.elapsed() < PATIENCE, "chromedriver does not answer");
        thread::sleep(Duration::from_millis(20));
    }
    Some(driver)
}

impl Bay {
    /// Where nothing answers yet; none without a browser.
    fn of_this_machine() -> Option<Self> {
        let folder = tempfile::tempdir().unwrap();
        let Some(driver) = driver(&home(&folder)) else {
            assert!(
                env::var_os("LASTMICRON_NEED_BROWSER").is_none(),
                "chromium and chromedriver are needed (Debian: apt install chromium chromium-driver)"
            );
            eprintln!(
                "chromium or chromedriver is not installed: the app was not looked at in a browser (Debian: apt install chromium chromium-driver)"
            );
            return None;
        };
        let address = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
        Some(Self {
            address,
            at: format!("http://{address}"),
            arguments: Vec::new(),
            store: Arc::new(Sqlite::open(&folder.path().join("records")).unwrap()),
            driver,
            answering: Mutex::default(),
            clock_minutes: Arc::default(),
            code: Mutex::default(),
            folder,
        })
    }

    fn does(&self, test: impl AsyncFnOnce(&Self)) {
        // A browser that a failing test leaves behind is ended from another thread.
        Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap().block_on(test(self));
    }

    fn shop(&self) -> Shop {
        let clock = Arc::clone(&self.clock_minutes);
        let people = Arc::<Sqlite>::clone(&self.store);
        let drawn = AtomicI64::new(1);
        // Other bytes each time, and nothing else is asked of them here.
        let random = move || Some(sha256(&drawn.fetch_add(1, Ordering::Relaxed).to_be_bytes()).0);
        let shop = Shop::new(Arc::<Sqlite>::clone(&self.store), move || minutes_after(clock.load(Ordering::Relaxed)))
            .with_papers(Arc::new(Plain))
            .with_people(people, random);
        if let Some(code) = shop.first_code().unwrap() {
            *self.code.lock().unwrap() = code;
        }
        shop
    }

    fn app(&self) -> Router {
        router(self.shop())
    }

    /// Starts the app, with the records that there are.
    pub(crate) fn starts(&self) {
        self.answers_by(self.app());
    }

    /// Starts a later version of it, as browsers see it: its worker is another.
    pub(crate) fn starts_later_version(&self) {
        let another = async |request: Request, next: Next| -> Response {
            let is_worker = request.uri().path() == "/worker.js";
            let response = next.run(request).await;
            if !is_worker {
                return response;
            }
            let (mut head, body) = response.into_parts();
            let bytes = to_bytes(body, usize::MAX).await.unwrap();
            head.headers.remove("content-length");
            Response::from_parts(head, Body::from([&bytes[..], b"// Another version.\n"].concat()))
        };
        self.answers_by(self.app().layer(from_fn(another)));
    }

    /// Starts it so slow that whoever goes to a page waits for it without end; what scripts ask for comes.
    pub(crate) fn starts_slow_for_whoever_goes_to(&self, page: &str) {
        let page = page.to_owned();
        let slow = move |request: Request, next: Next| {
            let is_gone_to = request.uri().path() == page && request.headers().get("accept").is_some_and(|accept| accept != "text/html");
            async move { if is_gone_to { std::future::pending().await } else { next.run(request).await } }
        };
        self.answers_by(self.app().layer(from_fn(slow)));
    }

    /// A gateway answers in its place, whatever is asked: 200, and a page of its own.
    pub(crate) fn is_behind_a_gateway(&self) {
        self.answers_by(
            Router::new().fallback(async || Html("<!doctype html><title>Wi-Fi</title><body>Say who you are to use this network.</body>")),
        );
    }

    fn answers_by(&self, app: Router) {
        self.stops();
        let runtime = Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
        let begun = Instant::now();
        let socket = loop {
            match TcpListener::bind(self.address) {
                Ok(socket) => break socket,
                Err(error) => assert!(begun.elapsed() < PATIENCE, "{error}"),
            }
            thread::sleep(Duration::from_millis(20));
        };
        socket.set_nonblocking(true).unwrap();
        runtime.spawn(async move { axum::serve(tokio::net::TcpListener::from_std(socket).unwrap(), app).await });
        *self.answering.lock().unwrap() = Some(runtime);
    }

    /// Ends the app: nobody answers, and lines that were open are cut.
    pub(crate) fn stops(&self) {
        if let Some(runtime) = self.answering.lock().unwrap().take() {
            runtime.shutdown_background();
        }
        let begun = Instant::now();
        while TcpStream::connect(self.address).is_ok() {
            assert!(begun.elapsed() < PATIENCE, "it does not end");
            thread::sleep(Duration::from_millis(20));
        }
    }

    /// What is kept beside the records.
    pub(crate) fn kept(&self, digest: Digest) -> Option<Vec<u8>> {
        self.store.kept(digest).unwrap()
    }

    /// Has these bytes lie there as the first that came of a photograph.
    pub(crate) fn has_part(&self, digest: Digest, bytes: &[u8]) {
        let parts = self.folder.path().join("records").join("parts");
        std::fs::create_dir_all(&parts).unwrap();
        std::fs::write(parts.join(digest.to_string()), bytes).unwrap();
    }

    /// How many photographs are kept.
    pub(crate) fn photographs(&self) -> usize {
        usize::try_from(self.store.verify().unwrap().kept).unwrap()
    }

    /// Records events as if devices had sent them.
    pub(crate) fn record(&self, events: Vec<Event>) {
        let sealed = events.into_iter().map(|event| Sealed::seal(event).unwrap()).collect();
        for outcome in self.store.append(sealed, NOON.parse().unwrap()).unwrap() {
            outcome.unwrap();
        }
    }

    /// The code that makes the owner, as the terminal prints it.
    pub(crate) fn code(&self) -> String {
        self.code.lock().unwrap().clone()
    }

    /// Nothing happens for so many minutes.
    pub(crate) fn is_left(&self, minutes: i64) {
        self.clock_minutes.fetch_add(minutes, Ordering::Relaxed);
    }

    /// Waits until something is so in the records.
    pub(crate) async fn has_come(&self, so: impl Fn() -> bool) {
        let begun = Instant::now();
        while !so() {
            assert!(begun.elapsed() < PATIENCE, "it did not come");
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }

    /// The events of a job, in order.
    pub(crate) fn events(&self, job: Id) -> Vec<Event> {
        self.store.events(job, 1).unwrap().into_iter().map(|entry| entry.event).collect()
    }

    /// The jobs there are.
    pub(crate) fn jobs(&self) -> Vec<Id> {
        self.store.jobs().unwrap().into_iter().map(|(job, _)| job).collect()
    }

    /// A phone or a laptop with its own cookies.
    pub(crate) async fn device(&self) -> Device {
        self.device_with(tempfile::tempdir().unwrap()).await
    }

    /// The same device after its battery was dead: the browser is gone without a word, and started again.
    pub(crate) async fn dies_and_is_started_again(&self, device: Device) -> Device {
        let Device { driver, profile, .. } = device;
        let _ = driver.cdp().send_raw("Browser.crash", json!({})).await;
        let _ = driver.quit().await;
        self.device_with(profile).await
    }

    async fn device_with(&self, profile: TempDir) -> Device {
        let mut wanted = DesiredCapabilities::chrome();
        wanted.accept_insecure_certs(false).unwrap();
        for argument in [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
        ] {
            wanted.add_arg(argument).unwrap();
        }
        for argument in &self.arguments {
            wanted.add_arg(argument).unwrap();
        }
        wanted.add_arg(&format!("--user-data-dir={}", profile.path().display())).unwrap();
        wanted.set("goog:loggingPrefs", json!({ "browser": "ALL", "performance": "ALL" })).unwrap();
        // chromedriver closes lines that are not used; one that is used just then would fail what is asked on it.
        let client = reqwest::Client::builder().pool_max_idle_per_host(0).build().unwrap();
        let driver = WebDriver::builder(format!("http://localhost:{}", self.driver.port), wanted).client(client).await.unwrap();
        let device = Device { driver, at: self.at.clone(), profile };
        device.is_wide(360).await;
        device
    }
}

/// A browser.
pub(crate) struct Device {
    driver: WebDriver,
    at: String,
    profile: TempDir,
}

/// What the browser's console said since it was asked last.
#[derive(Debug)]
struct Log(&'static str);

impl ExtensionCommand for Log {
    fn parameters_json(&self) -> Option<Value> {
        Some(json!({ "type": self.0 }))
    }

    fn method(&self) -> axum::http::Method {
        axum::http::Method::POST
    }

    fn endpoint(&self) -> Arc<str> {
        Arc::from("/se/log")
    }
}

impl Device {
    pub(crate) async fn is_wide(&self, width: u32) {
        let metrics = json!({ "width": width, "height": 800, "deviceScaleFactor": 1, "mobile": false });
        self.tell("Emulation.setDeviceMetricsOverride", metrics).await;
    }

    async fn tell(&self, command: &str, with: Value) -> Value {
        self.driver.cdp().send_raw(command, with).await.unwrap()
    }

    /// So many bytes a second pass either way, each a little late.
    pub(crate) async fn has_a_line_of(&self, bytes: u64) {
        self.tell("Network.enable", json!({})).await;
        let line = json!({ "offline": false, "latency": 40, "downloadThroughput": bytes, "uploadThroughput": bytes });
        self.tell("Network.emulateNetworkConditions", line).await;
    }

    /// Waits until nothing waits on the device.
    pub(crate) async fn sends_all(&self, patience: Duration) {
        self.waits_long_for("document.getElementById('outbox').hidden", patience).await;
    }

    /// Opens a tab with nothing in it, and goes there. Gives the one there was.
    pub(crate) async fn opens_another_tab(&self) -> WindowHandle {
        let left = self.driver.window().await.unwrap();
        let tab = self.driver.new_tab().await.unwrap();
        self.driver.switch_to_window(tab).await.unwrap();
        self.is_wide(360).await;
        left
    }

    /// Goes on in a tab that was left. Gives the one that is left now.
    pub(crate) async fn goes_on_in(&self, tab: WindowHandle) -> WindowHandle {
        let left = self.driver.window().await.unwrap();
        self.driver.switch_to_window(tab).await.unwrap();
        left
    }

    /// Closes a tab that was left.
    pub(crate) async fn closes(&self, left: WindowHandle) {
        let here = self.driver.window().await.unwrap();
        self.driver.switch_to_window(left).await.unwrap();
        self.driver.close_window().await.unwrap();
        self.driver.switch_to_window(here).await.unwrap();
    }

    /// Opens a tab of its own, with nothing in it, and closes the one there was.
    pub(crate) async fn takes_another_tab(&self) {
        let left = self.opens_another_tab().await;
        self.closes(left).await;
    }

    /// Waits until the app is kept on the device, with the pages of the job that is looked at: each of them is computed for it.
    pub(crate) async fn takes_along(&self) {
        self.waits_long_for("document.documentElement.dataset.along", 4 * PATIENCE).await;
    }

    pub(crate) async fn open(&self, path: &str) {
        self.driver.goto(format!("{}{path}", self.at)).await.unwrap();
    }

    /// The browser refuses the page, since it does not trust who answers.
    pub(crate) async fn open_in_vain(&self, path: &str) {
        self.open(path).await;
        self.shows("ERR_CERT_AUTHORITY_INVALID").await;
    }

    /// What the browser keeps under a name that begins so, and how.
    pub(crate) async fn cookie(&self, name: &str) -> Value {
        let kept = self.tell("Network.getCookies", json!({})).await;
        kept["cookies"]
            .as_array()
            .unwrap()
            .iter()
            .find(|cookie| cookie["name"].as_str().unwrap().starts_with(name))
            .cloned()
            .unwrap_or_default()
    }

    /// Opens a page as somebody, bright or dark.
    pub(crate) async fn open_as(&self, who: &str, theme: &str, path: &str) {
        self.open("/device").await;
        let port = self.at.rsplit(':').next().unwrap();
        for (name, value) in [(format!("who-{port}"), who), ("theme".to_owned(), theme)] {
            let mut cookie = Cookie::new(name, value);
            cookie.set_path("/");
            self.driver.add_cookie(cookie).await.unwrap();
        }
        self.open(path).await;
    }

    pub(crate) async fn runs(&self, script: &str) -> Value {
        self.driver.execute(script, Vec::new()).await.unwrap().json().clone()
    }

    pub(crate) async fn runs_to_its_end(&self, script: &str) -> Value {
        self.driver.execute_async(script, Vec::new()).await.unwrap().json().clone()
    }

    /// Waits until a script gives true.
    pub(crate) async fn waits_for(&self, what: &str) {
        self.waits_long_for(what, PATIENCE).await;
    }

    async fn waits_long_for(&self, what: &str, patience: Duration) {
        let begun = Instant::now();
        while self.runs(&format!("return Boolean({what})")).await != json!(true) {
            if begun.elapsed() > patience {
                let page = self.runs("return location.pathname + '\\n' + document.body.innerText").await;
                panic!("not so: {what}\n{}", page.as_str().unwrap_or_default());
            }
            tokio::time::sleep(Duration::from_millis(25)).await;
        }
    }

    /// Waits until the page shows these words.
    pub(crate) async fn shows(&self, words: &str) {
        self.waits_for(&format!("document.body.innerText.includes({})", json!(words))).await;
    }

    /// Clicks what has this name for whoever hears the page, as they would find it.
    pub(crate) async fn presses(&self, name: &str) {
        let find = format!(
            "return [...document.querySelectorAll('button, a, summary, label')].find((one) => one.checkVisibility() && !one.closest('[data-fresh] form button') && (one.getAttribute('aria-label') ?? one.innerText).trim().replace(/\\s+/g, ' ').startsWith({}))",
            json!(name)
        );
        loop {
            self.waits_for(&format!("(() => {{ {find} }})()")).await;
            match self.clicks(&find).await {
                Ok(()) => return,
                // The page was made anew just then: a person finds it again.
                Err(error) if ["stale", "does not belong to the document"].iter().any(|said| error.to_string().contains(said)) => {}
                Err(error) => panic!("{name}: {error}"),
            }
        }
    }

    async fn clicks(&self, find: &str) -> WebDriverResult<()> {
        let element = self.driver.execute(find, Vec::new()).await?.element()?;
        // As somebody scrolls who wants to press it: to where nothing lies over it.
        self.driver.execute("arguments[0].scrollIntoView({ block: 'center' })", vec![element.to_json()?]).await?;
        element.click().await
    }

    /// Fills the field with this label.
    pub(crate) async fn fills(&self, label: &str, text: &str) {
        let find = format!(
            "const label = [...document.querySelectorAll('label')].find((one) => one.checkVisibility() && one.innerText.trim().startsWith({})); return label && (label.control ?? document.getElementById(label.htmlFor))",
            json!(label)
        );
        self.waits_for(&format!("(() => {{ {find} }})()")).await;
        let element = self.driver.execute(&find, Vec::new()).await.unwrap().element().unwrap();
        element.clear().await.unwrap_or_default();
        element.send_keys(text).await.unwrap_or_else(|error| panic!("{label}: {error}"));
    }

    /// Types with nothing in hand but the page, as a gauge that acts as a keyboard does.
    pub(crate) async fn types(&self, keys: &str) {
        self.driver.action_chain().send_keys(keys).perform().await.unwrap();
    }

    /// The same when what was typed before has been taken: nobody lifts a probe sooner.
    pub(crate) async fn enters(&self, keys: &str) {
        self.waits_for("document.getElementById('echo').ariaBusy === 'false'").await;
        self.types(keys).await;
    }

    pub(crate) async fn taps(&self, selector: &str, share: [f64; 2]) {
        let element = self.driver.find(By::Css(selector)).await.unwrap();
        element.scroll_into_view().await.unwrap();
        let place = self
            .runs(&format!(
                "const box = document.querySelector({}).getBoundingClientRect(); return [box.x, box.y, box.width, box.height]",
                json!(selector)
            ))
            .await;
        let number = |at: usize| place[at].as_f64().unwrap();
        let point = [number(0) + share[0] * number(2), number(1) + share[1] * number(3)].map(|px| json!(px));
        for kind in ["mousePressed", "mouseReleased"] {
            self.tell("Input.dispatchMouseEvent", json!({ "type": kind, "x": point[0], "y": point[1], "button": "left", "clickCount": 1 }))
                .await;
        }
    }

    /// A picture of the whole page, among those that are kept.
    pub(crate) async fn pictured(&self, name: &str) {
        let size = self.runs("return [document.documentElement.clientWidth, document.documentElement.scrollHeight]").await;
        let clip = json!({ "x": 0, "y": 0, "width": size[0], "height": size[1], "scale": 1 });
        let shot = self.tell("Page.captureScreenshot", json!({ "format": "png", "captureBeyondViewport": true, "clip": clip })).await;
        let bytes = base64(shot["data"].as_str().unwrap());
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("screens");
        fs::create_dir_all(&folder).unwrap();
        fs::write(folder.join(format!("{name}.png")), bytes).unwrap();
    }

    /// What the console and the network said since they were asked last that should not be: errors, refusals of the policy, requests to elsewhere.
    pub(crate) async fn complaints(&self) -> Vec<String> {
        let said = self.log("browser").await;
        let console = said.as_array().unwrap().iter().filter(|entry| entry["level"] == "SEVERE").map(|entry| entry["message"].to_string());
        let said = self.log("performance").await;
        let requests = said.as_array().unwrap().iter().filter_map(|entry| {
            let message: Value = serde_json::from_str(entry["message"].as_str()?).ok()?;
            let url = message["message"]["params"]["request"]["url"].as_str()?.to_owned();
            let is_here =
                url.starts_with(&self.at) || ["data:", "blob:", "chrome:", "chrome-untrusted:"].iter().any(|own| url.starts_with(own));
            (message["message"]["method"] == "Network.requestWillBeSent" && !is_here).then(|| format!("a request to {url}"))
        });
        console.chain(requests).collect()
    }

    async fn log(&self, of: &'static str) -> Value {
        self.driver.handle().cmd(Wire::ExtensionCommand(Box::new(Log(of)))).await.unwrap().value_json().unwrap()
    }

    /// What axe finds, by rule; none where its script is not there.
    pub(crate) async fn breaches(&self) -> Option<BTreeMap<String, String>> {
        let script = fs::read_to_string(axe()?).ok()?;
        self.driver.execute(script, Vec::new()).await.unwrap();
        let found = self
            .runs_to_its_end(
                "const done = arguments[arguments.length - 1]; axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }).then((found) => done(found.violations.map((one) => [one.id, one.nodes.map((node) => node.html.slice(0, 160) + ' ' + node.failureSummary).join('\\n')])), (failed) => done([['axe', String(failed)]]))",
            )
            .await;
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        Some(found.as_array().unwrap().iter().map(|one| (text(&one[0]), text(&one[1]))).collect())
    }

    pub(crate) async fn leaves(self) {
        self.driver.quit().await.unwrap();
    }
}

/// The rules of accessibility, where ./check has put them.
fn axe() -> Option<PathBuf> {
    let lib = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../.venv/lib");
    let found = fs::read_dir(lib)
        .ok()?
        .flatten()
        .map(|python| python.path().join("site-packages/axe_playwright_python/axe.min.js"))
        .find(|path| path.is_file());
    if found.is_none() {
        eprintln!("axe is not there (checks/reference/environment fetches it): pages were not held to its rules");
    }
    found
}

/// RFC 4648, as pictures are sent.
fn base64(text: &str) -> Vec<u8> {
    let value = |c: u8| match c {
        b'A'..=b'Z' => c - b'A',
        b'a'..=b'z' => c - b'a' + 26,
        b'0'..=b'9' => c - b'0' + 52,
        b'+' => 62,
        _ => 63,
    };
    let quads = text.trim_end_matches('=').as_bytes().chunks(4);
    quads
        .flat_map(|quad| {
            let bits = quad.iter().fold(0u32, |bits, c| (bits << 6) | u32::from(value(*c))) << (6 * (4 - quad.len()));
            bits.to_be_bytes()[1..quad.len()].to_vec()
        })
        .collect()
}
