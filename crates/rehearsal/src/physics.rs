//! What pads take near edges and body lines by direct summation: the truth of cars whose job states machines and pads and no gain.
//!
//! A stroke is summed up instant by instant over its orbit and place by place along it: the soft pad's pressure there and then x the speed of the pad
//! over that place (Preston's law; the coefficient falls out, for all is in times the middle of a large flat section). Strokes along a border or a
//! line, and crosswise passes that end at or run over it, are added up across it. What a person does and no job states is drawn once a car: [`Hand`].
//! `lastmicron_polish::near`, which plans are made by, is not used: it is what is tested.
//!
//! Weak: pressure is that of the elastic foundation, as in `near`; half of the passes run each way whatever a use states; at a corner the parts of both
//! edges are multiplied, and so is a line's near an edge; beside a line kept off the rim lies on its tape as on a flat band.

mod edge;
mod line;
mod passes;
mod rubbing;
mod strokes;
mod table;

use lastmicron_numerics::bounded::BoundedError;
use lastmicron_plan::BodyLine;
use lastmicron_polish::Equipment;
use lastmicron_polish::contact::{Bend, ContactError};
use rand::RngExt;
use rand_pcg::Pcg64;

use line::LineTruth;
use passes::{Axis, End, UseTruth};
use rubbing::Rubbing;

pub(crate) use strokes::Strokes;

use crate::chance::happens;
use crate::taken::On;
use crate::{Range, Workshop};

/// Share of the passes that run along an edge or a line; the others cross it.
const ALONG: f64 = 0.5;

/// How far a hand lets the rim go over an edge, as a share of the pad's radius. Judgement: a quarter of the pad is the most of a practised hand.
const OVERHANG: Range = Range::between(0.0, 0.5);

/// How sharply a body line turns the panel, degrees. Judgement: pressed lines turn by some tens of degrees.
const TURN_DEG: Range = Range::between(15.0, 45.0);

/// What a worker does without thinking of it, and no job states.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hand {
    /// How far the rim goes over an edge, as a share of the pad's radius.
    pub overhang: f64,
    /// How freely the machine tilts there: 0 held square, 1 freely.
    pub tilting: f64,
}

