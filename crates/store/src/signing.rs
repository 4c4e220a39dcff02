//! The workshop's keys in a file of their own, and records signed with them.

use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use lastmicron_job::event::{Id, When};
use lastmicron_record::{Checkpoint, Keys, Note, SigningKey, Tree};

use crate::error::StoreError;
use crate::folder::{UNFINISHED_FILE, sync_folder};
use crate::store::{KeptCheckpoint, Store};

/// The file's name: the key that signs on the first line, then the public keys as docs/record.md has them. Nobody but its owner reads it, and a backup
/// that others may read is made without it.
pub const SIGNING_KEYS: &str = "signing-keys";

/// What signs for a workshop.
#[derive(Clone, Debug)]
pub struct Signer {
    /// The key that signs now.
    pub key: SigningKey,
    /// All public ones, from the first to that of the key.
    pub keys: Keys,
}

/// The file of a workshop's keys.
#[derive(Clone, Debug)]
pub struct KeyFile {
    folder: PathBuf,
}

impl KeyFile {
    /// In the folder of a store.
    #[must_use]
    pub fn in_folder(folder: &Path) -> Self {
        Self { folder: folder.to_owned() }
    }

    /// The key that signs now, and all public ones; where there is none yet, one is made of 32 random bytes and kept.
    ///
    /// # Errors
    /// [`StoreError::Io`] for a file that can't be read or written, or is none of keys.
    pub fn open(&self, name: &str, random: [u8; 32]) -> Result<Signer, StoreError> {
        if let Some(found) = self.read()? {
            return Ok(found);
        }
        let key = SigningKey::of(name, random).map_err(|why| self.unfit(&why))?;
        let keys = Keys::of(key.public());
        let made = self.unfinished(&key, &keys).and_then(|file| match file.persist_noclobber(self.path()) {
            Ok(_) => sync_folder(&self.folder).map(|()| true),
            Err(error) if error.error.kind() == io::ErrorKind::AlreadyExists => Ok(false),
            Err(error) => Err(error.error),
        });
        match made {
            Ok(true) => Ok(Signer { key, keys }),
            // Somebody else made one meanwhile.
            Ok(false) => self.read()?.ok_or(StoreError::Closed),
            Err(error) => Err(StoreError::io(&self.path(), &error)),
        }
    }

    /// Both, where there are any.
    ///
    /// # Errors
    /// [`StoreError::Io`].
    pub fn read(&self) -> Result<Option<Signer>, StoreError> {
        let text = match fs::read_to_string(self.path()) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(StoreError::io(&self.path(), &error)),
        };
        let (secret, public) = text.split_once('\n').unwrap_or((&text, ""));
        let key: SigningKey = secret.parse().map_err(|why| self.unfit(&why))?;
        let keys: Keys = public.parse().map_err(|why| self.unfit(&why))?;
        if keys.all().last() == Some(&key.public()) {
            Ok(Some(Signer { key, keys }))
        } else {
            Err(self.unfit(&"the key that signs is not the last of the public ones"))
        }
    }

    /// Lets a new key, of 32 random bytes, take the place of the one that signs. The old one is gone then: what it signed is still checked.
    ///
    /// # Errors
    /// [`StoreError::Io`]; also where there is no key yet.
    pub fn rotate(&self, random: [u8; 32], when: &When) -> Result<Signer, StoreError> {
        let Signer { key: old, keys } =
            self.read()?.ok_or_else(|| self.unfit(&"there is no key yet that another could take the place of"))?;
        let new = SigningKey::of(old.public().name(), random).map_err(|why| self.unfit(&why))?;
        let keys = keys.rotated(&old, &new, when).map_err(|why| self.unfit(&why))?;
        let written = self.unfinished(&new, &keys).and_then(|file| {
            file.persist(self.path()).map_err(|error| error.error)?;
            sync_folder(&self.folder)
        });
        written.map_err(|error| StoreError::io(&self.path(), &error))?;
        Ok(Signer { key: new, keys })
    }

    fn path(&self) -> PathBuf {
        self.folder.join(SIGNING_KEYS)
    }

    /// A synced file beside the one wanted. Files of this kind are their owner's alone where the system knows owners.
    fn unfinished(&self, key: &SigningKey, keys: &Keys) -> io::Result<tempfile::NamedTempFile> {
        fs::create_dir_all(&self.folder)?;
        let mut file = tempfile::Builder::new().prefix(UNFINISHED_FILE).tempfile_in(&self.folder)?;
        write!(file, "{}\n{keys}", key.secret_text())?;
        File::sync_all(file.as_file())?;
        Ok(file)
    }

    fn unfit(&self, what: &dyn std::fmt::Display) -> StoreError {
        StoreError::Io { path: self.path(), what: what.to_string() }
    }
}

/// Signs the record of a job as it stands and keeps that, for the time when a job goes home. None for a job without entries.
///
/// # Errors
/// [`StoreError::Damaged`] for a record that is not as it was written, or not the one that was signed before: neither is signed.
pub fn sign_end(store: &dyn Store, job: Id, signer: &Signer, now: &When) -> Result<Option<Note>, StoreError> {
    let damaged = |what: &dyn std::fmt::Display| StoreError::Damaged(format!("job {job}: {what}"));
    let entries = store.events(job, 1)?;
    let Some(checkpoint) = Checkpoint::of(&entries).map_err(|broken| damaged(&broken))? else { return Ok(None) };
    let tree = Tree::of(&entries).map_err(|refusal| damaged(&refusal))?;
    for earlier in store.checkpoints(job)? {
        let earlier = Checkpoint::read(&earlier.note).map_err(|why| damaged(&why))?;
        earlier.holds_for(job, &tree).map_err(|why| damaged(&why))?;
    }
    let note = checkpoint.sign(&signer.key);
    store.keep_checkpoint(KeptCheckpoint { note: note.clone(), keys: signer.keys.clone(), kept: now.clone() })?;
    Ok(Some(note))
}

/// Signs every record that has grown since this key last signed it, for once a day; gives the jobs signed.
///
/// # Errors
/// As [`sign_end`], of the first record that can't be signed; all others are.
pub fn sign_ends(store: &dyn Store, signer: &Signer, now: &When) -> Result<Vec<Id>, StoreError> {
    let (mut signed, mut failed) = (Vec::new(), None);
    for (job, head) in store.jobs()? {
        match is_signed(store, job, head.seq, signer).and_then(|is| if is { Ok(None) } else { sign_end(store, job, signer, now) }) {
            Ok(Some(_)) => signed.push(job),
            Ok(None) => {}
            Err(error) => failed = failed.or(Some(error)),
        }
    }
    failed.map_or(Ok(signed), Err)
}

/// Whether the key that signs now has signed so many entries of the job.
fn is_signed(store: &dyn Store, job: Id, size: u64, signer: &Signer) -> Result<bool, StoreError> {
    let keys = [signer.key.public()];
    Ok(store.checkpoints(job)?.iter().any(|kept| Checkpoint::open(&kept.note, &keys).is_ok_and(|checkpoint| checkpoint.size == size)))
}
