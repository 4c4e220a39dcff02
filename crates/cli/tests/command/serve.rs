//! The app as it is started, and its documents.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};

use lastmicron_job::event::Id;
use lastmicron_paper::read_handover;
use lastmicron_record::{Checkpoint, SigningKey};
use lastmicron_store::{KeptCheckpoint, Sqlite, Store as _};
use serde_json::json;

use crate::Room;

/// The app, ended with the test.
struct App {
    child: Child,
    address: String,
}

impl Drop for App {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl App {
    fn over(records: &str) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_lastmicron"))
            .args(["serve", "--data", records, "--port", "0"])
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let address = line.trim().trim_start_matches("http://").trim_end_matches('/').to_owned();
        Self { child, address }
    }

    fn get(&self, path: &str) -> (String, Vec<u8>) {
        self.ask("GET", path, "")
    }

    fn post(&self, path: &str, body: &serde_json::Value) -> serde_json::Value {
        let (head, answer) = self.ask("POST", path, &body.to_string());
        assert!(head.starts_with("HTTP/1.1 200"), "{head}: {}", String::from_utf8_lossy(&answer));
        serde_json::from_slice(&answer).unwrap()
    }

    fn ask(&self, how: &str, path: &str, body: &str) -> (String, Vec<u8>) {
        let mut line = TcpStream::connect(&self.address).unwrap();
        let length = body.len();
        write!(line, "{how} {path} HTTP/1.1\r\nhost: {}\r\ncontent-length: {length}\r\nconnection: close\r\n\r\n{body}", self.address)
            .unwrap();
        let mut answer = Vec::new();
        line.read_to_end(&mut answer).unwrap();
        let end = answer.windows(4).position(|four| four == b"\r\n\r\n").unwrap();
        (String::from_utf8(answer[..end].to_vec()).unwrap(), answer[end + 4..].to_vec())
    }
}

#[test]
fn the_hand_over_of_a_job_is_a_document_whose_record_is_found_whole() {
    let room = Room::new();
    let at = |name: &str| room.path(name).display().to_string();
    let came = room.run(&["import", &at("job"), "--data", &at("records")]);
    let job = came.out.split(':').next().unwrap().to_owned();
    let app = App::over(&at("records"));
    let (head, page) = app.get("/");
    assert!(head.starts_with("HTTP/1.1 200") && String::from_utf8(page).unwrap().contains(&job), "{head}");
    let (head, pdf) = app.get(&format!("/jobs/{job}/handover.pdf"));
    assert!(head.starts_with("HTTP/1.1 200") && head.contains("application/pdf"), "{head}");
    fs::write(room.path("handover.pdf"), &pdf).unwrap();
    let found = room.run(&["verify", &at("handover.pdf")]);
    assert!(found.out.contains("the record in it is whole and ends as its pages say"), "{}{}", found.out, found.err);
    // While the app has the records open, others read them, and nobody else writes.
    for arguments in [vec!["jobs"], vec!["verify"], vec!["backup", &at("one")], vec!["export", &job, "--record", &at("taken.record")]] {
        let other = room.run(&[&arguments[..], &["--data", &at("records")]].concat());
        assert_eq!(other.status, 0, "{arguments:?}: {}", other.err);
    }
    let other = room.run(&["import", &at("job"), "--data", &at("records")]);
    assert_eq!((other.status, other.err.contains("another program has this record open")), (2, true), "{}", other.err);
    assert!(!other.err.contains("in the app"), "{}", other.err);
    // The app brings in a record's file itself.
    let record = room.run(&["import", &at("taken.record"), "--data", &at("records")]);
    assert!(record.status == 2 && record.err.contains(", or do it in the app"), "{}", record.err);
    assert_eq!(room.run(&["restore", &at("one"), "--data", &at("restored")]).status, 0);
    assert!(app.get("/readyz").0.starts_with("HTTP/1.1 200"));
}

/// The last checkpoint of a job, once it covers all of its entries: what signs does so beside the app.
fn signed_to_its_end(records: &Path, job: Id) -> KeptCheckpoint {
    let once = || {
        let store = Sqlite::open_to_read(records).unwrap();
        let size = store.jobs().unwrap().into_iter().find(|(id, _)| *id == job).unwrap().1.seq;
        let last = store.checkpoints(job).unwrap().pop();
        last.filter(|last| Checkpoint::read(&last.note).unwrap().size == size)
    };
    // Half a minute: most take a tenth of a second.
    let tries = (0..600).find_map(|_| {
        once().or_else(|| {
            std::thread::sleep(std::time::Duration::from_millis(50));
            None
        })
    });
    tries.unwrap()
}

