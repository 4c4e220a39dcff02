//! A job folder written to disk, whole or not at all.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use lastmicron_job::Job;

use crate::contents::Contents;
use crate::place::File;
use crate::problem::Problems;
use crate::read::{Checked, Files, parse};
use crate::render;

/// Why a folder was not written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The path is taken.
    #[error("{}: this is there already, and nothing is written over: give another folder", .0.display())]
    Taken(PathBuf),
    /// Something in the job can't be said in a folder.
    #[error("this job can't be written as a folder, since it would not be read back:\n{0}")]
    Unreadable(Problems),
    /// The folder would be read back as another job.
    #[error("this job can't be written as a folder: it holds something that files can't say, such as spaces around a name")]
    Unsayable,
    /// Disk or permissions.
    #[error("{}: {source}", path.display())]
    Io {
        /// What could not be written.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
}

/// Writes a folder that reads back as the same contents. It appears under its name when it is complete.
///
/// # Errors
/// [`WriteError`]; then nothing has been written under that name.
pub fn write(contents: &Contents, folder: &Path) -> Result<(), WriteError> {
    let files = render::files(contents);
    let Checked { contents: back, .. } = parse(&files, &[]).map_err(WriteError::Unreadable)?;
    if !says_the_same(&back, contents) {
        return Err(WriteError::Unsayable);
    }
    if fs::symlink_metadata(folder).is_ok() {
        return Err(WriteError::Taken(folder.to_owned()));
    }
    write_files(&files, folder).map_err(|source| WriteError::Io { path: folder.to_owned(), source })
}

fn write_files(files: &Files, folder: &Path) -> io::Result<()> {
    let parent = folder.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let room = tempfile::Builder::new().prefix(".lastmicron-").tempdir_in(parent)?;
    let unfinished = room.path().join("job");
    fs::create_dir(&unfinished)?;
    for named in File::ALL {
        if let Some(bytes) = files.of(named) {
            let mut file = fs::File::create(unfinished.join(named.name()))?;
            file.write_all(bytes)?;
            file.sync_all()?;
        }
    }
    fs::rename(&unfinished, folder)
}

/// Whether two contents are the same but for lines, which are those of the file read, and for how a number was entered.
fn says_the_same(back: &Contents, contents: &Contents) -> bool {
    let mut job = contents.job.clone();
    for (reading, back) in job.car.readings.iter_mut().zip(&back.job.car.readings) {
        reading.line = back.line;
    }
    let used = |job: &Job, i: usize| job.car.equipment.uses.get(i).copied().flatten();
    if (0..job.car.processes.len()).all(|i| used(&back.job, i) == used(&job, i)) {
        // No use and none stated are the same.
        job.car.equipment.uses.clone_from(&back.job.car.equipment.uses);
    }
    if (0..job.car.processes.len()).all(|i| back.job.car.equipment.stages_of(i) == job.car.equipment.stages_of(i)) {
        job.car.equipment.stages.clone_from(&back.job.car.equipment.stages);
    }
    let polish = |job: &Job, i: usize| job.car.equipment.polishes.get(i).cloned().flatten();
    if (0..job.car.processes.len()).all(|i| polish(&back.job, i) == polish(&job, i)) {
        job.car.equipment.polishes.clone_from(&back.job.car.equipment.polishes);
    }
    let jotted = |contents: &Contents, i: usize| {
        contents.jottings.get(i).map(|jotting| (jotting.taken.clone(), jotting.note.clone())).unwrap_or_default()
    };
    let jottings = (0..job.car.readings.len()).all(|i| jotted(back, i) == jotted(contents, i));
    let spot = |contents: &Contents, i: usize| contents.spots_mm.get(i).copied().flatten();
    let spots = (0..job.car.counts.len()).all(|i| spot(back, i) == spot(contents, i));
    back.job == job && jottings && spots
}
