//! Where a photograph is at the top of its scale.

use crate::orientation::Orientation;

/// For each pixel whether it is clipped: whether any of its channels is at the top of its scale, so that there may have been more light
/// than the number says. One bit a pixel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clipped {
    width: usize,
    height: usize,
    words: Vec<u64>,
}

impl Clipped {
    /// None of so many pixels.
    pub(crate) fn none(width: usize, height: usize) -> Self {
        Self { width, height, words: vec![0; (width * height).div_ceil(64)] }
    }

    /// Marks the pixel at this place of the rows one after another.
    pub(crate) fn mark(&mut self, at: usize) {
        if let Some(word) = self.words.get_mut(at / 64) {
            *word |= 1 << (at % 64);
        }
    }

    /// Whether the pixel in column `x` of row `y` is clipped. Outside of the photograph nothing is.
    #[must_use]
    pub fn at(&self, x: usize, y: usize) -> bool {
        let bit = |at: usize| self.words[at / 64] & (1 << (at % 64)) != 0;
        x < self.width && y < self.height && bit(y * self.width + x)
    }

    /// How many pixels are clipped.
    #[must_use]
    pub fn count(&self) -> usize {
        self.words.iter().map(|word| word.count_ones() as usize).sum()
    }

    /// The same for the picture turned upright.
    pub(crate) fn turned(&self, orientation: Orientation) -> Self {
        let [width, height] = orientation.size(self.width, self.height);
        let mut turned = Self::none(width, height);
        for at in self.marked() {
            let [x, y] = orientation.place(at % self.width, at / self.width, self.width, self.height);
            turned.mark(y * width + x);
        }
        turned
    }

    fn marked(&self) -> impl Iterator<Item = usize> {
        let bits = |word: u64| std::iter::successors(Some(word), |w| Some(w & w.wrapping_sub(1))).take_while(|w| *w != 0);
        self.words.iter().enumerate().flat_map(move |(i, word)| bits(*word).map(move |w| i * 64 + w.trailing_zeros() as usize))
    }
}
