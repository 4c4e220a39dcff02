//! What a posterior of the film is made from: panels, unknowns with priors, and each reading's coefficients on them.

use lastmicron_numerics::mixture::Prior;

use crate::gauge::{Gauge, Layer};
use crate::panel::Panel;

/// A panel, and how its undercoat relates to the vehicle's.
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    /// Outline and edges.
    pub panel: Panel,
    /// Its undercoat.
    pub undercoat: PanelUndercoat,
}

/// How a panel's undercoat relates to the vehicle's.
#[derive(Clone, Debug, PartialEq)]
pub enum PanelUndercoat {
    /// The vehicle's, and an offset about it.
    About {
        /// Standard deviation of panels about the vehicle's, um.
        sd_um: f64,
    },
    /// Its own, um, whatever the vehicle's.
    Own(Prior),
}

/// An unknown that readings depend on linearly, beside the film's own: the rate of a process, say.
#[derive(Clone, Debug, PartialEq)]
pub struct Unknown {
    /// What it is.
    pub name: String,
    /// What is believed of it before any reading.
    pub prior: Prior,
}

/// One reading, as the film model needs it.
#[derive(Clone, Debug, PartialEq)]
pub struct Observation {
    /// Index of the panel.
    pub panel: usize,
    /// Place, mm.
    pub place_mm: [f64; 2],
    /// What the gauge showed, less what lay under the probe on purpose, um.
    pub value_um: f64,
    /// Which film that is.
    pub layer: Layer,
    /// Index of the gauge.
    pub gauge: usize,
    /// Readings of one gauge with the same session share its offset and gain.
    pub session: usize,
    /// Film taken at that place before the reading: the sum of coefficient x unknown, um.
    pub removed: Vec<(usize, f64)>,
}

/// All that a posterior of the film is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct Survey {
    /// The panels.
    pub surfaces: Vec<Surface>,
    /// The vehicle's undercoat, um.
    pub undercoat: Prior,
    /// The gauges.
    pub gauges: Vec<Gauge>,
    /// Unknowns beside the film's own.
    pub unknowns: Vec<Unknown>,
    /// The readings.
    pub observations: Vec<Observation>,
}
