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
    assert!(whole.starts_with("Whole: 1 jobs"), "{whole}");
    let again = at("again.record");
    room.run(&["export", &job, "--data", &elsewhere, "--record", &again]);
    assert_eq!(fs::read(&again).unwrap(), fs::read(&file).unwrap());
}

#[test]
fn what_is_no_record_is_told() {
    let room = Room::new();
    let at = |name: &str| room.path(name).display().to_string();
    fs::write(room.path("other"), "panel,x_mm\n").unwrap();
    for (arguments, said) in [
        (vec!["verify", &at("other")], "names no format"),
        (vec!["import", &at("other"), "--data", &at("records")], "names no format"),
        (vec!["verify", &at("nowhere")], "nowhere"),
        (vec!["jobs", "--data", &at("nowhere")], "there are no records here"),
        (vec!["verify", "--data", &at("nowhere")], "there are no records here"),
    ] {
        let ended = room.run(&arguments);
        assert_eq!(ended.status, 2, "{arguments:?}: {}", ended.err);
        assert!(ended.err.contains(said), "{}", ended.err);
    }
    assert!(!room.path("records").exists() && !room.path("nowhere").exists());
}
