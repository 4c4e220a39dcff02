//! Devices on a network that drops, delays, doubles, reorders and cuts, behind gateways that answer in the store's place, with clocks that are wrong: what
//! they recorded is in the store exactly once, and nothing left a device before it was.
//!
//! `LASTMICRON_DELIVERIES` sets how many cases are tried: docs/offline.md.

use std::collections::{BTreeMap, BTreeSet};

use lastmicron_job::event::Id;
use lastmicron_record::{Sealed, read_waited, verify};
use lastmicron_store::{Receipt, Sqlite, Store};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

use crate::pen::{at, id};

/// Cases of the check. Judgement: some seconds.
const CASES: u32 = 300;

/// What becomes of what a device sends, or of its answer.
#[derive(Clone, Copy, Debug)]
enum Fate {
    /// It goes through, and so does its answer.
    Well,
    /// It never arrives.
    Dropped,
    /// It arrives; its answer does not.
    Unheard,
    /// It arrives twice.
    Doubled,
    /// It arrives after everything that is sent meanwhile; nobody waits for its answer any more.
    Delayed,
    /// Its body ends before its end.
    Cut(u16),
    /// A gateway answers 200 in the store's place.
    Gateway,
}

fn fate() -> impl Strategy<Value = Fate> {
    prop_oneof![
        2 => Just(Fate::Well),
        1 => Just(Fate::Dropped),
        1 => Just(Fate::Unheard),
        1 => Just(Fate::Doubled),
        1 => Just(Fate::Delayed),
        1 => any::<u16>().prop_map(Fate::Cut),
        1 => Just(Fate::Gateway),
    ]
}

/// A device: how many events it recorded, by how many hours its clock is wrong, and in which order and parts it sends.
#[derive(Clone, Debug)]
struct Said {
    events: u64,
    clock_h: i64,
    order: Vec<u16>,
    most: usize,
}

fn said() -> impl Strategy<Value = Said> {
    (1..8_u64, -48..=48_i64, proptest::collection::vec(any::<u16>(), 8), 1..5_usize).prop_map(|(events, clock_h, order, most)| Said {
        events,
        clock_h,
        order,
        most,
    })
}

/// What a device has not had a receipt for: each event's bytes, its id and its hash.
struct Device {
    outbox: Vec<Sealed>,
    said: Said,
}

/// What is answered to what was sent: receipts, or a gateway's page, or nothing.
enum Answer {
    Receipts(Vec<Receipt>),
    Page,
    Nothing,
}

impl Device {
    fn new(job: u64, number: u64, said: Said) -> Self {
        // Noon of the tenth, by a clock that is up to two days wrong.
        let hour = 10 * 24 + 12 + said.clock_h;
        let event = |n: u64| {
            let own = id(1_000_000 + job * 1000 + number * 100 + n);
            let when = format!("2024-05-{:02}T{:02}:00:{n:02}Z", hour / 24, hour % 24);
            let json = format!(
                r#"{{"id":"{own}","job":"{}","when":"{when}","device":"{}","who":"J.","body":{{"kind":"noted","text":"{n} of {number}, dries with marks é"}}}}"#,
                id(job),
                id(900_000 + number)
            );
            Sealed::read(json.as_bytes()).unwrap()
        };
        Self { outbox: (0..said.events).map(event).collect(), said }
    }

    /// The next part, in whatever order.
    fn part(&self, round: usize) -> Vec<Sealed> {
        let mut waiting: Vec<&Sealed> = self.outbox.iter().collect();
        let by = |sealed: &&Sealed| self.said.order[(usize::from(sealed.digest().0[0]) + round) % self.said.order.len()];
        waiting.sort_by_key(by);
        waiting.into_iter().take(self.said.most).cloned().collect()
    }

    /// Drops what a receipt names by id and hash, and nothing else.
    fn hears(&mut self, answer: &Answer) {
        if let Answer::Receipts(receipts) = answer {
            self.outbox
                .retain(|sealed| !receipts.iter().any(|receipt| receipt.id == sealed.event().id && receipt.event == sealed.digest()));
        }
    }
}

