//! What kind of car to draw.

use lastmicron_film::gauge::{Gauge, Substrate};
use lastmicron_numerics::circulant::CirculantError;
use lastmicron_numerics::kernel::Family;
use lastmicron_plan::{Goal, Paint};
use lastmicron_polish::{EdgeGain, Equipment, Process, Scatter};
use lastmicron_units::OutOfRange;

use crate::{PhysicsError, Range, Tails};

/// A kind of car: what the job says of it, and what its truth is drawn from.
#[derive(Clone, Debug, PartialEq)]
pub struct Scenario {
    /// A short name.
    pub name: String,
    /// Its panels.
    pub panels: Panels,
    /// The paint as stated. The undercoat must be stated: the truth is drawn about it.
    pub paint: Paint,
    /// The gauge as stated.
    pub gauge: Gauge,
    /// The processes as stated, mildest first.
    pub processes: Vec<Process>,
    /// Scatter as stated.
    pub scatter: Option<Scatter>,
    /// What the job states of edges, and where the true gain there comes from.
    pub edges: Edges,
    /// What may not be passed.
    pub limits: StatedLimits,
    /// What is wanted.
    pub goal: Goal,
    /// Fewest and most survey readings a panel.
    pub readings: [usize; 2],
    /// What the truth is drawn from.
    pub truth: Drawn,
}

/// What a job states of what is taken near edges and lines, and where the truth comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Edges {
    /// It states a gain at edges, about which the true one is drawn.
    Stated(EdgeGain),
    /// It states machines, pads and uses, and no gain; the true ones are summed up from the physics.
    Worked(Workshop),
}

/// What cars are worked with, and what lies in the way.
#[derive(Clone, Debug, PartialEq)]
pub struct Workshop {
    /// Machines and pads, with a use for every process.
    pub equipment: Equipment,
    /// Chance that a panel has a body line from side to side.
    pub line: f64,
    /// Radii of body lines, mm, each as likely.
    pub radii_mm: Vec<f64>,
}

/// What may not be passed, in bare numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StatedLimits {
    /// Least topcoat to leave anywhere, um.
    pub floor_um: f64,
    /// Most chance, over the whole vehicle, that any worked place ends below the floor.
    pub risk: f64,
    /// Most to take anywhere, in the mean, um.
    pub spend_um: Option<f64>,
    /// Most chance that any worked place reaches the undercoat.
    pub through_risk: Option<f64>,
}

/// The panels of a car.
#[derive(Clone, Debug, PartialEq)]
pub enum Panels {
    /// These.
    Named(Vec<Sketch>),
    /// So many, fewest and most, of random size, all of steel.
    Any([usize; 2]),
}

/// A rectangular panel.
#[derive(Clone, Debug, PartialEq)]
pub struct Sketch {
    /// The trade's name of it.
    pub name: String,
    /// Size, mm, in whole steps of 25 mm.
    pub width_mm: f64,
    /// Size, mm, in whole steps of 25 mm.
    pub height_mm: f64,
    /// What is under the paint. Plastic gets no readings.
    pub substrate: Substrate,
    /// How much the eye cares.
    pub visibility: f64,
    /// False when it must stay as it is.
    pub work: bool,
    /// Whether it was painted again.
    pub history: History,
}

/// Whether a panel was painted again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum History {
    /// Never.
    Original,
    /// Yes, and the job does not say so.
    Resprayed,
    /// With the scenario's chance.
    Drawn,
}

/// What the truth of a car is drawn from. Films in um, lengths in mm, chances and coefficients of variation as shares.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawn {
    /// Centre of the vehicle's mean build.
    pub build_um: Range,
    /// Spread of the vehicle's mean about that.
    pub build_sd_um: f64,
    /// Spread of panels about the vehicle.
    pub panel_sd_um: f64,
    /// Standard deviation of the field within a panel.
    pub field_sd_um: Range,
    /// Its correlation length.
    pub length_mm: Range,
    /// Its smoothness, one of these.
    pub smoothness: Vec<Family>,
    /// How much longer the field is along x than along y.
    pub stretch: Range,
    /// How far the stated undercoat is off, beyond its stated sd.
    pub undercoat_shift_um: Range,
    /// Spread of panels' undercoats about the vehicle's.
    pub undercoat_panel_sd_um: f64,
    /// Tails of the vehicle's build and undercoat, of panels, and of rates.
    pub tails: Tails,
    /// Scatter of rates from panel to panel.
    pub rate_panel: f64,
    /// Scatter of rates from section to section.
    pub rate_section: f64,
    /// Scale of the defect depths (a Weibull law).
    pub defect_scale_um: Range,
    /// Its shape.
    pub defect_shape: Range,
    /// Chance that a panel thins towards its edges.
    pub thin_edge: f64,
    /// Chance that a panel was resprayed, where its history is drawn.
    pub respray: f64,
    /// Chance of a wild reading.
    pub wild: f64,
    /// Texture: scatter of readings that comes from never setting the probe down twice at the same place.
    pub texture_um: Range,
    /// Chance that a panel has a place without topcoat where the undercoat was read.
    pub bare: f64,
    /// Chance that such a place lacks some of the primers.
    pub bare_low: f64,
}

/// Why a scenario gives no car.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum ScenarioError {
    /// The truth is drawn about the stated undercoat, and none is stated.
    #[error("the scenario states no undercoat, about which the truth is drawn")]
    NoUndercoat,
    /// A film that can't be one.
    #[error(transparent)]
    Film(#[from] OutOfRange),
    /// A field that can't be drawn.
    #[error(transparent)]
    Field(#[from] CirculantError),
    /// Machines and pads that nothing can be worked with.
    #[error(transparent)]
    Physics(#[from] PhysicsError),
}

impl Scenario {
    /// The same kind of car at another limit of risk.
    #[must_use]
    pub fn with_risk(mut self, risk: f64) -> Self {
        self.limits.risk = risk;
        self
    }
}
