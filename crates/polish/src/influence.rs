//! What a pad takes at a distance from its mean centre, and its stencil on a grid.

use std::f64::consts::PI;

use lastmicron_numerics::superposition::{Stencil, SuperpositionError};

use crate::motion::{Motion, MotionError};
use crate::table::between;

/// Why a pad has no influence that can be computed with.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum InfluenceError {
    /// A pad without a size.
    #[error("a pad of {0} mm: its diameter must be a number above 0")]
    Diameter(f64),
    /// An orbit not smaller than the pad.
    #[error(transparent)]
    Motion(#[from] MotionError),
    /// No load.
    #[error("a load of {0} N: it must be a number above 0")]
    Load(f64),
    /// Preston's coefficient is not positive.
    #[error("a Preston coefficient of {0} per Pa: it must be a number above 0; clear coat is of the order of 1e-11")]
    Preston(f64),
    /// The pad does not move.
    #[error("neither orbit nor spin: a pad that stands still takes nothing")]
    Still,
    /// The grid is too fine for the pad, or no grid.
    #[error("a step of {step_mm} mm under a pad that reaches {reach_mm} mm: at most {MOST_STEPS} steps from its middle to its end")]
    Step {
        /// Step, mm.
        step_mm: f64,
        /// Radius of the pad and of its orbit together, mm.
        reach_mm: f64,
    },
    /// The stencil was refused.
    #[error(transparent)]
    Stencil(#[from] SuperpositionError),
}

/// Most steps from the middle of a pad to its end. Judgement: at a hundred the map is exact to 1e-4 at the rim; more costs time only.
const MOST_STEPS: usize = 600;

/// Intervals of the table of rates, in the middle and in the annulus each. Linear between them: within 1e-6 of the rate.
const INTERVALS: usize = 1024;

/// Depth a pad takes in a second at a distance from its mean centre, as Preston's law has it: uniform pressure F / (pi R^2), times the mean
/// speed there while it is covered, times the share of the time for which it is.
///
/// Source: Preston, The theory and design of plate glass polishing machines, J. Soc. Glass Tech. 11 (1927), from memory; speeds derived.
///
/// Weak: pressure is not uniform near edges, over lines, and under a pad that tilts; real removal is not exactly proportional to either factor.
#[derive(Clone, Debug)]
pub struct Influence {
    pad_mm: f64,
    orbit_mm: f64,
    /// um/s from the centre out to R - e, evenly; then out to R + e, evenly in the angle whose cosine is (R - rho) / e, in which it is smooth.
    middle: Vec<f64>,
    annulus: Vec<f64>,
    volume_um_mm2_s: f64,
}

impl Influence {
    /// The influence of a pad `diameter_mm` wide, moved as `motion` says under `load_n`, for a paint and polish with Preston's coefficient
    /// `preston_per_pa` (m of depth for each Pa and m of sliding).
    ///
    /// # Errors
    /// [`InfluenceError`] for what is not a number or out of range, and for a pad that stands still.
    pub fn new(diameter_mm: f64, motion: &Motion, load_n: f64, preston_per_pa: f64) -> Result<Self, InfluenceError> {
        let positive = |value: f64| value > 0.0 && value.is_finite();
        if !positive(diameter_mm) {
            return Err(InfluenceError::Diameter(diameter_mm));
        }
        if !positive(load_n) {
            return Err(InfluenceError::Load(load_n));
        }
        if !positive(preston_per_pa) {
            return Err(InfluenceError::Preston(preston_per_pa));
        }
        let (pad_mm, orbit_mm) = (diameter_mm / 2.0, motion.orbit_radius_mm());
        // m/s of depth for each m/s of sliding, in um/s.
        let depth_um = 1e6 * preston_per_pa * load_n / (PI * pad_mm * pad_mm * 1e-6);
        let rate = |rho_mm: f64| motion.under_pad(rho_mm, pad_mm).map(|under| depth_um * under.covered * under.speed.mean_m_s);
        let share = |i: usize| i as f64 / INTERVALS as f64;
        let middle = (0..=INTERVALS).map(|i| rate((pad_mm - orbit_mm) * share(i))).collect::<Result<Vec<f64>, MotionError>>()?;
        let at = |i: usize| (pad_mm - orbit_mm * (PI * share(i)).cos()).max(pad_mm - orbit_mm);
        let annulus =
            if orbit_mm > 0.0 { (0..=INTERVALS).map(|i| rate(at(i))).collect::<Result<Vec<f64>, MotionError>>()? } else { Vec::new() };
        let volume_um_mm2_s = 1e12 * preston_per_pa * load_n * motion.pad_mean(pad_mm)?.mean_m_s;
        if !(volume_um_mm2_s > 0.0 && volume_um_mm2_s.is_finite()) {
            return Err(InfluenceError::Still);
        }
        Ok(Self { pad_mm, orbit_mm, middle, annulus, volume_um_mm2_s })
    }

    /// The pad's diameter, mm.
    #[must_use]
    pub fn diameter_mm(&self) -> f64 {
        2.0 * self.pad_mm
    }

    /// Distance from the pad's mean centre beyond which it takes nothing, mm.
    #[must_use]
    pub fn reach_mm(&self) -> f64 {
        self.pad_mm + self.orbit_mm
    }

    /// What a pad takes in a second over its whole reach: depth times area, um mm^2 / s. It is k F v, v the pad's mean speed.
    #[must_use]
    pub const fn volume_um_mm2_s(&self) -> f64 {
        self.volume_um_mm2_s
    }

    /// Depth in a second `rho_mm` from the pad's mean centre, um/s.
    #[must_use]
    pub fn rate_um_s(&self, rho_mm: f64) -> f64 {
        let inner = self.pad_mm - self.orbit_mm;
        if rho_mm <= inner {
            between(&self.middle, rho_mm / inner)
        } else if rho_mm < self.reach_mm() {
            between(&self.annulus, ((self.pad_mm - rho_mm) / self.orbit_mm).clamp(-1.0, 1.0).acos() / PI)
        } else {
            0.0
        }
    }

    /// The influence on a grid, as means over cells.
    ///
    /// # Errors
    /// [`InfluenceError::Step`] for a step that is none, or so fine that the pad covers thousands of nodes a row.
    pub fn on_cells(&self, step_mm: f64) -> Result<Cells, InfluenceError> {
        let reach = self.reach_mm() / step_mm;
        if !(step_mm > 0.0 && reach <= MOST_STEPS as f64) {
            return Err(InfluenceError::Step { step_mm, reach_mm: self.reach_mm() });
        }
        let parts = if reach <= 75.0 {
            8
        } else if reach <= 150.0 {
            4
        } else {
            2
        };
        Ok(Cells::new(self, step_mm, parts))
    }
}

/// A pad's influence on the cells of a grid, for a centre on a node or a part of a step to the right of it and above.
///
/// A node stands for the square of one step around it, and has the mean depth over that square, so that what is taken is the same volume
/// wherever the centre is: the sum over the cells is k F v exactly. A square is made up of parts, in which the rate is summed at four points.
#[derive(Clone, Debug)]
pub struct Cells {
    /// Parts of a step.
    parts: usize,
    /// The pad's reach in steps.
    reach: f64,
    /// Rates in the parts of one quadrant, from its middle out.
    quadrant: Vec<f64>,
    /// Parts along each side of it.
    side: usize,
}

impl Cells {
    fn new(influence: &Influence, step_mm: f64, parts: usize) -> Self {
        let part_mm = step_mm / parts as f64;
        let side = (influence.reach_mm() / part_mm).ceil() as usize + 1;
        let point = |i: usize, sign: f64| part_mm * (i as f64 + 0.5 + sign * 0.5 / 3f64.sqrt());
        let mut quadrant = vec![0.0; side * side];
        for j in 0..side {
            for i in 0..=j {
                let four = [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)];
                let rate = four.map(|(a, b)| influence.rate_um_s(f64::hypot(point(i, a), point(j, b)))).iter().sum::<f64>() / 4.0;
                quadrant[j * side + i] = rate;
                quadrant[i * side + j] = rate;
            }
        }
        let volume = 4.0 * quadrant.iter().sum::<f64>() * part_mm * part_mm;
        if volume > 0.0 {
            quadrant.iter_mut().for_each(|rate| *rate *= influence.volume_um_mm2_s() / volume);
        } else {
            // Parts so large that none of their points is under the pad: all is taken in the four in the middle.
            quadrant[0] = influence.volume_um_mm2_s() / (4.0 * part_mm * part_mm);
        }
        Self { parts, reach: influence.reach_mm() / step_mm, quadrant, side }
    }

    /// Parts of a step at which centres are told apart.
    #[must_use]
    pub const fn parts(&self) -> usize {
        self.parts
    }

    /// The stencil in um/s for a centre `right` and `up` parts of a step from a node, each at most a whole step.
    ///
    /// # Errors
    /// [`InfluenceError::Stencil`] when it reaches too far.
    pub fn stencil(&self, [right, up]: [usize; 2]) -> Result<Stencil, InfluenceError> {
        let half = |shift: usize| (self.reach + 0.5).floor() as usize + usize::from(shift > 0);
        let (half_x, half_y) = (half(right), half(up));
        let parts = self.parts.cast_signed();
        // The first part of the cell of a node, counted from the centre.
        let first =
            |node: usize, half: usize, shift: usize| (node.cast_signed() - half.cast_signed()) * parts - shift.cast_signed() - parts / 2;
        let mut values = Vec::with_capacity((2 * half_x + 1) * (2 * half_y + 1));
        for j in 0..=2 * half_y {
            let rows = first(j, half_y, up)..first(j, half_y, up) + parts;
            for i in 0..=2 * half_x {
                let columns = first(i, half_x, right)..first(i, half_x, right) + parts;
                let sum: f64 = rows.clone().map(|row| columns.clone().map(|column| self.part(column, row)).sum::<f64>()).sum();
                values.push(sum / (parts * parts) as f64);
            }
            if right == 0 {
                // The same to the last bit from both ends, whichever way it was summed.
                let row = values.len() - (2 * half_x + 1);
                values.copy_within(row..row + half_x, row + half_x + 1);
                values[row + half_x + 1..].reverse();
            }
        }
        Ok(Stencil::new(half_x, half_y, values)?)
    }

    /// The rate in a part, counted from the centre.
    fn part(&self, column: isize, row: isize) -> f64 {
        let fold = |at: isize| if at < 0 { (-1 - at).unsigned_abs() } else { at.unsigned_abs() };
        let (i, j) = (fold(column), fold(row));
        if i < self.side && j < self.side { self.quadrant[j * self.side + i] } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rotary(spin_rpm: f64) -> Motion {
        Motion::new(0.0, 0.0, spin_rpm).unwrap()
    }

    fn orbital(spin_rpm: f64) -> Motion {
        Motion::new(7.5, 4800.0, spin_rpm).unwrap()
    }

    #[test]
    fn what_is_taken_in_the_plane_is_what_the_pad_takes() {
        // [D] the integral over the plane, by rings, is k F v.
        for motion in [rotary(1500.0), orbital(0.0), orbital(300.0), orbital(-600.0), orbital(4800.0)] {
            let influence = Influence::new(125.0, &motion, 40.0, 1e-11).unwrap();
            let n = 200_000;
            let step = influence.reach_mm() / f64::from(n);
            let rho = |i: u32| (f64::from(i) + 0.5) * step;
            let volume: f64 = (0..n).map(|i| 2.0 * PI * rho(i) * step * influence.rate_um_s(rho(i))).sum();
            assert!(
                (volume / influence.volume_um_mm2_s() - 1.0).abs() < 2e-5,
                "{motion:?}: {}",
                volume / influence.volume_um_mm2_s() - 1.0
            );
        }
    }

    #[test]
    fn every_stencil_takes_the_same_and_is_even_on_a_node() {
        let influence = Influence::new(125.0, &orbital(300.0), 40.0, 1e-11).unwrap();
        for step in [0.5, 2.0, 7.0, 80.0, 400.0, 9000.0] {
            let cells = influence.on_cells(step).unwrap();
            for shift in [[0, 0], [1, 0], [cells.parts() / 2, cells.parts() - 1], [cells.parts(), cells.parts()]] {
                let stencil = cells.stencil(shift).unwrap();
                let volume = stencil.values().iter().sum::<f64>() * step * step;
                assert!((volume / influence.volume_um_mm2_s() - 1.0).abs() < 1e-12, "{step} {shift:?}: {volume}");
                let even = stencil.values().chunks_exact(2 * stencil.half()[0] + 1).all(|row| row.iter().eq(row.iter().rev()));
                assert!(shift[0] != 0 || even);
            }
        }
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        let refused = |diameter, motion: Motion, load, preston| Influence::new(diameter, &motion, load, preston).err();
        assert_eq!(refused(0.0, rotary(1500.0), 40.0, 1e-11), Some(InfluenceError::Diameter(0.0)));
        let small = MotionError::OrbitLargerThanPad { orbit_radius_mm: 7.5, pad_radius_mm: 7.5 };
        assert_eq!(refused(15.0, orbital(0.0), 40.0, 1e-11), Some(InfluenceError::Motion(small)));
        assert_eq!(refused(125.0, rotary(1500.0), 0.0, 1e-11), Some(InfluenceError::Load(0.0)));
        assert_eq!(refused(125.0, rotary(1500.0), 40.0, -1.0), Some(InfluenceError::Preston(-1.0)));
        assert_eq!(refused(125.0, rotary(0.0), 40.0, 1e-11), Some(InfluenceError::Still));
        assert!(refused(f64::NAN, rotary(1500.0), 40.0, 1e-11).is_some());
        let influence = Influence::new(125.0, &rotary(1500.0), 40.0, 1e-11).unwrap();
        assert!(influence.on_cells(0.0).is_err() && influence.on_cells(0.01).is_err() && influence.on_cells(f64::NAN).is_err());
    }
}
