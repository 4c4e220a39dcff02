//! Pictures as arrays of numbers.

mod plane;

pub use plane::{Plane, PlaneError};
