//! `lastmicron jobs`, `export`, `import` and `verify`: the app's records, from the terminal.

use std::fs;
use std::io::Write;
use std::path::Path;

use jiff::Timestamp;
use lastmicron_folder::events::{contents, said};
use lastmicron_job::event::{Event, Id, When};
use lastmicron_job::fold::{Status, fold};
use lastmicron_record::{Bundle, Entry, Keys, NotABundle, Sealed, is_waited, read_waited};
use lastmicron_store::{BroughtIn, Report, Sqlite, Store, StoreError, TakenIn, bring_in, is_encrypted, take_in, take_out};
use lastmicron_web::ReadBack;

use crate::arguments::{ExportArguments, ImportArguments, JobsArguments, VerifyArguments};
use crate::backups;
use crate::failure::Failure;
use crate::files;
use crate::papers::{PDF, Unsound, checked};
use crate::plan::read_job;
use crate::serve::{folder, now, store};
use crate::wording::{counted, typed};

/// Events that are brought in at once.
const AT_ONCE: usize = 500;

/// The records in the folder that was given, or the usual one, to be read while the app runs or not; none are made.
fn known(data: Option<&Path>) -> Result<Sqlite, Failure> {
    to_read(&folder(data)?)
}

/// The same for a folder.
pub(crate) fn to_read(folder: &Path) -> Result<Sqlite, Failure> {
    Sqlite::open_to_read(folder).map_err(|error| match error {
        StoreError::NoRecord(_) => Failure::bad_input(format!("{error}: give --data DIR")),
        error => Failure::of_store(&error),
    })
}

fn events(n: usize) -> String {
    counted(n as u64, "event", "events")
}

fn of_store(error: StoreError) -> Failure {
    Failure::of_store(&error)
}

