//! Pictures as arrays of numbers.

mod hessian;
mod kernel;
mod plane;
#[cfg(test)]
mod published;
pub mod ridge;
mod smooth;
mod sweep;
mod tile;

pub use hessian::Hessian;
pub use kernel::SigmaError;
pub use plane::{Plane, PlaneError};
pub use smooth::smooth;
