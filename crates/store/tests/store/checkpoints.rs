//! What every store does with checkpoints, and what stays when a sheet is erased.

use lastmicron_record::{Checkpoint, Keys, Note, SigningKey, sha256, verify};
use lastmicron_store::{Damage, KeptCheckpoint, Report, Signer, Store, StoreError, sign_end, sign_ends};

use crate::conformance::every_store;
use crate::pen::{at, event, id, reading};

fn key(n: u8) -> Signer {
    let key = SigningKey::of("workshop", [n; 32]).unwrap();
    Signer { keys: Keys::of(key.public()), key }
}

fn notes(store: &dyn Store, job: u64) -> Vec<Note> {
    store.checkpoints(id(job)).unwrap().into_iter().map(|kept| kept.note).collect()
}

fn keep(store: &dyn Store, note: Note, keys: u8) -> Result<(), StoreError> {
    store.keep_checkpoint(KeptCheckpoint { note, keys: key(keys).keys, kept: at(1) })
}

#[test]
fn checkpoints_are_kept_in_order_once_each_and_are_there_when_it_is_opened_again() {
    every_store(|open, _| {
        let store = open();
        assert_eq!(sign_end(&*store, id(1), &key(7), &at(0)), Ok(None));
        store.append(vec![reading(10, 1), reading(11, 1), reading(12, 2)], at(0)).unwrap();
        let first = sign_end(&*store, id(1), &key(7), &at(1)).unwrap().unwrap();
        store.append(vec![reading(13, 1)], at(2)).unwrap();
        let second = sign_end(&*store, id(1), &key(7), &at(3)).unwrap().unwrap();
        // Again, nothing is added; by another key, it is.
        assert_eq!(sign_end(&*store, id(1), &key(7), &at(4)), Ok(Some(second.clone())));
        let third = sign_end(&*store, id(1), &key(8), &at(5)).unwrap().unwrap();
        let want = [(first, 7, 1), (second, 7, 3), (third, 8, 5)].map(|(note, n, second)| KeptCheckpoint {
            note,
            keys: key(n).keys,
            kept: at(second),
        });
        assert_eq!((store.checkpoints(id(1)).unwrap(), notes(&*store, 2)), (want.to_vec(), vec![]));
        drop(store);
        let store = open();
        assert_eq!(store.checkpoints(id(1)).unwrap(), want);
        let sizes: Vec<u64> = want.iter().map(|kept| Checkpoint::read(&kept.note).unwrap().size).collect();
        assert_eq!(sizes, [2, 3, 3]);
        assert_eq!(store.verify().unwrap(), Report { jobs: 2, entries: 4, checkpoints: 3, ..Report::default() });
    });
}

#[test]
fn once_a_day_what_has_grown_is_signed_and_nothing_else() {
    every_store(|open, _| {
        let store = open();
        store.append(vec![reading(10, 1), reading(11, 2)], at(0)).unwrap();
        assert_eq!(sign_ends(&*store, &key(7), &at(1)), Ok(vec![id(1), id(2)]));
        store.append(vec![reading(12, 2)], at(2)).unwrap();
        assert_eq!(sign_ends(&*store, &key(7), &at(3)), Ok(vec![id(2)]));
        assert_eq!(sign_ends(&*store, &key(7), &at(4)), Ok(vec![]));
        // A key that takes another's place signs what that one signed.
        assert_eq!(sign_ends(&*store, &key(8), &at(5)), Ok(vec![id(1), id(2)]));
        assert_eq!((notes(&*store, 1).len(), notes(&*store, 2).len()), (2, 3));
    });
}

#[test]
fn a_checkpoint_of_what_is_not_here_is_refused() {
    every_store(|open, _| {
        let store = open();
        store.append(vec![reading(10, 1), reading(11, 1)], at(0)).unwrap();
        let sound = Checkpoint::of(&store.events(id(1), 1).unwrap()).unwrap().unwrap();
        let wrong = [
            Checkpoint { size: 3, ..sound },
            Checkpoint { size: 1, ..sound },
            Checkpoint { job: id(2), ..sound },
            Checkpoint { root: sha256(b"another"), ..sound },
        ];
        for checkpoint in wrong {
            let refused = keep(&*store, checkpoint.sign(&key(7).key), 7);
            assert!(matches!(refused, Err(StoreError::NotHeld(_))), "{refused:?}");
        }
        let no_checkpoint: Note = sound.sign(&key(7).key).to_string().replacen("record", "other", 1).parse().unwrap();
        assert!(matches!(keep(&*store, no_checkpoint, 7), Err(StoreError::NotHeld(_))));
        // Signed by another key than the one said.
        assert!(matches!(keep(&*store, sound.sign(&key(7).key), 8), Err(StoreError::NotHeld(_))));
        assert_eq!(notes(&*store, 1), []);
    });
}

