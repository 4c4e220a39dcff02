//! Photographs drawn by `rehearsal`.

use lastmicron_look::scratches::{Frame, Line, LineError, pair, split};
use lastmicron_rehearsal::photograph::{self, Exposed, PhotographError, Scene, Shares};

use super::{Judged, Kind, Truth};

/// Why a drawn photograph has no score.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum DrawnError {
    /// It can't be drawn.
    #[error(transparent)]
    Drawing(#[from] PhotographError),
    /// Its line is none.
    #[error(transparent)]
    Line(#[from] LineError),
}

/// Draws and measures one photograph, or pair, of a trial: the `index`th of its kind.
///
/// # Errors
/// [`DrawnError`] when it can't be drawn.
pub fn drawn(kind: Kind, scene: &Scene, megapixels: f64, seed: u64, index: usize) -> Result<Judged, DrawnError> {
    // Judgement: no trial has half a million photographs, so that no two trials share one; pairs are other panels than splits.
    let own = seed.wrapping_mul(1_000_000).wrapping_add(2 * index as u64);
    let judged = |name: &str, truth, measured| Judged::new(kind, scene.name, format!("{name} {index}"), truth_of(truth), measured);
    match kind {
        Kind::Split => {
            let drawn = photograph::split(scene, megapixels, own)?;
            let line = Line::new(drawn.line[0], drawn.line[1], drawn.untouched)?;
            Ok(judged("split", drawn.truth, split(frame(&drawn.exposed), &line)))
        }
        Kind::Pair => {
            let drawn = photograph::pair(scene, megapixels, own.wrapping_add(1))?;
            Ok(judged("pair", drawn.truth, pair(frame(&drawn.before), frame(&drawn.after))))
        }
    }
}

fn frame(exposed: &Exposed) -> Frame<'_> {
    Frame { light: &exposed.light, clipped: &exposed.clipped }
}

fn truth_of(Shares { gone, visible }: Shares) -> Truth {
    Truth { gone, visible }
}
