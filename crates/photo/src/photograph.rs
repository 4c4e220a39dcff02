//! What is kept of a photograph.

use lastmicron_raster::{Mask, Plane};

/// A photograph as it is seen upright: how light each pixel is, and where that can't be said.
///
/// Nothing else is kept. There is no field for where, when, by whom and with what it was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Photograph {
    /// Light of each pixel: luma Y' = 0.299 R' + 0.587 G' + 0.114 B' of the stored values, from 0 to 255 (ITU-T T.871, section 7: the luma that
    /// a JPEG holds, so that halved chroma adds nothing to its noise). 16 bits are brought to the same scale.
    ///
    /// The stored values are taken as proportional to light, which they are not over the whole scale: a camera bends it for the eye. Differences
    /// between neighbours are proportional to a difference of light wherever both are nearly as light; ratios over the whole scale mean nothing.
    pub light: Plane,
    /// Pixels of which a channel is at the top of its scale, so that there may have been more light than the number says.
    pub clipped: Mask,
}
