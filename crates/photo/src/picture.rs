//! A picture in colours, written as PNG.

use png::{BitDepth, ColorType, Compression, Encoder, EncodingError};

/// Why there is no picture, or no file of it.
#[derive(Debug, thiserror::Error)]
pub enum PictureError {
    /// A size without pixels or beyond what a file can say, or pixels that don't fill it.
    #[error("a picture of {width} x {height} pixels can't be made of {pixels} pixels")]
    Size {
        /// Pixels across.
        width: usize,
        /// Pixels down.
        height: usize,
        /// Pixels given.
        pixels: usize,
    },
    /// A picture that can't be written.
    #[error("the picture can't be written as PNG")]
    Encoding(#[from] EncodingError),
}

/// A picture of 8 bits in each of red, green and blue.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    width: u32,
    height: u32,
    pixels: Vec<[u8; 3]>,
}

impl Picture {
    /// A picture of these pixels, row by row from the top left.
    ///
    /// # Errors
    /// [`PictureError::Size`] when there are none, or not as many as `width` times `height`.
    pub fn new(width: usize, height: usize, pixels: Vec<[u8; 3]>) -> Result<Self, PictureError> {
        let is_full = !pixels.is_empty() && width.checked_mul(height) == Some(pixels.len());
        match (u32::try_from(width), u32::try_from(height)) {
            (Ok(width), Ok(height)) if is_full => Ok(Self { width, height, pixels }),
            _ => Err(PictureError::Size { width, height, pixels: pixels.len() }),
        }
    }
}

/// The bytes of a PNG file: the picture and nothing beside it. They are the same for the same picture.
///
/// # Errors
/// [`PictureError::Encoding`] when the encoder fails.
pub fn write_png(picture: &Picture) -> Result<Vec<u8>, PictureError> {
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, picture.width, picture.height);
    encoder.set_color(ColorType::Rgb);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Fast);
    let mut writer = encoder.write_header()?;
    writer.write_image_data(picture.pixels.as_flattened())?;
    writer.finish()?;
    Ok(bytes)
}
