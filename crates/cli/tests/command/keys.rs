//! Backups encrypted: from the making of the key to records restored with it.

use std::fs;
use std::path::Path;

use crate::Room;

/// Letters of a key.
const KEY: usize = 74;

#[cfg(unix)]
fn mode(path: &Path) -> u32 {
    use std::os::unix::fs::PermissionsExt as _;
    fs::metadata(path).unwrap().permissions().mode() & 0o777
}

/// Every file below a folder, as one run of bytes.
fn everything(folder: &Path) -> Vec<u8> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        found.extend(if path.is_dir() { everything(&path) } else { fs::read(&path).unwrap() });
    }
    found
}

#[test]
fn nothing_is_encrypted_until_the_key_was_given_back_and_then_it_is_restored_with_the_key_alone() {
    let room = Room::new();
    let at = |name: &str| room.path(name).display().to_string();
    let (records, key, one) = (at("records"), at("key.txt"), at("one.tar.age"));
    let job = room.run(&["import", &at("job"), "--data", &records]).out.split(':').next().unwrap().to_owned();
    let doctor = || room.run(&["doctor", "--data", &records]).out;
    assert!(doctor().contains("ok       backup-key  backups are not encrypted: no backup key was made"), "{}", doctor());
    assert!(room.run(&["backup-key", "check", &key, "--data", &records]).err.contains("no backup key was made"));

    let made = room.run(&["backup-key", "new", "--sheet", &at("key.pdf"), "--file", &key, "--data", &records]);
    assert_eq!(made.status, 0, "{}", made.err);
    let text = fs::read_to_string(&key).unwrap();
    let secret = text.lines().last().unwrap();
    assert!(secret.starts_with("AGE-SECRET-KEY-1") && secret.len() == KEY);
    assert!(!made.out.contains("AGE-SECRET-KEY-1"), "the key is printed where others see it");
    assert!(fs::read(room.path("key.pdf")).unwrap().starts_with(b"%PDF"));
    #[cfg(unix)]
    assert_eq!([mode(&room.path("key.pdf")), mode(&room.path("key.txt"))], [0o600, 0o600]);
    assert!(!everything(&room.path("records")).windows(16).any(|found| found == &secret.as_bytes()[..16]), "the key is among the records");

    // Made, but nobody has shown that it is there: plain, and said.
    let plain = room.run(&["backup", &at("plain"), "--data", &records]);
    assert!(
        plain.status == 0 && plain.err.contains("this backup is not encrypted: the backup key was not given back yet"),
        "{}",
        plain.err
    );
    assert!(room.path("plain").join("manifest.json").exists());
    assert!(doctor().contains("PROBLEM  backup-key  backups are not encrypted: the key made "), "{}", doctor());

    // Another's key, a misread letter, and the key where others see it.
    room.run(&["import", &at("job"), "--data", &at("others")]);
    room.run(&["backup-key", "new", "--file", &at("other.txt"), "--data", &at("others")]);
    let misread = format!("{}{}", &secret[..KEY - 1], if secret.ends_with('Q') { "P" } else { "Q" });
    for (given, stdin, said) in [
        (at("other.txt"), "", "this is the key of other backups"),
        ("-".to_owned(), misread.as_str(), "this is no backup key"),
        (secret.to_owned(), "", "that is the key itself"),
        (at("nowhere"), "", "nowhere: there is no such file"),
    ] {
        let refused = room.run_with(&["backup-key", "check", &given, "--data", &records], stdin);
        assert!(refused.status == 2 && refused.err.contains(said), "{}", refused.err);
        assert!(!refused.err.contains(secret));
    }
    assert!(doctor().contains("PROBLEM  backup-key"), "{}", doctor());

    // Typed from the sheet, in groups.
    let typed: Vec<&str> = secret.as_bytes()[16..].chunks(4).map(|group| std::str::from_utf8(group).unwrap()).collect();
    let checked = room.run_with(&["backup-key", "check", "-", "--data", &records], &format!("{} {}\n", &secret[..16], typed.join(" ")));
    assert!(checked.status == 0 && checked.out.contains("Backups are encrypted from now on"), "{}", checked.err);
    let encrypted = room.run(&["backup", &at("one"), "--data", &records]);
    assert!(
        encrypted.status == 0 && encrypted.out.contains("one.tar.age: a backup, found whole before it was encrypted."),
        "{}",
        encrypted.err
    );
    assert_eq!(encrypted.err, "");
    assert!(doctor().contains("ok       backup-key  backups are encrypted for age1"), "{}", doctor());
    assert!(doctor().contains("found whole before it was encrypted was made"), "{}", doctor());
    let again = room.run(&["backup-key", "check", &key, "--data", &records]);
    assert!(again.out.contains("one.tar.age: the key opens it, and it is whole"), "{}{}", again.out, again.err);
    // Times are to the second.
    let created = text.lines().next().unwrap();
    assert!(created.starts_with("# created: ") && !created.contains('.'), "{created}");
    // In a drawer.
    fs::rename(&one, at("away")).unwrap();
    let away = room.run(&["backup-key", "check", &key, "--data", &records]);
    let said = format!("The last encrypted backup, {one}, is not there now: it was not opened.\n");
    assert!(away.status == 0 && away.out.starts_with(&said), "{}{}", away.out, away.err);
    fs::rename(at("away"), &one).unwrap();
    let replaced = room.run(&["backup-key", "new", "--file", &at("new.txt"), "--data", &records]);
    assert!(replaced.status == 2 && replaced.err.contains("backups are encrypted for a key already") && !room.path("new.txt").exists());

    // Looked at without the key and with it, and restored.
    let closed = room.run(&["verify", &one, "--data", &records]);
    assert!(closed.status == 0 && closed.out.contains("that it opens can be seen with its key alone"), "{}", closed.err);
    let opened = room.run(&["verify", &one, "--key", &key, "--data", &records]);
    assert!(opened.out.starts_with("Whole: 1 job,") && opened.out.contains("It is a backup of"), "{}{}", opened.out, opened.err);
    let restored = room.run_with(&["restore", &one, "--key", "-", "--data", &at("restored")], &text);
    assert_eq!(restored.status, 0, "{}", restored.err);
    for (data, file) in [(&records, "a.record"), (&at("restored"), "b.record")] {
        assert_eq!(room.run(&["export", &job, "--data", data, "--record", &at(file)]).status, 0);
    }
    assert_eq!(fs::read(room.path("a.record")).unwrap(), fs::read(room.path("b.record")).unwrap());

    let bytes = fs::read(&one).unwrap();
    for (arguments, said) in [
        (vec!["restore", &one, "--data", &at("no")], "this backup is encrypted: give its key with --key FILE"),
        (vec!["restore", &one, "--key", &at("other.txt"), "--data", &at("no")], "this key does not open it"),
        (vec!["restore", &at("plain"), "--key", &key, "--data", &at("no")], "this is no encrypted backup"),
        (vec!["verify", &one, "--data", &at("others")], "is neither the last one that was noted nor a copy of it"),
    ] {
        let refused = room.run(&arguments);
        assert!(refused.status == 2 && refused.err.contains(said), "{arguments:?}: {}", refused.err);
    }
    fs::write(&one, &bytes[..bytes.len() - 20]).unwrap();
    for (arguments, status, said) in [
        (
            vec!["restore", &one, "--key", &key, "--data", &at("no")],
            3,
            "this backup is not as it was made (the file is cut, or was changed)",
        ),
        (vec!["backup-key", "check", &key, "--data", &records], 3, "this backup is not as it was made"),
        (vec!["verify", &one, "--data", &records], 3, "it has other bytes than it had"),
        (vec!["verify", &one, "--key", &key, "--data", &records], 3, "this backup is not as it was made"),
    ] {
        let refused = room.run(&arguments);
        assert!(refused.status == status && refused.err.contains(said), "{arguments:?}: {}", refused.err);
    }
    // The first bytes gone, it is known by its name.
    fs::write(&one, &bytes[3..]).unwrap();
    let spoilt = room.run(&["verify", &one, "--key", &key, "--data", &records]);
    assert!(spoilt.status == 3 && spoilt.err.contains("its first bytes were changed"), "{}", spoilt.err);
    assert!(!room.path("no").exists());
    is_encrypted_on(&room, &at("restored"));
}

