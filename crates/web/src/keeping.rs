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
    /// Why the last one that was to be made was not.
    pub trouble: Option<String>,
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
            Err(other) => Some(format!("Nothing is recorded: {other}.")),
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
                "The last verified backup is " (hours(age_h)) " old: " (last.folder.display())
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
