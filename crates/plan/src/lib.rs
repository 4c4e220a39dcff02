//! Which process to use where, how often, at what risk.

mod car;
mod choose;
mod error;
mod next;
mod outcome;

pub use car::{BodyLine, Car, CarPanel, Goal, Limits, Paint, Reading, System, Undercoat, Worked};
pub use choose::{Effort, plan};
pub use error::PlanError;
pub use next::{Advice, next};
pub use outcome::{Finding, Interval, KeepOff, Outcome, PanelFilm, PanelPlan, Plan, Rate, SectionPlan, Spread};
