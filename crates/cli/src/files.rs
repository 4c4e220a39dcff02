//! Files that appear whole or not at all.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

use lastmicron_folder::File;

use crate::failure::Failure;

/// Writes a file, in place of one of the same name: beside it first, then under its name. Where a link stands, its target is written; what is no
/// file (a pipe, a device) is written to as it is, and never replaced.
pub(crate) fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let failed = |error: std::io::Error| Failure::failed(format!("{}: {error}", path.display()));
    let standing = fs::metadata(path).ok();
    if standing.as_ref().is_some_and(fs::Metadata::is_dir) {
        return Err(Failure::failed(format!("{}: that is a folder; name a file in it", path.display())));
    }
    if standing.as_ref().is_some_and(|standing| !standing.is_file()) {
        let mut device = fs::OpenOptions::new().write(true).open(path).map_err(failed)?;
        return device.write_all(bytes).and_then(|()| device.flush()).map_err(failed);
    }
    let target = if standing.is_some() { fs::canonicalize(path).map_err(failed)? } else { path.to_owned() };
    let path = target.as_path();
    let parent = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut beside = tempfile::NamedTempFile::new_in(parent).map_err(failed)?;
    beside.write_all(bytes).map_err(failed)?;
    beside.as_file().sync_all().map_err(failed)?;
    readable(beside.path()).map_err(failed)?;
    beside.persist(path).map(drop).map_err(|error| failed(error.error))
}

/// Writes a file that its owner alone may read, where nothing is.
pub(crate) fn write_private(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let parent = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let written = || {
        let mut beside = tempfile::NamedTempFile::new_in(parent)?;
        beside.write_all(bytes)?;
        beside.as_file().sync_all()?;
        beside.persist_noclobber(path).map(drop).map_err(|error| error.error)
    };
    written().map_err(|error| match error.kind() {
        std::io::ErrorKind::AlreadyExists => {
            Failure::bad_input(format!("{}: something is here already: name another file", path.display()))
        }
        _ => Failure::failed(format!("{}: {error}", path.display())),
    })
}

/// Whether a file is in a folder or one below it, or would be.
pub(crate) fn is_within(path: &Path, folder: &Path) -> bool {
    whole(path).zip(whole(folder)).is_some_and(|(path, folder)| path.starts_with(folder))
}

/// Whether two names are of one file, there or to be made.
pub(crate) fn is_same(a: &Path, b: &Path) -> bool {
    a == b || whole(a).is_some_and(|a| whole(b) == Some(a))
}

/// Refuses to write over a file of a job's folder.
pub(crate) fn outside_job(path: &Path, folder: &Path) -> Result<(), Failure> {
    if File::ALL.iter().any(|file| is_same(path, &folder.join(file.name()))) {
        return Err(Failure::bad_input(format!("{}: that is a file of the job itself: name another", path.display())));
    }
    Ok(())
}

/// A name without links and detours, as far as it is there.
fn whole(path: &Path) -> Option<PathBuf> {
    fs::canonicalize(path).ok().or_else(|| {
        let parent = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
        Some(fs::canonicalize(parent).ok()?.join(path.file_name()?))
    })
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
