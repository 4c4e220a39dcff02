//! Two photographs of one panel laid over each other.

use lastmicron_raster::{Plane, smooth};
use rayon::prelude::*;

/// Longer side of the pictures that are compared, pixels: scratches still show, and hands move little on it.
const LONGER: f64 = 660.0;

/// Half the side of the patches that are looked for, and how far they are looked for round where the lamps put them, pixels of those pictures. Judgement: 18 pixels are a turn of 3 degrees
/// at the picture's end together with a few per cent of size.
const HALF: usize = 20;
const SEARCH: isize = 24;

/// Patches along the longer and the shorter side.
const PATCHES: [usize; 2] = [6, 4];

/// Least correlation of a patch with where it is found. Judgement: unrelated texture of this size reaches 0.25.
const LEAST_CORRELATION: f64 = 0.4;

/// How far a patch may lie from where the others put it, pixels of those pictures, and the fewest that must agree.
const AGREES: f64 = 1.5;
const FEWEST: usize = 4;

/// Most turn, radians, and change of size between two photographs of a hand. Beyond it patches are found by chance.
const MOST_TURN: f64 = 0.15;
const MOST_SIZE: f64 = 0.15;

/// A shift, a turn and a change of size: where a place of the first photograph is in the second.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Similarity {
    /// Cosine and sine of the turn, times the size.
    along: [f64; 2],
    shift: [f64; 2],
}

impl Similarity {
    /// A shift alone.
    pub(crate) fn shift(shift: [f64; 2]) -> Self {
        Self { along: [1.0, 0.0], shift }
    }

    /// Where a place is in the second photograph.
    pub(crate) fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [a, b] = self.along;
        [a * x - b * y + self.shift[0], b * x + a * y + self.shift[1]]
    }

    /// The turn, radians.
    pub(crate) fn turn(&self) -> f64 {
        self.along[1].atan2(self.along[0])
    }

    /// Size in the second photograph by size in the first.
    pub(crate) fn size(&self) -> f64 {
        self.along[0].hypot(self.along[1])
    }

    /// The one that takes two places to two others.
    fn of(from: [[f64; 2]; 2], to: [[f64; 2]; 2]) -> Option<Self> {
        let apart = |[a, b]: [[f64; 2]; 2]| [b[0] - a[0], b[1] - a[1]];
        let ([x, y], [u, v]) = (apart(from), apart(to));
        let square = x * x + y * y;
        if square < 100.0 * 100.0 {
            return None;
        }
        Some(Self::through([(x * u + y * v) / square, (x * v - y * u) / square], from[0], to[0]))
    }

    fn through(along: [f64; 2], from: [f64; 2], to: [f64; 2]) -> Self {
        let [x, y] = Self { along, shift: [0.0; 2] }.place(from);
        Self { along, shift: [to[0] - x, to[1] - y] }
    }

    /// The one with the least squares over some places.
    fn least(pairs: &[[[f64; 2]; 2]]) -> Option<Self> {
        let count = pairs.len() as f64;
        let mean = |which: usize, axis: usize| pairs.iter().map(|pair| pair[which][axis]).sum::<f64>() / count;
        let (from, to) = ([mean(0, 0), mean(0, 1)], [mean(1, 0), mean(1, 1)]);
        let (mut square, mut a, mut b) = (0.0, 0.0, 0.0);
        for [p, q] in pairs {
            let ([x, y], [u, v]) = ([p[0] - from[0], p[1] - from[1]], [q[0] - to[0], q[1] - to[1]]);
            square += x * x + y * y;
            a += x * u + y * v;
            b += x * v - y * u;
        }
        (square > 0.0).then(|| Self::through([a / square, b / square], from, to))
    }

    fn is_by_hand(&self) -> bool {
        self.turn().abs() <= MOST_TURN && (self.size() - 1.0).abs() <= MOST_SIZE
    }
}

