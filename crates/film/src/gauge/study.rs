//! Gauge studies: how much of what readings vary is the gauge, its user and its day.

mod crossed;
mod nested;

pub use crossed::{Components, Part, Study, crossed};
pub use nested::{Check, Levels, nested};
