//! What was acknowledged is there after the power was cut: nothing is kept of what was not synced, or any part of it.

use std::collections::BTreeMap;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread;

use lastmicron_job::event::Digest;
use lastmicron_record::{Sealed, sha256};
use lastmicron_store::{Part, Parted, Sqlite, Store, There, verify_backup};

use crate::disk::{Cut, Disk, Happens};
use crate::pen::{Chance, at, id, photograph, reading};

/// How often the power is cut: 100 times unless the environment says otherwise.
const CUTS: &str = "LASTMICRON_CUTS";
/// In the environment of the process that is killed: the folder, the round, and whether it only sends again.
const FOLDER: &str = "LASTMICRON_CUT_FOLDER";
const ROUND: &str = "LASTMICRON_CUT_ROUND";
const AGAIN: &str = "LASTMICRON_CUT_AGAIN";

const TEST: &str = "cut::nothing_acknowledged_is_lost_and_nothing_damaged_when_the_power_is_cut";
const SENDERS: u64 = 4;
const JOBS: u64 = 3;
/// Numbers of events that a round may use.
const A_ROUND: u64 = 100_000;
/// Cuts that one record goes through.
const OF_ONE: u64 = 10;
/// Events that are sent again: more than came before any cut.
const SENT_AGAIN: u64 = 60;

fn say(line: &str) {
    std::io::stdout().lock().write_all(format!("acknowledged {line}\n").as_bytes()).unwrap();
}

/// Appends and keeps until it is killed, or sends what it sent before once more, and says what was acknowledged once it was.
fn work(folder: &Path, round: u64, is_again: bool) {
    let store = Sqlite::open(&folder.join("record")).unwrap();
    let most = if is_again { SENT_AGAIN } else { A_ROUND };
    thread::scope(|scope| {
        for sender in 0..SENDERS {
            let store = &store;
            scope.spawn(move || {
                for n in (0..most).map(|i| 1000 + round * A_ROUND + i * SENDERS + sender) {
                    // One in eight has a photograph, which is kept first.
                    let job = 1 + n % JOBS;
                    let sent = if n % 8 == sender { photograph(n, job, keep(store, n)) } else { reading(n, job) };
                    append(store, sent);
                }
            });
        }
        if !is_again {
            scope.spawn(|| {
                for n in 0.. {
                    let backup = folder.join("record").join("backups").join(format!("{round}-{n}"));
                    store.back_up(&backup, at(2)).unwrap();
                    say(&format!("backup {}", backup.file_name().unwrap().to_str().unwrap()));
                }
            });
        }
    });
}

fn append(store: &Sqlite, sent: Sealed) {
    let receipt = store.append(vec![sent], at(1)).unwrap().remove(0).unwrap();
    say(&format!("event {} {} {} {}", receipt.id, receipt.job, receipt.seq, receipt.hash));
}

/// A photograph as far as a store can tell; by turns whole and in parts, each of them asked for before.
fn keep(store: &Sqlite, n: u64) -> Digest {
    let bytes: Vec<u8> = n.to_le_bytes().repeat(800);
    let digest = sha256(&bytes);
    match store.there(digest).unwrap() {
        There::Whole => {}
        There::Bytes(0) if n.is_multiple_of(16) => assert_eq!(store.keep(&bytes).unwrap(), digest),
        There::Bytes(mut there) => {
            loop {
                let end = (there + 4000).min(bytes.len());
                let part = Part { digest, size: bytes.len(), at: there, bytes: &bytes[there..end] };
                there = match store.keep_part(part, &at(1)).unwrap() {
                    Parted::Taken(There::Whole) => break,
                    Parted::Taken(There::Bytes(there)) | Parted::Elsewhere(There::Bytes(there)) => there,
                    Parted::Elsewhere(There::Whole) => break,
                    // What came before the power was cut is not all there, or other bytes.
                    Parted::NotThose => 0,
                };
            }
        }
    }
    say(&format!("kept {digest}"));
    digest
}

/// What a process acknowledged until it was killed or done.
fn acknowledged(disk: &Disk, round: u64, is_again: bool) -> Vec<String> {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command.args([TEST, "--exact", "--nocapture"]).env(FOLDER, disk.root()).env(ROUND, round.to_string());
    if is_again {
        command.env(AGAIN, "1");
    }
    let ended = disk.under(&mut command).stderr(Stdio::piped()).output().unwrap();
    // Killed by nobody but the disk.
    let is_killed = std::os::unix::process::ExitStatusExt::signal(&ended.status) == Some(9);
    assert!(is_killed || ended.status.success(), "{}{}", String::from_utf8_lossy(&ended.stdout), String::from_utf8_lossy(&ended.stderr));
    let told = String::from_utf8_lossy(&ended.stdout).into_owned();
    let (whole, _) = told.rsplit_once('\n').unwrap_or_default();
    whole.lines().filter_map(|line| line.split_once("acknowledged ")).map(|(_, line)| line.to_owned()).collect()
}

