//! The file of keys.

use std::fs;
use std::thread;

use lastmicron_record::{Keys, SigningKey};
use lastmicron_store::{KeyFile, SIGNING_KEYS, Signer, StoreError};

use crate::pen::at;

#[test]
fn a_key_is_made_once_and_only_its_owner_reads_it() {
    let folder = tempfile::tempdir().unwrap();
    let file = KeyFile::in_folder(folder.path());
    assert!(file.read().unwrap().is_none());
    let Signer { key: made, keys } = file.open("workshop", [1; 32]).unwrap();
    assert_eq!(keys.all(), [made.public()]);
    let Signer { key: again, .. } = file.open("workshop", [2; 32]).unwrap();
    assert_eq!(again.secret_text(), SigningKey::of("workshop", [1; 32]).unwrap().secret_text());
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let mode = fs::metadata(folder.path().join(SIGNING_KEYS)).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }
}

#[test]
fn threads_that_ask_at_once_get_one_key() {
    let folder = tempfile::tempdir().unwrap();
    let made: Vec<String> = thread::scope(|scope| {
        let open = |n: u8| {
            let file = KeyFile::in_folder(folder.path());
            move || file.open("workshop", [n; 32]).unwrap().key.secret_text()
        };
        let workers: Vec<_> = (0..8).map(|n| scope.spawn(open(n))).collect();
        workers.into_iter().map(|worker| worker.join().unwrap()).collect()
    });
    assert!(made.iter().all(|key| *key == made[0]));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
}

#[test]
fn a_new_key_takes_the_place_of_the_last_and_the_public_ones_lead_to_it() {
    let folder = tempfile::tempdir().unwrap();
    let file = KeyFile::in_folder(folder.path());
    assert!(matches!(file.rotate([2; 32], &at(0)), Err(StoreError::Io { .. })));
    let Signer { key: first, .. } = file.open("workshop", [1; 32]).unwrap();
    file.rotate([2; 32], &at(1)).unwrap();
    let Signer { key: third, keys } = file.rotate([3; 32], &at(2)).unwrap();
    let [a, b, c] = [1, 2, 3].map(|n| SigningKey::of("workshop", [n; 32]).unwrap().public());
    assert_eq!((keys.all(), first.public(), third.public()), (&[a.clone(), b, c.clone()][..], a, c));
    assert_eq!(keys.to_string().parse::<Keys>().unwrap(), keys);
    assert!(!keys.to_string().contains("PRIVATE"));
    let Signer { key: read, keys: all } = file.read().unwrap().unwrap();
    assert_eq!((read.secret_text(), all), (third.secret_text(), keys));
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        assert_eq!(fs::metadata(folder.path().join(SIGNING_KEYS)).unwrap().permissions().mode() & 0o777, 0o600);
    }
}

#[test]
fn a_file_that_is_none_of_keys_is_left_as_it_is_and_named() {
    let folder = tempfile::tempdir().unwrap();
    let file = KeyFile::in_folder(folder.path());
    let Signer { key, .. } = file.open("workshop", [1; 32]).unwrap();
    let path = folder.path().join(SIGNING_KEYS);
    let other = SigningKey::of("workshop", [2; 32]).unwrap();
    for wrong in [String::new(), "key".to_owned(), key.secret_text(), format!("{}\n{}\n", key.secret_text(), other.public())] {
        fs::write(&path, &wrong).unwrap();
        let error = file.open("workshop", [3; 32]).unwrap_err();
        assert!(matches!(&error, StoreError::Io { path: named, .. } if *named == path), "{error}");
        assert_eq!(fs::read_to_string(&path).unwrap(), wrong);
    }
}
