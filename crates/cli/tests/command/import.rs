//! What is brought into the app's records, and what is there already.

use std::fs;

use lastmicron_job::event::Event;
use lastmicron_record::Sealed;
use lastmicron_store::{Sqlite, Store as _};
use serde_json::{Value, json};

use crate::Room;

/// Records something of a job, as another device than the one that brought it in.
fn recorded(room: &Room, job: &str, n: u8, body: &Value) {
    let event = json!({ "id": format!("018f3324-c9e4-7123-8456-789abcdef0{n:02}"), "job": job, "when": "2024-05-01T09:30:00+02:00",
        "device": "018f328c-3300-70f1-8e2d-3c4b5a697887", "who": "J.", "body": body });
    let store = Sqlite::open(&room.path("records")).unwrap();
    let sealed = Sealed::read(event.to_string().as_bytes()).unwrap();
    store.append(vec![sealed], "2024-05-01T07:30:01Z".parse().unwrap()).unwrap()[0].as_ref().unwrap();
}

#[test]
fn a_folder_is_brought_in_once_and_a_changed_one_is_a_new_job() {
    let room = Room::new();
    let import = || room.run(&["import", "job", "--data", "records"]);
    let jobs = || room.run(&["jobs", "--data", "records"]).out.lines().count();
    let came = import();
    let job = came.out.split(':').next().unwrap().to_owned();
    assert!(came.status == 0 && came.out.ends_with(" is in the records, as a new job\n"), "{}{}", came.out, came.err);
    let is_here = |job: &str| {
        let again = import();
        assert_eq!((again.status, again.err.as_str()), (0, ""), "{}", again.out);
        let said =
            format!("job: this folder was brought in before, as job {job}: nothing was done. `lastmicron jobs --data records` lists it.");
        assert!(again.out.starts_with(&said), "{}", again.out);
    };
    is_here(&job);
    // The job went on since.
    recorded(&room, &job, 1, &json!({ "kind": "noted", "text": "dries with marks" }));
    is_here(&job);
    assert_eq!(room.run(&["import", "job", "--data", "records", "--who", "Another"]).status, 0);
    assert_eq!(jobs(), 1);
    // Less than was brought in is not the same.
    let readings = room.path("job").join("readings.csv");
    let all = fs::read_to_string(&readings).unwrap();
    let (before_last, _) = all.trim_end().rsplit_once('\n').unwrap();
    fs::write(&readings, format!("{before_last}\n")).unwrap();
    let less = import();
    assert_eq!(less.status, 0, "{}", less.err);
    let other = less.out.split(':').next().unwrap().to_owned();
    assert!(less.out.contains("as a new job\nAnother job of that title was here, made of something else"), "{}", less.out);
    assert!(less.out.ends_with(&format!("and stays as before: {job}\n")) && other != job, "{}", less.out);
    is_here(&other);
    fs::write(&readings, &all).unwrap();
    is_here(&job);
    assert_eq!(jobs(), 2);
    // Nor is what says something else, in as many events.
    room.change("job.toml", "Sage green roadster", "Sage green roadster, again");
    assert_eq!((import().status, jobs()), (0, 3));
}

/// Takes in events as they are in other records: as an import that was ended leaves them, where it is their beginning.
fn taken(room: &Room, data: &str, events: impl Iterator<Item = Event>) {
    let sealed = events.map(|event| Sealed::seal(event).unwrap()).collect();
    let outcomes = Sqlite::open(&room.path(data)).unwrap().append(sealed, "2024-05-01T07:30:01Z".parse().unwrap()).unwrap();
    assert!(outcomes.iter().all(Result::is_ok));
}

#[test]
fn an_import_that_was_interrupted_is_gone_on_with_and_one_of_another_length_is_another_job() {
    let room = Room::new();
    let import = |data: &str| {
        let ended = room.run(&["import", "job", "--data", data, "--who", "B."]);
        assert_eq!((ended.status, ended.err.as_str()), (0, ""));
        ended.out
    };
    let job = import("whole").split(':').next().unwrap().to_owned();
    let all = |data: &str| -> Vec<Event> {
        let entries = Sqlite::open_to_read(&room.path(data)).unwrap().events(job.parse().unwrap(), 1).unwrap();
        entries.into_iter().map(|entry| entry.event).collect()
    };
    let whole = all("whole");
    for data in ["records", "less", "more"] {
        taken(&room, data, whole[..40].iter().cloned());
    }
    // Others went on with it.
    recorded(&room, &job, 1, &json!({ "kind": "noted", "text": "dries with marks" }));
    let went_on = format!(
        "{job}: Sage green roadster, first correction after years of hand washing is in the records: went on with this job, whose import had come to no end\n"
    );
    assert_eq!(import("records"), went_on);
    let by_import: Vec<Event> = all("records").into_iter().filter(|event| event.device == whole[0].device).collect();
    assert!(by_import.iter().map(|event| (&event.body, &event.who)).eq(whole.iter().map(|event| (&event.body, &event.who))));
    assert_eq!(all("records").len(), whole.len() + 1);
    assert!(import("records").starts_with(&format!("job: this folder was brought in before, as job {job}")));
    // A folder that lost its last row, or got another, is neither the one whose import was interrupted nor the one that is here whole.
    let readings = room.path("job").join("readings.csv");
    let as_it_was = fs::read_to_string(&readings).unwrap();
    let (before_last, last) = as_it_was.trim_end().rsplit_once('\n').unwrap();
    for (begun, rows) in [("less", format!("{before_last}\n")), ("more", format!("{as_it_was}{last}\n"))] {
        fs::write(&readings, rows).unwrap();
        for data in [begun, "whole"] {
            let other = import(data);
            assert!(other.contains("as a new job\n") && !other.starts_with(&job), "{begun}, {data}: {other}");
        }
    }
    assert_eq!(all("whole").len(), whole.len());
}

