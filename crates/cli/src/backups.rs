//! `lastmicron backup`, `backups` and `restore`, and `verify` of a backup.

use std::fs;
use std::io::{self, Write};
use std::iter;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use lastmicron_job::event::{Digest, When};
use lastmicron_store::{
    Backup, BackupKey, ENCRYPTED, LastBackup, Manifest, People as _, Report, SIGNING_KEYS, Sqlite, StoreError, backup_around, is_encrypted,
    restore, restore_encrypted, sha256_of, verify_backup, verify_encrypted,
};

use crate::arguments::{BackupArguments, BackupsArguments, RestoreArguments};
use crate::backup_key::identity;
use crate::failure::Failure;
use crate::place;
use crate::records::{tell, tell_or, to_read};
use crate::serve::{folder, now, time};
use crate::wording::{counted, to_the_second, typed};

/// Where backups are made where nobody says otherwise.
pub(crate) fn usual(records: &Path) -> PathBuf {
    records.join("backups")
}

/// The time, and a place of a backup that is named by it.
pub(crate) fn named(backups: &Path, kind: &str) -> Result<(When, PathBuf), Failure> {
    let made = time()?;
    let target = backups.join(format!("{kind}-{}", in_a_name(&made)));
    Ok((made, target))
}

/// The same place, or one with a number behind it where another of the same second is.
fn free(target: PathBuf) -> PathBuf {
    let is_free = |path: &PathBuf| !path.exists() && !encrypted_name(path).exists();
    let numbered = (2..100).map(|n| PathBuf::from(format!("{}-{n}", target.display())));
    iter::once(target.clone()).chain(numbered).find(is_free).unwrap_or(target)
}

/// A time to the second as part of a file's name: no system forbids it, and names are in the order of time.
fn in_a_name(time: &When) -> String {
    format!("{}Z", time.as_str().get(..19).unwrap_or_default().replace(':', "-"))
}

/// The time that was made part of a name.
pub(crate) fn time_in(part: &str) -> Option<Timestamp> {
    let (day, hours) = part.split_once('T')?;
    format!("{day}T{}", hours.replace('-', ":")).parse().ok()
}

/// The time in the name of a backup, whatever stands before and behind it.
fn named_for(name: &str) -> Option<Timestamp> {
    const LENGTH: usize = "2024-05-01T07-30-01Z".len();
    (0..name.len()).find_map(|at| time_in(name.get(at..at + LENGTH)?))
}

/// A backup that was made.
pub(crate) struct Made {
    pub(crate) path: PathBuf,
    pub(crate) report: Report,
    pub(crate) is_encrypted: bool,
}

/// Makes a backup, encrypted where the key for that was checked, and notes it as the last that was looked at.
pub(crate) fn make(store: &Sqlite, records: &Path, target: &Path, made: When) -> Result<Made, StoreError> {
    match BackupKey::read(records)? {
        Some(key) if key.checked.is_some() => {
            if target.is_dir() {
                return Err(StoreError::Exists(target.to_owned()));
            }
            let target = encrypted_name(target);
            let encrypted = store.back_up_encrypted(&target, &key, made.clone())?;
            note(records, &target, made, Some(encrypted.sha256))?;
            Ok(Made { path: target, report: encrypted.backup.report, is_encrypted: true })
        }
        unchecked => {
            if unchecked.is_some() {
                // There is nowhere to say that stderr is gone.
                let _ = writeln!(
                    io::stderr(),
                    "lastmicron: this backup is not encrypted: the backup key was not given back yet. Do that with lastmicron backup-key check -"
                );
            }
            let backup = store.back_up(target, made.clone())?;
            note(records, target, made, None)?;
            Ok(Made { path: target.to_owned(), report: backup.report, is_encrypted: false })
        }
    }
}

/// The same name, with the ending of an encrypted backup.
fn encrypted_name(target: &Path) -> PathBuf {
    let Some(name) = target.file_name().filter(|_| !names_encrypted(target)) else { return target.to_owned() };
    let mut name = name.to_owned();
    name.push(ENCRYPTED);
    target.with_file_name(name)
}

fn names_encrypted(path: &Path) -> bool {
    path.file_name().is_some_and(|name| name.to_string_lossy().ends_with(ENCRYPTED))
}

