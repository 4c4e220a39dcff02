//! What is known of the paint film: panels, gauges, readings, and their joint posterior.
//!
//! This crate takes named unknowns with priors and each reading's coefficients on them. It does not know what a process is.

pub mod gauge;
pub mod grid;
pub mod panel;
pub mod survey;

mod draws;
mod hyper;
mod layout;
mod panel_system;
mod posterior;
mod prior;
mod undercoat;
mod wild;

pub use draws::{Draws, Expected, FilmDraws, UNDERCOATS};
pub use posterior::{FilmError, Moments, Posterior, WildReading};
pub use prior::believed_texture_um;
