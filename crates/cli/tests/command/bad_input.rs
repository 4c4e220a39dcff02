//! Bad folders and bad usage: status 2, an empty stdout, nothing written, and a message that says what to do.

use std::fs;

use expect_test::{Expect, expect};

use crate::Room;

/// Plans the room's job with everything that could be written; nothing may be.
fn refused(room: &Room, expect: &Expect) {
    let ended = room.run(&["plan", "job", "--json", "--pdf", "plan.pdf", "--maps", "maps"]);
    expect.assert_eq(&ended.err);
    assert_eq!((ended.status, ended.out.as_str()), (2, ""));
    assert_eq!(room.names(), ["job"]);
}

fn changed(file: &str, from: &str, to: &str, expect: Expect) {
    let room = Room::new();
    room.change(file, from, to);
    refused(&room, &expect);
}

#[test]
fn a_key_misspelt_is_named_with_the_right_one() {
    changed(
        "job.toml",
        "risk = 0.02",
        "rsk = 0.02",
        expect![[r#"
        lastmicron: job: 2 problems, and nothing was done.
        job.toml, line 19, key limits.risk: 'risk' is missing: add it, like `risk = 0.02`.
        job.toml, line 21, key limits.rsk: 'rsk' is not a key known here (did you mean 'risk'?): use floor_um, risk, spend_um, through_risk.
    "#]],
    );
}

#[test]
fn a_reading_off_its_panel_is_named() {
    changed(
        "readings.csv",
        "bonnet,600,440",
        "bonnet,600,4400",
        expect![[r#"
        lastmicron: job: 1 problem, and nothing was done.
        readings.csv, line 59, column x_mm: (600, 4400) is not on 'bonnet', which is 1200 by 900 mm from its lower left: measure from there, in mm.
    "#]],
    );
}

#[test]
fn a_reading_in_another_unit_is_named() {
    changed(
        "readings.csv",
        "undercoat,,survey",
        "undercoat,,survey,behind,",
        expect![[r#"
        lastmicron: job: 1 problem, and nothing was done.
        readings.csv, line 58: this row has 11 fields where the header has 9: an empty field keeps its comma, and a field with a comma in it stands in quotes.
    "#]],
    );
    changed(
        "readings.csv",
        ",um,",
        ",mil,",
        expect![[r#"
        lastmicron: job: 1 problem, and nothing was done.
        readings.csv, line 2, column reading: 73.8 mil is 1875 um where the vehicle's readings stand about 69 um: 73.8 um would fit: correct the unit, or, if the gauge did show that, write it in um.
    "#]],
    );
}

#[test]
fn a_folder_that_is_not_there_is_named() {
    let room = Room::new();
    for command in [&["plan", "jop"][..], &["check", "jop"], &["next", "jop", "--count", "3"]] {
        let ended = room.run(command);
        assert_eq!(ended.err, "lastmicron: jop: there is no such folder: give the folder that holds job.toml and readings.csv\n");
        assert_eq!((ended.status, ended.out.as_str()), (2, ""));
    }
    let ended = room.run(&["check", "job/job.toml"]);
    assert_eq!(ended.err, "lastmicron: job/job.toml: this is not a folder: give the folder that holds job.toml and readings.csv\n");
    assert_eq!(ended.status, 2);
}

#[test]
fn a_missing_survey_is_named() {
    let room = Room::new();
    fs::rename(room.path("job").join("readings.csv"), room.path("job").join("reading.csv")).unwrap();
    refused(
        &room,
        &expect![[r#"
        lastmicron: job: 1 problem, and nothing was done.
        readings.csv: this file is missing: the folder needs it (did you mean 'reading.csv'?).
    "#]],
    );
}

#[test]
fn a_survey_of_one_reading_is_refused() {
    let room = Room::new();
    fs::write(room.path("job").join("readings.csv"), "panel,x_mm,y_mm,reading,unit,after\nbonnet,500,500,72,um,\n").unwrap();
    refused(
        &room,
        &expect![[r#"
        lastmicron: job: 1 problem, and nothing was done.
        readings.csv, line 2: the whole survey is one reading, which says nothing of how the film varies: read at least three places on each panel to be worked.
    "#]],
    );
}

#[test]
fn a_million_lines_are_refused() {
    let room = Room::new();
    fs::write(
        room.path("job").join("readings.csv"),
        format!("panel,x_mm,y_mm,reading,unit,after\n{}", "bonnet,500,500,70,um,\n".repeat(1_000_000)),
    )
    .unwrap();
    refused(
        &room,
        &expect![[r#"
        lastmicron: job: 1 problem, and nothing was done.
        readings.csv, line 762601: this file holds more than 20,000 rows or 16 MB, more than is ever measured on one vehicle: leave out what this job doesn't need.
    "#]],
    );
}

#[test]
fn a_job_without_processes_or_panels_is_refused() {
    let room = Room::new();
    fs::write(room.path("job").join("job.toml"), "format = 1\n").unwrap();
    refused(
        &room,
        &expect![[r#"
        lastmicron: job: 5 problems, and nothing was done.
        job.toml, key gauge: 'gauge' is missing: add it, like `[gauge]`.
        job.toml, key goal: 'goal' is missing: add it, like `[goal]`.
        job.toml, key limits: 'limits' is missing: add it, like `[limits]`.
        job.toml, key panel: 'panel' is missing: add it, like `[[panel]]`.
        job.toml, key process: 'process' is missing: add it, like `[[process]]`.
    "#]],
    );
}

#[test]
fn wrong_usage_ends_with_status_two() {
    let room = Room::new();
    for command in [
        &["plan"][..],
        &["plan", "job", "--draws", "3"],
        &["plan", "job", "--unit", "inch"],
        &["plan", "job", "--letter"],
        &["next", "job"],
        &["next", "job", "--count", "0"],
        &["next", "job", "--count", "2", "--csv", "--json"],
        &["polish", "job"],
        &[],
    ] {
        let ended = room.run(command);
        assert_eq!((ended.status, ended.out.as_str()), (2, ""), "{command:?}");
        assert!(!ended.err.is_empty());
    }
}

#[test]
fn a_place_that_cannot_be_written_is_named() {
    let room = Room::new();
    let ended = room.run(&["plan", "job", "--draws", "100", "--maps", "job/job.toml/maps"]);
    assert!(ended.err.contains("lastmicron: job/job.toml/maps: "), "{}", ended.err);
    assert_eq!((ended.status, ended.out.as_str()), (1, ""));
}

#[test]
fn a_name_that_cannot_be_computed_is_named() {
    let ended = Room::new().run_with(&["compute", "shine"], "{}");
    assert!(ended.err.starts_with("lastmicron: compute shine: "), "{}", ended.err);
    assert_eq!((ended.status, ended.out.as_str()), (2, ""));
}
