//! The app's records from the terminal.

use std::fs;

use crate::Room;

#[test]
fn a_job_folder_goes_in_and_comes_out_and_its_record_is_carried_elsewhere() {
    let room = Room::new();
    let at = |name: &str| room.path(name).display().to_string();
    let (records, elsewhere, file, folder) = (at("records"), at("elsewhere"), at("roadster.record"), at("out"));
    let came = room.run(&["import", &at("job"), "--data", &records, "--who", "J."]);
    assert_eq!((came.status, came.err.as_str()), (0, ""));
    let job = came.out.split(':').next().unwrap().to_owned();
    let listed = room.run(&["jobs", "--data", &records]).out;
    assert!(listed.starts_with(&job) && listed.contains("arrived"), "{listed}");
    let out = room.run(&["export", &job, "--data", &records, "--record", &file, "--folder", &folder]);
    assert_eq!(out.status, 0, "{}", out.err);
    // The same plan comes of the folder that went in and of the one that came out.
    let plan = |folder: &str| room.run(&["plan", folder, "--json", "--draws", "200"]).out;
    assert_eq!(plan(&folder), plan(&at("job")));
    assert!(room.run(&["verify", &file]).out.contains("whole"));
    assert_eq!(room.run(&["import", &file, "--data", &elsewhere]).status, 0);
    let whole = room.run(&["verify", "--data", &elsewhere]).out;
    assert!(whole.starts_with("Whole: 1 job,"), "{whole}");
    let again = at("again.record");
    room.run(&["export", &job, "--data", &elsewhere, "--record", &again]);
    assert_eq!(fs::read(&again).unwrap(), fs::read(&file).unwrap());
}

#[test]
fn what_is_no_record_is_told() {
    let room = Room::new();
    let at = |name: &str| room.path(name).display().to_string();
    fs::write(room.path("other"), "panel,x_mm\n").unwrap();
    fs::write(room.path("some.pdf"), "%PDF-1.7\n").unwrap();
    fs::write(room.path("one.tar.age"), "age-encryption.org/v1\n").unwrap();
    for (arguments, said) in [
        (vec!["verify", &at("other")], "names no format"),
        (vec!["import", &at("other"), "--data", &at("records")], "names no format"),
        (vec!["verify", &at("nowhere")], "nowhere: there is no such file or folder"),
        (vec!["import", &at("nowhere"), "--data", &at("records")], "nowhere: there is no such file or folder"),
        (vec!["import", &at("some.pdf"), "--data", &at("records")], "this is a PDF. Where it is a handover, lastmicron verify "),
        (vec!["import", &at("one.tar.age"), "--data", &at("records")], "this is a backup of all records: lastmicron restore "),
        (vec!["jobs", "--data", &at("nowhere")], "there are no records here: give --data DIR, or make them with lastmicron serve"),
        (vec!["verify", "--data", &at("nowhere")], "there are no records here"),
    ] {
        let ended = room.run(&arguments);
        assert_eq!(ended.status, 2, "{arguments:?}: {}", ended.err);
        assert!(ended.err.contains(said), "{}", ended.err);
    }
    assert!(!room.path("records").exists() && !room.path("nowhere").exists());
}

#[test]
fn records_without_a_job_say_so() {
    let room = Room::new();
    drop(lastmicron_store::Sqlite::open(&room.path("records")).unwrap());
    let none = room.run(&["jobs", "--data", "records"]);
    assert_eq!((none.status, none.out.as_str(), none.err.as_str()), (0, "No jobs in records yet\n", ""));
}

