//! `lastmicron export`: a job taken out of the app's records, as one file or as a job folder.

use std::io::{self, Write};
use std::path::Path;

use lastmicron_folder::WriteError;
use lastmicron_folder::events::contents;
use lastmicron_job::event::Id;
use lastmicron_job::fold::fold;
use lastmicron_record::Bundle;
use lastmicron_store::{Sqlite, Store as _, take_out};

use crate::arguments::ExportArguments;
use crate::backups::refuse_in_a_backup;
use crate::failure::Failure;
use crate::files::{self, Place};
use crate::place;
use crate::records::{job_id, known, no_such_job};
use crate::wording::counted;

pub(crate) fn run(arguments: &ExportArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let data = arguments.data.as_deref();
    let store = known(data)?;
    let job = job_id(&arguments.job, data)?;
    let bundle = take_out(&store, job).map_err(|error| Failure::of_store(&error))?.ok_or_else(|| no_such_job(job, data))?;
    let (record, folder) = (arguments.record.as_deref(), arguments.folder.as_deref());
    if record.zip(folder).is_some_and(|(record, folder)| place::is_same(record, folder)) {
        return Err(Failure::bad_input("--record and --folder name the same place: give each its own"));
    }
    for place in [record, folder].into_iter().flatten() {
        refuse_in_a_backup(place)?;
    }
    // What can be refused is refused before anything is written; a folder is looked at by what writes it, whole or not at all.
    let record = match record {
        Some(path) => Some((path, Place::of(path)?, in_one_file(&bundle)?, left_behind(&store, job)?)),
        None => None,
    };
    let mut said = Vec::new();
    if let Some(path) = folder {
        said.push(write_folder(&bundle, job, path)?);
    }
    let mut is_beside = true;
    if let Some((path, place, bytes, left_behind)) = record {
        place.write(&bytes, out).map_err(|failure| with_folder(failure, folder))?;
        said.push(said_of(path, &bundle));
        said.extend(left_behind);
        is_beside = !place.is_stream();
    }
    // What reads a record from a stream wants nothing else in it.
    let mut told = io::stderr();
    let told: &mut dyn Write = if is_beside { out } else { &mut told };
    said.iter().try_for_each(|line| Ok(writeln!(told, "{line}")?))
}

fn in_one_file(bundle: &Bundle) -> Result<Vec<u8>, Failure> {
    bundle.write().map_err(|broken| Failure::failed(broken.to_string()))
}

fn said_of(path: &Path, bundle: &Bundle) -> String {
    let (events, things) = (bundle.entries.len() as u64, bundle.kept.len() as u64);
    format!("{}: {} and {} kept beside them", path.display(), counted(events, "event", "events"), counted(things, "thing", "things"))
}

/// What was signed of it is no part of the file, and that is said where there is any.
fn left_behind(store: &Sqlite, job: Id) -> Result<Option<String>, Failure> {
    let signed = store.checkpoints(job).map_err(|error| Failure::of_store(&error))?.len() as u64;
    let stay = counted(signed, "signed checkpoint of it stays", "signed checkpoints of it stay");
    Ok((signed > 0).then(|| {
        format!(
            "{stay} in these records, and where the file is brought in nothing is signed: what was signed is proved by the PDF of the hand over, or by a backup"
        )
    }))
}

/// Writes a job folder, and says so.
fn write_folder(bundle: &Bundle, job: Id, path: &Path) -> Result<String, Failure> {
    let standing = fold(bundle.entries.iter().map(|entry| &entry.event));
    let contents = contents(&standing).map_err(|lacking| {
        let lacking: Vec<String> = lacking.iter().map(ToString::to_string).collect();
        Failure::bad_input(format!("{job}: a job folder needs more than is stated: {}", lacking.join("; ")))
    })?;
    files::folder_of(path)?;
    lastmicron_folder::write(&contents, path).map_err(|error| match error {
        WriteError::Taken(_) | WriteError::Unreadable(_) | WriteError::Unsayable => Failure::bad_input(error.to_string()),
        WriteError::Io { .. } => Failure::failed(error.to_string()),
    })?;
    Ok(format!("{}: a job folder with {}", path.display(), counted(contents.job.car.readings.len() as u64, "reading", "readings")))
}

/// That the folder was written before the file could not be.
fn with_folder(failure: Failure, folder: Option<&Path>) -> Failure {
    let Some(folder) = folder else { return failure };
    let said = |why: &str| format!("{why}. The job folder {} was written", folder.display());
    match failure {
        Failure::BadInput(why) => Failure::BadInput(said(&why)),
        Failure::Failed(why) => Failure::Failed(said(&why)),
        other => other,
    }
}
