//! What counts of defects say of their depths.

mod agree;
mod count;
mod depth;
pub mod gloss;
mod looks;
pub mod scratches;

pub use agree::{Disagreement, disagreements};
pub use count::{Count, Kind, Seen};
pub use depth::{DepthLaw, DepthModel};
pub use looks::{Look, looks};
