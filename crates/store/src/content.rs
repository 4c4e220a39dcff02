//! Whole files: what they hold, and copies of them that are on the disk.

use std::fs::File;
use std::io::{self, Read, Write};
use std::path::Path;

use lastmicron_job::event::Digest;
use sha2::Digest as _;

/// Bytes that are read at once.
const AT_ONCE: usize = 1 << 16;

/// How many bytes a file has, and their SHA-256.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Content {
    pub(crate) bytes: u64,
    pub(crate) sha256: Digest,
}

/// What a file holds.
pub(crate) fn of(path: &Path) -> io::Result<Content> {
    read(&mut File::open(path)?)
}

/// What comes from a reader, to its end.
pub(crate) fn read(from: &mut impl Read) -> io::Result<Content> {
    through(from, &mut io::sink())
}

/// Copies a file to where none is; when this returns, the copy is on the disk. What is told is what was read.
pub(crate) fn copy(from: &Path, to: &Path) -> io::Result<Content> {
    receive(&mut File::open(from)?, to)
}

/// Writes what comes from a reader to a file where none is; when this returns, it is on the disk.
pub(crate) fn receive(from: &mut impl Read, to: &Path) -> io::Result<Content> {
    let mut target = File::options().write(true).create_new(true).open(to)?;
    let content = through(from, &mut target)?;
    target.sync_all()?;
    Ok(content)
}

/// A reader or a writer, with what has gone through it.
pub(crate) struct Hashed<T> {
    inner: T,
    hasher: sha2::Sha256,
    bytes: u64,
}

impl<T> Hashed<T> {
    pub(crate) fn new(inner: T) -> Self {
        Self { inner, hasher: sha2::Sha256::new(), bytes: 0 }
    }

    /// What it went through, and what it was.
    pub(crate) fn end(self) -> (T, Content) {
        (self.inner, Content { bytes: self.bytes, sha256: Digest(self.hasher.finalize().into()) })
    }

    fn count(&mut self, part: &[u8]) {
        self.hasher.update(part);
        self.bytes += part.len() as u64;
    }
}

impl<R: Read> Read for Hashed<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let read = self.inner.read(buffer)?;
        self.count(buffer.get(..read).unwrap_or_default());
        Ok(read)
    }
}

impl<W: Write> Write for Hashed<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.inner.write(bytes)?;
        self.count(bytes.get(..written).unwrap_or_default());
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}

fn through(from: &mut impl Read, to: &mut impl Write) -> io::Result<Content> {
    let (mut hasher, mut bytes, mut buffer) = (sha2::Sha256::new(), 0, vec![0; AT_ONCE]);
    loop {
        let part = match from.read(&mut buffer) {
            Ok(0) => return Ok(Content { bytes, sha256: Digest(hasher.finalize().into()) }),
            Ok(read) => buffer.get(..read).unwrap_or_default(),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        hasher.update(part);
        to.write_all(part)?;
        bytes += part.len() as u64;
    }
}
