//! An encrypted backup is what a plain one is, opens with its key alone, and shows every cut and every change.

use std::collections::BTreeMap;
use std::fs;
use std::io::Read as _;
use std::iter;
use std::path::{Path, PathBuf};

use lastmicron_record::sha256;
use lastmicron_store::{
    BackupIdentity, BackupKey, Manifest, Sqlite, Store, StoreError, is_encrypted, restore, restore_encrypted, verify_backup,
    verify_encrypted,
};

use crate::pen::{Chance, at, photograph, reading};

/// Bytes of a part that age encrypts at once, and of its tag (C2SP age-encryption.org/v1, payload).
const PART: usize = 64 * 1024 + 16;

/// A record with a photograph of several parts.
fn some(folder: &Path) -> Sqlite {
    let store = Sqlite::open(folder).unwrap();
    let mut chance = Chance(11);
    let bytes: Vec<u8> = (0..300_000).map(|_| u8::try_from(chance.below(256)).unwrap()).collect();
    let digest = store.keep(&bytes).unwrap();
    store.keep(b"one whose event is still under way").unwrap();
    store.append((10..40).map(|n| reading(n, 1 + n % 2)).collect(), at(0)).unwrap();
    store.append(vec![photograph(60, 1, digest)], at(1)).unwrap();
    store
}

fn key_of(identity: &BackupIdentity) -> BackupKey {
    BackupKey { recipient: identity.recipient(), made: at(0), checked: Some(at(1)) }
}

/// Every file below a folder, by its path in it.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(open) = folders.pop() {
        for entry in fs::read_dir(open).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                found.insert(path.strip_prefix(folder).unwrap().to_owned(), fs::read(&path).unwrap());
            }
        }
    }
    found
}

fn is_empty(folder: &Path) -> bool {
    fs::read_dir(folder).map_or(true, |mut entries| entries.next().is_none())
}

#[test]
fn what_is_restored_of_an_encrypted_backup_is_what_is_restored_of_a_plain_one() {
    let room = tempfile::tempdir().unwrap();
    let at_ = |name: &str| room.path().join(name);
    let store = some(&at_("record"));
    let identity = BackupIdentity::generate();
    let names = |folder: &str| files(&at_(folder)).into_keys().collect::<Vec<_>>();
    let before = names("record");
    let (file, plain) = (at_("backups").join("may.tar.age"), at_("plain"));
    // A folder that is not there is not made: it may be a stick's.
    assert_eq!(store.back_up_encrypted(&file, &key_of(&identity), at(2)), Err(StoreError::NoFolder(at_("backups"))));
    fs::create_dir(at_("backups")).unwrap();
    let encrypted = store.back_up_encrypted(&file, &key_of(&identity), at(2)).unwrap();
    let made = store.back_up(&plain, at(2)).unwrap();
    assert_eq!(encrypted.backup, made);
    assert_eq!(encrypted.sha256, sha256(&fs::read(&file).unwrap()));
    // Nothing plain is left beside the record, nor beside the file.
    assert_eq!(names("record"), before);
    assert_eq!(names("backups"), [Path::new("may.tar.age")]);
    assert_eq!(verify_encrypted(&file, &identity).unwrap(), made);
    assert_eq!(restore_encrypted(&file, &identity, &at_("a"), &at(5)).unwrap(), restore(&plain, &at_("b")).unwrap());
    // Beside the first its key is noted, as given back: it was.
    assert_eq!(BackupKey::read(&at_("a")), Ok(Some(BackupKey { recipient: identity.recipient(), made: at(5), checked: Some(at(5)) })));
    let mut restored = files(&at_("a"));
    restored.remove(Path::new("backup-key.json")).unwrap();
    assert_eq!(restored, files(&at_("b")));
    let restored = Sqlite::open(&at_("a")).unwrap();
    assert_eq!((restored.jobs().unwrap(), restored.verify().unwrap()), (store.jobs().unwrap(), store.verify().unwrap()));
    // Into nothing that is there, and over nothing.
    assert_eq!(restore_encrypted(&file, &identity, &at_("b"), &at(5)), Err(StoreError::NotEmpty(at_("b"))));
    assert_eq!(store.back_up_encrypted(&file, &key_of(&identity), at(3)), Err(StoreError::Exists(file.clone())));
    assert_eq!(store.back_up_encrypted(&plain, &key_of(&identity), at(3)), Err(StoreError::Exists(plain)));
}

