//! A photograph's file, read within limits.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use lastmicron_photo::{MOST_BYTES, PhotoError, Photograph};

use crate::failure::Failure;

/// Bytes by which a file that is too long is told from one that is no photograph either.
const BEGINNING: u64 = 1024;

/// A photograph, or what is wrong with its file.
pub(super) fn read(path: &Path) -> Result<Photograph, Failure> {
    let bytes = bytes(path)?;
    lastmicron_photo::read(&bytes).map_err(|error| refused(path, &error))
}

/// No more of a file than a photograph may have.
fn bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    let unread = |error: &io::Error| match error.kind() {
        io::ErrorKind::NotFound => Failure::bad_input(format!("{}: there is no such file: name the photograph", path.display())),
        _ => Failure::failed(format!("{}: {error}", path.display())),
    };
    let file = File::open(path).map_err(|error| unread(&error))?;
    let about = file.metadata().map_err(|error| unread(&error))?;
    if about.is_dir() {
        return Err(Failure::bad_input(format!("{}: that is a folder: name the photograph in it", path.display())));
    }
    let length = usize::try_from(about.len()).unwrap_or(usize::MAX);
    let most = if length > MOST_BYTES { BEGINNING } else { u64::try_from(MOST_BYTES).unwrap_or(u64::MAX).saturating_add(1) };
    let mut bytes = Vec::new();
    file.take(most).read_to_end(&mut bytes).map_err(|error| unread(&error))?;
    if length > MOST_BYTES {
        return Err(match lastmicron_photo::read(&bytes) {
            Err(error @ (PhotoError::Heif | PhotoError::Other(_))) => refused(path, &error),
            Ok(_) | Err(_) => refused(path, &PhotoError::TooLarge { bytes: length }),
        });
    }
    Ok(bytes)
}

fn refused(path: &Path, error: &PhotoError) -> Failure {
    Failure::bad_input(format!("{}: {error}", path.display()))
}
