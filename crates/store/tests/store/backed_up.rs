//! A backup is whole, is restored without a difference, and is never half of one under its name.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

use lastmicron_job::event::{Digest, Id};
use lastmicron_record::{Entry, Head, sha256};
use lastmicron_store::{Backup, Damage, LastBackup, Manifest, Receipt, Report, Sqlite, Store, StoreError, restore, verify_backup};

use crate::pen::{Chance, at, id, photograph, reading};

/// All that a store holds.
type Held = Vec<(Id, Head, Vec<Entry>)>;

/// Receipts, each with the photograph that its event names.
type Acknowledged = Vec<(Receipt, Option<Digest>)>;

fn held(store: &Sqlite) -> Held {
    store.jobs().unwrap().into_iter().map(|(job, head)| (job, head, store.events(job, 1).unwrap())).collect()
}

/// A store with two jobs and a photograph, and one that no event names yet.
fn some(folder: &Path) -> Sqlite {
    let store = Sqlite::open(folder).unwrap();
    let digest = store.keep(b"a photograph of the boot lid").unwrap();
    store.keep(b"one whose event is still under way").unwrap();
    store.append((10..60).map(|n| reading(n, 1 + n % 2)).collect(), at(0)).unwrap();
    store.append(vec![photograph(60, 1, digest), photograph(61, 2, sha256(b"not sent yet"))], at(1)).unwrap();
    store
}

/// Every file below a folder, with its bytes.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.insert(path.clone(), fs::read(path).unwrap());
        }
    }
    found
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

#[test]
fn what_is_restored_is_what_was_backed_up() {
    let room = tempfile::tempdir().unwrap();
    let store = some(&room.path().join("record"));
    let (backup, into) = (room.path().join("backups").join("one"), room.path().join("restored"));
    fs::create_dir(room.path().join("backups")).unwrap();
    let made = store.back_up(&backup, at(2)).unwrap();
    assert_eq!(made.report, Report { jobs: 2, entries: 52, kept: 2, waiting: vec![sha256(b"not sent yet")], ..Report::default() });
    assert_eq!((made.manifest.jobs.len(), made.manifest.files.len(), &made.manifest.made), (2, 3, &at(2)));
    assert_eq!(verify_backup(&backup).unwrap(), made);
    assert_eq!(names(&room.path().join("backups")), ["one"]);
    assert_eq!(restore(&backup, &into).unwrap(), made);
    let restored = Sqlite::open(&into).unwrap();
    assert_eq!(held(&restored), held(&store));
    for bytes in [&b"a photograph of the boot lid"[..], b"one whose event is still under way"] {
        assert_eq!(restored.kept(sha256(bytes)).unwrap().as_deref(), Some(bytes));
    }
    // It is a record like any other: what is sent again gets its receipt, and new events follow.
    let again = restored.append(vec![reading(10, 1), reading(70, 1)], at(3)).unwrap();
    assert_eq!(again[0], store.append(vec![reading(10, 1)], at(3)).unwrap()[0]);
    assert!(again[1].is_ok() && restored.verify().unwrap().damage.is_empty());
    // And restoring changed nothing in the backup.
    assert_eq!(verify_backup(&backup).unwrap(), made);
}

