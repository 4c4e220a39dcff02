//! All that one set of a machine and a pad does: to a flat section, near an edge, near lines, to the panel's warmth and to the pad itself.
//!
//! The rate, what one set takes in the middle of a section, comes in as a belief; how that is shared out follows from motion, contact and path as
//! they stand in this crate, and is as weak as they are.

mod findings;
mod section;

pub use findings::{PadFinding, Seat, pad_findings};
pub use section::{NoSection, SectionMap};

use crate::contact::ContactError;
use crate::equipment::{Machine, Pad, Use};
use crate::heat::{HeatError, Material, Warming};
use crate::loading::{LoadingError, Residue};
use crate::near::{Near, NearError, Profile};
use crate::preston::{above_0, from_0};
use crate::process::{Belief, Scatter};
use crate::transfer::{Exposure, UseError};

/// Half the span that holds a normal quantity 19 times in 20, in standard deviations \[C\].
pub const NINETEEN_IN_TWENTY: f64 = 1.96;

/// The range that holds a depth 19 times in 20, um, as of a log-normal quantity: it is never below nothing, and as likely too large as too small by a factor.
#[must_use]
pub fn range_um(depth: Belief) -> [f64; 2] {
    if depth.mean <= 0.0 {
        return [0.0; 2];
    }
    let variance = (depth.sd / depth.mean).powi(2).ln_1p();
    let median = depth.mean * (-0.5 * variance).exp();
    [-1.0, 1.0].map(|side| median * (side * NINETEEN_IN_TWENTY * variance.sqrt()).exp())
}

/// What one set does.
#[derive(Clone, Debug, PartialEq)]
pub struct Pass {
    /// Pressure, speed, and how long a place is under the pad.
    pub exposure: Exposure,
    /// Depth of one set in the middle of a section, um.
    pub set_um: Belief,
    /// Standard deviation of the depth over its mean, from place to place in the middle, by the strokes alone.
    pub unevenness: f64,
    /// Standard deviation of what panels, sections and strokes differ by, over the mean, all together.
    pub differs: f64,
    /// Side of the square that is worked at once, mm.
    pub section_mm: f64,
    /// A section worked once; why not, where it can't be.
    pub section: Result<SectionMap, NoSection>,
    /// Gain near an edge.
    pub edge: Profile,
    /// Gain near lines, each with its radius in mm.
    pub lines: Vec<(f64, Profile)>,
    /// How warm panels of each material get by one set.
    pub warming: [Warming; 3],
    /// What a section leaves on a clean pad.
    pub residue: Residue,
    /// Where the contact's model leaves its range.
    pub findings: Vec<PadFinding>,
}

/// A set that can't be worked.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum PassError {
    /// A use that removes nothing, or none.
    #[error(transparent)]
    Use(#[from] UseError),
    /// The depth of one set.
    #[error("a set that takes {0} um: it must be a number above 0")]
    Depth(f64),
    /// How sure that is.
    #[error("a standard deviation of {0} um: it must be a number from 0 up")]
    Doubt(f64),
    /// What panels and sections differ by.
    #[error("a scatter of {0}: it must be a share from 0 up")]
    Scatter(f64),
    /// The gain near an edge or a line.
    #[error(transparent)]
    Near(#[from] NearError),
    /// The contact.
    #[error(transparent)]
    Contact(#[from] ContactError),
    /// The panel's warmth.
    #[error(transparent)]
    Heat(#[from] HeatError),
    /// The pad's residue.
    #[error(transparent)]
    Loading(#[from] LoadingError),
}

impl Pass {
    /// What one set does that takes `set_um` in the middle of a section, near lines of these radii (mm), where panels and sections differ by `scatter`.
    ///
    /// Method: [`Near`] for edges, lines and evenness; the section as [`SectionMap`] says.
    ///
    /// # Errors
    /// [`PassError`] for a machine, pad, use, depth or radius that is none. A pad wider than a section is no error: the rest holds without one.
    pub fn of(
        machine: &Machine,
        pad: &Pad,
        used: &Use,
        set_um: Belief,
        scatter: Scatter,
        line_radii_mm: &[f64],
    ) -> Result<Self, PassError> {
        let exposure = Exposure::of(machine, pad, used)?;
        above_0(set_um.mean, PassError::Depth)?;
        from_0(set_um.sd, PassError::Doubt)?;
        let differs = from_0(scatter.panel.hypot(scatter.section), PassError::Scatter)?;
        let near = Near::of(machine, pad, used)?;
        let lines = line_radii_mm.iter().map(|radius_mm| Ok((*radius_mm, near.line(*radius_mm)?)));
        let lines = lines.collect::<Result<Vec<(f64, Profile)>, NearError>>()?;
        let section = SectionMap::of(machine, pad, used, &exposure, set_um.mean);
        let warming = |material: Material| Warming::of(material, pad, used, &exposure, 1);
        let unevenness = near.unevenness();
        Ok(Self {
            unevenness,
            differs: differs.hypot(unevenness),
            edge: near.edge()?,
            lines,
            section_mm: pad.section_mm(),
            section,
            warming: [warming(Material::Steel)?, warming(Material::Aluminium)?, warming(Material::Plastic)?],
            residue: Residue::of(pad.diameter_mm, (pad.section_mm() / 1000.0).powi(2), set_um.mean)?,
            findings: pad_findings(pad, used, line_radii_mm)?,
            exposure,
            set_um,
        })
    }

    /// What one set takes at a place with this gain, on one section of one panel, um: rate, gain, and what panels, sections and strokes differ by,
    /// independently \[D\].
    #[must_use]
    pub fn depth_um(&self, gain: Belief) -> Belief {
        let times = (1.0 + gain.mean).max(0.0);
        let mean = self.set_um.mean * times;
        Belief { mean, sd: (self.set_um.sd * times).hypot(self.set_um.mean * gain.sd).hypot(self.differs * mean) }
    }
}

#[cfg(test)]
mod tests;
