//! Folders, and that their names survive a power cut.

use std::fs::{self, File};
use std::io;
use std::path::Path;

/// How the name of a file begins that has its own once it is whole.
pub(crate) const UNFINISHED_FILE: &str = ".unfinished-";

/// Makes the names in a folder survive a power cut. Other systems than Unix do so with the file.
pub(crate) fn sync_folder(folder: &Path) -> io::Result<()> {
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

/// Makes a folder, and those above it that are not there. When this returns, those names are on the disk.
pub(crate) fn make_folder(folder: &Path) -> io::Result<()> {
    if folder.is_dir() {
        return Ok(());
    }
    let above = above(folder);
    make_folder(above)?;
    match fs::create_dir(folder) {
        // Somebody else was faster.
        Err(error) if error.kind() != io::ErrorKind::AlreadyExists => Err(error),
        _ => sync_folder(above).inspect_err(|_| {
            // Whoever finds it here takes its name for one that is on the disk.
            let _ = fs::remove_dir(folder);
        }),
    }
}

/// Makes the name of a folder that is there survive: what made it may have been ended before it did. In a folder that is another user's it is not ours to see to.
pub(crate) fn sync_name(folder: &Path) -> io::Result<()> {
    match sync_folder(above(folder)) {
        Err(error) if error.kind() == io::ErrorKind::PermissionDenied => Ok(()),
        synced => synced,
    }
}

/// The folder that something is in, there or to be made.
pub(crate) fn above(folder: &Path) -> &Path {
    folder.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."))
}
