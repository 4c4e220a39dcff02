//! A photograph read from the bytes of its file.

use lastmicron_raster::Plane;

use crate::content::Content;
use crate::error::PhotoError;
use crate::light::Stored;
use crate::orientation::{Orientation, turned};
use crate::photograph::Photograph;
use crate::{jpeg, png, webp};

/// Fewest pixels of a photograph that is measured on. Judgement: one megapixel over a hand's breadth of 100 mm is 0.1 mm a pixel, about as
/// wide as the marks that are looked for. With fewer allowed, previews sent by mistake would be measured and look free of marks; with more
/// asked for, cut-outs that are sharp enough would be refused.
pub const LEAST_PIXELS: usize = 1_000_000;

/// Fewest pixels each way. Judgement: a mark is measured along itself, on a patch of a few hundred pixels. With fewer allowed, strips would be
/// read on which nothing can be measured, and which take long to decode; with more asked for, a cut-out along an edge would be refused.
pub const LEAST_SIDE: usize = 300;

/// Most pixels of a photograph. Judgement: what is sold as 50 megapixels has up to 8192 x 6144, which is 50.3 million. With fewer allowed
/// such cameras would be refused; each million more costs 4 MB for the light and, while a JPEG is decoded, up to 9 MB more.
pub const MOST_PIXELS: usize = 51_000_000;

/// Most bytes of a file. Judgement: 50 megapixels of 8 bits take about 90 MB as PNG, the largest that is read here, and a quarter of that as
/// JPEG. With fewer allowed such a file would be refused; a larger file costs its size in memory, and time to decode.
pub const MOST_BYTES: usize = 100_000_000;

/// What a file may have.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Limits {
    pub(crate) least_side: usize,
    pub(crate) least_pixels: usize,
    pub(crate) most_pixels: usize,
    pub(crate) most_bytes: usize,
}

impl Limits {
    /// Looks at the size in a file's header, before any pixel is decoded.
    pub(crate) fn check(&self, width: usize, height: usize) -> Result<(), PhotoError> {
        match width.saturating_mul(height) {
            pixels if pixels > self.most_pixels => Err(PhotoError::TooManyPixels { width, height }),
            pixels if pixels < self.least_pixels || width.min(height) < self.least_side => Err(PhotoError::TooSmall { width, height }),
            _ => Ok(()),
        }
    }
}

/// A photograph, upright, from the bytes of a JPEG, PNG or WebP file. Its content says which of them it is.
///
/// # Errors
/// [`PhotoError`] when it is something else, is not whole, is damaged, is no photograph as a camera takes them, or has fewer
/// pixels than [`LEAST_PIXELS`] and [`LEAST_SIDE`] or more than [`MOST_PIXELS`].
pub fn read(bytes: &[u8]) -> Result<Photograph, PhotoError> {
    read_within(bytes, Limits { least_side: LEAST_SIDE, least_pixels: LEAST_PIXELS, most_pixels: MOST_PIXELS, most_bytes: MOST_BYTES })
}

pub(crate) fn read_within(bytes: &[u8], limits: Limits) -> Result<Photograph, PhotoError> {
    let (stored, orientation) = decode(bytes, limits)?;
    let Stored { width, height, light, clipped } = turned(stored, orientation)?;
    Ok(Photograph { light: Plane::new(width, height, light)?, clipped })
}

fn decode(bytes: &[u8], limits: Limits) -> Result<(Stored, Orientation), PhotoError> {
    if bytes.is_empty() {
        return Err(PhotoError::Empty);
    }
    let decode = match Content::of(bytes) {
        Content::Jpeg => jpeg::decode,
        Content::Png => png::decode,
        Content::WebP => webp::decode,
        Content::Heif => return Err(PhotoError::Heif),
        other => return Err(PhotoError::Other(other)),
    };
    if bytes.len() > limits.most_bytes {
        return Err(PhotoError::TooLarge { bytes: bytes.len() });
    }
    decode(bytes, limits)
}
