//! Folders written, and read back.

use std::fs;

use lastmicron_folder::{Contents, Jotting, WriteError, write};
use lastmicron_job::Job;
use lastmicron_polish::stage::{Stage, together};
use proptest::prelude::*;

use crate::{good, read};

/// A job without the lines that its readings came from.
pub(crate) fn without_lines(mut job: Job) -> Job {
    for reading in &mut job.car.readings {
        reading.line = None;
    }
    job
}

#[test]
fn what_is_written_reads_back_the_same() {
    let contents = read(&good()).unwrap().contents;
    let room = tempfile::tempdir().unwrap();
    let folder = room.path().join("cream");
    write(&contents, &folder).unwrap();
    assert_eq!(lastmicron_folder::read(&folder).unwrap().contents, contents);
    let left: Vec<_> = fs::read_dir(room.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(left, ["cream"]);
}

#[test]
fn a_job_without_jottings_is_written_in_micrometres() {
    let job = read(&good()).unwrap().contents.job;
    let room = tempfile::tempdir().unwrap();
    write(&Contents::from(job.clone()), &room.path().join("cream")).unwrap();
    let back = lastmicron_folder::read(&room.path().join("cream")).unwrap().contents;
    assert_eq!(without_lines(back.job), without_lines(job));
    assert!(fs::read_to_string(room.path().join("cream/readings.csv")).unwrap().contains("bonnet,700,600,104.13999999999999,um"));
}

#[test]
fn a_job_whose_last_processes_state_no_use_is_written() {
    let room = tempfile::tempdir().unwrap();
    let mut contents = read(&good()).unwrap().contents;
    let stated = contents.job.car.equipment.uses.clone();
    assert_eq!(stated.len(), 2);
    contents.job.car.equipment.uses.truncate(1);
    let folder = room.path().join("cream");
    write(&contents, &folder).unwrap();
    assert_eq!(lastmicron_folder::read(&folder).unwrap().contents.job.car.equipment.uses, stated);
}

#[test]
fn stages_are_written_and_read_back() {
    let room = tempfile::tempdir().unwrap();
    let mut contents = read(&good()).unwrap().contents;
    let stages =
        vec![Stage::Passes { passes: 2, arm_speed_mm_s: 120.0 }, Stage::ChangePad, Stage::Passes { passes: 3, arm_speed_mm_s: 35.0 }];
    let equipment = &mut contents.job.car.equipment;
    let (passes, arm_speed_mm_s) = together(&stages).unwrap();
    equipment.uses[0].iter_mut().for_each(|used| (used.passes, used.arm_speed_mm_s) = (passes, arm_speed_mm_s));
    equipment.stages = vec![stages];
    equipment.polishes = vec![Some("mild".to_owned())];
    let folder = room.path().join("cream");
    write(&contents, &folder).unwrap();
    let back = lastmicron_folder::read(&folder).unwrap().contents.job.car.equipment;
    assert_eq!(back.polishes, [Some("mild".to_owned()), None]);
    assert_eq!((back.stages_of(0), &back.uses), (contents.job.car.equipment.stages_of(0), &contents.job.car.equipment.uses));
}

#[test]
fn nothing_is_written_over_and_nothing_half_written() {
    let contents = read(&good()).unwrap().contents;
    let room = tempfile::tempdir().unwrap();
    fs::write(room.path().join("taken"), "mine").unwrap();
    assert!(matches!(write(&contents, &room.path().join("taken")), Err(WriteError::Taken(_))));
    assert_eq!(fs::read_to_string(room.path().join("taken")).unwrap(), "mine");
    assert!(matches!(write(&contents, &room.path().join("no/such/room")), Err(WriteError::Io { .. })));
    let mut unsayable = contents.clone();
    unsayable.job.title = " spaces ".to_owned();
    assert!(matches!(write(&unsayable, &room.path().join("new")), Err(WriteError::Unsayable)));
    let mut unreadable = contents;
    unreadable.job.car.goal.hours = f64::NAN;
    assert!(matches!(write(&unreadable, &room.path().join("new")), Err(WriteError::Unreadable(_))));
    assert_eq!(fs::read_dir(room.path()).unwrap().count(), 1);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_job_of_sane_numbers_reads_back_the_same(
        title in "[^\\s\\pC][^\\pC]{0,30}[^\\s\\pC]",
        name in "[a-zA-Z0-9,\"'][a-zA-Z0-9 ,\"'\\\\=#\\[]{0,20}[a-zA-Z0-9\"]",
        note in "[^\\s\\pC][^\\pC]{0,30}[^\\s\\pC]",
        floor_um in 2.0..90.0_f64,
        risk in 0.0001..0.9_f64,
        rate in 0.01..50.0_f64,
        size in (10.0..3000.0_f64, 10.0..3000.0_f64),
        readings in proptest::collection::vec((0.0..1.0_f64, 0.0..1.0_f64, 90.0..160.0_f64), 0..20),
    ) {
        let mut contents = read(&good()).unwrap().contents;
        contents.jottings = vec![Jotting { note, ..Jotting::default() }];
        contents.job.title = title;
        let car = &mut contents.job.car;
        car.limits.floor = lastmicron_units::Thickness::from_micrometres(floor_um).unwrap();
        car.limits.risk = risk;
        car.processes[0].name = name.clone();
        car.processes[0].removal_um.mean = rate;
        car.panels[1].panel = lastmicron_film::panel::Panel::rectangle(&name, size.0, size.1, lastmicron_film::gauge::Substrate::Steel);
        car.worked.clear();
        car.counts.clear();
        contents.spots_mm.clear();
        let corners = [(0.0, 0.0, 100.0), (1.0, 1.0, 100.0)];
        car.readings = corners.iter().chain(&readings).map(|(x, y, um)| {
            let mut reading = car.readings[3].clone();
            (reading.x_mm, reading.y_mm) = (x * size.0, y * size.1);
            reading.value = lastmicron_units::Thickness::from_micrometres(*um).unwrap();
            reading
        }).collect();
        let room = tempfile::tempdir().unwrap();
        let folder = room.path().join("job");
        write(&contents, &folder).unwrap();
        prop_assert_eq!(without_lines(lastmicron_folder::read(&folder).unwrap().contents.job), without_lines(contents.job));
    }
}
