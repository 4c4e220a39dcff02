//! Why an event can't be used.

use lastmicron_polish::transfer::UseError;
use lastmicron_units::{EntryError, Implausible, NumberError};

use crate::event::Id;

/// Why an event can't be used. It stays in the record all the same.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Reason {
    /// A name or a word that stands for nothing here.
    #[error("'{word}' is not a {what} known in this job")]
    Unknown {
        /// What it was taken for.
        what: &'static str,
        /// The word.
        word: String,
    },
    /// A text that is no number.
    #[error("{key}: {source}")]
    Number {
        /// The field.
        key: &'static str,
        /// Why not.
        source: NumberError,
    },
    /// A text that is no film.
    #[error(transparent)]
    Film(#[from] EntryError),
    /// A number beyond what makes sense.
    #[error("{key}: {found} makes no sense here: it must be {wanted}")]
    Range {
        /// The field.
        key: &'static str,
        /// The number.
        found: String,
        /// What is needed.
        wanted: &'static str,
    },
    /// A name that can't be used.
    #[error("'{name}' can't be a name: {why}")]
    Name {
        /// The name.
        name: String,
        /// Why not.
        why: &'static str,
    },
    /// Fields that exclude each other, or of which one is needed.
    #[error("give {0}")]
    OneOf(&'static str),
    /// An outline that encloses nothing or crosses itself.
    #[error("this is no panel's outline: {0}")]
    Outline(String),
    /// A body line of one point.
    #[error("this is no body line: one point has no direction; list at least two")]
    LineOfOnePoint,
    /// A place or a rectangle off its panel.
    #[error("({x_mm}, {y_mm}) is not on '{panel}'")]
    OffPanel {
        /// The place, or the rectangle's corner.
        x_mm: f64,
        /// The place, or the rectangle's corner.
        y_mm: f64,
        /// The panel.
        panel: String,
    },
    /// An edge or a body line that a panel doesn't have.
    #[error("'{panel}' has no {what} {number}: it has {count}, numbered from 0")]
    NotOfPanel {
        /// `edge` or `body line`.
        what: &'static str,
        /// Its number.
        number: u32,
        /// How many there are.
        count: usize,
        /// The panel.
        panel: String,
    },
    /// A reading that the gauge can't have taken.
    #[error("'{panel}' is {substrate}, which neither a magnetic nor an eddy-current gauge reads through")]
    Unreadable {
        /// The panel.
        panel: String,
        /// What it is made of.
        substrate: &'static str,
    },
    /// A number that can't be meant in its unit.
    #[error("{0}")]
    Unit(Implausible),
    /// A film thinner than the foil it was read through.
    #[error("{reading_um} um is less than the {through_um} um of film left under the probe")]
    BelowFoil {
        /// The reading.
        reading_um: f64,
        /// The foil.
        through_um: f64,
    },
    /// A process that leads back to itself.
    #[error("'{0}' can't be followed by '{1}': that leads back to '{0}' and never ends")]
    Circle(String, String),
    /// A machine and a pad that can't be used so.
    #[error("no set can be worked so: {0}")]
    Use(UseError),
    /// More panels than a vehicle has.
    #[error("there are {0} panels already")]
    TooMany(usize),
    /// A striking-out of what isn't there.
    #[error("there is no event {0} before this one to strike out")]
    NoEvent(Id),
}

/// An event that can't be used.
#[derive(Clone, Debug, PartialEq)]
pub struct Unusable {
    /// The event.
    pub event: Id,
    /// Why.
    pub why: Reason,
}

/// What a job can't be planned without.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Lacking {
    /// The vehicle.
    #[error("state the vehicle")]
    Vehicle,
    /// Panels.
    #[error("add the panels")]
    Panels,
    /// The gauge.
    #[error("state the gauge: its maker's accuracy and its repeatability")]
    Gauge,
    /// Processes.
    #[error("add at least one process")]
    Processes,
    /// Floor, risk and goal.
    #[error("agree on the floor, the risk and the goal")]
    Terms,
}
