//! JPEG pictures.

use zune_jpeg::JpegDecoder;
use zune_jpeg::errors::DecodeErrors;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

use crate::error::{Coding, PhotoError};
use crate::light::{Layout, Stored};
use crate::orientation::Orientation;
use crate::read::Limits;

/// Most passes over the picture in a progressive file. Judgement: encoders make about 10, and no more than 30 can add anything that the
/// eye sees. A made-up file has thousands of empty ones, each of which costs a walk over all pixels.
const MOST_SCANS: usize = 64;

pub(crate) fn decode(bytes: &[u8], limits: Limits) -> Result<(Stored, Orientation), PhotoError> {
    let coded = coded_picture(bytes).ok_or(PhotoError::Cut)?;
    let options = DecoderOptions::default()
        .set_strict_mode(true)
        .set_max_width(usize::from(u16::MAX))
        .set_max_height(usize::from(u16::MAX))
        .jpeg_set_max_scans(MOST_SCANS);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(coded), options);
    decoder.decode_headers().map_err(of_decoder)?;
    let (width, height) = decoder.dimensions().unwrap_or_default();
    limits.check(width, height)?;
    let components = decoder.info().map(|info| info.components);
    let (colours, layout) = match (components, decoder.input_colorspace()) {
        (Some(1), _) => (ColorSpace::Luma, Layout::Grey8),
        (Some(3), Some(ColorSpace::YCbCr | ColorSpace::YCCK)) => (ColorSpace::YCbCr, Layout::YCbCr8),
        // Inks is what the decoder takes any picture for that says it was not transformed: with three components they are red, green, blue.
        (Some(3), Some(ColorSpace::RGB | ColorSpace::CMYK)) => (ColorSpace::RGB, Layout::Rgb8),
        _ => return Err(PhotoError::Inks),
    };
    let orientation = decoder.exif().map(|block| Orientation::of_exif(block)).unwrap_or_default();
    decoder.set_options(options.jpeg_set_out_colorspace(colours));
    let pixels = decoder.decode().map_err(of_decoder)?;
    drop(decoder);
    let mut stored = Stored::dark(width, height);
    stored.put(0, 1, &pixels, layout)?;
    Ok((stored, orientation))
}

/// The bytes up to the picture's end; none when the file ends before that. What cameras append (a film, a second picture) lies behind.
///
/// Of a picture that is not progressive the marker of the end, EOI, is left out. Where a picture was cut and closed by such a marker, the
/// decoder takes what is missing for zeros and fills the picture with grey; where the bytes end, it says that they do. It reads 8 bytes ahead,
/// and so refuses a picture whose last row of blocks has fewer: at two bits a block it is narrower than 300 pixels. A progressive one is
/// decoded with its EOI alone: one that was cut and closed passes, with less detail.
///
/// Markers (ITU-T T.81, table B.1) are an FF and a byte: FF 00 is a stuffed byte of coded data, further FFs fill, and all others but restarts
/// head a segment with its length.
fn coded_picture(bytes: &[u8]) -> Option<&[u8]> {
    let mut is_progressive = false;
    let mut at = 2;
    loop {
        at += bytes.get(at..)?.iter().position(|byte| *byte == 0xFF)?;
        match *bytes.get(at + 1)? {
            0xFF => at += 1,
            0x00 | 0x01 | 0xD0..=0xD8 => at += 2,
            0xD9 => return bytes.get(..if is_progressive { at + 2 } else { at }),
            marker => {
                is_progressive |= marker == 0xC2;
                at += 2 + usize::from(u16::from_be_bytes([*bytes.get(at + 2)?, *bytes.get(at + 3)?]));
            }
        }
    }
}

fn of_decoder(error: DecodeErrors) -> PhotoError {
    match error {
        DecodeErrors::ExhaustedData => PhotoError::Cut,
        other => Coding::Jpeg.damaged(other),
    }
}
