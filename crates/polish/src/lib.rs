//! What a process takes: sets, rates, scatter, and the gain at edges.

pub mod contact;
mod equipment;
pub mod heat;
pub mod motion;
pub mod preston;
mod process;
mod removal;
pub mod straight_pass;
pub mod transfer;

pub use equipment::{Drive, Machine, Pad, PadEdge, Use};
pub use process::{Belief, EdgeGain, Hardness, Process, Scatter, Step};
pub use removal::{USUAL_EDGE_GAIN, USUAL_SCATTER};
