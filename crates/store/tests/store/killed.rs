//! What was acknowledged is there after the process was killed.

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::mpsc::channel;
use std::thread;
use std::time::Duration;

use lastmicron_record::Sealed;
use lastmicron_store::{Sqlite, Store};

use crate::pen::{Chance, at, id, reading};

/// In the environment of the process that is killed: the folder, and the number of the round.
const FOLDER: &str = "LASTMICRON_STORE_FOLDER";
const ROUND: &str = "LASTMICRON_STORE_ROUND";
/// How often it is killed: 20 times unless the environment says otherwise.
const KILLS: &str = "LASTMICRON_KILLS";

const THREADS: u64 = 8;
/// Numbers of events that a round may use.
const A_ROUND: u64 = 1_000_000;

/// Appends until it is killed, and says what was acknowledged once it was.
fn append_for_ever(folder: &Path, round: u64) {
    let store = Sqlite::open(folder).unwrap();
    thread::scope(|scope| {
        for worker in 0..THREADS {
            let store = &store;
            scope.spawn(move || {
                let mut chance = Chance(round * 100 + worker);
                for i in 0.. {
                    let n = 1000 + round * A_ROUND + i * THREADS + worker;
                    // One in eight is one that was sent before, maybe in a round before.
                    let again = 1000 + u64::try_from(chance.below(usize::try_from(round + 1).unwrap())).unwrap() * A_ROUND;
                    let sent: Vec<Sealed> = if chance.below(8) == 0 {
                        vec![reading(n, 1 + n % 3), reading(again, 1 + again % 3)]
                    } else {
                        vec![reading(n, 1 + n % 3)]
                    };
                    for (receipt, sealed) in store.append(sent.clone(), at(1)).unwrap().into_iter().zip(sent) {
                        let receipt = receipt.unwrap();
                        assert_eq!(receipt.event, sealed.digest());
                        let line = format!("acknowledged {} {} {} {}\n", receipt.id, receipt.job, receipt.seq, receipt.hash);
                        std::io::stdout().lock().write_all(line.as_bytes()).unwrap();
                    }
                }
            });
        }
    });
}

/// The receipts of a process that is killed at some time.
fn receipts_until_killed(folder: &Path, round: u64, chance: &mut Chance) -> Vec<String> {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["killed::nothing_acknowledged_is_lost_or_doubled_when_the_process_is_killed", "--exact", "--nocapture"])
        .env(FOLDER, folder)
        .env(ROUND, round.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let (first, was_first) = channel();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let reader = thread::spawn(move || {
        let mut receipts = Vec::new();
        for line in lines.map_while(Result::ok) {
            // The test's own name stands before the first.
            if let Some(at) = line.find("acknowledged ") {
                let _ = first.send(());
                receipts.push(line[at + "acknowledged ".len()..].to_owned());
            }
        }
        receipts
    });
    was_first.recv().unwrap();
    thread::sleep(Duration::from_millis(u64::try_from(chance.below(60)).unwrap()));
    child.kill().unwrap();
    child.wait().unwrap();
    let mut receipts = reader.join().unwrap();
    // The last line may be cut.
    if receipts.last().is_some_and(|line| line.rsplit(' ').next().is_none_or(|hash| hash.len() < 64)) {
        receipts.pop();
    }
    receipts
}

#[test]
fn nothing_acknowledged_is_lost_or_doubled_when_the_process_is_killed() {
    if let (Ok(folder), Ok(round)) = (std::env::var(FOLDER), std::env::var(ROUND)) {
        append_for_ever(Path::new(&folder), round.parse().unwrap());
    }
    let kills: u64 = std::env::var(KILLS).map_or(20, |kills| kills.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let mut chance = Chance(1);
    let mut acknowledged: BTreeMap<String, String> = BTreeMap::new();
    for round in 0..kills {
        for receipt in receipts_until_killed(folder.path(), round, &mut chance) {
            let (event, rest) = receipt.split_once(' ').unwrap();
            let before = acknowledged.insert(event.to_owned(), rest.to_owned());
            assert!(before.is_none_or(|before| before == rest), "another receipt for {event} in round {round}");
        }
    }
    let store = Sqlite::open(folder.path()).unwrap();
    let report = store.verify().unwrap();
    assert_eq!(report.damage, []);
    let mut stored = BTreeMap::new();
    for job in 1..=3 {
        for entry in store.events(id(job), 1).unwrap() {
            let receipt = format!("{} {} {}", entry.job(), entry.seq, entry.hash);
            assert_eq!(stored.insert(entry.event.id.to_string(), receipt), None, "an event is there twice");
        }
    }
    for (event, receipt) in &acknowledged {
        assert_eq!(stored.get(event), Some(receipt), "an acknowledged event is not there as it was");
    }
    println!("{kills} kills, {} acknowledged, {} stored, none lost, none doubled", acknowledged.len(), stored.len());
    assert!(acknowledged.len() > usize::try_from(kills).unwrap(), "too few were acknowledged to tell");
}
