//! Files that are read, and that appear whole or not at all.

use std::fs;
use std::io::Write;
use std::path::Path;

use lastmicron_folder::File;

use crate::failure::Failure;
use crate::place::{above, is_same};

/// Writes a file, in place of one of the same name: beside it first, then under its name. Where a link stands, its target is written; what is no
/// file (a pipe, a device) is written to as it is, and never replaced.
pub(crate) fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let failed = |error: std::io::Error| Failure::failed(format!("{}: {error}", path.display()));
    let standing = fs::metadata(path).ok();
    if standing.as_ref().is_some_and(fs::Metadata::is_dir) {
        return Err(Failure::failed(format!("{}: that is a folder; name a file in it", path.display())));
    }
    if standing.as_ref().is_some_and(|standing| !standing.is_file()) {
        return write_stream(path, bytes);
    }
    let target = if standing.is_some() { fs::canonicalize(path).map_err(failed)? } else { path.to_owned() };
    let path = target.as_path();
    let mut beside = tempfile::NamedTempFile::new_in(folder_of(path)?).map_err(failed)?;
    beside.write_all(bytes).map_err(failed)?;
    beside.as_file().sync_all().map_err(failed)?;
    readable(beside.path()).map_err(failed)?;
    beside.persist(path).map(drop).map_err(|error| failed(error.error))
}

/// Writes a file that its owner alone may read, where nothing is.
pub(crate) fn write_private(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    write_new(path, bytes, |_| Ok(()))
}

/// Writes a file where nothing is: beside it first, then, once it is as it should be, under its name.
fn write_new(path: &Path, bytes: &[u8], finish: impl Fn(&Path) -> std::io::Result<()>) -> Result<(), Failure> {
    let folder = folder_of(path)?;
    let written = || {
        let mut beside = tempfile::NamedTempFile::new_in(folder)?;
        beside.write_all(bytes)?;
        beside.as_file().sync_all()?;
        finish(beside.path())?;
        beside.persist_noclobber(path).map(drop).map_err(|error| error.error)
    };
    written().map_err(|error| match error.kind() {
        std::io::ErrorKind::AlreadyExists => taken(path),
        _ => Failure::failed(format!("{}: {error}", path.display())),
    })
}

fn taken(path: &Path) -> Failure {
    Failure::bad_input(format!("{}: something is here already: name another file", path.display()))
}

/// Where what must not take the place of anything is written to.
pub(crate) enum Place<'p> {
    /// A file, where nothing is.
    New(&'p Path),
    /// A pipe or a device.
    Stream(&'p Path),
    /// The output of this program, wherever that goes: opened by its name, a file that it goes to would be written from its beginning.
    Output,
}

impl<'p> Place<'p> {
    /// The place of that name; refused where a file could not be made there.
    pub(crate) fn of(path: &'p Path) -> Result<Self, Failure> {
        if ["/dev/stdout", "/dev/fd/1", "/proc/self/fd/1"].iter().any(|name| path == Path::new(name)) {
            return Ok(Self::Output);
        }
        if fs::metadata(path).is_ok_and(|standing| !standing.is_file() && !standing.is_dir()) {
            return Ok(Self::Stream(path));
        }
        if fs::symlink_metadata(path).is_ok() {
            return Err(taken(path));
        }
        folder_of(path).map(|_| Self::New(path))
    }

    /// Whether something else reads what is written.
    pub(crate) const fn is_stream(&self) -> bool {
        matches!(self, Self::Stream(_) | Self::Output)
    }

    /// Writes there; `out` is the output of this program.
    pub(crate) fn write(&self, bytes: &[u8], out: &mut dyn Write) -> Result<(), Failure> {
        match self {
            Self::New(path) => write_new(path, bytes, readable),
            Self::Stream(path) => write_stream(path, bytes),
            Self::Output => Ok(out.write_all(bytes)?),
        }
    }
}

fn write_stream(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let written = fs::OpenOptions::new().write(true).open(path).and_then(|mut stream| {
        stream.write_all(bytes)?;
        stream.flush()
    });
    written.map_err(|error| Failure::failed(format!("{}: {error}", path.display())))
}

/// The bytes of a file.
pub(crate) fn read(path: &Path) -> Result<Vec<u8>, Failure> {
    fs::read(path).map_err(|error| not_read(path, &error))
}

/// Why a file could not be read.
pub(crate) fn not_read(path: &Path, error: &std::io::Error) -> Failure {
    let why = match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
        std::io::ErrorKind::IsADirectory => "that is a folder; name a file in it".to_owned(),
        _ => error.to_string(),
    };
    Failure::bad_input(format!("{}: {why}", path.display()))
}

/// The bytes of what may be a file, or a folder that is looked at elsewhere.
pub(crate) fn read_either(path: &Path) -> Result<Vec<u8>, Failure> {
    fs::read(path).map_err(|error| match error.kind() {
        std::io::ErrorKind::NotFound => Failure::bad_input(format!("{}: there is no such file or folder", path.display())),
        _ => not_read(path, &error),
    })
}

/// The text of a file.
pub(crate) fn read_text(path: &Path) -> Result<String, Failure> {
    String::from_utf8(read(path)?).map_err(|_| Failure::bad_input(format!("{}: this is no text", path.display())))
}

/// The folder that something is to be made in, which has to be there.
pub(crate) fn folder_of(path: &Path) -> Result<&Path, Failure> {
    let folder = above(path);
    match fs::metadata(folder) {
        Ok(standing) if !standing.is_dir() => {
            Err(Failure::bad_input(format!("{}: {} is a file, and no folder", path.display(), folder.display())))
        }
        Err(error) if matches!(error.kind(), std::io::ErrorKind::NotFound | std::io::ErrorKind::NotADirectory) => {
            Err(Failure::bad_input(format!("{}: there is no folder {}: make it first", path.display(), folder.display())))
        }
        // What else may be wrong with it shows when it is written to.
        _ => Ok(folder),
    }
}

/// Refuses to write over a file of a job's folder.
pub(crate) fn outside_job(path: &Path, folder: &Path) -> Result<(), Failure> {
    if File::ALL.iter().any(|file| is_same(path, &folder.join(file.name()))) {
        return Err(Failure::bad_input(format!("{}: that is a file of the job itself: name another", path.display())));
    }
    Ok(())
}

/// A temporary file is private; what takes its place is as readable as other files.
#[cfg(unix)]
fn readable(path: &Path) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(path, fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable(_path: &Path) -> std::io::Result<()> {
    Ok(())
}
