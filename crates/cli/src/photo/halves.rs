//! The line between the halves and the point on the untouched one, beside the photograph that they are of.

use lastmicron_look::scratches::{Line, LineError};
use lastmicron_photo::Photograph;

use super::arguments::SplitArguments;
use crate::failure::Failure;

/// The line as it was given, wherever it runs.
pub(super) fn line(arguments: &SplitArguments) -> Result<Line, Failure> {
    let [x1, y1, x2, y2] = arguments.line;
    Line::new([x1, y1], [x2, y2], arguments.untouched).map_err(|error| {
        Failure::bad_input(match error {
            LineError::Points => format!("--line: {error}: give two places far apart on the border between the halves"),
            LineError::Untouched => format!("--untouched: {error}: give a place well inside the untouched half"),
        })
    })
}

/// Refuses an untouched point beside the photograph, and a line that leaves all of it on one side.
#[expect(clippy::cast_precision_loss, reason = "a photograph has fewer than a hundred thousand pixels each way")]
pub(super) fn check(arguments: &SplitArguments, line: &Line, photograph: &Photograph) -> Result<(), Failure> {
    let (width, height) = (photograph.light.width(), photograph.light.height());
    let [right, bottom] = [width.saturating_sub(1), height.saturating_sub(1)].map(|last| last as f64);
    let seen = format!("the photograph, which seen upright is {width} pixels wide and {height} high");
    let [x, y] = arguments.untouched;
    if !((0.0..=right).contains(&x) && (0.0..=bottom).contains(&y)) {
        return Err(Failure::bad_input(format!(
            "--untouched: {x},{y} is not in {seen}: give a place well inside the untouched half, x from the left first, then y from the top"
        )));
    }
    // The untouched point is on the other side of the line.
    if [[0.0, 0.0], [right, 0.0], [0.0, bottom], [right, bottom]].iter().any(|corner| line.away(*corner) > 0.0) {
        return Ok(());
    }
    let [x1, y1, x2, y2] = arguments.line;
    Err(Failure::bad_input(format!(
        "--line: the line through {x1},{y1} and {x2},{y2} passes by {seen}: give two places on the border between the halves, x from the left first, then y from the top"
    )))
}
