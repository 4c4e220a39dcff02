//! The app on the local network: by TLS, in the open, and the page that tells phones what to trust.

use std::io::{self, Read as _, Write as _};
use std::net::{SocketAddr, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};
use std::thread;
use std::time::SystemTime;

use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::http::Request;
use lastmicron_certificate::{Authority, Key, Names, Presented};
use lastmicron_store::Sqlite;
use lastmicron_web::{Arrived, Doors, Lan, Reach, Shop, Spoken, TRUSTED_ON, Trust, Way, router_for, serve};
use tempfile::TempDir;
use tokio_rustls::rustls::crypto::ring::default_provider;
use tokio_rustls::rustls::pki_types::ServerName;
use tokio_rustls::rustls::{ClientConfig, ClientConnection, RootCertStore, Stream};

use crate::{Answer, App, NOON};

const HOSTS: [&str; 3] = ["bay.local", "192.168.1.20", "[fd00::20]"];

fn hosts() -> Vec<String> {
    HOSTS.map(str::to_owned).to_vec()
}

/// The app that is on the local network, too.
fn app() -> App {
    let folder = tempfile::tempdir().unwrap();
    let store = Arc::new(Sqlite::open(folder.path()).unwrap());
    App { router: router_for(Arc::new(Shop::new(store, || NOON.parse().unwrap())), Reach::beyond_loopback(hosts(), None)), folder }
}

fn ask(app: &App, way: Way, host: &str, request: axum::http::request::Builder) -> Answer {
    let mut request = request.header("host", host).body(Body::empty()).unwrap();
    request.extensions_mut().insert(ConnectInfo(Arrived { way, from: None }));
    app.ask(request)
}

#[test]
fn each_way_answers_to_its_own_names() {
    let app = app();
    let status = |way: Way, host: &str| ask(&app, way, host, Request::get("/")).status.as_u16();
    for way in [Way::Tls, Way::Plain] {
        for host in HOSTS {
            // 401: it is asked who.
            assert_eq!([status(way, host), status(way, &format!("{host}:8086"))], [401; 2], "{host}");
        }
        assert_eq!(status(way, "BAY.local"), 401);
        for host in ["localhost", "127.0.0.1:8086", "elsewhere.example", "bay.local.elsewhere.example", "192.168.1.21", "fd00::20", ""] {
            assert_eq!(status(way, host), 421, "{host}");
        }
    }
    assert_eq!([status(Way::Loopback, "localhost"), status(Way::Loopback, "bay.local")], [401, 421]);
    // Without a network of its own the app knows no other name.
    assert_eq!(ask(&crate::app(), Way::Plain, "bay.local", Request::get("/")).status.as_u16(), 421);
}

#[test]
fn another_site_changes_nothing_by_tls_or_in_the_open() {
    let app = app();
    let post = |way: Way, header: (&str, &str)| {
        ask(&app, way, "bay.local:8086", Request::post("/device").header(header.0, header.1)).status.as_u16()
    };
    for (way, own, foreign) in [(Way::Tls, "https", "http"), (Way::Plain, "http", "https")] {
        // 401: it is let through to where it is asked who.
        assert_eq!(post(way, ("origin", &format!("{own}://bay.local:8086"))), 401);
        for origin in
            [&format!("{foreign}://bay.local:8086"), "https://bay.local", "https://elsewhere.example", "null", "https://bay.local:8087"]
        {
            assert_eq!(post(way, ("origin", origin)), 403, "{way:?} {origin}");
        }
        assert_eq!([post(way, ("sec-fetch-site", "same-site")), post(way, ("sec-fetch-site", "cross-site"))], [403; 2]);
    }
}

#[test]
fn what_is_missing_in_the_open_is_on_every_page_that_came_so() {
    let app = app();
    for path in ["/", "/new", "/device", "/verify", "/no-such-page"] {
        let of = |way: Way, host: &str| ask(&app, way, host, Request::get(path)).text.contains("Not protected.");
        assert_eq!(
            (of(Way::Plain, "bay.local"), of(Way::Tls, "bay.local"), of(Way::Loopback, "localhost")),
            (true, false, false),
            "{path}"
        );
    }
    let refused = ask(&app, Way::Plain, "elsewhere.example", Request::get("/"));
    assert!(refused.text.contains("Not protected."));
}

/// The app served on sockets of this machine, as if they were the network's.
struct Served {
    authority: Authority,
    app: SocketAddr,
    told: SocketAddr,
    code: String,
    _folder: TempDir,
}

