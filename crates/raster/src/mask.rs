//! Which pixels of a picture are meant.

use std::ops::Range;

use rayon::prelude::*;

use crate::plane::{Plane, PlaneError, pixels};

/// Pixels that a word holds.
pub(crate) const BITS: usize = u64::BITS as usize;

/// Some of a picture's pixels: one bit each, row by row, 64 in a word. It has at least one pixel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mask {
    width: usize,
    height: usize,
    /// Column 64 k + i of a row is bit i of its word k. Bits beyond the last column are 0.
    words: Vec<u64>,
}

impl Mask {
    /// No pixel of a picture of this size.
    ///
    /// # Errors
    /// [`PlaneError`] when the picture has no pixel, or too many.
    pub fn empty(width: usize, height: usize) -> Result<Self, PlaneError> {
        pixels(width, height)?;
        Ok(Self { width, height, words: vec![0; width.div_ceil(BITS) * height] })
    }

    /// The pixels that are `true`, row by row.
    ///
    /// # Errors
    /// [`PlaneError`] when the picture has no pixel, too many, or not as many values.
    pub fn new(width: usize, height: usize, values: &[bool]) -> Result<Self, PlaneError> {
        let mut mask = Self::empty(width, height)?;
        if width * height != values.len() {
            return Err(PlaneError::Size { width, height, found: values.len() });
        }
        for (words, values) in mask.rows_mut().zip(values.chunks_exact(width)) {
            for (word, values) in words.iter_mut().zip(values.chunks(BITS)) {
                *word = values.iter().rev().fold(0, |word, value| word << 1 | u64::from(*value));
            }
        }
        Ok(mask)
    }

    /// The pixels, given as column and row, of which `is_meant` is true. Rows are worked on in parallel.
    ///
    /// # Errors
    /// [`PlaneError`] when the picture has no pixel, or too many.
    pub fn of(width: usize, height: usize, is_meant: impl Fn(usize, usize) -> bool + Sync) -> Result<Self, PlaneError> {
        let mut mask = Self::empty(width, height)?;
        let across = mask.across();
        mask.words.par_chunks_exact_mut(across).enumerate().for_each(|(y, row)| {
            for (at, word) in row.iter_mut().enumerate() {
                let columns = at * BITS..width.min((at + 1) * BITS);
                *word = columns.rev().fold(0, |word, x| word << 1 | u64::from(is_meant(x, y)));
            }
        });
        Ok(mask)
    }

    /// The pixels whose value is greater than `threshold`: none that is NaN.
    #[must_use]
    pub fn above(plane: &Plane, threshold: f32) -> Self {
        let (width, height) = (plane.width(), plane.height());
        let mut words = Vec::with_capacity(width.div_ceil(BITS) * height);
        words.extend(plane.rows().flat_map(|row| row.chunks(BITS)).map(|values| greater(values, threshold)));
        Self { width, height, words }
    }

    /// Pixels across.
    #[must_use]
    pub fn width(&self) -> usize {
        self.width
    }

    /// Pixels down.
    #[must_use]
    pub fn height(&self) -> usize {
        self.height
    }

    /// Is the pixel in column `x` of row `y` meant? None outside of the picture is.
    #[must_use]
    pub fn get(&self, x: usize, y: usize) -> bool {
        x < self.width && y < self.height && self.words[y * self.across() + x / BITS] >> (x % BITS) & 1 == 1
    }

    /// Means the pixel in column `x` of row `y` too, where there is one.
    pub fn insert(&mut self, x: usize, y: usize) {
        if x < self.width && y < self.height {
            let across = self.across();
            self.words[y * across + x / BITS] |= 1 << (x % BITS);
        }
    }

