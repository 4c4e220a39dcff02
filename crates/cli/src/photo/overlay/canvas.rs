//! Pixels to draw on.

use lastmicron_photo::{Picture, PictureError};

/// Red, green and blue.
pub(super) type Colour = [u8; 3];

/// A picture being drawn; what falls beside it is not drawn.
pub(in crate::photo) struct Canvas {
    width: usize,
    height: usize,
    pixels: Vec<Colour>,
}

impl Canvas {
    pub(super) fn new(width: usize, height: usize, ground: Colour) -> Self {
        Self { width, height, pixels: vec![ground; width * height] }
    }

    /// Colours the pixel in column `x` of row `y`.
    pub(super) fn dot(&mut self, x: usize, y: usize, colour: Colour) {
        if x < self.width
            && let Some(pixel) = self.pixels.get_mut(y * self.width + x)
        {
            *pixel = colour;
        }
    }

    /// Colours a rectangle of this width and height with its middle at column `x` of row `y`.
    pub(super) fn block(&mut self, [x, y]: [usize; 2], [width, height]: [usize; 2], colour: Colour) {
        let span = |middle: usize, size: usize| (middle + 1).saturating_sub(size.div_ceil(2))..(middle + 1 + size / 2);
        for y in span(y, height) {
            span(x, width).for_each(|x| self.dot(x, y, colour));
        }
    }

    #[cfg(test)]
    pub(super) fn at(&self, x: usize, y: usize) -> Option<Colour> {
        self.pixels.get(y * self.width + x).copied().filter(|_| x < self.width)
    }

    /// # Errors
    /// [`PictureError`] when there are no pixels.
    pub(in crate::photo) fn picture(self) -> Result<Picture, PictureError> {
        Picture::new(self.width, self.height, self.pixels)
    }
}
