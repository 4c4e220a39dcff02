//! Good folders: status 0, what was asked for on stdout, and messages on stderr.

use std::fs;
use std::process::{Command, Stdio};

use expect_test::expect;
use serde_json::Value;

use crate::Room;

#[test]
fn a_folder_in_order_is_said_to_be() {
    let ended = Room::new().run(&["check", "job"]);
    expect![[r#"
        job: in order. 6 panels, 106 readings, 3 processes, 3 places worked, 8 counts of defects, 7 readings of gloss.
    "#]]
    .assert_eq(&ended.out);
    assert_eq!((ended.status, ended.err.as_str()), (0, ""));
}

#[test]
fn photographs_of_defects_are_told_as_such() {
    let room = Room::new();
    let path = room.path("job").join("defects.csv");
    let rows = [
        "spot,panel,after,count,share_left,share_low,share_high\n",
        "spot 1,boot lid,,75,,,\n",
        "spot 4,boot lid,finish:2,,0.49,0.41,0.57\n",
    ];
    fs::write(&path, rows.concat()).unwrap();
    let said = room.run(&["check", "job"]).out;
    assert!(said.contains(", 1 count of defects, 1 photograph of defects, 7 readings"), "{said}");
    assert!(room.run(&["plan", "job", "--draws", "100"]).out.contains("rests on 1 count by eye and 1 photograph."));
    fs::write(&path, [&rows.concat(), "spot 5,boot lid,finish:1,,0.7,0.6,0.8\n"].concat()).unwrap();
    let said = room.run(&["check", "job"]).out;
    assert!(said.contains(", 1 count of defects, 2 photographs of defects, 7 readings"), "{said}");
}

#[test]
fn a_plan_is_one_json_object_that_tiles_every_panel() {
    let room = Room::new();
    let ended = room.run(&["plan", "job", "--json", "--draws", "200"]);
    assert_eq!(ended.status, 0, "{}", ended.err);
    let plan: Value = serde_json::from_str(&ended.out).unwrap();
    let keys: Vec<&str> = plan.as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(keys[..6], ["format", "risk", "through_risk", "correction", "hours", "panels"]);
    let names: Vec<&str> = plan["panels"].as_array().unwrap().iter().map(|panel| panel["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["bonnet", "left door", "left wing", "boot lid", "rear apron", "left door jamb"]);
    let door = &plan["panels"][1];
    let area = |section: &Value| section["width_mm"].as_f64().unwrap() * section["height_mm"].as_f64().unwrap();
    let tiled: f64 = door["sections"].as_array().unwrap().iter().map(area).sum();
    assert!((tiled - 900.0 * 550.0).abs() < 1e-6);
    assert!(plan["risk"].as_f64().unwrap() <= 0.02);
    let again = room.run(&["plan", "job", "--json", "--draws", "200"]);
    assert_eq!(again.out, ended.out);
}

#[test]
fn a_plan_for_a_person_fits_the_terminal() {
    let ended = Room::new().run(&["plan", "job", "--draws", "200", "--unit", "mil"]);
    assert_eq!(ended.status, 0, "{}", ended.err);
    assert!(ended.out.lines().all(|line| line.chars().count() <= 80));
    for part in ["The whole vehicle", "bonnet: ", "What one set takes", "Defects gone against film removed", "Cautions", "0.71 mil"] {
        assert!(ended.out.contains(part), "{part} is not in\n{}", ended.out);
    }
    assert!(!ended.out.contains('\u{1b}'));
}

#[test]
fn gloss_is_told_where_it_was_read() {
    let room = Room::new();
    let told = room.run(&["plan", "job", "--draws", "100"]).out;
    let from = told.find("\nGloss\n").unwrap();
    let section = &told[from..from + told[from..].find("\nFound on the way\n").unwrap_or(told.len() - from)];
    expect![[r#"

        Gloss
          Beside the most that the top of a smooth coat can show. Ranges hold 19 times
          in 20. A gain may be scratches filled: wipe with solvent before reading.
          spot 1, boot lid (index of the film: not stated, 1.50 give or take 0.02)
          - before work: gloss 20: 58 of at most 82 (77 to 87); gloss 60: 80 of at most
            89 (86 to 92); haze 14.4 (11.4 to 17.3) above a smooth coat's 7.1.
          - after 2 sets of finish: gloss 20: 69 of at most 82 (77 to 87); gloss 60: 84
            of at most 89 (86 to 92); haze 8.0 (5.0 to 11.0) above a smooth coat's 7.1.
            Since the reading before: gloss 20 up by 10.9 (10.0 to 11.7), gloss 60 up by
            4.5 (3.6 to 5.4), haze down by 6.4 (5.1 to 7.6).
          spot 2, boot lid (index of the film: not stated, 1.50 give or take 0.02)
          - before work: gloss 20: 59 of at most 82 (77 to 87); gloss 60: 80 of at most
            89 (86 to 92); haze 13.8 (10.8 to 16.8) above a smooth coat's 7.1.
          - after 2 sets of one-step: gloss 20: 79 of at most 82 (77 to 87); gloss 60:
            88 of at most 89 (86 to 92); haze 1.8 (-1.2 to 4.8) above a smooth coat's
            7.1.
            Since the reading before: gloss 20 up by 19.8 (18.8 to 20.8), gloss 60 up by
            7.8 (6.8 to 8.8), haze down by 12.0 (10.6 to 13.4).
          spot 3, boot lid (index of the film: not stated, 1.50 give or take 0.02)
          - before work: gloss 20: 58 of at most 82 (77 to 87); gloss 60: 80 of at most
            89 (86 to 92); haze 14.6 (11.6 to 17.6) above a smooth coat's 7.1.
          - after 1 set of cut: gloss 20: 66 of at most 82 (77 to 87); gloss 60: 85 of
            at most 89 (86 to 92); haze 12.0 (9.0 to 15.0) above a smooth coat's 7.1.
            Since the reading before: gloss 20 up by 8.4 (7.4 to 9.4), gloss 60 up by
            5.8 (4.8 to 6.8), haze down by 2.6 (1.2 to 4.0).
    "#]]
    .assert_eq(section);
    let plan: Value = serde_json::from_str(&room.run(&["plan", "job", "--json", "--draws", "100"]).out).unwrap();
    let spot = &plan["gloss"][1];
    let keys = |of: &Value| of.as_object().unwrap().keys().cloned().collect::<Vec<_>>().join(", ");
    let polished = &spot["states"][1];
    let told = [spot, polished, &polished["gloss_20"], &polished["haze"], &polished["change"], &polished["change"]["haze"]].map(keys);
    expect![[r#"
        spot, panel, index, states
        after, gloss_20, gloss_60, haze, change
        gloss_units, readings, limit, share, index_needed
        gloss_units, baseline, excess
        gloss_20, gloss_60, haze
        estimate, low, high"#]]
    .assert_eq(&told.join("\n"));
    // [C] standards section 7.1: a smooth coat of index 1.50 shows 82.05 at 20 degrees, and has a haze of 7.09
    assert!((polished["gloss_20"]["limit"]["estimate"].as_f64().unwrap() - 82.05).abs() < 0.51e-2);
    assert!((polished["haze"]["excess"]["estimate"].as_f64().unwrap() - (88.1 - 79.2 - 7.09)).abs() < 0.51e-2);
    assert_eq!((&spot["states"][0]["change"], &polished["after"][0]["sets"]), (&Value::Null, &Value::from(2)));
    fs::remove_file(room.path("job").join("gloss.csv")).unwrap();
    let without: Value = serde_json::from_str(&room.run(&["plan", "job", "--json", "--draws", "100"]).out).unwrap();
    assert!(without.get("gloss").is_none() && without["risk"] == plan["risk"]);
    assert!(!room.run(&["plan", "job", "--draws", "100"]).out.contains("\nGloss\n"));
}

#[test]
fn gloss_above_what_a_coat_can_show_is_said_in_words() {
    let room = Room::new();
    room.change("gloss.csv", "79.2,88.1", "94,96.5");
    let told = room.run(&["plan", "job", "--draws", "100"]).out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        told.contains(
            "94 of at most 82 (77 to 87), more than the top of a smooth coat shows: a higher index (1.54 would do), or light from below"
        ),
        "{told}"
    );
}

#[test]
fn maps_and_paper_are_written_whole() {
    let room = Room::new();
    let ended = room.run(&["plan", "job", "--draws", "100", "--pdf", "plan.pdf", "--maps", "maps", "--letter"]);
    assert_eq!(ended.status, 0, "{}", ended.err);
    assert!(fs::read(room.path("plan.pdf")).unwrap().starts_with(b"%PDF"));
    let mut maps: Vec<String> =
        fs::read_dir(room.path("maps")).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    maps.sort();
    assert_eq!(
        maps,
        ["01-bonnet.svg", "02-left-door.svg", "03-left-wing.svg", "04-boot-lid.svg", "05-rear-apron.svg", "06-left-door-jamb.svg"]
    );
    assert_eq!(room.names(), ["job", "maps", "plan.pdf"]);
}

#[test]
fn places_to_measure_next_are_written_as_csv_and_as_json() {
    let room = Room::new();
    let csv = room.run(&["next", "job", "--count", "2", "--csv", "--draws", "100"]);
    assert_eq!(csv.status, 0, "{}", csv.err);
    assert!(csv.out.starts_with("panel,x_mm,y_mm,layer,why\n") && csv.out.lines().count() <= 3, "{}", csv.out);
    let json = room.run(&["next", "job", "--count", "2", "--json", "--draws", "100"]);
    let json: Value = serde_json::from_str(&json.out).unwrap();
    assert!(json["readings"].as_array().unwrap().iter().all(|reading| reading["gain"].is_number()));
}

#[test]
fn what_should_be_known_goes_to_stderr() {
    let room = Room::new();
    room.change("job.toml", "body = \"custom\"", "body = \"hearse\"");
    let ended = room.run(&["plan", "job", "--json", "--draws", "100"]);
    assert_eq!(
        ended.err,
        "lastmicron: job.toml, line 5, key vehicle.body: there is no outline for the body 'hearse': only the panels below are used.\n"
    );
    assert!(serde_json::from_str::<Value>(&ended.out).is_ok());
}

#[test]
fn numbers_are_computed_from_stdin() {
    let room = Room::new();
    let ended = room.run_with(&["compute", "dew-point"], "{\"air_c\": 25, \"humidity_percent\": 60, \"surface_c\": 21}");
    assert_eq!((ended.status, ended.err.as_str()), (0, ""));
    let answer: Value = serde_json::from_str(&ended.out).unwrap();
    // [C] standards section 8: 25 degrees and 60 % give a dew point of 16.70.
    assert!((answer["dew_point_c"].as_f64().unwrap() - 16.70).abs() < 0.05);
    assert!(serde_json::from_str::<Value>(&room.run(&["compute", "dew-point", "--schema"]).out).is_ok());
}

#[test]
fn help_shows_examples_and_statuses() {
    let room = Room::new();
    for command in [
        &["--help"][..],
        &["plan", "--help"],
        &["next", "--help"],
        &["pass", "--help"],
        &["check", "--help"],
        &["compute", "--help"],
        &["completions", "--help"],
    ] {
        let ended = room.run(command);
        assert_eq!((ended.status, ended.err.as_str()), (0, ""), "{command:?}");
        assert!(ended.out.contains("Example"), "{command:?}");
    }
    assert!(room.run(&["--help"]).out.contains("2  bad input or usage"));
    assert!(room.run(&[]).err.contains("lastmicron demo"));
}

#[test]
fn shells_get_their_completions() {
    let room = Room::new();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let ended = room.run(&["completions", shell]);
        assert!(ended.status == 0 && ended.out.contains("lastmicron"), "{shell}");
    }
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let room = Room::new();
    let mut child = Command::new(env!("CARGO_BIN_EXE_lastmicron"))
        .args(["completions", "bash"])
        .current_dir(room.path("job"))
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let ended = child.wait_with_output().unwrap();
    assert_eq!((ended.status.code(), String::from_utf8(ended.stderr).unwrap()), (Some(0), String::new()));
}
