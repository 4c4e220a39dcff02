//! Photographs made elsewhere, in a folder with their truth.

use std::path::{Path, PathBuf};

use lastmicron_look::scratches::{Frame, Line, LineError, pair, split};
use lastmicron_photo::{PhotoError, Photograph};
use serde::Deserialize;

use super::{Judged, Kind, Truth};

/// Name of the file that holds the truth.
const TRUTH: &str = "truth.json";

/// The file, as its maker writes it: other keys are left alone.
#[derive(Deserialize)]
struct Listed {
    split: Vec<ListedSplit>,
    pairs: Vec<ListedPair>,
}

#[derive(Deserialize)]
struct ListedSplit {
    file: String,
    scene: String,
    /// Two points: x and y of each.
    line: [f64; 4],
    untouched: [f64; 2],
    gone: f64,
    visible: f64,
}

#[derive(Deserialize)]
struct ListedPair {
    before: String,
    after: String,
    scene: String,
    gone: f64,
    visible: f64,
}

/// Why a folder has no score.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// A file that can't be read.
    #[error("{}: {cause}", file.display())]
    Read {
        /// The file.
        file: PathBuf,
        /// Why.
        cause: std::io::Error,
    },
    /// A truth that is none.
    #[error("{}: {cause}; it needs `split` (file, scene, line, untouched, gone, visible) and `pairs` (before, after, scene, gone, visible)", file.display())]
    Truth {
        /// The file.
        file: PathBuf,
        /// Why.
        cause: serde_json::Error,
    },
    /// A photograph that is none.
    #[error("{}: {cause}", file.display())]
    Photograph {
        /// The file.
        file: PathBuf,
        /// Why.
        cause: PhotoError,
    },
    /// A line that is none.
    #[error("{}: {file} in it: {cause}", truth.display())]
    Line {
        /// The file that holds the truth.
        truth: PathBuf,
        /// The photograph.
        file: String,
        /// Why.
        cause: LineError,
    },
}

/// Reads and measures every photograph that `truth.json` in a folder lists.
///
/// # Errors
/// [`FolderError`] naming the file.
pub fn folder(folder: &Path) -> Result<Vec<Judged>, FolderError> {
    let truth = folder.join(TRUTH);
    let text = bytes(&truth)?;
    let listed: Listed = serde_json::from_slice(&text).map_err(|cause| FolderError::Truth { file: truth.clone(), cause })?;
    let mut judged = Vec::new();
    for ListedSplit { file, scene, line: [ax, ay, bx, by], untouched, gone, visible } in listed.split {
        let line = Line::new([ax, ay], [bx, by], untouched);
        let line = line.map_err(|cause| FolderError::Line { truth: truth.clone(), file: file.clone(), cause })?;
        let measured = split(frame(&photograph(&folder.join(&file))?), &line);
        judged.push(Judged::new(Kind::Split, &scene, file, Truth { gone, visible }, measured));
    }
    for ListedPair { before, after, scene, gone, visible } in listed.pairs {
        let [first, second] = [photograph(&folder.join(&before))?, photograph(&folder.join(&after))?];
        let measured = pair(frame(&first), frame(&second));
        judged.push(Judged::new(Kind::Pair, &scene, before, Truth { gone, visible }, measured));
    }
    Ok(judged)
}

fn photograph(file: &Path) -> Result<Photograph, FolderError> {
    lastmicron_photo::read(&bytes(file)?).map_err(|cause| FolderError::Photograph { file: file.to_owned(), cause })
}

fn frame(photograph: &Photograph) -> Frame<'_> {
    Frame { light: &photograph.light, clipped: &photograph.clipped }
}

fn bytes(file: &Path) -> Result<Vec<u8>, FolderError> {
    std::fs::read(file).map_err(|cause| FolderError::Read { file: file.to_owned(), cause })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is said of a folder that holds this as its truth and nothing else.
    fn refusal(truth: Option<&str>) -> String {
        let held = tempfile::tempdir().unwrap();
        if let Some(truth) = truth {
            std::fs::write(held.path().join(TRUTH), truth).unwrap();
        }
        folder(held.path()).unwrap_err().to_string().replace(&held.path().display().to_string(), "F")
    }

    #[test]
    fn a_folder_that_is_not_whole_is_refused_by_the_file_that_is_missing_or_wrong() {
        assert!(refusal(None).starts_with("F/truth.json: "));
        assert!(refusal(Some("{\"split\": []}")).starts_with("F/truth.json: missing field `pairs`"));
        let listed = |line: &str| {
            format!(
                r#"{{"pairs": [], "split": [{{"file": "a.jpg", "scene": "s", "line": {line}, "untouched": [9, 9], "gone": 0, "visible": 0}}]}}"#
            )
        };
        assert!(refusal(Some(&listed("[0, 0, 0, 0]"))).starts_with("F/truth.json: a.jpg in it: the line's two points"));
        assert!(refusal(Some(&listed("[0, 0, 9, 0]"))).starts_with("F/a.jpg: "));
    }

    #[test]
    fn a_folder_that_lists_nothing_has_nothing_to_judge() {
        let held = tempfile::tempdir().unwrap();
        std::fs::write(held.path().join(TRUTH), r#"{"split": [], "pairs": []}"#).unwrap();
        assert_eq!(folder(held.path()).unwrap(), []);
    }
}
