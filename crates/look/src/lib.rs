//! What counts of defects say of their depths.

mod count;
mod depth;
pub mod gloss;
mod looks;
pub mod scratches;

pub use count::{Count, Kind, Seen};
pub use depth::{DepthLaw, DepthModel};
pub use looks::{Look, looks};
