//! A job: the vehicle, what was measured on it, and what is wanted; what happened on it as events, and the job as a fold over them.

pub mod event;
pub mod fold;

pub mod bounds;
pub mod follow;
pub mod name;
mod not_done;
pub mod on_panel;
pub mod outline;
pub mod words;

pub use lastmicron_plan as plan;
pub use not_done::not_done;

use lastmicron_film::gauge::Substrate;
use lastmicron_look::gloss;
use lastmicron_plan::Car;

/// A job as it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Free text.
    pub title: String,
    /// A body from the library of outlines, or "custom".
    pub body: String,
    /// Year built.
    pub built: Option<i32>,
    /// Default for panels.
    pub substrate: Substrate,
    /// All that a plan is made from.
    pub car: Car,
    /// Readings of gloss, in the order taken; no plan is made from them.
    pub gloss: Vec<gloss::Reading>,
}
