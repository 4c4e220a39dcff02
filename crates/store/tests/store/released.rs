//! What earlier versions wrote is read for ever: a folder a version of each format, never changed once it was released.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use lastmicron_job::event::Body;
use lastmicron_job::fold::fold;
use lastmicron_record::Bundle;
use lastmicron_store::{Sqlite, Store, StoreError, bring_in, restore, take_out};

fn tests() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests")
}

/// Everything in the folders of every version, with the version.
fn of_every_version(kind: &str) -> Vec<(String, PathBuf)> {
    let below = |folder: &Path| fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect::<Vec<_>>();
    let versions = below(&tests().join(kind)).into_iter();
    let mut all: Vec<_> = versions
        .flat_map(|version| {
            below(&version).into_iter().map(move |path| (version.file_name().unwrap().to_string_lossy().into_owned(), path))
        })
        .collect();
    all.sort();
    assert!(all.iter().any(|(version, _)| version == "1"), "the first version is gone");
    all
}

#[test]
fn a_bundle_of_every_version_is_brought_in_hash_for_hash_and_all_of_it_is_understood() {
    for (version, path) in of_every_version("bundles") {
        let bundle = Bundle::read(&fs::read(&path).unwrap()).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let store = Sqlite::open(folder.path()).unwrap();
        let brought = bring_in(&store, &bundle).unwrap().unwrap();
        assert_eq!((brought.events, brought.refused, brought.same), (bundle.entries.len(), 0, true), "{version}");
        assert_eq!(take_out(&store, brought.job).unwrap().unwrap(), bundle, "{version}");
        let report = store.verify().unwrap();
        assert_eq!((report.damage, report.waiting, report.kept), (vec![], vec![], bundle.kept.len() as u64));
        let standing = fold(bundle.entries.iter().map(|entry| &entry.event));
        assert_eq!(standing.unusable, [], "{version}");
    }
}

#[test]
fn the_bundle_of_the_first_version_has_every_kind_of_event_that_there_was() {
    let (_, path) = of_every_version("bundles").into_iter().find(|(version, _)| version == "1").unwrap();
    let bundle = Bundle::read(&fs::read(&path).unwrap()).unwrap();
    let kind = |body: &Body| serde_json::to_value(body).unwrap()["kind"].as_str().unwrap().to_owned();
    let kinds: BTreeSet<String> = bundle.entries.iter().map(|entry| kind(&entry.event.body)).collect();
    assert_eq!(kinds.len(), 27, "{kinds:?}");
    // [C] the hashes were computed with Python's json and hashlib.
    let standing = fold(bundle.entries.iter().map(|entry| &entry.event));
    assert_eq!((standing.panels.len(), standing.readings.len(), standing.struck.len()), (2, 2, 1));
}

#[test]
fn a_backup_of_every_version_is_restored() {
    for (version, backup) in of_every_version("backups") {
        let folder = tempfile::tempdir().unwrap();
        let into = folder.path().join("restored");
        let restored = restore(&backup, &into).unwrap();
        if restored.manifest.schema < Sqlite::SCHEMA {
            assert!(matches!(Sqlite::open(&into), Err(StoreError::Older { .. })), "{version}");
            Sqlite::bring_up(&into, &folder.path().join("before"), "2024-05-01T12:00:00Z".parse().unwrap()).unwrap();
        }
        let store = Sqlite::open(&into).unwrap();
        let ends: Vec<_> = store.jobs().unwrap().into_iter().map(|(job, head)| (job, head.seq, head.hash)).collect();
        assert_eq!(ends, restored.manifest.jobs.iter().map(|end| (end.job, end.seq, end.hash)).collect::<Vec<_>>(), "{version}");
        assert_eq!(store.verify().unwrap(), restored.report, "{version}");
    }
}