/// The bytes as they are sent, cut at a share of their length.
fn body(part: &[Sealed], share: u16) -> Vec<u8> {
    let texts: Vec<&[u8]> = part.iter().map(Sealed::bytes).collect();
    let whole = [b"[".to_vec(), texts.join(&b","[..]), b"]".to_vec()].concat();
    let end = whole.len() * usize::from(share) / usize::from(u16::MAX);
    whole[..end].to_vec()
}

fn taken(store: &dyn Store, bytes: &[u8], first: &mut BTreeMap<Id, Receipt>) -> Answer {
    // What does not read to its end is refused whole.
    let Ok(events) = read_waited(bytes) else { return Answer::Nothing };
    let second = u32::try_from(first.len() % 60).unwrap();
    let receipts: Vec<Receipt> = store.append(events, at(second)).unwrap().into_iter().map(Result::unwrap).collect();
    for receipt in &receipts {
        let known = first.entry(receipt.id).or_insert_with(|| receipt.clone());
        assert_eq!(known, receipt, "another receipt on a repeat");
    }
    Answer::Receipts(receipts)
}

fn delivers(store: &dyn Store, job: u64, devices: &[Said], fates: &[Fate]) {
    let mut devices: Vec<Device> = (0..).zip(devices).map(|(number, said)| Device::new(job, number, said.clone())).collect();
    let created: BTreeSet<Id> = devices.iter().flat_map(|device| device.outbox.iter().map(|sealed| sealed.event().id)).collect();
    let (mut first, mut late) = (BTreeMap::new(), Vec::new());
    for (round, fate) in fates.iter().enumerate() {
        let number = round % devices.len();
        let device = &mut devices[number];
        let part = device.part(round);
        let whole = body(&part, u16::MAX);
        let answer = match fate {
            Fate::Well => taken(store, &whole, &mut first),
            Fate::Dropped => Answer::Nothing,
            Fate::Unheard => {
                taken(store, &whole, &mut first);
                Answer::Nothing
            }
            Fate::Doubled => {
                taken(store, &whole, &mut first);
                taken(store, &whole, &mut first)
            }
            Fate::Delayed => {
                late.push(whole);
                Answer::Nothing
            }
            Fate::Cut(share) => taken(store, &body(&part, *share), &mut first),
            Fate::Gateway => Answer::Page,
        };
        device.hears(&answer);
        // Whatever left a device is in the store.
        let waiting: BTreeSet<Id> = devices.iter().flat_map(|device| device.outbox.iter().map(|sealed| sealed.event().id)).collect();
        assert!(created.difference(&waiting).all(|id| first.contains_key(id)), "an event left its device and is nowhere");
    }
    // The network is back: what waits goes, and what was on its way arrives after it, the last first.
    for device in &mut devices {
        let answer = taken(store, &body(&device.outbox, u16::MAX), &mut first);
        device.hears(&answer);
        assert!(device.outbox.is_empty(), "{} events never got a receipt", device.outbox.len());
    }
    for bytes in late.iter().rev() {
        taken(store, bytes, &mut first);
    }
    let entries = store.events(id(job), 1).unwrap();
    let stored: Vec<Id> = entries.iter().map(|entry| entry.event.id).collect();
    assert_eq!((stored.len(), stored.into_iter().collect::<BTreeSet<_>>()), (created.len(), created));
    verify(&entries).unwrap();
}

#[test]
fn whatever_the_network_does_each_event_is_in_the_record_exactly_once() {
    let cases = std::env::var("LASTMICRON_DELIVERIES").map_or(CASES, |cases| cases.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let store = Sqlite::open(folder.path()).unwrap();
    let next = std::cell::Cell::new(0_u64);
    let case = (proptest::collection::vec(said(), 1..5), proptest::collection::vec(fate(), 0..24));
    let mut runner = TestRunner::new(Config { cases, failure_persistence: None, ..Config::default() });
    let tried = runner.run(&case, |(devices, fates)| {
        next.set(next.get() + 1);
        delivers(&store, next.get(), &devices, &fates);
        Ok(())
    });
    tried.unwrap();
    assert!(next.get() >= u64::from(cases));
    assert_eq!(store.verify().unwrap().damage, []);
}
