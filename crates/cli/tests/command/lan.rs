//! Phones on the local network: what is set up, and what is refused before it was.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, SystemTime};

use lastmicron_certificate::Kept;
use lastmicron_store::Sqlite;

use crate::Room;

/// An address that no machine here has: the last of its block is nobody's.
const ELSEWHERE: &str = "10.255.255.254";

#[test]
fn what_phones_trust_is_made_once_and_told_with_its_steps() {
    let room = Room::new();
    let setup = |more: &[&str]| room.run(&[&["setup", "--data", "records"], more].concat());
    assert_eq!(room.run(&["import", "job", "--data", "records"]).status, 0);
    let first = setup(&["--name", "bay", "--address", ELSEWHERE, "--address", "fd00::20"]);
    assert_eq!((first.status, first.err.as_str()), (0, ""), "{}", first.out);
    for words in [
        "Made a certificate authority of this workshop's own",
        "vouch for bay.local and for addresses of local networks",
        "Made a certificate for bay.local, 10.255.255.254, fd00::20.",
        "this machine doesn't have the address 10.255.255.254 now",
        "http://10.255.255.254:8087/",
        "\u{2588}\u{2588}",
        "iOS\n  1. ",
        "Android\n  1. ",
        "Windows\n  1. ",
        "macOS\n  1. ",
    ] {
        assert!(first.out.contains(words), "{words}: {}", first.out);
    }
    let fingerprint = |out: &str| out.lines().find(|line| line.matches(':').count() == 28).unwrap().to_owned();
    let again = setup(&["--address", "192.168.1.31"]);
    assert!(again.out.contains("Kept the certificate authority that was here"), "{}", again.out);
    assert!(again.out.contains("Made a certificate for bay.local, 192.168.1.31."), "{}", again.out);
    assert_eq!(fingerprint(&first.out), fingerprint(&again.out));
    let other = setup(&["--name", "other", "--address", ELSEWHERE]);
    assert_eq!((other.status, other.out.as_str()), (2, ""));
    assert!(
        other.err.contains("was made for bay.local and private addresses, and can't certify other.local. To begin anew"),
        "{}",
        other.err
    );
    // The records are no worse for it.
    assert_eq!(room.run(&["verify", "--data", "records"]).status, 0);
}

#[test]
fn names_and_addresses_of_the_internet_are_refused() {
    let room = Room::new();
    for (arguments, said) in [
        (["--name", "example.com"], "may be a name on the internet"),
        (["--name", "b ay"], "is no name of a machine"),
        (["--address", "198.51.100.7"], "is no address of a local network"),
        (["--address", "bay"], "is no address"),
    ] {
        let refused = room.run(&["setup", "--data", "records", arguments[0], arguments[1]]);
        assert_eq!((refused.status, refused.err.contains(said)), (2, true), "{}", refused.err);
    }
    assert_eq!(room.names(), ["job"]);
}

#[test]
fn what_is_to_be_typed_next_says_again_what_was_typed_now() {
    let room = Room::new();
    let setup = |more: &[&str]| room.run(&[&["setup", "--data", "a room", "--address", ELSEWHERE], more].concat());
    let made = setup(&["--name", "bay", "--port", "9000"]);
    assert!(made.out.contains("start the app with `lastmicron serve --lan --port 9000 --data 'a room'`"), "{}{}", made.out, made.err);
    let other = setup(&["--name", "other", "--port", "9000"]);
    assert!(
        other.err.contains("run `lastmicron setup --name other.local --address 10.255.255.254 --port 9000 --data 'a room'`;"),
        "{}",
        other.err
    );
    let moved = room.run(&["serve", "--data", "a room", "--lan", "--port", "9000"]);
    assert!(moved.err.contains("run `lastmicron setup --port 9000 --data 'a room'` again"), "{}", moved.err);
    let stick = room.run(&["serve", "--data", "records", "--lan", "--port", "9123", "--backups", "the stick"]);
    let in_the_open = "`lastmicron serve --lan --port 9123 --backups 'the stick' --data records --plain-http`";
    assert!(stick.err.contains(in_the_open), "{}", stick.err);
    // The page for phones is at the port after the app's.
    for port in ["0", "65535", "65536"] {
        let refused = setup(&["--port", port]);
        assert_eq!((refused.status, refused.err.contains("1..=65534")), (2, true), "{}", refused.err);
    }
    assert_eq!(setup(&["--name", "bay", "--port", "65534"]).status, 0);
}