#[test]
fn a_file_of_which_every_event_was_refused_says_so() {
    let room = Room::new();
    let job = room.run(&["import", "job", "--data", "records"]).out.split(':').next().unwrap().to_owned();
    assert_eq!(room.run(&["export", &job, "--data", "records", "--record", "file"]).status, 0);
    let entries = Sqlite::open_to_read(&room.path("records")).unwrap().events(job.parse().unwrap(), 1).unwrap();
    let events = entries.len();
    taken(&room, "others", entries.into_iter().map(|entry| Event { who: "Another".to_owned(), ..entry.event }));
    let refused = room.run(&["import", "file", "--data", "others"]).out;
    let said =
        format!("{job}: no event of the file is in the records: nothing is new\n{events} were refused: other events have their ids here\n");
    assert_eq!(refused, said);
}

#[test]
fn a_record_brought_in_again_says_what_is_new_and_leaves_out_what_was_erased_here() {
    let room = Room::new();
    let job = room.run(&["import", "job", "--data", "records"]).out.split(':').next().unwrap().to_owned();
    let sheet =
        Sqlite::open(&room.path("records")).unwrap().keep(br#"{"salt":"5bd1e7c09a3f4e2286d0b7f1a9c3e564","name":"A. Owner"}"#).unwrap();
    recorded(&room, &job, 1, &json!({ "kind": "vehicle-stated", "title": "Sage roadster", "substrate": "steel", "owner": sheet }));
    let import = |file: &str, data: &str| {
        let ended = room.run(&["import", file, "--data", data]);
        assert_eq!(ended.status, 0, "{}", ended.err);
        ended.out
    };
    let verify = |data: &str| room.run(&["verify", "--data", data]).out;
    assert_eq!(room.run(&["export", &job, "--data", "records", "--record", "older"]).status, 0);
    let events = Sqlite::open_to_read(&room.path("records")).unwrap().jobs().unwrap()[0].1.seq;
    assert_eq!(room.run(&["erase", &job, "--yes", "--data", "records"]).status, 0);
    let again = format!("{job}: {events} events are in the records, and all of that was here already: nothing is new\n");
    assert_eq!(import("older", "records"), format!("{again}1 sheet that was erased here was left out\n"));
    assert!(verify("records").contains("1 sheet that named somebody was erased."), "{}", verify("records"));
    // Elsewhere it comes as it was.
    assert_eq!(import("older", "elsewhere"), format!("{job}: {events} events are in the records, none of which was here before\n"));
    assert!(!verify("elsewhere").contains("named and not here"), "{}", verify("elsewhere"));
    assert_eq!(import("older", "elsewhere"), again);
    // A later file has one more, and not the sheet.
    recorded(&room, &job, 2, &json!({ "kind": "noted", "text": "dries with marks" }));
    assert_eq!(room.run(&["export", &job, "--data", "records", "--record", "later"]).status, 0);
    let more = format!("{job}: {} events are in the records: 1 is new, {events} were here already\n", events + 1);
    assert_eq!(import("later", "elsewhere"), more);
    import("later", "third");
    let lacking = "1 thing is named and not here: not sent yet, erased where it was, or taken away.\n";
    assert!(verify("third").ends_with(lacking), "{}", verify("third"));
}

#[test]
fn a_file_is_no_folder_of_records() {
    let room = Room::new();
    fs::write(room.path("file"), "no folder").unwrap();
    for data in ["file", "file/records"] {
        for command in [&["jobs"][..], &["verify"], &["doctor"], &["people"], &["setup"], &["serve"], &["backup"], &["import", "job"]] {
            let refused = room.run(&[command, &["--data", data]].concat());
            assert_eq!(refused.err, "lastmicron: file: this is a file: records are kept in a folder\n", "{command:?}");
            assert_eq!((refused.status, refused.out.as_str()), (2, ""), "{command:?}");
        }
    }
}
