//! Disks with little room, records that are damaged, and backups, as a device sees them.

use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use axum::http::StatusCode;
use lastmicron_store::{LastBackup, STOP_BELOW, Sqlite, Store as _, StoreError, WARN_BELOW};
use lastmicron_web::{Backups, Shop, backup_told_in_browser, router, signing_told_in_browser};

use crate::{App, NOON, app, id, vehicle};

/// An app on a disk of which a test says how much is free.
fn on_a_disk(free: &Arc<AtomicU64>) -> App {
    let folder = tempfile::tempdir().unwrap();
    let free = Arc::clone(free);
    let store = Sqlite::open(folder.path()).unwrap().with_free(move || Some(free.load(Ordering::Relaxed)));
    App { router: router(Shop::new(Arc::new(store), || NOON.parse().unwrap())), folder }
}

#[test]
fn an_app_that_runs_says_so_and_whether_it_would_take_something() {
    let app = app();
    for path in ["/healthz", "/readyz"] {
        assert_eq!(app.get(path).status, StatusCode::OK);
    }
    assert!(!app.get("/").text.contains("class=\"banner\""));
}

#[test]
fn little_room_is_on_every_page_then_nothing_is_taken_and_then_it_goes_on_by_itself() {
    let free = Arc::new(AtomicU64::new(WARN_BELOW));
    let app = on_a_disk(&free);
    assert_eq!(app.send(&[vehicle(2, "Sage roadster")]).status, StatusCode::OK);
    free.store(WARN_BELOW - 1, Ordering::Relaxed);
    let page = app.get("/");
    assert!(page.text.contains("The disk has 499 MB free: make room. Below 100 MB nothing is recorded."), "{}", page.text);
    assert_eq!((app.send(&[vehicle(3, "Sage roadster")]).status, app.get("/readyz").status), (StatusCode::OK, StatusCode::OK));
    free.store(STOP_BELOW - 1, Ordering::Relaxed);
    let refused = app.send(&[vehicle(4, "Sage roadster")]);
    assert_eq!((refused.status, refused.header("content-type")), (StatusCode::INSUFFICIENT_STORAGE, "application/problem+json"));
    assert!(refused.json()["detail"].as_str().unwrap().contains("Make room, and send it again"), "{}", refused.text);
    let photograph = app.post("/photographs", b"\xff\xd8\xff a photograph".to_vec(), &[]);
    assert_eq!(photograph.status, StatusCode::INSUFFICIENT_STORAGE);
    // Pages are read, and every one says so, also one that is not there.
    for path in ["/", "/new", "/device", &format!("/jobs/{}", id(0)), "/nowhere"] {
        assert!(app.get(path).text.contains("Nothing is recorded: the disk has 99 MB free."), "{path}");
    }
    let ready = app.get("/readyz");
    assert_eq!((ready.status, ready.header("content-type")), (StatusCode::SERVICE_UNAVAILABLE, "application/problem+json"));
    assert_eq!(app.get("/healthz").status, StatusCode::OK);
    free.store(STOP_BELOW, Ordering::Relaxed);
    assert_eq!((app.send(&[vehicle(4, "Sage roadster")]).status, app.get("/readyz").status), (StatusCode::OK, StatusCode::OK));
    assert_eq!(app.send(&[vehicle(4, "Sage roadster")]).json()[0]["receipt"]["seq"], 3);
}

#[test]
fn damage_found_at_the_start_is_on_every_page_and_nothing_is_written_any_more() {
    let folder = tempfile::tempdir().unwrap();
    {
        let store = Arc::new(Sqlite::open(folder.path()).unwrap());
        let before = App { router: router(Shop::new(store, || NOON.parse().unwrap())), folder: tempfile::tempdir().unwrap() };
        before.send(&[vehicle(2, "Sage roadster"), vehicle(3, "Olive coupe")]);
    }
    let path = folder.path().join("record.sqlite");
    let mut bytes = std::fs::read(&path).unwrap();
    let at = bytes.windows(5).position(|five| five == b"Olive").unwrap();
    bytes[at] = b'A';
    std::fs::write(&path, &bytes).unwrap();
    let store = Arc::new(Sqlite::open(folder.path()).unwrap());
    assert_eq!(store.verify_newest(1).unwrap().damage.len(), 1);
    let app = App { router: router(Shop::new(store, || NOON.parse().unwrap())), folder };
    for path in ["/", "/new", &format!("/jobs/{}", id(0)), "/nowhere"] {
        assert!(app.get(path).text.contains("Nothing is recorded: what is on the disk is not what was written."), "{path}");
    }
    let refused = app.send(&[vehicle(4, "Third")]);
    assert_eq!((refused.status, refused.header("content-type")), (StatusCode::SERVICE_UNAVAILABLE, "application/problem+json"));
    assert_eq!(app.post("/photographs", b"\xff\xd8\xff a photograph".to_vec(), &[]).status, StatusCode::SERVICE_UNAVAILABLE);
    assert_eq!((app.get("/readyz").status, app.get("/healthz").status), (StatusCode::SERVICE_UNAVAILABLE, StatusCode::OK));
    assert_eq!(std::fs::read(&path).unwrap(), bytes, "what is damaged was written to");
}

