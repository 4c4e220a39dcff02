//! `lastmicron import`: a record, a job folder, or what waited on a device, brought into the app's records.

use std::io::Write;
use std::path::Path;

use jiff::Timestamp;
use lastmicron_folder::events::{Said, said};
use lastmicron_job::event::{Body, Event, Id};
use lastmicron_record::{Bundle, Entry, Sealed, is_waited, read_waited};
use lastmicron_store::{BroughtIn, Sqlite, Store as _, StoreError, TakenIn, bring_in, take_in};

use crate::arguments::ImportArguments;
use crate::backups;
use crate::failure::Failure;
use crate::files;
use crate::papers::PDF;
use crate::plan::read_job;
use crate::serve::{folder, store, time};
use crate::wording::{counted, quoted, typed};

/// What a backup's folder has and no job's.
const MANIFEST: &str = "manifest.json";
/// Events that are brought in at once.
const AT_ONCE: usize = 500;

fn of_store(error: StoreError) -> Failure {
    Failure::of_store(&error)
}

pub(crate) fn run(arguments: &ImportArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let path = &arguments.path;
    if path.is_dir() {
        refuse_backup(path, path.join(MANIFEST).is_file())?;
        return import_folder(arguments, out);
    }
    refuse_backup(path, backups::is_one(path))?;
    let bytes = files::read_either(path)?;
    if bytes.starts_with(PDF) {
        return Err(Failure::bad_input(format!(
            "{}: this is a PDF. Where it is a handover, lastmicron verify {} checks it and the record in it",
            path.display(),
            quoted(path)
        )));
    }
    if is_waited(&bytes) {
        return import_waited(arguments, &bytes, out);
    }
    let bundle = Bundle::read(&bytes).map_err(|error| Failure::bad_input(format!("{}: {error}", arguments.path.display())))?;
    let store = store(&folder(arguments.data.as_deref())?).map_err(|failure| match failure {
        // The app brings a record's file in, too.
        Failure::InUse(why) => Failure::InUse(format!("{why}, or do it in the app")),
        other => other,
    })?;
    let Some(brought) = bring_in(&store, &bundle).map_err(of_store)? else {
        return Err(Failure::bad_input(format!("{}: there are no events in it", arguments.path.display())));
    };
    let BroughtIn { job, events, new, refused, left_out, same } = brought;
    writeln!(out, "{job}: {}", of_events(events, new))?;
    if left_out > 0 {
        let sheets = counted(left_out as u64, "sheet that was erased here was left out", "sheets that were erased here were left out");
        writeln!(out, "{sheets}")?;
    }
    if refused > 0 {
        let refused =
            counted(refused as u64, "was refused: another event has its id here", "were refused: other events have their ids here");
        writeln!(out, "{refused}")?;
    } else if !same {
        writeln!(out, "Other events of the job were here already: this record ends otherwise than the file's")?;
    }
    Ok(())
}

/// Refuses a backup, which is restored whole.
fn refuse_backup(path: &Path, is_one: bool) -> Result<(), Failure> {
    if !is_one {
        return Ok(());
    }
    let (shown, typed) = (path.display(), quoted(path));
    Err(Failure::bad_input(format!(
        "{shown}: this is a backup of all records: lastmicron restore {typed} --data DIR puts it into an empty folder, and lastmicron verify {typed} checks it"
    )))
}

/// How many events of a file are in the records, and how many of these were not before.
fn of_events(events: usize, new: usize) -> String {
    if events == 0 {
        return "no event of the file is in the records: nothing is new".to_owned();
    }
    let are = counted(events as u64, "event is", "events are");
    match events.saturating_sub(new) {
        0 => format!("{are} in the records, none of which was here before"),
        _ if new == 0 => format!("{are} in the records, and all of that was here already: nothing is new"),
        already => {
            let (new, was) = (counted(new as u64, "is", "are"), counted(already as u64, "was", "were"));
            format!("{are} in the records: {new} new, {was} here already")
        }
    }
}

/// Takes in what a device saved that could not send it.
fn import_waited(arguments: &ImportArguments, bytes: &[u8], out: &mut dyn Write) -> Result<(), Failure> {
    let events = read_waited(bytes).map_err(|error| Failure::bad_input(format!("{}: {error}", arguments.path.display())))?;
    let store = store(&folder(arguments.data.as_deref())?)?;
    let received = time()?;
    let TakenIn { jobs, events, refused } = take_in(&store, &events, &received).map_err(of_store)?;
    let jobs: Vec<String> = jobs.iter().map(ToString::to_string).collect();
    let jobs = if jobs.is_empty() { "no job".to_owned() } else { jobs.join(", ") };
    writeln!(out, "{} in the records, of {jobs}", counted(events as u64, "event is", "events are"))?;
    for refusal in refused {
        writeln!(out, "Refused: {refusal}")?;
    }
    Ok(())
}