/// Whether what was given is to be looked at as a backup: a folder, or a file that is encrypted or is called so.
pub(crate) fn is_one(path: &Path) -> bool {
    path.is_dir() || is_closed(path)
}

fn is_closed(path: &Path) -> bool {
    // A pipe gives its bytes once.
    path.is_file() && (is_encrypted(path) || names_encrypted(path))
}

/// Refuses a folder for backups in which they would spoil what is there: among the records but where theirs are made, and in another backup.
pub(crate) fn refuse_what_they_spoil(folder: &Path, records: &Path) -> Result<(), Failure> {
    if place::is_within(folder, records) && !place::is_within(folder, &usual(records)) {
        return Err(Failure::bad_input(format!("{}: that is among the records: name another place", folder.display())));
    }
    refuse_in_a_backup(folder)
}

/// Refuses a place in a backup: with anything more in it that is another than was made.
pub(crate) fn refuse_in_a_backup(wanted: &Path) -> Result<(), Failure> {
    match backup_around(wanted) {
        Some(backup) => Err(Failure::of_store(&StoreError::InABackup { place: wanted.to_owned(), backup })),
        None => Ok(()),
    }
}

/// The file in a folder of daily backups that says where the records are that they are of.
pub(crate) const OF: &str = "backups-of";

/// The other records, still there, of which daily backups are made in a folder: the dailies of both would count, and go, as those of one.
pub(crate) fn others(backups: &Path, records: &Path) -> Option<PathBuf> {
    let noted = PathBuf::from(fs::read_to_string(backups.join(OF)).ok()?.trim_end_matches('\n'));
    (!place::is_same(&noted, records) && to_read(&noted).is_ok()).then_some(noted)
}

/// Notes in a folder whose daily backups are made in it.
pub(crate) fn note_whose(backups: &Path, records: &Path) -> Result<(), StoreError> {
    let path = backups.join(OF);
    let records = format!("{}\n", in_full(records).display());
    if fs::read_to_string(&path).is_ok_and(|noted| noted == records) {
        return Ok(());
    }
    fs::write(&path, records).map_err(|error| StoreError::Io { path, what: error.to_string() })
}

/// Where a backup that was asked for is to be.
fn refuse_target(target: &Path, records: &Path) -> Result<(), Failure> {
    if place::is_same(target, &usual(records)) {
        return Err(Failure::bad_input(format!("{}: backups are made in that folder: name one in it", target.display())));
    }
    refuse_what_they_spoil(place::above(target), records)
}

/// What there is to say where a backup would be lost together with the records.
fn lost_together(backup: &Path, records: &Path) -> &'static str {
    if place::on_one_disk(backup, records) {
        " It is on the disk that the records are on, and is lost with it: make one elsewhere too."
    } else {
        ""
    }
}

fn note(records: &Path, backup: &Path, made: When, sha256: Option<Digest>) -> Result<(), StoreError> {
    LastBackup { verified: now().unwrap_or_else(|| made.clone()), made, folder: in_full(backup), sha256 }.note(records)
}

pub(crate) fn backup(arguments: &BackupArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let records = folder(arguments.data.as_deref())?;
    let store = to_read(&records)?;
    let (made, usual) = named(&usual(&records), "by-hand")?;
    if let Some(target) = &arguments.target {
        refuse_target(target, &records)?;
    }
    let target = arguments.target.clone().unwrap_or_else(|| free(usual));
    let Made { path, report, is_encrypted } = make(&store, &records, &target, made).map_err(|error| Failure::of_store(&error))?;
    let what = if is_encrypted { "a backup, found whole before it was encrypted" } else { "a backup, read back and found whole" };
    writeln!(out, "{}: {what}.{}", path.display(), lost_together(&path, &records))?;
    tell(&report, out)
}

