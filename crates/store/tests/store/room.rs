//! Disks with little room, and with none.

use std::path::Path;
use std::process::Command;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use lastmicron_store::{Room, STOP_BELOW, Sqlite, Store, StoreError, WARN_BELOW, verify_backup};

use crate::pen::{at, id, reading};

#[test]
fn little_room_is_said_less_takes_nothing_and_room_that_is_made_is_used() {
    let folder = tempfile::tempdir().unwrap();
    let free = Arc::new(AtomicU64::new(WARN_BELOW));
    let told = Arc::clone(&free);
    let store = Sqlite::open(folder.path()).unwrap().with_free(move || Some(told.load(Ordering::Relaxed)));
    assert_eq!(store.room(), Ok(Room::Enough));
    free.store(WARN_BELOW - 1, Ordering::Relaxed);
    assert_eq!(store.room(), Ok(Room::Low { free: WARN_BELOW - 1 }));
    assert!(store.append(vec![reading(10, 1)], at(0)).unwrap()[0].is_ok());
    free.store(STOP_BELOW - 1, Ordering::Relaxed);
    let low = StoreError::Low { free: STOP_BELOW - 1 };
    assert_eq!(store.append(vec![reading(11, 1)], at(0)), Err(low.clone()));
    assert_eq!((store.keep(b"a photograph"), store.room()), (Err(low.clone()), Err(low.clone())));
    assert!(low.to_string().starts_with("the disk has 99 MB free, and below 100 MB nothing is taken"));
    // What is there is read all the same.
    assert_eq!(store.events(id(1), 1).unwrap().len(), 1);
    free.store(STOP_BELOW, Ordering::Relaxed);
    assert_eq!(store.append(vec![reading(11, 1)], at(0)).unwrap()[0].as_ref().unwrap().seq, 2);
    assert_eq!(Sqlite::open_to_read(folder.path()).unwrap().with_free(|| None).room(), Err(StoreError::OnlyRead));
}

#[test]
fn a_backup_that_would_take_the_last_room_is_given_up() {
    let folder = tempfile::tempdir().unwrap();
    let asked = AtomicU64::new(0);
    // Room before, and none once the database is copied.
    let free = move || Some(if asked.fetch_add(1, Ordering::Relaxed) < 2 { WARN_BELOW } else { STOP_BELOW - 1 });
    let store = Sqlite::open(&folder.path().join("record")).unwrap().with_free(free);
    store.append(vec![reading(10, 1)], at(0)).unwrap();
    assert_eq!(store.back_up(&folder.path().join("one"), at(1)), Err(StoreError::Low { free: STOP_BELOW - 1 }));
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

/// In the environment of the process that has a small disk for itself: where.
const DISK: &str = "LASTMICRON_SMALL_DISK";

#[test]
fn a_disk_that_fills_loses_nothing_and_is_used_again_when_there_is_room() {
    if let Ok(disk) = std::env::var(DISK) {
        return fill(Path::new(&disk));
    }
    let disk = tempfile::tempdir().unwrap();
    let own = std::env::current_exe().unwrap();
    // A file system in memory that only that process sees, where the system lets anybody make one.
    let inside = "mount -t tmpfs -o size=8m none \"$LASTMICRON_SMALL_DISK\" || exit 77; exec \"$0\" room::a_disk_that_fills_loses_nothing_and_is_used_again_when_there_is_room --exact --nocapture";
    let unshared =
        Command::new("unshare").args(["--user", "--map-root-user", "--mount", "sh", "-c", inside]).arg(own).env(DISK, disk.path()).output();
    let refuses = |told: &std::process::Output| told.status.code() == Some(77) || told.stderr.starts_with(b"unshare:");
    match unshared {
        Ok(ended) if !refuses(&ended) => {
            let said = String::from_utf8_lossy(&ended.stdout);
            assert!(ended.status.success() && said.contains("a disk of 8 MB"), "{said}{}", String::from_utf8_lossy(&ended.stderr));
            println!("{}", said.lines().find(|line| line.contains("a disk of 8 MB")).unwrap());
        }
        _ => println!("this system lets nobody make a small disk: it was not filled"),
    }
}

#[expect(clippy::print_stdout, reason = "what was measured, told to the process that made the disk")]
fn fill(disk: &Path) {
    let open = || Sqlite::open(&disk.join("record")).unwrap().with_free(|| None);
    let store = open();
    let ballast = disk.join("ballast");
    std::fs::write(&ballast, vec![1; 2_000_000]).unwrap();
    let mut taken = 0;
    let refused = loop {
        match store.append((0..20).map(|n| reading(1000 + taken + n, 1)).collect(), at(0)) {
            Ok(outcomes) => taken += outcomes.len() as u64,
            Err(error) => break error,
        }
    };
    assert_eq!(refused, StoreError::Full);
    assert_eq!(store.keep(&vec![7; 4_000_000]), Err(StoreError::Full));
    assert_eq!(store.back_up(&disk.join("one"), at(1)), Err(StoreError::Full));
    assert_eq!(store.events(id(1), 1).unwrap().len() as u64, taken);
    let left: Vec<_> = std::fs::read_dir(disk).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(left.len(), 2, "what was begun is left: {left:?}");
    std::fs::remove_file(&ballast).unwrap();
    assert_eq!(store.append(vec![reading(1000 + taken, 1)], at(0)).unwrap()[0].as_ref().unwrap().seq, taken + 1);
    drop(store);
    let store = open();
    let report = store.verify().unwrap();
    assert_eq!((report.entries, report.damage), (taken + 1, vec![]));
    let elsewhere = tempfile::tempdir_in("/dev/shm").unwrap();
    store.back_up(&elsewhere.path().join("one"), at(1)).unwrap();
    assert_eq!(verify_backup(&elsewhere.path().join("one")).unwrap().report.entries, taken + 1);
    println!("a disk of 8 MB: {taken} events taken before it was full, none lost, one more when there was room");
}