pub(crate) fn jobs(arguments: &JobsArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let store = known(arguments.data.as_deref())?;
    for (job, _) in store.jobs().map_err(of_store)? {
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

pub(crate) fn export(arguments: &ExportArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let store = known(arguments.data.as_deref())?;
    let job: Id = arguments.job.parse().map_err(|error| Failure::bad_input(format!("{}: {error}", arguments.job)))?;
    let bundle = take_out(&store, job).map_err(of_store)?;
    let bundle = bundle
        .ok_or_else(|| Failure::bad_input(format!("{job}: there is no such job here: see {}", typed("jobs", arguments.data.as_deref()))))?;
    if let Some(path) = &arguments.record {
        files::write(path, &bundle.write().map_err(|broken| Failure::failed(broken.to_string()))?)?;
        writeln!(
            out,
            "{}: {} and {} kept beside them",
            path.display(),
            events(bundle.entries.len()),
            counted(bundle.kept.len() as u64, "thing", "things")
        )?;
    }
    if let Some(path) = &arguments.folder {
        let standing = fold(bundle.entries.iter().map(|entry| &entry.event));
        let contents = contents(&standing).map_err(|lacking| {
            let lacking: Vec<String> = lacking.iter().map(ToString::to_string).collect();
            Failure::bad_input(format!("{job}: a job folder needs more than is stated: {}", lacking.join("; ")))
        })?;
        lastmicron_folder::write(&contents, path).map_err(|error| Failure::failed(error.to_string()))?;
        writeln!(out, "{}: a job folder with {}", path.display(), counted(contents.job.car.readings.len() as u64, "reading", "readings"))?;
    }
    Ok(())
}

pub(crate) fn import(arguments: &ImportArguments, out: &mut dyn Write) -> Result<(), Failure> {
    if arguments.path.is_dir() {
        let contents = read_job(&arguments.path)?;
        let store = store(&folder(arguments.data.as_deref())?)?;
        let job = import_folder(&store, &contents, &arguments.who)?;
        return Ok(writeln!(out, "{job}: {} is in the records", contents.job.title)?);
    }
    let bytes = read_file(&arguments.path)?;
    if is_waited(&bytes) {
        return import_waited(arguments, &bytes, out);
    }
    let bundle = bundle_in(&arguments.path, &bytes)?;
    let store = store(&folder(arguments.data.as_deref())?)?;
    let Some(brought) = bring_in(&store, &bundle).map_err(of_store)? else {
        return Err(Failure::bad_input(format!("{}: there are no events in it", arguments.path.display())));
    };
    let BroughtIn { job, events, refused, same, .. } = brought;
    writeln!(out, "{job}: {} in the records", counted(events as u64, "event is", "events are"))?;
    if refused > 0 {
        let refused =
            counted(refused as u64, "was refused: another event has its id here", "were refused: other events have their ids here");
        writeln!(out, "{refused}")?;
    } else if !same {
        writeln!(out, "Other events of the job were here already: this record ends otherwise than the file's")?;
    }
    Ok(())
}

/// Takes in what a device saved that could not send it.
fn import_waited(arguments: &ImportArguments, bytes: &[u8], out: &mut dyn Write) -> Result<(), Failure> {
    let events = read_waited(bytes).map_err(|error| Failure::bad_input(format!("{}: {error}", arguments.path.display())))?;
    let store = store(&folder(arguments.data.as_deref())?)?;
    let received = now().ok_or_else(|| Failure::failed("the system's time is beyond what a record holds"))?;
    let TakenIn { jobs, events, refused } = take_in(&store, &events, &received).map_err(of_store)?;
    let jobs: Vec<String> = jobs.iter().map(ToString::to_string).collect();
    let jobs = if jobs.is_empty() { "no job".to_owned() } else { jobs.join(", ") };
    writeln!(out, "{} in the records, of {jobs}", counted(events as u64, "event is", "events are"))?;
    for refusal in refused {
        writeln!(out, "Refused: {refusal}")?;
    }
    Ok(())
}

/// Makes a new job of a folder: every event has an id of its own, made now.
fn import_folder(store: &Sqlite, contents: &lastmicron_folder::Contents, who: &str) -> Result<Id, Failure> {
    let clock = || now().ok_or_else(|| Failure::failed("the system's time is beyond what a record holds"));
    let mut ids = Ids::new()?;
    let (job, device) = (ids.next(), ids.next());
    let event = |one: lastmicron_folder::events::Said, id: Id, time: &When| {
        let event =
            Event { id, job, when: one.when.unwrap_or_else(|| time.clone()), device, who: who.to_owned(), over: None, body: one.body };
        Sealed::seal(event).map_err(|error| Failure::bad_input(error.to_string()))
    };
    let time = clock()?;
    let sealed = said(contents).into_iter().map(|one| event(one, ids.next(), &time)).collect::<Result<Vec<_>, _>>()?;
    for together in sealed.chunks(AT_ONCE) {
        store.append(together.to_vec(), clock()?).map_err(of_store)?;
    }
    Ok(job)
}

/// Ids of this moment, in order.
struct Ids {
    unix_ms: u64,
    random: [u8; 10],
}

impl Ids {
    fn new() -> Result<Self, Failure> {
        let unix_ms = u64::try_from(Timestamp::now().as_millisecond()).map_err(|_| Failure::failed("the system's time is before 1970"))?;
        let mut random = [0; 10];
        getrandom::fill(&mut random).map_err(|error| Failure::failed(format!("the system gives no random numbers: {error}")))?;
        Ok(Self { unix_ms, random })
    }

    /// The next: of the same random bytes and a later millisecond, so that they stand in this order.
    fn next(&mut self) -> Id {
        self.unix_ms += 1;
        Id::made_at(self.unix_ms, self.random)
    }
}

fn read_file(path: &Path) -> Result<Vec<u8>, Failure> {
    fs::read(path).map_err(|error| Failure::bad_input(format!("{}: {error}", path.display())))
}

fn bundle_in(path: &Path, bytes: &[u8]) -> Result<Bundle, Failure> {
    Bundle::read(bytes).map_err(|error| Failure::bad_input(format!("{}: {error}", path.display())))
}

/// A record's file, or a handover with the record in it, which is signed by what follows from the keys in a file where one is given.
fn verify_file(path: &Path, keys: Option<&Path>, out: &mut dyn Write) -> Result<(), Failure> {
    let bytes = read_file(path)?;
    let whole = |what: &str, entries: &[Entry], out: &mut dyn Write| {
        let last = entries.last().map(|entry| entry.hash.to_string()).unwrap_or_default();
        writeln!(out, "{}: {what}: {}; the last hash is {last}", path.display(), events(entries.len()))
    };
    if !bytes.starts_with(PDF) {
        if keys.is_some() {
            return Err(Failure::bad_input(format!("{}: no handover, and nothing in it is signed: leave --keys out", path.display())));
        }
        let bundle = Bundle::read(&bytes).map_err(|error| {
            let said = format!("{}: {error}", path.display());
            match error {
                NotABundle::NoHeading | NotABundle::Newer { .. } => Failure::bad_input(said),
                NotABundle::Line { .. } | NotABundle::Broken(_) | NotABundle::Short => Failure::Problems(said),
            }
        })?;
        return Ok(whole("whole", &bundle.entries, out)?);
    }
    let known = keys.map(known_keys).transpose()?;
    let ReadBack { entries, signed, .. } = checked(&bytes, known.as_ref()).map_err(|unsound| {
        let said = format!("{}: {unsound}", path.display());
        match unsound {
            Unsound::NotOne(_) => Failure::bad_input(said),
            Unsound::Changed(_) => Failure::Problems(said),
        }
    })?;
    whole("the record in it is whole and ends as its pages say", &entries, out)?;
    writeln!(out, "{signed}")?;
    if let Some(keys) = keys {
        writeln!(out, "It follows from the key in {}.", keys.display())?;
    }
    Ok(())
}

fn known_keys(path: &Path) -> Result<Keys, Failure> {
    let wrong = |why: &dyn std::fmt::Display| Failure::bad_input(format!("{}: {why}", path.display()));
    fs::read_to_string(path).map_err(|error| wrong(&error))?.parse().map_err(|error| wrong(&error))
}

pub(crate) fn verify(arguments: &VerifyArguments, out: &mut dyn Write) -> Result<(), Failure> {
    match &arguments.file {
        Some(path) if (path.is_dir() || is_encrypted(path)) && arguments.keys.is_some() => {
            Err(Failure::bad_input(format!("{}: a backup is checked by the keys in it: leave --keys out", path.display())))
        }
        Some(path) if path.is_dir() || is_encrypted(path) => {
            backups::verify(path, arguments.key.as_deref(), arguments.data.as_deref(), out)
        }
        Some(path) => verify_file(path, arguments.keys.as_deref(), out),
        None => tell(&known(arguments.data.as_deref())?.verify().map_err(|error| Failure::of_looked_at(&error))?, out),
    }
}

/// Says what was found in records.
pub(crate) fn tell(report: &Report, out: &mut dyn Write) -> Result<(), Failure> {
    for damage in &report.damage {
        writeln!(out, "{damage}")?;
    }
    if !report.damage.is_empty() {
        let things = counted(report.damage.len() as u64, "thing is not as it was", "things are not as they were");
        return Err(Failure::Problems(format!("{things} written: restore the last backup that was verified")));
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
        writeln!(out, "{things}: not sent yet, or taken away.")?;
    }
    Ok(())
}