pub(crate) fn list(arguments: &BackupsArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let records = folder(arguments.data.as_deref())?;
    let backups = arguments.backups.clone().unwrap_or_else(|| usual(&records));
    // Where the records are lost, their backups are listed all the same.
    let lost = to_read(&records).err();
    if !backups.is_dir() {
        match lost {
            Some(lost) if arguments.backups.is_none() => return Err(lost),
            _ if arguments.backups.is_some() => return Err(Failure::of_store(&StoreError::NoFolder(backups))),
            _ => {}
        }
    }
    let mut listed: Vec<(Option<Timestamp>, String)> = all(&backups).iter().map(|path| line(path)).collect();
    listed.sort();
    for (_, line) in listed {
        writeln!(out, "{line}")?;
    }
    match LastBackup::read(&records) {
        Some(last) => {
            let (made, verified) = (to_the_second(&last.made), to_the_second(&last.verified));
            writeln!(out, "The last one found whole is of {made}, looked at {verified}: {}", last.folder.display())?
        }
        None if lost.is_none() => writeln!(
            out,
            "No backup of the records in {} is known to be whole: {} makes one.",
            records.display(),
            typed("backup", arguments.data.as_deref())
        )?,
        None => {}
    }
    if let Some(lost) = lost {
        let key = if all(&backups).iter().any(|path| is_closed(path)) { " (--key FILE for one that is encrypted)" } else { "" };
        writeln!(out, "{lost}. To make records of a backup in an empty folder: lastmicron restore BACKUP --data DIR{key}")?;
    }
    Ok(())
}

/// What is told of a backup, and when it was made where that is known: a closed one says so by its name alone.
fn line(path: &Path) -> (Option<Timestamp>, String) {
    let megabytes = |bytes: u64| bytes as f64 / 1e6;
    if is_encrypted(path) {
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        let size = fs::metadata(path).map_or(0, |file| file.len());
        return (named_for(&name), format!("encrypted  {:.1} MB  {}", megabytes(size), path.display()));
    }
    match Manifest::read(path) {
        Ok(manifest) => {
            let jobs = counted(manifest.jobs.len() as u64, "job", "jobs");
            let made = to_the_second(&manifest.made);
            (manifest.made.as_str().parse().ok(), format!("{made}  {jobs}  {:.1} MB  {}", megabytes(manifest.bytes()), path.display()))
        }
        Err(error) => (None, error.to_string()),
    }
}

/// The folders and the encrypted backups in a folder, but those that are no backup yet, in the order of their names.
pub(crate) fn all(backups: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(backups).into_iter().flatten().filter_map(Result::ok).map(|entry| entry.path());
    let is_one = |path: &PathBuf| match path.extension() {
        Some(extension) if extension == "partial" => false,
        _ => path.is_dir() || path.to_string_lossy().ends_with(ENCRYPTED),
    };
    let mut found: Vec<PathBuf> = entries.filter(is_one).collect();
    found.sort();
    found
}

pub(crate) fn restore_into(arguments: &RestoreArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let restored = match (&arguments.key, is_closed(&arguments.backup)) {
        (Some(key), true) => {
            let now = time()?;
            restore_encrypted(&arguments.backup, &identity(key)?, &arguments.data, &now)
        }
        (None, true) => {
            return Err(Failure::bad_input(format!(
                "{}: this backup is encrypted: give its key with --key FILE",
                arguments.backup.display()
            )));
        }
        (Some(_), false) => return Err(not_encrypted(&arguments.backup)),
        (None, false) => restore(&arguments.backup, &arguments.data),
    };
    let Backup { manifest, report } = restored.map_err(|error| Failure::of_looked_at(&error))?;
    writeln!(
        out,
        "{}: restored as of {}, and found whole. Look at it with {}",
        arguments.data.display(),
        to_the_second(&manifest.made),
        typed("serve", Some(&arguments.data))
    )?;
    let locked = lock_devices(&arguments.data).map_err(|error| Failure::of_store(&error))?;
    let signs = if arguments.data.join(SIGNING_KEYS).exists() {
        "The key that signs is here as it was then."
    } else {
        "It has no key that signs: the app makes a new one, unless signing-keys is put beside the records."
    };
    let erase = typed("erase JOB", Some(&arguments.data));
    writeln!(out, "Sheets that were erased after that are here again: {erase}. {signs}")?;
    if arguments.key.is_some() {
        writeln!(out, "Backups of it are encrypted for the same key: keep the sheet of the key that you gave.")?;
    } else {
        let new = typed("backup-key new --sheet key.pdf", Some(&arguments.data));
        writeln!(out, "Backups of it are not encrypted: {new} makes a key for them.")?;
    }
    if locked > 0 {
        let devices =
            if locked == 1 { "The one device is locked, and asks".to_owned() } else { format!("All {locked} devices are locked, and ask") };
        writeln!(
            out,
            "People who were removed, devices that were made unknown and links that were taken back after that are known again: look at the app's page of people. {devices} for a PIN."
        )?;
    }
    tell(&report, out)
}