#[test]
fn records_are_backed_up_looked_at_and_restored_to_the_same() {
    let room = Room::new();
    let at = |name: &str| room.path(name).display().to_string();
    let (records, backup, restored) = (at("records"), at("one"), at("restored"));
    let job = room.run(&["import", &at("job"), "--data", &records]).out.split(':').next().unwrap().to_owned();
    assert!(room.run(&["backups", "--data", &records]).out.contains("No backup of the records"));
    let made = room.run(&["backup", &backup, "--data", &records]);
    assert!(made.out.contains("a backup, read back and found whole.") && made.out.contains("\nWhole: 1 job,"), "{}{}", made.out, made.err);
    assert_eq!(room.run(&["backup", "--data", &records]).status, 0);
    // In the same second, most times.
    assert_eq!(room.run(&["backup", "--data", &records]).status, 0);
    let listed = room.run(&["backups", "--data", &records]).out;
    assert_eq!(listed.matches("by-hand-").count(), 3, "two, of which the last is named as such: {listed}");
    assert!(listed.contains("by-hand-") && listed.contains("The last one found whole is of"), "{listed}");
    let looked = room.run(&["verify", &backup, "--data", &records]);
    assert!(looked.out.starts_with("Whole: 1 job,") && looked.out.contains("It is a backup of"), "{}{}", looked.out, looked.err);
    assert_eq!(room.run(&["restore", &backup, "--data", &restored]).status, 0);
    for (data, file) in [(&records, "a.record"), (&restored, "b.record")] {
        assert_eq!(room.run(&["export", &job, "--data", data, "--record", &at(file)]).status, 0);
    }
    assert_eq!(fs::read(room.path("a.record")).unwrap(), fs::read(room.path("b.record")).unwrap());
    // Into nothing that is there, and of nothing that is changed.
    for (arguments, said) in [
        (vec!["restore", &backup, "--data", &records], "this folder is not empty"),
        (vec!["backup", &backup, "--data", &records], "something is here already"),
        (vec!["backup", "--data", &at("nowhere")], "there are no records here"),
        (vec!["restore", &at("job"), "--data", &at("other")], "this is no backup"),
        (vec!["import", &backup, "--data", &records], "this is a backup of all records: lastmicron restore "),
        (vec!["jobs", "--data", &backup], "this is a backup"),
    ] {
        let ended = room.run(&arguments);
        assert_eq!(ended.status, 2, "{arguments:?}: {}", ended.err);
        assert!(ended.err.contains(said), "{}", ended.err);
    }
    fs::write(room.path("one").join("record.sqlite"), "changed").unwrap();
    let damaged = room.run(&["verify", &backup, "--data", &records]);
    assert_eq!((damaged.status, damaged.out.as_str()), (3, "record.sqlite has other bytes than it had\n"), "{}", damaged.err);
    let refused = room.run(&["restore", &backup, "--data", &at("other")]);
    assert_eq!(refused.status, 3, "{}", refused.err);
    assert!(refused.err.contains("(record.sqlite has other bytes than it had): use another"), "{}", refused.err);
    assert!(!room.path("other").exists() && !room.path("nowhere").exists());
}

#[test]
fn the_doctor_says_what_is_not_well_and_what_to_do() {
    let room = Room::new();
    let records = room.path("records").display().to_string();
    room.run(&["import", &room.path("job").display().to_string(), "--data", &records]);
    let findings = |status: i32| {
        let ended = room.run(&["doctor", "--data", &records, "--json"]);
        assert_eq!(ended.status, status, "{}{}", ended.out, ended.err);
        let said: serde_json::Value = serde_json::from_str(&ended.out).unwrap();
        // How much is free, and how fast a disk is, is the machine's.
        let of = |finding: &serde_json::Value| (finding["name"].as_str().unwrap().to_owned(), finding["ok"].as_bool().unwrap());
        said["findings"].as_array().unwrap().iter().map(of).filter(|(name, _)| name != "disk" && name != "sync").collect::<Vec<_>>()
    };
    let wanted = |bad: &[&str]| {
        ["clock", "backup", "backup-key", "signing", "phones", "schema", "damage"]
            .map(|name| (name.to_owned(), !bad.contains(&name)))
            .to_vec()
    };
    assert_eq!(findings(3), wanted(&["backup"]));
    let told = room.run(&["doctor", "--data", &records]);
    assert!(
        told.out.contains("PROBLEM  backup      none is known to be whole\n") && told.out.contains("lastmicron backup"),
        "{}",
        told.out
    );
    assert!(told.err.contains("found"), "{}", told.err);
    room.run(&["backup", "--data", &records]);
    let well = room.run(&["doctor", "--data", &records]);
    assert!(well.out.contains("ok       backup      the last one found whole was made"), "{}", well.out);
    // An event in the record is changed: four letters for four.
    let path = room.path("records").join("record.sqlite");
    let mut bytes = fs::read(&path).unwrap();
    let at = bytes.windows(11).position(|found| found == b"reading-tak").unwrap();
    bytes[at + 20] ^= 1;
    fs::write(&path, bytes).unwrap();
    assert_eq!(findings(3).last().unwrap(), &("damage".to_owned(), false));
    assert_eq!(room.run(&["doctor", "--data", &room.path("nowhere").display().to_string()]).status, 2);
}
