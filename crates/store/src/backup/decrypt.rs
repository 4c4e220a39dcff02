//! An encrypted backup looked at, and a record made of one, by whoever has its key.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::{self, BufReader, Read, Write};
use std::iter;
use std::path::{Path, PathBuf};

use age::DecryptError;
use age::stream::StreamReader;
use lastmicron_job::event::{Digest, When};
use tar::{Archive, EntryType};

use super::encrypt::{PRIVATE, PRIVATE_FOLDER};
use super::restore::behind_marker;
use super::{Backup, BackupIdentity, BackupKey, ENCRYPTED, FileSaid, MANIFEST, Manifest, UNFINISHED, look, records_of};
use crate::content::{self, Content};
use crate::error::StoreError;
use crate::folder::sync_folder;
use crate::kept::Kept;
use crate::sqlite::{DATABASE, KEPT, Tables};

/// How a file of this format begins (age, C2SP age-encryption.org/v1).
const HEAD: &[u8] = b"age-encryption.org/";
/// Most bytes of a manifest, and of a private file, that are read. Judgement: a manifest of 200 000 photographs has 40 MB, a key less than one.
const MOST_MANIFEST: u64 = 256 << 20;
const MOST_PRIVATE: u64 = 1 << 20;

/// Whether a file is encrypted, by its first bytes.
#[must_use]
pub fn is_encrypted(path: &Path) -> bool {
    let mut head = Vec::new();
    File::open(path).and_then(|file| file.take(HEAD.len() as u64).read_to_end(&mut head)).is_ok_and(|_| head == HEAD)
}

/// The SHA-256 of a file.
///
/// # Errors
/// [`StoreError`] when it can't be read.
pub fn sha256_of(path: &Path) -> Result<Digest, StoreError> {
    content::of(path).map(|content| content.sha256).map_err(|error| StoreError::io(path, &error))
}

/// Looks at a whole encrypted backup: every byte of it is decrypted, every file compared by its hash, every chain and every end checked.
///
/// # Errors
/// [`StoreError::WrongKey`], [`StoreError::DamagedBackup`] for one that is cut or changed, and as for a plain one.
pub fn verify_encrypted(backup: &Path, identity: &BackupIdentity) -> Result<Backup, StoreError> {
    // The database alone has to be a file to be looked at.
    let room = tempfile::tempdir().map_err(|error| StoreError::io(&std::env::temp_dir(), &error))?;
    let database = room.path().join(DATABASE);
    let Unpacked { manifest, .. } = unpack(backup, identity, &PRIVATE, |said| Ok((said.path == DATABASE).then(|| database.clone())))?;
    let report = records_of(&database, &manifest, Tables::KNOWN)?;
    Ok(Backup { manifest, report })
}

/// Makes a record of an encrypted backup in an empty place, and looks at all of it there. Where that fails, nothing is left there.
///
/// The key is noted beside it as one that was given back at `now`: backups of what came out of an encrypted one are encrypted for the same key.
///
/// # Errors
/// As [`verify_encrypted`], and [`StoreError::NotEmpty`] where something is.
pub fn restore_encrypted(backup: &Path, identity: &BackupIdentity, into: &Path, now: &When) -> Result<Backup, StoreError> {
    restore_with(backup, identity, into, now, &PRIVATE)
}

pub(crate) fn restore_with(
    backup: &Path,
    identity: &BackupIdentity,
    into: &Path,
    now: &When,
    private: &[&str],
) -> Result<Backup, StoreError> {
    // With another key nothing is begun there.
    opened(backup, identity)?;
    behind_marker(into, || {
        let kept = Kept::at(into.join(KEPT));
        let place = |said: &FileSaid| if said.path == DATABASE { Ok(into.join(DATABASE)) } else { kept.place(said.sha256) };
        let Unpacked { manifest, private } = unpack(backup, identity, private, |said| place(said).map(Some))?;
        kept.sync()?;
        sync_folder(into).map_err(|error| StoreError::io(into, &error))?;
        let report = look(into, &manifest, UNFINISHED, Tables::KNOWN)?;
        let restored = Backup { manifest, report }.written_to(into)?;
        private.iter().try_for_each(|(name, bytes)| private_file(into, name, bytes))?;
        BackupKey { recipient: identity.recipient(), made: now.clone(), checked: Some(now.clone()) }.note(into)?;
        Ok(restored)
    })
}

/// Writes a file that its owner alone may read.
fn private_file(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), StoreError> {
    let written = || {
        let mut file = tempfile::NamedTempFile::new_in(folder)?;
        file.write_all(bytes)?;
        file.as_file().sync_all()?;
        file.persist_noclobber(folder.join(name)).map_err(|error| error.error)?;
        sync_folder(folder)
    };
    written().map_err(|error| StoreError::io(&folder.join(name), &error))
}

/// What was in an encrypted backup beside the files that were put where they belong.
struct Unpacked {
    manifest: Manifest,
    private: BTreeMap<String, Vec<u8>>,
}

