//! Bytes that come in parts, from devices whose network goes and comes: in files until they are whole.

use std::fs::{self, File};
use std::io::{self, Read as _, Seek as _, SeekFrom, Write as _};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, SystemTime};

use lastmicron_job::event::{Digest, When};
use lastmicron_record::sha256;

use crate::error::StoreError;
use crate::kept::MOST_KEPT_BYTES;

/// How long parts that nobody goes on with stay, seconds: a week. Judgement: a phone that lay in a drawer over the holidays sends from the start; longer, and
/// what was given up would fill the disk.
const STAYS_S: i64 = 7 * 86_400;

/// Some of the bytes that have a hash.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Part<'b> {
    /// The SHA-256 of them all.
    pub digest: Digest,
    /// How many they are.
    pub size: usize,
    /// How many come before these.
    pub at: usize,
    /// These.
    pub bytes: &'b [u8],
}

/// How much of some bytes is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum There {
    /// All: they are kept.
    Whole,
    /// So many from the first on.
    Bytes(usize),
}

/// What became of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parted {
    /// It is taken; so much is there now.
    Taken(There),
    /// It does not begin where those before end: so much is there.
    Elsewhere(There),
    /// With it they are all there, and their hash is another: all were thrown away.
    NotThose,
}

/// A folder of files, each named by the hash that its bytes will have.
#[derive(Debug)]
pub(crate) struct Parts {
    folder: PathBuf,
    // Two devices may send the same: one at a time.
    writing: Mutex<()>,
}

impl Parts {
    pub(crate) fn of(folder: PathBuf) -> Self {
        Self { folder, writing: Mutex::default() }
    }

    fn path(&self, digest: Digest) -> PathBuf {
        self.folder.join(digest.to_string())
    }

    /// How many bytes are there; none where nothing came yet.
    pub(crate) fn there(&self, digest: Digest) -> Option<usize> {
        fs::metadata(self.path(digest)).ok().and_then(|of| usize::try_from(of.len()).ok())
    }

    /// Takes a part. `keep` keeps the bytes once they are whole.
    pub(crate) fn take(
        &self,
        part: Part<'_>,
        received: &When,
        keep: impl FnOnce(&[u8]) -> Result<Digest, StoreError>,
    ) -> Result<Parted, StoreError> {
        let Part { digest, size, at, bytes } = part;
        let end = at.saturating_add(bytes.len());
        if size > MOST_KEPT_BYTES || end > size {
            return Err(StoreError::TooLarge { found: size.max(end), most: size.min(MOST_KEPT_BYTES) });
        }
        let _one = self.writing.lock().unwrap_or_else(PoisonError::into_inner);
        let path = self.path(digest);
        let io = |error: io::Error| StoreError::io(&path, &error);
        let there = self.there(digest);
        if there.unwrap_or_default() != at {
            return Ok(Parted::Elsewhere(There::Bytes(there.unwrap_or_default())));
        }
        if there.is_none() {
            fs::create_dir_all(&self.folder).map_err(io)?;
            self.clear(received).map_err(io)?;
        }
        append(&path, at, bytes, received).map_err(io)?;
        if end < size {
            return Ok(Parted::Taken(There::Bytes(end)));
        }
        let whole = read(&path).map_err(io)?;
        let is_it = sha256(&whole) == digest;
        if is_it {
            keep(&whole)?;
        }
        fs::remove_file(&path).map_err(io)?;
        Ok(if is_it { Parted::Taken(There::Whole) } else { Parted::NotThose })
    }

    /// Throws away what nobody went on with.
    fn clear(&self, now: &When) -> io::Result<()> {
        let oldest = instant(now, STAYS_S);
        for entry in fs::read_dir(&self.folder)? {
            let path = entry?.path();
            if fs::metadata(&path)?.modified()? < oldest {
                fs::remove_file(&path)?;
            }
        }
        Ok(())
    }
}

/// Puts bytes behind those that are there. What is written half on a full disk is taken back. A power cut may leave less or other bytes than were written: then the whole
/// has another hash, and is sent anew.
fn append(path: &Path, at: usize, bytes: &[u8], received: &When) -> io::Result<()> {
    let mut file = File::options().create(true).truncate(false).write(true).open(path)?;
    let at = u64::try_from(at).map_err(io::Error::other)?;
    file.seek(SeekFrom::Start(at))?;
    let written = file.write_all(bytes);
    if written.is_err() {
        file.set_len(at)?;
    }
    written?;
    file.set_modified(instant(received, 0))
}

fn read(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?.read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// So many seconds before a time, as files have it.
fn instant(when: &When, before_s: i64) -> SystemTime {
    let since = when.unix_seconds().saturating_sub(before_s);
    SystemTime::UNIX_EPOCH + Duration::from_secs(u64::try_from(since).unwrap_or_default())
}
