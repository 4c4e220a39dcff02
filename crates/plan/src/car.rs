//! All that a plan is made from.

use lastmicron_film::gauge::{Gauge, Layer};
use lastmicron_film::panel::{Panel, distance_to_segment_mm};
use lastmicron_look::Count;
use lastmicron_polish::{EdgeGain, Equipment, Hardness, Process, Scatter, Step};
use lastmicron_units::{Removal, Thickness};

use crate::kept_off::KeptOff;
use crate::through::GoneThrough;

/// How the paint is built up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum System {
    /// One pigmented topcoat.
    SingleStage,
    /// Lacquer in many thin coats.
    Lacquer,
    /// Colour under a clear coat.
    BaseClear,
    /// Two colour coats under a clear coat.
    TriCoat,
    /// Not stated.
    Unknown,
}

/// All under the topcoat: the vehicle's mean and the panels about it, um.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Undercoat {
    /// The vehicle's mean.
    pub mean_um: f64,
    /// How sure that is: scale of a Student's t with 4 degrees of freedom.
    pub sd_um: f64,
    /// Spread of panels about it; the method's default when not stated.
    pub panel_sd_um: Option<f64>,
}

/// The paint as stated in the job.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paint {
    /// How it is built up.
    pub system: System,
    /// What lies under the topcoat; the system's published range when not stated.
    pub undercoat: Option<Undercoat>,
    /// How easily it marks.
    pub hardness: Option<Hardness>,
    /// Flake in single-stage paint, which must not be abraded like a solid colour.
    pub metallic: bool,
}

/// A body line or a crown across a panel.
#[derive(Clone, Debug, PartialEq)]
pub struct BodyLine {
    /// Its course, mm.
    pub points_mm: Vec<[f64; 2]>,
    /// Radius of the bend, mm.
    pub radius_mm: f64,
}

impl BodyLine {
    /// Distance from a place to the line, mm; infinite for a line without two points.
    #[must_use]
    pub fn distance_mm(&self, place_mm: [f64; 2]) -> f64 {
        let legs = self.points_mm.windows(2).map(|leg| distance_to_segment_mm(place_mm, leg[0], leg[1]));
        legs.fold(f64::INFINITY, f64::min)
    }
}

/// Radii of the body lines of some panels, mm, each once and in ascending order.
pub fn line_radii_mm<'a>(panels: impl IntoIterator<Item = &'a CarPanel>) -> Vec<f64> {
    let mut radii_mm: Vec<f64> = panels.into_iter().flat_map(|panel| &panel.lines).map(|line| line.radius_mm).collect();
    radii_mm.sort_by(f64::total_cmp);
    radii_mm.dedup();
    radii_mm
}

/// A panel and what the job says of it.
#[derive(Clone, Debug, PartialEq)]
pub struct CarPanel {
    /// Name, outline and substrate.
    pub panel: Panel,
    /// Where the panel differs from the car.
    pub undercoat: Option<Undercoat>,
    /// Where the panel differs from the car.
    pub hardness: Option<Hardness>,
    /// Where the panel differs from the car.
    pub metallic: Option<bool>,
    /// How much the eye cares, 1 as a rule: the goal is weighted by it.
    pub visibility: f64,
    /// False for what must stay as it is.
    pub work: bool,
    /// Body lines across it.
    pub lines: Vec<BodyLine>,
    /// Where its topcoat was gone through.
    pub gone_through: Vec<GoneThrough>,
}

/// What may not be passed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Least topcoat to leave anywhere.
    pub floor: Thickness,
    /// Most chance, over the whole vehicle, that any worked place ends below the floor.
    pub risk: f64,
    /// Most to take anywhere at this visit, in the mean, gain included.
    pub spend: Option<Removal>,
    /// Most chance that any worked place reaches the undercoat.
    pub through_risk: Option<f64>,
}

/// What is wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Goal {
    /// Share of defects to remove.
    pub correction: f64,
    /// Hours to spend.
    pub hours: f64,
}

/// One reading of a gauge.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Index of the panel.
    pub panel: usize,
    /// Place, mm from the panel's lower left.
    pub x_mm: f64,
    /// Place, mm from the panel's lower left.
    pub y_mm: f64,
    /// What the gauge showed.
    pub value: Thickness,
    /// Which film that is.
    pub layer: Layer,
    /// What had been done at that very place before.
    pub after: Vec<Step>,
    /// Index of the gauge.
    pub gauge: usize,
    /// Offset and gain are common to readings of one gauge and session.
    pub session: String,
    /// Line of readings.csv, when it came from there.
    pub line: Option<usize>,
}

/// A rectangle that has been worked already.
#[derive(Clone, Debug, PartialEq)]
pub struct Worked {
    /// Index of the panel.
    pub panel: usize,
    /// Lower left corner, mm.
    pub x_mm: f64,
    /// Lower left corner, mm.
    pub y_mm: f64,
    /// Size, mm.
    pub width_mm: f64,
    /// Size, mm.
    pub height_mm: f64,
    /// What was done.
    pub after: Vec<Step>,
    /// What pads were kept off: places near it were not worked.
    pub kept_off: KeptOff,
}

/// All that a plan is made from: the vehicle, what was measured on it, and what is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Car {
    /// The panels, in the order of the job.
    pub panels: Vec<CarPanel>,
    /// The paint.
    pub paint: Paint,
    /// The gauges; the first is the one that readings name none of.
    pub gauges: Vec<Gauge>,
    /// The processes there are.
    pub processes: Vec<Process>,
    /// Machines and pads, and which process uses them how.
    pub equipment: Equipment,
    /// How much panels and sections differ in rate; the method's default when not stated.
    pub scatter: Option<Scatter>,
    /// Extra removal near edges; the method's default when not stated.
    pub edge: Option<EdgeGain>,
    /// What may not be passed.
    pub limits: Limits,
    /// What is wanted.
    pub goal: Goal,
    /// The survey, the test spots and the readings taken while working.
    pub readings: Vec<Reading>,
    /// What has been worked already.
    pub worked: Vec<Worked>,
    /// Defects counted on test spots.
    pub counts: Vec<Count>,
}
