//! Strokes up to the border of a panel: along it, and crosswise with their ends at it.

use lastmicron_numerics::bounded::Rows;
use lastmicron_polish::contact::{Contact, Hold, Surface, press};

use super::passes::Passes;
use super::rubbing::{Left, Rubbing};
use super::table::Table;
use super::{ALONG, Hand, PhysicsError};

/// Steps of a profile, mm. Judgement: a tenth of the truth's nodes, all of which lie on it.
const PROFILE_STEP_MM: f64 = 2.5;

/// Steps of the way of the passes that end at a border, mm. Judgement: a thirtieth of a large pad.
const WAY_MM: f64 = 2.0;

/// A length that is none but for rounding, mm.
const HAIR_MM: f64 = 1e-6;

/// What a panel ends with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Border {
    /// Its edge: beyond it there is nothing to press on.
    Edge,
    /// A taped band, on which the rim rests as on the panel.
    Tape,
}

/// What strokes leave at distances from a border, in times the middle of a flat section.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct BorderProfile {
    /// The passes along the border, with the strokes that the worker adds there.
    along: Table,
    /// The passes that end at it.
    ends: Table,
}

impl BorderProfile {
    /// Distance from the border up to which it is felt, mm: the worker adds strokes up to two radii from it.
    pub(super) fn felt_mm(rubbing: &Rubbing<'_>) -> f64 {
        3.0 * rubbing.radius_mm + rubbing.orbit_mm
    }

    pub(super) fn of(rubbing: &Rubbing<'_>, hand: Hand, border: Border) -> Result<Self, PhysicsError> {
        let strokes = Strokes::of(rubbing, hand, border)?;
        let count = (Self::felt_mm(rubbing) / PROFILE_STEP_MM).ceil() as usize;
        let parts: Vec<[Left; 2]> = (0..=count).map(|i| strokes.left(rubbing, i as f64 * PROFILE_STEP_MM)).collect();
        let table = |which: usize| {
            let values = parts.iter().map(|part| part[which].slid).collect();
            Table { from_mm: 0.0, step_mm: PROFILE_STEP_MM, values }
        };
        Ok(Self { along: table(0), ends: table(1) })
    }

    pub(super) fn at(&self, distance_mm: f64) -> Passes {
        Passes { along: self.along.at(distance_mm), ends: self.ends.at(distance_mm) }
    }
}

/// A stroke along the border, and how often it is done in times the strokes of a section all of whose passes run along it.
struct Stroke {
    middle_mm: f64,
    times: f64,
    pressed: Pressed,
}

/// All strokes near a border.
pub(super) struct Strokes {
    /// Of the passes along the border, those that the worker adds counted in.
    along: Vec<Stroke>,
    /// Of the passes that end there: their way is cut into strokes along the border.
    ends: Vec<Stroke>,
    along_apart_mm: f64,
}

impl Strokes {
    /// The worker's times: passes end at the border as they come, and strokes along it within two radii are done as often as makes the time under
    /// the pad as even as can be (non-negative least squares).
    pub(super) fn of(rubbing: &Rubbing<'_>, hand: Hand, border: Border) -> Result<Self, PhysicsError> {
        let apart_mm = rubbing.apart_mm();
        let first_mm = rubbing.radius_mm * (1.0 - hand.overhang);
        let room_mm = BorderProfile::felt_mm(rubbing) + rubbing.reach_mm() - first_mm;
        let stroke = |from_first_mm: f64, times: f64| -> Result<Stroke, PhysicsError> {
            let middle_mm = first_mm + from_first_mm;
            Ok(Stroke { middle_mm, times, pressed: Pressed::at(rubbing, hand, border, middle_mm)? })
        };
        let count = |apart_mm: f64| (room_mm / apart_mm).ceil() as usize;
        let along = (0..count(apart_mm)).map(|i| stroke(i as f64 * apart_mm, ALONG)).collect::<Result<_, _>>()?;
        // To and fro: at every second end a step along the border to the next stroke, half a step each.
        let turned = stroke(0.0, (1.0 - ALONG) * apart_mm / 2.0 / WAY_MM);
        let run = (0..count(WAY_MM)).map(|i| stroke((i as f64 + 0.5) * WAY_MM, 1.0 - ALONG));
        let mut strokes = Self { along, ends: run.chain([turned]).collect::<Result<_, _>>()?, along_apart_mm: apart_mm };
        let chosen = strokes.along.iter().filter(|stroke| stroke.middle_mm < 2.0 * rubbing.radius_mm).count();
        let times = strokes.even_times(rubbing, chosen)?;
        for (stroke, times) in strokes.along.iter_mut().zip(times) {
            stroke.times = times;
        }
        Ok(strokes)
    }