#[test]
fn a_job_that_goes_home_is_signed_and_its_document_is_checked_with_nothing_else_and_its_owner_can_be_erased() {
    let room = Room::new();
    let at = |name: &str| room.path(name).display().to_string();
    let records = at("records");
    let job = room.run(&["import", &at("job"), "--data", &records]).out.split(':').next().unwrap().to_owned();
    let app = App::over(&records);
    let sheet = app.post("/sheets", &json!({ "salt": "5bd1e7c09a3f4e2286d0b7f1a9c3e564", "name": "A. Owner" }))["sheet"]
        .as_str()
        .unwrap()
        .to_owned();
    let event = |n: u8, body: serde_json::Value| {
        json!({ "id": format!("018f3324-c9e4-7123-8456-789abcdef0{n:02}"), "job": job, "when": "2024-05-01T09:30:00+02:00",
            "device": "018f328c-3300-70f1-8e2d-3c4b5a697887", "who": "J.", "body": body })
    };
    let owner = event(1, json!({ "kind": "vehicle-stated", "title": "Sage roadster", "substrate": "steel", "owner": sheet }));
    app.post(&format!("/jobs/{job}/events"), &json!([owner, event(2, json!({ "kind": "status-changed", "status": "gone-home" }))]));
    let kept = signed_to_its_end(&room.path("records"), job.parse().unwrap());
    let (_, pdf) = app.get(&format!("/jobs/{job}/handover.pdf"));
    fs::write(room.path("handover.pdf"), &pdf).unwrap();
    let entries = Checkpoint::read(&kept.note).unwrap().size;
    let looked = room.run(&["verify", &at("handover.pdf")]);
    let said = format!("Entries 1 to {entries} are signed by workshop+");
    assert!(looked.status == 0 && looked.out.contains(&said) && !looked.out.contains("unsigned"), "{}{}", looked.out, looked.err);
    // By who has the workshop's key from elsewhere, and by who has another.
    fs::write(room.path("keys.txt"), kept.keys.to_string()).unwrap();
    fs::write(room.path("other.txt"), format!("{}\n", SigningKey::of("workshop", [9; 32]).unwrap().public())).unwrap();
    assert!({
        let by_keys = room.run(&["verify", &at("handover.pdf"), "--keys", &at("keys.txt")]).out;
        by_keys.contains("It follows from the key in") && !by_keys.contains("compare it")
    });
    let foreign = room.run(&["verify", &at("handover.pdf"), "--keys", &at("other.txt")]);
    assert!(foreign.status == 3 && foreign.err.contains("does not follow from the key that you have"), "{}", foreign.err);
    // Not whoever sent it: they may have made it.
    assert!(foreign.err.contains("Ask the workshop itself") && !foreign.err.contains("anew"), "{}", foreign.err);
    no_keys(&room, &at("records"));
    // As the document says: with Python alone.
    let handed = read_handover(&pdf).unwrap();
    fs::write(room.path("record.jsonl"), &handed.record).unwrap();
    fs::write(room.path("checkpoint.txt"), handed.checkpoint.unwrap()).unwrap();
    fs::write(room.path("their-keys.txt"), handed.keys.unwrap()).unwrap();
    let verifier = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../verify/verify.py");
    let python = Command::new("python3")
        .arg("-B")
        .arg(verifier)
        .args([at("record.jsonl"), at("checkpoint.txt"), at("their-keys.txt")])
        .output()
        .unwrap();
    assert!(python.status.success(), "{}{}", String::from_utf8_lossy(&python.stdout), String::from_utf8_lossy(&python.stderr));
    // A byte of a page.
    let mut edited = pdf.clone();
    let middle = edited.len() / 2;
    edited[middle] ^= 1;
    fs::write(room.path("edited.pdf"), &edited).unwrap();
    let found = room.run(&["verify", &at("edited.pdf")]);
    assert_eq!(found.status, 3, "{}{}", found.out, found.err);
    assert!(found.err.contains("Get it anew from the workshop that made it"), "{}", found.err);
    fs::write(room.path("cut.pdf"), &pdf[..middle]).unwrap();
    let cut = room.run(&["verify", &at("cut.pdf")]);
    assert!(cut.status == 3 && cut.err.contains("the end of this PDF is missing: it was cut short"), "{}", cut.err);
    fs::write(room.path("added.pdf"), [&pdf[..], &b"-".repeat(2000)].concat()).unwrap();
    let added = room.run(&["verify", &at("added.pdf")]);
    assert!(added.status == 3 && added.err.contains("2000 bytes stand behind the end of this PDF"), "{}", added.err);
    assert_eq!(room.run(&["backup", &at("before"), "--data", &records]).status, 0);
    // While the app has the records open, nobody else erases.
    assert!(room.run(&["erase", &job, "--yes", "--data", &records]).err.contains("another program has this record open"));
    drop(app);
    key_is_missed(&room, &records);
    erased(&room, &job, &records);
}

