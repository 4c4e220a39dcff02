//! Which process to use where, how often, at what risk.

pub mod climate;
pub mod noise;
pub mod survey;
pub mod taken;
pub mod vibration;

mod alike;
mod before;
mod car;
mod chance;
mod choose;
mod chosen;
mod drawn;
mod error;
#[cfg(test)]
mod example;
mod fit;
mod gain;
mod hazard;
mod kept_off;
mod kept_off_words;
mod knowledge;
mod levels;
mod next;
mod outcome;
mod pad_work;
mod paint;
mod panel_room;
mod patch;
mod problem;
mod rates;
mod report;
mod room;
mod search;
mod spot;
mod tape;
mod through;
mod tiling;
mod treatment;
mod uses;

pub use alike::{Alike, alike};
pub use car::{BodyLine, Car, CarPanel, Goal, Limits, Paint, Reading, System, Undercoat, Worked, line_radii_mm};
pub use chance::Chance;
pub use choose::{Effort, plan};
pub use error::PlanError;
pub use kept_off::KeptOff;
pub use kept_off_words::kept_off_in_words;
pub use next::{Advice, next};
pub use outcome::{Finding, Interval, KeepOff, KeepOffLine, Outcome, PanelFilm, PanelPlan, Plan, Rate, SectionPlan, Spread};
pub use pad_work::{HEAT_IS, PadWork, StandOff, material};
pub use rates::rates;
pub use report::sentences::RESPRAYED;
pub use spot::{OneMore, Trial, trial};
pub use tape::{Along, Tape, tape_in_words, tape_mm};
pub use through::GoneThrough;
