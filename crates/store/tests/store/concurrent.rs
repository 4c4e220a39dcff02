//! Many at once.

use std::collections::BTreeSet;
use std::thread;

use lastmicron_store::{Report, Sqlite, Store};

use crate::pen::{Chance, at, id, reading};

const THREADS: u64 = 16;
const EVENTS: u64 = 60;

#[test]
fn sixteen_threads_append_the_same_and_their_own_while_others_read() {
    let folder = tempfile::tempdir().unwrap();
    let store = Sqlite::open(folder.path()).unwrap();
    let receipts = thread::scope(|scope| {
        let append = |worker: u64| {
            let store = &store;
            move || {
                let mut chance = Chance(worker);
                let mut receipts = Vec::new();
                for i in 0..EVENTS {
                    // Half of them are sent by all threads, and half by one.
                    let n = if i % 2 == 0 { 1000 + i } else { 10_000 + worker * 1000 + i };
                    let receipt = store.append(vec![reading(n, 1 + n % 4)], at(1)).unwrap().remove(0).unwrap();
                    receipts.push((n, receipt));
                    if chance.below(8) == 0 {
                        let seen = store.events(id(1), 1).unwrap();
                        assert!(seen.iter().zip(1..).all(|(entry, seq)| entry.seq == seq));
                    }
                }
                receipts
            }
        };
        let workers: Vec<_> = (0..THREADS).map(|worker| scope.spawn(append(worker))).collect();
        workers.into_iter().flat_map(|worker| worker.join().unwrap()).collect::<Vec<_>>()
    });
    let taken: BTreeSet<u64> = receipts.iter().map(|(n, _)| *n).collect();
    let report = store.verify().unwrap();
    assert_eq!(report, Report { jobs: 4, entries: EVENTS / 2 + THREADS * EVENTS / 2, ..Report::default() });
    assert_eq!(u64::try_from(taken.len()).unwrap(), report.entries);
    for (n, receipt) in receipts {
        let entry = store.events(receipt.job, receipt.seq).unwrap().remove(0);
        assert_eq!((entry.event.id, entry.hash), (id(n), receipt.hash));
    }
}