/// Makes a job of a folder, unless one was made of the very same before; goes on with one whose import came to no end.
fn import_folder(arguments: &ImportArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let data = arguments.data.as_deref();
    let contents = read_job(&arguments.path)?;
    let title = &contents.job.title;
    let said = said(&contents);
    let store = store(&folder(data)?)?;
    let Here { same, begun, of_title } = here(&store, title, &said)?;
    if let Some(job) = same {
        let (folder, jobs) = (arguments.path.display(), typed("jobs", data));
        writeln!(
            out,
            "{folder}: this folder was brought in before, as job {job}: nothing was done. `{jobs}` lists it. To have another of the same, give the folder another title"
        )?;
        return Ok(());
    }
    if let Some(Begun { import, taken }) = begun {
        import.take(&store, said.into_iter().skip(taken), Ids::new()?, &arguments.who)?;
        writeln!(out, "{}: {title} is in the records: went on with this job, whose import had come to no end", import.job)?;
        return Ok(());
    }
    let mut ids = Ids::new()?;
    let import = Import::of(ids.next(), said.len());
    import.take(&store, said.into_iter(), ids, &arguments.who)?;
    writeln!(out, "{}: {title} is in the records, as a new job", import.job)?;
    if !of_title.is_empty() {
        let others: Vec<String> = of_title.iter().map(ToString::to_string).collect();
        let (are, stay) =
            if others.len() == 1 { ("Another job of that title was", "stays") } else { ("Other jobs of that title were", "stay") };
        writeln!(out, "{are} here, made of something else, and {stay} as before: {}", others.join(", "))?;
    }
    Ok(())
}

/// An import of a folder: its job, and the device that stands for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Import {
    job: Id,
    device: Id,
}

impl Import {
    /// That of so many events into a job. Its device has the id behind theirs, which are the next after the job's: so each of them says how many there are to be, and an
    /// import that was interrupted is known by what it lacks.
    fn of(job: Id, events: usize) -> Self {
        Self { job, device: job.later(events as u64 + 1) }
    }

    /// Takes what is said into the records, so much at once: whole, or, where the program is ended, up to one of these.
    fn take(self, store: &Sqlite, said: impl Iterator<Item = Said>, mut ids: Ids, who: &str) -> Result<(), Failure> {
        let Self { job, device } = self;
        let began = time()?;
        let event = |Said { when, body }: Said| {
            let when = when.unwrap_or_else(|| began.clone());
            let event = Event { id: ids.next(), job, when, device, who: who.to_owned(), over: None, body };
            Sealed::seal(event).map_err(|error| Failure::bad_input(error.to_string()))
        };
        let sealed = said.map(event).collect::<Result<Vec<_>, _>>()?;
        for together in sealed.chunks(AT_ONCE) {
            store.append(together.to_vec(), time()?).map_err(of_store)?;
        }
        Ok(())
    }
}

/// Which jobs here have to do with a folder.
#[derive(Default)]
struct Here {
    /// One that was made of what it says.
    same: Option<Id>,
    /// One that was to be.
    begun: Option<Begun>,
    /// Those of its title.
    of_title: Vec<Id>,
}

/// An import that came to no end.
struct Begun {
    import: Import,
    /// How many of its events are in the records.
    taken: usize,
}

fn here(store: &Sqlite, title: &str, said: &[Said]) -> Result<Here, Failure> {
    let mut here = Here::default();
    for (job, _) in store.jobs().map_err(of_store)? {
        let entries = store.events(job, 1).map_err(of_store)?;
        match taken_of(&entries, said) {
            Some((_, taken)) if taken == said.len() => here.same = Some(job),
            // One of more events is of a folder that has lost its last rows since, and one of fewer of a folder that has grown.
            Some((import, taken)) if import == Import::of(job, said.len()) => here.begun = Some(Begun { import, taken }),
            _ => {}
        }
        if entries.iter().any(|entry| matches!(&entry.event.body, Body::VehicleStated(stated) if stated.title == title)) {
            here.of_title.push(job);
        }
    }
    Ok(here)
}

/// The import that began the job of these entries, and how much of what is said it took in, from the beginning and nothing else; whatever others recorded since: each import
/// is a device of its own.
fn taken_of(entries: &[Entry], said: &[Said]) -> Option<(Import, usize)> {
    let first = &entries.first()?.event;
    let by_it: Vec<&Event> = entries.iter().map(|entry| &entry.event).filter(|event| event.device == first.device).collect();
    let is_same = |(event, one): (&&Event, &Said)| event.body == one.body && one.when.as_ref().is_none_or(|when| event.when == *when);
    let is_taken = by_it.len() <= said.len() && by_it.iter().zip(said).all(is_same);
    is_taken.then_some((Import { job: first.job, device: first.device }, by_it.len()))
}

/// Ids of this moment, in order.
struct Ids {
    next: Id,
}

impl Ids {
    fn new() -> Result<Self, Failure> {
        let unix_ms = u64::try_from(Timestamp::now().as_millisecond()).map_err(|_| Failure::failed("the system's time is before 1970"))?;
        let mut random = [0; 10];
        getrandom::fill(&mut random).map_err(|error| Failure::failed(format!("the system gives no random numbers: {error}")))?;
        Ok(Self { next: Id::made_at(unix_ms, random) })
    }

    /// The next: of the same random bytes and a later millisecond, so that they stand in this order.
    fn next(&mut self) -> Id {
        let next = self.next;
        self.next = next.later(1);
        next
    }
}
