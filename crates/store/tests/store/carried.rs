//! Records taken out of one store and brought into another.

use lastmicron_job::event::When;
use lastmicron_record::{Bundle, sha256};
use lastmicron_store::{BroughtIn, Sqlite, Store, bring_in, take_out};

use crate::pen::{event, id};

fn time(minute: u32) -> When {
    format!("2024-05-01T12:{minute:02}:00Z").parse().unwrap()
}

fn noted(n: u64, job: u64, text: &str) -> lastmicron_record::Sealed {
    event(n, job, &format!(r#"{{"kind":"noted","text":"{text}"}}"#))
}

#[test]
fn a_record_brought_into_another_store_is_the_same_hash_for_hash() {
    let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let [here, there] = [0, 1].map(|at: usize| Sqlite::open(folders[at].path()).unwrap());
    let photograph = b"\xff\xd8\xff a photograph".to_vec();
    here.keep(&photograph).unwrap();
    let attached = event(3, 1, &format!(r#"{{"kind":"photograph-attached","photograph":"{}"}}"#, sha256(&photograph)));
    here.append(vec![noted(2, 1, "a"), attached], time(1)).unwrap();
    here.append(vec![noted(4, 1, "b"), noted(5, 8, "of another job")], time(2)).unwrap();
    let bundle = Bundle::read(&take_out(&here, id(1)).unwrap().unwrap().write().unwrap()).unwrap();
    let brought = bring_in(&there, &bundle).unwrap().unwrap();
    assert_eq!(brought, BroughtIn { job: id(1), events: 3, new: 3, refused: 0, left_out: 0, same: true });
    assert_eq!(there.events(id(1), 1).unwrap(), here.events(id(1), 1).unwrap());
    assert_eq!(there.kept(sha256(&photograph)).unwrap(), Some(photograph));
    assert_eq!(there.events(id(8), 1).unwrap(), []);
    // Brought in again, nothing doubles.
    let again = bring_in(&there, &bundle).unwrap().unwrap();
    assert_eq!((again, there.events(id(1), 1).unwrap().len()), (BroughtIn { new: 0, ..brought }, 3));
    assert!(there.verify().unwrap().damage.is_empty());
    assert_eq!(take_out(&there, id(77)).unwrap(), None);
}

#[test]
fn what_stands_there_already_is_left_as_it_is_and_that_is_told() {
    let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let [here, there] = [0, 1].map(|at: usize| Sqlite::open(folders[at].path()).unwrap());
    here.append(vec![noted(2, 1, "a"), noted(3, 1, "b")], time(1)).unwrap();
    there.append(vec![noted(3, 1, "something else"), noted(6, 1, "c")], time(2)).unwrap();
    let brought = bring_in(&there, &take_out(&here, id(1)).unwrap().unwrap()).unwrap().unwrap();
    assert_eq!(brought, BroughtIn { job: id(1), events: 1, new: 1, refused: 1, left_out: 0, same: false });
    let ids: Vec<_> = there.events(id(1), 1).unwrap().into_iter().map(|entry| entry.event.id).collect();
    assert_eq!(ids, [id(3), id(6), id(2)]);
}

#[test]
fn a_sheet_that_was_erased_stays_so_when_an_older_file_is_brought_in_and_goes_with_it_elsewhere() {
    let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
    let [here, there] = [0, 1].map(|at: usize| Sqlite::open(folders[at].path()).unwrap());
    let (text, plan) = (br#"{"salt":"5bd1e7c09a3f4e2286d0b7f1a9c3e564","name":"A. Owner"}"#, b"a plan");
    let (sheet, photograph) = (here.keep(text).unwrap(), here.keep(plan).unwrap());
    let owner = event(2, 1, &format!(r#"{{"kind":"vehicle-stated","title":"Sage roadster","owner":"{sheet}"}}"#));
    let attached = event(3, 1, &format!(r#"{{"kind":"photograph-attached","photograph":"{photograph}"}}"#));
    here.append(vec![owner, attached], time(1)).unwrap();
    let older = take_out(&here, id(1)).unwrap().unwrap();
    here.erase(sheet).unwrap();
    let again = BroughtIn { job: id(1), events: 2, new: 0, refused: 0, left_out: 1, same: true };
    assert_eq!(bring_in(&here, &older).unwrap(), Some(again));
    assert_eq!((here.kept(sheet).unwrap(), here.verify().unwrap().erased), (None, vec![sheet]));
    // Where it was never erased it comes with the record.
    assert_eq!(bring_in(&there, &older).unwrap(), Some(BroughtIn { new: 2, left_out: 0, ..again }));
    assert_eq!(there.kept(sheet).unwrap().as_deref(), Some(&text[..]));
}
