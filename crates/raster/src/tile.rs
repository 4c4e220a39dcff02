//! A part of a picture with what lies round it, mirrored at the picture's border.

use crate::plane::Plane;

/// Pixels of a row of which the picture has `count`: beyond the border they run back (`d c b a | a b c d | d c b a`, what SciPy calls `reflect`).
pub(crate) fn mirrored(at: isize, count: usize) -> usize {
    let place = at.rem_euclid(2 * count as isize) as usize;
    place.min(2 * count - 1 - place)
}

/// A part of a picture and `margin` pixels on all sides of it.
pub(crate) struct Tile {
    pub(crate) margin: usize,
    stride: usize,
    values: Vec<f32>,
}

impl Tile {
    /// Room for a part of `width` x `height` pixels.
    pub(crate) fn new(width: usize, height: usize, margin: usize) -> Self {
        let stride = width + 2 * margin;
        Self { margin, stride, values: vec![0.0; stride * (height + 2 * margin)] }
    }

    /// Takes the part whose first pixel is (`x`, `y`). It may reach beyond the picture.
    pub(crate) fn take(&mut self, plane: &Plane, x: usize, y: usize) {
        let (left, top) = (x as isize - self.margin as isize, y as isize - self.margin as isize);
        // Columns that the picture has stand together; those before and after them are mirrored.
        let before = (-left).clamp(0, self.stride as isize) as usize;
        let from = plane.width().min(left.max(0) as usize);
        let inside = (plane.width() - from).min(self.stride - before);
        for (line, values) in self.values.chunks_exact_mut(self.stride).enumerate() {
            let row = plane.row(mirrored(top + line as isize, plane.height()));
            values[before..before + inside].copy_from_slice(&row[from..from + inside]);
            for at in (0..before).chain(before + inside..self.stride) {
                values[at] = row[mirrored(left + at as isize, row.len())];
            }
        }
    }

    /// Rows from the top of the margin.
    pub(crate) fn rows(&self) -> impl Iterator<Item = &[f32]> {
        self.values.chunks_exact(self.stride)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_beyond_the_border_is_mirrored() {
        let row: String = (-7..10).map(|at| ['a', 'b', 'c'][mirrored(at, 3)]).collect();
        assert_eq!(row, "aabccbaabccbaabcc");
    }

    #[test]
    fn a_part_has_the_picture_s_pixels_round_it() {
        let plane = Plane::new(3, 2, vec![1.0, 2.0, 3.0, 4.0, 5.0, 6.0]).unwrap();
        let mut tile = Tile::new(2, 1, 2);
        tile.take(&plane, 1, 1);
        let rows: Vec<&[f32]> = tile.rows().collect();
        assert_eq!(rows[0], [1.0, 1.0, 2.0, 3.0, 3.0, 2.0]);
        assert_eq!(rows[2], [4.0, 4.0, 5.0, 6.0, 6.0, 5.0]);
        assert_eq!(rows[4], rows[1]);
        // Wholly beyond.
        tile.take(&plane, 30, 0);
        assert_eq!(tile.rows().next().unwrap().len(), 6);
    }
}
