//! Whatever somebody with the disk does to a record is found, and the first entry that is not as it was is named.

use std::fs;
use std::path::Path;

use lastmicron_record::{Keys, SigningKey};
use lastmicron_store::{Damage, Signer, Sqlite, Store, sign_end};

use crate::pen::{at, id, photograph, reading};

fn recorded(folder: &Path) -> String {
    let store = Sqlite::open(folder).unwrap();
    let kept = store.keep(b"a photograph").unwrap();
    for n in 1..=6 {
        let event = if n == 4 { photograph(10 + n, 1, kept) } else { reading(10 + n, 1) };
        store.append(vec![event], at(0)).unwrap();
    }
    let key = SigningKey::of("workshop", [7; 32]).unwrap();
    sign_end(&store, id(1), &Signer { keys: Keys::of(key.public()), key }, &at(1)).unwrap();
    assert_eq!(store.verify().unwrap().damage, []);
    kept.to_string()
}

fn found(change: &str) -> Vec<Damage> {
    let folder = tempfile::tempdir().unwrap();
    recorded(folder.path());
    rusqlite::Connection::open(folder.path().join("record.sqlite")).unwrap().execute_batch(change).unwrap();
    Sqlite::open_to_read(folder.path()).unwrap().verify().unwrap().damage
}

#[test]
fn an_event_that_was_altered_deleted_inserted_or_moved_is_named() {
    let entries = [
        ("UPDATE entry SET event = replace(event, '63.3', '93.3') WHERE seq = 3", 3),
        ("UPDATE entry SET event = replace(event, 'J.', 'K.') WHERE seq = 5", 5),
        ("DELETE FROM entry WHERE seq = 2", 2),
        ("DELETE FROM entry WHERE seq = 2; UPDATE entry SET seq = seq - 10 WHERE seq > 2; UPDATE entry SET seq = seq + 9 WHERE seq < 0", 2),
        ("INSERT INTO entry SELECT 99, replace(id, '7', '8'), job, 7, received, previous, event, hash FROM entry WHERE seq = 6", 7),
        ("UPDATE entry SET seq = 99 WHERE seq = 3; UPDATE entry SET seq = 3 WHERE seq = 4; UPDATE entry SET seq = 4 WHERE seq = 99", 3),
    ];
    for (change, seq) in entries {
        let damage = found(change);
        let first = damage.iter().find_map(|damage| if let Damage::Record { broken, .. } = damage { Some(broken.seq) } else { None });
        assert_eq!(first, Some(seq), "{change}: {damage:?}");
    }
}

#[test]
fn an_end_that_was_cut_off_is_found_though_what_is_noted_of_it_was_changed_too() {
    let cut = "DELETE FROM entry WHERE seq > 4;";
    assert!(matches!(found(cut)[..], [Damage::Record { .. }, ..]));
    let fits = format!("{cut} UPDATE head SET seq = 4, hash = (SELECT hash FROM entry WHERE seq = 4);");
    let what = "6 entries were signed, and there are 4: some were taken off the end".to_owned();
    assert_eq!(found(&fits), [Damage::Checkpoint { number: 1, what }]);
}

#[test]
fn a_photograph_that_was_swapped_is_found_with_the_entry_that_names_it() {
    let folder = tempfile::tempdir().unwrap();
    let name = recorded(folder.path());
    fs::write(folder.path().join("kept").join(&name[..2]).join(&name), b"another photograph").unwrap();
    let damage = Sqlite::open_to_read(folder.path()).unwrap().verify().unwrap().damage;
    assert_eq!(damage, [Damage::Kept { name, entry: Some((id(1), 4)) }]);
}
