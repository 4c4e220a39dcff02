//! Backups: a folder with a copy of everything and a manifest, checked before it has its name; the same as one encrypted file; and a record made of one again.

mod decrypt;
mod encrypt;
mod key;
mod last;
mod manifest;
mod note;
mod restore;

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use lastmicron_job::event::{Digest, When};

use crate::content::{self, Content};
use crate::error::StoreError;
use crate::folder::{above, make_folder, sync_folder};
use crate::kept::{Kept, Shelved};
use crate::report::{Damage, Report};
use crate::room::Gauge;
use crate::sqlite::{DATABASE, KEPT, Tables};

#[cfg(test)]
pub(crate) use decrypt::restore_with;
pub use decrypt::{is_encrypted, restore_encrypted, sha256_of, verify_encrypted};
pub use encrypt::{ENCRYPTED, EncryptedBackup};
pub(crate) use encrypt::{Encrypting, PRIVATE, make_encrypted};
pub use key::{BackupIdentity, BackupKey};
pub use last::LastBackup;
pub(crate) use manifest::MANIFEST;
pub use manifest::{FileSaid, JobEnd, Manifest};
pub(crate) use restore::UNFINISHED;
pub use restore::restore;

/// How the name ends of what is no backup yet.
const PARTIAL: &str = ".partial";

/// A backup that was looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Backup {
    /// What it says it holds.
    pub manifest: Manifest,
    /// What was found.
    pub report: Report,
}

impl Backup {
    /// The same, where nothing in it is otherwise than it was made; `backup` is where it lies.
    ///
    /// # Errors
    /// [`StoreError::DamagedBackup`] with the first thing that is.
    pub fn sound_at(self, backup: &Path) -> Result<Self, StoreError> {
        match self.report.damage.as_slice() {
            [] => Ok(self),
            damage => Err(StoreError::DamagedBackup { path: backup.to_owned(), why: summed_up(damage) }),
        }
    }

    /// The same of what was written of a sound one into a folder: what is otherwise there, that disk did.
    fn written_to(self, folder: &Path) -> Result<Self, StoreError> {
        match self.report.damage.as_slice() {
            [] => Ok(self),
            damage => {
                let what = format!("what was written there reads otherwise ({}): look at that disk", summed_up(damage));
                Err(StoreError::Io { path: folder.to_owned(), what })
            }
        }
    }
}

/// The first of what is damaged, and how much more is.
pub(crate) fn summed_up(damage: &[Damage]) -> String {
    match damage {
        [] => String::new(),
        [one] => one.to_string(),
        [first, rest @ ..] => format!("{first}; and {} more", rest.len()),
    }
}

/// Looks at a whole backup: every file by its hash, every chain, every end.
///
/// # Errors
/// [`StoreError`] when it is none, when a later program made it, or when it could not be looked at. What is damaged in it is in the report.
pub fn verify_backup(backup: &Path) -> Result<Backup, StoreError> {
    let manifest = Manifest::read(backup)?;
    let report = look(backup, &manifest, MANIFEST, Tables::KNOWN)?;
    Ok(Backup { manifest, report })
}

/// The backup that a place is in, there or to be made; none where it is in none. Whatever is put there makes another of it.
#[must_use]
pub fn backup_around(place: &Path) -> Option<PathBuf> {
    let absolute = std::path::absolute(place).ok()?;
    let there = absolute.ancestors().find_map(|above| fs::canonicalize(above).ok())?;
    let is_one = |folder: &&Path| folder.join(MANIFEST).is_file() && (folder.join(DATABASE).is_file() || Manifest::read(folder).is_ok());
    there.ancestors().find(is_one).map(Path::to_owned)
}

/// Refuses a place in a backup.
pub(crate) fn refuse_in_a_backup(place: &Path) -> Result<(), StoreError> {
    let above = std::path::absolute(place).map_err(|error| StoreError::io(place, &error))?;
    match above.parent().and_then(backup_around) {
        Some(backup) => Err(StoreError::InABackup { place: place.to_owned(), backup }),
        None => Ok(()),
    }
}