#[test]
fn under_load_everything_acknowledged_before_is_in_the_backup_and_nothing_is_invented() {
    const WRITERS: u64 = 4;
    let room = tempfile::tempdir().unwrap();
    let store = Sqlite::open(&room.path().join("record")).unwrap();
    let acknowledged: Mutex<Acknowledged> = Mutex::default();
    let is_over = AtomicBool::new(false);
    let mut backups: Vec<(PathBuf, Acknowledged)> = Vec::new();
    thread::scope(|scope| {
        for writer in 0..WRITERS {
            let (store, acknowledged, is_over) = (&store, &acknowledged, &is_over);
            scope.spawn(move || {
                for i in 0.. {
                    if is_over.load(Ordering::Relaxed) {
                        break;
                    }
                    let n = 1000 + i * WRITERS + writer;
                    let kept = (i % 10 == 0).then(|| store.keep(format!("photograph {n}").repeat(50).as_bytes()).unwrap());
                    let sealed = kept.map_or_else(|| reading(n, 1 + n % 3), |digest| photograph(n, 1 + n % 3, digest));
                    let receipt = store.append(vec![sealed], at(1)).unwrap().remove(0).unwrap();
                    acknowledged.lock().unwrap().push((receipt, kept));
                }
            });
        }
        for n in 0..3 {
            while acknowledged.lock().unwrap().len() < 50 * (n + 1) {
                thread::yield_now();
            }
            let target = room.path().join("record").join("backups").join(format!("{n}"));
            let before = acknowledged.lock().unwrap().clone();
            store.back_up(&target, at(2)).unwrap();
            backups.push((target, before));
        }
        is_over.store(true, Ordering::Relaxed);
    });
    let all: BTreeSet<Id> = acknowledged.into_inner().unwrap().into_iter().map(|(receipt, _)| receipt.id).collect();
    for (backup, before) in backups {
        let into = room.path().join("restored").join(backup.file_name().unwrap());
        restore(&backup, &into).unwrap();
        let restored = Sqlite::open(&into).unwrap();
        for (receipt, kept) in &before {
            let entry = restored.events(receipt.job, receipt.seq).unwrap().remove(0);
            assert_eq!((entry.event.id, entry.hash), (receipt.id, receipt.hash));
            assert!(kept.is_none_or(|digest| restored.kept(digest).unwrap().is_some()));
        }
        // What came while it was made may be in it, as it is in the store, and nothing else.
        let entries: Vec<Entry> = held(&restored).into_iter().flat_map(|(_, _, entries)| entries).collect();
        assert!(entries.len() >= before.len() && entries.iter().all(|entry| all.contains(&entry.event.id)));
        for (job, head, entries) in held(&restored) {
            assert_eq!(store.events(job, 1).unwrap()[..entries.len()], entries);
            assert_eq!(head.seq, entries.len() as u64);
        }
        let report = restored.verify().unwrap();
        assert_eq!((report.damage, report.waiting), (vec![], vec![]));
        println!("{}: {} acknowledged before, {} restored", backup.display(), before.len(), entries.len());
    }
}

#[test]
fn what_is_there_is_never_written_over() {
    let room = tempfile::tempdir().unwrap();
    let store = some(&room.path().join("record"));
    let (backup, file) = (room.path().join("one"), room.path().join("a file"));
    fs::write(&file, "mine").unwrap();
    store.back_up(&backup, at(2)).unwrap();
    let before = files(room.path());
    for target in [&backup, &file, &room.path().join("record")] {
        assert_eq!(store.back_up(target, at(3)), Err(StoreError::Exists(target.clone())));
    }
    for into in [room.path(), &room.path().join("record"), &backup] {
        assert_eq!(restore(&backup, into), Err(StoreError::NotEmpty(into.to_owned())));
    }
    assert!(restore(&backup, &file).is_err());
    assert_eq!(files(room.path()), before);
    // A backup is not opened as a record: it would be written to.
    assert_eq!(Sqlite::open(&backup).unwrap_err(), StoreError::IsABackup(backup.clone()));
    assert_eq!(Sqlite::open_to_read(&backup).unwrap_err(), StoreError::IsABackup(backup.clone()));
    assert_eq!(files(room.path()), before);
}

#[test]
fn what_has_no_manifest_is_told_by_what_it_is() {
    let room = tempfile::tempdir().unwrap();
    let at_ = |name: &str| room.path().join(name);
    some(&at_("record")).back_up(&at_("one"), at(2)).unwrap();
    // Records, and a backup that lost its manifest, can't be told apart: neither is said to be the other.
    fs::remove_file(at_("one").join("manifest.json")).unwrap();
    for path in [at_("record"), at_("one")] {
        assert_eq!(verify_backup(&path), Err(StoreError::NoManifest(path.clone())));
        assert_eq!(restore(&path, &at_("into")), Err(StoreError::NoManifest(path)));
    }
    fs::rename(at_("one"), at_("one.partial")).unwrap();
    let not = |path: &Path, why: &str| Err(StoreError::NotABackup { path: path.to_owned(), why: why.to_owned() });
    assert_eq!(verify_backup(&at_("one.partial")), not(&at_("one.partial"), "it came to no end, as its name says"));
    assert_eq!(verify_backup(&at_("nowhere")), not(&at_("nowhere"), "nothing is there"));
    fs::create_dir(at_("other")).unwrap();
    assert_eq!(verify_backup(&at_("other")), not(&at_("other"), "there is no manifest.json in it"));
    fs::write(at_("record").join("restore-unfinished"), "").unwrap();
    assert_eq!(verify_backup(&at_("record")), Err(StoreError::Unfinished(at_("record"))));
    assert!(!at_("into").exists());
}

