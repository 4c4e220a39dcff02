//! What every store does with checkpoints, and what stays when a sheet is erased.

use lastmicron_record::{Checkpoint, Note, SigningKey, sha256, verify};
use lastmicron_store::{Damage, KeptCheckpoint, Report, Store, StoreError, sign_end, sign_ends};

use crate::conformance::every_store;
use crate::pen::{at, event, id, reading};

fn key(n: u8) -> SigningKey {
    SigningKey::of("workshop", [n; 32]).unwrap()
}

fn notes(store: &dyn Store, job: u64) -> Vec<Note> {
    store.checkpoints(id(job)).unwrap().into_iter().map(|kept| kept.note).collect()
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
        let want = [(first, 1), (second, 3), (third, 5)].map(|(note, second)| KeptCheckpoint { note, kept: at(second) });
        assert_eq!((store.checkpoints(id(1)).unwrap(), notes(&*store, 2)), (want.to_vec(), vec![]));
        drop(store);
        let store = open();
        assert_eq!(store.checkpoints(id(1)).unwrap(), want);
        let sizes: Vec<u64> = want.iter().map(|kept| Checkpoint::read(&kept.note).unwrap().size).collect();
        assert_eq!(sizes, [2, 3, 3]);
        assert_eq!(store.verify().unwrap(), Report { jobs: 2, entries: 4, ..Report::default() });
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
            let refused = store.keep_checkpoint(&checkpoint.sign(&key(7)), at(1));
            assert!(matches!(refused, Err(StoreError::NotHeld(_))), "{refused:?}");
        }
        let no_checkpoint: Note = sound.sign(&key(7)).to_string().replacen("record", "other", 1).parse().unwrap();
        assert!(matches!(store.keep_checkpoint(&no_checkpoint, at(1)), Err(StoreError::NotHeld(_))));
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
        assert_eq!(Checkpoint::of(&entries).unwrap().unwrap().sign(&key(7)), note);
        assert!(!serde_json::to_string(&entries).unwrap().contains("Owner"));
        assert_eq!(store.verify().unwrap(), Report { jobs: 1, entries: 2, waiting: vec![sheet], ..Report::default() });
        // And it goes on.
        assert_eq!(store.append(vec![reading(12, 1)], at(2)).unwrap()[0].as_ref().unwrap().seq, 3);
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
