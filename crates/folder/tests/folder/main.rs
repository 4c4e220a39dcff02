//! Job folders, good and bad, through the public face of the crate.

#![expect(clippy::unwrap_used, clippy::expect_used, reason = "a test may fail")]

mod bad_folders;
mod bodies;
mod events;
mod example;
mod good_folders;
mod mutations;
mod round_trip;

use lastmicron_folder::{Checked, Files, Problems, parse};

/// A folder that says everything that one can say.
const JOB: &str = r#"format = 1
title = "Cream hatchback, door and bonnet"

[vehicle]
body = "custom"
built = 1974
substrate = "steel"

[paint]
system = "single-stage"
undercoat = { mean_um = 32, sd_um = 5, panel_sd_um = 2 }
hardness = "soft"
metallic = false

[gauge]
accuracy = { fixed_um = 1.0, percent = 1.0 }
repeatability_um = 0.8
resolution_um = 0.1
through_um = 0

[[other_gauge]]
name = "pencil"
accuracy = { fixed_um = 2.0, percent = 3 }
repeatability_um = 1.5

[limits]
floor_um = 16
risk = 0.02
spend_um = 4
through_risk = 0.001

[goal]
correction = 0.88
hours = 14

[scatter]
panel = 0.1
section = 0.1

[edge]
gain = { mean = 0.6, sd = 0.2 }
reach_mm = 25

[[process]]
name = "cut"
removal_um = { mean = 1.2, sd = 0.3 }
minutes_per_m2 = 26
followed_by = "finish"
marks = { mean = 0.02, sd = 0.02 }

[process.use]
machine = "large orbital"
pad = "soft foam 140"
load_n = 40
arm_speed_mm_s = 40
overlap = 0.5
passes = 4

[[process]]
name = "finish"
removal_um = { mean = 0.4, sd = 0.1 }
minutes_per_m2 = 18

[[machine]]
name = "large orbital"
drive = "free"
orbit_radius_mm = 7.5
orbits_per_minute = 4200
spin_rpm = 200

[[pad]]
name = "soft foam 140"
diameter_mm = 140
stiffness_pa_per_m = 2.4e6
edge = "upright"

[[panel]]
name = "bonnet"
outline_mm = [[0, 0], [1400, 0], [1300, 1150], [100, 1150]]
substrate = "aluminium"
undercoat = { mean_um = 30, sd_um = 4 }
hardness = "hard"
metallic = true
visibility = 1.0
work = true

[[panel.line]]
points_mm = [[60, 600], [1340, 640]]
radius_mm = 12

[[panel]]
name = "door"
width_mm = 900
height_mm = 700
visibility = 0.6
"#;

const READINGS: &str = "panel,x_mm,y_mm,reading,unit,layer,after,gauge,session,taken,note
bonnet,200,200,104.5,um,total,,,morning,2024-05-01T09:30:00+02:00,
bonnet,700,600,4.10,mil,total,,,morning,,
bonnet,900,600,\"0,1050\",mm,,,pencil,evening,,\"by the washer, left\"
door,100,100,98.1,um,total,,,morning,,
door,400,300,97.0,um,total,cut:1+finish:2,,morning,,
door,0,0,33,um,undercoat,,,morning,,behind the trim
door,500,500,61,um,topcoat,,pencil,,,
";

const WORKED: &str = "panel,x_mm,y_mm,width_mm,height_mm,after\ndoor,300,200,200,200,cut:1+finish:2\n";

const DEFECTS: &str = "spot,panel,after,count,x_mm,y_mm,share_low,share_high,kind,share_left,wiped
left,door,,48,350,250,,,,,
left,door,cut:1,20,350,250,0.3,0.5,,,yes
left,door,cut:1+finish:2,22,350,250,,,fine,,yes
haze,door,,,,,,,haze,1,
haze,door,cut:1,,,,,,haze,0.25,no
";

const GLOSS: &str = "spot,panel,after,gloss_20,gloss_60,index
left,door,,71.0,82.2,
left,door,,70.4,,
left,door,cut:1+finish:2,84.5,90,
bare,bonnet,,,88,1.52
";

fn good() -> Files {
    let bytes = |text: &str| Some(text.as_bytes().to_vec());
    Files { job: bytes(JOB), readings: bytes(READINGS), worked: bytes(WORKED), defects: bytes(DEFECTS), gloss: bytes(GLOSS) }
}

/// The good folder with the text of one file changed. The change must apply.
fn changed(pick: fn(&mut Files) -> &mut Option<Vec<u8>>, from: &str, to: &str) -> Files {
    let mut files = good();
    let file = pick(&mut files);
    let text = String::from_utf8(file.clone().unwrap()).unwrap();
    assert!(text.contains(from), "'{from}' is not there to be changed");
    *file = Some(text.replacen(from, to, 1).into_bytes());
    files
}

fn read(files: &Files) -> Result<Checked, Problems> {
    parse(files, &[])
}
