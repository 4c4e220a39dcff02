//! Bytes by their content, in files.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use lastmicron_job::event::Digest;
use lastmicron_record::sha256;

use crate::error::StoreError;
use crate::folder::{UNFINISHED_FILE, make_folder, sync_folder};
use crate::report::{Damage, References, Report};

/// Most bytes of one thing kept. Judgement: a photograph of 50 megapixels is 25 MB; larger, and two phones could use up a small machine's memory;
/// smaller, and a photograph that a camera makes would be refused.
pub const MOST_KEPT_BYTES: usize = 64 * 1024 * 1024;

/// A folder of files, each named by the SHA-256 of its bytes.
#[derive(Debug)]
pub(crate) struct Kept {
    folder: PathBuf,
    // Whoever finds a shelf takes its name for one that is on the disk: one is made at a time.
    making: Mutex<()>,
    // Those of which the disk did not say that their names are there: asked again, it would say so of what it gave up.
    doubtful: Mutex<BTreeSet<Digest>>,
}

/// Something kept.
#[derive(Debug)]
pub(crate) struct Shelved {
    pub(crate) path: PathBuf,
    pub(crate) digest: Digest,
}

impl Kept {
    /// The one in a folder that nobody else writes to. What was not finished when the power or the process went is taken away.
    pub(crate) fn open(folder: PathBuf) -> Result<Self, StoreError> {
        let made = make_folder(&folder).and_then(|()| clear(&folder)).and_then(|()| sync_folder(&folder));
        made.map_err(|error| StoreError::io(&folder, &error))?;
        Ok(Self::at(folder))
    }

    /// One that is not touched before it is used.
    pub(crate) const fn at(folder: PathBuf) -> Self {
        Self { folder, making: Mutex::new(()), doubtful: Mutex::new(BTreeSet::new()) }
    }

    /// In a folder of its first byte, so that none has too many entries for a person to list.
    pub(crate) fn path(&self, digest: Digest) -> PathBuf {
        let name = digest.to_string();
        self.folder.join(name.get(..2).unwrap_or_default()).join(name)
    }

    pub(crate) fn keep(&self, bytes: &[u8]) -> Result<Digest, StoreError> {
        if bytes.len() > MOST_KEPT_BYTES {
            return Err(StoreError::TooLarge { found: bytes.len(), most: MOST_KEPT_BYTES });
        }
        let digest = sha256(bytes);
        let path = self.path(digest);
        // Bytes that are damaged are written anew, and what was written before a power cut is synced again.
        self.write(&path, digest, bytes).map_err(|error| StoreError::io(&path, &error))?;
        Ok(digest)
    }

    /// Writes a file so that it is there whole or not at all, whenever the power goes.
    fn write(&self, path: &Path, digest: Digest, bytes: &[u8]) -> io::Result<()> {
        let shelf = path.parent().unwrap_or(&self.folder);
        {
            let _one = self.making.lock().unwrap_or_else(PoisonError::into_inner);
            make_folder(shelf)?;
        }
        // Beside the shelves, where a look at everything takes no half of a file for one that was kept.
        let mut unfinished = tempfile::Builder::new().prefix(UNFINISHED_FILE).tempfile_in(&self.folder)?;
        unfinished.write_all(bytes)?;
        unfinished.as_file().sync_all()?;
        unfinished.persist(path).map_err(|error| error.error)?;
        let synced = sync_folder(shelf);
        let mut doubtful = self.doubtful.lock().unwrap_or_else(PoisonError::into_inner);
        if synced.is_ok() {
            doubtful.remove(&digest)
        } else {
            doubtful.insert(digest)
        };
        synced
    }

    /// Whether those bytes are here, and on the disk: what kept them may have been ended before it could say so.
    pub(crate) fn is_settled(&self, digest: Digest) -> Result<bool, StoreError> {
        let is_doubtful = self.doubtful.lock().unwrap_or_else(PoisonError::into_inner).contains(&digest);
        if is_doubtful || self.read(digest)?.is_none() {
            return Ok(false);
        }
        let path = self.path(digest);
        let shelf = path.parent().unwrap_or(&self.folder);
        sync_folder(shelf).map_err(|error| StoreError::io(shelf, &error))?;
        Ok(true)
    }