    /// All pixels that are at most `by` columns and rows (up to 63) away from one of these.
    #[must_use]
    pub fn grown(&self, by: usize) -> Self {
        let (across, by) = (self.across(), by.min(BITS - 1));
        let last = u64::MAX >> (across * BITS - self.width);
        let mut wide = self.clone();
        for (row, from) in wide.rows_mut().zip(self.rows()) {
            let word = |at: Option<usize>| at.and_then(|at| from.get(at)).copied().unwrap_or(0);
            for (at, to) in row.iter_mut().enumerate() {
                let (before, here, after) = (word(at.checked_sub(1)), word(Some(at)), word(Some(at + 1)));
                if before | here | after != 0 {
                    *to = (1..=by).fold(here, |all, k| all | here << k | before >> (BITS - k) | here >> k | after << (BITS - k));
                }
            }
            row[across - 1] &= last;
        }
        let mut grown = wide.clone();
        for (y, row) in grown.rows_mut().enumerate() {
            for near in wide.rows().take(y + by + 1).skip(y.saturating_sub(by)) {
                row.iter_mut().zip(near).for_each(|(to, from)| *to |= from);
            }
        }
        grown
    }

    /// Number of pixels that are meant.
    #[must_use]
    pub fn count(&self) -> usize {
        self.words.iter().map(|word| word.count_ones() as usize).sum()
    }

    /// Columns and rows of the pixels that are meant, row by row.
    pub fn iter(&self) -> impl Iterator<Item = (usize, usize)> {
        self.iter_in(0..self.width, 0..self.height)
    }

    /// The same, of some columns and rows.
    pub fn iter_in(&self, columns: Range<usize>, rows: Range<usize>) -> impl Iterator<Item = (usize, usize)> {
        let words = columns.start / BITS..columns.end.div_ceil(BITS);
        self.rows().enumerate().take(rows.end).skip(rows.start).flat_map(move |(y, row)| {
            let (columns, words) = (columns.clone(), row.iter().enumerate().take(words.end).skip(words.start));
            words.flat_map(move |(at, word)| set_bits(*word).map(move |bit| (at * BITS + bit, y))).filter(move |(x, _)| columns.contains(x))
        })
    }

    /// Words of a row.
    pub(crate) fn across(&self) -> usize {
        self.width.div_ceil(BITS)
    }

    pub(crate) fn rows(&self) -> std::slice::ChunksExact<'_, u64> {
        self.words.chunks_exact(self.across())
    }

    pub(crate) fn rows_mut(&mut self) -> std::slice::ChunksExactMut<'_, u64> {
        let across = self.across();
        self.words.chunks_exact_mut(across)
    }

    /// The same pixels, with a word without any on both sides of each row, and such rows above and below.
    pub(crate) fn padded(&self) -> Vec<u64> {
        let stride = self.across() + 2;
        let mut padded = vec![0; stride * (self.height + 2)];
        for (to, row) in padded.chunks_exact_mut(stride).skip(1).zip(self.rows()) {
            to[1..=row.len()].copy_from_slice(row);
        }
        padded
    }

    /// Takes the pixels of what [`Mask::padded`] gave.
    pub(crate) fn take_padded(&mut self, padded: &[u64]) {
        let stride = self.across() + 2;
        for (row, from) in self.rows_mut().zip(padded.chunks_exact(stride).skip(1)) {
            row.copy_from_slice(&from[1..=row.len()]);
        }
    }
}

/// The bits of a word that are 1, from the lowest.
fn set_bits(word: u64) -> impl Iterator<Item = usize> {
    let left = std::iter::successors(Some(word), |left| Some(left & left.wrapping_sub(1)));
    left.take_while(|left| *left != 0).map(|left| left.trailing_zeros() as usize)
}

/// At each pixel of a word, the pixel to its left; `before` is the word to the left.
#[inline(always)]
pub(crate) fn to_the_left(before: u64, word: u64) -> u64 {
    word << 1 | before >> (BITS - 1)
}

/// At each pixel of a word, the pixel to its right; `after` is the word to the right.
#[inline(always)]
pub(crate) fn to_the_right(word: u64, after: u64) -> u64 {
    word >> 1 | after << (BITS - 1)
}

