//! What a process takes: sets, rates, scatter, and the gain at edges; machines and pads, how they move, press, rub and fill; and what a pad
//! takes on a path.

pub mod contact;
mod equipment;
pub mod heat;
pub mod influence;
pub mod library;
pub mod loading;
pub mod map;
pub mod motion;
pub mod near;
pub mod pass;
pub mod path;
pub mod preston;
mod process;
mod removal;
pub mod stage;
pub mod straight_pass;
mod table;
pub mod transfer;

pub use equipment::{Drive, Equipment, Machine, Pad, PadEdge, SECTION_MM, Use};
pub use process::{Belief, EdgeGain, Hardness, Process, Scatter, Step};
pub use removal::{USUAL_EDGE_GAIN, USUAL_SCATTER};
