//! The app as a phone on the local network has it: by TLS, and in the open.

use std::cell::OnceCell;
use std::fs;
use std::io;
use std::net::{Shutdown, SocketAddr, TcpListener, TcpStream};
use std::path::Path;
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::SystemTime;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use lastmicron_certificate::{Authority, Key, Leaf, Names, Presented};
use lastmicron_job::event::Body;
use lastmicron_web::{Doors, Lan, Spoken, Trust};
use serde_json::json;
use sha2::{Digest as _, Sha256};
use tokio_rustls::rustls::pki_types::CertificateDer;
use tokio_rustls::rustls::pki_types::pem::PemObject as _;

use crate::bay::{Bay, Called, in_bay_called, is_installed};
use crate::car;
use crate::offline::ENTER;
use crate::people::{OWNERS_PIN, enters};

/// How a public key on P-256 begins: RFC 5480, section 2 (the object identifiers of the key and of the curve), then 65 bytes of a point.
const P256: [u8; 26] = [
    0x30, 0x59, 0x30, 0x13, 0x06, 0x07, 0x2a, 0x86, 0x48, 0xce, 0x3d, 0x02, 0x01, 0x06, 0x08, 0x2a, 0x86, 0x48, 0xce, 0x3d, 0x03, 0x01,
    0x07, 0x03, 0x42, 0x00,
];

/// SHA-256 of a certificate's public key, by which the browser is told to trust it.
fn pinned(leaf: &Leaf) -> String {
    let certificate = CertificateDer::from_pem_slice(leaf.to_pem().as_bytes()).unwrap();
    let at = certificate.windows(P256.len()).position(|bytes| bytes == P256).unwrap();
    STANDARD.encode(Sha256::digest(&certificate[at..at + P256.len() + 65]))
}

/// The network between phones and the workshop's machine, which can be cut.
#[derive(Clone)]
struct Network {
    port: u16,
    /// The lines that are open; none while it is cut.
    lines: Arc<Mutex<Option<Vec<TcpStream>>>>,
}

impl Network {
    fn to(machine: SocketAddr) -> Self {
        let socket = TcpListener::bind("127.0.0.1:0").unwrap();
        let network = Self { port: socket.local_addr().unwrap().port(), lines: Arc::new(Mutex::new(Some(Vec::new()))) };
        let lines = Arc::clone(&network.lines);
        thread::spawn(move || {
            for phone in socket.incoming().flatten() {
                let mut lines = lines.lock().unwrap();
                // Where it is cut, nobody hears.
                let (Some(open), Ok(other)) = (lines.as_mut(), TcpStream::connect(machine)) else { continue };
                for (mut from, mut to) in
                    [(&phone, &other), (&other, &phone)].map(|(from, to)| (from.try_clone().unwrap(), to.try_clone().unwrap()))
                {
                    thread::spawn(move || {
                        let _ = io::copy(&mut from, &mut to);
                        let _ = to.shutdown(Shutdown::Both);
                    });
                }
                open.extend([phone, other]);
            }
        });
        network
    }

    fn is_cut(&self) {
        for line in self.lines.lock().unwrap().take().into_iter().flatten() {
            let _ = line.shutdown(Shutdown::Both);
        }
    }

    fn is_back(&self) {
        *self.lines.lock().unwrap() = Some(Vec::new());
    }
}

/// By a name that is not this machine's own: what a browser allows there, TLS alone allows.
fn called(loopback: TcpListener, spoken: Spoken, scheme: &str, more: Vec<String>) -> (Called, Network) {
    let socket = TcpListener::bind("127.0.0.1:0").unwrap();
    let network = Network::to(socket.local_addr().unwrap());
    let at = format!("{scheme}://bay.local:{}", network.port);
    let arguments = [vec!["--host-resolver-rules=MAP bay.local 127.0.0.1".to_owned()], more].concat();
    let lan = Lan { sockets: vec![socket], hosts: vec!["bay.local".to_owned()], spoken };
    (Called { doors: Doors { loopback, lan: Some(lan) }, at, arguments }, network)
}

/// What makes the browser trust the workshop's machine.
enum Trusted {
    /// That it was told of the authority, as a phone is.
    ByItsAuthority,
    /// That it takes this one key for good, where no tool is installed that would tell it of an authority.
    ByItsKey,
    /// Nothing.
    Not,
}

/// Tells every browser that has this home to trust an authority.
fn tell(home: &Path, authority: &Authority) {
    let (kept, file) = (home.join(".pki/nssdb"), home.join("workshop.crt"));
    fs::create_dir_all(&kept).unwrap();
    fs::write(&file, authority.certificate()).unwrap();
    let base = format!("sql:{}", kept.display());
    for arguments in [vec!["-N", "--empty-password"], vec!["-A", "-n", "workshop", "-t", "C,,", "-i", file.to_str().unwrap()]] {
        assert!(Command::new("certutil").args(["-d", &base]).args(arguments).status().unwrap().success());
    }
}

fn by_tls(loopback: TcpListener, home: &Path, trusted: &Trusted) -> (Called, Network) {
    let names = Names { host: "bay".parse().unwrap(), addresses: Vec::new() };
    let authority = Authority::new(Key::fresh().unwrap(), &names, SystemTime::now()).unwrap();
    let leaf = authority.certify(Key::fresh().unwrap(), &names, SystemTime::now()).unwrap();
    let trust = Trust {
        certificate: authority.certificate().to_vec(),
        fingerprint: authority.fingerprint().to_string(),
        host: authority.host().to_string(),
        app: Vec::new(),
    };
    let spoken = Spoken::Tls { config: Presented::new(&leaf).unwrap().config().unwrap(), trust, told_on: Vec::new() };
    let more = match trusted {
        Trusted::ByItsAuthority => {
            tell(home, &authority);
            Vec::new()
        }
        Trusted::ByItsKey => vec![format!("--ignore-certificate-errors-spki-list={}", pinned(&leaf))],
        Trusted::Not => Vec::new(),
    };
    called(loopback, spoken, "https", more)
}