#[test]
fn the_file_is_of_the_standard_format_and_holds_a_plain_backup_in_a_folder_of_its_name() {
    let room = tempfile::tempdir().unwrap();
    let store = some(&room.path().join("record"));
    let identity = BackupIdentity::generate();
    let file = room.path().join("may.tar.age");
    let made = store.back_up_encrypted(&file, &key_of(&identity), at(2)).unwrap().backup;
    let bytes = fs::read(&file).unwrap();
    assert!(bytes.starts_with(b"age-encryption.org/v1\n-> X25519 ") && is_encrypted(&file));
    assert!(!bytes.windows(8).any(|found| found == b"manifest"));
    // Read without this program's own reader, from the key as it stands in its file: by the format's own, and a plain unpacking.
    let secret: age::x25519::Identity = identity.file(&at(0)).lines().last().unwrap().parse().unwrap();
    let mut tar = Vec::new();
    let opened = age::Decryptor::new(bytes.as_slice()).unwrap().decrypt(iter::once(&secret as &dyn age::Identity));
    opened.unwrap().read_to_end(&mut tar).unwrap();
    tar::Archive::new(tar.as_slice()).unpack(room.path().join("out")).unwrap();
    let folder = room.path().join("out").join("may");
    assert_eq!(verify_backup(&folder).unwrap(), made);
    assert_eq!(Manifest::read(&folder).unwrap(), made.manifest);
    assert_eq!(files(&room.path().join("out")).len(), files(&folder).len());
}

#[test]
fn another_key_opens_nothing_and_leaves_nothing() {
    let room = tempfile::tempdir().unwrap();
    let store = some(&room.path().join("record"));
    let file = room.path().join("may.tar.age");
    store.back_up_encrypted(&file, &key_of(&BackupIdentity::generate()), at(2)).unwrap();
    let (other, into) = (BackupIdentity::generate(), room.path().join("restored"));
    for refused in [verify_encrypted(&file, &other), restore_encrypted(&file, &other, &into, &at(5))] {
        assert_eq!(refused, Err(StoreError::WrongKey(file.clone())));
    }
    assert!(!into.exists());
    // What is no encrypted file is told as such.
    fs::write(room.path().join("other"), "panel,x_mm\n".repeat(100)).unwrap();
    assert!(matches!(verify_encrypted(&room.path().join("other"), &other), Err(StoreError::NotABackup { .. })));
    // For a key that is none, nothing is made.
    let none = BackupKey { recipient: "age1nobody".to_owned(), ..key_of(&other) };
    let target = room.path().join("none.tar.age");
    assert!(matches!(store.back_up_encrypted(&target, &none, at(2)), Err(StoreError::Encrypting(_))));
    assert!(!target.exists() && is_empty(&Sqlite::staging(&room.path().join("record"))));
}

#[test]
fn every_cut_between_parts_and_every_flipped_bit_shows_and_such_a_file_is_never_half_restored() {
    let room = tempfile::tempdir().unwrap();
    let identity = BackupIdentity::generate();
    let (file, into) = (room.path().join("may.tar.age"), room.path().join("restored"));
    let store = some(&room.path().join("record"));
    store.back_up_encrypted(&file, &key_of(&identity), at(2)).unwrap();
    let sound = fs::read(&file).unwrap();
    // Behind the line of the header's sum, and a nonce of 16 bytes.
    let sum = sound.windows(5).position(|found| found == b"\n--- ").unwrap();
    let payload = sum + 1 + sound[sum + 1..].iter().position(|byte| *byte == b'\n').unwrap() + 1 + 16;
    let starts: Vec<usize> = (payload..sound.len()).step_by(PART).collect();
    assert!(starts.len() > 5, "{} parts are too few to tell", starts.len());
    let is_told = |bytes: &[u8], what: &str| {
        fs::write(&file, bytes).unwrap();
        for refused in [verify_encrypted(&file, &identity), restore_encrypted(&file, &identity, &into, &at(5))] {
            let error = refused.and_then(|backup| backup.sound_at(&file)).expect_err(what);
            let is_in_header = matches!(error, StoreError::WrongKey(_) | StoreError::NotABackup { .. }) && what.starts_with("header");
            assert!(matches!(error, StoreError::DamagedBackup { .. }) || is_in_header, "{what}: {error}");
        }
        assert!(!into.exists(), "{what}: something is left of it");
    };
    for start in starts.iter().copied() {
        for cut in [start, start + 1, start + PART / 2] {
            is_told(&sound[..cut.min(sound.len() - 1)], &format!("cut at {cut}"));
        }
    }
    is_told(&sound[..payload - 20], "header cut");
    let mut chance = Chance(7);
    let ends = starts.iter().skip(1).copied().chain([sound.len()]);
    for (from, to) in starts.iter().copied().zip(ends).chain([(payload - 16, payload)]) {
        for _ in 0..3 {
            let bit = 8 * from + chance.below(8 * (to - from));
            let mut flipped = sound.clone();
            flipped[bit / 8] ^= 1 << (bit % 8);
            is_told(&flipped, &format!("bit {bit}"));
        }
    }
    for _ in 0..40 {
        let bit = chance.below(8 * (payload - 16));
        let mut flipped = sound.clone();
        flipped[bit / 8] ^= 1 << (bit % 8);
        is_told(&flipped, &format!("header, bit {bit}"));
    }
    // Two parts that change places, and one more than there were.
    let (a, b) = (starts[1]..starts[2], starts[2]..starts[3]);
    let swapped = [&sound[..a.start], &sound[b.clone()], &sound[a], &sound[b.end..]].concat();
    is_told(&swapped, "swapped");
    is_told(&[&sound[..], b"x"].concat(), "longer");
    fs::write(&file, &sound).unwrap();
    assert!(restore_encrypted(&file, &identity, &into, &at(5)).is_ok());
}
