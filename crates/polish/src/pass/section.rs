//! One section worked once, crosswise, the pad inside it.

use std::ops::Range;

use lastmicron_numerics::gp::{GpError, Grid};

use crate::equipment::{Machine, Pad, Use};
use crate::influence::{Influence, InfluenceError};
use crate::map::{MapError, RemovalMap, removal_map};
use crate::motion::Motion;
use crate::path::{Hatch, PathError, Section, section_path};
use crate::transfer::Exposure;

/// Longest step of the map, mm. Judgement: a pad of 125 mm spans 25 of them; finer shows a person no more.
const STEP_MM: f64 = 5.0;

/// Fewest steps in a pad.
const STEPS_IN_PAD: f64 = 12.0;

/// Depth that a set takes over a section.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionMap {
    /// Its side, mm.
    pub side_mm: f64,
    /// Time by the arm's speed, s.
    pub seconds: f64,
    /// Distance of nodes, mm.
    pub step_mm: f64,
    /// Nodes along each side.
    pub nodes: usize,
    /// Depths at the nodes.
    pub map: RemovalMap,
    /// Side of the middle, mm.
    middle_mm: f64,
}

/// Why no section can be worked.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoSection {
    /// The pad does not go in.
    #[error(
        "a pad of {diameter_mm} mm with its orbit spans {span_mm:.0} mm, as much as a section of {side_mm} mm or more: it can't be worked inside one"
    )]
    PadTooWide {
        /// Diameter of the pad, mm.
        diameter_mm: f64,
        /// With its orbit, mm.
        span_mm: f64,
        /// Side of a section, mm.
        side_mm: f64,
    },
    /// The pad's influence.
    #[error(transparent)]
    Influence(#[from] InfluenceError),
    /// The path.
    #[error(transparent)]
    Path(#[from] PathError),
    /// The grid.
    #[error(transparent)]
    Grid(#[from] GpError),
    /// The map.
    #[error(transparent)]
    Map(#[from] MapError),
}

impl SectionMap {
    /// The section worked once by a set that takes `set_um` in its middle.
    ///
    /// Method: strokes crosswise, the pad within the section, since its neighbours are worked over its sides. They lie a little closer than the overlap
    /// says, so that they end at its sides, which Preston's law alone would make more depth: but the rate was found on sections worked just so. The
    /// map is therefore scaled until the mean of [`SectionMap::middle`] is the set's depth.
    pub(super) fn of(machine: &Machine, pad: &Pad, used: &Use, exposure: &Exposure, set_um: f64) -> Result<Self, NoSection> {
        let motion = Motion::of(machine).map_err(InfluenceError::from)?;
        let influence = Influence::new(pad.diameter_mm, &motion, used.load_n, 1e-6 * set_um / exposure.pa_m())?;
        let inset_mm = influence.reach_mm();
        let side_mm = pad.section_mm();
        if 2.0 * inset_mm >= side_mm {
            return Err(NoSection::PadTooWide { diameter_mm: pad.diameter_mm, span_mm: 2.0 * inset_mm, side_mm });
        }
        let step_mm = side_mm / (side_mm / STEP_MM.min(pad.diameter_mm / STEPS_IN_PAD)).ceil();
        let within = Section { x_mm: 0.0, y_mm: 0.0, width_mm: side_mm, height_mm: side_mm }.inset(inset_mm);
        let path = section_path(within, pad.diameter_mm, used, Hatch::Crossed, step_mm)?;
        let grid = Grid::over(side_mm, side_mm, step_mm)?;
        let map = removal_map(&influence, &path, grid, None)?;
        let apart_mm = pad.diameter_mm * (1.0 - used.overlap);
        let mut section = Self {
            side_mm,
            seconds: path.iter().map(|stay| stay.seconds).sum(),
            step_mm,
            nodes: grid.nx(),
            map,
            middle_mm: (side_mm - 4.0 * inset_mm).max(apart_mm),
        };
        section.scale(set_um / section.middle_um());
        Ok(section)
    }

    /// Indices, along either side, of the nodes of the middle: what the strokes all reach, or at least what lies between two of them.
    #[must_use]
    pub fn middle(&self) -> Range<usize> {
        let is_inside = |node: &usize| (*node as f64 * self.step_mm - 0.5 * self.side_mm).abs() <= 0.5 * self.middle_mm;
        let first = (0..self.nodes).find(is_inside).unwrap_or(self.nodes / 2);
        first..(0..self.nodes).rfind(is_inside).unwrap_or(first) + 1
    }

    /// Mean depth in the section's middle, um.
    #[must_use]
    pub fn middle_um(&self) -> f64 {
        let rows = self.middle().filter_map(|row| self.map.depth_um.get(row * self.nodes..(row + 1) * self.nodes));
        let depths: Vec<f64> = rows.flat_map(|row| row.get(self.middle()).unwrap_or_default()).copied().collect();
        depths.iter().sum::<f64>() / depths.len() as f64
    }

    fn scale(&mut self, by: f64) {
        self.map.depth_um.iter_mut().for_each(|depth| *depth *= by);
        for of_all in [&mut self.map.mean_um, &mut self.map.min_um, &mut self.map.max_um] {
            *of_all *= by;
        }
    }
}
