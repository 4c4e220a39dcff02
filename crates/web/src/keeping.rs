//! How the records are kept: whether anything is taken, what every page says where it isn't, and how old the last backup is.

use std::sync::Arc;

use axum::extract::State;
use lastmicron_job::event::When;
use lastmicron_store::{LastBackup, Room, STOP_BELOW, StoreError};
use maud::{Markup, html};

use crate::failure::Failure;
use crate::router::blocking;
use crate::shop::Shop;
use crate::wording::{counted, minute};

/// How old the last verified backup may be, hours. Judgement: the app makes one a day, and a night may pass before the machine is on again.
pub const OLD_BACKUP_H: i64 = 36;

/// What is known of the backups.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Backups {
    /// The last that was looked at and found whole.
    pub last: Option<LastBackup>,
    /// Why the last one that was to be made was not, as a browser is told ([`backup_told_in_browser`]).
    pub trouble: Option<String>,
}

/// What is said of a disk that fails.
const DISK: &str = "the disk fails or refuses: nothing was acknowledged, and what was there can be read. Try again; where that goes on, see to the disk: lastmicron doctor, on the machine that keeps the records, says more";

/// What a browser is told of why the store could not do something: all but what the system says of it, and where on the machine its files lie.
#[must_use]
pub fn told_in_browser(error: &StoreError) -> String {
    match About::of(error) {
        About::Disk => DISK.to_owned(),
        About::Damage => {
            "what is on the disk is not what was written: nothing more is taken. lastmicron doctor, on the machine that keeps the records, says what. Restore the last backup that was verified"
                .to_owned()
        }
        About::NoFolder => "the folder for backups is not there, and no backup is made until it is: put the disk or stick in that it is on".to_owned(),
        About::Files | About::Records => {
            "something is not as it should be where records or backups are kept: lastmicron doctor, on the machine that keeps them, says what"
                .to_owned()
        }
        About::Room | About::Rest => error.to_string(),
    }
}

/// What a browser is told of why no backup was made: without what the system says, and where on the machine backups lie.
#[must_use]
pub fn backup_told_in_browser(error: &StoreError) -> String {
    match About::of(error) {
        About::Room => "there is no room for it where backups are made, or where the records are: no backup was made. Make room there".to_owned(),
        About::Disk | About::Files => {
            "something can't be read or written, or is not as it was written, where backups are made: no backup was made. The terminal or log of lastmicron serve, on the machine that keeps the records, says what"
                .to_owned()
        }
        About::Damage | About::NoFolder | About::Records | About::Rest => told_in_browser(error),
    }
}

/// What a browser is told of why a record was not signed: without what the system says, and where on the machine the keys lie.
#[must_use]
pub fn signing_told_in_browser(error: &StoreError) -> String {
    match About::of(error) {
        About::Room => "the disk has no room for what is signed: what was recorded stays, and is signed once there is. Make room".to_owned(),
        About::Disk | About::Files => {
            "something can't be read or written where the workshop's keys and signatures lie: what was recorded stays, and signing it is tried again. The terminal or log of lastmicron serve, on the machine that keeps the records, says what"
                .to_owned()
        }
        About::Damage | About::NoFolder | About::Records | About::Rest => told_in_browser(error),
    }
}

/// What an error of the store is about, as far as a browser is told of it.
enum About {
    /// A disk is full.
    Room,
    /// A disk fails or refuses.
    Disk,
    /// The records are not as they were written.
    Damage,
    /// The folder for backups is not there.
    NoFolder,
    /// Files beside the records, or those of a backup, by their names.
    Files,
    /// The records, by the name of their folder.
    Records,
    /// What is said without naming a file.
    Rest,
}

