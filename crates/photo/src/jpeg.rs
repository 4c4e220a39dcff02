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
const MOST_PASSES: usize = 64;

pub(crate) fn decode(bytes: &[u8], limits: Limits) -> Result<(Stored, Orientation), PhotoError> {
    let Coded { picture, passes, exif } = coded(bytes).ok_or(PhotoError::Cut)?;
    if let Some(passes) = passes {
        passes.check()?;
    }
    let options =
        DecoderOptions::default().set_strict_mode(true).set_max_width(usize::from(u16::MAX)).set_max_height(usize::from(u16::MAX));
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(picture), options);
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
    decoder.set_options(options.jpeg_set_out_colorspace(colours));
    let pixels = decoder.decode().map_err(of_decoder)?;
    drop(decoder);
    let mut stored = Stored::dark(width, height)?;
    stored.put(0, 1, &pixels, layout)?;
    Ok((stored, exif.map(Orientation::of_exif).unwrap_or_default()))
}

/// What is coded in a file, up to the picture's end. What cameras append (a video, a second picture) lies behind.
struct Coded<'f> {
    /// The picture without the segments that say something about it: the decoder would gather them, in a time that grows with their square.
    ///
    /// Of a picture that is not progressive the marker of the end, EOI, is left out. Where a picture was cut and closed by such a marker,
    /// the decoder takes what is missing for zeros and fills the picture with grey; where the bytes end, it says that they do. It reads 8
    /// bytes ahead, and so refuses a picture whose last row of blocks has fewer: at two bits a block it is narrower than 300 pixels.
    picture: Vec<u8>,
    /// The passes of a progressive one.
    passes: Option<Passes>,
    /// The first Exif block.
    exif: Option<&'f [u8]>,
}

/// None when the file ends before its picture does.
///
/// Markers (ITU-T T.81, table B.1) are an FF and a byte: FF 00 is a stuffed byte of coded data, further FFs fill, and all others but restarts
/// head a segment with its length.
fn coded(bytes: &[u8]) -> Option<Coded<'_>> {
    let mut picture = Vec::with_capacity(bytes.len());
    let mut exif = None;
    let mut passes = None;
    let (mut kept, mut at) = (0, 2);
    loop {
        at += bytes.get(at..)?.iter().position(|byte| *byte == 0xFF)?;
        let marker = *bytes.get(at + 1)?;
        match marker {
            0xFF => at += 1,
            0x00 | 0x01 | 0xD0..=0xD8 => at += 2,
            0xD9 => break,
            _ => {
                let (length, rest) = bytes.get(at + 2..)?.split_first_chunk()?;
                let end = at + 2 + usize::from(u16::from_be_bytes(*length));
                let content = rest.get(..(end - at).saturating_sub(4)).unwrap_or(rest);
                match marker {
                    0xC2 => passes = Some(Passes::of(content)),
                    0xDA => passes.iter_mut().for_each(|p: &mut Passes| p.add(content)),
                    0xE1 if exif.is_none() => exif = content.strip_prefix(b"Exif\0\0"),
                    _ => {}
                }
                // All notes but the one that says how colours are coded.
                if matches!(marker, 0xE0..=0xED | 0xEF | 0xFE) {
                    picture.extend(bytes.get(kept..at)?);
                    kept = end;
                }
                at = end;
            }
        }
    }
    picture.extend(bytes.get(kept..if passes.is_some() { at + 2 } else { at })?);
    Some(Coded { picture, passes, exif })
}

/// How many passes a progressive picture has, and which coefficients of the first component, the luma, they bring to their last bit
/// (ITU-T T.81, G.1). Without the last of them a picture shows less than was in it, and would look free of fine marks. One that was cut within
/// its last pass and then closed goes unnoticed.
struct Passes {
    component: Option<u8>,
    /// A bit for each of the 64.
    whole: u64,
    count: usize,
}

impl Passes {
    /// None so far of a picture with this frame header: after its sides come the number of components and the first one's name.
    fn of(frame: &[u8]) -> Self {
        Self { component: frame.get(6).copied(), whole: 0, count: 0 }
    }

    /// With a pass of this header: components, first and last coefficient, and in the lower half of the last byte the bits still to come.
    fn add(&mut self, scan: &[u8]) {
        self.count += 1;
        let Some((count, rest)) = scan.split_first() else { return };
        let Some((components, [from, to, bits])) = rest.split_at_checked(2 * usize::from(*count)) else { return };
        if bits & 0xF == 0 && components.iter().step_by(2).any(|name| Some(*name) == self.component) {
            self.whole |= (*from..=*to).take(64).fold(0, |whole, k| whole | 1 << (k % 64));
        }
    }

    /// Too many are damage; too few, and the picture was cut.
    fn check(&self) -> Result<(), PhotoError> {
        if self.count > MOST_PASSES {
            return Err(Coding::Jpeg.damaged(format!("{} passes over one picture, {MOST_PASSES} at most", self.count)));
        }
        if self.whole == u64::MAX { Ok(()) } else { Err(PhotoError::Cut) }
    }
}

fn of_decoder(error: DecodeErrors) -> PhotoError {
    match error {
        DecodeErrors::ExhaustedData => PhotoError::Cut,
        other => Coding::Jpeg.damaged(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_decoder_is_given_the_picture_without_notes_and_without_its_end() {
        let table = [0xFF, 0xDB, 0, 3, 7];
        let scan = [0xFF, 0xDA, 0, 2, 0x12, 0xFF, 0x00, 0x34, 0xFF, 0xD0, 0x56];
        let note = |marker: u8, content: &[u8]| [&[0xFF, marker, 0, content.len() as u8 + 2], content].concat();
        let start = [0xFF, 0xD8];
        let notes = [note(0xE0, b"one"), note(0xE1, b"Exif\0\0two"), note(0xE1, b"Exif\0\0three"), vec![0xFF]].concat();
        let appended = note(0xE1, b"behind");
        let file = [&start, notes.as_slice(), &table, &note(0xFE, b"\xFF\xD9"), &scan, &[0xFF, 0xD9], &appended].concat();
        let coded = coded(&file).unwrap();
        assert_eq!(coded.picture, [start.as_slice(), &[0xFF], &table, &scan].concat());
        assert_eq!(coded.exif, Some(b"two".as_slice()));
        assert!(coded.passes.is_none());
    }
}
