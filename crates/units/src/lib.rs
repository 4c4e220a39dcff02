//! Film thicknesses as types, read and written in the person's unit.
//!
//! A [`Thickness`] is where a film stands, a [`Removal`] is the difference of two: thicknesses are not added to each other,
//! removals are. Both hold micrometres and are never NaN.

mod entered;
mod length;
mod number;
mod plausible;
mod thickness;

pub use entered::{Entered, EntryError};
pub use length::{Unit, UnknownUnit};
pub use number::{NumberError, Written, read_number};
pub use plausible::{Expected, Implausible, SINGLE_COAT, VEHICLE_BUILD, implausible};
pub use thickness::{OutOfRange, Printed, Removal, Thickness};
