//! Authority and certificate in the data folder: the only part here that touches the disk.

use std::fs;
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use crate::{Authority, CertificateError, Key, Leaf, Names};

/// What is called what, in a folder of its own.
const FOLDER: &str = "certificate";
const AUTHORITY: &str = "authority.pem";
const LEAF: &str = "app.pem";

/// Where authority and certificate are kept: each in one file with its key, for the user of this machine alone.
#[derive(Clone, Debug)]
pub struct Kept {
    folder: PathBuf,
}

/// An authority, and the certificate that it made.
#[derive(Debug)]
pub struct SetUp {
    /// The authority.
    pub authority: Authority,
    /// The certificate.
    pub leaf: Leaf,
    /// Whether the authority was made just now, so that no phone trusts it yet.
    pub is_new: bool,
    /// Whether that stands in for one that is gone, which phones may trust.
    pub was_missing: bool,
}

impl Kept {
    /// In a data folder.
    #[must_use]
    pub fn within(data: &Path) -> Self {
        Self { folder: data.join(FOLDER) }
    }

    /// The folder that holds them.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The authority that is here.
    ///
    /// # Errors
    /// `NotSetUp` where nothing is here, `NoAuthority` where the certificate alone is; when it can't be read.
    pub fn authority(&self) -> Result<Authority, CertificateError> {
        let path = self.folder.join(AUTHORITY);
        let Some(text) = read(&path)? else {
            let is_gone = self.folder.join(LEAF).exists();
            return Err(if is_gone { CertificateError::NoAuthority(path) } else { CertificateError::NotSetUp(self.folder.clone()) });
        };
        Authority::from_pem(&text).map_err(|why| CertificateError::SpoiltAuthority { path, why: Box::new(why) })
    }

    /// Makes an authority where there is none, and a certificate for these names, in place of the one before.
    ///
    /// # Errors
    /// When the authority that is here can't certify them, or the disk refuses.
    pub fn set_up(&self, names: &Names, now: SystemTime) -> Result<SetUp, CertificateError> {
        let fresh = || Authority::new(Key::fresh()?, names, now);
        let (authority, is_new, was_missing) = match self.authority() {
            Err(CertificateError::NotSetUp(_)) => (fresh()?, true, false),
            Err(CertificateError::NoAuthority(_)) => (fresh()?, true, true),
            other => (other?, false, false),
        };
        let leaf = authority.certify(Key::fresh()?, names, now)?;
        if is_new {
            self.write(AUTHORITY, &authority.to_pem())?;
        }
        self.write(LEAF, &leaf.to_pem())?;
        Ok(SetUp { authority, leaf, is_new, was_missing })
    }

    /// What is here, as it is.
    ///
    /// # Errors
    /// `NotSetUp` where nothing is here, `NoAuthority` and `NoLeaf` where one of the two is missing; when a file can't be read.
    pub fn found(&self) -> Result<(Authority, Leaf), CertificateError> {
        let authority = self.authority()?;
        let path = self.folder.join(LEAF);
        let text = read(&path)?.ok_or_else(|| CertificateError::NoLeaf(path.clone()))?;
        let leaf = Leaf::from_pem(&text).map_err(|why| CertificateError::SpoiltLeaf { path, why: Box::new(why) })?;
        Ok((authority, leaf))
    }

    /// What is here, with the certificate renewed where it was time, or where phones would refuse it.
    ///
    /// # Errors
    /// As [`Self::found`]; when a file can't be written.
    pub fn current(&self, now: SystemTime) -> Result<SetUp, CertificateError> {
        let (authority, leaf) = self.found()?;
        if !leaf.is_due(&authority, now) && leaf.verify(&authority, now).is_ok() {
            return Ok(SetUp { authority, leaf, is_new: false, was_missing: false });
        }
        let leaf = authority.certify(Key::fresh()?, leaf.names(), now)?;
        self.write(LEAF, &leaf.to_pem())?;
        Ok(SetUp { authority, leaf, is_new: false, was_missing: false })
    }

    /// Whole or not at all: beside it first, on the disk, then under its name. A temporary file is its user's alone (0600), and stays so.
    fn write(&self, name: &str, text: &str) -> Result<(), CertificateError> {
        let path = self.folder.join(name);
        let write = || {
            fs::create_dir_all(&self.folder)?;
            let mut beside = tempfile::NamedTempFile::new_in(&self.folder)?;
            beside.write_all(text.as_bytes())?;
            beside.as_file().sync_all()?;
            beside.persist(&path)?;
            on_disk(&self.folder)
        };
        write().map_err(|why| CertificateError::Disk { path: path.clone(), why })
    }
}

/// The text of a file, where it is there. What is no text is told as other texts that are no certificate.
fn read(path: &Path) -> Result<Option<String>, CertificateError> {
    match fs::read(path) {
        Ok(bytes) => Ok(Some(String::from_utf8_lossy(&bytes).into_owned())),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
        Err(why) => Err(CertificateError::Disk { path: path.to_owned(), why }),
    }
}

/// The name, too, is on the disk.
#[cfg(unix)]
fn on_disk(folder: &Path) -> std::io::Result<()> {
    fs::File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn on_disk(_: &Path) -> std::io::Result<()> {
    Ok(())
}
