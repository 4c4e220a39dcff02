//! Strokes side by side in the middle of a section.

use rand::RngExt;
use rand_pcg::Pcg64;

use super::rubbing::{Left, Rubbing};
use super::table::Table;

/// Places told apart between two neighbouring strokes.
const PLACES: usize = 64;

/// Where the strokes of one set fall: the share of their distance by which those along y and those along x are shifted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Strokes {
    pub(super) phases: [f64; 2],
}

impl Strokes {
    pub(crate) fn draw(dice: &mut Pcg64) -> Self {
        Self { phases: [dice.random(), dice.random()] }
    }
}

/// What strokes side by side without end leave from one to the next, in times their mean.
pub(super) fn ripple(rubbing: &Rubbing<'_>) -> Table {
    let apart_mm = rubbing.apart_mm();
    let step_mm = apart_mm / PLACES as f64;
    let count = (rubbing.reach_mm() / apart_mm).ceil() as i32 + 1;
    let value = |i: usize| {
        let at_mm = i as f64 * step_mm;
        let all: Left = (-count..=count).map(|stroke| rubbing.flat(at_mm - f64::from(stroke) * apart_mm)).sum();
        rubbing.of_middle(all, apart_mm).slid
    };
    Table { from_mm: 0.0, step_mm, values: (0..=PLACES).map(value).collect() }
}

/// The ripple at a place, its strokes shifted by a share of their distance.
pub(super) fn at(ripple: &Table, phase: f64, at_mm: f64) -> f64 {
    let apart_mm = ripple.step_mm * PLACES as f64;
    ripple.at((at_mm + phase * apart_mm).rem_euclid(apart_mm))
}