/// Finds where the first photograph is in the second, given where it is roughly; none when too few patches are found again.
pub(crate) fn register(first: &Plane, second: &Plane, roughly: [f64; 2]) -> Option<Similarity> {
    let step = (first.width().max(first.height()) as f64 / LONGER).max(1.0);
    let (a, b) = (texture(first, step)?, texture(second, step)?);
    let shift = roughly.map(|part| (part / step).round() as isize);
    let span = |count: usize, of: usize, at: usize| HALF + (count - 2 * HALF) * (2 * at + 1) / (2 * of);
    let [across, down] = if first.width() >= first.height() { PATCHES } else { [PATCHES[1], PATCHES[0]] };
    if a.width() < 4 * HALF || a.height() < 4 * HALF {
        return None;
    }
    let places: Vec<[usize; 2]> = (0..down)
        .flat_map(|row| (0..across).map(move |column| (column, row)))
        .map(|(column, row)| [span(a.width(), across, column), span(a.height(), down, row)])
        .collect();
    let found: Vec<[[f64; 2]; 2]> = places
        .into_par_iter()
        .filter_map(|place| {
            let there = find(&a, &b, place, shift)?;
            let back = |at: f64| (at + 0.5) * step - 0.5;
            Some([place.map(|at| back(at as f64)), there.map(back)])
        })
        .collect();
    agreed(&found, AGREES * step)
}

/// The similarity that most pairs of places agree with.
fn agreed(found: &[[[f64; 2]; 2]], within: f64) -> Option<Similarity> {
    let agreeing = |similarity: &Similarity| -> Vec<[[f64; 2]; 2]> {
        let apart = |[from, to]: &[[f64; 2]; 2]| {
            let [x, y] = similarity.place(*from);
            (x - to[0]).hypot(y - to[1])
        };
        found.iter().copied().filter(|pair| apart(pair) <= within).collect()
    };
    let pairs = found.iter().enumerate().flat_map(|(at, a)| found[at + 1..].iter().map(move |b| (a, b)));
    let best = pairs
        .filter_map(|(a, b)| Similarity::of([a[0], b[0]], [a[1], b[1]]))
        .filter(Similarity::is_by_hand)
        .map(|similarity| agreeing(&similarity))
        .max_by_key(Vec::len)?;
    let refined = Similarity::least(&best)?;
    let kept = agreeing(&refined);
    (kept.len() >= FEWEST).then(|| Similarity::least(&kept)).flatten().filter(Similarity::is_by_hand)
}

/// The photograph in small, without its light and its noise.
fn texture(plane: &Plane, step: f64) -> Option<Plane> {
    let fine = smooth(plane, (0.6 * step).max(0.6)).ok()?;
    let (width, height) = ((plane.width() as f64 / step) as usize, (plane.height() as f64 / step) as usize);
    let at = |x: usize, y: usize| {
        let place = |at: usize| ((at as f64 + 0.5) * step - 0.5).max(0.0).round() as usize;
        fine.get(place(x).min(plane.width() - 1), place(y).min(plane.height() - 1)).unwrap_or(0.0)
    };
    let small = Plane::new(width, height, (0..width * height).map(|i| at(i % width, i / width)).collect()).ok()?;
    let mut coarse = smooth(&small, 4.0).ok()?;
    // Bright places would count for all: what is kept is the share by which a place is lighter than its surroundings.
    coarse.values_mut().iter_mut().zip(small.values()).for_each(|(coarse, small)| *coarse = (small - *coarse) / (*coarse + 10.0));
    Some(coarse)
}

