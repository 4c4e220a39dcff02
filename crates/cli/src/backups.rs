//! `lastmicron backup`, `backups` and `restore`, and `verify` of a backup.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use lastmicron_job::event::When;
use lastmicron_store::{Backup, LastBackup, Manifest, Sqlite, StoreError, restore, verify_backup};

use crate::arguments::{BackupArguments, BackupsArguments, RestoreArguments};
use crate::failure::Failure;
use crate::records::{tell, to_read};
use crate::serve::{folder, now};

/// Where backups are made where nobody says otherwise.
pub(crate) fn usual(records: &Path) -> PathBuf {
    records.join("backups")
}

/// The time, and a place of a backup that is named by it.
pub(crate) fn named(backups: &Path, kind: &str) -> Result<(When, PathBuf), Failure> {
    let made = now().ok_or_else(|| Failure::failed("the system's time is beyond what a record holds"))?;
    let target = backups.join(format!("{kind}-{}", in_a_name(&made)));
    Ok((made, target))
}

/// A time to the second as part of a file's name: no system forbids it, and names are in the order of time.
fn in_a_name(time: &When) -> String {
    format!("{}Z", time.as_str().get(..19).unwrap_or_default().replace(':', "-"))
}

/// Makes a backup, and notes it as the last that was looked at.
pub(crate) fn make(store: &Sqlite, records: &Path, target: &Path, made: When) -> Result<Backup, StoreError> {
    let backup = store.back_up(target, made.clone())?;
    note(records, target, made)?;
    Ok(backup)
}

fn note(records: &Path, backup: &Path, made: When) -> Result<(), StoreError> {
    let folder = fs::canonicalize(backup).unwrap_or_else(|_| backup.to_owned());
    LastBackup { verified: now().unwrap_or_else(|| made.clone()), made, folder, sha256: None }.note(records)
}

pub(crate) fn backup(arguments: &BackupArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let records = folder(arguments.data.as_deref())?;
    let store = to_read(&records)?;
    let (made, usual) = named(&usual(&records), "by-hand")?;
    let target = arguments.target.as_deref().unwrap_or(&usual);
    let backup = make(&store, &records, target, made).map_err(|error| Failure::of_store(&error))?;
    writeln!(out, "{}: a backup, read back and found whole.", target.display())?;
    tell(&backup.report, out)
}

pub(crate) fn list(arguments: &BackupsArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let records = folder(arguments.data.as_deref())?;
    let backups = arguments.backups.clone().unwrap_or_else(|| usual(&records));
    for path in folders(&backups) {
        match Manifest::read(&path) {
            Ok(manifest) => {
                let megabytes = manifest.bytes() as f64 / 1e6;
                writeln!(out, "{}  {} jobs  {megabytes:.1} MB  {}", manifest.made, manifest.jobs.len(), path.display())?;
            }
            Err(error) => writeln!(out, "{error}")?,
        }
    }
    match LastBackup::read(&records) {
        Some(last) => {
            writeln!(out, "The last one found whole is of {}, looked at {}: {}", last.made, last.verified, last.folder.display())?
        }
        None => writeln!(out, "No backup of the records in {} is known to be whole: lastmicron backup makes one.", records.display())?,
    }
    Ok(())
}

/// The folders in a folder, but those that are no backup yet, in the order of their names.
pub(crate) fn folders(backups: &Path) -> Vec<PathBuf> {
    let all = fs::read_dir(backups).into_iter().flatten().filter_map(Result::ok).map(|entry| entry.path());
    let mut folders: Vec<PathBuf> =
        all.filter(|path| path.is_dir() && path.extension().is_none_or(|extension| extension != "partial")).collect();
    folders.sort();
    folders
}

pub(crate) fn restore_into(arguments: &RestoreArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let Backup { manifest, report } = restore(&arguments.backup, &arguments.data).map_err(|error| Failure::of_store(&error))?;
    writeln!(
        out,
        "{}: restored as of {}, and found whole. Look at it with lastmicron serve --data.",
        arguments.data.display(),
        manifest.made
    )?;
    tell(&report, out)
}

/// Looks at a backup, and notes that where it is the last one of the records.
pub(crate) fn verify(path: &Path, data: Option<&Path>, out: &mut dyn Write) -> Result<(), Failure> {
    let Backup { manifest, report } = verify_backup(path).map_err(|error| Failure::of_store(&error))?;
    // What is damaged ends this here.
    tell(&report, out)?;
    writeln!(out, "It is a backup of {}, made by version {}.", manifest.made, manifest.program)?;
    let whole = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let records = folder(data)?;
    if LastBackup::read(&records).is_some_and(|last| last.folder == whole && last.made == manifest.made) {
        note(&records, path, manifest.made).map_err(|error| Failure::of_store(&error))?;
    }
    Ok(())
}
