//! `lastmicron jobs` and `verify`: the app's records, from the terminal.

use std::io::Write;
use std::path::Path;

use lastmicron_job::event::{Event, Id};
use lastmicron_job::fold::{Status, fold};
use lastmicron_store::{Report, Sqlite, Store, StoreError};

use crate::arguments::{JobsArguments, VerifyArguments};
use crate::backups;
use crate::failure::Failure;
use crate::serve::folder;
use crate::verify_file::verify_file;
use crate::wording::{counted, typed};

/// The records in the folder that was given, or the usual one, to be read while the app runs or not; none are made.
pub(crate) fn known(data: Option<&Path>) -> Result<Sqlite, Failure> {
    to_read(&folder(data)?)
}

/// The same for a folder.
pub(crate) fn to_read(folder: &Path) -> Result<Sqlite, Failure> {
    opened(folder, Failure::of_store)
}

/// The same, where it is asked whether they are well.
pub(crate) fn to_look_at(folder: &Path) -> Result<Sqlite, Failure> {
    opened(folder, Failure::of_looked_at)
}

fn opened(folder: &Path, failure: fn(&StoreError) -> Failure) -> Result<Sqlite, Failure> {
    Sqlite::open_to_read(folder).map_err(|error| match error {
        StoreError::NoRecord(_) => Failure::bad_input(format!("{error}: give --data DIR, or make them with lastmicron serve")),
        error => failure(&error),
    })
}

/// The id of a job, as it was typed.
pub(crate) fn job_id(text: &str, data: Option<&Path>) -> Result<Id, Failure> {
    text.parse().map_err(|error| Failure::bad_input(format!("{text}: {error}. {} lists the ids", typed("jobs", data))))
}

/// That no job of that id is in the records.
pub(crate) fn no_such_job(job: Id, data: Option<&Path>) -> Failure {
    Failure::bad_input(format!("{job}: there is no such job here: see {}", typed("jobs", data)))
}

fn of_store(error: StoreError) -> Failure {
    Failure::of_store(&error)
}

pub(crate) fn jobs(arguments: &JobsArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let records = folder(arguments.data.as_deref())?;
    let store = to_read(&records)?;
    let jobs = store.jobs().map_err(of_store)?;
    if jobs.is_empty() {
        writeln!(out, "No jobs in {} yet", records.display())?;
    }
    for (job, _) in jobs {
        let events: Vec<Event> = store.events(job, 1).map_err(of_store)?.into_iter().map(|entry| entry.event).collect();
        let standing = fold(&events);
        let state = match standing.status() {
            Status::Arrived => "arrived",
            Status::OnTheFloor => "on the floor",
            Status::GoneHome => "gone home",
        };
        let title = standing.vehicle.as_ref().map_or("(no vehicle stated yet)", |vehicle| vehicle.title.as_str());
        writeln!(out, "{job}  {state:<12}  {title}")?;
    }
    Ok(())
}

pub(crate) fn verify(arguments: &VerifyArguments, out: &mut dyn Write) -> Result<(), Failure> {
    match &arguments.file {
        Some(path) if backups::is_one(path) && arguments.keys.is_some() => {
            Err(Failure::bad_input(format!("{}: a backup is checked by the keys in it: leave --keys out", path.display())))
        }
        Some(path) if backups::is_one(path) => backups::verify(path, arguments.key.as_deref(), arguments.data.as_deref(), out),
        Some(path) => verify_file(path, arguments, out),
        None => tell(&to_look_at(&folder(arguments.data.as_deref())?)?.verify().map_err(|error| Failure::of_looked_at(&error))?, out),
    }
}

/// Says what was found in records.
pub(crate) fn tell(report: &Report, out: &mut dyn Write) -> Result<(), Failure> {
    tell_or(report, "restore the last backup that was verified", out)
}

/// The same, with what is to be done where something is damaged.
pub(crate) fn tell_or(report: &Report, otherwise: &str, out: &mut dyn Write) -> Result<(), Failure> {
    for damage in &report.damage {
        writeln!(out, "{damage}")?;
    }
    if !report.damage.is_empty() {
        let things = counted(report.damage.len() as u64, "thing is not as it was", "things are not as they were");
        return Err(Failure::Problems(format!("{things} written: {otherwise}")));
    }
    let Report { jobs, entries, kept, checkpoints, waiting, erased, .. } = report;
    let (jobs, entries) = (counted(*jobs, "job", "jobs"), counted(*entries, "event", "events"));
    writeln!(out, "Whole: {jobs}, {entries}, {} kept beside them.", counted(*kept, "thing", "things"))?;
    match checkpoints {
        0 => writeln!(out, "No checkpoint yet: nothing of it is signed.")?,
        1 => writeln!(out, "1 checkpoint, signed, and of the records as they are.")?,
        more => writeln!(out, "{more} checkpoints, each signed, and of the records as they are.")?,
    }
    if !erased.is_empty() {
        writeln!(out, "{} erased.", counted(erased.len() as u64, "sheet that named somebody was", "sheets that named somebody were"))?;
    }
    if !waiting.is_empty() {
        let things = counted(waiting.len() as u64, "thing is named and not here", "things are named and not here");
        writeln!(out, "{things}: not sent yet, erased where it was, or taken away.")?;
    }
    Ok(())
}