/// What is no public key for `--keys`, and what `--keys` and `--key` are not for.
fn no_keys(room: &Room, records: &str) {
    let backup_key = "AGE-SECRET-KEY-1QQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQQ";
    let signing = SigningKey::of("workshop", [9; 32]).unwrap().secret_text();
    fs::write(room.path("backup-key.txt"), format!("# made for a test\n{backup_key}\n")).unwrap();
    fs::write(room.path("no-key.txt"), "no key").unwrap();
    fs::write(room.path("no-text.txt"), b"\xff\xfe").unwrap();
    let signing_keys = format!("{records}/signing-keys");
    for (keys, said) in [
        ("backup-key.txt", "backup-key.txt: this is the secret key of backups"),
        (&signing_keys, "signing-keys: this is the key with which the workshop signs"),
        (backup_key, "what --keys was given is the secret key of backups"),
        (&signing, "what --keys was given is the key with which the workshop signs"),
        ("no-key.txt", "no-key.txt: this is not a key: "),
        ("no-text.txt", "no-text.txt: this is no text"),
        ("nowhere.txt", "nowhere.txt: there is no such file"),
    ] {
        let refused = room.run(&["verify", "handover.pdf", "--keys", keys]);
        assert!(refused.status == 2 && refused.err.contains(said), "{}", refused.err);
        assert!(!refused.err.contains("SECRET-KEY-1Q") && !refused.err.contains("PRIVATE"), "a secret is said again");
    }
    let job = room.run(&["jobs", "--data", records]).out.split(' ').next().unwrap().to_owned();
    assert_eq!(room.run(&["export", &job, "--data", records, "--record", "a.record"]).status, 0);
    for (file, option, said) in [
        ("a.record", "--keys", "a.record: this is no handover, and nothing in it is signed: leave --keys out"),
        ("a.record", "--key", "a.record: this is no encrypted backup: leave --key out"),
        ("handover.pdf", "--key", "handover.pdf: this is no encrypted backup: leave --key out"),
    ] {
        let refused = room.run(&["verify", file, option, "keys.txt"]);
        assert!(refused.status == 2 && refused.err.contains(said), "{}", refused.err);
    }
}

/// The doctor tells that the key is gone by which the checkpoints here were signed, or that another is in its place.
fn key_is_missed(room: &Room, records: &str) {
    let signing = |said: &str| {
        let told = room.run(&["doctor", "--data", records]);
        assert!(told.status == 3 && told.out.contains(said), "{}{}", told.out, told.err);
    };
    let (keys, away) = (room.path("records").join("signing-keys"), room.path("away"));
    fs::rename(&keys, &away).unwrap();
    signing("PROBLEM  signing     the key that signed is gone");
    lastmicron_store::KeyFile::in_folder(&room.path("records")).open("workshop", [7; 32]).unwrap();
    signing("from which this one does not follow");
    fs::rename(&away, &keys).unwrap();
    assert!(room.run(&["doctor", "--data", records]).out.contains("ok       signing     workshop+"));
}

fn erased(room: &Room, job: &str, records: &str) {
    let at = |name: &str| room.path(name).display().to_string();
    let other = room.run_with(&["erase", job, "--data", records], "Sage\n");
    assert!(other.status == 2 && other.err.contains("that is not Sage roadster: nothing was erased"), "{}", other.err);
    assert!(!room.run(&["verify", "--data", records]).out.contains("erased"));
    let done = room.run_with(&["erase", job, "--data", records], "Sage roadster\n");
    assert!(
        done.status == 0
            && done.out.contains("1 sheet that names somebody erased")
            && done.out.contains("Backups made before have them still")
            && done.out.contains("titles and notes stays in the record"),
        "{}{}",
        done.out,
        done.err
    );
    let whole = room.run(&["verify", "--data", records]);
    assert!(whole.status == 0 && whole.out.contains("1 sheet that named somebody was erased.\n"), "{}{}", whole.out, whole.err);
    assert!(room.run(&["erase", job, "--yes", "--data", records]).out.contains("Nothing was erased"));
    // From the backup made before it is back, and that is said; the key that signs is not.
    let restored = room.run(&["restore", &at("before"), "--data", &at("restored")]);
    assert!(restored.out.contains("Sheets that were erased after that are here again"), "{}", restored.out);
    assert!(!room.path("restored").join("signing-keys").exists() && room.path("records").join("signing-keys").exists());
    assert!(!room.run(&["verify", "--data", &at("restored")]).out.contains("erased"));
    assert!(room.run(&["erase", job, "--yes", "--data", &at("restored")]).out.contains("1 sheet that names somebody erased"));
    assert_eq!(room.run(&["erase", "018f3324-c9e4-7123-8456-789abcdef099", "--yes", "--data", records]).status, 2);
    assert_eq!(room.run(&["erase", job, "--yes", "--data", &at("nowhere")]).status, 2);
    assert!(!room.path("nowhere").exists());
}