fn opened(backup: &Path, identity: &BackupIdentity) -> Result<StreamReader<BufReader<File>>, StoreError> {
    let file = File::open(backup).map_err(|error| StoreError::io(backup, &error))?;
    let decryptor = age::Decryptor::new_buffered(BufReader::new(file));
    let not = |why: &str| StoreError::NotABackup { path: backup.to_owned(), why: why.to_owned() };
    let changed = |why: &str| StoreError::DamagedBackup { path: backup.to_owned(), why: why.to_owned() };
    decryptor.and_then(|decryptor| decryptor.decrypt(iter::once(&identity.0 as &dyn age::Identity))).map_err(|error| match error {
        DecryptError::NoMatchingKeys => StoreError::WrongKey(backup.to_owned()),
        DecryptError::Io(error) => broken(backup, &error, backup),
        _ if !is_encrypted(backup) && backup.to_string_lossy().ends_with(ENCRYPTED) => changed("its first bytes were changed"),
        _ if !is_encrypted(backup) => not("it does not begin as a file of the format age does"),
        DecryptError::UnknownFormat => not("it is of another version of the format age"),
        _ => changed("its first lines were changed"),
    })
}

/// From reading what is decrypted: each part of it is authenticated before it is handed out, and the last is known to be the last.
fn broken(backup: &Path, error: &io::Error, at: &Path) -> StoreError {
    match error.kind() {
        io::ErrorKind::InvalidData | io::ErrorKind::UnexpectedEof => {
            StoreError::DamagedBackup { path: backup.to_owned(), why: "the file is cut, or was changed".to_owned() }
        }
        _ => StoreError::io(at, error),
    }
}

/// Takes an encrypted backup apart, to its last byte. `place` says where a file of it is to be written; none where its hash alone is wanted.
fn unpack(
    backup: &Path,
    identity: &BackupIdentity,
    private: &[&str],
    place: impl Fn(&FileSaid) -> Result<Option<PathBuf>, StoreError>,
) -> Result<Unpacked, StoreError> {
    let at = |error: io::Error| broken(backup, &error, backup);
    let not = |why: String| StoreError::NotABackup { path: backup.to_owned(), why };
    let mut archive = Archive::new(opened(backup, identity)?);
    let mut entries = archive.entries().map_err(at)?;
    let mut first = entries.next().ok_or_else(|| not("there is nothing in it".to_owned()))?.map_err(at)?;
    let name = String::from_utf8_lossy(&first.path_bytes()).into_owned();
    let top = name.strip_suffix(MANIFEST).and_then(|top| top.strip_suffix('/')).ok_or_else(|| not(format!("it begins with {name}")))?;
    let manifest = Manifest::parse(&bytes(&mut first, MOST_MANIFEST).map_err(at)?, backup)?;
    drop(first);
    let mut expected: BTreeMap<String, &FileSaid> = manifest.files.iter().map(|said| (format!("{top}/{}", said.path), said)).collect();
    let mut allowed: BTreeSet<String> = private.iter().map(|name| format!("{top}{PRIVATE_FOLDER}/{name}")).collect();
    let mut found = BTreeMap::new();
    for entry in entries {
        let mut entry = entry.map_err(at)?;
        let name = String::from_utf8_lossy(&entry.path_bytes()).into_owned();
        if entry.header().entry_type() != EntryType::Regular {
            return Err(not(format!("{name} in it is no file")));
        }
        if let Some(said) = expected.remove(&name) {
            put(&mut entry, said, place(said)?, backup)?;
        } else if allowed.remove(&name) {
            let name = name.rsplit('/').next().unwrap_or_default().to_owned();
            found.insert(name, bytes(&mut entry, MOST_PRIVATE).map_err(at)?);
        } else {
            return Err(not(format!("{name} in it is no part of a backup that this program knows")));
        }
    }
    // What follows the tar's end is read too: only then is it known that the file was not cut.
    io::copy(&mut archive.into_inner(), &mut io::sink()).map_err(at)?;
    if let Some(missing) = expected.into_keys().next() {
        return Err(StoreError::DamagedBackup { path: backup.to_owned(), why: format!("{missing} is not in it") });
    }
    Ok(Unpacked { manifest, private: found })
}

/// Reads one file of a backup to where it belongs, and compares it with what the manifest says.
fn put(from: &mut impl Read, said: &FileSaid, to: Option<PathBuf>, backup: &Path) -> Result<(), StoreError> {
    let content = match &to {
        Some(path) => content::receive(from, path).map_err(|error| broken(backup, &error, path))?,
        None => content::read(from).map_err(|error| broken(backup, &error, backup))?,
    };
    if content == (Content { bytes: said.bytes, sha256: said.sha256 }) {
        return Ok(());
    }
    Err(StoreError::DamagedBackup { path: backup.to_owned(), why: format!("{} in it has other bytes than it had", said.path) })
}

/// The bytes of an entry, as far as that many are read.
fn bytes(entry: &mut impl Read, most: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    entry.take(most).read_to_end(&mut bytes)?;
    Ok(bytes)
}
