//! `lastmicron erase`: the sheets of a job that name people.

use std::collections::BTreeSet;
use std::io::{self, BufRead, Write};

use lastmicron_job::event::{Digest, Event, Id};
use lastmicron_job::fold::fold;
use lastmicron_store::{Sqlite, Store as _, StoreError};

use crate::arguments::EraseArguments;
use crate::failure::Failure;
use crate::records::{job_id, no_such_job, to_read};
use crate::serve::{folder, store};
use crate::wording::counted;

/// What has it still, and brings it back.
const ELSEWHERE: &str = "Backups made before have them still, until they are gone; a record restored from one has them again: erase them there anew. A file of the record that was exported before has them too: `lastmicron import` leaves them out here, and not elsewhere. A device that showed such a page may have it until it is loaded again.";

/// What is not erased.
const STAYS: &str = "What somebody wrote into titles and notes stays in the record, names too: nothing takes it out.";

pub(crate) fn run(arguments: &EraseArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let records = folder(arguments.data.as_deref())?;
    let job = job_id(&arguments.job, arguments.data.as_deref())?;
    // Nothing is made where no records are.
    drop(to_read(&records)?);
    let store = store(&records)?;
    let Named { title, sheets } =
        named(&store, job).map_err(|error| Failure::of_store(&error))?.ok_or_else(|| no_such_job(job, arguments.data.as_deref()))?;
    if sheets.is_empty() {
        return Ok(writeln!(out, "{title}: no sheet that names somebody is here. Nothing was erased. {STAYS}")?);
    }
    if !arguments.yes {
        writeln!(out, "{title}: {} will be gone for good. {STAYS} Type the job's name to erase: {title}", in_words(sheets.len()))?;
        out.flush()?;
        let mut typed = String::new();
        io::stdin().lock().read_line(&mut typed).map_err(|error| Failure::bad_input(format!("nothing could be read: {error}")))?;
        if typed.trim() != title {
            return Err(Failure::bad_input(format!("that is not {title}: nothing was erased")));
        }
    }
    for sheet in &sheets {
        store.erase(*sheet).map_err(|error| Failure::of_store(&error))?;
    }
    writeln!(
        out,
        "{title}: {} erased. The record is whole as before: it has only their hashes. {STAYS}\n{ELSEWHERE}",
        in_words(sheets.len())
    )?;
    Ok(())
}

/// A job by its name, and its sheets that are here.
struct Named {
    title: String,
    sheets: BTreeSet<Digest>,
}

fn named(store: &Sqlite, job: Id) -> Result<Option<Named>, StoreError> {
    let events: Vec<Event> = store.events(job, 1)?.into_iter().map(|entry| entry.event).collect();
    if events.is_empty() {
        return Ok(None);
    }
    let title = fold(&events).vehicle.map(|vehicle| vehicle.title.trim().to_owned()).filter(|title| !title.is_empty());
    let mut sheets = BTreeSet::new();
    for sheet in events.iter().filter_map(|event| event.body.sheet()) {
        // One with other bytes than it had is erased as well.
        if !matches!(store.kept(sheet), Ok(None)) {
            sheets.insert(sheet);
        }
    }
    Ok(Some(Named { title: title.unwrap_or_else(|| job.to_string()), sheets }))
}

fn in_words(sheets: usize) -> String {
    counted(sheets as u64, "sheet that names somebody", "sheets that name somebody")
}
