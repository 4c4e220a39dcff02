//! `lastmicron pass` on good and bad input.

use std::fs;

use expect_test::{Expect, expect};
use serde_json::Value;

use crate::{Ended, Room};

/// A machine, a pad and a use for `one-step`, after the process's last key.
const USE: &str = r#"minutes_per_m2 = 26

[process.use]
machine = "large orbital"
pad = "soft foam 140"
load_n = 40
arm_speed_mm_s = 40
overlap = 0.5
passes = 4

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
"#;

/// The invented job without its machines, pads and uses.
fn bare() -> Room {
    let room = Room::new();
    let path = room.path("job").join("job.toml");
    let mut is_kept = true;
    let mut kept = String::new();
    for line in fs::read_to_string(&path).unwrap().lines() {
        if line.starts_with('[') {
            is_kept = !["[process.use]", "[[machine]]", "[[pad]]"].contains(&line);
        }
        if is_kept {
            kept += line;
            kept.push('\n');
        }
    }
    fs::write(path, kept).unwrap();
    room
}

fn room() -> Room {
    let room = bare();
    room.change("job.toml", "minutes_per_m2 = 26\n", USE);
    room
}

fn pass(room: &Room, more: &[&str]) -> Ended {
    room.run(&[&["pass", "job", "--process", "one-step"], more].concat())
}

/// Nothing is written and nothing printed.
fn refused(more: &[&str], expect: &Expect) {
    let room = room();
    let ended = pass(&room, &[more, &["--svg", "set.svg", "--pdf", "set.pdf"]].concat());
    expect.assert_eq(&ended.err);
    assert_eq!((ended.status, ended.out.as_str()), (2, ""));
    assert_eq!(room.names(), ["job"]);
}

