//! What every store does. A store that is added is added to `every_store`, and to nothing else here.

use std::collections::BTreeSet;
use std::path::Path;

use lastmicron_job::event::Id;
use lastmicron_record::{Head, Refusal, sha256, verify};
use lastmicron_store::{Damage, MOST_KEPT_BYTES, Report, Sqlite, Store, StoreError};

use crate::pen::{Chance, at, event, id, photograph, reading};

/// Opens each kind of store, fresh and in a folder of its own, and again in the same folder.
pub(crate) fn every_store(check: impl Fn(&dyn Fn() -> Box<dyn Store>, &Path)) {
    let folder = tempfile::tempdir().unwrap();
    check(&|| Box::new(Sqlite::open(folder.path()).unwrap()), folder.path());
}

fn ids(store: &dyn Store, job: Id) -> Vec<Id> {
    store.events(job, 1).unwrap().iter().map(|entry| entry.event.id).collect()
}

#[test]
fn an_empty_store_is_empty_and_sound() {
    every_store(|open, _| {
        let store = open();
        assert_eq!((store.jobs().unwrap(), store.events(id(1), 1).unwrap()), (vec![], vec![]));
        assert_eq!(store.append(vec![], at(0)).unwrap(), vec![]);
        assert_eq!(store.kept(sha256(b"nothing")).unwrap(), None);
        assert_eq!(store.verify().unwrap(), Report::default());
    });
}

#[test]
fn events_stand_in_the_records_of_their_jobs_in_the_order_in_which_they_came() {
    every_store(|open, _| {
        let store = open();
        let receipts = store.append(vec![reading(30, 1), reading(20, 2), reading(10, 1)], at(0)).unwrap();
        let seqs: Vec<u64> = receipts.iter().map(|receipt| receipt.as_ref().unwrap().seq).collect();
        assert_eq!(seqs, [1, 1, 2]);
        assert_eq!(ids(&*store, id(1)), [id(30), id(10)]);
        assert_eq!(store.events(id(1), 2).unwrap().iter().map(|entry| entry.seq).collect::<Vec<_>>(), [2]);
        assert_eq!(store.events(id(1), 3).unwrap(), []);
        let entries = store.events(id(1), 0).unwrap();
        let head = verify(&entries).unwrap();
        assert_eq!(store.jobs().unwrap().iter().map(|(job, head)| (*job, head.seq)).collect::<Vec<_>>(), [(id(1), 2), (id(2), 1)]);
        assert_eq!(store.jobs().unwrap()[0].1, head);
        assert_eq!(receipts[2].as_ref().unwrap().hash, head.hash);
        assert_eq!(receipts[0].as_ref().unwrap().event, sha256(reading(30, 1).bytes()));
        assert_eq!(entries[0].event, *reading(30, 1).event());
    });
}

#[test]
fn an_event_that_is_sent_again_gives_the_receipt_that_it_gave_first() {
    every_store(|open, _| {
        let store = open();
        let first = store.append(vec![reading(10, 1)], at(0)).unwrap();
        store.append(vec![reading(11, 1)], at(1)).unwrap();
        assert_eq!(store.append(vec![reading(10, 1)], at(2)).unwrap(), first);
        let twice_at_once = store.append(vec![reading(12, 1), reading(12, 1)], at(3)).unwrap();
        assert_eq!(twice_at_once[0], twice_at_once[1]);
        drop(store);
        let store = open();
        assert_eq!(store.append(vec![reading(10, 1)], at(4)).unwrap(), first);
        assert_eq!(ids(&*store, id(1)), [id(10), id(11), id(12)]);
    });
}

