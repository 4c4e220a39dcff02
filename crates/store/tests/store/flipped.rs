//! Any bit that is flipped in the database, and shows, is found.

use std::fs;
use std::path::Path;

use lastmicron_job::event::Id;
use lastmicron_record::{Entry, Head, Keys, SigningKey};
use lastmicron_store::{Damage, KeptCheckpoint, Signer, Sqlite, Store, StoreError, sign_ends};

use crate::pen::{Chance, at, event, photograph, reading};

/// How many bits are flipped: 200 unless the environment says otherwise.
const FLIPS: &str = "LASTMICRON_FLIPS";

/// How often something kept is changed: 50 times unless the environment says otherwise.
const FLIPS_KEPT: &str = "LASTMICRON_FLIPS_KEPT";

/// All that a store shows.
type Shown = Result<Vec<(Id, Head, Vec<Entry>, Vec<KeptCheckpoint>)>, StoreError>;

fn shown(store: &Sqlite) -> Shown {
    store.jobs()?.into_iter().map(|(job, head)| Ok((job, head, store.events(job, 1)?, store.checkpoints(job)?))).collect()
}

/// A database of some jobs, closed.
fn database(folder: &Path) -> Vec<u8> {
    let store = Sqlite::open(folder).unwrap();
    let key = SigningKey::of("workshop", [7; 32]).unwrap();
    let signer = Signer { keys: Keys::of(key.public()), key };
    let kept = store.keep(b"a photograph").unwrap();
    for n in 0..900_u64 {
        let job = 1 + n % 5;
        let sealed = match n % 50 {
            7 => photograph(1000 + n, job, kept),
            13 => event(1000 + n, job, &format!(r#"{{"kind":"noted","text":"{}"}}"#, "chalk ".repeat(100))),
            _ => reading(1000 + n, job),
        };
        store.append(vec![sealed], at(u32::try_from(n % 60).unwrap())).unwrap();
        if n % 30 == 0 {
            sign_ends(&store, &signer, &at(1)).unwrap();
        }
    }
    drop(store);
    // Where something was read, the log stays when a store is closed; where nothing was, it goes into the database.
    drop(Sqlite::open(folder).unwrap());
    fs::read(folder.join("record.sqlite")).unwrap()
}

#[test]
fn every_flipped_bit_that_shows_is_found() {
    let flips: usize = std::env::var(FLIPS).map_or(200, |flips| flips.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let sound = database(folder.path());
    let path = folder.path().join("record.sqlite");
    let before = shown(&Sqlite::open(folder.path()).unwrap());
    assert!(before.is_ok());
    let mut chance = Chance(2);
    let (mut visible, mut missed) = (0, Vec::new());
    for _ in 0..flips {
        let bit = chance.below(sound.len() * 8);
        let mut flipped = sound.clone();
        flipped[bit / 8] ^= 1 << (bit % 8);
        fs::write(&path, &flipped).unwrap();
        for beside in ["record.sqlite-wal", "record.sqlite-shm"] {
            let _ = fs::remove_file(folder.path().join(beside));
        }
        let Ok(store) = Sqlite::open(folder.path()) else {
            // What is not opened is found.
            visible += 1;
            continue;
        };
        if shown(&store) != before {
            visible += 1;
            let is_found = store.verify().map_or(true, |report| !report.damage.is_empty());
            // And nothing more is taken.
            let is_refused = store.append(vec![reading(5000, 1)], at(0)).is_err();
            if !is_found || !is_refused {
                missed.push((bit, is_found, is_refused));
            }
        }
    }
    println!("{flips} bits flipped in {} bytes, {visible} showed, {} of them missed", sound.len(), missed.len());
    assert_eq!(missed, [], "of {visible} that showed");
    assert!(visible * 5 > flips, "only {visible} of {flips} showed: too few to tell");
}

#[test]
fn every_photograph_of_which_a_bit_is_flipped_or_an_end_is_missing_is_found() {
    let flips: usize = std::env::var(FLIPS_KEPT).map_or(50, |flips| flips.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let mut chance = Chance(6);
    let photographs: Vec<Vec<u8>> =
        (0..20_usize).map(|n| (0..1000 + 517 * n).map(|i| u8::try_from((i * i + n) % 251).unwrap()).collect()).collect();
    let store = Sqlite::open(folder.path()).unwrap();
    let kept: Vec<_> = photographs.iter().map(|bytes| store.keep(bytes).unwrap()).collect();
    assert_eq!(store.verify().unwrap().damage, []);
    for i in 0..flips {
        let which = chance.below(photographs.len());
        let (digest, bytes) = (kept[which], &photographs[which]);
        let name = digest.to_string();
        let path = folder.path().join("kept").join(&name[..2]).join(&name);
        let mut changed = bytes.clone();
        match i % 5 {
            0 => changed.truncate(chance.below(bytes.len())),
            1 => changed.extend([0; 7]),
            _ => {
                let bit = chance.below(bytes.len() * 8);
                changed[bit / 8] ^= 1 << (bit % 8);
            }
        }
        fs::write(&path, &changed).unwrap();
        let store = Sqlite::open_to_read(folder.path()).unwrap();
        assert!(matches!(store.kept(digest), Err(StoreError::Damaged(_))), "{name} is given out though it was changed");
        assert_eq!(store.verify().unwrap().damage, [Damage::Kept { name, entry: None }]);
        fs::write(&path, bytes).unwrap();
    }
    println!("{flips} changes of what is kept, all of them found");
    // And nothing more is taken.
    fs::write(folder.path().join("kept").join(&kept[0].to_string()[..2]).join(kept[0].to_string()), "").unwrap();
    assert!(!store.verify().unwrap().damage.is_empty() && store.append(vec![reading(5000, 1)], at(0)).is_err());
}

#[test]
fn a_database_of_which_an_end_is_missing_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let sound = database(folder.path());
    let before = shown(&Sqlite::open(folder.path()).unwrap());
    let mut chance = Chance(7);
    // In the middle of pages, and between them.
    for length in [4096, 1].repeat(10).into_iter().map(|of: usize| chance.below(sound.len() / of) * of).filter(|length| *length > 0) {
        fs::write(folder.path().join("record.sqlite"), &sound[..length]).unwrap();
        let Ok(store) = Sqlite::open(folder.path()) else { continue };
        assert_ne!(shown(&store), before);
        assert!(store.verify().map_or(true, |report| !report.damage.is_empty()), "{length} of {} bytes", sound.len());
        assert!(store.append(vec![reading(5000, 1)], at(0)).is_err());
    }
}
