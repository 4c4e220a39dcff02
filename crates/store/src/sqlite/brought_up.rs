//! A record of an earlier version is brought up whole or left as it was, and a backup of it is there.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::Duration;

use lastmicron_job::event::Id;
use lastmicron_record::Entry;

use super::tests::{note, now};
use super::*;
use crate::backup::verify_backup;

/// Two steps that no release has: one that takes a while, and one that needs it.
const STEPS: &[&str] = &[
    "CREATE TABLE filler (n INTEGER PRIMARY KEY, text TEXT NOT NULL) STRICT;
     WITH RECURSIVE count(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM count WHERE n < 60000)
     INSERT INTO filler SELECT n, 'some text to be written ' || n FROM count;
     ALTER TABLE entry ADD COLUMN remark TEXT;",
    "UPDATE entry SET remark = (SELECT text FROM filler WHERE n = entry.arrival);",
];
/// A step that does damage.
const BAD: &str = "UPDATE entry SET seq = seq + 1000";
/// The version that this program writes, and the one after those steps.
const NOW: i64 = Tables::KNOWN.version();
const THEN: i64 = NOW + 2;

/// How many events the record has that is brought up as a large one: 3,000 unless the environment says otherwise.
const ROWS: &str = "LASTMICRON_ROWS";

/// In the environment of the process that is killed.
const FOLDER: &str = "LASTMICRON_BRING_UP";
/// How often it is killed: 12 times unless the environment says otherwise.
const KILLS: &str = "LASTMICRON_KILLS";

fn later() -> Tables {
    Tables::KNOWN.then(STEPS)
}

fn earlier(folder: &Path) -> Vec<Entry> {
    let store = Sqlite::open(folder).unwrap();
    store.append((10..200).map(note).collect(), now()).unwrap();
    store.keep(b"a photograph").unwrap();
    entries(&store)
}

fn entries(store: &Sqlite) -> Vec<Entry> {
    store.events(Id::made_at(1_714_550_000_000, [7; 10]), 1).unwrap()
}

fn open(folder: &Path, tables: Tables) -> Result<Sqlite, StoreError> {
    Sqlite::open_prepared(folder, tables, |_| Ok(()))
}

fn version(folder: &Path) -> i64 {
    later().version_of(&folder.join(DATABASE)).unwrap()
}

#[test]
fn an_earlier_record_is_opened_only_once_it_was_backed_up_and_brought_up() {
    let room = tempfile::tempdir().unwrap();
    let (folder, backup) = (room.path().join("record"), room.path().join("record").join("backups").join("before"));
    let before = earlier(&folder);
    assert_eq!(open(&folder, later()).unwrap_err(), StoreError::Older { found: NOW, known: THEN });
    assert_eq!(version(&folder), NOW);
    let made = Sqlite::bring_up_to(later(), &folder, &backup, now()).unwrap();
    assert_eq!((version(&folder), made.manifest.schema, made.report.entries), (THEN, NOW, 190));
    let store = open(&folder, later()).unwrap();
    assert_eq!((entries(&store), store.verify().unwrap().damage), (before.clone(), vec![]));
    assert_eq!(store.append(vec![note(500)], now()).unwrap()[0].as_ref().unwrap().seq, 191);
    drop(store);
    // The program that knew only the version before refuses it, and still opens the backup.
    assert_eq!(Sqlite::open(&folder).unwrap_err(), StoreError::Newer { found: THEN, known: NOW });
    assert_eq!(verify_backup(&backup).unwrap().report, Report { jobs: 1, entries: 190, kept: 1, ..Report::default() });
    let restored = room.path().join("restored");
    crate::backup::restore(&backup, &restored).unwrap();
    assert_eq!(entries(&Sqlite::open(&restored).unwrap()), before);
}

