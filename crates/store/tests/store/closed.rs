//! What is not opened, and why.

use std::fs;

use lastmicron_store::{Sqlite, Store as _, StoreError};

/// Where SQLite's file format (section 1.3) has `user_version` and `application_id`, big-endian.
const USER_VERSION_AT: usize = 60;
const APPLICATION_ID_AT: usize = 68;

fn with_header(at: usize, value: u32) -> StoreError {
    let folder = tempfile::tempdir().unwrap();
    drop(Sqlite::open(folder.path()).unwrap());
    let path = folder.path().join("record.sqlite");
    let mut bytes = fs::read(&path).unwrap();
    bytes[at..at + 4].copy_from_slice(&value.to_be_bytes());
    fs::write(&path, &bytes).unwrap();
    let refused = Sqlite::open(folder.path()).unwrap_err();
    assert_eq!(fs::read(&path).unwrap(), bytes, "what was refused was written to");
    refused
}

#[test]
fn what_a_later_version_wrote_is_refused_with_a_sentence_and_left_as_it_is() {
    let refused = with_header(USER_VERSION_AT, 7);
    assert_eq!(refused, StoreError::Newer { found: 7, known: Sqlite::SCHEMA });
    assert_eq!(
        refused.to_string(),
        format!(
            "this record is of version 7, and this program knows versions up to {}: use the program that wrote it, or a later one",
            Sqlite::SCHEMA
        )
    );
}

#[test]
fn what_another_program_wrote_is_refused_and_left_as_it_is() {
    // With a record's tables in it, it is a record whose heading was changed.
    assert!(matches!(with_header(APPLICATION_ID_AT, 0x1234), StoreError::Damaged(_)));
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("record.sqlite");
    rusqlite::Connection::open(&path).unwrap().execute_batch("CREATE TABLE entry (id TEXT)").unwrap();
    assert_eq!(Sqlite::open(folder.path()).unwrap_err(), StoreError::NotARecord(path.clone()));
    fs::remove_file(path).unwrap();
    fs::write(folder.path().join("record.sqlite"), "panel,x_mm,y_mm\n".repeat(100)).unwrap();
    assert!(matches!(Sqlite::open(folder.path()), Err(StoreError::Damaged(_))));
}

#[test]
fn a_record_is_open_once() {
    let folder = tempfile::tempdir().unwrap();
    let store = Sqlite::open(folder.path()).unwrap();
    assert_eq!(Sqlite::open(folder.path()).unwrap_err(), StoreError::InUse(folder.path().to_owned()));
    drop(store);
    assert!(Sqlite::open(folder.path()).is_ok());
}

#[test]
fn a_folder_that_cannot_be_is_said_with_its_path() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a file");
    fs::write(&file, "").unwrap();
    assert!(Sqlite::open(&file).unwrap_err().to_string().contains("a file"));
}

#[test]
fn what_was_not_finished_when_the_power_went_is_taken_away_and_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let store = Sqlite::open(folder.path()).unwrap();
    let kept = store.keep(b"a photograph").unwrap();
    drop(store);
    let unfinished = folder.path().join("kept").join(".unfinished-a1b2c3");
    fs::write(&unfinished, "half of a photo").unwrap();
    let store = Sqlite::open(folder.path()).unwrap();
    assert!(!unfinished.exists());
    assert_eq!(store.kept(kept).unwrap().as_deref(), Some(&b"a photograph"[..]));
}