#[test]
fn another_event_under_an_id_that_is_taken_is_refused_by_name_and_the_others_are_taken() {
    every_store(|open, _| {
        let store = open();
        store.append(vec![reading(10, 1)], at(0)).unwrap();
        let other = event(10, 1, r#"{"kind":"noted","text":"not the reading"}"#);
        let outcomes = store.append(vec![other.clone(), reading(11, 1), reading(10, 2)], at(1)).unwrap();
        assert_eq!((outcomes[0].clone(), outcomes[2].clone()), (Err(Refusal::Taken(id(10))), Err(Refusal::Taken(id(10)))));
        assert_eq!(outcomes[1].as_ref().unwrap().seq, 2);
        assert!(outcomes[0].as_ref().unwrap_err().to_string().contains(&id(10).to_string()));
        assert_eq!((ids(&*store, id(1)), store.jobs().unwrap().len()), (vec![id(10), id(11)], 1));
        assert_eq!(store.verify().unwrap().damage, []);
    });
}

#[test]
fn in_whatever_order_devices_send_and_however_often_the_same_events_are_taken() {
    every_store(|open, _| {
        let store = open();
        for round in 0..20_u64 {
            // Three devices, each with events of its own for one job, sent whole, in parts, twice, and mixed.
            let job = 1 + round % 3;
            let own: Vec<u64> = (0..30).map(|i| 1000 + round * 100 + i).collect();
            let mut sent: Vec<u64> = own.iter().chain(&own).copied().collect();
            let mut chance = Chance(round);
            chance.shuffle(&mut sent);
            let mut rest = sent.as_slice();
            while !rest.is_empty() {
                let (part, left) = rest.split_at((1 + chance.below(7)).min(rest.len()));
                store
                    .append(part.iter().map(|n| reading(*n, job)).collect(), at(1))
                    .unwrap()
                    .into_iter()
                    .for_each(|outcome| drop(outcome.unwrap()));
                rest = left;
            }
            let there: BTreeSet<Id> = ids(&*store, id(job)).into_iter().collect();
            assert!(own.iter().all(|n| there.contains(&id(*n))));
        }
        let all: Vec<Id> = (1..=3).flat_map(|job| ids(&*store, id(job))).collect();
        assert_eq!((all.len(), all.iter().collect::<BTreeSet<_>>().len()), (600, 600));
        assert_eq!(store.verify().unwrap(), Report { jobs: 3, entries: 600, ..Report::default() });
    });
}

#[test]
fn what_is_there_is_there_when_it_is_opened_again() {
    every_store(|open, _| {
        let (entries, jobs) = {
            let store = open();
            store.append((10..60).map(|n| reading(n, 1)).collect(), at(0)).unwrap();
            (store.events(id(1), 1).unwrap(), store.jobs().unwrap())
        };
        let store = open();
        assert_eq!((store.events(id(1), 1).unwrap(), store.jobs().unwrap()), (entries, jobs));
        store.append(vec![reading(60, 1)], at(1)).unwrap();
        assert_eq!(store.verify().unwrap(), Report { jobs: 1, entries: 51, ..Report::default() });
    });
}

#[test]
fn bytes_are_kept_by_their_content_and_what_is_not_there_yet_is_waited_for() {
    every_store(|open, _| {
        let store = open();
        let bytes = b"a photograph of the boot lid".to_vec();
        let digest = sha256(&bytes);
        store.append(vec![photograph(10, 1, digest)], at(0)).unwrap();
        assert_eq!(store.verify().unwrap(), Report { jobs: 1, entries: 1, waiting: vec![digest], ..Report::default() });
        assert_eq!((store.keep(&bytes).unwrap(), store.keep(&bytes).unwrap()), (digest, digest));
        assert_eq!(store.kept(digest).unwrap(), Some(bytes));
        assert_eq!(store.keep(b"").unwrap(), sha256(b""));
        assert_eq!(store.verify().unwrap(), Report { jobs: 1, entries: 1, kept: 2, ..Report::default() });
    });
}

#[test]
fn more_bytes_than_are_kept_are_refused_by_type() {
    every_store(|open, _| {
        let store = open();
        let found = MOST_KEPT_BYTES + 1;
        assert_eq!(store.keep(&vec![0; found]), Err(StoreError::TooLarge { found, most: MOST_KEPT_BYTES }));
        assert_eq!(store.verify().unwrap(), Report::default());
    });
}

#[test]
fn bytes_that_changed_are_not_given_out_and_found_and_nothing_more_is_taken() {
    every_store(|open, folder| {
        let store = open();
        let digest = store.keep(b"a photograph").unwrap();
        store.append(vec![photograph(10, 1, digest)], at(0)).unwrap();
        let name = digest.to_string();
        let path = folder.join("kept").join(&name[..2]).join(&name);
        std::fs::write(&path, b"a photogRaph").unwrap();
        assert!(matches!(store.kept(digest), Err(StoreError::Damaged(_))));
        assert_eq!(store.verify().unwrap().damage, [Damage::Kept { name: name.clone(), entry: Some((id(1), 1)) }]);
        let told = store.verify().unwrap().damage[0].to_string();
        assert_eq!(told, format!("what is kept as {name}, named by entry 1 of job {}, has other bytes than it had", id(1)));
        assert!(matches!(store.append(vec![reading(11, 1)], at(1)), Err(StoreError::Damaged(_))));
        assert_eq!(store.events(id(1), 1).unwrap().len(), 1);
        // Sent again, it is whole again.
        drop(store);
        let store = open();
        assert_eq!(store.keep(b"a photograph").unwrap(), digest);
        assert_eq!(store.verify().unwrap().damage, []);
        assert_eq!(store.append(vec![reading(11, 1)], at(1)).unwrap()[0].as_ref().unwrap().seq, 2);
    });
}

#[test]
fn a_head_is_that_of_its_record() {
    every_store(|open, _| {
        let store = open();
        let receipts = store.append(vec![reading(10, 1)], at(0)).unwrap();
        let hash = receipts[0].as_ref().unwrap().hash;
        assert_eq!(store.jobs().unwrap(), [(id(1), Head { seq: 1, hash })]);
    });
}