/// Locks every device that is known by what was restored: some may have been made unknown since.
fn lock_devices(records: &Path) -> Result<usize, StoreError> {
    let store = match Sqlite::open_for_people(records) {
        // Where it is to be brought up first, nobody was kept yet.
        Err(StoreError::Older { .. }) => return Ok(0),
        opened => opened?,
    };
    let devices = store.devices()?;
    for device in &devices {
        store.lock(device.id)?;
    }
    Ok(devices.len())
}

fn not_encrypted(backup: &Path) -> Failure {
    Failure::bad_input(format!("{}: this is no encrypted backup: leave --key out", backup.display()))
}

/// Looks at a backup, and notes what was found where it is the last one of the records.
pub(crate) fn verify(path: &Path, key: Option<&Path>, data: Option<&Path>, out: &mut dyn Write) -> Result<(), Failure> {
    let records = folder(data)?;
    let looked = look(path, key, &records, out);
    if matches!(looked, Err(Failure::Problems(_))) {
        LastBackup::forget(&records, &in_full(path)).map_err(|error| Failure::of_store(&error))?;
    }
    looked
}

fn look(path: &Path, key: Option<&Path>, records: &Path, out: &mut dyn Write) -> Result<(), Failure> {
    let last = LastBackup::read(records);
    let looked = match (key, is_closed(path)) {
        (Some(key), true) => verify_encrypted(path, &identity(key)?),
        (None, true) => return verify_closed(path, last, out),
        (Some(_), false) => return Err(not_encrypted(path)),
        (None, false) => verify_backup(path),
    };
    let Backup { manifest, report } = looked.map_err(|error| Failure::of_looked_at(&error))?;
    // What is damaged ends this here.
    tell_or(&report, "use another backup, and look at the disk that this one is on", out)?;
    writeln!(out, "It is a backup of {}, made by version {}.", to_the_second(&manifest.made), manifest.program)?;
    if let Some(last) = last.filter(|last| last.folder == in_full(path) && last.made == manifest.made) {
        note(records, path, manifest.made, last.sha256).map_err(|error| Failure::of_store(&error))?;
    }
    Ok(())
}

fn in_full(path: &Path) -> PathBuf {
    fs::canonicalize(path).unwrap_or_else(|_| path.to_owned())
}

/// Without the key an encrypted backup can be compared with the last that was written, whose hash was noted: it, or a copy of it elsewhere.
fn verify_closed(path: &Path, last: Option<LastBackup>, out: &mut dyn Write) -> Result<(), Failure> {
    let not_known = || {
        Failure::bad_input(format!(
            "{}: this backup is encrypted, and is neither the last one that was noted nor a copy of it: give its key with --key FILE",
            path.display()
        ))
    };
    let LastBackup { made, folder, sha256: Some(noted), .. } = last.ok_or_else(not_known)? else { return Err(not_known()) };
    if sha256_of(path).map_err(|error| Failure::of_store(&error))? != noted {
        return Err(if folder == in_full(path) {
            Failure::Problems(format!(
                "{}: it has other bytes than it had: make another backup, and look at the disk that this one is on",
                path.display()
            ))
        } else {
            not_known()
        });
    }
    Ok(writeln!(
        out,
        "{}: as it was written, of {}. It was found whole before it was encrypted; that it opens can be seen with its key alone: --key FILE.",
        path.display(),
        to_the_second(&made)
    )?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_time_in_a_name_is_found_with_a_number_behind_it_too() {
        let time = Some("2024-05-01T07:30:01Z".parse::<Timestamp>().unwrap());
        for name in ["by-hand-2024-05-01T07-30-01Z.tar.age", "by-hand-2024-05-01T07-30-01Z-2.tar.age", "daily-2024-05-01T07-30-01Z.tar.age"]
        {
            assert_eq!(named_for(name), time, "{name}");
        }
        assert_eq!(named_for("lastmicron-may.tar.age"), None);
    }
}