#[test]
fn without_a_certificate_for_this_machine_the_network_is_not_answered() {
    let room = Room::new();
    let serve = |more: &[&str]| room.run(&[&["serve", "--data", "records", "--port", "0"], more].concat());
    let before = serve(&["--lan"]);
    assert_eq!((before.status, before.out.as_str()), (2, ""));
    assert!(before.err.contains("run `lastmicron setup --data records` first"), "{}", before.err);
    assert!(before.err.contains("`lastmicron serve --lan --port 0 --data records --plain-http`"), "{}", before.err);
    assert_eq!(serve(&["--plain-http"]).status, 2);
    let last = room.run(&["serve", "--data", "records", "--lan", "--port", "65535"]);
    assert_eq!((last.status, last.err.contains("--port 65535: the page that tells phones what to trust")), (2, true), "{}", last.err);
    // Nor where the port is another program's, on this machine alone.
    let another = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = another.local_addr().unwrap().port().to_string();
    for more in [&[][..], &["--lan", "--plain-http"]] {
        let taken = room.run(&[&["serve", "--data", "records", "--port", &port], more].concat());
        assert!(taken.status != 0 && taken.out.is_empty(), "{}", taken.out);
    }
    // Nothing was made by any of these.
    assert_eq!(room.names(), ["job"]);
    room.run(&["setup", "--data", "records", "--address", ELSEWHERE]);
    let moved = serve(&["--lan"]);
    assert_eq!((moved.status, moved.out.as_str()), (2, ""));
    assert!(
        moved.err.contains("this machine has none of these addresses now")
            && moved.err.contains("run `lastmicron setup --data records` again"),
        "{}",
        moved.err
    );
    let authority = room.path("records").join("certificate").join("authority.pem");
    fs::write(&authority, "cut short").unwrap();
    let damaged = serve(&["--lan"]);
    assert_eq!(damaged.status, 2);
    assert!(
        damaged.err.contains("authority.pem: no certificate with its key. Put back the file as it was, from a copy"),
        "{}",
        damaged.err
    );
}

#[test]
fn what_is_missing_or_spoilt_of_what_phones_trust_is_told_with_what_mends_it() {
    let room = Room::new();
    let setup = || room.run(&["setup", "--data", "records", "--address", ELSEWHERE]);
    assert_eq!(room.run(&["import", "job", "--data", "records"]).status, 0);
    assert!(!setup().out.contains("The authority before is gone"));
    let file = |name: &str| room.path("records").join("certificate").join(name);
    let copy = fs::read(file("authority.pem")).unwrap();
    let serve = || room.run(&["serve", "--data", "records", "--port", "0", "--lan"]).err;
    let doctor = || room.run(&["doctor", "--data", "records"]).out;
    for (spoil, said) in
        [(None, "app.pem: the app's certificate is missing. "), (Some(&b"\xff\xfe"[..]), "app.pem: no certificate with its key. ")]
    {
        spoil.map_or_else(|| fs::remove_file(file("app.pem")), |bytes| fs::write(file("app.pem"), bytes)).unwrap();
        let refused = serve();
        assert!(refused.contains(said) && refused.contains("by the authority that is here: phones need nothing"), "{refused}");
        let seen = doctor();
        assert!(seen.contains("PROBLEM  phones") && seen.contains("Run lastmicron setup --data records, and start"), "{seen}");
        assert!(setup().out.contains("Kept the certificate authority"));
    }
    for (spoil, said) in
        [(Some(&b"cut short"[..]), "authority.pem: no certificate"), (None, "authority.pem: the certificate authority is missing")]
    {
        spoil.map_or_else(|| fs::remove_file(file("authority.pem")), |bytes| fs::write(file("authority.pem"), bytes)).unwrap();
        let what = "Put back the file as it was, from a copy of the folder; or move the folder away and run `lastmicron setup";
        for told in [serve(), doctor()] {
            assert!(told.contains(said) && told.contains(what) && !told.contains("Run lastmicron setup"), "{told}");
        }
    }
    let anew = setup();
    assert!(anew.status == 0 && anew.out.contains("each phone that trusted it has to trust the new one"), "{}{}", anew.out, anew.err);
    assert_ne!(fs::read(file("authority.pem")).unwrap(), copy);
}

