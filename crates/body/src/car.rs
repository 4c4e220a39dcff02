//! Bodies on four wheels.
//!
//! A [`frame`] says where everything is along the vehicle; the sides, both ends and the view from above are drawn from it.

mod above;
mod arch;
mod ends;
mod frame;
mod sides;
mod style;

use crate::dimensions::Dimensions;
use crate::draft::Draft;
use crate::error::BodyError;
use crate::kind::Kind;

/// The body of that kind.
pub(crate) fn drawn(kind: Kind, dimensions: Dimensions) -> Result<Draft, BodyError> {
    let frame = frame::Frame::new(kind, &dimensions)?;
    let mut draft = Draft::new(frame.length, frame.width);
    // Order of the walk within one stand: bumper before bonnet, boot before rear bumper.
    ends::front(&frame, &mut draft);
    above::bonnet(&frame, &mut draft);
    sides::draw(&frame, &mut draft);
    above::rest(&frame, &mut draft);
    ends::rear(&frame, &mut draft);
    Ok(draft)
}