fn in_the_open(loopback: TcpListener, _: &Path) -> Called {
    called(loopback, Spoken::Plain, "http", Vec::new()).0
}

/// What is seen and done alike either way.
async fn records_a_panel(bay: &Bay, is_protected: bool) {
    bay.record(car::arrived());
    let phone = bay.device().await;
    phone.open("/").await;
    phone.shows("This device is not known here").await;
    enters(&phone, &bay.code(), Some("M."), OWNERS_PIN, "phone of M.", false).await;
    phone.open(&format!("/jobs/{}/panels", car::job())).await;
    assert_eq!(phone.runs("return [isSecureContext, 'serviceWorker' in navigator]").await, json!([is_protected, is_protected]));
    assert_eq!(phone.runs("return document.body.innerText.includes('Not protected.')").await, json!(!is_protected));
    for (label, text) in [("Name", "left jamb"), ("Width", "300"), ("Height", "900")] {
        phone.fills(label, text).await;
    }
    phone.presses("Add the panel").await;
    phone.shows("The panel is added.").await;
    let events = bay.events(car::job());
    assert!(matches!(&events.last().unwrap().body, Body::PanelStated(panel) if panel.name == "left jamb"));
    // What the device remembers, told by a form.
    phone.presses("Films are shown in um").await;
    phone.waits_for("document.querySelector('.head button').innerText !== 'um'").await;
    assert_eq!(phone.cookie("unit").await["secure"], json!(is_protected));
    // Before it was known, and of a header that holds for protected pages only, the browser complains; of nothing else.
    let is_told = |complaint: &String| {
        complaint.contains("401 (Unauthorized)") || complaint.contains("Cross-Origin-Opener-Policy header has been ignored")
    };
    let complaints: Vec<String> = phone.complaints().await.into_iter().filter(|complaint| !is_told(complaint)).collect();
    assert_eq!(complaints, Vec::<String>::new());
    if let Some(breaches) = phone.breaches().await {
        assert!(breaches.is_empty(), "{breaches:?}");
    }
    phone.pictured(if is_protected { "lan-by-tls" } else { "lan-in-the-open" }).await;
    phone.leaves().await;
}

#[test]
fn by_tls_a_phone_has_a_secure_context_and_records() {
    in_bay_called(|loopback, home| by_tls(loopback, home, &Trusted::ByItsKey).0, async |bay: &Bay| records_a_panel(bay, true).await);
}

#[test]
fn a_browser_that_was_told_of_the_authority_opens_the_app_and_one_that_was_not_refuses() {
    if !is_installed("certutil") {
        eprintln!("certutil is not installed: no browser was told of an authority (Debian: apt install libnss3-tools)");
        return;
    }
    in_bay_called(
        |loopback, home| by_tls(loopback, home, &Trusted::ByItsAuthority).0,
        async |bay: &Bay| {
            let phone = bay.device().await;
            enters(&phone, &bay.code(), Some("M."), OWNERS_PIN, "phone of M.", false).await;
            phone.waits_for("navigator.serviceWorker.controller").await;
            phone.leaves().await;
        },
    );
    in_bay_called(
        |loopback, home| by_tls(loopback, home, &Trusted::Not).0,
        async |bay: &Bay| {
            let phone = bay.device().await;
            phone.open_in_vain("/enter").await;
            phone.leaves().await;
        },
    );
}

#[test]
fn by_tls_a_phone_starts_with_the_network_cut_and_sends_when_it_is_back() {
    let network = OnceCell::new();
    let called = |loopback: TcpListener, home: &Path| {
        let (called, between) = by_tls(loopback, home, &Trusted::ByItsKey);
        network.set(between).ok();
        called
    };
    let survey = format!("/jobs/{}/survey/bonnet", car::job());
    in_bay_called(called, async |bay: &Bay| {
        let network = network.get().unwrap();
        bay.record(car::arrived());
        let readings = || bay.events(car::job()).iter().filter(|event| matches!(event.body, Body::ReadingTaken(_))).count();
        let phone = bay.device().await;
        enters(&phone, &bay.code(), Some("M."), OWNERS_PIN, "phone of M.", false).await;
        phone.open(&survey).await;
        phone.takes_along().await;
        network.is_cut();
        // Nothing is open: the app is started anew, with nobody there.
        phone.takes_another_tab().await;
        phone.open(&survey).await;
        phone.shows("Not connected: this is how it stood at").await;
        phone.waits_for("document.querySelector('#place').dataset.x").await;
        phone.enters(&format!("70.3{ENTER}")).await;
        phone.shows("1 saved, 0 sent").await;
        assert_eq!(readings(), 0);
        phone.pictured("lan-cut").await;
        network.is_back();
        bay.has_come(|| readings() == 1).await;
        phone.waits_for("document.querySelector('#outbox').hidden").await;
        assert_eq!(readings(), 1);
        phone.leaves().await;
    });
}

#[test]
fn in_the_open_a_phone_records_and_is_told_what_is_missing() {
    in_bay_called(in_the_open, async |bay: &Bay| records_a_panel(bay, false).await);
}
