//! A record made of a backup, where nothing is.

use std::fs;
use std::path::Path;

use super::{Backup, Manifest, content, look, placed, refuse_in_a_backup, verify_backup, whole};
use crate::error::StoreError;
use crate::folder::{make_folder, sync_folder};
use crate::kept::{Kept, entries};
use crate::sqlite::{DATABASE, KEPT, Tables};

/// The file by which a folder is known that a backup is being restored into. A record with it is not opened: what is there may be half of one.
pub(crate) const UNFINISHED: &str = "restore-unfinished";

/// Makes a record of a backup in an empty place, and looks at all of it there. Where that fails, nothing is left there.
///
/// # Errors
/// [`StoreError`]: [`NotEmpty`](StoreError::NotEmpty) where something is, [`DamagedBackup`](StoreError::DamagedBackup) for one that is not as it was made.
pub fn restore(backup: &Path, into: &Path) -> Result<Backup, StoreError> {
    let Backup { manifest, .. } = verify_backup(backup)?.sound_at(backup)?;
    behind_marker(into, || fill(backup, into, manifest))
}

/// Fills an empty folder. What came to no end stays behind a marker, or is taken away.
pub(super) fn behind_marker(into: &Path, fill: impl FnOnce() -> Result<Backup, StoreError>) -> Result<Backup, StoreError> {
    let at = |error: std::io::Error| StoreError::io(into, &error);
    let was_there = into.exists();
    refuse_in_a_backup(into)?;
    make_folder(into).map_err(at)?;
    if into.join(UNFINISHED).exists() {
        return Err(StoreError::Unfinished(into.to_owned()));
    }
    if !entries(into)?.is_empty() {
        return Err(StoreError::NotEmpty(into.to_owned()));
    }
    let marker = into.join(UNFINISHED);
    whole(&marker, b"").and_then(|()| sync_folder(into)).map_err(at)?;
    let restored = fill().inspect_err(|_| empty(into));
    // What could not be taken away stays behind the marker.
    if restored.is_ok() || entries(into).is_ok_and(|left| left == [marker.as_path()]) {
        fs::remove_file(&marker).and_then(|()| sync_folder(into)).map_err(at)?;
    }
    if restored.is_err() && !was_there {
        // An empty folder that is left does no harm.
        let _ = fs::remove_dir(into);
    }
    restored
}

fn fill(backup: &Path, into: &Path, manifest: Manifest) -> Result<Backup, StoreError> {
    let kept = Kept::at(into.join(KEPT));
    for file in &manifest.files {
        let to = if file.path == DATABASE { into.join(DATABASE) } else { kept.place(file.sha256)? };
        content::copy(&placed(backup, &file.path), &to).map_err(|error| StoreError::io(&to, &error))?;
    }
    kept.sync()?;
    sync_folder(into).map_err(|error| StoreError::io(into, &error))?;
    let report = look(into, &manifest, UNFINISHED, Tables::KNOWN)?;
    Backup { manifest, report }.written_to(into)
}

/// Takes away what was put into a folder that was empty, but for the marker.
fn empty(folder: &Path) {
    for path in entries(folder).unwrap_or_default() {
        let is_marker = path.file_name().is_some_and(|name| name == UNFINISHED);
        // The caller sees what is left.
        let _ = if path.is_dir() {
            fs::remove_dir_all(&path)
        } else if is_marker {
            Ok(())
        } else {
            fs::remove_file(&path)
        };
    }
}
