//! A job folder read from disk.

use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use lastmicron_look::Count;

use crate::contents::Contents;
use crate::nearest::nearest;
use crate::place::{File, Place};
use crate::problem::{Doubt, Fault, Finding, Ledger, Problems};
use crate::{defects, gloss, job_toml, readings, together, worked};

/// Largest file read, bytes. Judgement: 20,000 rows of 200 characters are 4 MB.
const MOST_BYTES: u64 = 16 * 1024 * 1024;
/// The same in words.
const MOST_BYTES_IN_WORDS: &str = "20,000 rows or 16 MB";
/// Most entries of a folder that are looked at for misspelt names.
const MOST_ENTRIES: usize = 10_000;

/// A folder that can be read, with what should be known of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    /// What it holds.
    pub contents: Contents,
    /// What may be wrong with it.
    pub findings: Vec<Finding>,
}

/// Why a folder could not be read.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// The path leads to no folder.
    #[error("{}: there is no such folder: give the folder that holds job.toml and readings.csv", .0.display())]
    NoFolder(PathBuf),
    /// The path leads to something else than a folder.
    #[error("{}: this is not a folder: give the folder that holds job.toml and readings.csv", .0.display())]
    NotAFolder(PathBuf),
    /// Disk or permissions.
    #[error("{}: {source}", path.display())]
    Io {
        /// What could not be read.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// What is wrong with the files.
    #[error(transparent)]
    Refused(#[from] Problems),
}

/// The bytes of a job folder's files; `None` for a file that isn't there. No more than some megabytes of each are looked at.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Files {
    /// job.toml.
    pub job: Option<Vec<u8>>,
    /// readings.csv.
    pub readings: Option<Vec<u8>>,
    /// worked.csv.
    pub worked: Option<Vec<u8>>,
    /// defects.csv.
    pub defects: Option<Vec<u8>>,
    /// gloss.csv.
    pub gloss: Option<Vec<u8>>,
}

impl Files {
    /// The bytes of one of them.
    pub(crate) fn of(&self, file: File) -> Option<&[u8]> {
        let bytes = match file {
            File::Job => &self.job,
            File::Readings => &self.readings,
            File::Worked => &self.worked,
            File::Defects => &self.defects,
            File::Gloss => &self.gloss,
        };
        bytes.as_deref()
    }
}

/// Reads a job folder.
///
/// # Errors
/// [`ReadError::Refused`] with everything that is wrong with the files, or the reason why they can't be reached.
pub fn read(folder: &Path) -> Result<Checked, ReadError> {
    match fs::metadata(folder) {
        Ok(found) if found.is_dir() => {}
        Ok(_) => return Err(ReadError::NotAFolder(folder.to_owned())),
        Err(source) if source.kind() == io::ErrorKind::NotFound => return Err(ReadError::NoFolder(folder.to_owned())),
        Err(source) if source.kind() == io::ErrorKind::NotADirectory => return Err(ReadError::NoFolder(folder.to_owned())),
        Err(source) => return Err(ReadError::Io { path: folder.to_owned(), source }),
    }
    let bytes = |file: File| {
        let path = folder.join(file.name());
        match bytes_of(&path) {
            Ok(bytes) => Ok(Some(bytes)),
            Err(source) if source.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(source) => Err(ReadError::Io { path, source }),
        }
    };
    let files = Files {
        job: bytes(File::Job)?,
        readings: bytes(File::Readings)?,
        worked: bytes(File::Worked)?,
        defects: bytes(File::Defects)?,
        gloss: bytes(File::Gloss)?,
    };
    let others = other_files(folder).map_err(|source| ReadError::Io { path: folder.to_owned(), source })?;
    Ok(parse(&files, &others)?)
}

/// A file's bytes, one more than are allowed at most.
fn bytes_of(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    fs::File::open(path)?.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Names of the folder's other tables.
fn other_files(folder: &Path) -> io::Result<Vec<String>> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder)?.take(MOST_ENTRIES) {
        let name = entry?.file_name().to_string_lossy().into_owned();
        let is_ours = File::ALL.iter().any(|file| file.name() == name);
        let lower = name.to_lowercase();
        if !is_ours && (lower.ends_with(".csv") || lower.ends_with(".toml")) {
            names.push(name);
        }
    }
    names.sort();
    Ok(names)
}

/// Reads the bytes of a job folder's files. `others` are names of other files there, in which a misspelt one may be.
///
/// # Errors
/// Everything that is wrong with them.
pub fn parse(files: &Files, others: &[String]) -> Result<Checked, Problems> {
    let mut ledger = Ledger::default();
    let contents = contents(files, others, &mut ledger);
    ledger.close(contents).map(|(contents, findings)| Checked { contents, findings })
}

fn contents(files: &Files, others: &[String], ledger: &mut Ledger) -> Option<Contents> {
    let job_text = needed_text(File::Job, files.job.as_deref(), others, ledger);
    let readings_text = needed_text(File::Readings, files.readings.as_deref(), others, ledger);
    let worked_text = files.worked.as_deref().and_then(|bytes| text(File::Worked, bytes, ledger));
    let gloss_text = files.gloss.as_deref().and_then(|bytes| text(File::Gloss, bytes, ledger));
    let defects_text = files.defects.as_deref().and_then(|bytes| text(File::Defects, bytes, ledger));
    for file in [File::Worked, File::Defects, File::Gloss].into_iter().filter(|file| files.of(*file).is_none()) {
        if let Some(found) = nearest(file.name(), others.iter().map(String::as_str)) {
            ledger.doubt(Place::file(file), Doubt::OtherFile { found, meant: file.name() });
        }
    }
    let (mut job, stands) = job_toml::read(job_text?, ledger)?;
    let mut jottings = Vec::new();
    for (reading, jotting) in readings::read(readings_text?, &job.car, ledger) {
        job.car.readings.push(reading);
        jottings.push(jotting);
    }
    job.car.worked = worked_text.map(|text| worked::read(text, &job.car, ledger)).unwrap_or_default();
    let counts = defects_text.map(|text| defects::read(text, &job.car, ledger)).unwrap_or_default();
    let (counts, mut spots_mm): (Vec<Count>, Vec<Option<[f64; 2]>>) = counts.into_iter().unzip();
    job.car.counts = counts;
    job.gloss = gloss_text.map(|text| gloss::read(text, &job.car, ledger)).unwrap_or_default();
    if spots_mm.iter().all(Option::is_none) {
        spots_mm.clear();
    }
    together::check(&job, &jottings, &stands, ledger);
    Some(Contents { job, jottings, spots_mm })
}

fn needed_text<'b>(file: File, bytes: Option<&'b [u8]>, others: &[String], ledger: &mut Ledger) -> Option<&'b str> {
    if bytes.is_none() {
        let nearest = nearest(file.name(), others.iter().map(String::as_str));
        ledger.refuse(Place::file(file), Fault::NoFile { nearest });
    }
    text(file, bytes?, ledger)
}

fn text<'b>(file: File, bytes: &'b [u8], ledger: &mut Ledger) -> Option<&'b str> {
    let line_at = |at: usize| bytes.get(..at).unwrap_or_default().split(|byte| *byte == b'\n').count();
    if let Some(most) = usize::try_from(MOST_BYTES).ok().filter(|most| bytes.len() > *most) {
        ledger.refuse(Place::line(file, line_at(most)), Fault::TooLarge { most: MOST_BYTES_IN_WORDS });
        return None;
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => Some(text),
        Err(error) => {
            ledger.refuse(Place::line(file, line_at(error.valid_up_to())), Fault::NotUtf8);
            None
        }
    }
}
