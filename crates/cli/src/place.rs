//! Where files and folders are: which names are of one place, what lies within what, and on which disk.

use std::fs;
use std::path::{Path, PathBuf};

/// Whether a file is in a folder or one below it, or would be.
pub(crate) fn is_within(path: &Path, folder: &Path) -> bool {
    whole(path).zip(whole(folder)).is_some_and(|(path, folder)| path.starts_with(folder))
}

/// Whether two names are of one file, there or to be made.
pub(crate) fn is_same(a: &Path, b: &Path) -> bool {
    a == b || whole(a).is_some_and(|a| whole(b) == Some(a))
}

/// The folder that something is in, there or to be made.
pub(crate) fn above(path: &Path) -> &Path {
    path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// A name from the root, without links and detours as far as it is there.
pub(crate) fn whole(path: &Path) -> Option<PathBuf> {
    let absolute = std::path::absolute(path).ok()?;
    absolute.ancestors().find_map(|there| {
        let rest = absolute.strip_prefix(there).ok()?;
        let there = fs::canonicalize(there).ok()?;
        Some(if rest.as_os_str().is_empty() { there } else { there.join(rest) })
    })
}

/// Whether two places are on one disk, as far as the system tells.
#[cfg(unix)]
pub(crate) fn on_one_disk(a: &Path, b: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let disk = |path| fs::metadata(path).map(|found| found.dev()).ok();
    disk(a).is_some_and(|found| disk(b) == Some(found))
}

#[cfg(not(unix))]
pub(crate) fn on_one_disk(_a: &Path, _b: &Path) -> bool {
    false
}
