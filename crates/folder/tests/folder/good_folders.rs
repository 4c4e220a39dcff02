//! What a good folder becomes, and what is said of an unusual one.

use std::path::Path;

use lastmicron_film::gauge::{Layer, Substrate};
use lastmicron_folder::{Files, parse};
use lastmicron_look::{Count, Kind, Seen};
use lastmicron_plan::System;
use lastmicron_polish::stage::Stage;
use lastmicron_polish::{Drive, Hardness, PadEdge, Step};
use lastmicron_units::Unit;

use crate::{changed, good, read};

fn findings(files: &Files) -> Vec<String> {
    read(files).unwrap().findings.iter().map(ToString::to_string).collect()
}

fn job(from: &str, to: &str) -> Files {
    changed(|files| &mut files.job, from, to)
}

fn readings(from: &str, to: &str) -> Files {
    changed(|files| &mut files.readings, from, to)
}

#[test]
fn everything_that_a_folder_says_arrives() {
    let contents = read(&good()).unwrap().contents;
    let job = &contents.job;
    let car = &job.car;
    assert_eq!(
        (job.title.as_str(), job.body.as_str(), job.built, job.substrate),
        ("Cream hatchback, door and bonnet", "custom", Some(1974), Substrate::Steel)
    );
    assert_eq!((car.paint.system, car.paint.hardness, car.paint.metallic), (System::SingleStage, Some(Hardness::Soft), false));
    let undercoat = car.paint.undercoat.unwrap();
    assert_eq!([undercoat.mean_um, undercoat.sd_um, undercoat.panel_sd_um.unwrap()].map(|um| um.to_string()), ["32", "5", "2"]);
    assert_eq!(
        car.gauges
            .iter()
            .map(|gauge| (gauge.name.as_str(), gauge.percent.to_string(), gauge.resolution_um.to_string()))
            .collect::<Vec<_>>(),
        [("", "1".to_owned(), "0.1".to_owned()), ("pencil", "3".to_owned(), "0".to_owned())]
    );
    assert_eq!((car.limits.floor.to_string(), car.limits.spend.unwrap().to_string()), ("16.0 um".to_owned(), "4.0 um".to_owned()));
    assert_eq!(
        [car.limits.risk, car.limits.through_risk.unwrap(), car.goal.correction, car.goal.hours].map(|x| x.to_string()),
        ["0.02", "0.001", "0.88", "14"]
    );
    assert_eq!(
        car.processes.iter().map(|process| (process.name.as_str(), process.followed_by)).collect::<Vec<_>>(),
        [("cut", Some(1)), ("finish", None)]
    );
    let equipment = &car.equipment;
    assert_eq!((equipment.machines[0].drive, equipment.pads[0].edge), (Drive::Free, PadEdge::Upright));
    assert_eq!(
        equipment.uses.iter().map(|used| used.map(|used| (used.machine, used.pad, used.passes))).collect::<Vec<_>>(),
        [Some((0, 0, 4)), None]
    );
    let bonnet = &car.panels[0];
    assert_eq!((bonnet.panel.substrate, bonnet.metallic, bonnet.hardness), (Substrate::Aluminium, Some(true), Some(Hardness::Hard)));
    assert_eq!((bonnet.lines[0].points_mm.len(), bonnet.lines[0].radius_mm.to_string()), (2, "12".to_owned()));
    assert_eq!(
        (car.panels[1].panel.substrate, car.panels[1].visibility.to_string(), car.panels[1].work),
        (Substrate::Steel, "0.6".to_owned(), true)
    );
    assert_eq!(
        car.readings.iter().map(|reading| (reading.panel, reading.layer, reading.gauge, reading.line.unwrap())).collect::<Vec<_>>(),
        [
            (0, Layer::Total, 0, 2),
            (0, Layer::Total, 0, 3),
            (0, Layer::Total, 1, 4),
            (1, Layer::Total, 0, 5),
            (1, Layer::Total, 0, 6),
            (1, Layer::Undercoat, 0, 7),
            (1, Layer::Topcoat, 1, 8)
        ]
    );
    assert_eq!(
        car.readings.iter().map(|reading| reading.value.to_string()).collect::<Vec<_>>(),
        ["104.5 um", "104.1 um", "105.0 um", "98.1 um", "97.0 um", "33.0 um", "61.0 um"]
    );
    assert_eq!(car.readings[4].after, [Step { process: 0, sets: 1 }, Step { process: 1, sets: 2 }]);
    assert_eq!((car.readings[2].session.as_str(), contents.jottings[2].note.as_str()), ("evening", "by the washer, left"));
    assert_eq!(
        (contents.jottings[1].entered.unwrap().to_string(), contents.jottings[1].entered.unwrap().unit()),
        ("4.10 mil".to_owned(), Unit::Mil)
    );
    assert_eq!(car.worked.len(), 1);
    assert_eq!(
        car.counts.iter().map(|count| (count.seen, count.kind, count.wiped)).collect::<Vec<_>>(),
        [
            (Seen::Count(48), Kind::Fine, false),
            (Seen::Count(20), Kind::Fine, true),
            (Seen::Count(22), Kind::Fine, true),
            (Seen::ShareLeft(1.0), Kind::Haze, false),
            (Seen::ShareLeft(0.25), Kind::Haze, false)
        ]
    );
    assert_eq!(
        job.gloss.iter().map(|read| (read.spot.as_str(), read.panel, read.gloss_20, read.gloss_60, read.index)).collect::<Vec<_>>(),
        [
            ("left", 1, Some(71.0), Some(82.2), None),
            ("left", 1, Some(70.4), None, None),
            ("left", 1, Some(84.5), Some(90.0), None),
            ("bare", 0, None, Some(88.0), Some(1.52))
        ]
    );
    assert_eq!(job.gloss[2].after, [(0, 1), (1, 2)]);
    assert_eq!((contents.spots_mm[0], contents.spots_mm[3]), (Some([350.0, 250.0]), None));
    assert_eq!(findings(&good()), [""; 0]);
}

