//! What a backup says it holds.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;

use lastmicron_job::event::{Digest, Id, When};
use lastmicron_record::{Head, canonical, sha256};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::{PARTIAL, UNFINISHED};
use crate::content::Content;
use crate::error::StoreError;
use crate::sqlite::{DATABASE, KEPT};

/// The manifest's name in its folder.
pub(crate) const MANIFEST: &str = "manifest.json";
/// What a manifest calls the format.
const FORMAT: &str = "lastmicron backup";
/// Its version. A later program reads all earlier ones.
const VERSION: u64 = 1;

/// What a backup holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manifest {
    format: String,
    version: u64,
    /// The version of the program that made it.
    pub program: String,
    /// The version of its database's tables.
    pub schema: i64,
    /// When it was begun, by the clock there: what was acknowledged before is in it.
    pub made: When,
    /// The end of each job's record.
    pub jobs: Vec<JobEnd>,
    /// Every file but the manifest.
    pub files: Vec<FileSaid>,
}

/// The end of a job's record.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobEnd {
    /// The job.
    pub job: Id,
    /// The number of its last entry.
    pub seq: u64,
    /// The hash of that.
    pub hash: Digest,
}

/// A file of a backup.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FileSaid {
    /// Where in the backup, with `/` between folders on every system.
    pub path: String,
    /// How many bytes it has.
    pub bytes: u64,
    /// Their SHA-256.
    pub sha256: Digest,
}

impl FileSaid {
    fn has_its_place(&self) -> bool {
        let name = self.sha256.to_string();
        self.path == DATABASE || name.get(..2).is_some_and(|shelf| self.path == format!("{KEPT}/{shelf}/{name}"))
    }
}

/// A manifest with the hash of its own canonical form: one that was changed shows.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    manifest: Manifest,
    hash: Digest,
}

impl Manifest {
    pub(super) fn new(schema: i64, made: When, jobs: &[(Id, Head)], files: BTreeMap<String, Content>) -> Self {
        Self {
            format: FORMAT.to_owned(),
            version: VERSION,
            program: env!("CARGO_PKG_VERSION").to_owned(),
            schema,
            made,
            jobs: jobs.iter().map(|(job, head)| JobEnd { job: *job, seq: head.seq, hash: head.hash }).collect(),
            files: files.into_iter().map(|(path, Content { bytes, sha256 })| FileSaid { path, bytes, sha256 }).collect(),
        }
    }

    /// Bytes of all its files.
    #[must_use]
    pub fn bytes(&self) -> u64 {
        self.files.iter().map(|file| file.bytes).sum()
    }

    /// Reads the manifest of a backup; nothing else of it is looked at.
    ///
    /// # Errors
    /// [`StoreError::NotABackup`], [`StoreError::NewerBackup`], or that it was changed; where there is none, what is there in its place: [`StoreError::NoManifest`],
    /// [`StoreError::Unfinished`].
    pub fn read(backup: &Path) -> Result<Self, StoreError> {
        match fs::read(backup.join(MANIFEST)) {
            Ok(bytes) => Self::parse(&bytes, backup).map_err(|error| match error {
                // Beside a database it was one of ours.
                StoreError::NotABackup { path, why } if backup.join(DATABASE).exists() => StoreError::DamagedBackup { path, why },
                error => error,
            }),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Err(without_one(backup)),
            Err(error) => Err(StoreError::NotABackup { path: backup.to_owned(), why: format!("{MANIFEST}: {error}") }),
        }
    }

    /// The same of a manifest's bytes.
    pub(super) fn parse(bytes: &[u8], backup: &Path) -> Result<Self, StoreError> {
        let not = |why: &str| StoreError::NotABackup { path: backup.to_owned(), why: why.to_owned() };
        let value: Value = serde_json::from_slice(bytes).map_err(|error| not(&format!("{MANIFEST}: {error}")))?;
        let heading = |name: &str| value.get("manifest").and_then(|manifest| manifest.get(name));
        if heading("format").and_then(Value::as_str) != Some(FORMAT) {
            return Err(not("its manifest names another format"));
        }
        match heading("version").and_then(Value::as_u64) {
            Some(found) if found > VERSION => return Err(StoreError::NewerBackup { found, known: VERSION }),
            Some(_) => {}
            None => return Err(not("its manifest names no version")),
        }
        let Written { manifest, hash } = serde_json::from_value(value).map_err(|error| not(&format!("{MANIFEST}: {error}")))?;
        if manifest.own_hash()? != hash {
            return Err(StoreError::DamagedBackup { path: backup.to_owned(), why: format!("{MANIFEST} was changed") });
        }
        // Whoever made it: nothing is read or written by it but where a backup has its files.
        match manifest.files.iter().find(|file| !file.has_its_place()) {
            Some(file) => Err(not(&format!("a backup has no file {}", file.path))),
            None => Ok(manifest),
        }
    }

    pub(super) fn text(&self) -> Result<String, StoreError> {
        let written = Written { manifest: self.clone(), hash: self.own_hash()? };
        serde_json::to_string_pretty(&written).map(|text| text + "\n").map_err(|error| StoreError::Database(error.to_string()))
    }

    fn own_hash(&self) -> Result<Digest, StoreError> {
        canonical(self).map(|bytes| sha256(&bytes)).map_err(|error| StoreError::Database(error.to_string()))
    }
}

/// What a place is that has no manifest.
fn without_one(place: &Path) -> StoreError {
    let not = |why: &str| StoreError::NotABackup { path: place.to_owned(), why: why.to_owned() };
    match place {
        place if !place.exists() => not("nothing is there"),
        place if place.to_string_lossy().ends_with(PARTIAL) => not("it came to no end, as its name says"),
        place if place.join(UNFINISHED).exists() => StoreError::Unfinished(place.to_owned()),
        place if place.join(DATABASE).exists() => StoreError::NoManifest(place.to_owned()),
        _ => not(&format!("there is no {MANIFEST} in it")),
    }
}
