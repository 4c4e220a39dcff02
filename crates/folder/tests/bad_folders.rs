//! What is said of a bad folder: each case changes one thing of a good one.

use expect_test::{Expect, expect};
use lastmicron_folder::{Files, parse};

use crate::{changed, good, read};

/// The problems of a folder, one a line.
fn check(files: &Files, expect: &Expect) {
    let problems = read(files).expect_err("the folder must be refused");
    expect.assert_eq(&problems.to_string());
}

fn job(from: &str, to: &str, expect: Expect) {
    check(&changed(|files| &mut files.job, from, to), &expect);
}

fn readings(from: &str, to: &str, expect: Expect) {
    check(&changed(|files| &mut files.readings, from, to), &expect);
}

fn worked(from: &str, to: &str, expect: Expect) {
    check(&changed(|files| &mut files.worked, from, to), &expect);
}

fn defects(from: &str, to: &str, expect: Expect) {
    check(&changed(|files| &mut files.defects, from, to), &expect);
}

#[test]
fn missing_files_are_named() {
    check(&Files::default(), &expect![]);
    let problems = parse(&Files { readings: None, ..good() }, &["reading.csv".to_owned(), "prices.csv".to_owned()]).unwrap_err();
    expect![].assert_eq(&problems.to_string());
}

#[test]
fn unknown_and_misplaced_keys_are_named_with_the_nearest() {
    job("floor_um = 16", "flor_um = 16", expect![]);
    job("hours = 14", "hours = 14\nspend_um = 4", expect![]);
    job("title =", "titel = \"x\"\ntitle =", expect![]);
    job("panel_sd_um = 2 }", "panel_sd = 2 }", expect![]);
    job("hardness = \"soft\"", "hardness = \"softish\"", expect![]);
    job("[scatter]", "[scater]", expect![]);
}

#[test]
fn every_problem_is_said_at_once() {
    let mut files = changed(|files| &mut files.job, "floor_um = 16", "floor_um = -1");
    files.worked = Some(b"panel,x_mm,y_mm,width_mm,height_mm,after\nroof,0,0,10,10,cut:1\n".to_vec());
    files.readings = Some(b"panel,x_mm,y_mm,reading,unit,after\ndoor,1,1,abc,um,\ndoor,1,1,98,inch,polish:2\n".to_vec());
    check(&files, &expect![]);
}

#[test]
fn what_is_no_toml_is_named_with_its_line() {
    job("risk = 0.02", "risk = 0.02.1", expect![]);
    job("[goal]", "[goal", expect![]);
    job("risk = 0.02", "risk = 0.02\nrisk = 0.03", expect![]);
    let deep = format!("x = {}1{}\n[limits]", "[".repeat(5000), "]".repeat(5000));
    job("[limits]", &deep, expect![]);
}

#[test]
fn numbers_that_make_no_sense_are_named() {
    job("floor_um = 16", "floor_um = \"16\"", expect![]);
    job("floor_um = 16", "floor_um = nan", expect![]);
    job("floor_um = 16", "floor_um = -5", expect![]);
    job("floor_um = 16", "floor_um = 500", expect![]);
    job("risk = 0.02", "risk = 0", expect![]);
    job("risk = 0.02", "risk = 2", expect![]);
    job("risk = 0.02", "risk = inf", expect![]);
    job("spend_um = 4", "spend_um = 0", expect![]);
    job("correction = 0.88", "correction = 88", expect![]);
    job("hours = 14", "hours = -1", expect![]);
    job("mean = 1.2, sd = 0.3", "mean = -1.2, sd = 0.3", expect![]);
    job("mean = 1.2, sd = 0.3", "mean = 1.2, sd = -0.3", expect![]);
    job("mean = 1.2, sd = 0.3", "mean = 1.2", expect![]);
    job("fixed_um = 1.0, percent = 1.0", "fixed_um = -1.0, percent = 1.0", expect![]);
    job("repeatability_um = 0.8", "repeatability_um = true", expect![]);
    job("passes = 4", "passes = 4.5", expect![]);
    job("built = 1974", "built = 74", expect![]);
    job("format = 1", "format = 2", expect![]);
}

#[test]
fn what_must_be_there_is_asked_for() {
    job("floor_um = 16\n", "", expect![]);
    job("[goal]\ncorrection = 0.88\nhours = 14\n", "", expect![]);
    job("accuracy = { fixed_um = 1.0, percent = 1.0 }\n", "", expect![]);
    job("format = 1\n", "", expect![]);
    job("width_mm = 900\n", "", expect![]);
    job("width_mm = 900\nheight_mm = 700\n", "", expect![]);
}

#[test]
fn names_that_clash_or_lead_nowhere_are_named() {
    job("name = \"door\"", "name = \"bonnet\"", expect![]);
    job("name = \"finish\"", "name = \"cut\"", expect![]);
    job("name = \"finish\"", "name = \"fine:1\"", expect![]);
    job("followed_by = \"finish\"", "followed_by = \"finsh\"", expect![]);
    job("followed_by = \"finish\"", "followed_by = \"cut\"", expect![]);
    job("machine = \"large orbital\"", "machine = \"small orbital\"", expect![]);
    job(
        "[limits]",
        "[[other_gauge]]\nname = \"pencil\"\naccuracy = { fixed_um = 2.0, percent = 3 }\nrepeatability_um = 1.5\n[limits]",
        expect![],
    );
    job(
        "name = \"finish\"\nremoval_um = { mean = 0.4, sd = 0.1 }\n",
        "name = \"finish\"\nremoval_um = { mean = 0.4, sd = 0.1 }\nfollowed_by = \"cut\"\n",
        expect![],
    );
}

