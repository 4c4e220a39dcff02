//! What a process takes: sets, rates, scatter, and the gain at edges; machines and pads, how they move, press, rub and fill.

pub mod contact;
mod equipment;
pub mod heat;
pub mod library;
pub mod loading;
pub mod motion;
pub mod preston;
mod process;
mod removal;
pub mod stage;
pub mod straight_pass;
pub mod transfer;

pub use equipment::{Drive, Machine, Pad, PadEdge, Use};
pub use process::{Belief, EdgeGain, Hardness, Process, Scatter, Step};
pub use removal::{USUAL_EDGE_GAIN, USUAL_SCATTER};
