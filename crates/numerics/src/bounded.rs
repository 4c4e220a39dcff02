//! Least squares over x >= 0 under caps: minimise |A x - target|^2 / 2 over x >= 0 with A x <= cap.
//!
//! A has no negative entries, so that x = 0 is always allowed and less of anything lowers every A x.

mod active;
mod interior;
mod lattice;
mod problem;
mod rows;

pub use lattice::{Lattice, Touch};
pub use problem::{Bounded, BoundedError};
pub use rows::Rows;

#[cfg(test)]
mod tests;
