//! A grey picture.

/// Most pixels of a picture. Judgement: ten times what large cameras take, 1 GiB here. Were it larger, a wrong size read somewhere could take all memory, and
/// a pixel's number would no longer fit 32 bits.
const MOST_PIXELS: usize = 1 << 28;

/// Why there is no picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PlaneError {
    /// No pixel at all.
    #[error("a picture of {width} x {height} pixels: it must have at least one each way")]
    Empty {
        /// Pixels across.
        width: usize,
        /// Pixels down.
        height: usize,
    },
    /// Values that don't fill the picture, or more of them.
    #[error("a picture of {width} x {height} pixels does not have {found} values")]
    Size {
        /// Pixels across.
        width: usize,
        /// Pixels down.
        height: usize,
        /// Values given.
        found: usize,
    },
    /// More pixels than any camera takes.
    #[error("a picture of {width} x {height} pixels: {MOST_PIXELS} at most; cut it into parts")]
    TooLarge {
        /// Pixels across.
        width: usize,
        /// Pixels down.
        height: usize,
    },
}

/// A grey picture: one number a pixel, row by row from the top, each row from the left. It has at least one pixel.
///
/// What the numbers mean is the caller's: nothing here clips or scales them, and they may be NaN.
#[derive(Clone, Debug, PartialEq)]
pub struct Plane {
    width: usize,
    height: usize,
    values: Vec<f32>,
}

impl Plane {
    /// A picture of these values.
    ///
    /// # Errors
    /// [`PlaneError`] when it has no pixel, too many, or not as many values as pixels.
    pub fn new(width: usize, height: usize, values: Vec<f32>) -> Result<Self, PlaneError> {
        if pixels(width, height)? != values.len() {
            return Err(PlaneError::Size { width, height, found: values.len() });
        }
        Ok(Self { width, height, values })
    }

    /// A picture of one value.
    ///
    /// # Errors
    /// [`PlaneError`] when it has no pixel, or too many.
    pub fn filled(width: usize, height: usize, value: f32) -> Result<Self, PlaneError> {
        Ok(Self { width, height, values: vec![value; pixels(width, height)?] })
    }

    /// Another picture of the same size: 0 everywhere.
    pub(crate) fn blank(&self) -> Self {
        Self { width: self.width, height: self.height, values: vec![0.0; self.values.len()] }
    }

    /// The means of square blocks of `side` pixels; what is left over at the right and below is left out. None when no block fits.
    #[must_use]
    pub fn blocks(&self, side: usize) -> Option<Self> {
        let (across, down) = (self.width.checked_div(side)?, self.height.checked_div(side)?);
        let mut values = Vec::with_capacity(across * down);
        for rows in self.values.chunks_exact(side.checked_mul(self.width)?) {
            let mut sums = vec![0.0; across];
            for row in rows.chunks_exact(self.width) {
                sums.iter_mut().zip(row.chunks_exact(side)).for_each(|(sum, block)| *sum += block.iter().sum::<f32>());
            }
            values.extend(sums.iter().map(|sum| sum / (side * side) as f32));
        }
        Self::new(across, down, values).ok()
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

    /// All values, row by row.
    #[must_use]
    pub fn values(&self) -> &[f32] {
        &self.values
    }

    /// All values, row by row, to be changed.
    pub fn values_mut(&mut self) -> &mut [f32] {
        &mut self.values
    }

    /// The values themselves.
    #[must_use]
    pub fn into_values(self) -> Vec<f32> {
        self.values
    }

    /// Row `y`; no values where there is no such row.
    #[must_use]
    pub fn row(&self, y: usize) -> &[f32] {
        self.values.chunks_exact(self.width).nth(y).unwrap_or_default()
    }

    /// Row `y` to be changed; no values where there is no such row.
    pub fn row_mut(&mut self, y: usize) -> &mut [f32] {
        self.values.chunks_exact_mut(self.width).nth(y).unwrap_or_default()
    }

    /// The rows from the top.
    pub fn rows(&self) -> std::slice::ChunksExact<'_, f32> {
        self.values.chunks_exact(self.width)
    }

    /// The value of column `x` in row `y`; none outside of the picture.
    #[must_use]
    pub fn get(&self, x: usize, y: usize) -> Option<f32> {
        self.row(y).get(x).copied()
    }
}

/// Number of pixels, when there are some and not too many.
pub(crate) fn pixels(width: usize, height: usize) -> Result<usize, PlaneError> {
    if width == 0 || height == 0 {
        return Err(PlaneError::Empty { width, height });
    }
    width.checked_mul(height).filter(|count| *count <= MOST_PIXELS).ok_or(PlaneError::TooLarge { width, height })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_have_the_mean_of_their_pixels() {
        let plane = Plane::new(5, 3, (0..15_u8).map(f32::from).collect()).unwrap();
        assert_eq!(plane.blocks(2), Some(Plane::new(2, 1, vec![3.0, 5.0]).unwrap()));
        assert_eq!(plane.blocks(1), Some(plane.clone()));
        assert_eq!((plane.blocks(0), plane.blocks(4), plane.blocks(usize::MAX)), (None, None, None));
    }

    #[test]
    fn rows_run_from_the_top_and_from_the_left() {
        let mut plane = Plane::new(3, 2, vec![1.0, 2.0, 3.0, 4.0, 5.0, 6.0]).unwrap();
        assert_eq!((plane.width(), plane.height()), (3, 2));
        assert_eq!(plane.row(1), [4.0, 5.0, 6.0]);
        assert_eq!(plane.rows().map(|row| row[0]).collect::<Vec<_>>(), [1.0, 4.0]);
        assert_eq!((plane.get(2, 0), plane.get(0, 1), plane.get(3, 0), plane.get(0, 2)), (Some(3.0), Some(4.0), None, None));
        assert!(plane.row(2).is_empty());
        plane.row_mut(1)[2] = 9.0;
        plane.values_mut()[0] = 7.0;
        assert_eq!(plane.into_values(), [7.0, 2.0, 3.0, 4.0, 5.0, 9.0]);
    }

    #[test]
    fn a_picture_without_pixels_or_with_other_values_is_refused() {
        assert_eq!(Plane::new(0, 4, vec![]), Err(PlaneError::Empty { width: 0, height: 4 }));
        assert_eq!(Plane::filled(4, 0, 0.0), Err(PlaneError::Empty { width: 4, height: 0 }));
        assert_eq!(Plane::new(2, 2, vec![0.0; 5]), Err(PlaneError::Size { width: 2, height: 2, found: 5 }));
        assert!(matches!(Plane::filled(usize::MAX, 2, 0.0), Err(PlaneError::TooLarge { .. })));
        assert!(matches!(Plane::new(1 << 14, (1 << 14) + 1, vec![]), Err(PlaneError::TooLarge { .. })));
        assert_eq!(Plane::filled(1, 1, 5.0).unwrap().values(), [5.0]);
    }
}