fn served() -> Served {
    let folder = tempfile::tempdir().unwrap();
    let store = Arc::new(Sqlite::open(folder.path()).unwrap());
    let drawn = AtomicU8::new(1);
    // Other bytes each time, and nothing else is asked of them here.
    let random = move || Some([drawn.fetch_add(1, Ordering::Relaxed); 32]);
    let shop = Shop::new(Arc::<Sqlite>::clone(&store), || NOON.parse().unwrap()).with_people(store, random);
    let code = shop.first_code().unwrap().unwrap();
    let names = Names { host: "bay".parse().unwrap(), addresses: vec!["192.168.1.20".parse().unwrap()] };
    let authority = Authority::new(Key::fresh().unwrap(), &names, SystemTime::now()).unwrap();
    let leaf = authority.certify(Key::fresh().unwrap(), &names, SystemTime::now()).unwrap();
    let [loopback, app, told] = [(); 3].map(|()| TcpListener::bind("127.0.0.1:0").unwrap());
    let (at, told_at) = (app.local_addr().unwrap(), told.local_addr().unwrap());
    let trust = Trust {
        certificate: authority.certificate().to_vec(),
        fingerprint: authority.fingerprint().to_string(),
        host: authority.host().to_string(),
        app: vec![format!("https://bay.local:{}/", at.port())],
    };
    let spoken = Spoken::Tls { config: Presented::new(&leaf).unwrap().config().unwrap(), trust, told_on: vec![told] };
    let doors = Doors { loopback, lan: Some(Lan { sockets: vec![app], hosts: hosts(), spoken }) };
    thread::spawn(move || serve(shop, doors));
    Served { authority, app: at, told: told_at, code, _folder: folder }
}

/// What a server answers until it ends, head and body.
fn until_end(line: &mut (impl io::Read + io::Write), request: &str) -> (String, Vec<u8>) {
    line.write_all(request.as_bytes()).unwrap();
    let mut answer = Vec::new();
    line.read_to_end(&mut answer).unwrap();
    let end = answer.windows(4).position(|four| four == b"\r\n\r\n").unwrap();
    (String::from_utf8(answer[..end].to_vec()).unwrap(), answer[end + 4..].to_vec())
}

impl Served {
    /// A phone that trusts the authority and nothing else asks by a name.
    fn by_tls(&self, name: &'static str, request: &str) -> (String, Vec<u8>) {
        let mut trusted = RootCertStore::empty();
        trusted.add(self.authority.certificate().clone()).unwrap();
        let builder = ClientConfig::builder_with_provider(Arc::new(default_provider())).with_safe_default_protocol_versions().unwrap();
        let config = builder.with_root_certificates(trusted).with_no_client_auth();
        let mut client = ClientConnection::new(Arc::new(config), ServerName::try_from(name).unwrap()).unwrap();
        let mut socket = TcpStream::connect(self.app).unwrap();
        until_end(&mut Stream::new(&mut client, &mut socket), request)
    }

    fn in_the_open(at: SocketAddr, path: &str) -> (String, Vec<u8>) {
        until_end(&mut TcpStream::connect(at).unwrap(), &format!("GET {path} HTTP/1.1\r\nhost: bay.local\r\nconnection: close\r\n\r\n"))
    }
}

#[test]
fn a_phone_that_trusts_the_authority_is_answered_by_tls() {
    let served = served();
    // Somebody who says nothing keeps nobody waiting.
    let _silent = TcpStream::connect(served.app).unwrap();
    let posted = |path: &str, cookie: &str, form: &str| {
        format!(
            "POST {path} HTTP/1.1\r\nhost: bay.local:8086\r\norigin: https://bay.local:8086\r\ncookie: {cookie}\r\ncontent-type: application/x-www-form-urlencoded\r\ncontent-length: {}\r\nconnection: close\r\n\r\n{form}",
            form.len()
        )
    };
    let cookies = |head: &str| head.lines().filter_map(|line| line.strip_prefix("set-cookie: ")).map(str::to_owned).collect::<Vec<_>>();
    // Beyond this machine nothing is shown to a device that is not known.
    let (head, page) = served.by_tls("bay.local", "GET / HTTP/1.1\r\nhost: bay.local:8086\r\nconnection: close\r\n\r\n");
    assert!(head.starts_with("HTTP/1.1 401") && String::from_utf8(page).unwrap().contains("not known here"), "{head}");
    let entered =
        served.by_tls("bay.local", &posted("/enter", "", &format!("code={}&name=M.&secret=402817&device=phone&shared=no", served.code))).0;
    let known = cookies(&entered).remove(0);
    // Browsers take a cookie of this prefix only as it is here: RFC 6265bis, section 4.1.3.2.
    assert!(
        known.starts_with("__Host-known-8086-") && known.contains("; Path=/;") && known.ends_with("; Secure") && !known.contains("Domain"),
        "{known}"
    );
    let cookie = known.split(';').next().unwrap();
    for name in ["bay.local", "192.168.1.20"] {
        let (head, page) =
            served.by_tls(name, &format!("GET / HTTP/1.1\r\nhost: {name}:8086\r\ncookie: {cookie}\r\nconnection: close\r\n\r\n"));
        assert!(head.starts_with("HTTP/1.1 200") && String::from_utf8(page).unwrap().contains("No job is here yet"), "{head}");
        for header in ["content-security-policy: default-src 'none'", "x-content-type-options: nosniff", "referrer-policy: no-referrer"] {
            assert!(head.contains(header), "{head}");
        }
        // The same name is served in the open beside, for phones that trust nothing yet: it must not be forbidden to them.
        assert!(!head.contains("strict-transport-security"), "{head}");
    }
    let told = posted("/device", cookie, "unit=mil&theme=dark");
    let (head, _) = served.by_tls("bay.local", &told);
    let remembered = cookies(&head);
    assert_eq!(remembered.len(), 2, "{head}");
    assert!(remembered.iter().all(|cookie| cookie.ends_with("; Secure") && cookie.contains("HttpOnly")), "{remembered:?}");
    let (head, _) = served.by_tls("bay.local", &told.replace("origin: https", "origin: http"));
    assert!(head.starts_with("HTTP/1.1 403"), "{head}");
}

