//! Records taken out of one store and brought into another.

use lastmicron_job::event::When;
use lastmicron_record::{Bundle, sha256};
use lastmicron_store::{Sqlite, Store, bring_in, take_out};

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
    assert_eq!((brought.job, brought.events, brought.refused, brought.same), (id(1), 3, 0, true));
    assert_eq!(there.events(id(1), 1).unwrap(), here.events(id(1), 1).unwrap());
    assert_eq!(there.kept(sha256(&photograph)).unwrap(), Some(photograph));
    assert_eq!(there.events(id(8), 1).unwrap(), []);
    // Brought in again, nothing doubles.
    let again = bring_in(&there, &bundle).unwrap().unwrap();
    assert_eq!((again.events, again.same, there.events(id(1), 1).unwrap().len()), (3, true, 3));
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
    assert_eq!((brought.events, brought.refused, brought.same), (1, 1, false));
    let ids: Vec<_> = there.events(id(1), 1).unwrap().into_iter().map(|entry| entry.event.id).collect();
    assert_eq!(ids, [id(3), id(6), id(2)]);
}