#[test]
fn a_record_of_the_first_version_is_brought_up_without_loss_and_signed_then() {
    let room = tempfile::tempdir().unwrap();
    let (folder, released) = (room.path().join("record"), Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/backups/1/olive-coupe"));
    crate::backup::restore(&released, &folder).unwrap();
    let first = Tables::ONE;
    let known = open(&folder, first).unwrap();
    let all = |store: &Sqlite| store.jobs().unwrap().into_iter().map(|(job, _)| store.events(job, 1).unwrap()).collect::<Vec<_>>();
    let before = all(&known);
    drop(known);
    assert_eq!(Sqlite::open(&folder).unwrap_err(), StoreError::Older { found: 1, known: NOW });
    let backup = Sqlite::bring_up(&folder, &room.path().join("before"), now()).unwrap();
    let store = Sqlite::open(&folder).unwrap();
    assert!(before.iter().map(Vec::len).sum::<usize>() > 20, "the fixture holds events");
    assert_eq!((all(&store), store.verify().unwrap()), (before, backup.report));
    let key = lastmicron_record::SigningKey::of("workshop", [7; 32]).unwrap();
    let signer = crate::Signer { keys: lastmicron_record::Keys::of(key.public()), key };
    assert_eq!(crate::sign_ends(&store, &signer, &now()).unwrap().len(), 1);
    drop(store);
    assert_eq!(open(&folder, first).unwrap_err(), StoreError::Newer { found: NOW, known: 1 });
}

#[test]
fn a_step_that_does_damage_or_fails_changes_nothing() {
    let room = tempfile::tempdir().unwrap();
    let (folder, backup) = (room.path().join("record"), room.path().join("before"));
    let before = earlier(&folder);
    let bad = Tables::KNOWN.then(&[BAD]);
    assert!(matches!(Sqlite::bring_up_to(bad, &folder, &backup, now()), Err(StoreError::Damaged(_))));
    assert!(!backup.exists());
    // The same once there is a backup: the step itself is undone.
    assert!(matches!(bad.bring_up(&folder.join(DATABASE)), Err(StoreError::Damaged(_))));
    let failing = Tables::KNOWN.then(&["ALTER TABLE entry ADD COLUMN remark TEXT; INSERT INTO nowhere VALUES (1)"]);
    assert!(failing.bring_up(&folder.join(DATABASE)).is_err());
    let store = Sqlite::open(&folder).unwrap();
    assert_eq!((version(&folder), entries(&store), store.verify().unwrap().damage), (NOW, before, vec![]));
}

#[test]
fn a_large_record_is_brought_up_with_every_event_as_it_was() {
    let rows: u64 = std::env::var(ROWS).map_or(3000, |rows| rows.parse().unwrap());
    let room = tempfile::tempdir().unwrap();
    let folder = room.path().join("record");
    let store = open(&folder, Tables::ONE).unwrap();
    for from in (0..rows).step_by(1000) {
        store.append((from..rows.min(from + 1000)).map(|n| note(10 + n)).collect(), now()).unwrap();
    }
    let before = store.jobs().unwrap();
    drop(store);
    let began = std::time::Instant::now();
    let made = Sqlite::bring_up(&folder, &room.path().join("before"), now()).unwrap();
    println!("{rows} events backed up, brought up and looked at in {:.1} s", began.elapsed().as_secs_f64());
    assert_eq!((made.manifest.schema, made.report.entries), (1, rows));
    let store = Sqlite::open(&folder).unwrap();
    assert_eq!((store.jobs().unwrap(), store.verify().unwrap().damage), (before, vec![]));
}

#[test]
fn a_record_is_brought_up_whole_or_not_at_all_when_the_process_is_killed() {
    if let Ok(folder) = std::env::var(FOLDER) {
        let folder = PathBuf::from(folder);
        Sqlite::bring_up_to(later(), &folder.join("record"), &folder.join("before"), now()).unwrap();
        return;
    }
    let kills: u64 = std::env::var(KILLS).map_or(12, |kills| kills.parse().unwrap());
    let (mut earlier_ones, mut later_ones) = (0, 0);
    for round in 0..kills {
        let room = tempfile::tempdir().unwrap();
        let folder = room.path().join("record");
        let before = earlier(&folder);
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["sqlite::brought_up::a_record_is_brought_up_whole_or_not_at_all_when_the_process_is_killed", "--exact"])
            .env(FOLDER, room.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let began = std::time::Instant::now();
        // From its backup on, at another moment each time; it may end by itself before.
        while !room.path().join("before").exists() && child.try_wait().unwrap().is_none() {
            thread::sleep(Duration::from_millis(1));
        }
        thread::sleep(began.elapsed().mul_f64(1.5 * round as f64 / kills as f64));
        child.kill().unwrap();
        child.wait().unwrap();
        let version = version(&folder);
        *(if version == NOW { &mut earlier_ones } else { &mut later_ones }) += 1;
        assert!(version == NOW || version == THEN, "between versions: {version}");
        let store = open(&folder, if version == NOW { Tables::KNOWN } else { later() }).unwrap();
        assert_eq!((entries(&store), store.verify().unwrap().damage), (before.clone(), vec![]));
        drop(store);
        assert_eq!(verify_backup(&room.path().join("before")).unwrap().report.entries, 190);
        Sqlite::bring_up_to(later(), &folder, &room.path().join("again"), now()).unwrap();
        assert_eq!(entries(&open(&folder, later()).unwrap()), before);
    }
    println!("{kills} kills: {} left at the earlier version, {} brought up, none between", earlier_ones, later_ones);
}
