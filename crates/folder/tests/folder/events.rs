//! A job folder brought into a record folds into the job that the folder reads into, and comes out as the folder that it was.

use lastmicron_folder::events::{Said, contents, said};
use lastmicron_folder::{Contents, Files, write};
use lastmicron_job::event::{Event, Id, When};
use lastmicron_job::fold::{Standing, fold};
use lastmicron_plan::{GoneThrough, KeepOff, KeepOffLine, KeptOff};

use crate::example::example;
use crate::round_trip::without_lines;
use crate::{good, read};

fn imported() -> When {
    "2024-06-01T08:00:00Z".parse().unwrap()
}

fn events(contents: &Contents) -> Vec<Event> {
    let id = |n: u64| Id::made_at(1_717_228_800_000 + n, [7; 10]);
    let event = |(n, said): (u64, Said)| Event {
        id: id(n),
        job: id(0),
        when: said.when.unwrap_or_else(imported),
        device: id(1),
        who: "J.".to_owned(),
        over: None,
        body: said.body,
    };
    (10..).zip(said(contents)).map(event).collect()
}

fn folded(contents: &Contents) -> Standing {
    let standing = fold(&events(contents));
    assert_eq!(standing.unusable, []);
    standing
}

fn through_a_record(files: &Files) {
    let before = read(files).unwrap().contents;
    let standing = folded(&before);
    assert_eq!(standing.job().unwrap(), without_lines(before.job.clone()));
    let after = contents(&standing).unwrap();
    assert_eq!(after.spots_mm.iter().flatten().count() > 0, before.spots_mm.iter().flatten().count() > 0);
    for (after, before) in after.jottings.iter().zip(&before.jottings) {
        assert_eq!((after.entered, &after.note), (before.entered, &before.note));
        assert!(after.taken == before.taken || before.taken.is_empty() && after.taken == imported().to_string());
    }
    let room = tempfile::tempdir().unwrap();
    write(&after, &room.path().join("job")).unwrap();
    let back = lastmicron_folder::read(&room.path().join("job")).unwrap().contents;
    assert_eq!(without_lines(back.job), without_lines(before.job));
}

#[test]
fn a_folder_that_says_everything_goes_through_a_record() {
    through_a_record(&good());
}

#[test]
fn what_was_kept_off_goes_through_a_record() {
    let worked = "panel,x_mm,y_mm,width_mm,height_mm,after,keep_off
bonnet,0,0,400,400,cut:1,line 0: 20; edge 3: 50
bonnet,0,0,400,400,cut:1,
door,300,200,200,200,cut:1+finish:2,
";
    let files = Files { worked: Some(worked.into()), ..good() };
    let kept_off: Vec<_> = read(&files).unwrap().contents.job.car.worked.iter().map(|worked| worked.kept_off.clone()).collect();
    let both = KeptOff { edges: vec![KeepOff { edge: 3, mm: 50.0 }], lines: vec![KeepOffLine { line: 0, mm: 20.0 }] };
    assert_eq!(kept_off, [both, KeptOff::default(), KeptOff::default()]);
    through_a_record(&files);
}

#[test]
fn where_it_was_gone_through_goes_through_a_record() {
    let mut before = read(&good()).unwrap().contents;
    let through = |x_mm: f64, despite: bool| GoneThrough { place_mm: [x_mm, 90.5], despite };
    before.job.car.panels[0].gone_through = vec![through(120.0, true), through(700.0, true), through(300.0, false)];
    let after = contents(&folded(&before)).unwrap();
    assert_eq!(after.job.car.panels[0].gone_through, before.job.car.panels[0].gone_through);
    let room = tempfile::tempdir().unwrap();
    write(&after, &room.path().join("job")).unwrap();
    let back = lastmicron_folder::read(&room.path().join("job")).unwrap().contents;
    assert_eq!(without_lines(back.job), without_lines(before.job));
}

#[test]
fn the_example_goes_through_a_record() {
    through_a_record(&example());
}

#[test]
fn what_is_struck_out_of_an_imported_record_is_not_exported() {
    let before = read(&example()).unwrap().contents;
    let mut events = events(&before);
    let last = events.last().unwrap().clone();
    let why = "read on a badge".to_owned();
    let strike = lastmicron_job::event::Body::StruckOut(lastmicron_job::event::StruckOut { event: last.id, why });
    events.push(Event { id: Id::made_at(1_717_228_900_000, [7; 10]), body: strike, ..last });
    let after = contents(&fold(&events)).unwrap();
    assert_eq!(after.job.car.readings.len() + 1, before.job.car.readings.len());
    assert_eq!(after.jottings.len(), after.job.car.readings.len());
}

#[test]
fn a_record_that_lacks_something_is_not_exported_and_says_what() {
    let lacking = contents(&fold(&[])).unwrap_err();
    assert_eq!(lacking[0].to_string(), "state the vehicle");
}