#[test]
fn whatever_is_changed_in_a_backup_is_found_and_such_a_one_is_not_restored() {
    let room = tempfile::tempdir().unwrap();
    let (backup, into) = (room.path().join("one"), room.path().join("restored"));
    some(&room.path().join("record")).back_up(&backup, at(2)).unwrap();
    let sound = files(&backup);
    let is_found = || {
        let looked = verify_backup(&backup);
        let is_found = looked.as_ref().map_or(true, |backup| !backup.report.damage.is_empty());
        assert!(restore(&backup, &into).is_err() == is_found, "{looked:?}");
        assert!(!is_found || !into.exists());
        let _ = fs::remove_dir_all(&into);
        is_found
    };
    assert!(!is_found());
    let mut chance = Chance(5);
    for (path, bytes) in &sound {
        for _ in 0..60 {
            let mut changed = bytes.clone();
            let bit = chance.below(bytes.len() * 8);
            changed[bit / 8] ^= 1 << (bit % 8);
            fs::write(path, &changed).unwrap();
            // White space in the manifest says nothing.
            let says_the_same = path.ends_with("manifest.json")
                && serde_json::from_slice::<serde_json::Value>(&changed).ok() == serde_json::from_slice(bytes).ok();
            assert!(is_found() || says_the_same, "{}: bit {bit}", path.display());
        }
        fs::write(path, &bytes[..bytes.len() / 2]).unwrap();
        assert!(is_found(), "{} cut short", path.display());
        fs::remove_file(path).unwrap();
        assert!(is_found(), "{} gone", path.display());
        fs::write(path, bytes).unwrap();
    }
    let foreign = backup.join("record.sqlite-journal");
    fs::write(&foreign, "x").unwrap();
    let looked = verify_backup(&backup).unwrap();
    assert_eq!(looked.report.damage, [Damage::Foreign { name: "record.sqlite-journal".to_owned() }]);
    let why = looked.report.damage[0].to_string();
    assert_eq!(looked.sound_at(&backup), Err(StoreError::DamagedBackup { path: backup.clone(), why }));
    assert!(is_found());
    fs::remove_file(foreign).unwrap();
    assert!(!is_found());
}

#[test]
fn a_manifest_leads_nowhere_else_and_a_later_one_is_refused_with_a_sentence() {
    let room = tempfile::tempdir().unwrap();
    let backup = room.path().join("one");
    some(&room.path().join("record")).back_up(&backup, at(2)).unwrap();
    let path = backup.join("manifest.json");
    let text = fs::read_to_string(&path).unwrap();
    fs::write(&path, text.replacen("\"version\": 1", "\"version\": 2", 1)).unwrap();
    let refused = verify_backup(&backup).unwrap_err();
    assert_eq!(refused, StoreError::NewerBackup { found: 2, known: 1 });
    assert!(refused.to_string().starts_with("this backup is of version 2, and this program reads versions up to 1: use the program"));
    // With a hash that fits: whoever wrote it.
    let mut value: serde_json::Value = serde_json::from_str(&text).unwrap();
    value["manifest"]["files"][0]["path"] = "../outside".into();
    value["hash"] = sha256(&lastmicron_record::canonical(&value["manifest"]).unwrap()).to_string().into();
    fs::write(&path, value.to_string()).unwrap();
    assert!(matches!(verify_backup(&backup), Err(StoreError::DamagedBackup { .. })));
    assert!(restore(&backup, &room.path().join("restored")).is_err());
    assert_eq!(names(room.path()), ["one", "record"]);
}

