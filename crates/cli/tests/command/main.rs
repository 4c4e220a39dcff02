//! The built command on good and bad folders: what it prints where, and how it ends.

#![expect(clippy::unwrap_used, reason = "a test may fail")]

mod backups;
mod bad_input;
mod export;
mod good_input;
mod import;
mod keys;
mod lan;
mod pass;
mod photo;
mod records;
mod serve;

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use tempfile::TempDir;

/// The invented job of the repository, in a room of its own.
struct Room {
    room: TempDir,
}

impl Room {
    fn new() -> Self {
        let room = tempfile::tempdir().unwrap();
        let job = room.path().join("job");
        fs::create_dir(&job).unwrap();
        let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/sage-roadster");
        for file in ["job.toml", "readings.csv", "worked.csv", "defects.csv", "gloss.csv"] {
            fs::copy(example.join(file), job.join(file)).unwrap();
        }
        Self { room }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.room.path().join(name)
    }

    /// Changes a text of one of the job's files, which must be there.
    fn change(&self, file: &str, from: &str, to: &str) {
        let path = self.path("job").join(file);
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.contains(from), "{file} has no '{from}'");
        fs::write(path, text.replacen(from, to, 1)).unwrap();
    }

    /// Names in the room, sorted.
    fn names(&self) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(self.room.path()).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    fn run(&self, arguments: &[&str]) -> Ended {
        self.run_with(arguments, "")
    }

    fn run_with(&self, arguments: &[&str], stdin: &str) -> Ended {
        let mut child = Command::new(env!("CARGO_BIN_EXE_lastmicron"))
            .args(arguments)
            .current_dir(self.room.path())
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        child.stdin.take().unwrap().write_all(stdin.as_bytes()).unwrap();
        let Output { status, stdout, stderr } = child.wait_with_output().unwrap();
        Ended { status: status.code().unwrap(), out: String::from_utf8(stdout).unwrap(), err: String::from_utf8(stderr).unwrap() }
    }
}

/// How the command ended.
struct Ended {
    status: i32,
    out: String,
    err: String,
}