#[test]
fn outlines_that_are_none_are_named() {
    job("width_mm = 900", "width_mm = 0", expect![]);
    job("width_mm = 900", "width_mm = 900\noutline_mm = [[0, 0], [900, 0], [900, 700]]", expect![]);
    job("[1300, 1150], [100, 1150]]", "[100, 1150], [1300, 1150]]", expect![]);
    job("[1300, 1150], [100, 1150]]", "[1300, nan], [100, 1150]]", expect![]);
    job("points_mm = [[60, 600], [1340, 640]]", "points_mm = [[60, 600], [1400, 640]]", expect![]);
}

#[test]
fn columns_that_lack_or_are_unknown_are_named() {
    readings("panel,x_mm,y_mm,reading", "panel,x_mm,y_mm,readings", expect![]);
    readings(",unit,layer,after,", ",unit,layer,note2,", expect![]);
    check(&Files { readings: Some(b"panel;x_mm;y_mm;reading;unit;after\n".to_vec()), ..good() }, &expect![]);
}

#[test]
fn a_survey_without_readings_is_refused() {
    check(&Files { readings: Some(b"panel,x_mm,y_mm,reading,unit,after\n".to_vec()), ..good() }, &expect![]);
    check(&Files { readings: Some(Vec::new()), ..good() }, &expect![]);
}

#[test]
fn bad_readings_are_named_by_line_and_column() {
    readings("98.1,um", "abc,um", expect![]);
    readings("98.1,um", "nan,um", expect![]);
    readings("98.1,um", "inf,um", expect![]);
    readings("98.1,um", "-98.1,um", expect![]);
    readings("98.1,um", ",um", expect![]);
    readings("98.1,um", "98.1,", expect![]);
    readings("98.1,um", "98.1,micro", expect![]);
    readings("98.1,um", "3.9 mil,um", expect![]);
    readings("98.1,um", "\"1,234\",um", expect![]);
    readings("door,100,100,98.1", "dor,100,100,98.1", expect![]);
    readings("door,100,100,98.1", ",100,100,98.1", expect![]);
    readings("door,100,100,98.1", "door,100,1000,98.1", expect![]);
    readings("bonnet,200,200", "bonnet,20,1100", expect![]);
    readings("door,100,100,98.1", "door,x,100,98.1", expect![]);
    readings("98.1,um,total", "98.1,um,totl", expect![]);
    readings("cut:1+finish:2", "cut:1+finnish:2", expect![]);
    readings("cut:1+finish:2", "cut", expect![]);
    readings("pencil,evening", "pencl,evening", expect![]);
    readings("2024-05-01T09:30:00+02:00", "yesterday", expect![]);
    readings(",um,total,,,morning,,\ndoor,400", ",um,total,,,morning,\ndoor,400", expect![]);
}

#[test]
fn a_unit_that_the_gauge_cannot_have_meant_is_named() {
    readings("door,100,100,98.1,um", "door,100,100,3.9,um", expect![]);
    readings("door,100,100,98.1,um", "door,100,100,110,mil", expect![]);
    readings("door,100,100,98.1,um", "door,100,100,0.098,um", expect![]);
    readings("door,100,100,98.1,um", "door,100,100,60,mil", expect![]);
}

#[test]
fn a_reading_that_no_gauge_can_take_is_named() {
    job("name = \"door\"\n", "name = \"door\"\nsubstrate = \"plastic\"\n", expect![]);
    job("through_um = 0", "through_um = 100", expect![]);
}

#[test]
fn places_worked_that_cannot_be_are_named() {
    worked("door,300,200,200,200", "door,800,200,200,200", expect![]);
    worked("door,300,200,200,200", "door,300,200,0,200", expect![]);
    worked(",cut:1+finish:2", ",", expect![]);
}

#[test]
fn counts_that_cannot_be_are_named() {
    defects("left,door,cut:1,20", "left,door,cut:1,20.5", expect![]);
    defects("left,door,cut:1,20", "left,door,cut:1,-20", expect![]);
    defects("left,door,cut:1,20", "left,door,cut:1,", expect![]);
    defects("haze,0.25,no", "haze,1.25,no", expect![]);
    defects("haze,0.25,no", "haze,0.25,maybe", expect![]);
    defects("cut:1,20,350,250,0.3,0.5,,,yes", "cut:1,20,350,250,0.3,0.5,,0.4,yes", expect![]);
    defects("0.3,0.5", "0.5,0.3", expect![]);
    defects("0.3,0.5", "0.3,", expect![]);
    defects("left,door,cut:1,", "left,bonnet,cut:1,", expect![]);
}

#[test]
fn bytes_that_are_no_text_are_named_with_their_line() {
    let mut files = good();
    files.readings = Some([b"panel,x_mm,y_mm,reading,unit,after\n", b"door,1,1,98,\xb5m,\n".as_slice()].concat());
    check(&files, &expect![]);
}

#[test]
fn a_file_far_too_long_is_refused() {
    let row = "door,100,100,98.1,um,\n";
    let long = format!("panel,x_mm,y_mm,reading,unit,after\n{}", row.repeat(1_000_000));
    check(&Files { readings: Some(long.into_bytes()), ..good() }, &expect![]);
    let row = "door,abc,100,98.1,um,\n";
    let bad = format!("panel,x_mm,y_mm,reading,unit,after\n{}", row.repeat(10_000));
    let problems = read(&Files { readings: Some(bad.into_bytes()), ..good() }).unwrap_err();
    assert_eq!((problems.listed.len(), problems.left_off), (50, 9951));
}