/// Why there is no physics of a car.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum PhysicsError {
    /// A process without a use.
    #[error("process {0} states no use of a machine and a pad, without which nothing can be summed up")]
    NoUse(usize),
    /// The contact.
    #[error(transparent)]
    Contact(#[from] ContactError),
    /// The times of the strokes along an edge.
    #[error(transparent)]
    Times(#[from] BoundedError),
}

/// What each process takes where, in times the middle of a large flat section.
#[derive(Clone, Debug, PartialEq)]
pub struct Physics {
    hand: Hand,
    /// By process, its place in `uses`: processes with the same machine, pad and use differ in nothing here.
    of_process: Vec<usize>,
    uses: Vec<UseTruth>,
    /// By panel.
    lines: Vec<Vec<LineTruth>>,
}

impl Physics {
    /// Draws a hand and the lines of a car's panels, and sums up what each of its processes takes.
    pub(crate) fn draw(workshop: &Workshop, processes: usize, sizes_mm: &[[f64; 2]], dice: &mut Pcg64) -> Result<Self, PhysicsError> {
        let hand = Hand { overhang: OVERHANG.draw(dice), tilting: dice.random() };
        let (of_process, rubbings) = rubbings(&workshop.equipment, processes)?;
        let uses = rubbings.iter().map(|rubbing| UseTruth::of(rubbing, hand)).collect::<Result<_, _>>()?;
        let lines = sizes_mm.iter().map(|size_mm| draw_lines(workshop, &rubbings, *size_mm, dice)).collect::<Result<_, _>>()?;
        Ok(Self { hand, of_process, uses, lines })
    }

    /// The worker's hand.
    #[must_use]
    pub const fn hand(&self) -> Hand {
        self.hand
    }

    /// The body lines of a panel, as a job states them.
    pub(crate) fn lines(&self, panel: usize) -> Vec<BodyLine> {
        self.lines.get(panel).map(|lines| lines.iter().map(|l| l.line.clone()).collect()).unwrap_or_default()
    }

    /// What a process takes at a place of a rectangular panel, in times the middle of a section; evenly in the middle where no strokes are given.
    pub(crate) fn taken(&self, process: usize, on: On<'_>, at_mm: [f64; 2], strokes: Option<Strokes>) -> f64 {
        let number = self.of_process[process];
        let used = &self.uses[number];
        let size_mm = on.panel.panel.size_mm();
        // Edges are numbered anticlockwise from the bottom: those at the low and the high end of x, then of y.
        let [x, y] = [(0, [3, 1]), (1, [0, 2])].map(|(axis, edges): (usize, [usize; 2])| {
            let ends = edges.map(|edge| self.end(on, edge, used));
            used.passes(Axis { at_mm: at_mm[axis], size_mm: size_mm[axis], ends, phase: strokes.map(|s| s.phases[axis]) })
        });
        // Passes along x lie side by side along y and end at the left and the right, and the others the other way round.
        let edges = (y.along * x.ends + x.along * y.ends) / (1.0 - ALONG);
        let lines = self.lines.get(on.k).map_or(&[][..], Vec::as_slice);
        lines.iter().enumerate().fold(edges, |taken, (i, line)| {
            let beside_mm = line.beside_mm(at_mm);
            // No pass crosses a line that is kept off, or comes to lie on it.
            taken * on.line_off_mm(i).map_or_else(|| line.gains[number].at(beside_mm), |off_mm| used.beside_tape(beside_mm.abs() - off_mm))
        })
    }

    /// What strokes meet at an edge. Those on a patch of its own meet it only where the rim, which goes over the patch's border as over any, comes to it.
    fn end(&self, on: On<'_>, edge: usize, used: &UseTruth) -> End {
        let rim_over_mm = self.hand.overhang * used.radius_mm;
        if on.patch_from_edge_mm(edge).is_some_and(|mm| mm > rim_over_mm) { End::Far } else { End::of(on.edge_off_mm(edge)) }
    }
}

/// By process its number among the distinct uses, and those.
fn rubbings(equipment: &Equipment, processes: usize) -> Result<(Vec<usize>, Vec<Rubbing<'_>>), PhysicsError> {
    let mut distinct = Vec::new();
    let mut of_process = Vec::with_capacity(processes);
    for process in 0..processes {
        let stated = equipment.of(process).ok_or(PhysicsError::NoUse(process))?;
        of_process.push(distinct.iter().position(|other| *other == stated).unwrap_or_else(|| {
            distinct.push(stated);
            distinct.len() - 1
        }));
    }
    let rubbings = distinct.into_iter().map(|(machine, pad, used)| Rubbing::of(machine, pad, used)).collect::<Result<_, _>>()?;
    Ok((of_process, rubbings))
}

/// A line from the left side of a panel to its right, or none.
fn draw_lines(
    workshop: &Workshop,
    rubbings: &[Rubbing<'_>],
    [width_mm, height_mm]: [f64; 2],
    dice: &mut Pcg64,
) -> Result<Vec<LineTruth>, PhysicsError> {
    let has_line = happens(dice, workshop.line);
    let share = Range::between(0.2, 0.8);
    let ends_mm = [share, share].map(|range| (height_mm * range.draw(dice)).round());
    let which = dice.random_range(0..workshop.radii_mm.len().max(1));
    let turn_deg = TURN_DEG.draw(dice);
    let phases: Vec<f64> = rubbings.iter().map(|_| dice.random()).collect();
    let Some(radius_mm) = workshop.radii_mm.get(which).copied().filter(|_| has_line) else { return Ok(Vec::new()) };
    let line = BodyLine { points_mm: vec![[0.0, ends_mm[0]], [width_mm, ends_mm[1]]], radius_mm };
    Ok(vec![LineTruth::of(line, Bend { radius_mm, turn_deg }, rubbings.iter().zip(phases))?])
}

#[cfg(test)]
mod tests;
