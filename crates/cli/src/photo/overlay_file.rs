//! The file that the overlay goes to, looked at before anything is measured.

use std::path::Path;

use crate::failure::Failure;
use crate::place;

/// Refuses a file that the overlay can't be, or must not take the place of. A picture of that name from an earlier time is replaced.
pub(super) fn check(path: &Path, images: &[&Path]) -> Result<(), Failure> {
    let refused = |why: &str| Err(Failure::bad_input(format!("{}: {why}", path.display())));
    if images.iter().any(|image| place::is_same(path, image)) {
        return refused("that is the photograph itself: name another file for the overlay");
    }
    if !path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("png")) {
        return refused("the overlay is written as PNG: give it a name that ends in .png");
    }
    if path.is_dir() {
        return refused("that is a folder: name a file in it for the overlay");
    }
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() && !folder.is_dir() => {
            refused(&format!("there is no folder {}: make it first, or name another place for the overlay", folder.display()))
        }
        _ => Ok(()),
    }
}