#[test]
fn whoever_types_the_address_without_tls_is_sent_on() {
    let served = served();
    let (head, _) = Served::in_the_open(served.app, "/jobs");
    assert!(head.starts_with("HTTP/1.1 307") && head.contains(&format!("location: https://{}/\r\n", served.app)), "{head}");
}

#[test]
fn a_request_without_tls_is_answered_once_its_head_is_there_however_it_comes() {
    let served = served();
    let is_sent_on = |head: &str| head.starts_with("HTTP/1.1 307") && head.contains(&format!("location: https://{}/\r\n", served.app));
    // In segments, the last of them in the middle of what ends it.
    for (first, rest) in [("GET / HTTP/1.1\r\nhost: ", "bay.local\r\n\r\n"), ("GET / HTTP/1.1\r\nhost: bay.local\r\n\r", "\n")] {
        let mut line = TcpStream::connect(served.app).unwrap();
        line.set_nodelay(true).unwrap();
        line.write_all(first.as_bytes()).unwrap();
        let (head, _) = until_end(&mut line, rest);
        assert!(is_sent_on(&head), "{first:?}: {head}");
    }
    // With what is sent by a form, of which nothing is looked at.
    for bytes in [10, 200_000] {
        let form = "x".repeat(bytes);
        let request = format!("POST /device HTTP/1.1\r\nhost: bay.local\r\ncontent-length: {bytes}\r\n\r\n{form}");
        let (head, _) = until_end(&mut TcpStream::connect(served.app).unwrap(), &request);
        assert!(is_sent_on(&head), "{bytes}: {head}");
    }
    // A head without an end is no request.
    let mut line = TcpStream::connect(served.app).unwrap();
    line.write_all("GET / HTTP/1.1\r\n".repeat(4000).as_bytes()).unwrap();
    let mut answer = Vec::new();
    line.read_to_end(&mut answer).unwrap();
    assert_eq!(String::from_utf8(answer).unwrap(), "");
}

#[test]
fn the_page_in_the_open_has_the_certificate_and_the_steps_and_nothing_of_the_app() {
    let served = served();
    let (head, page) = Served::in_the_open(served.told, "/");
    let page = String::from_utf8(page).unwrap();
    assert!(head.starts_with("HTTP/1.1 200") && head.contains("default-src 'none'"), "{head}");
    let wanted =
        [served.authority.fingerprint().to_string(), format!("https://bay.local:{}/", served.app.port()), "/workshop.crt".to_owned()];
    for words in wanted.iter().map(String::as_str).chain(TRUSTED_ON.iter().map(|(device, _)| *device)) {
        assert!(page.contains(words), "{words}: {page}");
    }
    assert!(!page.contains("<script"), "{page}");
    let style = page.split("href=\"").nth(1).unwrap().split('"').next().unwrap();
    assert!(Served::in_the_open(served.told, style).0.contains("content-type: text/css"));
    let (head, certificate) = Served::in_the_open(served.told, "/workshop.crt");
    assert!(head.contains("content-type: application/x-x509-ca-cert"), "{head}");
    assert_eq!(certificate, served.authority.certificate().as_ref());
    for path in ["/device", "/new", "/jobs", "/verify", "/records", "/certificate/authority.pem", "/../certificate/authority.pem"] {
        let (head, body) = Served::in_the_open(served.told, path);
        assert!(head.starts_with("HTTP/1.1 404") && body.len() < 100, "{path}: {head}");
    }
}