#[test]
fn a_folder_needs_no_more_than_job_and_readings() {
    let files = Files { worked: None, defects: None, gloss: None, ..good() };
    let checked = read(&files).unwrap();
    let job = &checked.contents.job;
    assert!(job.car.worked.is_empty() && job.car.counts.is_empty() && job.gloss.is_empty());
    assert!(checked.findings.iter().any(|finding| {
        finding
            .to_string()
            .starts_with("readings.csv, line 6, column after: 1 reading(s) on 'door' were taken after work that worked.csv doesn't cover")
    }));
}

#[test]
fn line_ends_and_a_byte_order_mark_make_no_difference() {
    let plain = read(&good()).unwrap();
    let dressed = |bytes: Option<Vec<u8>>| {
        bytes.map(|bytes| format!("\u{feff}{}", String::from_utf8(bytes).unwrap().replace('\n', "\r\n")).into_bytes())
    };
    let Files { job, readings, worked, defects, gloss } = good();
    let files =
        Files { job: dressed(job), readings: dressed(readings), worked: dressed(worked), defects: dressed(defects), gloss: dressed(gloss) };
    assert_eq!(read(&files).unwrap(), plain);
}

#[test]
fn a_set_may_be_worked_in_stages() {
    let stages = "stages = [{ passes = 2, arm_speed_mm_s = 120 }, { pad = \"clean\" }, { passes = 4, arm_speed_mm_s = 30 }]";
    let files = job("arm_speed_mm_s = 40\noverlap = 0.5\npasses = 4", &format!("overlap = 0.5\n{stages}"));
    let equipment = read(&files).unwrap().contents.job.car.equipment;
    // [D] 2 / 120 + 4 / 30 = 0.15 s/mm: six passes at 40 mm/s
    assert_eq!(equipment.uses[0].map(|used| (used.passes, used.arm_speed_mm_s.to_string())), Some((6, "40".to_owned())));
    let first = Stage::Passes { passes: 2, arm_speed_mm_s: 120.0 };
    assert_eq!(equipment.stages_of(0), [first, Stage::CleanPad, Stage::Passes { passes: 4, arm_speed_mm_s: 30.0 }]);
    assert!(equipment.stages_of(1).is_empty());
}

#[test]
fn a_clockwise_outline_is_turned_round() {
    let corners = "[[0, 0], [1400, 0], [1300, 1150], [100, 1150]]";
    let clockwise = job(corners, "[[100, 1150], [1300, 1150], [1400, 0], [0, 0]]");
    assert_eq!(read(&clockwise).unwrap(), read(&good()).unwrap());
}

#[test]
fn unusual_things_are_read_and_said() {
    let says = |files: Files, finding: &str| {
        let all = findings(&files);
        assert!(all.iter().any(|said| said == finding), "{all:#?} lacks {finding}");
    };
    says(
        job("body = \"custom\"", "body = \"hearse\""),
        "job.toml, line 5, key vehicle.body: there is no outline for the body 'hearse': only the panels below are used.",
    );
    says(
        job("system = \"single-stage\"\n", ""),
        "job.toml, line 9, key paint.system: 'paint.system' is not stated: it is taken as unknown.",
    );
    says(
        job("sd_um = 5,", "sd_um = 0,"),
        "job.toml, line 11, key paint.undercoat.sd_um: a standard deviation of 0 takes 'paint.undercoat.sd_um' as certain.",
    );
    says(
        job("through_risk = 0.001", "through_risk = 0.03"),
        "job.toml, line 30, key limits.through_risk: through_risk is not below risk: what reaches the undercoat is below the floor already, so that it limits nothing.",
    );
    says(
        readings("door,100,100,98.1", "door,100,100,2650"),
        "readings.csv, line 5, column reading: 2650 um is more than is to be expected of a vehicle (10 to 2000 um): check it; it is used as it stands.",
    );
    says(
        Files {
            readings: Some(b"panel,x_mm,y_mm,reading,unit,after\ndoor,1,1,98,um,\ndoor,9,1,98,um,\n".to_vec()),
            ..job("spend_um = 4\n", "")
        },
        "job.toml, line 76, key panel: 'bonnet' has no reading: read it, or state spend_um in [limits], by which the mildest process can be planned on it.",
    );
    says(
        changed(|files| &mut files.defects, "left,door,,48,350,250,,,,,\n", ""),
        "defects.csv, line 2, column after: the spot 'left' has no count before work (with 'after' empty): its counts say less.",
    );
}

