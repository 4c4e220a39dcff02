//! How a photograph is to be turned so that it is seen upright.

use lastmicron_raster::{Mask, PlaneError};

use crate::light::Stored;

/// How the stored rows and columns lie in the picture seen upright: the eight values of the tag Orientation (CIPA DC-008, Exif, section 4.6.4).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Orientation {
    /// Stored rows are columns of the upright picture. It comes first, then the mirrors.
    is_transposed: bool,
    is_mirrored_across: bool,
    is_mirrored_down: bool,
}

/// Longest block of a camera's notes that is looked into for the orientation. Judgement: a JPEG's has at most 64 KiB; cameras that write them
/// into PNG or WebP copy that one. A longer block is taken as saying nothing of the orientation; with a larger limit a made-up file could
/// take time and memory, with a smaller one a photograph with a large thumbnail would lie on its side.
const MOST_EXIF_BYTES: usize = 1 << 20;

/// Side of the tiles in which a picture is transposed, pixels: 32 rows of 32 pixels, 4 KiB read and 4 KiB written, stay in the
/// processor's nearest cache. Judgement: with 1 each pixel written costs a line of the cache; beyond 64 both sides no longer fit.
const TILE: usize = 32;

impl Orientation {
    /// From an Exif block, which begins with its TIFF header. What can't be read is taken to be upright, as pictures are that say nothing.
    pub(crate) fn of_exif(block: &[u8]) -> Self {
        let block = block.strip_prefix(b"Exif\0\0").unwrap_or(block);
        if block.len() > MOST_EXIF_BYTES {
            return Self::default();
        }
        let exif = exif::Reader::new().read_raw(block.to_vec()).ok();
        let value = exif.as_ref().and_then(|e| e.get_field(exif::Tag::Orientation, exif::In::PRIMARY)?.value.get_uint(0));
        value.map(Self::of_tag).unwrap_or_default()
    }

    /// From the tag's value: which sides of the upright picture the stored first row and first column are.
    fn of_tag(value: u32) -> Self {
        let (is_transposed, is_mirrored_across, is_mirrored_down) = match value {
            2 => (false, true, false),
            3 => (false, true, true),
            4 => (false, false, true),
            5 => (true, false, false),
            6 => (true, true, false),
            7 => (true, true, true),
            8 => (true, false, true),
            // 1, and all that is no orientation.
            _ => (false, false, false),
        };
        Self { is_transposed, is_mirrored_across, is_mirrored_down }
    }

    /// Width and height of the upright picture.
    pub(crate) fn size(self, width: usize, height: usize) -> [usize; 2] {
        if self.is_transposed { [height, width] } else { [width, height] }
    }

    /// Column and row in the upright picture of a pixel stored in column `x` of row `y`.
    pub(crate) fn place(self, x: usize, y: usize, width: usize, height: usize) -> [usize; 2] {
        let [width, height] = self.size(width, height);
        let [x, y] = if self.is_transposed { [y, x] } else { [x, y] };
        [if self.is_mirrored_across { width - 1 - x } else { x }, if self.is_mirrored_down { height - 1 - y } else { y }]
    }
}

/// The picture upright.
pub(crate) fn turned(stored: Stored, orientation: Orientation) -> Result<Stored, PlaneError> {
    if orientation == Orientation::default() {
        return Ok(stored);
    }
    let [width, height] = orientation.size(stored.width, stored.height);
    let mut clipped = Mask::empty(width, height)?;
    for (x, y) in stored.clipped.iter() {
        let [x, y] = orientation.place(x, y, stored.width, stored.height);
        clipped.insert(x, y);
    }
    let mut light = if orientation.is_transposed { transposed(&stored.light, stored.width, stored.height) } else { stored.light };
    match (orientation.is_mirrored_across, orientation.is_mirrored_down) {
        (true, true) => light.reverse(),
        (true, false) => light.chunks_exact_mut(width).for_each(<[f32]>::reverse),
        (false, true) => swap_rows(&mut light, width),
        (false, false) => {}
    }
    Ok(Stored { width, height, light, clipped })
}

fn transposed(light: &[f32], width: usize, height: usize) -> Vec<f32> {
    let mut columns = vec![0.0; light.len()];
    for (top, left) in (0..height).step_by(TILE).flat_map(|top| (0..width).step_by(TILE).map(move |left| (top, left))) {
        for x in left..width.min(left + TILE) {
            for y in top..height.min(top + TILE) {
                columns[x * height + y] = light[y * width + x];
            }
        }
    }
    columns
}

fn swap_rows(light: &mut [f32], width: usize) {
    let half = light.len() / width / 2 * width;
    let (upper, rest) = light.split_at_mut(half);
    upper.chunks_exact_mut(width).zip(rest.rchunks_exact_mut(width)).for_each(|(a, b)| a.swap_with_slice(b));
}
