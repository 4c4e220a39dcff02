//! PNG pictures.

use std::io::{Cursor, ErrorKind};

use ::png::{BitDepth, ColorType, Decoder, DecodingError, Limits as Memory, Transformations};

use crate::error::{Coding, PhotoError};
use crate::light::{Layout, Stored};
use crate::orientation::Orientation;
use crate::read::Limits;

/// What the decoder may take beside the rows of pixels, bytes. Judgement: two rows of 65 thousand pixels of 8 bytes each and a megabyte of
/// camera's notes fit several times; a made-up file that asks for more is refused.
const MEMORY_BYTES: usize = 16 << 20;

pub(crate) fn decode(bytes: &[u8], limits: Limits) -> Result<(Stored, Orientation), PhotoError> {
    let mut decoder = Decoder::new_with_limits(Cursor::new(bytes), Memory { bytes: MEMORY_BYTES });
    // Texts and colour profiles may be packed a thousandfold, and nothing here looks at them.
    decoder.set_ignore_text_chunk(true);
    decoder.set_ignore_iccp_chunk(true);
    decoder.set_transformations(Transformations::EXPAND);
    let header = decoder.read_header_info().map_err(of_decoder)?;
    let [width, height] = [header.width as usize, header.height as usize];
    limits.check(width, height)?;
    let mut reader = decoder.read_info().map_err(of_decoder)?;
    if reader.info().animation_control.is_some() {
        return Err(PhotoError::Animation { coding: Coding::Png });
    }
    let layout = layout(reader.output_color_type()).ok_or_else(|| Coding::Png.damaged("a palette that was not resolved"))?;

    let mut stored = Stored::dark(width, height)?;
    let passes: &[Pass] = if reader.info().interlaced { &ADAM7 } else { &[WHOLE] };
    for pass in passes {
        for start in pass.row_starts(width, height) {
            let row = reader.next_row().map_err(of_decoder)?.ok_or(PhotoError::Cut)?;
            stored.put(start, pass.across, row.data(), layout)?;
        }
    }
    reader.finish().map_err(of_decoder)?;
    // An Exif block may stand behind the pixels.
    let orientation = reader.info().exif_metadata.as_ref().map(|block| Orientation::of_exif(block)).unwrap_or_default();
    Ok((stored, orientation))
}

/// Which pixels a pass over the picture brings: from column `x` and row `y`, every so many across and down.
struct Pass {
    x: usize,
    y: usize,
    across: usize,
    down: usize,
}

impl Pass {
    const fn new([x, y]: [usize; 2], [across, down]: [usize; 2]) -> Self {
        Self { x, y, across, down }
    }

    /// Where its rows begin, counted in the picture's rows one after another. A pass without a column has no rows.
    fn row_starts(&self, width: usize, height: usize) -> impl Iterator<Item = usize> {
        let rows = if self.x < width { height } else { 0 };
        (self.y..rows).step_by(self.down).map(move |y| y * width + self.x)
    }
}

/// A picture row by row.
const WHOLE: Pass = Pass::new([0, 0], [1, 1]);

/// The seven passes of an interlaced picture (ISO/IEC 15948, section 8.2).
const ADAM7: [Pass; 7] = [
    Pass::new([0, 0], [8, 8]),
    Pass::new([4, 0], [8, 8]),
    Pass::new([0, 4], [4, 8]),
    Pass::new([2, 0], [4, 4]),
    Pass::new([0, 2], [2, 4]),
    Pass::new([1, 0], [2, 2]),
    Pass::new([0, 1], [1, 2]),
];

/// How rows lie after palettes and bits were expanded; none for a palette.
fn layout(colours: (ColorType, BitDepth)) -> Option<Layout> {
    match colours {
        (ColorType::Grayscale, BitDepth::Sixteen) => Some(Layout::Grey16),
        (ColorType::GrayscaleAlpha, BitDepth::Sixteen) => Some(Layout::GreyAlpha16),
        (ColorType::Rgb, BitDepth::Sixteen) => Some(Layout::Rgb16),
        (ColorType::Rgba, BitDepth::Sixteen) => Some(Layout::Rgba16),
        (ColorType::Grayscale, _) => Some(Layout::Grey8),
        (ColorType::GrayscaleAlpha, _) => Some(Layout::GreyAlpha8),
        (ColorType::Rgb, _) => Some(Layout::Rgb8),
        (ColorType::Rgba, _) => Some(Layout::Rgba8),
        (ColorType::Indexed, _) => None,
    }
}

fn of_decoder(error: DecodingError) -> PhotoError {
    match error {
        DecodingError::IoError(e) if e.kind() == ErrorKind::UnexpectedEof => PhotoError::Cut,
        other => Coding::Png.damaged(other),
    }
}