impl About {
    const fn of(error: &StoreError) -> Self {
        match error {
            StoreError::Full | StoreError::Low { .. } => Self::Room,
            StoreError::Io { .. } | StoreError::Disk(_) => Self::Disk,
            StoreError::Damaged(_) => Self::Damage,
            StoreError::NoFolder(_) => Self::NoFolder,
            StoreError::Exists(_)
            | StoreError::InABackup { .. }
            | StoreError::NoManifest(_)
            | StoreError::NotEmpty(_)
            | StoreError::Unfinished(_)
            | StoreError::IsABackup(_)
            | StoreError::NotABackup { .. }
            | StoreError::WrongKey(_)
            | StoreError::KeyInUse(_)
            | StoreError::KeyNote { .. }
            | StoreError::DamagedBackup { .. } => Self::Files,
            StoreError::NoRecord(_) | StoreError::Lost(_) | StoreError::NotARecord(_) | StoreError::InUse(_) => Self::Records,
            StoreError::OnlyRead
            | StoreError::NotAKey
            | StoreError::OtherKey(_)
            | StoreError::Encrypting(_)
            | StoreError::NewerBackup { .. }
            | StoreError::Older { .. }
            | StoreError::Newer { .. }
            | StoreError::NotHeld(_)
            | StoreError::TooLarge { .. }
            | StoreError::Closed
            | StoreError::Database(_) => Self::Rest,
        }
    }
}

/// What stands on every page while something is not well.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Banner(pub(crate) String);

impl Banner {
    /// None where all is well.
    pub(crate) fn of(room: &Result<Room, StoreError>) -> Option<Self> {
        match room {
            Ok(Room::Enough) => None,
            Ok(Room::Low { free }) => Some(format!(
                "The disk has {} MB free: make room. Below {} MB nothing is recorded.",
                free / 1_000_000,
                STOP_BELOW / 1_000_000
            )),
            Err(StoreError::Low { free }) => Some(format!(
                "Nothing is recorded: the disk has {} MB free. What is here can be read. Make room: from {} MB on the app goes on by itself.",
                free / 1_000_000,
                STOP_BELOW / 1_000_000
            )),
            Err(StoreError::Damaged(_)) => Some(
                "Nothing is recorded: what is on the disk is not what was written. What is here can be read, and may be wrong. On the machine that the app runs on, lastmicron doctor says more, and lastmicron restore brings back the last backup."
                    .to_owned(),
            ),
            Err(other) => Some(format!("Nothing is recorded: {}.", told_in_browser(other))),
        }
        .map(Self)
    }
}

/// Answers whether the program runs.
pub(crate) async fn healthz() -> &'static str {
    "running\n"
}

/// Answers whether something would be taken: not while the records are damaged, the disk is low, or nothing can be written.
pub(crate) async fn readyz(State(shop): State<Arc<Shop>>) -> Result<&'static str, Failure> {
    blocking(move || shop.would_take().map_err(Failure::NotReady)).await?;
    Ok("ready\n")
}

/// How old the last verified backup of so many jobs is, for the first page.
pub(crate) fn age(backups: &Backups, now: &When, jobs: usize) -> Markup {
    let trouble =
        html! { @if let Some(trouble) = &backups.trouble { p.stop { "The last backup that was to be made was not: " (trouble) "." } } };
    let Some(last) = &backups.last else {
        return html! {
            // Where nothing is recorded, nothing is missing.
            @if jobs == 0 {
                p.quiet { "No backup is known to be whole yet, and no job is recorded. While the app runs it makes one a day; lastmicron backup makes one now." }
            } @else {
                p.stop { "No backup of these records is known to be whole. While the app runs it makes one a day; lastmicron backup makes one now." }
            }
            (trouble)
        };
    };
    let age_h = now.seconds_since(&last.made).div_euclid(3600);
    html! {
        @if age_h < 0 {
            p.stop { "The last verified backup was made at " (minute(&last.made)) ", which is still to come by this machine's clock: set the clock." }
        } @else if age_h > OLD_BACKUP_H {
            p.stop { "The last verified backup is " (hours(age_h)) " old. While the app runs it makes one a day; lastmicron backup makes one now." }
        } @else {
            p.quiet {
                "The last verified backup is " (hours(age_h)) " old"
                // Where on the machine it lies is no browser's to know.
                @if let Some(name) = last.folder.file_name() { ": " (name.display()) }
                @if last.sha256.is_some() { " (verified before it was encrypted)" }
            }
        }
        (trouble)
    }
}

fn hours(age_h: i64) -> String {
    match age_h {
        0 => "less than an hour".to_owned(),
        1 => "an hour".to_owned(),
        2..=OLD_BACKUP_H => counted(age_h, "hour", "hours"),
        _ => format!("{:.1} days", age_h as f64 / 24.0),
    }
}
