//! WebP pictures.

use std::io::{Cursor, ErrorKind};

use image_webp::{DecodingError, WebPDecoder};

use crate::error::{Coding, PhotoError};
use crate::light::{Layout, Stored};
use crate::orientation::Orientation;
use crate::read::Limits;

/// The largest chunk beside the pixels that is read, bytes. Judgement: a camera's notes with a thumbnail take a few hundred kilobytes; a longer
/// chunk than this is not looked at for the orientation.
const MEMORY_BYTES: usize = 16 << 20;

pub(crate) fn decode(bytes: &[u8], limits: Limits) -> Result<(Stored, Orientation), PhotoError> {
    let bytes = whole(bytes).ok_or(PhotoError::Cut)?;
    let mut decoder = WebPDecoder::new(Cursor::new(bytes)).map_err(of_decoder)?;
    let (width, height) = decoder.dimensions();
    let [width, height] = [width as usize, height as usize];
    limits.check(width, height)?;
    if decoder.is_animated() {
        return Err(PhotoError::Animation { coding: Coding::WebP });
    }
    // The decoder compares the two only after it has decoded a lossy picture, which may be far larger than the header says.
    if lossy_size(bytes).is_some_and(|size| size != [width, height]) {
        return Err(Coding::WebP.damaged("two sizes of one picture"));
    }
    decoder.set_memory_limit(MEMORY_BYTES);
    let orientation = decoder.exif_metadata().ok().flatten().map(|block| Orientation::of_exif(&block)).unwrap_or_default();
    let layout = if decoder.has_alpha() { Layout::Rgba8 } else { Layout::Rgb8 };
    let mut pixels = vec![0; width * height * layout.bytes_per_pixel()];
    decoder.read_image(&mut pixels).map_err(of_decoder)?;
    let mut stored = Stored::dark(width, height)?;
    stored.put(0, 1, &pixels, layout)?;
    Ok((stored, orientation))
}

/// The file as long as its header says (RFC 9649, section 2.4); none when it is shorter.
fn whole(bytes: &[u8]) -> Option<&[u8]> {
    let size = u32::from_le_bytes(*bytes.get(4..)?.first_chunk()?);
    bytes.get(..usize::try_from(size).ok()?.checked_add(8)?)
}

/// Width and height in the header of the first lossy picture (RFC 6386, section 9.1: two numbers of 14 bits after a tag and a start code).
fn lossy_size(bytes: &[u8]) -> Option<[usize; 2]> {
    let mut chunks = bytes.get(12..)?;
    loop {
        let (name, rest) = chunks.split_first_chunk::<4>()?;
        let (length, rest) = rest.split_first_chunk::<4>()?;
        if name == b"VP8 " {
            let side = |at| Some(usize::from(u16::from_le_bytes(*rest.get(at..)?.first_chunk()?) & 0x3FFF));
            return Some([side(6)?, side(8)?]);
        }
        let length = usize::try_from(u32::from_le_bytes(*length)).ok()?;
        // A chunk of odd length is filled up by a byte.
        chunks = rest.get(length.checked_add(length % 2)?..)?;
    }
}

fn of_decoder(error: DecodingError) -> PhotoError {
    match error {
        DecodingError::IoError(e) if e.kind() == ErrorKind::UnexpectedEof => PhotoError::Cut,
        other => Coding::WebP.damaged(other),
    }
}
