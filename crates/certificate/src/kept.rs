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
    /// `NotSetUp` where there is none; when it can't be read.
    pub fn authority(&self) -> Result<Authority, CertificateError> {
        let text = self.read(AUTHORITY)?.ok_or_else(|| CertificateError::NotSetUp(self.folder.clone()))?;
        Authority::from_pem(&text).map_err(|why| self.of_file(AUTHORITY, why))
    }

    /// Makes an authority where there is none, and a certificate for these names, in place of the one before.
    ///
    /// # Errors
    /// When the authority that is here can't certify them, or the disk refuses.
    pub fn set_up(&self, names: &Names, now: SystemTime) -> Result<SetUp, CertificateError> {
        let (authority, is_new) = match self.authority() {
            Err(CertificateError::NotSetUp(_)) => (Authority::new(Key::fresh()?, names, now)?, true),
            other => (other?, false),
        };
        let leaf = authority.certify(Key::fresh()?, names, now)?;
        if is_new {
            self.write(AUTHORITY, &authority.to_pem())?;
        }
        self.write(LEAF, &leaf.to_pem())?;
        Ok(SetUp { authority, leaf, is_new })
    }

    /// What is here, as it is.
    ///
    /// # Errors
    /// `NotSetUp` where nothing is here; when a file can't be read.
    pub fn found(&self) -> Result<(Authority, Leaf), CertificateError> {
        let authority = self.authority()?;
        let text = self.read(LEAF)?.ok_or_else(|| CertificateError::NotSetUp(self.folder.clone()))?;
        let leaf = Leaf::from_pem(&text).map_err(|why| self.of_file(LEAF, why))?;
        Ok((authority, leaf))
    }

    /// What is here, with the certificate renewed where it was time, or where phones would refuse it.
    ///
    /// # Errors
    /// `NotSetUp` where nothing is here; when a file can't be read or written.
    pub fn current(&self, now: SystemTime) -> Result<SetUp, CertificateError> {
        let (authority, leaf) = self.found()?;
        if !leaf.is_due(&authority, now) && leaf.verify(&authority, now).is_ok() {
            return Ok(SetUp { authority, leaf, is_new: false });
        }
        let leaf = authority.certify(Key::fresh()?, leaf.names(), now)?;
        self.write(LEAF, &leaf.to_pem())?;
        Ok(SetUp { authority, leaf, is_new: false })
    }

    fn of_file(&self, name: &str, why: CertificateError) -> CertificateError {
        CertificateError::File { path: self.folder.join(name), why: Box::new(why) }
    }

    fn read(&self, name: &str) -> Result<Option<String>, CertificateError> {
        let path = self.folder.join(name);
        match fs::read_to_string(&path) {
            Ok(text) => Ok(Some(text)),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
            Err(why) => Err(CertificateError::Disk { path, why }),
        }
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

/// The name, too, is on the disk.
#[cfg(unix)]
fn on_disk(folder: &Path) -> std::io::Result<()> {
    fs::File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn on_disk(_: &Path) -> std::io::Result<()> {
    Ok(())
}
