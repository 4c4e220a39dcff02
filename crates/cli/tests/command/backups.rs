//! Where backups may be, what is said of places that are none, and what is left where something was refused.

use std::fs;

use crate::Room;

/// A room with records in it.
fn with_records() -> Room {
    let room = Room::new();
    let came = room.run(&["import", &at(&room, "job"), "--data", &at(&room, "records")]);
    assert_eq!(came.status, 0, "{}", came.err);
    room
}

fn at(room: &Room, name: &str) -> String {
    room.path(name).display().to_string()
}

#[test]
fn a_backup_is_made_where_there_is_a_folder_for_it_and_where_it_spoils_nothing() {
    let room = with_records();
    let at = |name: &str| at(&room, name);
    let records = at("records");
    assert_eq!(room.run(&["backup", &at("one"), "--data", &records]).status, 0);
    let refused = |arguments: &[&str], said: &str| {
        let refused = room.run(&[arguments, &["--data", &records]].concat());
        assert!(refused.status == 2 && refused.err.contains(said), "{arguments:?}: {}{}", refused.out, refused.err);
    };
    for (target, said) in [
        // A stick that is out.
        (at("stick/may"), "stick: there is no such folder"),
        (at("records/../stick/may"), "stick: there is no such folder"),
        (at("records/may"), "that is among the records"),
        (at("records/kept/may"), "that is among the records"),
        (at("records/nowhere/there/may"), "that is among the records"),
        (at("records/backups"), "backups are made in that folder: name one in it"),
        (at("one/may"), "that is in the backup"),
        (at("one/kept/may"), "that is in the backup"),
    ] {
        refused(&["backup", &target], said);
    }
    for (place, said) in [
        (at("records"), "that is among the records"),
        (at("records/kept"), "that is among the records"),
        (at("one"), "that is in the backup"),
        (at("job/job.toml"), "this is a file"),
    ] {
        refused(&["serve", "--port", "0", "--backups", &place], said);
    }
    assert_eq!(room.names(), ["job", "one", "records"]);
    assert!(!room.path("records").join("nowhere").exists() && !room.path("records").join("backups").exists());
    for whole in [vec!["verify"], vec!["verify", &at("one")]] {
        assert_eq!(room.run(&[&whole[..], &["--data", &records]].concat()).status, 0, "{whole:?}");
    }
    let usual = room.run(&["backup", "--data", &records]);
    assert_eq!(usual.status, 0, "{}", usual.err);
    #[cfg(unix)]
    assert!(usual.out.contains("is lost with it: make one elsewhere too"), "{}", usual.out);
    assert_eq!(room.run(&["backup", &at("records/backups/may"), "--data", &records]).status, 0);
}

#[test]
fn nothing_else_is_put_into_a_backup_either() {
    let room = with_records();
    let at = |name: &str| at(&room, name);
    let job = room.run(&["jobs", "--data", &at("records")]).out.split_whitespace().next().unwrap().to_owned();
    for backup in ["one", "two"] {
        assert_eq!(room.run(&["backup", &at(backup), "--data", &at("records")]).status, 0);
    }
    // With a manifest that is cut, too, it is one.
    let manifest = fs::read(room.path("two").join("manifest.json")).unwrap();
    fs::write(room.path("two").join("manifest.json"), &manifest[..40]).unwrap();
    for arguments in [
        vec!["restore", &at("one"), "--data", &at("one/inside")],
        vec!["import", &at("job"), "--data", &at("one/deep/inside")],
        vec!["export", &job, "--record", &at("one/a.record"), "--data", &at("records")],
        vec!["export", &job, "--folder", &at("one/folder"), "--data", &at("records")],
        vec!["backup", &at("two/may"), "--data", &at("records")],
    ] {
        let refused = room.run(&arguments);
        assert!(refused.status == 2 && refused.err.contains("that is in the backup"), "{arguments:?}: {}{}", refused.out, refused.err);
    }
    assert_eq!(room.run(&["verify", &at("one"), "--data", &at("records")]).status, 0);
    fs::write(room.path("one").join("manifest.json"), [&manifest[..200], b"x", &manifest[201..]].concat()).unwrap();
    for backup in ["one", "two"] {
        for arguments in [vec!["verify", &at(backup), "--data", &at("records")], vec!["restore", &at(backup), "--data", &at("restored")]] {
            let spoilt = room.run(&arguments);
            assert!(spoilt.status == 3 && spoilt.err.contains("this backup is not as it was made"), "{arguments:?}: {}", spoilt.err);
        }
    }
    assert!(!room.path("restored").exists());
}

#[cfg(unix)]
#[test]
fn a_detour_into_a_backup_is_a_way_into_it() {
    let room = with_records();
    let at = |name: &str| at(&room, name);
    assert_eq!(room.run(&["backup", &at("one"), "--data", &at("records")]).status, 0);
    std::os::unix::fs::symlink(room.path("one"), room.path("link")).unwrap();
    for target in [at("link/may"), at("job/../one/may"), "one/may".to_owned()] {
        let refused = room.run(&["backup", &target, "--data", &at("records")]);
        assert!(refused.status == 2 && refused.err.contains("that is in the backup"), "{target}: {}", refused.err);
    }
    assert_eq!(room.run(&["verify", &at("one"), "--data", &at("records")]).status, 0);
}

