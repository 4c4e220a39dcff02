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

fn gloss(from: &str, to: &str, expect: Expect) {
    check(&changed(|files| &mut files.gloss, from, to), &expect);
}

#[test]
fn missing_files_are_named() {
    check(
        &Files::default(),
        &expect![[r#"
        job.toml: this file is missing: the folder needs it.
        readings.csv: this file is missing: the folder needs it."#]],
    );
    let problems = parse(&Files { readings: None, ..good() }, &["reading.csv".to_owned(), "prices.csv".to_owned()]).unwrap_err();
    expect!["readings.csv: this file is missing: the folder needs it (did you mean 'reading.csv'?)."].assert_eq(&problems.to_string());
}

#[test]
fn unknown_and_misplaced_keys_are_named_with_the_nearest() {
    job(
        "floor_um = 16",
        "flor_um = 16",
        expect![[r#"
        job.toml, line 26, key limits.floor_um: 'floor_um' is missing: add it, like `floor_um = 16`.
        job.toml, line 27, key limits.flor_um: 'flor_um' is not a key known here (did you mean 'floor_um'?): use floor_um, risk, spend_um, through_risk."#]],
    );
    job(
        "hours = 14",
        "hours = 14\nspend_um = 4",
        expect!["job.toml, line 35, key goal.spend_um: 'spend_um' doesn't belong here: it belongs in [limits]."],
    );
    job(
        "title =",
        "titel = \"x\"\ntitle =",
        expect![
            "job.toml, line 2, key titel: 'titel' is not a key known here (did you mean 'title'?): use format, title, vehicle, paint, gauge, other_gauge, limits, goal, scatter, edge, machine, pad and 2 more."
        ],
    );
    job(
        "panel_sd_um = 2 }",
        "panel_sd = 2 }",
        expect![
            "job.toml, line 11, key paint.undercoat.panel_sd: 'panel_sd' is not a key known here (did you mean 'panel_sd_um'?): use mean_um, sd_um, panel_sd_um."
        ],
    );
    job(
        "hardness = \"soft\"",
        "hardness = \"softish\"",
        expect![
            "job.toml, line 12, key paint.hardness: 'softish' is not a word known here (did you mean 'soft'?): use very-soft, soft, medium, hard, very-hard."
        ],
    );
    job(
        "[scatter]",
        "[scater]",
        expect![
            "job.toml, line 36, key scater: 'scater' is not a key known here (did you mean 'scatter'?): use format, title, vehicle, paint, gauge, other_gauge, limits, goal, scatter, edge, machine, pad and 2 more."
        ],
    );
}

#[test]
fn every_problem_is_said_at_once() {
    let mut files = changed(|files| &mut files.job, "floor_um = 16", "floor_um = -1");
    files.worked = Some(b"panel,x_mm,y_mm,width_mm,height_mm,after\nroof,0,0,10,10,cut:1\n".to_vec());
    files.readings = Some(b"panel,x_mm,y_mm,reading,unit,after\ndoor,1,1,abc,um,\ndoor,1,1,98,inch,polish:2\n".to_vec());
    check(
        &files,
        &expect![[r#"
        job.toml, line 27, key limits.floor_um: -1 makes no sense here: it must be a film in um, 0 or 2 to 10,000 (0.8 mil is 20 um).
        readings.csv, line 2, column reading: 'abc' is not a number: write it like 118.5.
        readings.csv, line 3, column after: 'polish' is not a process known here: use cut, finish.
        readings.csv, line 3, column unit: 'inch' is not a unit known here: use um, mil, mm.
        worked.csv, line 2, column panel: 'roof' is not a panel known here: use bonnet, door."#]],
    );
}

#[test]
fn what_is_no_toml_is_named_with_its_line() {
    job("risk = 0.02", "risk = 0.02.1", expect!["job.toml, line 28: this can't be read as TOML: invalid float, expected nothing."]);
    job("[goal]", "[goal", expect!["job.toml, line 32: this can't be read as TOML: unclosed table, expected `]`."]);
    job("risk = 0.02", "risk = 0.02\nrisk = 0.03", expect!["job.toml, line 29: this can't be read as TOML: duplicate key."]);
    let deep = format!("x = {}1{}\n[limits]", "[".repeat(5000), "]".repeat(5000));
    job("[limits]", &deep, expect!["job.toml, line 26: this can't be read as TOML: cannot recurse further; max recursion depth met."]);
}

#[test]
fn numbers_that_make_no_sense_are_named() {
    job(
        "floor_um = 16",
        "floor_um = \"16\"",
        expect!["job.toml, line 27, key limits.floor_um: this is the text '16': it must be a number, without quotes."],
    );
    job(
        "floor_um = 16",
        "floor_um = nan",
        expect![
            "job.toml, line 27, key limits.floor_um: NaN makes no sense here: it must be a film in um, 0 or 2 to 10,000 (0.8 mil is 20 um)."
        ],
    );
    job(
        "floor_um = 16",
        "floor_um = -5",
        expect![
            "job.toml, line 27, key limits.floor_um: -5 makes no sense here: it must be a film in um, 0 or 2 to 10,000 (0.8 mil is 20 um)."
        ],
    );
    job(
        "floor_um = 16",
        "floor_um = 0.8",
        expect![
            "job.toml, line 27, key limits.floor_um: 0.8 makes no sense here: it must be a film in um, 0 or 2 to 10,000 (0.8 mil is 20 um)."
        ],
    );
    job(
        "mean_um = 32",
        "mean_um = 1.3",
        expect![
            "job.toml, line 11, key paint.undercoat.mean_um: 1.3 makes no sense here: it must be a film in um, 0 or 5 to 10,000 (1.4 mil is 36 um)."
        ],
    );
    job(
        "floor_um = 16",
        "floor_um = 500",
        expect![
            "job.toml, line 27, key limits.floor_um: the floor of 500.0 um is above every reading (the highest is 105.0 um): nothing may be worked. Check the floor and the readings' units."
        ],
    );
    job(
        "risk = 0.02",
        "risk = 0",
        expect!["job.toml, line 28, key limits.risk: 0 makes no sense here: it must be a chance above 0 and below 1, like 0.02."],
    );
    job(
        "risk = 0.02",
        "risk = 2",
        expect!["job.toml, line 28, key limits.risk: 2 makes no sense here: it must be a chance above 0 and below 1, like 0.02."],
    );
    job(
        "risk = 0.02",
        "risk = inf",
        expect!["job.toml, line 28, key limits.risk: inf makes no sense here: it must be a chance above 0 and below 1, like 0.02."],
    );
    job(
        "spend_um = 4",
        "spend_um = 0",
        expect!["job.toml, line 29, key limits.spend_um: 0 makes no sense here: it must be a film above 0 um."],
    );
    job(
        "correction = 0.88",
        "correction = 88",
        expect!["job.toml, line 33, key goal.correction: 88 makes no sense here: it must be a share above 0 and up to 1, like 0.88."],
    );
    job(
        "hours = 14",
        "hours = -1",
        expect!["job.toml, line 34, key goal.hours: -1 makes no sense here: it must be a number of hours above 0."],
    );
    job(
        "mean = 1.2, sd = 0.3",
        "mean = -1.2, sd = 0.3",
        expect![
            "job.toml, line 46, key process.removal_um.mean: -1.2 makes no sense here: it must be a film of 0.01 to 100 um for one set."
        ],
    );
    job(
        "mean = 1.2, sd = 0.3",
        "mean = 1.2, sd = -0.3",
        expect!["job.toml, line 46, key process.removal_um.sd: -0.3 makes no sense here: it must be a film of 0 to 100 um."],
    );
    job(
        "mean = 1.2, sd = 0.3",
        "mean = 0.0012, sd = 0.0003",
        expect![
            "job.toml, line 46, key process.removal_um.mean: 0.0012 makes no sense here: it must be a film of 0.01 to 100 um for one set."
        ],
    );
    job(
        "mean = 1.2, sd = 0.3",
        "mean = 1200, sd = 300",
        expect![[r#"
            job.toml, line 46, key process.removal_um.mean: 1200 makes no sense here: it must be a film of 0.01 to 100 um for one set.
            job.toml, line 46, key process.removal_um.sd: 300 makes no sense here: it must be a film of 0 to 100 um."#]],
    );
    job(
        "minutes_per_m2 = 26",
        "minutes_per_m2 = -26",
        expect!["job.toml, line 47, key process.minutes_per_m2: -26 makes no sense here: it must be a number of minutes above 0."],
    );
    job(
        "mean = 1.2, sd = 0.3",
        "mean = 1.2",
        expect!["job.toml, line 46, key process.removal_um.sd: 'sd' is missing: add it, like `sd = 0.3`."],
    );
    job(
        "fixed_um = 1.0, percent = 1.0",
        "fixed_um = -1.0, percent = 1.0",
        expect!["job.toml, line 16, key gauge.accuracy.fixed_um: -1 makes no sense here: it must be a film of 0 to 10,000 um."],
    );
    job(
        "repeatability_um = 0.8",
        "repeatability_um = true",
        expect!["job.toml, line 17, key gauge.repeatability_um: this is true: it must be a number, without quotes."],
    );
    job(
        "passes = 4",
        "passes = 4.5",
        expect!["job.toml, line 57, key process.use.passes: this is the number 4.5: it must be a whole number of passes from 1 to 1000."],
    );
    job(
        "built = 1974",
        "built = 74",
        expect!["job.toml, line 6, key vehicle.built: 74 makes no sense here: it must be a year from 1880 to 2100."],
    );
    job("format = 1", "format = 2", expect!["job.toml, line 1, key format: format 2 is not known here: this program reads format 1."]);
}

#[test]
fn what_must_be_there_is_asked_for() {
    job("floor_um = 16\n", "", expect!["job.toml, line 26, key limits.floor_um: 'floor_um' is missing: add it, like `floor_um = 16`."]);
    job("[goal]\ncorrection = 0.88\nhours = 14\n", "", expect!["job.toml, key goal: 'goal' is missing: add it, like `[goal]`."]);
    job(
        "accuracy = { fixed_um = 1.0, percent = 1.0 }\n",
        "",
        expect![
            "job.toml, line 15, key gauge.accuracy: 'accuracy' is missing: add it, like `accuracy = { fixed_um = 1.0, percent = 1.0 }`."
        ],
    );
    job("format = 1\n", "", expect!["job.toml, key format: 'format' is missing: add it, like `format = 1`."]);
    job("width_mm = 900\n", "", expect!["job.toml, line 91, key panel.width_mm: 'width_mm' is missing: add it, like `width_mm = 1400`."]);
    job(
        "width_mm = 900\nheight_mm = 700\n",
        "",
        expect!["job.toml, line 91, key panel.outline_mm: give either width_mm and height_mm or outline_mm: here is neither."],
    );
}

#[test]
fn a_single_table_where_a_list_must_be_is_named_once() {
    let mut files = good();
    let job = String::from_utf8(files.job.take().unwrap()).unwrap();
    let (before, _) = job.split_once("[[panel]]").unwrap();
    files.job = Some(format!("{before}[panel]\nname = \"door\"\n").into_bytes());
    files.readings = None;
    files.worked = None;
    files.defects = None;
    check(
        &files,
        &expect![[r#"
        job.toml, line 77, key panel: this is a table: it must be a list of tables: write its header with two brackets on each side.
        readings.csv: this file is missing: the folder needs it."#]],
    );
    files.job = Some(before.replacen("format = 1\n", "format = 1\npanel = []\n", 1).into_bytes());
    check(
        &files,
        &expect![[r#"
        job.toml, line 2, key panel: there is nothing in it: a job needs at least one panel.
        readings.csv: this file is missing: the folder needs it."#]],
    );
}

#[test]
fn names_that_clash_or_lead_nowhere_are_named() {
    job(
        "name = \"door\"",
        "name = \"bonnet\"",
        expect![[r#"
            job.toml, line 92, key panel.name: 'bonnet' stands already on line 78: give every panel a name of its own.
            readings.csv, line 5, column panel: 'door' is not a panel known here: use bonnet, bonnet.
            readings.csv, line 6, column panel: 'door' is not a panel known here: use bonnet, bonnet.
            readings.csv, line 7, column panel: 'door' is not a panel known here: use bonnet, bonnet.
            readings.csv, line 8, column panel: 'door' is not a panel known here: use bonnet, bonnet.
            worked.csv, line 2, column panel: 'door' is not a panel known here: use bonnet, bonnet.
            defects.csv, line 2, column panel: 'door' is not a panel known here: use bonnet, bonnet.
            defects.csv, line 3, column panel: 'door' is not a panel known here: use bonnet, bonnet.
            defects.csv, line 4, column panel: 'door' is not a panel known here: use bonnet, bonnet.
            defects.csv, line 5, column panel: 'door' is not a panel known here: use bonnet, bonnet.
            defects.csv, line 6, column panel: 'door' is not a panel known here: use bonnet, bonnet.
            gloss.csv, line 2, column panel: 'door' is not a panel known here: use bonnet, bonnet.
            gloss.csv, line 3, column panel: 'door' is not a panel known here: use bonnet, bonnet.
            gloss.csv, line 4, column panel: 'door' is not a panel known here: use bonnet, bonnet."#]],
    );
    job(
        "name = \"finish\"",
        "name = \"cut\"",
        expect![[r#"
            job.toml, line 48, key process.followed_by: 'finish' is not a process known here: use cut, cut.
            job.toml, line 60, key process.name: 'cut' stands already on line 45: give every process a name of its own.
            readings.csv, line 6, column after: 'finish' is not a process known here: use cut, cut.
            worked.csv, line 2, column after: 'finish' is not a process known here: use cut, cut.
            defects.csv, line 4, column after: 'finish' is not a process known here: use cut, cut.
            gloss.csv, line 4, column after: 'finish' is not a process known here: use cut, cut."#]],
    );
    job(
        "name = \"finish\"",
        "name = \"fine:1\"",
        expect![[r#"
            job.toml, line 48, key process.followed_by: 'finish' is not a process known here: use cut, fine:1.
            job.toml, line 60, key process.name: 'fine:1' can't be a name: ':' and '+' stand between processes and sets in the column 'after'.
            readings.csv, line 6, column after: 'finish' is not a process known here: use cut, fine:1.
            worked.csv, line 2, column after: 'finish' is not a process known here: use cut, fine:1.
            defects.csv, line 4, column after: 'finish' is not a process known here: use cut, fine:1.
            gloss.csv, line 4, column after: 'finish' is not a process known here: use cut, fine:1."#]],
    );
    job(
        "followed_by = \"finish\"",
        "followed_by = \"finsh\"",
        expect![
            "job.toml, line 48, key process.followed_by: 'finsh' is not a process known here (did you mean 'finish'?): use cut, finish."
        ],
    );
    job(
        "followed_by = \"finish\"",
        "followed_by = \"cut\"",
        expect!["job.toml, line 48, key process.followed_by: 'cut' can't be followed by 'cut': that leads back to 'cut' and never ends."],
    );
    job(
        "orbit_radius_mm = 7.5",
        "orbit_radius_mm = 75",
        expect![
            "job.toml, line 51, key process.use: no set can be worked so: an orbit of radius 75 mm under a pad of radius 70 mm: the orbit must be the smaller; was the throw given for its half?"
        ],
    );
    job(
        "stiffness_pa_per_m = 2.4e6",
        "stiffness_pa_per_m = 2.4",
        expect![
            "job.toml, line 74, key pad.stiffness_pa_per_m: 2.4 makes no sense here: it must be from 10,000 to 1e10 Pa/m: kPa for each mm of squeeze times 1,000,000, soft foam some 2.4e6."
        ],
    );
    job(
        "drive = \"free\"",
        "drive = \"rotary\"",
        expect![[r#"
        job.toml, line 67, key machine.orbit_radius_mm: 7.5 makes no sense here: it must be 0, or left out: a rotary has no orbit.
        job.toml, line 68, key machine.orbits_per_minute: 4200 makes no sense here: it must be 0, or left out: a rotary has no orbit."#]],
    );
    job(
        "radius_mm = 12",
        "radius_mm = 0",
        expect![
            "job.toml, line 89, key panel.line.radius_mm: 0 makes no sense here: it must be a radius from 0.1 to 15,000 mm; a sharp crease has 1 or less."
        ],
    );
    let staged =
        |stages: &str, expect: Expect| job("arm_speed_mm_s = 40\noverlap = 0.5\npasses = 4", &format!("overlap = 0.5\n{stages}"), expect);
    staged(
        "stages = [{ pad = \"clean\" }]",
        expect![
            "job.toml, line 56, key process.use.stages: no stage has passes: a set must remove something, like { passes = 4, arm_speed_mm_s = 30 }."
        ],
    );
    staged(
        "stages = [{ passes = 2 }]",
        expect![
            "job.toml, line 56, key process.use.stages.arm_speed_mm_s: 'arm_speed_mm_s' is missing: add it, like `arm_speed_mm_s = 120`."
        ],
    );
    staged(
        "stages = [{ passes = 2, arm_speed_mm_s = 120 }, { pad = \"wash\" }]",
        expect!["job.toml, line 56, key process.use.stages.pad: 'wash' is not a word known here: use clean, change."],
    );
    staged(
        "stages = [{ passes = 2, arm_speed_mm_s = 120 }]\npasses = 4",
        expect!["job.toml, line 57, key process.use.passes: a use with stages has its passes and arm speeds in them: leave this out."],
    );
    staged(
        "stages = [{ passes = 2, arm_speed_mm_s = 120, pad = \"clean\" }]",
        expect![[r#"
            job.toml, line 56, key process.use.stages.arm_speed_mm_s: a stage has passes or does something to the pad: make it two.
            job.toml, line 56, key process.use.stages.passes: a stage has passes or does something to the pad: make it two."#]],
    );
    job(
        "machine = \"large orbital\"",
        "machine = \"small orbital\"",
        expect!["job.toml, line 52, key process.use.machine: 'small orbital' is not a machine known here: use large orbital."],
    );
    job(
        "[limits]",
        "[[other_gauge]]\nname = \"pencil\"\naccuracy = { fixed_um = 2.0, percent = 3 }\nrepeatability_um = 1.5\n[limits]",
        expect!["job.toml, line 27, key other_gauge.name: 'pencil' stands already on line 22: give every gauge a name of its own."],
    );
    job(
        "name = \"finish\"\nremoval_um = { mean = 0.4, sd = 0.1 }\n",
        "name = \"finish\"\nremoval_um = { mean = 0.4, sd = 0.1 }\nfollowed_by = \"cut\"\n",
        expect![[r#"
            job.toml, line 48, key process.followed_by: 'cut' can't be followed by 'finish': that leads back to 'cut' and never ends.
            job.toml, line 62, key process.followed_by: 'finish' can't be followed by 'cut': that leads back to 'finish' and never ends."#]],
    );
}

#[test]
fn outlines_that_are_none_are_named() {
    job(
        "width_mm = 900",
        "width_mm = 0",
        expect!["job.toml, line 93, key panel.width_mm: 0 makes no sense here: it must be a length above 0 and up to 15,000 mm."],
    );
    job(
        "width_mm = 900",
        "width_mm = 900\noutline_mm = [[0, 0], [900, 0], [900, 700]]",
        expect!["job.toml, line 94, key panel.outline_mm: give either width_mm and height_mm or outline_mm: here is both."],
    );
    job(
        "[1300, 1150], [100, 1150]]",
        "[100, 1150], [1300, 1150]]",
        expect!["job.toml, line 79, key panel.outline_mm: this is no panel's outline: its sides 2 and 4 cross or touch."],
    );
    job(
        "[1300, 1150], [100, 1150]]",
        "[1300, nan], [100, 1150]]",
        expect!["job.toml, line 79, key panel.outline_mm: a point makes no sense here: it must be finite and within 15,000 mm."],
    );
    job(
        "points_mm = [[60, 600], [1340, 640]]",
        "points_mm = [[60, 600]]",
        expect!["job.toml, line 88, key panel.line.points_mm: this is no body line: one point has no direction; list at least two."],
    );
    job(
        "points_mm = [[60, 600], [1340, 640]]",
        "points_mm = [[60, 600], [1400, 640]]",
        expect![
            "job.toml, line 88, key panel.line.points_mm: (1400, 640) is not on 'bonnet', which is 1400 by 1150 mm from its lower left: measure from there, in mm."
        ],
    );
}

#[test]
fn columns_that_lack_or_are_unknown_are_named() {
    readings(
        "panel,x_mm,y_mm,reading",
        "panel,x_mm,y_mm,readings",
        expect![[r#"
        readings.csv, line 1: 'readings' is not a column known here (did you mean 'reading'?): use panel, x_mm, y_mm, reading, unit, after, layer, gauge, session, taken, note.
        readings.csv, line 1: the column 'reading' is missing (did you mean 'readings'?): the header must have panel,x_mm,y_mm,reading,unit,after."#]],
    );
    readings(
        ",unit,layer,after,",
        ",unit,layer,note2,",
        expect![[r#"
        readings.csv, line 1: 'note2' is not a column known here: use panel, x_mm, y_mm, reading, unit, after, layer, gauge, session, taken, note.
        readings.csv, line 1: the column 'after' is missing: the header must have panel,x_mm,y_mm,reading,unit,after."#]],
    );
    check(
        &Files { readings: Some(b"panel;x_mm;y_mm;reading;unit;after\n".to_vec()), ..good() },
        &expect![
            "readings.csv, line 1: the columns are divided by semicolons: save the file with commas between columns and points for decimals."
        ],
    );
}

#[test]
fn a_survey_without_readings_is_refused() {
    check(
        &Files { readings: Some(b"panel,x_mm,y_mm,reading,unit,after\n".to_vec()), ..good() },
        &expect!["readings.csv, line 1: there is nothing in it: a plan needs readings of the film."],
    );
    check(
        &Files { readings: Some(Vec::new()), ..good() },
        &expect!["readings.csv, line 1: there is nothing in it: its first line must name the columns."],
    );
}

#[test]
fn a_survey_of_one_place_is_refused() {
    let survey = |rows: &str| Files { readings: Some(format!("panel,x_mm,y_mm,reading,unit,layer,after\n{rows}").into_bytes()), ..good() };
    check(
        &survey("door,100,100,98,um,,\n"),
        &expect![
            "readings.csv, line 2: the whole survey is one reading, which says nothing of how the film varies: read at least three places on each panel to be worked."
        ],
    );
    check(
        &survey("door,0,0,33,um,undercoat,\n\ndoor,100,100,98,um,,\n"),
        &expect![
            "readings.csv, line 4: the whole survey is one reading, which says nothing of how the film varies: read at least three places on each panel to be worked."
        ],
    );
    check(
        &survey("door,100,100,98,um,,\ndoor,100,100,98.4,um,,\ndoor,100,100,97.1,um,,cut:1\n"),
        &expect![
            "readings.csv, line 2: the whole survey is 3 readings at one place, which says nothing of how the film varies: read at least three places on each panel to be worked."
        ],
    );
    check(
        &survey("door,0,0,33,um,undercoat,\ndoor,9,0,34,um,undercoat,\n"),
        &expect![
            "readings.csv, line 2: only undercoats were read, and no film to be worked: read at least three places on each panel to be worked."
        ],
    );
    assert!(read(&survey("door,100,100,98,um,,\ndoor,300,100,98,um,,\n")).is_ok());
    // Rows that were refused may have been other places.
    check(
        &survey("door,100,100,98,um,,\ndoor,300,100,abc,um,,\n"),
        &expect!["readings.csv, line 3, column reading: 'abc' is not a number: write it like 118.5."],
    );
}

#[test]
fn a_floor_above_every_reading_is_named_with_its_line_however_it_is_written() {
    let mut files = good();
    let job = String::from_utf8(files.job.take().unwrap()).unwrap();
    let limits = "[limits]\nfloor_um = 16\nrisk = 0.02\nspend_um = 4\nthrough_risk = 0.001\n";
    assert!(job.contains(limits));
    let job = job.replace(limits, "").replacen("format = 1\n", "format = 1\nlimits = { risk = 0.02, floor_um = 500 }\n", 1);
    files.job = Some(job.into_bytes());
    check(
        &files,
        &expect![
            "job.toml, line 2, key limits.floor_um: the floor of 500.0 um is above every reading (the highest is 105.0 um): nothing may be worked. Check the floor and the readings' units."
        ],
    );
}

#[test]
fn a_vehicle_of_which_nothing_is_worked_is_named() {
    let mut files = changed(|files| &mut files.job, "work = true", "work = false");
    let job = String::from_utf8(files.job.take().unwrap()).unwrap();
    files.job = Some(job.replace("visibility = 0.6", "work = false").into_bytes());
    check(&files, &expect!["job.toml, line 77, key panel.work: no panel is worked: every panel says work = false."]);
}

#[test]
fn bad_readings_are_named_by_line_and_column() {
    readings("98.1,um", "abc,um", expect!["readings.csv, line 5, column reading: 'abc' is not a number: write it like 118.5."]);
    readings("98.1,um", "nan,um", expect!["readings.csv, line 5, column reading: 'nan' is not a number: write it like 118.5."]);
    readings("98.1,um", "inf,um", expect!["readings.csv, line 5, column reading: 'inf' is not a number: write it like 118.5."]);
    readings(
        "98.1,um",
        "-98.1,um",
        expect!["readings.csv, line 5, column reading: -98.1 um makes no sense here: it must be 0 or more: a film is not negative."],
    );
    readings("98.1,um", ",um", expect!["readings.csv, line 5, column reading: no number is written."]);
    readings("98.1,um", "98.1,", expect!["readings.csv, line 5, column unit: the field is empty: write um, mil or mm."]);
    readings("98.1,um", "98.1,micro", expect!["readings.csv, line 5, column unit: 'micro' is not a unit known here: use um, mil, mm."]);
    readings(
        "98.1,um,total,",
        "98,1,um,",
        expect![[r#"
            readings.csv, line 5, column layer: 'um' is not a word known here: use total, undercoat, topcoat.
            readings.csv, line 5, column unit: the unit is '1': if the reading is 98 and a decimal comma, write 98.1."#]],
    );
    readings(
        "98.1,um",
        "3.9 mil,um",
        expect!["readings.csv, line 5, column unit: the reading says mil and the column says um: which one is it?"],
    );
    readings(
        "98.1,um",
        "\"1,234\",um",
        expect![
            "readings.csv, line 5, column reading: '1,234' may be 1.234 or 1234: write one of the two, with a point for decimals and nothing between thousands."
        ],
    );
    readings(
        "door,100,100,98.1",
        "dor,100,100,98.1",
        expect!["readings.csv, line 5, column panel: 'dor' is not a panel known here (did you mean 'door'?): use bonnet, door."],
    );
    readings(
        "door,100,100,98.1",
        ",100,100,98.1",
        expect!["readings.csv, line 5, column panel: the field is empty: every row names its panel."],
    );
    readings(
        "door,100,100,98.1",
        "door,100,1000,98.1",
        expect![
            "readings.csv, line 5, column x_mm: (100, 1000) is not on 'door', which is 900 by 700 mm from its lower left: measure from there, in mm."
        ],
    );
    readings(
        "bonnet,200,200",
        "bonnet,20,1100",
        expect![
            "readings.csv, line 2, column x_mm: (20, 1100) is not on 'bonnet', which is 1400 by 1150 mm from its lower left: measure from there, in mm."
        ],
    );
    readings(
        "door,100,100,98.1",
        "door,x,100,98.1",
        expect!["readings.csv, line 5, column x_mm: 'x' is not a number: write it like 118.5."],
    );
    readings(
        "98.1,um,total",
        "98.1,um,totl",
        expect![
            "readings.csv, line 5, column layer: 'totl' is not a word known here (did you mean 'total'?): use total, undercoat, topcoat."
        ],
    );
    readings(
        "cut:1+finish:2",
        "cut:1+finnish:2",
        expect!["readings.csv, line 6, column after: 'finnish' is not a process known here (did you mean 'finish'?): use cut, finish."],
    );
    readings(
        "cut:1+finish:2",
        "cut",
        expect!["readings.csv, line 6, column after: 'cut' doesn't say what had been done: write process:sets, like cut:2."],
    );
    readings(
        "pencil,evening",
        "pencl,evening",
        expect!["readings.csv, line 4, column gauge: 'pencl' is not a gauge known here (did you mean 'pencil'?): use pencil."],
    );
    readings(
        "2024-05-01T09:30:00+02:00",
        "yesterday",
        expect![
            "readings.csv, line 2, column taken: yesterday makes no sense here: it must be an RFC 3339 time, like 2024-05-01T09:30:00+02:00."
        ],
    );
    readings(
        ",um,total,,,morning,,\ndoor,400",
        ",um,total,,,morning,\ndoor,400",
        expect![
            "readings.csv, line 5: this row has 10 fields where the header has 11: an empty field keeps its comma, and a field with a comma in it stands in quotes."
        ],
    );
}

#[test]
fn signs_that_cannot_be_seen_are_written_out() {
    readings("98.1,um", "98\0.1,um", expect![[r"readings.csv, line 5, column reading: '98\u{0}.1' is not a number: write it like 118.5."]]);
    readings(
        "98.1,um",
        "98\u{1b}[31m,um",
        expect![[r"readings.csv, line 5, column reading: '98\u{1b}[31' is not a number: write it like 118.5."]],
    );
    readings(
        "door,100,100,98.1",
        "door\u{7},100,100,98.1",
        expect![[r"readings.csv, line 5, column panel: 'door\u{7}' is not a panel known here (did you mean 'door'?): use bonnet, door."]],
    );
}

#[test]
fn a_line_far_too_long_is_named_once() {
    let long = format!("panel,x_mm,y_mm,reading,unit,after\ndoor,{},1,98,um,\n", "9".repeat(1_000_000));
    check(
        &Files { readings: Some(long.into_bytes()), ..good() },
        &expect!["readings.csv, line 2: a field of 1000000 characters: is a quote left open?"],
    );
}

#[test]
fn a_unit_that_the_gauge_cannot_have_meant_is_named() {
    readings(
        "door,100,100,98.1,um",
        "door,100,100,3.9,um",
        expect![
            "readings.csv, line 5, column reading: 3.9 um is less than is to be expected of a vehicle (10 to 2000 um); plausible would be 3.9 mil: correct the unit, or leave the reading out if it was a slip."
        ],
    );
    readings(
        "door,100,100,98.1,um",
        "door,100,100,110,mil",
        expect![
            "readings.csv, line 5, column reading: 110 mil is 2794 um, more than is to be expected of a vehicle (10 to 2000 um); plausible would be 110 um: correct the unit, or, if the gauge did show that, write it in um."
        ],
    );
    readings(
        "door,100,100,98.1,um",
        "door,100,100,0.098,um",
        expect![
            "readings.csv, line 5, column reading: 0.098 um is less than is to be expected of a vehicle (10 to 2000 um); plausible would be 0.098 mm: correct the unit, or leave the reading out if it was a slip."
        ],
    );
    readings(
        "door,100,100,98.1,um",
        "door,100,100,60,mil",
        expect![
            "readings.csv, line 5, column reading: 60 mil is 1524 um where the vehicle's readings stand about 104 um: 60 um would fit: correct the unit, or, if the gauge did show that, write it in um."
        ],
    );
}

#[test]
fn a_reading_that_no_gauge_can_take_is_named() {
    job(
        "name = \"door\"\n",
        "name = \"door\"\nsubstrate = \"plastic\"\n",
        expect![[r#"
        readings.csv, line 5, column panel: 'door' is plastic, which neither a magnetic nor an eddy-current gauge reads through: take the reading out, or correct the panel's substrate in job.toml.
        readings.csv, line 6, column panel: 'door' is plastic, which neither a magnetic nor an eddy-current gauge reads through: take the reading out, or correct the panel's substrate in job.toml.
        readings.csv, line 7, column panel: 'door' is plastic, which neither a magnetic nor an eddy-current gauge reads through: take the reading out, or correct the panel's substrate in job.toml."#]],
    );
    job(
        "through_um = 0",
        "through_um = 100",
        expect![[r#"
        readings.csv, line 5, column reading: 98.1 um is less than the 100 um of film left under the probe: correct the reading or gauge.through_um.
        readings.csv, line 6, column reading: 97 um is less than the 100 um of film left under the probe: correct the reading or gauge.through_um.
        readings.csv, line 7, column reading: 33 um is less than the 100 um of film left under the probe: correct the reading or gauge.through_um."#]],
    );
}

#[test]
fn places_worked_that_cannot_be_are_named() {
    worked(
        "door,300,200,200,200",
        "door,800,200,200,200",
        expect![
            "worked.csv, line 2, column x_mm: (1000, 400) is not on 'door', which is 900 by 700 mm from its lower left: measure from there, in mm."
        ],
    );
    worked(
        "door,300,200,200,200",
        "door,300,200,0,200",
        expect!["worked.csv, line 2, column width_mm: 0 makes no sense here: it must be a size above 0 mm."],
    );
    worked(
        ",cut:1+finish:2",
        ",",
        expect!["worked.csv, line 2, column after: the field is empty: say what was done, like cut:1; leave out what was not worked."],
    );
}

#[test]
fn counts_that_cannot_be_are_named() {
    defects(
        "left,door,cut:1,20",
        "left,door,cut:1,20.5",
        expect![
            "defects.csv, line 3, column count: 20.5 makes no sense here: it must be a whole number from 0 to 1,000,000 (a share goes into the column share_left)."
        ],
    );
    defects(
        "left,door,cut:1,20",
        "left,door,cut:1,-20",
        expect![
            "defects.csv, line 3, column count: -20 makes no sense here: it must be a whole number from 0 to 1,000,000 (a share goes into the column share_left)."
        ],
    );
    defects(
        "left,door,cut:1,20",
        "left,door,cut:1,",
        expect!["defects.csv, line 3, column count: give either count or share_left: here is neither."],
    );
    defects(
        "haze,0.25,no",
        "haze,1.25,no",
        expect!["defects.csv, line 6, column share_left: 1.25 makes no sense here: it must be a share from 0 to 1, like 0.4."],
    );
    defects(
        "haze,0.25,no",
        "haze,0.25,maybe",
        expect!["defects.csv, line 6, column wiped: 'maybe' is not a word known here: use yes, no."],
    );
    defects(
        "cut:1,20,350,250,0.3,0.5,,,yes",
        "cut:1,20,350,250,0.3,0.5,,0.4,yes",
        expect![
            "defects.csv, line 3, column count: give either count or share_left: here is both; a photograph of a counted spot is a row of its own, with count empty."
        ],
    );
    defects(
        "0.3,0.5",
        "0.5,0.3",
        expect!["defects.csv, line 3, column share_low: 0.5 makes no sense here: it must be not above share_high."],
    );
    defects(
        "door,cut:1,,,,,,haze,0.25",
        "door,cut:1,,,,0.3,0.5,haze,0.25",
        expect!["defects.csv, line 6, column share_left: 0.25 makes no sense here: it must be from share_low to share_high."],
    );
    defects(
        "0.3,0.5",
        "0.3,",
        expect!["defects.csv, line 3, column share_low: give share_low and share_high together or neither: here is one without the other."],
    );
    defects(
        "left,door,cut:1,",
        "left,bonnet,cut:1,",
        expect!["defects.csv, line 3, column panel: the spot 'left' lies on 'door' above and on 'bonnet' here: a spot lies on one panel."],
    );
}

#[test]
fn a_photograph_among_counts_is_told_what_its_row_needs() {
    let table = |text: &str| Files { defects: Some(text.into()), ..good() };
    check(
        &table(
            "spot,panel,after,count,wiped\nleft,door,,48,\nspot,panel,after,share_left,share_low,share_high\nhalf,door,cut:1,0.140,0.100,0.190\n",
        ),
        &expect![[r#"
            defects.csv, line 3: this line names columns, as the first one does: a file has one header, with every column that a row needs. Take this line out, and give each row a field, empty or not, for every column.
            defects.csv, line 4: this row has 6 fields where the header has 5: an empty field keeps its comma, and a field with a comma in it stands in quotes. For a photograph's row among counts the header needs share_left,share_low,share_high besides count: each row leaves empty what it doesn't state."#]],
    );
    // As many fields as the header has, but others.
    check(
        &table("spot,panel,after,count,kind,wiped\nleft,door,,48,,\nhalf,door,cut:1,0.140,0.100,0.190\n"),
        &expect![[r#"
        defects.csv, line 3, column count: 0.140 makes no sense here: it must be a whole number from 0 to 1,000,000 (a share goes into the column share_left).
        defects.csv, line 3, column kind: '0.100' is not a word known here: use fine, deep, haze.
        defects.csv, line 3, column wiped: '0.190' is not a word known here: use yes, no."#]],
    );
}

#[test]
fn gloss_that_cannot_be_is_named() {
    gloss(
        "left,door,,71.0,82.2,",
        "left,door,,,,",
        expect!["gloss.csv, line 2, column gloss_20: give gloss_20 or gloss_60 or both: here is neither."],
    );
    gloss(
        "left,door,,71.0",
        "left,door,,710",
        expect!["gloss.csv, line 2, column gloss_20: 710 makes no sense here: it must be from 0 to 200 gloss units."],
    );
    gloss(
        "left,door,,71.0",
        "left,door,,-1",
        expect!["gloss.csv, line 2, column gloss_20: -1 makes no sense here: it must be from 0 to 200 gloss units."],
    );
    gloss(
        "left,door,,71.0",
        "left,door,,bright",
        expect!["gloss.csv, line 2, column gloss_20: 'bright' is not a number: write it like 118.5."],
    );
    gloss(
        "88,1.52",
        "88,15.2",
        expect![
            "gloss.csv, line 5, column index: 15.2 makes no sense here: it must be a refractive index from 1.3 to 1.8; paint is near 1.5."
        ],
    );
    gloss(
        "left,door,,70.4",
        "left,bonnet,,70.4",
        expect!["gloss.csv, line 3, column panel: the spot 'left' lies on 'door' above and on 'bonnet' here: a spot lies on one panel."],
    );
    gloss(
        "left,door,,70.4",
        ",door,,70.4",
        expect!["gloss.csv, line 3, column spot: the field is empty: give the spot a name, so that its rows belong together."],
    );
    gloss(
        "left,door,,70.4",
        "left,dor,,70.4",
        expect!["gloss.csv, line 3, column panel: 'dor' is not a panel known here (did you mean 'door'?): use bonnet, door."],
    );
    gloss(
        "cut:1+finish:2",
        "cutt:1",
        expect!["gloss.csv, line 4, column after: 'cutt' is not a process known here (did you mean 'cut'?): use cut, finish."],
    );
    gloss(
        "gloss_20",
        "gloss_2",
        expect![[r#"
        gloss.csv, line 1: 'gloss_2' is not a column known here (did you mean 'gloss_20'?): use spot, panel, after, gloss_20, gloss_60, index.
        gloss.csv, line 1: the column 'gloss_20' is missing (did you mean 'gloss_2'?): the header must have spot,panel,after,gloss_20,gloss_60."#]],
    );
    gloss(
        "gloss_60",
        "gloss_85",
        expect![[r#"
        gloss.csv, line 1: 'gloss_85' is not a column known here (did you mean 'gloss_60'?): use spot, panel, after, gloss_20, gloss_60, index.
        gloss.csv, line 1: the column 'gloss_60' is missing (did you mean 'gloss_85'?): the header must have spot,panel,after,gloss_20,gloss_60."#]],
    );
}

#[test]
fn bytes_that_are_no_text_are_named_with_their_line() {
    let mut files = good();
    files.readings = Some([b"panel,x_mm,y_mm,reading,unit,after\n", b"door,1,1,98,\xb5m,\n".as_slice()].concat());
    check(&files, &expect!["readings.csv, line 2: this is not UTF-8 text: save the file as UTF-8 (in a spreadsheet, 'CSV UTF-8')."]);
}

#[test]
fn a_file_far_too_long_is_refused() {
    let row = "door,100,100,98.1,um,\n";
    let long = format!("panel,x_mm,y_mm,reading,unit,after\n{}", row.repeat(1_000_000));
    check(
        &Files { readings: Some(long.into_bytes()), ..good() },
        &expect![
            "readings.csv, line 762601: this file holds more than 20,000 rows or 16 MB, more than is ever measured on one vehicle: leave out what this job doesn't need."
        ],
    );
    let row = "door,abc,100,98.1,um,\n";
    let bad = format!("panel,x_mm,y_mm,reading,unit,after\n{}", row.repeat(10_000));
    let problems = read(&Files { readings: Some(bad.into_bytes()), ..good() }).unwrap_err();
    assert_eq!((problems.listed.len(), problems.left_off), (50, 9950));
}
