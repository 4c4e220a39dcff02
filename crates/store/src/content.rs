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
    through(&mut File::open(path)?, &mut io::sink())
}

/// Copies a file to where none is; when this returns, the copy is on the disk. What is told is what was read.
pub(crate) fn copy(from: &Path, to: &Path) -> io::Result<Content> {
    let mut target = File::options().write(true).create_new(true).open(to)?;
    let content = through(&mut File::open(from)?, &mut target)?;
    target.sync_all()?;
    Ok(content)
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
