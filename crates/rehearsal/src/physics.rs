//! What pads take near edges and body lines by direct summation: the truth of cars whose job states machines and pads and no gain.
//!
//! A stroke is summed up instant by instant over its orbit and place by place along it: the soft pad's pressure there and then x the speed of the pad
//! over that place (Preston's law; the coefficient falls out, for all is in times the middle of a large flat section). Strokes along a border or a
//! line, and crosswise passes that end at or run over it, are added up across it. What a person does and no job states is drawn once a car: [`Hand`].
//! `lastmicron_polish::near`, which plans are made by, is not used: it is what is tested.
//!
//! Weak: pressure is that of the elastic foundation, as in `near`; at a corner the parts of both edges are multiplied; a line near an edge is
//! multiplied with it.

mod edge;
mod line;
mod rubbing;
mod strokes;
mod table;

use lastmicron_film::panel::Panel;
use lastmicron_numerics::bounded::BoundedError;
use lastmicron_plan::{BodyLine, KeepOff};
use lastmicron_polish::Equipment;
use lastmicron_polish::contact::{Bend, ContactError};
use rand::RngExt;
use rand_pcg::Pcg64;

use edge::{Border, BorderProfile};
use line::Lies;
use rubbing::Rubbing;
use table::Table;

pub(crate) use strokes::Strokes;

use crate::chance::happens;
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
    uses: Vec<UseTruth>,
    /// By panel.
    lines: Vec<Vec<LineTruth>>,
}

#[derive(Clone, Debug, PartialEq)]
struct UseTruth {
    felt_mm: f64,
    edge: BorderProfile,
    tape: BorderProfile,
    ripple: Table,
}

#[derive(Clone, Debug, PartialEq)]
struct LineTruth {
    line: BodyLine,
    /// By process, from the line's one side to the other.
    gains: Vec<Table>,
}

/// One axis of a rectangle: a place on it, and what is kept off at its ends, mm.
#[derive(Clone, Copy, Debug)]
struct Axis {
    at_mm: f64,
    size_mm: f64,
    kept_off_mm: [f64; 2],
    /// Where strokes fall on this axis, where that is known.
    phase: Option<f64>,
}

/// What the passes along the two ends of an axis, and those that end there, leave of the middle.
#[derive(Clone, Copy, Debug)]
struct Passes {
    along: f64,
    ends: f64,
}

impl Physics {
    /// Draws a hand and the lines of a car's panels, and sums up what each of its processes takes.
    pub(crate) fn draw(workshop: &Workshop, processes: usize, sizes_mm: &[[f64; 2]], dice: &mut Pcg64) -> Result<Self, PhysicsError> {
        let hand = Hand { overhang: OVERHANG.draw(dice), tilting: dice.random() };
        let rubbings = rubbings(&workshop.equipment, processes)?;
        let uses = rubbings.iter().map(|rubbing| UseTruth::of(rubbing, hand)).collect::<Result<_, _>>()?;
        let lines = sizes_mm.iter().map(|size_mm| draw_lines(workshop, &rubbings, *size_mm, dice)).collect::<Result<_, _>>()?;
        Ok(Self { hand, uses, lines })
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
    pub(crate) fn taken(
        &self,
        process: usize,
        (k, panel): (usize, &Panel),
        keep_off: &[KeepOff],
        at_mm: [f64; 2],
        strokes: Option<Strokes>,
    ) -> f64 {
        let used = &self.uses[process];
        let off_mm = |edge: usize| keep_off.iter().filter(|off| off.edge == edge).map(|off| off.mm).fold(0.0, f64::max);
        let [width_mm, height_mm] = panel.size_mm();
        let [x_mm, y_mm] = at_mm;
        let phases = strokes.map(|s| s.phases);
        let x = Axis { at_mm: x_mm, size_mm: width_mm, kept_off_mm: [off_mm(3), off_mm(1)], phase: phases.map(|p| p[0]) };
        let y = Axis { at_mm: y_mm, size_mm: height_mm, kept_off_mm: [off_mm(0), off_mm(2)], phase: phases.map(|p| p[1]) };
        let (x, y) = (used.passes(x), used.passes(y));
        // Passes along x lie side by side along y and end at the left and the right, and the others the other way round.
        let edges = (y.along * x.ends + x.along * y.ends) / (1.0 - ALONG);
        let lines = self.lines.get(k).map_or(&[][..], Vec::as_slice);
        lines.iter().map(|line| line.gains[process].at(line.beside_mm(at_mm))).fold(edges, |taken, gain| taken * gain)
    }
}

fn rubbings(equipment: &Equipment, processes: usize) -> Result<Vec<Rubbing<'_>>, PhysicsError> {
    (0..processes)
        .map(|process| {
            let (machine, pad, used) = equipment.of(process).ok_or(PhysicsError::NoUse(process))?;
            Rubbing::of(machine, pad, used)
        })
        .collect()
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
    let gains =
        rubbings.iter().zip(phases).map(|(rubbing, phase)| Ok(Lies::of(rubbing, Bend { radius_mm, turn_deg })?.profile(rubbing, phase)));
    let line = BodyLine { points_mm: vec![[0.0, ends_mm[0]], [width_mm, ends_mm[1]]], radius_mm };
    Ok(vec![LineTruth { line, gains: gains.collect::<Result<_, PhysicsError>>()? }])
}

impl UseTruth {
    fn of(rubbing: &Rubbing<'_>, hand: Hand) -> Result<Self, PhysicsError> {
        Ok(Self {
            felt_mm: BorderProfile::felt_mm(rubbing),
            edge: BorderProfile::of(rubbing, hand, Border::Edge)?,
            tape: BorderProfile::of(rubbing, hand, Border::Tape)?,
            ripple: strokes::ripple(rubbing),
        })
    }

    /// Near an end of the axis what strokes leave there, the nearer end's; elsewhere strokes side by side.
    fn passes(&self, axis: Axis) -> Passes {
        let from_ends_mm = [axis.at_mm - axis.kept_off_mm[0], axis.size_mm - axis.kept_off_mm[1] - axis.at_mm];
        let nearer = usize::from(from_ends_mm[1] < from_ends_mm[0]);
        let distance_mm = from_ends_mm[nearer];
        if distance_mm < 0.0 {
            Passes { along: 0.0, ends: 0.0 }
        } else if distance_mm < self.felt_mm {
            let profile = if axis.kept_off_mm[nearer] > 0.0 { &self.tape } else { &self.edge };
            Passes { along: profile.along(distance_mm), ends: profile.ends(distance_mm) }
        } else {
            let even = axis.phase.map_or(1.0, |phase| strokes::at(&self.ripple, phase, axis.at_mm));
            Passes { along: ALONG * even, ends: 1.0 - ALONG }
        }
    }
}

impl LineTruth {
    /// Distance of a place from the line, mm, above 0 to its left.
    fn beside_mm(&self, [x_mm, y_mm]: [f64; 2]) -> f64 {
        let [[ax, ay], [bx, by]] = [self.line.points_mm[0], self.line.points_mm[1]];
        ((bx - ax) * (y_mm - ay) - (by - ay) * (x_mm - ax)) / f64::hypot(bx - ax, by - ay)
    }
}

#[cfg(test)]
mod tests;