#[test]
fn a_set_is_told_for_a_person() {
    let ended = pass(&room(), &[]);
    assert_eq!((ended.status, ended.err.as_str()), (0, ""));
    assert!(ended.out.lines().all(|line| line.chars().count() <= 80));
    let told = ended.out.split("\nCautions\n").next().unwrap();
    expect![[r#"
        One set of one-step
        ===================
          Machine       large orbital: orbit 7.5 mm from its middle, 4200 a minute,
                        spins freely at about 200 a minute.
          Pad           soft foam 140: 140 mm, 2.4 kPa a mm of squeeze, upright rim.
          Worked        40 N, strokes overlap by 50 %, the arm at 40 mm/s, 4 passes.
          On the paint  2.6 kPa under the pad, moving at 3.4 m/s; each place is under it
                        for 22 s.
          One set takes 1.21 um (0.84 to 1.74, 19 times in 20) in the middle of one
                        section of one panel.
          Its rate      1.22 um (0.97 to 1.53, 19 times in 20) as now believed, the mean
                        over sections, after all readings; 1.16 um (0.72 to 1.89, 19
                        times in 20) before anything was measured.
          A section     450 mm square: 3 min 27 s; 1.50 at most where strokes meet, 0.75
                        over all of it, since its sides are left to the neighbours.
          Evenness      5 % from place to place by the strokes alone; 15 % with what
                        panels and sections differ by (standard deviations).

        A section worked by one set, from above
            .........11111......111111......11111.........
            .....1112222222222222233222222222222222111....
            ...1112223333334444433333344444444433332221...
            ..111223344445555555555555555555555554433221..
            ..1223445566677777777766777777777766655433221.
            .12233456677788877888777788877898877665443321.
            .12334567788999888899888899888899988776543321.
            .12334467788999888888888888888899888876543321.
            .12334456777888877788777788777788877766543321.
            .12334466778899888888888888888889888776543321.
            .12334567788898888888888888888899887765443321.
            .12334566777888777788777788777888877765443321.
            .12334567788898888888888888888899887765443321.
            .12334466778899888888888888888889888776543321.
            .12334456777888877788777788777788877766543321.
            .12334456778899888888888888888899888776543321.
            .12233456778899888899888899888899887765433321.
            .11223345666788777788877888777888876655433221.
            ..1122344556677666777777777766777766554332221.
            ...11122334445555555555555555555555544322211..
            ....111122233333333344444433333333333222111...
            .......1111222223322222222223322222211111.....
            ..............111111......111111..............
            a digit counts 0.15 um (5: 0.75 to 0.90), a dot less; 450 mm square

        Across an edge, um by mm from it, at equal time under the pad
             mm     mean    19 times in 20  times the middle
              0     1.58      0.95 to 2.47              1.29
              5     1.55      0.93 to 2.43              1.26
             10     1.51      0.91 to 2.35              1.22
             15     1.47      0.90 to 2.28              1.20
             20     1.44      0.90 to 2.21              1.17
             30     1.39      0.89 to 2.09              1.13
             40     1.35      0.88 to 1.99              1.10
             50     1.31      0.88 to 1.89              1.07
             70     1.25      0.85 to 1.78              1.02
            100     1.19      0.80 to 1.71              0.97

        Over a line of radius 40 mm, um by mm from the line, to either side
             mm     mean    19 times in 20  times the middle
              0     1.97      0.91 to 3.75              1.60
              5     1.91      0.94 to 3.46              1.55
             10     1.77      0.91 to 3.12              1.44
             15     1.58      0.82 to 2.78              1.29
             20     1.39      0.74 to 2.39              1.13
             30     1.17      0.66 to 1.93              0.95
             40     1.07      0.63 to 1.70              0.87
             50     1.02      0.62 to 1.59              0.83
             70     1.03      0.66 to 1.54              0.84
            100     1.15      0.77 to 1.64              0.93

        Heat, an estimate of the order
          panel             after a set             pad then held still for 10 s
          steel, 0.8 mm     26 °C (+6)              31 °C (+11)
          aluminium, 1 mm   26 °C (+6)              33 °C (+13)
          plastic, 3 mm     24 °C (+4)              35 °C (+15)
          - then held still for 10 s, at the hot end (steel, aluminium, plastic; plastic
            most): about 65 degrees C, an estimate: paint may soften from 60, refinished
            paint and old lacquer before that; stop, and let the panel cool.
          - Heat is an estimate of the order, right within a factor of three: a room of
            20 degrees C, half of the friction's heat into a panel of usual thickness,
            cooled by still air on both sides; a substrate that isn't stated is taken as
            steel. Edges, thin and bonded places get hotter, a panel in the sun begins
            far above, fresh paint and lacquer soften sooner: feel the panel beside the
            pad.

        The pad
          A section 450 mm square puts a film of 16.2 um on the pad's face. Clean it on
          the machine after 2 sections; change it for a clean, dry one after 5 sections.
          (Due at 20.0 and 80.0 um: common practice and judgement. Look at the pad.)

        Where the model leaves its range
          - Nowhere: on flats, edges and the job's lines the foam stays within it.
    "#]]
    .assert_eq(told);
}

#[test]
fn a_set_worked_otherwise_is_carried_over_and_less_sure() {
    let room = room();
    let json = |more: &[&str]| -> Value { serde_json::from_str(&pass(&room, &[more, &["--json"]].concat()).out).unwrap() };
    let (own, other) = (json(&[]), json(&["--load", "60", "--arm-speed", "80"]));
    let (mean, sd) = (|of: &Value| of["set_um"]["mean"].as_f64().unwrap(), |of: &Value| of["set_um"]["sd"].as_f64().unwrap());
    assert_eq!((&own["carried"], &own["set_um"]), (&Value::Null, &own["job_rate"]["posterior_um"]));
    // [D] one and a half times the load at twice the speed, in the median.
    let log_sd = other["carried"]["log_sd"].as_f64().unwrap();
    assert!((mean(&other) / mean(&own) - 0.75 * (0.5 * log_sd * log_sd).exp()).abs() < 1e-9);
    assert!(sd(&other) / mean(&other) > sd(&own) / mean(&own));
    assert_eq!(other["job_rate"], own["job_rate"]);
    assert!((own["section"]["middle_um"].as_f64().unwrap() - mean(&own)).abs() < 1e-9);
}

#[test]
fn what_a_set_takes_is_what_the_plan_says() {
    let room = room();
    let set: Value = serde_json::from_str(&pass(&room, &["--json"]).out).unwrap();
    let plan: Value = serde_json::from_str(&room.run(&["plan", "job", "--json"]).out).unwrap();
    let rate = plan["rates"].as_array().unwrap().iter().find(|rate| rate["process"] == "one-step").unwrap();
    assert_eq!(set["set_um"], rate["posterior_um"]);
}

#[test]
fn kinds_stand_in_for_what_the_job_does_not_state() {
    let room = room();
    let ended = room.run(&[
        "pass",
        "job",
        "--process",
        "finish",
        "--machine",
        "rotary",
        "--pad",
        "soft foam 150",
        "--load",
        "30",
        "--arm-speed",
        "60",
        "--json",
    ]);
    assert_eq!((ended.status, ended.err.as_str()), (0, ""));
    let set: Value = serde_json::from_str(&ended.out).unwrap();
    assert_eq!((&set["with"]["machine"]["spin_rpm"], &set["with"]["pad"]["diameter_mm"]), (&Value::from(1300.0), &Value::from(150.0)));
    expect![[r#"
        [
          "'rotary' is a kind of machine: orbit and speeds are the middles of their ranges, and what it takes is less sure for it.",
          "'soft foam' is a kind of pad: its stiffness is the middle of its range, its diameter of 150 mm is as asked for, its rim upright.",
          "The job doesn't say with what a set of 'finish' is worked: what it takes is taken as meant for this machine, pad and use.",
          "Strokes overlap by 50 %, as is usual.",
          "A set has 4 passes, as is usual: two along and two across."
        ]"#]]
    .assert_eq(&format!("{:#}", set["assumed"]));
}

#[test]
fn a_pad_wider_than_a_section_still_has_its_edge() {
    let ended = pass(&room(), &["--pad", "soft foam 440"]);
    assert_eq!(ended.status, 0, "{}", ended.err);
    assert!(ended.out.contains("none: a pad of 440 mm"), "{}", ended.out);
    assert!(ended.out.contains("Across an edge") && ended.out.contains("Heat, an estimate"));
}

#[test]
fn the_drawing_is_written_as_svg_and_on_paper() {
    let room = room();
    let ended = pass(&room, &["--svg", "set.svg", "--pdf", "set.pdf"]);
    assert_eq!((ended.status, ended.err.as_str()), (0, ""));
    assert!(fs::read(room.path("set.pdf")).unwrap().starts_with(b"%PDF"));
    assert!(fs::read_to_string(room.path("set.svg")).unwrap().contains("<title>One set of one-step</title>"));
    assert_eq!(room.names(), ["job", "set.pdf", "set.svg"]);
}

#[test]
fn no_file_of_the_job_and_no_other_paper_is_written_over() {
    let room = room();
    for (more, said) in [
        (["--svg", "job/job.toml", "--pdf", "set.pdf"], "job/job.toml: that is a file of the job itself: name another"),
        (["--svg", "set.svg", "--pdf", "job/../job/worked.csv"], "worked.csv: that is a file of the job itself: name another"),
        (["--svg", "out", "--pdf", "./out"], "--svg and --pdf name the same file: give each its own"),
    ] {
        let ended = pass(&room, &more);
        assert!(ended.status == 2 && ended.err.contains(said), "{}", ended.err);
    }
    assert_eq!(room.names(), ["job"]);
}

#[test]
fn stages_are_told_and_left_out_where_passes_are_asked_for() {
    let room = room();
    room.change(
        "job.toml",
        "arm_speed_mm_s = 40\noverlap = 0.5\npasses = 4",
        "overlap = 0.5\nstages = [{ passes = 2, arm_speed_mm_s = 120 }, { pad = \"clean\" }, { passes = 4, arm_speed_mm_s = 30 }]",
    );
    let told = pass(&room, &[]).out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("in stages: 2 passes at 120 mm/s, clean the pad, 4 passes at 30 mm/s"), "{told}");
    assert!(told.contains("Clean it on the machine within every set, as its stages say"), "{told}");
    let asked = pass(&room, &["--passes", "3"]).out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(asked.contains("3 passes") && asked.contains("The set is worked in one go"), "{asked}");
}

#[test]
fn a_stated_gain_at_edges_is_said_to_be_what_the_plan_goes_by() {
    let room = room();
    room.change("job.toml", "[[process]]", "[edge]\ngain = { mean = 1.5, sd = 0.3 }\nreach_mm = 25\n\n[[process]]");
    let told = pass(&room, &[]).out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("The job states [edge], and its plan goes by that: 150 % more at an edge (give or take 30)"), "{told}");
}

#[test]
fn what_no_hand_does_is_refused_by_its_number() {
    for (option, number) in [("--passes", "4294967295"), ("--arm-speed", "1e-300"), ("--load", "1e300")] {
        let ended = pass(&room(), &[option, number]);
        assert!(ended.status == 2 && ended.out.is_empty() && ended.err.len() < 500, "{}", ended.err);
    }
}

#[test]
fn a_folder_is_never_replaced_by_a_drawing() {
    let room = room();
    let ended = pass(&room, &["--svg", "job"]);
    assert_eq!(ended.err, "lastmicron: job: that is a folder; name a file in it\n");
    assert_eq!((ended.status, ended.out.as_str()), (1, ""));
}

#[test]
fn names_that_are_not_known_are_named_with_the_nearest() {
    refused(
        &["--machine", "large orbitl"],
        &expect![[r#"
        lastmicron: job: 'large orbitl' is no machine of the job or kind of machine (`lastmicron pass --kinds` lists them): did you mean 'large orbital'?
    "#]],
    );
    refused(
        &["--machine", "rotry"],
        &expect![[r#"
        lastmicron: job: 'rotry' is no machine of the job or kind of machine (`lastmicron pass --kinds` lists them): did you mean 'rotary'?
    "#]],
    );
    refused(
        &["--pad", "soft foma 125"],
        &expect![[r#"
        lastmicron: job: 'soft foma 125' is no pad of the job or kind of pad (`lastmicron pass --kinds` lists them): did you mean 'soft foam 140'?
    "#]],
    );
    let ended = room().run(&["pass", "job", "--process", "onestep"]);
    expect![[r#"
        lastmicron: job: 'onestep' is no process of the job: did you mean 'one-step'?
    "#]]
    .assert_eq(&ended.err);
    assert_eq!(ended.status, 2);
    let ended = room().run(&["pass", "job", "--process", "finish", "--load", "30"]);
    expect![[r#"
        lastmicron: job: process 'finish' states no use of its own: give --machine, --pad, --arm-speed, or write a [process.use] into job.toml
    "#]].assert_eq(&ended.err);
    assert_eq!(ended.status, 2);
}

#[test]
fn a_set_that_cannot_be_worked_is_refused() {
    refused(
        &["--load", "0"],
        &expect![[r#"
        lastmicron: job: process 'one-step' can't be worked so: a load of 0 N: it must be a number above 0; without a load nothing is removed
    "#]],
    );
    refused(
        &["--load", "-5"],
        &expect![[r#"
        lastmicron: job: process 'one-step' can't be worked so: a load of -5 N: it must be a number above 0; without a load nothing is removed
    "#]],
    );
    refused(
        &["--arm-speed", "nan"],
        &expect![[r#"
        lastmicron: job: process 'one-step' can't be worked so: an arm speed of NaN mm/s: it must be a number above 0
    "#]],
    );
    refused(
        &["--overlap", "1"],
        &expect![[r#"
        lastmicron: job: process 'one-step' can't be worked so: an overlap of 1: it must be a share from 0 to 0.99
    "#]],
    );
    refused(
        &["--passes", "0"],
        &expect![[r#"
        lastmicron: job: process 'one-step' can't be worked so: a set of no passes removes nothing: it must have at least one
    "#]],
    );
    refused(
        &["--pad", "soft foam 10"],
        &expect![[r#"
        lastmicron: job: process 'one-step' can't be worked so: an orbit of radius 7.5 mm under a pad of radius 5 mm: the orbit must be the smaller; was the throw given for its half?
    "#]],
    );
    let room = room();
    let ended = pass(&room, &["--svg", "set", "--pdf", "set"]);
    assert_eq!((ended.status, ended.err.as_str()), (2, "lastmicron: --svg and --pdf name the same file: give each its own\n"));
}

#[test]
fn kinds_of_machines_and_pads_are_listed_without_a_job() {
    let ended = bare().run(&["pass", "--kinds"]);
    assert_eq!((ended.status, ended.err.as_str()), (0, ""));
    expect![[r#"
        Machines
          large free-spinning orbital: orbit of radius 7.5 to 10.5 mm, 2000 to 5000 a
              minute; spins at 0 to 500* a minute under load; pads of 125 to 180 mm. For
              flats and gentle crowns.
          small free-spinning orbital: orbit of radius 4 to 7.5 mm, 3000 to 6000 a
              minute; spins at 0 to 600* a minute under load; pads of 75 to 100 mm. For
              pillars, bumpers, panels broken up by lines.
          very small orbital: orbit of radius 1.5 to 6 mm, 3000 to 8000 a minute; spins
              at 0 to 800* a minute under load; pads of 25 to 50 mm. For round badges,
              in jambs, between lines.
          forced-rotation orbital: orbit of radius 4 to 7.5 mm, 2500 to 5000 a minute;
              spins at -500 to 500* a minute under load; pads of 125 to 150 mm. For
              curves on which a free pad stalls.
          rotary: spins at 600 to 2000 a minute; pads of 125 to 180 mm. For heavy
              correction by a practised hand.
          very small rotary: spins at 800 to 3000 a minute; pads of 25 to 80 mm. For
              small places without a line in them.

        Pads
          very soft foam: 0.8 to 1.6* kPa a mm of squeeze. For finishing soft paint.
          soft foam: 1.6 to 3.2* kPa a mm of squeeze. For finishing, one-step work on
              soft paint.
          medium foam: 3.2 to 6* kPa a mm of squeeze. For one-step work.
          firm foam: 6 to 12* kPa a mm of squeeze. For cutting on flats.
          short fibre or wool on thin foam: 10 to 40* kPa a mm of squeeze. For heavy
              cutting on flats.

        Rims
          upright: for up to lines and edges: it keeps its thickness to the rim.
          tapered: for flats: over a line or an edge its thin rim folds and cuts.

        All ranges are usual ones, common practice without a source; those marked * are
        judged. Measure the spin under load (a mark on the pad, a phone's slow motion),
        weigh the load on a scale, press the pad on one for its stiffness.
    "#]]
    .assert_eq(&ended.out);
    for wrong in [&["pass"][..], &["pass", "job"], &["pass", "--kinds", "job"]] {
        assert_eq!(bare().run(wrong).status, 2, "{wrong:?}");
    }
}