    pub(crate) fn read(&self, digest: Digest) -> Result<Option<Vec<u8>>, StoreError> {
        let path = self.path(digest);
        match bytes_of(&path) {
            Ok(bytes) if sha256(&bytes) == digest => Ok(Some(bytes)),
            Ok(_) => Err(StoreError::Damaged(format!("{} has other bytes than it had", path.display()))),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(StoreError::io(&path, &error)),
        }
    }

    /// The path of something to be kept here, with its shelf made.
    pub(crate) fn place(&self, digest: Digest) -> Result<PathBuf, StoreError> {
        let path = self.path(digest);
        let shelf = path.parent().unwrap_or(&self.folder);
        fs::create_dir_all(shelf).map_err(|error| StoreError::io(shelf, &error))?;
        Ok(path)
    }

    /// Makes the names of everything here survive a power cut.
    pub(crate) fn sync(&self) -> Result<(), StoreError> {
        for folder in shelves(&self.folder)?.into_iter().chain(self.folder.exists().then(|| self.folder.clone())) {
            sync_folder(&folder).map_err(|error| StoreError::io(&folder, &error))?;
        }
        Ok(())
    }

    /// Everything here, by its name; no bytes are looked at.
    pub(crate) fn shelved(&self) -> Result<Vec<Shelved>, StoreError> {
        let mut all = Vec::new();
        for shelf in shelves(&self.folder)? {
            for path in entries(&shelf)? {
                let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
                let digest = name.parse().map_err(|_| StoreError::Damaged(format!("{}: nothing kept is called so", path.display())))?;
                all.push(Shelved { path, digest });
            }
        }
        Ok(all)
    }

    pub(crate) fn erase(&self, digest: Digest) -> Result<bool, StoreError> {
        let path = self.path(digest);
        match fs::remove_file(&path).and_then(|()| sync_folder(path.parent().unwrap_or(&self.folder))) {
            Ok(()) => Ok(true),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
            Err(error) => Err(StoreError::io(&path, &error)),
        }
    }

    /// Looks at everything kept, and for everything referred to.
    pub(crate) fn verify(&self, references: &References, report: &mut Report) -> Result<(), StoreError> {
        report.lacks(references.keys().copied().filter(|digest| !self.path(*digest).exists()));
        for folder in shelves(&self.folder)? {
            for path in entries(&folder)? {
                report.kept += 1;
                let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
                let bytes = bytes_of(&path).map_err(|error| StoreError::io(&path, &error))?;
                let digest = name.parse();
                if digest != Ok(sha256(&bytes)) {
                    let entry = digest.ok().and_then(|digest| references.get(&digest).copied());
                    report.damage.push(Damage::Kept { name, entry });
                }
            }
        }
        Ok(())
    }
}

/// Takes away what was not finished.
fn clear(folder: &Path) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_name().to_string_lossy().starts_with(UNFINISHED_FILE) {
            fs::remove_file(entry.path())?;
        }
    }
    Ok(())
}

/// A file's bytes, one more than are kept at most.
fn bytes_of(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let most = u64::try_from(MOST_KEPT_BYTES).unwrap_or(u64::MAX);
    File::open(path)?.take(most + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The shelves of a folder; none where it is not there. Files that are not finished stand beside them.
fn shelves(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let all = if folder.exists() { entries(folder)? } else { Vec::new() };
    Ok(all.into_iter().filter(|path| path.is_dir()).collect())
}

pub(crate) fn entries(folder: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let io = |error: io::Error| StoreError::io(folder, &error);
    let mut paths: Vec<PathBuf> =
        fs::read_dir(folder).map_err(io)?.map(|entry| entry.map(|entry| entry.path())).collect::<Result<_, _>>().map_err(io)?;
    paths.sort();
    Ok(paths)
}