/// What a backup is made of.
pub(crate) struct Source<'s> {
    pub(crate) database: &'s Path,
    pub(crate) kept: &'s Kept,
    pub(crate) gauge: &'s Gauge,
    pub(crate) tables: Tables,
}

impl Source<'_> {
    /// The folder that a backup is to be in: one right in the record's own is made, any other has to be there.
    fn place_of<'t>(&self, target: &'t Path) -> Result<&'t Path, StoreError> {
        refuse_in_a_backup(target)?;
        let parent = above(target);
        if parent.file_name().is_some() && parent.parent() == self.database.parent() {
            make_folder(parent).map_err(|error| StoreError::io(parent, &error))?;
        }
        if parent.is_dir() { Ok(parent) } else { Err(StoreError::NoFolder(parent.to_owned())) }
    }
}

/// Makes a backup: beside its place first, looked at there, then under its name.
pub(crate) fn make(source: &Source<'_>, target: &Path, made: When) -> Result<Backup, StoreError> {
    if target.symlink_metadata().is_ok() {
        return Err(StoreError::Exists(target.to_owned()));
    }
    let parent = source.place_of(target)?;
    let name = target.file_name().ok_or_else(|| StoreError::Exists(target.to_owned()))?;
    let partial = Partial::begin(parent.join([name.to_string_lossy().as_ref(), PARTIAL].concat()))?;
    let backup = fill(source, &partial.0, earlier(parent, &partial.0).as_deref(), made)?.sound_at(target)?;
    fs::rename(&partial.0, target).map_err(|error| StoreError::io(target, &error))?;
    sync_folder(parent).map_err(|error| {
        // What may be gone after a power cut has no name.
        let _ = fs::rename(target, &partial.0);
        StoreError::io(target, &error)
    })?;
    Ok(backup)
}

/// A folder, or a file, that goes when it is let go of under this name.
struct Partial(PathBuf);

impl Partial {
    fn begin(path: PathBuf) -> Result<Self, StoreError> {
        let made = fs::create_dir(&path);
        Self::begun(path, made)
    }

    fn begin_file(path: PathBuf) -> Result<Self, StoreError> {
        let made = File::create_new(&path);
        Self::begun(path, made.map(drop))
    }

    fn begun(path: PathBuf, made: io::Result<()>) -> Result<Self, StoreError> {
        match made {
            Ok(()) => Ok(Self(path)),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(StoreError::Exists(path)),
            Err(error) => Err(StoreError::io(&path, &error)),
        }
    }
}

impl Drop for Partial {
    fn drop(&mut self) {
        // After it was given its name there is nothing here.
        let _ = if self.0.is_dir() { fs::remove_dir_all(&self.0) } else { fs::remove_file(&self.0) };
    }
}

/// The latest backup by name beside a new one: what it holds already need not be kept twice.
fn earlier(parent: &Path, partial: &Path) -> Option<PathBuf> {
    let folders = fs::read_dir(parent).ok()?.filter_map(Result::ok).map(|entry| entry.path());
    folders.filter(|folder| folder != partial && folder.join(MANIFEST).is_file()).max()
}

/// A backup must not be what the last room goes to.
fn watch(gauge: &Gauge) -> impl Fn() -> Result<(), StoreError> {
    let had_room = gauge.room().is_ok();
    move || if had_room { gauge.room().map(drop) } else { Ok(()) }
}

fn fill(source: &Source<'_>, partial: &Path, earlier: Option<&Path>, made: When) -> Result<Backup, StoreError> {
    let room = watch(source.gauge);
    let database = partial.join(DATABASE);
    source.tables.copy(source.database, &database)?;
    room()?;
    let mut files = BTreeMap::new();
    let mut add = |path: &Path, content: Content| files.insert(named(partial, path), content);
    add(&database, content::of(&database).map_err(|error| StoreError::io(&database, &error))?);
    let kept = Kept::at(partial.join(KEPT));
    // After the database: whatever its events name was there before them.
    for Shelved { path, digest } in source.kept.shelved()? {
        let to = kept.place(digest)?;
        add(&to, shelve(&path, &to, digest, earlier)?);
        room()?;
    }
    kept.sync()?;
    let manifest = Manifest::new(source.tables.version_of(&database)?, made, &Tables::ends(&database)?, files);
    let path = partial.join(MANIFEST);
    whole(&path, manifest.text()?.as_bytes()).and_then(|()| sync_folder(partial)).map_err(|error| StoreError::io(&path, &error))?;
    let report = look(partial, &manifest, MANIFEST, source.tables)?;
    Ok(Backup { manifest, report })
}