#[test]
fn damage_is_not_backed_up_and_leaves_nothing_and_nothing_more_is_taken() {
    let room = tempfile::tempdir().unwrap();
    let record = room.path().join("record");
    let store = some(&record);
    let name = sha256(b"a photograph of the boot lid").to_string();
    let path = record.join("kept").join(&name[..2]).join(&name);
    fs::write(&path, b"a photogRaph of the boot lid").unwrap();
    let backups = room.path().join("backups");
    assert_eq!(store.back_up(&backups.join("one"), at(2)), Err(StoreError::NoFolder(backups.clone())));
    fs::create_dir(&backups).unwrap();
    assert!(matches!(store.back_up(&backups.join("one"), at(2)), Err(StoreError::Damaged(_))));
    assert_eq!(names(&backups), [""; 0]);
    assert!(matches!(store.append(vec![reading(90, 1)], at(3)), Err(StoreError::Damaged(_))));
    assert!(matches!(store.keep(b"more"), Err(StoreError::Damaged(_))));
}

#[cfg(unix)]
#[test]
fn a_photograph_is_kept_once_in_the_backups_beside_each_other_and_anew_where_it_was_damaged() {
    use std::os::unix::fs::MetadataExt as _;
    let room = tempfile::tempdir().unwrap();
    let store = some(&room.path().join("record"));
    let name = sha256(b"a photograph of the boot lid").to_string();
    let of = |backup: &str| room.path().join("backups").join(backup).join("kept").join(&name[..2]).join(&name);
    fs::create_dir(room.path().join("backups")).unwrap();
    for backup in ["1", "2"] {
        store.back_up(&room.path().join("backups").join(backup), at(2)).unwrap();
    }
    let file = |backup| fs::metadata(of(backup)).unwrap().ino();
    assert_eq!(file("1"), file("2"));
    fs::write(of("2"), "damaged").unwrap();
    store.back_up(&room.path().join("backups").join("3"), at(2)).unwrap();
    assert_ne!(file("3"), file("2"));
    assert!(verify_backup(&room.path().join("backups").join("3")).unwrap().report.damage.is_empty());
}

#[test]
fn while_one_writes_another_reads_backs_up_and_changes_nothing() {
    let room = tempfile::tempdir().unwrap();
    let record = room.path().join("record");
    let store = some(&record);
    let reader = Sqlite::open_to_read(&record).unwrap();
    assert_eq!(held(&reader), held(&store));
    store.append(vec![reading(80, 1)], at(2)).unwrap();
    assert_eq!(held(&reader), held(&store));
    assert_eq!(reader.verify().unwrap(), store.verify().unwrap());
    assert_eq!(reader.append(vec![reading(81, 1)], at(2)), Err(StoreError::OnlyRead));
    assert_eq!(reader.keep(b"more"), Err(StoreError::OnlyRead));
    assert_eq!(reader.back_up(&room.path().join("one"), at(3)).unwrap().report.entries, 53);
    drop(reader);
    assert!(store.append(vec![reading(82, 1)], at(2)).unwrap()[0].is_ok());
    drop(store);
    // Closed, too; and where none is, none is made.
    assert_eq!(Sqlite::open_to_read(&record).unwrap().verify().unwrap().entries, 54);
    let nowhere = room.path().join("nowhere");
    assert_eq!(Sqlite::open_to_read(&nowhere).unwrap_err(), StoreError::NoRecord(nowhere));
    assert_eq!(names(room.path()), ["one", "record"]);
}

/// In the environment of a process that is killed: the folder.
const FOLDER: &str = "LASTMICRON_BACKUP_FOLDER";
/// How often: 10 times unless the environment says otherwise.
const KILLS: &str = "LASTMICRON_KILLS";

