//! Strokes along and across a body line.

use lastmicron_plan::BodyLine;
use lastmicron_polish::contact::{Bend, OverBend, press_on_bend};

use super::rubbing::{Left, Rubbing};
use super::table::Table;
use super::{ALONG, PhysicsError};

/// Steps of a profile, mm. Judgement: a quarter of the width that a sharp line is felt over.
const PROFILE_STEP_MM: f64 = 2.5;

/// Steps of the crosswise passes' way over the line, mm.
const WAY_MM: f64 = 2.0;

/// Steps at which the pad's lie over the line is worked out, mm. Judgement: depth and tilt move little over half of it; the line itself stays where it is.
const LIE_MM: f64 = 1.0;

/// A body line, and what is taken on it and beside it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct LineTruth {
    pub(super) line: BodyLine,
    /// By use, from the line's one side to the other, in times what is taken there on a flat panel.
    pub(super) gains: Vec<Table>,
}

impl LineTruth {
    /// A line that turns the panel by `bend`, and uses with the share of their strokes' distance by which the nearest runs beside it, set after set.
    pub(super) fn of<'r, 'u: 'r>(
        line: BodyLine,
        bend: Bend,
        uses: impl Iterator<Item = (&'r Rubbing<'u>, f64)>,
    ) -> Result<Self, PhysicsError> {
        let profile = |(rubbing, phase): (&Rubbing<'u>, f64)| Ok(Lies::of(rubbing, bend)?.profile(rubbing, phase));
        let gains = uses.map(profile).collect::<Result<_, PhysicsError>>()?;
        Ok(Self { line, gains })
    }

    /// Distance of a place from the line, mm, above 0 to its left.
    pub(super) fn beside_mm(&self, [x_mm, y_mm]: [f64; 2]) -> f64 {
        let [[ax, ay], [bx, by]] = [self.line.points_mm[0], self.line.points_mm[1]];
        ((bx - ax) * (y_mm - ay) - (by - ay) * (x_mm - ax)) / f64::hypot(bx - ax, by - ay)
    }
}

/// How a pad lies beside a line, by its middle's place across it.
pub(super) struct Lies {
    half_mm: f64,
    lies: Vec<OverBend>,
}

impl Lies {
    pub(super) fn of(rubbing: &Rubbing<'_>, bend: Bend) -> Result<Self, PhysicsError> {
        // Beyond this the pad lies flat beside the line.
        let half_mm = (rubbing.radius_mm + bend.radius_mm * (bend.turn_deg / 2.0).to_radians().sin()).ceil();
        let count = (half_mm / LIE_MM) as i32;
        let lie = |i: i32| press_on_bend(rubbing.pad, rubbing.used.load_n, bend, f64::from(i) * LIE_MM);
        Ok(Self { half_mm, lies: (-count..=count).map(lie).collect::<Result<_, _>>()? })
    }

    /// Pressure at a place across the line while the pad's middle is `middle_mm` from it, Pa: none where the pad lies flat.
    fn pressure_pa(&self, middle_mm: f64, place_mm: f64, y_mm: f64) -> Option<f64> {
        let lie = ((middle_mm + self.half_mm) / LIE_MM).round();
        if lie < 0.0 {
            return None;
        }
        let over = self.lies.get(lie as usize)?;
        // The bend is where it is: the place is taken from it, not from the pad's own middle.
        let taken_mm = lie * LIE_MM - self.half_mm;
        Some(over.pressure_pa(place_mm - taken_mm, y_mm))
    }

    /// What a stroke along the line leaves at a place across it, more than on a flat panel.
    fn more(&self, rubbing: &Rubbing<'_>, stroke_mm: f64, place_mm: f64) -> Left {
        let across_mm = place_mm - stroke_mm;
        if across_mm.abs() > rubbing.reach_mm() || stroke_mm.abs() > self.half_mm + rubbing.orbit_mm {
            return Left::default();
        }
        let over = rubbing.along(across_mm, |instant, x_mm, y_mm| {
            let middle_mm = stroke_mm + rubbing.instants[instant].across_mm;
            self.pressure_pa(middle_mm, place_mm, y_mm).unwrap_or_else(|| rubbing.flat.pressure_pa(x_mm, y_mm))
        });
        let flat = rubbing.flat(across_mm);
        Left { slid: over.slid - flat.slid, time_mm: 0.0 }
    }

    /// What is taken at a place across the line, in times what is taken there on a flat panel, with a stroke along it `phase` of the strokes' distance from it.
    pub(super) fn gain(&self, rubbing: &Rubbing<'_>, phase: f64, place_mm: f64) -> f64 {
        let apart_mm = rubbing.apart_mm();
        let felt_mm = self.half_mm + rubbing.orbit_mm;
        let count = (felt_mm / apart_mm).ceil() as i32 + 1;
        let along: Left = (-count..=count).map(|i| self.more(rubbing, (f64::from(i) + phase) * apart_mm, place_mm)).sum();
        let steps = (felt_mm / WAY_MM).ceil() as i32;
        let across: Left = (-steps..=steps).map(|i| self.more(rubbing, f64::from(i) * WAY_MM, place_mm)).sum();
        1.0 + ALONG * rubbing.of_middle(along, apart_mm).slid + (1.0 - ALONG) * rubbing.of_middle(across, WAY_MM).slid
    }

    pub(super) fn profile(&self, rubbing: &Rubbing<'_>, phase: f64) -> Table {
        let count = ((self.half_mm + rubbing.orbit_mm + rubbing.reach_mm()) / PROFILE_STEP_MM).ceil() as i32;
        let values = (-count..=count).map(|i| self.gain(rubbing, phase, f64::from(i) * PROFILE_STEP_MM).max(0.0)).collect();
        Table { from_mm: -f64::from(count) * PROFILE_STEP_MM, step_mm: PROFILE_STEP_MM, values }
    }
}
