//! Pictures as arrays of numbers.

mod hessian;
mod hysteresis;
mod kernel;
mod length;
mod mask;
mod plane;
pub mod polar;
#[cfg(test)]
mod published;
pub mod ridge;
mod skeleton;
mod smooth;
mod sweep;
mod tile;

pub use hessian::Hessian;
pub use hysteresis::hysteresis;
pub use kernel::SigmaError;
pub use length::{RidgeLength, Window, hiding_width, link_length, ridge_length};
pub use mask::Mask;
pub use plane::{Plane, PlaneError};
pub use skeleton::skeleton;
pub use smooth::smooth;
