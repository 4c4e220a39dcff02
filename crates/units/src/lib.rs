//! Film thicknesses and lengths as types.
//!
//! A [`Thickness`] is where a film stands, a [`Removal`] is the difference of two: thicknesses are not added to each other,
//! removals are. Both hold micrometres and are never NaN.

mod length;
mod thickness;

pub use length::Unit;
pub use thickness::{OutOfRange, Removal, Thickness};