/// Where a patch of one picture is in another, to a part of a pixel.
fn find(a: &Plane, b: &Plane, place: [usize; 2], shift: [isize; 2]) -> Option<[f64; 2]> {
    let side = 2 * HALF;
    let corner = [place[0] - HALF, place[1] - HALF];
    let patch: Vec<&[f32]> = (corner[1]..corner[1] + side).map(|y| &a.row(y)[corner[0]..corner[0] + side]).collect();
    let count = 2 * SEARCH as usize + 1;
    let correlation = |dx: isize, dy: isize| -> f64 {
        let (x, y) = (corner[0] as isize + shift[0] + dx, corner[1] as isize + shift[1] + dy);
        if x < 0 || y < 0 || x as usize + side > b.width() || y as usize + side > b.height() {
            return 0.0;
        }
        let (mut xy, mut xx, mut yy) = (0.0_f32, 0.0_f32, 0.0_f32);
        for (row, there) in patch.iter().zip(y as usize..) {
            for (p, q) in row.iter().zip(&b.row(there)[x as usize..x as usize + side]) {
                xy += p * q;
                xx += p * p;
                yy += q * q;
            }
        }
        f64::from(xy) / (f64::from(xx) * f64::from(yy)).sqrt().max(f64::MIN_POSITIVE)
    };
    let grid: Vec<f64> = (0..count * count).map(|at| correlation((at % count) as isize - SEARCH, (at / count) as isize - SEARCH)).collect();
    let best = (0..grid.len()).max_by(|a, b| grid[*a].total_cmp(&grid[*b]))?;
    let (column, row) = (best % count, best / count);
    let is_inside = (1..count - 1).contains(&column) && (1..count - 1).contains(&row);
    if !is_inside || grid[best] < LEAST_CORRELATION {
        return None;
    }
    let top = |before: f64, after: f64| 0.5 * (before - after) / (before - 2.0 * grid[best] + after).min(-1e-9);
    let there = |axis: usize, at: usize, part: f64| (place[axis] as isize + shift[axis] + at as isize - SEARCH) as f64 + part;
    Some([there(0, column, top(grid[best - 1], grid[best + 1])), there(1, row, top(grid[best - count], grid[best + count]))])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn noise(x: i64, y: i64) -> f64 {
        let hash = (x as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ (y as u64).wrapping_mul(0xC2B2_AE3D_27D4_EB4F);
        (hash ^ hash >> 29).wrapping_mul(0xBF58_476D_1CE4_E5B9) as f64 / u64::MAX as f64
    }

    /// Texture that is the same wherever it is looked at from.
    fn texture_at(x: f64, y: f64) -> f64 {
        let (i, j) = (x.div_euclid(9.0), y.div_euclid(9.0));
        let near = (-2..=2).flat_map(|b| (-2..=2).map(move |a| (a, b)));
        near.map(|(a, b)| {
            let (i, j) = (i as i64 + a, j as i64 + b);
            let (u, v) = ((i as f64 + noise(i, j)) * 9.0, (j as f64 + noise(i, j + 1000)) * 9.0);
            noise(i + 1000, j) * (-0.5 * ((x - u).powi(2) + (y - v).powi(2)) / 12.0).exp()
        })
        .sum()
    }

    #[test]
    fn a_turned_and_shifted_picture_is_laid_over_the_first() {
        let (width, height) = (1320, 990);
        let similarity = Similarity { along: [1.02 * 0.02_f64.cos(), 1.02 * 0.02_f64.sin()], shift: [17.0, -9.0] };
        let picture = |at: &dyn Fn(f64, f64) -> f64| {
            Plane::new(
                width,
                height,
                (0..width * height).map(|i| 40.0 + 60.0 * at((i % width) as f64, (i / width) as f64) as f32).collect(),
            )
        };
        let second = picture(&|x, y| texture_at(x, y)).unwrap();
        let first = picture(&|x, y| {
            let [x, y] = similarity.place([x, y]);
            texture_at(x, y)
        })
        .unwrap();
        let found = register(&first, &second, [20.0, 0.0]).unwrap();
        for place in [[100.0, 100.0], [1200.0, 900.0], [100.0, 900.0]] {
            let ([x, y], [u, v]) = (found.place(place), similarity.place(place));
            assert!((x - u).hypot(y - v) < 1.0, "{x} {y} {u} {v}");
        }
        assert!(register(&first, &Plane::filled(width, height, 7.0).unwrap(), [0.0; 2]).is_none());
    }
}