#[test]
fn a_backup_and_what_is_restored_are_whole_or_not_there_when_the_process_is_killed() {
    if let Ok(folder) = std::env::var(FOLDER) {
        let folder = PathBuf::from(folder);
        let store = Sqlite::open_to_read(&folder.join("record")).unwrap();
        for n in 0.. {
            let backup = folder.join("backups").join(format!("{}-{n}", std::process::id()));
            store.back_up(&backup, at(2)).unwrap();
            restore(&backup, &folder.join("restored").join(format!("{}-{n}", std::process::id()))).unwrap();
        }
    }
    let kills: usize = std::env::var(KILLS).map_or(10, |kills| kills.parse().unwrap());
    let room = tempfile::tempdir().unwrap();
    let store = some(&room.path().join("record"));
    for n in 0..6 {
        store.keep(format!("photograph {n}").repeat(3000).as_bytes()).unwrap();
    }
    let everything = held(&store);
    fs::create_dir(room.path().join("backups")).unwrap();
    let mut chance = Chance(3);
    for round in 0..kills {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["backed_up::a_backup_and_what_is_restored_are_whole_or_not_there_when_the_process_is_killed", "--exact"])
            .env(FOLDER, room.path())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // By turns while the first is restored and while the second is backed up, or a little later.
        let own = format!("{}-0", child.id());
        let (backup, restored) = (room.path().join("backups").join(&own), room.path().join("restored").join(&own));
        let is_restored = || restored.join("record.sqlite").exists() && !restored.join("restore-unfinished").exists();
        let is_time = || if round % 2 == 0 { backup.exists() } else { is_restored() };
        while !is_time() {
            assert!(child.try_wait().unwrap().is_none(), "it ended by itself");
            thread::sleep(Duration::from_millis(1));
        }
        thread::sleep(Duration::from_millis(u64::try_from(chance.below(80)).unwrap()));
        child.kill().unwrap();
        child.wait().unwrap();
    }
    let (mut whole, mut half, mut restored, mut unfinished) = (0, 0, 0, 0);
    for name in names(&room.path().join("backups")) {
        if name.ends_with(".partial") {
            half += 1;
        } else {
            assert_eq!(verify_backup(&room.path().join("backups").join(&name)).unwrap().report.damage, [], "{name}");
            whole += 1;
        }
    }
    for name in names(&room.path().join("restored")) {
        let folder = room.path().join("restored").join(&name);
        match Sqlite::open(&folder) {
            // Killed between making the folder and marking it: it is empty still, and a new record was begun.
            Ok(store) if held(&store).is_empty() && !folder.join("kept").read_dir().unwrap().any(|_| true) => unfinished += 1,
            Ok(store) => {
                assert_eq!((held(&store), store.verify().unwrap().kept), (everything.clone(), 8), "{name}");
                restored += 1;
            }
            Err(StoreError::Unfinished(_)) => unfinished += 1,
            Err(other) => panic!("{name}: {other}"),
        }
    }
    println!(
        "{kills} kills: {whole} backups whole, {half} left under another name; {restored} restored whole, {unfinished} known to be unfinished"
    );
    assert!(whole >= kills && restored > 0, "too few to tell");
}

#[test]
fn a_folder_that_a_backup_was_being_restored_into_is_neither_opened_nor_restored_into() {
    let room = tempfile::tempdir().unwrap();
    let (backup, into) = (room.path().join("one"), room.path().join("restored"));
    some(&room.path().join("record")).back_up(&backup, at(2)).unwrap();
    fs::create_dir(&into).unwrap();
    fs::write(into.join("restore-unfinished"), "").unwrap();
    for refused in [Sqlite::open(&into).unwrap_err(), Sqlite::open_to_read(&into).unwrap_err(), restore(&backup, &into).unwrap_err()] {
        assert_eq!(refused, StoreError::Unfinished(into.clone()));
    }
}

#[test]
fn the_last_backup_is_noted_beside_the_record_and_an_older_one_does_not_take_its_place() {
    let room = tempfile::tempdir().unwrap();
    assert_eq!(LastBackup::read(room.path()), None);
    let note = |made, verified| LastBackup { made: at(made), verified: at(verified), folder: room.path().join("one"), sha256: None };
    for (noted, read) in [(note(5, 6), note(5, 6)), (note(4, 9), note(5, 6)), (note(5, 8), note(5, 8)), (note(7, 7), note(7, 7))] {
        noted.note(room.path()).unwrap();
        assert_eq!(LastBackup::read(room.path()), Some(read));
    }
    fs::write(room.path().join("last-backup.json"), "{").unwrap();
    assert_eq!(LastBackup::read(room.path()), None);
}

#[test]
fn a_manifest_tells_what_is_in_it_without_a_look_at_the_rest() {
    let room = tempfile::tempdir().unwrap();
    let backup = room.path().join("one");
    let Backup { manifest, .. } = some(&room.path().join("record")).back_up(&backup, at(2)).unwrap();
    fs::remove_dir_all(backup.join("kept")).unwrap();
    assert_eq!(Manifest::read(&backup).unwrap(), manifest);
    assert_eq!(manifest.bytes(), manifest.files.iter().map(|file| file.bytes).sum::<u64>());
    assert_eq!((manifest.schema, manifest.jobs[0].job, manifest.jobs[0].seq), (Sqlite::SCHEMA, id(1), 26));
}