/// Puts one thing kept into a backup: as another name of an earlier backup's file where that is sound, else as a copy.
fn shelve(from: &Path, to: &Path, digest: Digest, earlier: Option<&Path>) -> Result<Content, StoreError> {
    let sound = |path: &Path| match content::of(path) {
        Ok(content) if content.sha256 == digest => Ok(content),
        Ok(_) => Err(StoreError::Damaged(format!("{} has other bytes than it had", path.display()))),
        Err(error) => Err(StoreError::io(path, &error)),
    };
    let content = sound(from)?;
    if let Some(there) = earlier.map(|earlier| Kept::at(earlier.join(KEPT)).path(digest))
        && sound(&there).is_ok()
        && fs::hard_link(&there, to).is_ok()
    {
        return Ok(content);
    }
    let copied = content::copy(from, to).map_err(|error| StoreError::io(to, &error))?;
    if copied == content { Ok(content) } else { Err(StoreError::Damaged(format!("{} changed while it was copied", from.display()))) }
}

/// Writes a new file; when this returns, it is on the disk.
fn whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::options().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// A file's path within a folder, with `/` between.
fn named(folder: &Path, path: &Path) -> String {
    let parts = path.strip_prefix(folder).unwrap_or(path).components();
    parts.map(|part| part.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/")
}

/// A file's place in a folder.
fn placed(folder: &Path, name: &str) -> PathBuf {
    name.split('/').fold(folder.to_owned(), |path, part| path.join(part))
}

/// Looks at files that are as a manifest says: one more, called `beside`, may be there.
fn look(folder: &Path, manifest: &Manifest, beside: &str, tables: Tables) -> Result<Report, StoreError> {
    let mut damage = Vec::new();
    let named_there: BTreeSet<&str> = manifest.files.iter().map(|file| file.path.as_str()).collect();
    for path in files(folder)? {
        let name = named(folder, &path);
        if name != beside && !named_there.contains(name.as_str()) {
            damage.push(Damage::Foreign { name });
        }
    }
    for file in &manifest.files {
        let path = placed(folder, &file.path);
        match content::of(&path) {
            Ok(content) if content == (Content { bytes: file.bytes, sha256: file.sha256 }) => {}
            Ok(_) => damage.push(Damage::Changed { name: file.path.clone() }),
            Err(error) if error.kind() == io::ErrorKind::NotFound => damage.push(Damage::Missing { name: file.path.clone() }),
            Err(error) => return Err(StoreError::io(&path, &error)),
        }
    }
    // A foreign file may be a journal that the database would be changed by: then it is not opened.
    if !damage.is_empty() {
        return Ok(Report { damage, ..Report::default() });
    }
    records_of(&placed(folder, DATABASE), manifest, tables)
}

/// Looks at the records in a backup's database, and at whether they are those of its manifest. That its files are there is seen before.
fn records_of(database: &Path, manifest: &Manifest, tables: Tables) -> Result<Report, StoreError> {
    let (mut report, jobs, references) = tables.look(database)?;
    let ends = jobs.iter().map(|(job, head)| JobEnd { job: *job, seq: head.seq, hash: head.hash });
    if !ends.eq(manifest.jobs.iter().copied()) {
        report.damage.push(Damage::Database("its jobs end elsewhere than its manifest says".to_owned()));
    }
    let kept: BTreeSet<Digest> = manifest.files.iter().filter(|file| file.path != DATABASE).map(|file| file.sha256).collect();
    report.kept = kept.len() as u64;
    report.lacks(references.into_keys().filter(|digest| !kept.contains(digest)));
    Ok(report)
}

/// Every file below a folder, in order.
fn files(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let mut found = Vec::new();
    for path in crate::kept::entries(folder)? {
        if path.is_dir() { found.extend(files(&path)?) } else { found.push(path) }
    }
    Ok(found)
}
