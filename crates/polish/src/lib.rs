//! What a process takes: sets, rates, scatter, and the gain at edges.

mod process;

pub use process::{Belief, EdgeGain, Hardness, Process, Scatter, Step};
