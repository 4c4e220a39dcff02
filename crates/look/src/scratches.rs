//! Scratches that a lamp lights up in a photograph, and what polishing has taken of them.

mod estimate;
mod finding;
mod line;
mod measured;
mod photograph;
mod trouble;

mod outstanding;
mod pair;
mod split;

mod lamp;
mod register;
mod rings;
mod sharpness;
mod tape;
mod unlike;
mod view;

mod fit;
mod likely;
mod model;
mod profile;
mod shot;

pub use estimate::Estimate;
pub use finding::Finding;
pub use line::{Line, LineError};
pub use measured::{Compared, Measured};
pub use outstanding::outstanding;
pub use pair::pair;
pub use photograph::Photograph;
pub use split::split;
pub use trouble::{Part, Trouble};
pub use view::Frame;