#[test]
fn a_certificate_is_not_renewed_under_an_app_that_runs() {
    let room = Room::new();
    if room.run(&["setup", "--data", "records"]).status != 0 {
        // Without a network there is nothing to renew.
        return;
    }
    let kept = Kept::within(&room.path("records"));
    let names = kept.found().unwrap().1.names().clone();
    kept.set_up(&names, SystemTime::now() - Duration::from_secs(75 * 24 * 3600)).unwrap();
    let shown = || kept.found().unwrap().1.ends();
    let before = shown();
    let runs = Sqlite::open(&room.path("records")).unwrap();
    let second = room.run(&["serve", "--data", "records", "--port", "0", "--lan"]);
    assert!(second.status == 2 && second.err.contains("another program has this record open"), "{}", second.err);
    assert_eq!(shown(), before);
    drop(runs);
    drop(Lan::serve(&room, &[]));
    assert!(shown() > before);
}

/// The app, ended with the test, and what it said before it answered.
struct Lan {
    child: Child,
    said: String,
}

impl Drop for Lan {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Lan {
    fn serve(room: &Room, more: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_lastmicron"))
            .args(["serve", "--data", "records", "--port", "0", "--lan"])
            .args(more)
            .current_dir(room.path("."))
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut said = String::new();
        let mut lines = BufReader::new(child.stdout.take().unwrap());
        while !said.contains("Ctrl+C") {
            assert!(lines.read_line(&mut said).unwrap() > 0, "{said}");
        }
        Self { child, said }
    }

    /// The first address that it said after these words.
    fn address(&self, words: &str, scheme: &str) -> String {
        assert!(self.said.contains(words), "{words}: {}", self.said);
        let after = self.said.split_once(words).unwrap().1;
        after.split_once(&format!("{scheme}://")).unwrap().1.split('/').next().unwrap().to_owned()
    }
}

fn get(address: &str) -> String {
    let mut line = TcpStream::connect(address).unwrap();
    write!(line, "GET / HTTP/1.1\r\nhost: {address}\r\nconnection: close\r\n\r\n").unwrap();
    let mut answer = String::new();
    line.read_to_string(&mut answer).unwrap();
    answer
}

#[test]
fn a_machine_on_a_network_is_found_there() {
    let room = Room::new();
    let setup = room.run(&["setup", "--data", "records"]);
    if setup.status != 0 {
        let none = "lastmicron: no address of this machine on a local network was found: connect it to the network";
        assert_eq!(setup.err, format!("{none}, or give one: lastmicron setup --address ADDRESS --data records\n"));
        // In the open nothing that is set up is looked at.
        let refused = room.run(&["serve", "--data", "records", "--port", "0", "--lan", "--plain-http"]);
        assert_eq!((refused.status, refused.err), (2, format!("{none}\n")));
        return;
    }
    let app = Lan::serve(&room, &[]);
    let told = get(&app.address("begins at", "http"));
    assert!(told.starts_with("HTTP/1.1 200") && told.contains("/workshop.crt"), "{told}");
    let by_tls = app.address("On the local network:", "https");
    assert!(get(&by_tls).contains(&format!("location: https://{by_tls}/")));
    let port = by_tls.rsplit(':').next().unwrap();
    let seen = |port: &str| room.run(&["doctor", "--data", "records", "--port", port]).out;
    let doctor = seen(port);
    assert!(
        doctor.contains(&format!("ok       phones      one that trusts the workshop's authority sees the app at https://{by_tls}/")),
        "{doctor}"
    );
    // Nobody has claimed it, and others could reach it.
    assert!(get(&app.address("", "http")).contains("This device is not known here"));
    drop(app);
    assert!(seen(port).contains("ok       phones      nobody answers them"), "{}", seen(port));
    let app = Lan::serve(&room, &["--plain-http"]);
    let page = get(&app.address("in the open:", "http"));
    assert!(page.starts_with("HTTP/1.1 401") && page.contains("Not protected."), "{page}");
}