#[test]
fn what_is_no_backup_is_told_by_what_it_is_and_what_to_do_with_it() {
    let room = with_records();
    let at = |name: &str| at(&room, name);
    let records = at("records");
    assert_eq!(room.run(&["backup", &at("one"), "--data", &records]).status, 0);
    fs::remove_file(room.path("one").join("manifest.json")).unwrap();
    for path in [&at("one"), &records] {
        for arguments in [vec!["verify", path, "--data", &records], vec!["restore", path, "--data", &at("restored")]] {
            let told = room.run(&arguments);
            assert!(told.status == 2 && told.err.contains("or a backup that lost it and can't be checked"), "{arguments:?}: {}", told.err);
        }
    }
    assert!(!room.path("restored").exists());
}

#[test]
fn backups_are_listed_where_the_records_are_lost_and_nothing_is_promised_where_there_are_none() {
    let room = with_records();
    let at = |name: &str| at(&room, name);
    fs::create_dir(room.path("stick")).unwrap();
    assert_eq!(room.run(&["backup", &at("stick/one"), "--data", &at("records")]).status, 0);
    let nowhere = room.run(&["backups", "--data", &at("nowhere")]);
    assert!(nowhere.status == 2 && nowhere.err.contains("there are no records here"), "{}{}", nowhere.out, nowhere.err);
    let out = room.run(&["backups", "--data", &at("records"), "--backups", &at("out")]);
    assert!(out.status == 2 && out.err.contains("there is no such folder"), "{}{}", out.out, out.err);
    let lost = room.run(&["backups", "--data", &at("lost"), "--backups", &at("stick")]);
    assert_eq!(lost.status, 0, "{}", lost.err);
    assert!(lost.out.contains("stick/one") && lost.out.contains("lastmicron restore BACKUP --data DIR"), "{}", lost.out);
    assert!(!lost.out.contains("lastmicron backup "), "{}", lost.out);
}

#[test]
fn records_whose_first_bytes_are_spoilt_are_not_as_they_were_written() {
    let room = with_records();
    let path = room.path("records").join("record.sqlite");
    let sound = fs::read(&path).unwrap();
    // The database's own name, and the number by which a record is known (SQLite's file format, section 1.3).
    for at_byte in [3, 68] {
        let mut spoilt = sound.clone();
        spoilt[at_byte] ^= 1;
        fs::write(&path, spoilt).unwrap();
        let looked = room.run(&["verify", "--data", &at(&room, "records")]);
        assert_eq!(looked.status, 3, "byte {at_byte}: {}{}", looked.out, looked.err);
    }
}

#[test]
fn records_that_are_lost_are_told_and_none_are_begun_in_their_place() {
    let room = with_records();
    let at = |name: &str| at(&room, name);
    let records = at("records");
    assert_eq!(room.run(&["backup", &at("one"), "--data", &records]).status, 0);
    fs::remove_file(room.path("records").join("record.sqlite")).unwrap();
    for (arguments, status) in [
        (vec!["verify", "--data", &records], 3),
        (vec!["doctor", "--data", &records], 3),
        (vec!["serve", "--port", "0", "--data", &records], 2),
        (vec!["import", &at("job"), "--data", &records], 2),
        (vec!["backup", "--data", &records], 2),
    ] {
        let told = room.run(&arguments);
        assert!(
            told.status == status && told.err.contains("the records themselves (record.sqlite) are gone"),
            "{arguments:?}: {}",
            told.err
        );
    }
    assert!(!room.path("records").join("record.sqlite").exists());
    let listed = room.run(&["backups", "--data", &records, "--backups", &at(".")]);
    assert!(listed.status == 0 && listed.out.contains("lastmicron restore BACKUP"), "{}{}", listed.out, listed.err);
}

#[test]
fn a_backup_that_was_found_damaged_is_not_the_last_known_to_be_whole_any_more() {
    let room = with_records();
    let at = |name: &str| at(&room, name);
    let records = at("records");
    assert_eq!(room.run(&["backup", &at("one"), "--data", &records]).status, 0);
    let doctor = || room.run(&["doctor", "--data", &records]).out;
    assert!(doctor().contains("ok       backup      the last one found whole was made"), "{}", doctor());
    fs::rename(room.path("one"), room.path("away")).unwrap();
    assert!(doctor().contains("ok       backup  ") && doctor().contains("which is not there now"), "{}", doctor());
    fs::rename(room.path("away"), room.path("one")).unwrap();
    fs::write(room.path("one").join("record.sqlite"), "changed").unwrap();
    assert_eq!(room.run(&["verify", &at("one"), "--data", &records]).status, 3);
    assert!(doctor().contains("PROBLEM  backup      none is known to be whole"), "{}", doctor());
}

#[test]
fn a_folder_for_daily_backups_is_that_of_one_folder_of_records() {
    let room = with_records();
    let at = |name: &str| at(&room, name);
    fs::create_dir(room.path("stick")).unwrap();
    fs::write(room.path("stick").join("backups-of"), format!("{}\n", at("records"))).unwrap();
    let serve = |data: &str| room.run(&["serve", "--port", "0", "--data", data, "--backups", &at("stick")]);
    let refused = serve(&at("others"));
    assert!(refused.status == 2 && refused.err.contains("give these a folder of their own"), "{}", refused.err);
    assert!(!room.path("others").exists());
}
