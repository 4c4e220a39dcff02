//! The app as it is started, and its documents.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};

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
        let mut line = TcpStream::connect(&self.address).unwrap();
        write!(line, "GET {path} HTTP/1.1\r\nhost: {}\r\nconnection: close\r\n\r\n", self.address).unwrap();
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
    assert_eq!(room.run(&["restore", &at("one"), "--data", &at("restored")]).status, 0);
    assert!(app.get("/readyz").0.starts_with("HTTP/1.1 200"));
}
