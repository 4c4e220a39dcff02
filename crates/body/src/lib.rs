//! Bodies of vehicles, drawn from a handful of dimensions: panels, where one stands to work them, and a picture of the whole.
//!
//! [`Body::new`] takes a [`Kind`] and its [`Dimensions`]. Panels come in the order in which one walks round the vehicle, each as a job states it:
//! millimetres from its lower left, y upward, edges numbered anticlockwise from the corner nearest to the origin. [`Shape`]s are the same
//! panels, with glass, wheels and lamps, as they stand in five [`View`]s. No outline is that of a maker's vehicle: all are invented.

mod body;
mod car;
mod curve;
mod dimensions;
mod draft;
mod error;
mod kind;
mod motorcycle;
mod outline;
mod panel;
mod shape;

pub use body::Body;
pub use dimensions::{Dimensions, Measure};
pub use error::BodyError;
pub use kind::Kind;
pub use panel::{BodyPanel, Stand};
pub use shape::{Part, Shape, View};