#[test]
fn a_sheet_that_is_erased_leaves_the_record_whole_and_signed() {
    every_store(|open, _| {
        let store = open();
        let text = br#"{"salt":"5bd1e7c09a3f4e2286d0b7f1a9c3e564","name":"A. Owner"}"#;
        let sheet = store.keep(text).unwrap();
        let named = event(10, 1, &format!(r#"{{"kind":"vehicle-stated","title":"Sage roadster","owner":"{sheet}"}}"#));
        store.append(vec![named, reading(11, 1)], at(0)).unwrap();
        let note = sign_end(&*store, id(1), &key(7), &at(1)).unwrap().unwrap();
        let head = verify(&store.events(id(1), 1).unwrap()).unwrap();
        assert_eq!((store.erase(sheet), store.erase(sheet)), (Ok(true), Ok(false)));
        assert_eq!(store.kept(sheet).unwrap(), None);
        let entries = store.events(id(1), 1).unwrap();
        assert_eq!(verify(&entries), Ok(head));
        assert_eq!(Checkpoint::of(&entries).unwrap().unwrap().sign(&key(7).key), note);
        assert!(!serde_json::to_string(&entries).unwrap().contains("Owner"));
        assert_eq!(store.verify().unwrap(), Report { jobs: 1, entries: 2, checkpoints: 1, erased: vec![sheet], ..Report::default() });
        // And it goes on.
        assert_eq!(store.append(vec![reading(12, 1)], at(2)).unwrap()[0].as_ref().unwrap().seq, 3);
        drop(store);
        let store = open();
        assert_eq!((store.verify().unwrap().erased, store.erased().unwrap()), (vec![sheet], [sheet].into()));
        // Kept anew, it is back.
        store.keep(text).unwrap();
        let report = store.verify().unwrap();
        assert_eq!((report.erased, report.waiting, report.kept, store.erased().unwrap()), (vec![], vec![], 1, [].into()));
    });
}

#[test]
fn a_record_written_anew_under_its_checkpoint_is_found_and_not_signed() {
    let folder = tempfile::tempdir().unwrap();
    let store = lastmicron_store::Sqlite::open(folder.path()).unwrap();
    store.append(vec![reading(10, 1), reading(11, 1)], at(0)).unwrap();
    sign_end(&store, id(1), &key(7), &at(1)).unwrap();
    drop(store);
    // Somebody who has the disk takes the last entry off, and writes another end: chain and end are sound.
    let database = rusqlite::Connection::open(folder.path().join("record.sqlite")).unwrap();
    database.execute_batch("DELETE FROM entry WHERE seq = 2; UPDATE head SET seq = 1, hash = (SELECT hash FROM entry);").unwrap();
    drop(database);
    let store = lastmicron_store::Sqlite::open(folder.path()).unwrap();
    let what = "2 entries were signed, and there are 1: some were taken off the end".to_owned();
    assert!(matches!(sign_end(&store, id(1), &key(7), &at(2)), Err(StoreError::Damaged(why)) if why.ends_with(&what)));
    assert_eq!(store.verify().unwrap().damage, [Damage::Checkpoint { number: 1, what }]);
    assert!(matches!(store.append(vec![reading(12, 1)], at(3)), Err(StoreError::Damaged(_))));
}

#[test]
fn a_checkpoint_that_was_changed_or_taken_away_is_found() {
    for change in [
        "UPDATE checkpoint SET kept = '2024-05-01T07:30:09Z' WHERE number = 2",
        "DELETE FROM checkpoint WHERE number = 2",
        "UPDATE checkpoint SET number = 7 WHERE number = 2",
        "UPDATE checkpoint SET note = replace(note, 'workshop', 'elsewhere') WHERE number = 2",
        "UPDATE checkpoint SET keys = replace(keys, 'workshop', 'elsewhere') WHERE number = 2",
    ] {
        let folder = tempfile::tempdir().unwrap();
        let store = lastmicron_store::Sqlite::open(folder.path()).unwrap();
        for n in 10..13 {
            store.append(vec![reading(n, 1)], at(0)).unwrap();
            sign_end(&store, id(1), &key(7), &at(1)).unwrap();
        }
        assert_eq!(store.verify().unwrap().damage, []);
        drop(store);
        rusqlite::Connection::open(folder.path().join("record.sqlite")).unwrap().execute_batch(change).unwrap();
        let store = lastmicron_store::Sqlite::open(folder.path()).unwrap();
        let damage = store.verify().unwrap().damage;
        assert!(matches!(damage[..], [Damage::Checkpoint { number: 2, .. }]), "{change}: {damage:?}");
    }
}

#[test]
fn a_checkpoint_that_is_signed_wrongly_is_found_though_its_row_was_hashed_anew() {
    let folder = tempfile::tempdir().unwrap();
    let store = lastmicron_store::Sqlite::open(folder.path()).unwrap();
    store.append(vec![reading(10, 1)], at(0)).unwrap();
    sign_end(&store, id(1), &key(7), &at(1)).unwrap();
    drop(store);
    let database = rusqlite::Connection::open(folder.path().join("record.sqlite")).unwrap();
    let [job, kept, note] = ["job", "kept", "note"]
        .map(|column| database.query_row(&format!("SELECT {column} FROM checkpoint"), [], |row| row.get::<_, String>(0)).unwrap());
    let keys = key(8).keys.to_string();
    let text = format!("1\n{}\n{job}\n{kept}\n{}\n{keys}{note}", "0".repeat(64), keys.len());
    let hash = sha256(text.as_bytes()).to_string();
    database.execute("UPDATE checkpoint SET keys = ?1, hash = ?2", [keys, hash]).unwrap();
    drop(database);
    let damage = lastmicron_store::Sqlite::open(folder.path()).unwrap().verify().unwrap().damage;
    let what = "this checkpoint is not to be believed: it is not signed by the key that is known".to_owned();
    assert_eq!(damage, [Damage::Checkpoint { number: 1, what }]);
}

#[test]
fn one_record_that_cannot_be_signed_keeps_no_other_from_it() {
    let folder = tempfile::tempdir().unwrap();
    let store = lastmicron_store::Sqlite::open(folder.path()).unwrap();
    store.append(vec![reading(10, 1), reading(11, 2)], at(0)).unwrap();
    drop(store);
    let database = rusqlite::Connection::open(folder.path().join("record.sqlite")).unwrap();
    database.execute("UPDATE entry SET received = '2024-05-01T07:30:09Z' WHERE job = ?1", [id(1).to_string()]).unwrap();
    drop(database);
    let store = lastmicron_store::Sqlite::open(folder.path()).unwrap();
    assert!(matches!(sign_ends(&store, &key(7), &at(1)), Err(StoreError::Damaged(_))));
    assert_eq!((notes(&store, 1).len(), notes(&store, 2).len()), (0, 1));
}

#[test]
fn a_sheet_noted_as_erased_that_nobody_named_is_damage() {
    let folder = tempfile::tempdir().unwrap();
    let store = lastmicron_store::Sqlite::open(folder.path()).unwrap();
    store.append(vec![reading(10, 1)], at(0)).unwrap();
    let nobodys = sha256(b"nobody's");
    store.erase(nobodys).unwrap();
    assert_eq!(store.verify().unwrap().damage, [Damage::Erased(nobodys)]);
}

#[test]
fn a_backup_has_checkpoints_and_what_was_erased_and_no_key_that_signs() {
    let room = tempfile::tempdir().unwrap();
    let (folder, backup, restored) = (room.path().join("record"), room.path().join("backup"), room.path().join("restored"));
    let store = lastmicron_store::Sqlite::open(&folder).unwrap();
    let signer = lastmicron_store::KeyFile::in_folder(&folder).open("workshop", [7; 32]).unwrap();
    let sheet = store.keep(br#"{"salt":"5bd1e7c09a3f4e2286d0b7f1a9c3e564","name":"A. Owner"}"#).unwrap();
    let named = event(10, 1, &format!(r#"{{"kind":"vehicle-stated","title":"Sage roadster","owner":"{sheet}"}}"#));
    store.append(vec![named], at(0)).unwrap();
    sign_end(&store, id(1), &signer, &at(1)).unwrap();
    let before = store.back_up(&room.path().join("before"), at(2)).unwrap().report;
    store.erase(sheet).unwrap();
    let report = store.back_up(&backup, at(3)).unwrap().report;
    let wanted = Report { jobs: 1, entries: 1, checkpoints: 1, ..Report::default() };
    assert_eq!((before, &report), (Report { kept: 1, ..wanted.clone() }, &Report { erased: vec![sheet], ..wanted }));
    let secret = signer.key.secret_text();
    for path in std::fs::read_dir(&backup).unwrap().map(|entry| entry.unwrap().path()).filter(|path| path.is_file()) {
        assert!(!std::fs::read(&path).unwrap().windows(secret.len()).any(|bytes| bytes == secret.as_bytes()), "{}", path.display());
        assert_ne!(path.file_name().unwrap(), lastmicron_store::SIGNING_KEYS);
    }
    // Without the key: what was signed is still checked.
    lastmicron_store::restore(&backup, &restored).unwrap();
    assert_eq!(lastmicron_store::Sqlite::open(&restored).unwrap().verify().unwrap(), report);
    // An earlier backup brings back what was erased.
    let again = room.path().join("again");
    lastmicron_store::restore(&room.path().join("before"), &again).unwrap();
    assert!(lastmicron_store::Sqlite::open(&again).unwrap().kept(sheet).unwrap().is_some());
}