/// Up to 64 comparisons as bits.
fn greater(values: &[f32], threshold: f32) -> u64 {
    // As bytes first: so the comparisons vectorise.
    let mut bytes = [0_u8; BITS];
    for (byte, value) in bytes.iter_mut().zip(values) {
        *byte = u8::from(*value > threshold);
    }
    // The product brings the eight lowest bits together in the highest byte.
    let gathered = bytes.as_chunks::<8>().0.iter().map(|eight| u64::from_le_bytes(*eight).wrapping_mul(0x0102_0408_1020_4080) >> 56);
    gathered.rev().fold(0, |word, byte| word << 8 | byte)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_mask_of_a_condition_has_the_pixels_that_meet_it() {
        for width in [1, 63, 64, 65, 130] {
            let is_meant = |x: usize, y: usize| (x * 7 + y * 3) % 5 < 2;
            let values: Vec<bool> = (0..width * 9).map(|at| is_meant(at % width, at / width)).collect();
            assert_eq!(Mask::of(width, 9, is_meant), Mask::new(width, 9, &values), "{width}");
        }
    }

    #[test]
    fn a_grown_mask_has_all_that_is_near() {
        let places = [(0, 0), (63, 2), (64, 9), (129, 11), (70, 5)];
        let mut mask = Mask::empty(130, 12).unwrap();
        places.iter().for_each(|(x, y)| mask.insert(*x, *y));
        let grown = mask.grown(3);
        for (x, y) in (0..12).flat_map(|y| (0..130).map(move |x| (x, y))) {
            let is_near = places.iter().any(|(a, b)| usize::abs_diff(x, *a) <= 3 && usize::abs_diff(y, *b) <= 3);
            assert_eq!(grown.get(x, y), is_near, "{x} {y}");
        }
        assert_eq!(grown.iter().count(), grown.count());
        assert_eq!(mask.grown(0), mask);
    }

    proptest! {
        #[test]
        fn bits_are_the_values((width, height) in (1..200usize, 1..6usize), seed in 0..1000u32, x in 0..210usize, y in 0..7usize) {
            let is_in = |at: usize| (at as u32).wrapping_add(seed).wrapping_mul(2_654_435_761) >> 30 == 0;
            let values: Vec<bool> = (0..width * height).map(is_in).collect();
            let mask = Mask::new(width, height, &values).unwrap();
            prop_assert_eq!(mask.get(x, y), x < width && y < height && is_in(y * width + x));
            prop_assert_eq!(mask.count(), values.iter().filter(|value| **value).count());
            prop_assert_eq!(mask.iter().map(|(x, y)| y * width + x).collect::<Vec<_>>(), (0..width * height).filter(|at| values[*at]).collect::<Vec<_>>());
            let plane = Plane::new(width, height, values.iter().map(|value| if *value { 0.5 } else { f32::NAN }).collect()).unwrap();
            prop_assert_eq!(&Mask::above(&plane, 0.4), &mask);
            prop_assert_eq!(Mask::above(&plane, 0.5).count(), 0);
            let part: Vec<(usize, usize)> = mask.iter_in(x..x + 70, y..y + 2).collect();
            prop_assert_eq!(part, mask.iter().filter(|(at, down)| (x..x + 70).contains(at) && (y..y + 2).contains(down)).collect::<Vec<_>>());
            let mut again = Mask::empty(width, height).unwrap();
            mask.iter().for_each(|(x, y)| again.insert(x, y));
            again.insert(x.max(width), y);
            prop_assert_eq!(&again, &mask);
        }
    }

    #[test]
    fn a_mask_without_pixels_or_with_other_values_is_refused() {
        assert!(matches!(Mask::empty(0, 3), Err(PlaneError::Empty { .. })));
        assert!(matches!(Mask::new(3, 3, &[true; 8]), Err(PlaneError::Size { found: 8, .. })));
    }
}