#[test]
fn filler_read_in_mil_by_a_gauge_set_to_mil_is_kept() {
    let rows: String = (0..6).map(|i| format!("door,{},100,4.0,mil,\n", 100 * i)).collect();
    let files = Files { readings: Some(format!("panel,x_mm,y_mm,reading,unit,after\n{rows}door,50,50,47,mil,\n").into_bytes()), ..good() };
    assert!(
        findings(&files)
            .iter()
            .any(|said| said.contains("47 mil is 1194 um where the vehicle's readings stand about 102 um: filler, or a slip of the unit?"))
    );
}

#[test]
fn plastic_is_read_through_by_a_gauge_that_tells_layers_apart() {
    let mut files = job("name = \"door\"\n", "name = \"door\"\nsubstrate = \"plastic\"\n");
    files.readings = Some(b"panel,x_mm,y_mm,reading,unit,layer,after\ndoor,1,1,38,um,topcoat,\nbonnet,300,300,98,um,total,\n".to_vec());
    files.worked = None;
    assert!(read(&files).is_ok());
}

#[test]
fn counts_may_rise_since_sets_leave_marks_of_their_own() {
    assert!(read(&changed(|files| &mut files.defects, "finish:2,22,", "finish:2,61,")).is_ok());
}

#[test]
fn a_photograph_of_a_half_polished_spot_needs_no_row_before_work() {
    let row = "left,door,cut:1,20,350,250,0.3,0.5,,,yes";
    let photographed = "half,door,cut:1,,,,0.1,0.19,,0.14,\nleft,door,cut:1,20,350,250,0.3,0.5,,,yes";
    let files = changed(|files| &mut files.defects, row, photographed);
    assert_eq!(findings(&files), [""; 0]);
    let half = read(&files).unwrap().contents.job.car.counts[1].clone();
    assert_eq!((half.seen, half.share_between), (Seen::ShareLeft(0.14), Some([0.1, 0.19])));
}

/// The example's folder with another defects.csv.
fn example_with(defects: &str) -> Files {
    let file =
        |name: &str| Some(std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/sage-roadster").join(name)).unwrap());
    Files { job: file("job.toml"), readings: file("readings.csv"), worked: file("worked.csv"), gloss: None, defects: Some(defects.into()) }
}

#[test]
fn counts_and_photographs_stand_together_as_the_pages_show() {
    for page in ["README.md", "docs/formats.md"] {
        let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(page)).unwrap();
        let shown: Vec<&str> = text.split("```csv\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
        let [mixed] = shown[..] else { panic!("{page} shows {} tables", shown.len()) };
        let checked = read(&example_with(mixed)).unwrap();
        assert_eq!(checked.findings, [], "{page}");
        let counts = &checked.contents.job.car.counts;
        assert_eq!(counts.iter().map(Count::is_measured).collect::<Vec<_>>(), [false, false, false, true, true], "{page}");
    }
}

#[test]
fn looks_at_one_state_that_can_not_both_be_right_are_told() {
    let header = "spot,panel,after,count,share_left,share_low,share_high\n";
    let told = |rows: &str| findings(&example_with(&format!("{header}{rows}")));
    let expected = "defects.csv, line 3, column share_left: 10 to 19 % are left of the spot 'spot 4' on line 2 and 40 to 50 % here, 19 times in 20 each, though after the same sets, or less after fewer: both can hardly be right. A plan takes both, and comes out between them and surer than of either. Leave out the one that is wrong.";
    assert_eq!(told("spot 4,boot lid,finish:2,,0.14,0.1,0.19\nspot 4,boot lid,finish:2,,0.45,0.4,0.5\n"), [expected]);
    let expected = "defects.csv, line 4, column count: 10 to 19 % are left of the spot 'spot 1' on line 3 and 40 to 62 % here, 19 times in 20 each, though after the same sets, or less after fewer: both can hardly be right. A plan takes both, and comes out between them and surer than of either. Leave out the one that is wrong.";
    assert_eq!(told("spot 1,boot lid,,75,,,\nspot 1,boot lid,finish:2,,0.14,0.1,0.19\nspot 1,boot lid,finish:2,38,,,\n"), [expected]);
    assert_eq!(told("spot 4,boot lid,finish:1,,0.45,0.4,0.5\nspot 4,boot lid,finish:2,,0.14,0.1,0.19\n"), [""; 0]);
}

#[test]
fn a_misspelt_optional_file_is_pointed_out() {
    let checked = parse(&Files { defects: None, ..good() }, &["defect.csv".to_owned()]).unwrap();
    let said: Vec<String> = checked.findings.iter().map(ToString::to_string).collect();
    assert!(said.contains(&"defects.csv: 'defect.csv' in the folder is not read; is it meant as defects.csv?".to_owned()), "{said:?}");
}