    /// How often to do the first strokes along the border, the others being as they are.
    fn even_times(&self, rubbing: &Rubbing<'_>, chosen: usize) -> Result<Vec<f64>, PhysicsError> {
        let time = |stroke: &Stroke, distance_mm: f64, apart_mm: f64| {
            rubbing.of_middle(rubbing.flat(stroke.middle_mm - distance_mm), apart_mm).time_mm
        };
        let all = |strokes: &[Stroke], distance_mm: f64, apart_mm: f64| -> f64 {
            strokes.iter().map(|stroke| stroke.times * time(stroke, distance_mm, apart_mm)).sum()
        };
        let count = (BorderProfile::felt_mm(rubbing) / PROFILE_STEP_MM).ceil() as usize;
        let (chosen, others) = self.along.split_at(chosen);
        let (mut rows, mut lacking) = (Vec::new(), Vec::new());
        for distance_mm in (0..=count).map(|i| i as f64 * PROFILE_STEP_MM) {
            rows.push(chosen.iter().map(|stroke| time(stroke, distance_mm, self.along_apart_mm)).collect());
            lacking.push(1.0 - all(others, distance_mm, self.along_apart_mm) - all(&self.ends, distance_mm, WAY_MM));
        }
        Ok(Rows::new(&rows)?.nearest(&lacking, None)?.x)
    }

    /// What the passes along the border, and those that end there, leave at a distance from it.
    pub(super) fn left(&self, rubbing: &Rubbing<'_>, distance_mm: f64) -> [Left; 2] {
        let sum = |strokes: &[Stroke], apart_mm: f64| {
            let of =
                |stroke: &Stroke| rubbing.of_middle(stroke.pressed.left(rubbing, stroke.middle_mm - distance_mm), stroke.times * apart_mm);
            strokes.iter().map(of).sum()
        };
        [sum(&self.along, self.along_apart_mm), sum(&self.ends, WAY_MM)]
    }

    /// Where the strokes along the border run, mm from it, and how often each is done.
    #[cfg(test)]
    pub(super) fn along(&self) -> impl Iterator<Item = [f64; 2]> + '_ {
        self.along.iter().map(|stroke| [stroke.middle_mm, stroke.times])
    }
}

/// How the pad lies at each instant of an orbit about a place near a border: none where it lies flat.
struct Pressed {
    tilting: f64,
    /// Tilting freely, and held square.
    over: Option<Vec<Option<[Contact; 2]>>>,
}

impl Pressed {
    fn at(rubbing: &Rubbing<'_>, hand: Hand, border: Border, middle_mm: f64) -> Result<Self, PhysicsError> {
        if border == Border::Tape || middle_mm >= rubbing.reach_mm() {
            return Ok(Self { tilting: hand.tilting, over: None });
        }
        let over = rubbing.instants.iter().map(|at| {
            let overhang_mm = rubbing.radius_mm - middle_mm + at.across_mm;
            let held = |hold| press(rubbing.pad, rubbing.used.load_n, Surface::Edge { overhang_mm, hold });
            Ok(if overhang_mm > 0.0 { Some([held(Hold::SelfAligning)?, held(Hold::Rigid)?]) } else { None })
        });
        Ok(Self { tilting: hand.tilting, over: Some(over.collect::<Result<_, PhysicsError>>()?) })
    }

    /// What the stroke leaves `across_mm` from its middle, towards the border.
    fn left(&self, rubbing: &Rubbing<'_>, across_mm: f64) -> Left {
        let Some(over) = &self.over else { return rubbing.flat(across_mm) };
        if across_mm.abs() > rubbing.reach_mm() {
            return Left::default();
        }
        // A hair within the edge, where rounding can't put a place beyond it.
        rubbing.along(across_mm, |instant, x_mm, y_mm| match &over[instant] {
            Some([free, square]) => {
                self.tilting * free.pressure_pa(x_mm - HAIR_MM, y_mm) + (1.0 - self.tilting) * square.pressure_pa(x_mm - HAIR_MM, y_mm)
            }
            None => rubbing.flat.pressure_pa(x_mm, y_mm),
        })
    }
}