#[test]
fn the_first_page_says_how_old_the_last_verified_backup_is() {
    let said = |last: Option<&str>, trouble: Option<&str>| {
        let folder = tempfile::tempdir().unwrap();
        let store = Arc::new(Sqlite::open(folder.path()).unwrap());
        let last = last.map(|made| LastBackup {
            made: made.parse().unwrap(),
            verified: NOON.parse().unwrap(),
            folder: "/srv/backups/one".into(),
            sha256: None,
        });
        let backups = Backups { last, trouble: trouble.map(str::to_owned) };
        let shop = Shop::new(store, || NOON.parse().unwrap()).with_backups(move || backups.clone());
        let app = App { router: router(shop), folder };
        let before = app.get("/").text;
        app.send(&[vehicle(2, "Sage roadster")]);
        [before, app.get("/").text]
    };
    for (last, words) in [
        (None, "<p class=\"stop\">No backup of these records is known to be whole."),
        (Some("2024-05-01T11:30:00Z"), "<p class=\"quiet\">The last verified backup is less than an hour old: one<"),
        (Some("2024-04-30T01:00:00+02:00"), "<p class=\"stop\">The last verified backup is 1.5 days old."),
        (Some("2024-04-29T23:30:00Z"), "<p class=\"quiet\">The last verified backup is 36 hours old"),
        (Some("2024-04-26T12:00:00Z"), "<p class=\"stop\">The last verified backup is 5.0 days old."),
        (Some("2024-05-02T12:00:30.123456789Z"), "was made at 2024-05-02 12:00, which is still to come by this machine"),
    ] {
        let [before, page] = said(last, None);
        assert!(page.contains(words), "{last:?}: {page}");
        // Where nothing is recorded, nothing is missing, and the age is told all the same.
        let words = if last.is_some() { words } else { "<p class=\"quiet\">No backup is known to be whole yet, and no job is recorded." };
        assert!(before.contains(words), "{last:?}: {before}");
        assert!(!page.contains("/srv") && !before.contains("/srv"), "{last:?}: {page}");
    }
    for page in said(Some("2024-05-01T11:30:00Z"), Some("the disk is full")) {
        assert!(page.contains("The last backup that was to be made was not: the disk is full."), "{page}");
    }
    assert!(!app().get("/").text.contains("backup"));
}

#[test]
fn why_no_backup_was_made_and_nothing_signed_is_no_failure_of_the_records_and_names_no_folder() {
    let path = std::path::PathBuf::from("/srv/bay/backups/daily");
    let errors = [
        StoreError::Io { path: path.clone(), what: "Input/output error (os error 5)".to_owned() },
        StoreError::Disk("unable to open database file: /srv/bay/backups/record.sqlite".to_owned()),
        StoreError::Exists(path.clone()),
        StoreError::KeyNote { path: path.clone(), why: "no key is in it".to_owned() },
        StoreError::DamagedBackup { path, why: "a photograph is missing".to_owned() },
        StoreError::Full,
        StoreError::Low { free: 1 },
    ];
    for error in errors {
        let (backup, signing) = (backup_told_in_browser(&error), signing_told_in_browser(&error));
        assert!(backup.contains("no backup was made") && signing.contains("what was recorded stays"), "{backup}; {signing}");
        for said in [backup, signing] {
            assert!(["/srv", "os error", "acknowledged", "doctor", "send it again"].iter().all(|words| !said.contains(words)), "{said}");
        }
    }
    // Where the records themselves are damaged, that is what is said.
    let damaged = StoreError::Damaged("/srv/bay/records/kept/ab has other bytes".to_owned());
    for said in [backup_told_in_browser(&damaged), signing_told_in_browser(&damaged)] {
        assert!(said.contains("not what was written") && !said.contains("/srv"), "{said}");
    }
}
