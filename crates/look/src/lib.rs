//! What counts of defects say of their depths.

mod count;

pub use count::{Count, Kind, Seen};