/// What was acknowledged of one record.
#[derive(Default)]
struct Known {
    events: BTreeMap<String, String>,
    kept: Vec<Digest>,
    backups: Vec<String>,
}

impl Known {
    fn hear(&mut self, lines: Vec<String>) {
        for line in lines {
            match line.split_once(' ').unwrap() {
                ("event", receipt) => {
                    let (event, rest) = receipt.split_once(' ').unwrap();
                    let before = self.events.insert(event.to_owned(), rest.to_owned());
                    assert!(before.is_none_or(|before| before == rest), "another receipt for {event}");
                }
                ("kept", digest) => self.kept.push(digest.parse().unwrap()),
                (_, backup) => self.backups.push(backup.to_owned()),
            }
        }
    }

    /// What is not there of it.
    fn lost(&self, folder: &Path) -> Vec<String> {
        let store = Sqlite::open(&folder.join("record")).unwrap();
        assert_eq!(store.verify().unwrap().damage, []);
        let mut stored = BTreeMap::new();
        for entry in (1..=JOBS).flat_map(|job| store.events(id(job), 1).unwrap()) {
            let receipt = format!("{} {} {}", entry.job(), entry.seq, entry.hash);
            assert_eq!(stored.insert(entry.event.id.to_string(), receipt), None, "an event is there twice");
        }
        let events = self.events.iter().filter(|(event, receipt)| stored.get(*event) != Some(receipt)).map(|(event, _)| event.clone());
        let kept = self.kept.iter().filter(|digest| store.kept(**digest).unwrap().is_none()).map(|digest| format!("kept {digest}"));
        let is_whole = |name: &String| {
            verify_backup(&folder.join("record").join("backups").join(name)).is_ok_and(|backup| backup.report.damage.is_empty())
        };
        let backups = self.backups.iter().filter(|name| !is_whole(name)).map(|name| format!("backup {name}"));
        events.chain(kept).chain(backups).collect()
    }
}

/// How much was acknowledged of all records.
#[derive(Default)]
struct Counts {
    events: usize,
    photographs: usize,
    backups: usize,
}

impl Counts {
    fn add(&mut self, known: &Known) {
        self.events += known.events.len();
        self.photographs += known.kept.len();
        self.backups += known.backups.len();
    }
}

#[test]
fn nothing_acknowledged_is_lost_and_nothing_damaged_when_the_power_is_cut() {
    if let (Ok(folder), Ok(round)) = (std::env::var(FOLDER), std::env::var(ROUND)) {
        return work(Path::new(&folder), round.parse().unwrap(), std::env::var_os(AGAIN).is_some());
    }
    let cuts: u64 = std::env::var(CUTS).map_or(100, |cuts| cuts.parse().unwrap());
    let mut chance = Chance(4);
    let (mut all, mut lost) = (Counts::default(), Vec::new());
    let mut cut = 0;
    while cut < cuts {
        let (disk, mut known) = (Disk::new(), Known::default());
        for round in 0..OF_ONE.min(cuts - cut) {
            // Some cuts fall into the opening, most into the work.
            let latest = if chance.below(4) == 0 { 60 } else { 2000 };
            let call = i32::try_from(1 + chance.below(latest)).unwrap();
            disk.set(Happens::Killed, call, 1);
            known.hear(acknowledged(&disk, round, false));
            // By turns the process alone is ended first: what was not synced then is there still, and is not to be relied on.
            if chance.below(2) == 0 {
                disk.set(Happens::Killed, i32::try_from(20 + chance.below(400)).unwrap(), 1);
                known.hear(acknowledged(&disk, round, true));
            }
            let how = Cut { are_names_kept: chance.below(2) == 0, eighths: [0, 0, 4, 7][chance.below(4)] };
            disk.cut(how, &mut chance);
            let gone = known.lost(&disk.root());
            if !gone.is_empty() {
                all.add(&known);
                lost.push(format!("cut {cut} at call {call}, {how:?}: {gone:?}"));
                // What is lost once is not counted again.
                known = Known::default();
            }
            disk.settle();
            cut += 1;
        }
        all.add(&known);
    }
    let Counts { events, photographs, backups } = all;
    println!(
        "{cuts} power cuts: {events} events, {photographs} photographs, {backups} backups acknowledged, {} cuts lost some",
        lost.len()
    );
    assert_eq!(lost, Vec::<String>::new());
    assert!(events as u64 > cuts, "too few were acknowledged to tell");
}
