//! What is taken out of the app's records, and where to.

use std::fs;

use lastmicron_store::{KeyFile, Sqlite, sign_end};

use crate::Room;

/// A room whose job is in its records, and the job's id.
fn with_job() -> (Room, String) {
    let room = Room::new();
    let job = room.run(&["import", "job", "--data", "records"]).out.split(':').next().unwrap().to_owned();
    (room, job)
}

#[test]
fn nothing_is_written_over_and_nothing_is_half_written() {
    let (room, job) = with_job();
    let export = |more: &[&str]| room.run(&[&["export", &job, "--data", "records"], more].concat());
    fs::write(room.path("mine"), "mine").unwrap();
    fs::create_dir(room.path("folder")).unwrap();
    for (more, said) in [
        (&["--record", "mine"][..], "mine: something is here already: name another file"),
        (&["--record", "folder"], "folder: something is here already: name another file"),
        (&["--record", "new", "--folder", "folder"], "folder: this is there already, and nothing is written over"),
        (&["--record", "mine", "--folder", "new"], "mine: something is here already: name another file"),
        (&["--record", "new", "--folder", "./new"], "--record and --folder name the same place: give each its own"),
        (&["--record", "nowhere/new"], "nowhere/new: there is no folder nowhere: make it first"),
        (&["--folder", "nowhere/new"], "nowhere/new: there is no folder nowhere: make it first"),
        (&["--record", "new", "--folder", "nowhere/new"], "nowhere/new: there is no folder nowhere: make it first"),
        (&["--record", "mine/new"], "mine/new: mine is a file, and no folder"),
    ] {
        let refused = export(more);
        assert_eq!((refused.status, refused.out.as_str()), (2, ""), "{more:?}: {}", refused.err);
        assert!(refused.err.contains(said), "{more:?}: {}", refused.err);
    }
    assert_eq!(fs::read(room.path("mine")).unwrap(), b"mine");
    assert_eq!(fs::read_dir(room.path("folder")).unwrap().count(), 0);
    assert_eq!(room.names(), ["folder", "job", "mine", "records"]);
    let both = export(&["--record", "one", "--folder", "two"]);
    assert_eq!((both.status, both.err.as_str()), (0, ""));
    assert!(both.out.starts_with("two: a job folder with ") && both.out.contains("\none: "), "{}", both.out);
}

#[test]
fn a_document_or_a_sheet_for_a_folder_that_is_not_there_is_refused_in_a_sentence() {
    let (room, _) = with_job();
    let said = |arguments: &[&str]| {
        let refused = room.run(arguments);
        assert_eq!(refused.status, 2, "{}", refused.err);
        assert!(refused.err.ends_with(": there is no folder nowhere: make it first\n"), "{}", refused.err);
    };
    said(&["plan", "job", "--draws", "200", "--pdf", "nowhere/plan.pdf"]);
    said(&["pass", "job", "--process", "finish", "--svg", "nowhere/pass.svg"]);
    said(&["backup-key", "new", "--sheet", "nowhere/key.pdf", "--data", "records"]);
    said(&["backup-key", "new", "--file", "nowhere/key.txt", "--data", "records"]);
}

#[test]
fn a_job_that_is_not_there_is_looked_for_among_those_that_are() {
    let (room, _) = with_job();
    for job in ["nojob", "018f3324-c9e4-7123-8456-789abcdef099"] {
        for command in [&["export", job, "--record", "new"][..], &["erase", job, "--yes"]] {
            let refused = room.run(&[command, &["--data", "records"]].concat());
            assert!(refused.err.starts_with(&format!("lastmicron: {job}: ")), "{}", refused.err);
            assert_eq!((refused.status, refused.err.contains("lastmicron jobs --data records")), (2, true), "{}", refused.err);
        }
    }
}

#[test]
fn what_was_signed_stays_behind_and_that_is_said() {
    let (room, job) = with_job();
    let export = |file: &str| room.run(&["export", &job, "--data", "records", "--record", file]).out;
    assert_eq!(export("unsigned").lines().count(), 1);
    {
        let store = Sqlite::open(&room.path("records")).unwrap();
        let signer = KeyFile::in_folder(&room.path("records")).open("workshop", [7; 32]).unwrap();
        sign_end(&store, job.parse().unwrap(), &signer, &"2024-05-01T07:30:01Z".parse().unwrap()).unwrap().unwrap();
    }
    let said = export("signed");
    assert!(
        said.contains("\n1 signed checkpoint of it stays in these records, and where the file is brought in nothing is signed"),
        "{said}"
    );
    assert_eq!(fs::read(room.path("signed")).unwrap(), fs::read(room.path("unsigned")).unwrap());
}

#[cfg(unix)]
#[test]
fn a_record_goes_to_where_the_output_goes_and_nothing_else_with_it() {
    use std::fs::OpenOptions;
    use std::process::{Command, Stdio};

    let (room, job) = with_job();
    assert_eq!(room.run(&["export", &job, "--data", "records", "--record", "file"]).status, 0);
    let record = fs::read(room.path("file")).unwrap();
    let piped = room.run(&["export", &job, "--data", "records", "--record", "/dev/stdout"]);
    assert!(piped.out.as_bytes() == record, "another record is piped than is written");
    assert!(piped.status == 0 && piped.err.starts_with("/dev/stdout: ") && piped.err.contains(" events and "), "{}", piped.err);
    fs::write(room.path("piped"), &piped.out).unwrap();
    assert_eq!(room.run(&["verify", "piped"]).status, 0);
    // Into a file, behind what is in it.
    fs::write(room.path("redirected"), "before\n").unwrap();
    let behind = OpenOptions::new().append(true).open(room.path("redirected")).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_lastmicron"));
    command.args(["export", &job, "--data", "records", "--record", "/dev/stdout"]).current_dir(room.path("."));
    assert!(command.stdout(behind).stderr(Stdio::null()).status().unwrap().success());
    assert!(
        fs::read(room.path("redirected")).unwrap() == [b"before\n", &record[..]].concat(),
        "not what was there, and the record behind it"
    );
    let thrown_away = room.run(&["export", &job, "--data", "records", "--record", "/dev/null"]);
    assert_eq!((thrown_away.status, thrown_away.out.as_str()), (0, ""), "{}", thrown_away.err);
    assert!(thrown_away.err.starts_with("/dev/null: "), "{}", thrown_away.err);
}
