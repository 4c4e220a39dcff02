//! Stored pixels turned into light, row by row.

use lastmicron_raster::Mask;

use crate::error::PhotoError;

/// Weights of the channels in luma (ITU-R BT.601-7, section 2.5.1, and ITU-T T.871, section 7).
const RED: f32 = 0.299;
const GREEN: f32 = 0.587;
const BLUE: f32 = 0.114;

/// The top of the scale of 8 bits. Of 16 bits the upper 8 decide: a camera's 10, 12 or 14 bits are shifted up into 16 and end below 65535.
const TOP: u8 = 255;

/// Pixels looked at together for one that is clipped. Judgement: with far fewer the question costs as much as the answer; with far more
/// every run has one.
const RUN: usize = 64;

/// How pixels lie in a row of bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Layout {
    Grey8,
    GreyAlpha8,
    Rgb8,
    Rgba8,
    /// The higher byte of each sample first.
    Grey16,
    GreyAlpha16,
    Rgb16,
    Rgba16,
    /// Luma and two chromas as ITU-T T.871 has them.
    YCbCr8,
}

impl Layout {
    pub(crate) fn bytes_per_pixel(self) -> usize {
        match self {
            Self::Grey8 => 1,
            Self::GreyAlpha8 | Self::Grey16 => 2,
            Self::Rgb8 | Self::YCbCr8 => 3,
            Self::Rgba8 | Self::GreyAlpha16 => 4,
            Self::Rgb16 => 6,
            Self::Rgba16 => 8,
        }
    }
}

/// A picture as it is stored, not yet upright.
pub(crate) struct Stored {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) light: Vec<f32>,
    pub(crate) clipped: Mask,
}

impl Stored {
    /// So many pixels, dark until they are put.
    pub(crate) fn dark(width: usize, height: usize) -> Result<Self, PhotoError> {
        let clipped = Mask::empty(width, height)?;
        Ok(Self { width, height, light: vec![0.0; width * height], clipped })
    }

    /// Puts the pixels of `row`, the first at `start` and each next one `step` on, both counted in the rows one after another.
    pub(crate) fn put(&mut self, start: usize, step: usize, row: &[u8], layout: Layout) -> Result<(), PhotoError> {
        match layout {
            Layout::Grey8 => self.put_each(start, step, row, |&[v]| f32::from(v), |&[v]| v == TOP),
            Layout::Rgb8 => self.put_each(start, step, row, |&rgb| luma(rgb.map(f32::from)), |&rgb| is_top(rgb)),
            Layout::YCbCr8 => self.put_each(start, step, row, |&[y, _, _]| f32::from(y), |&ycc| is_top_of_rgb(ycc)),
            Layout::Grey16 => self.put_each(start, step, row, |&[h, l]| wide(h, l), |&[h, _]| h == TOP),
            Layout::Rgb16 => self.put_each(start, step, row, luma_of_wide, |&[r, _, g, _, b, _]| is_top([r, g, b])),
            Layout::GreyAlpha8 => {
                opaque::<2>(row, |&[_, a]| a == u8::MAX)?;
                self.put_each(start, step, row, |&[v, _]| f32::from(v), |&[v, _]| v == TOP);
            }
            Layout::Rgba8 => {
                opaque::<4>(row, |&[.., a]| a == u8::MAX)?;
                self.put_each(start, step, row, |&[r, g, b, _]| luma([r, g, b].map(f32::from)), |&[r, g, b, _]| is_top([r, g, b]));
            }
            Layout::GreyAlpha16 => {
                opaque::<4>(row, |&[_, _, h, _]| h == u8::MAX)?;
                self.put_each(start, step, row, |&[h, l, _, _]| wide(h, l), |&[h, _, _, _]| h == TOP);
            }
            Layout::Rgba16 => {
                opaque::<8>(row, |&[.., h, _]| h == u8::MAX)?;
                self.put_each(
                    start,
                    step,
                    row,
                    |[rgb @ .., _, _]: &[u8; 8]| luma_of_wide(rgb),
                    |&[r, _, g, _, b, ..]: &[u8; 8]| is_top([r, g, b]),
                );
            }
        }
        Ok(())
    }

    fn put_each<const BYTES: usize>(
        &mut self,
        start: usize,
        step: usize,
        row: &[u8],
        light: impl Fn(&[u8; BYTES]) -> f32,
        is_clipped: impl Fn(&[u8; BYTES]) -> bool,
    ) {
        let (pixels, _) = row.as_chunks::<BYTES>();
        let places = self.light.get_mut(start..).unwrap_or_default().iter_mut().step_by(step);
        places.zip(pixels).for_each(|(place, pixel)| *place = light(pixel));
        for (i, run) in pixels.chunks(RUN).enumerate() {
            // All of a run without a branch: nearly every run has none that is clipped.
            if run.iter().fold(false, |any, pixel| any | is_clipped(pixel)) {
                let clipped = run.iter().enumerate().filter(|(_, pixel)| is_clipped(pixel));
                let places = clipped.map(|(j, _)| start + (i * RUN + j) * step);
                places.for_each(|at| self.clipped.insert(at % self.width, at / self.width));
            }
        }
    }
}

fn opaque<const BYTES: usize>(row: &[u8], is_opaque: impl Fn(&[u8; BYTES]) -> bool) -> Result<(), PhotoError> {
    row.as_chunks().0.iter().all(is_opaque).then_some(()).ok_or(PhotoError::Transparent)
}

fn luma([r, g, b]: [f32; 3]) -> f32 {
    RED * r + GREEN * g + BLUE * b
}

/// A sample of 16 bits on the scale of 8.
fn wide(high: u8, low: u8) -> f32 {
    f32::from(u16::from_be_bytes([high, low])) / 257.0
}

fn luma_of_wide(&[rh, rl, gh, gl, bh, bl]: &[u8; 6]) -> f32 {
    luma([wide(rh, rl), wide(gh, gl), wide(bh, bl)])
}

fn is_top(channels: [u8; 3]) -> bool {
    channels.into_iter().fold(false, |any, channel| any | (channel == TOP))
}

/// Whether red, green or blue of a JPEG's pixel, rounded and held to the scale, is at its top. ITU-T T.871, section 7:
/// R = Y + 1.402 (Cr - 128), G = Y - 0.344136 (Cb - 128) - 0.714136 (Cr - 128), B = Y + 1.772 (Cb - 128), here in units of 2^-16.
fn is_top_of_rgb([y, cb, cr]: [u8; 3]) -> bool {
    const ROUNDS_TO_TOP: i32 = (2 * TOP as i32 - 1) << 15;
    let [y, cb, cr] = [i32::from(y) << 16, i32::from(cb) - 128, i32::from(cr) - 128];
    [y + 91_881 * cr, y - 22_553 * cb - 46_802 * cr, y + 116_130 * cb].into_iter().fold(false, |any, v| any | (v >= ROUNDS_TO_TOP))
}