/// What came out of an encrypted backup is backed up encrypted, for the same key.
fn is_encrypted_on(room: &Room, restored: &str) {
    let at = |name: &str| room.path(name).display().to_string();
    let doctor = room.run(&["doctor", "--data", restored]).out;
    assert!(doctor.contains("ok       backup-key  backups are encrypted for age1"), "{doctor}");
    let next = room.run(&["backup", &at("next"), "--data", restored]);
    assert!(next.status == 0 && next.out.contains("next.tar.age: a backup"), "{}{}", next.out, next.err);
    // A copy of the last one is known by its bytes, wherever it is.
    fs::copy(room.path("next.tar.age"), room.path("copy.tar.age")).unwrap();
    let copy = room.run(&["verify", &at("copy.tar.age"), "--data", restored]);
    assert!(copy.status == 0 && copy.out.contains("copy.tar.age: as it was written"), "{}{}", copy.out, copy.err);
    assert_eq!(room.run(&["restore", &at("copy.tar.age"), "--key", &at("key.txt"), "--data", &at("once-more")]).status, 0);
    // Not into a folder that is there, nor beside it.
    fs::create_dir(room.path("stick")).unwrap();
    let beside = room.run(&["backup", &format!("{}/", at("stick")), "--data", restored]);
    assert!(beside.status == 2 && beside.err.contains("something is here already"), "{}", beside.err);
    assert!(!room.path("stick.tar.age").exists() && !room.path("stick").join(".tar.age").exists());
}

#[test]
fn a_key_is_not_written_among_the_records_nor_over_anything() {
    let room = Room::new();
    let at = |name: &str| room.path(name).display().to_string();
    let records = at("records");
    room.run(&["import", &at("job"), "--data", &records]);
    fs::write(room.path("mine"), "mine").unwrap();
    for (arguments, said) in [
        (vec!["backup-key", "new", "--file", &at("records/key.txt"), "--data", &records], "that is among the records"),
        (vec!["backup-key", "new", "--file", &at("mine"), "--data", &records], "something is here already"),
        (vec!["backup-key", "new", "--data", &records], "--sheet"),
        (vec!["backup-key", "new", "--sheet", &at("key"), "--file", &at("key"), "--data", &records], "give each a name of its own"),
        (vec!["backup-key", "new", "--sheet", &at("key"), "--file", &at("mine"), "--data", &records], "something is here already"),
        (vec!["backup-key", "new", "--file", &at("key.txt"), "--data", &at("nowhere")], "there are no records here"),
    ] {
        let refused = room.run(&arguments);
        assert!(refused.status == 2 && refused.err.contains(said), "{arguments:?}: {}", refused.err);
    }
    assert_eq!(fs::read(room.path("mine")).unwrap(), b"mine");
    assert_eq!(room.names(), ["job", "mine", "records"]);
    assert!(!room.path("records").join("backup-key.json").exists());
}
