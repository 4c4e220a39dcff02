//! A disk that is full or fails at any one write or sync loses nothing that was acknowledged, is read meanwhile, and is written to again afterwards.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use lastmicron_job::event::Digest;
use lastmicron_record::Sealed;
use lastmicron_store::{Receipt, Sqlite, Store, StoreError, verify_backup};

use crate::disk::{Cut, Disk, Happens, happened, put_back, set};
use crate::pen::{Chance, at, event, id, photograph};

/// At which calls something happens: every twentieth to the 500th, unless the environment says otherwise how far apart they are.
const APART: &str = "LASTMICRON_FAULTS_APART";
const LAST: i32 = 500;

/// In the environment of the process whose disk it is.
const ROOM: &str = "LASTMICRON_FAULTS_ROOM";
const TEST: &str = "failing::whichever_write_fails_nothing_acknowledged_is_lost_and_the_record_goes_on";

/// Events of a trial; in between the record is closed and opened, which moves what was written into the database.
const EVENTS: u64 = 40;
const CLOSED_AFTER: u64 = 12;

#[test]
fn whichever_write_fails_nothing_acknowledged_is_lost_and_the_record_goes_on() {
    if let Ok(room) = std::env::var(ROOM) {
        return trials(Path::new(&room));
    }
    let disk = Disk::new();
    let mut command = Command::new(std::env::current_exe().unwrap());
    command.args([TEST, "--exact", "--nocapture"]).env(ROOM, disk.root().parent().unwrap());
    let ended = disk.under(&mut command).output().unwrap();
    let said = String::from_utf8_lossy(&ended.stdout);
    assert!(ended.status.success(), "{said}{}", String::from_utf8_lossy(&ended.stderr));
    println!("{}", said.lines().find(|line| line.contains("failing calls")).unwrap());
}

#[expect(clippy::print_stdout, reason = "what was found, told to the process that made the disk")]
fn trials(room: &Path) {
    let apart: usize = std::env::var(APART).map_or(20, |apart| apart.parse().unwrap());
    let (mut tried, mut with, mut acknowledged, mut refused) = (0, 0, 0, 0);
    for call in (1..=LAST).step_by(apart) {
        for happens in [Happens::Full, Happens::Fails] {
            for calls in [1, 2, 30] {
                let mut trial = Trial::new(room, happens, call, calls);
                trial.run();
                tried += 1;
                with += u64::from(trial.has_happened);
                acknowledged += trial.receipts.len() + trial.kept.len();
                refused += trial.refused;
                fs::remove_dir_all(&trial.folder).unwrap();
            }
        }
    }
    println!(
        "{tried} trials of failing calls, {with} with one in them: {acknowledged} acknowledged, none lost; {refused} refused, each taken later"
    );
    assert!(with * 2 > tried, "too few to tell");
}

struct Trial {
    name: String,
    room: PathBuf,
    folder: PathBuf,
    receipts: Vec<Receipt>,
    kept: Vec<Digest>,
    refused: u64,
    has_happened: bool,
}

impl Trial {
    fn new(room: &Path, happens: Happens, call: i32, calls: i32) -> Self {
        let name = format!("{happens:?} at call {call}, {calls} times");
        let folder = room.join("disk").join(format!("{happens:?}-{call}-{calls}"));
        fs::create_dir(&folder).unwrap();
        set(&room.join("control"), happens, call, calls);
        Self { name, room: room.to_owned(), folder, receipts: Vec::new(), kept: Vec::new(), refused: 0, has_happened: false }
    }

    fn control(&self) -> PathBuf {
        self.room.join("control")
    }

    fn run(&mut self) {
        let mut store = self.open();
        for n in 0..EVENTS {
            if n == CLOSED_AFTER {
                drop(store);
                store = self.open();
            }
            let sent = if n % 5 == 0 { photograph(1000 + n, 1, self.keep(&store, n)) } else { note(n) };
            self.append(&store, sent);
        }
        let backup = self.again(|trial| store.back_up(&trial.folder.join("one"), at(2)));
        assert_eq!(verify_backup(&self.folder.join("one")).unwrap(), backup, "{}", self.name);
        // The room is back, and so is the disk.
        self.has_happened = happened(&self.control()) > 0;
        set(&self.control(), Happens::Nothing, 0, 0);
        self.append(&store, note(EVENTS));
        self.holds(&store);
        self.holds_after_a_power_cut();
        drop(store);
        self.holds(&Sqlite::open(&self.folder.join("record")).unwrap());
    }

    /// Does something until it is done: each time it isn't, why not is one of what a disk does, and what was acknowledged is read all the same.
    fn again<T>(&mut self, mut does: impl FnMut(&mut Self) -> Result<T, StoreError>) -> T {
        for _ in 0..200 {
            match does(self) {
                Ok(done) => return done,
                Err(error) => {
                    let is_of_the_disk = matches!(error, StoreError::Full | StoreError::Io { .. } | StoreError::Disk(_));
                    assert!(is_of_the_disk, "{}: {error}", self.name);
                    self.refused += 1;
                }
            }
        }
        does(self).unwrap()
    }

    fn open(&mut self) -> Sqlite {
        self.again(|trial| Ok(Sqlite::open(&trial.folder.join("record"))?.with_free(|| None)))
    }

    fn append(&mut self, store: &Sqlite, sent: Sealed) {
        let outcomes = self.again(|trial| {
            let taken = store.append(vec![sent.clone()], at(1));
            if taken.is_err() {
                trial.shows(store);
            }
            taken
        });
        self.receipts.extend(outcomes.into_iter().map(Result::unwrap));
    }

    fn keep(&mut self, store: &Sqlite, n: u64) -> Digest {
        let digest = self.again(|_| store.keep(&n.to_le_bytes().repeat(900)));
        self.kept.push(digest);
        digest
    }

    /// Everything acknowledged can be read.
    fn shows(&self, store: &Sqlite) {
        let entries = store.events(id(1), 1).unwrap();
        for receipt in &self.receipts {
            let entry = &entries[usize::try_from(receipt.seq).unwrap() - 1];
            assert_eq!((entry.event.id, entry.hash), (receipt.id, receipt.hash), "{}", self.name);
        }
        for digest in &self.kept {
            assert!(store.kept(*digest).unwrap().is_some(), "{}", self.name);
        }
    }

    /// And nothing else, and nothing is damaged.
    fn holds(&self, store: &Sqlite) {
        self.shows(store);
        let report = store.verify().unwrap();
        assert_eq!((report.entries, report.damage), (self.receipts.len() as u64, vec![]), "{}", self.name);
    }

    fn holds_after_a_power_cut(&self) {
        let after = self.room.join("after");
        put_back(&self.folder, &self.room.join("synced"), &after, Cut { are_names_kept: false, eighths: 0 }, &mut Chance(5));
        self.holds(&Sqlite::open(&after.join("record")).unwrap());
        assert_eq!(verify_backup(&after.join("one")).unwrap().report.damage, [], "{}", self.name);
        fs::remove_dir_all(after).unwrap();
    }
}

fn note(n: u64) -> Sealed {
    event(1000 + n, 1, &format!(r#"{{"kind":"noted","text":"{}"}}"#, "dries with marks ".repeat(20)))
}
