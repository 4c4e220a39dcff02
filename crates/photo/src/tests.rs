//! Files are made here, byte by byte where it matters. They are small: the limits of the number of pixels are an argument within the crate.

mod made_jpeg;
mod made_png;
mod made_tiff;
mod made_webp;

mod hostile;
mod limits;
mod mutations;
mod upright;
mod values;

use crate::error::PhotoError;
use crate::photograph::Photograph;
use crate::read::{Limits, read_within};

/// Any size up to 100 x 100 pixels.
const SMALL: Limits = Limits { least_side: 1, least_pixels: 1, most_pixels: 10_000, most_bytes: 1 << 20 };

fn read_small(bytes: &[u8]) -> Result<Photograph, PhotoError> {
    read_within(bytes, SMALL)
}

/// The same in a file of more bytes, which are not pixels.
fn read_small_of_many_bytes(bytes: &[u8]) -> Result<Photograph, PhotoError> {
    read_within(bytes, Limits { most_bytes: 10 << 20, ..SMALL })
}

/// What is said of a file that is refused.
fn refusal(bytes: &[u8]) -> String {
    read_small(bytes).map_or_else(|refused| refused.to_string(), |_| "it is read".to_owned())
}

const CUT: &str = "the file ends before its picture does, so that a part is missing: copy it from the camera again";
