//! A backup as one encrypted file: a tar of its folder, in the format age-encryption.org/v1.

use std::fs::{self, File};
use std::io::{self, Read};
use std::iter;
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use lastmicron_job::event::{Digest, When};
use tar::{Builder, Header};

use super::{Backup, BackupKey, MANIFEST, Manifest, PARTIAL, Partial, Source, fill, placed, watch};
use crate::content::{self, Content, Hashed};
use crate::error::StoreError;
use crate::folder::sync_folder;
use crate::signing::SIGNING_KEYS;

/// How the name of an encrypted backup ends.
pub const ENCRYPTED: &str = ".tar.age";
/// Files of the record's folder that go into encrypted backups only, by their names: what signs or opens for whoever has it.
pub(crate) const PRIVATE: [&str; 1] = [SIGNING_KEYS];
/// How the name ends of the folder that they have in the tar, beside the backup's: the backup is the same with and without them.
pub(super) const PRIVATE_FOLDER: &str = ".private";
/// Whom its files are readable for where they are unpacked.
const MODE: u32 = 0o600;

/// An encrypted backup that was made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EncryptedBackup {
    /// What is in it, as it was found before it was encrypted.
    pub backup: Backup,
    /// The SHA-256 of the file, read back.
    pub sha256: Digest,
}

/// How an encrypted backup is made.
pub(crate) struct Encrypting<'e> {
    /// The folder in which the plain copy is made and looked at.
    pub(crate) staging: PathBuf,
    pub(crate) key: &'e BackupKey,
    /// Files to go with it, where they are there.
    pub(crate) private: Vec<PathBuf>,
}

/// Makes an encrypted backup: a plain copy by the record and looked at, then the file beside its place, then read back under its name.
pub(crate) fn make_encrypted(source: &Source<'_>, by: &Encrypting<'_>, target: &Path, made: When) -> Result<EncryptedBackup, StoreError> {
    if target.symlink_metadata().is_ok() {
        return Err(StoreError::Exists(target.to_owned()));
    }
    let parent = source.place_of(target)?;
    let name = target.file_name().ok_or_else(|| StoreError::Exists(target.to_owned()))?.to_string_lossy();
    fs::create_dir_all(&by.staging).map_err(|error| StoreError::io(&by.staging, &error))?;
    // On the record's own disk: the one of the backup may be what it is encrypted for.
    let copy = Partial::begin(by.staging.join([name.as_ref(), PARTIAL].concat()))?;
    let backup = fill(source, &copy.0, source.database.parent(), made)?.sound_at(&copy.0)?;
    let partial = Partial::begin_file(parent.join([name.as_ref(), PARTIAL].concat()))?;
    let top = name.strip_suffix(ENCRYPTED).unwrap_or(&name);
    let written = encrypted(&Packed { folder: &copy.0, manifest: &backup.manifest, top }, by, &partial.0, &watch(source.gauge))?;
    let there = content::of(&partial.0).map_err(|error| StoreError::io(&partial.0, &error))?;
    if there != written {
        return Err(StoreError::DamagedBackup { path: target.to_owned(), why: "it reads otherwise than it was written".to_owned() });
    }
    fs::rename(&partial.0, target).map_err(|error| StoreError::io(target, &error))?;
    sync_folder(parent).map_err(|error| {
        // What may be gone after a power cut has no name.
        let _ = fs::rename(target, &partial.0);
        StoreError::io(target, &error)
    })?;
    Ok(EncryptedBackup { backup, sha256: there.sha256 })
}

/// A plain backup, and the name of its folder in the tar.
struct Packed<'p> {
    folder: &'p Path,
    manifest: &'p Manifest,
    top: &'p str,
}

fn encrypted(
    packed: &Packed<'_>,
    by: &Encrypting<'_>,
    to: &Path,
    room: &dyn Fn() -> Result<(), StoreError>,
) -> Result<Content, StoreError> {
    let at = |error: io::Error| StoreError::io(to, &error);
    let recipient = by.key.age()?;
    let encryptor = age::Encryptor::with_recipients(iter::once(&recipient as &dyn age::Recipient))
        .map_err(|error| StoreError::Encrypting(error.to_string()))?;
    let file = File::options().write(true).open(to).map_err(at)?;
    let mut tar = Builder::new(encryptor.wrap_output(Hashed::new(file)).map_err(at)?);
    let Packed { folder, manifest, top } = packed;
    // The manifest first: whoever unpacks knows by it what is to come.
    append(&mut tar, &folder.join(MANIFEST), &format!("{top}/{MANIFEST}"), to)?;
    for said in &manifest.files {
        let content = append(&mut tar, &placed(folder, &said.path), &format!("{top}/{}", said.path), to)?;
        if content != (Content { bytes: said.bytes, sha256: said.sha256 }) {
            let why = format!("{} changed while it was encrypted", said.path);
            return Err(StoreError::DamagedBackup { path: (*folder).to_owned(), why });
        }
        room()?;
    }
    for path in by.private.iter().filter(|path| path.exists()) {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        append(&mut tar, path, &format!("{top}{PRIVATE_FOLDER}/{name}"), to)?;
    }
    let (file, content) = tar.into_inner().and_then(|stream| stream.finish()).map_err(at)?.end();
    file.sync_all().map_err(at)?;
    Ok(content)
}

/// Puts a file into a tar, and tells what it held.
fn append(tar: &mut Builder<impl io::Write>, from: &Path, name: &str, to: &Path) -> Result<Content, StoreError> {
    let reading = |error: io::Error| StoreError::io(from, &error);
    let file = File::open(from).map_err(reading)?;
    let metadata = file.metadata().map_err(reading)?;
    let modified = metadata.modified().ok().and_then(|time| time.duration_since(UNIX_EPOCH).ok());
    let mut header = Header::new_gnu();
    header.set_size(metadata.len());
    header.set_mode(MODE);
    header.set_mtime(modified.map_or(0, |time| time.as_secs()));
    let mut hashed = Hashed::new(file.take(metadata.len()));
    tar.append_data(&mut header, name, &mut hashed).map_err(|error| StoreError::io(to, &error))?;
    Ok(hashed.end().1)
}
