//! Simple polygons: what is inside, and how much of a cell.

/// Why corners are no outline.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum PolygonError {
    /// Fewer than three corners.
    #[error("{0} corners enclose nothing: list at least three")]
    TooFew(usize),
    /// A corner that is not two finite numbers.
    #[error("corner {0} is not a pair of finite numbers")]
    NotFinite(usize),
    /// Two sides that cross or touch.
    #[error("the sides from corner {first} and from corner {second} cross or touch: list corners in order, each once")]
    Crosses {
        /// Where the first of them begins, counted from 0.
        first: usize,
        /// Where the second begins.
        second: usize,
    },
}

/// A polygon whose sides meet at their common corners only.
#[derive(Clone, Debug, PartialEq)]
pub struct Polygon {
    corners: Vec<[f64; 2]>,
}

impl Polygon {
    /// The polygon with these corners, either way round.
    ///
    /// # Errors
    /// [`PolygonError`] names the first corner or pair of sides that is wrong.
    pub fn new(corners: Vec<[f64; 2]>) -> Result<Self, PolygonError> {
        if let Some(at) = corners.iter().position(|corner| !corner.iter().all(|value| value.is_finite())) {
            return Err(PolygonError::NotFinite(at));
        }
        if corners.len() < 3 {
            return Err(PolygonError::TooFew(corners.len()));
        }
        match crossing(&corners) {
            Some((first, second)) => Err(PolygonError::Crosses { first, second }),
            None => Ok(Self { corners }),
        }
    }

    /// The corners as given.
    #[must_use]
    pub fn corners(&self) -> &[[f64; 2]] {
        &self.corners
    }

    /// Area.
    #[must_use]
    pub fn area(&self) -> f64 {
        twice_area(&self.corners).abs() / 2.0
    }

    /// Whether a place is inside, or on a side.
    #[must_use]
    pub fn contains(&self, place: [f64; 2]) -> bool {
        let mut inside = false;
        for (a, b) in self.sides() {
            if on_side(a, b, place) {
                return true;
            }
            if (a[1] > place[1]) != (b[1] > place[1]) && place[0] < a[0] + (place[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]) {
                inside = !inside;
            }
        }
        inside
    }

    /// The share inside of each cell of a grid of `nx` x `ny` nodes, `step` apart from (0, 0), x running fastest. A cell is the square of one
    /// step around its node.
    ///
    /// Method: cells that a side passes are clipped out of the polygon (Sutherland & Hodgman, Reentrant polygon clipping, Comm. ACM 17, 1974),
    /// which keeps areas right also where it leaves seams.
    #[must_use]
    pub fn shares(&self, nx: usize, ny: usize, step: f64) -> Vec<f64> {
        let mut shares = vec![f64::NAN; nx * ny];
        for (a, b) in self.sides() {
            for (j, low) in (0..ny).map(|j| (j, (j as f64 - 0.5) * step)) {
                let Some((from, to)) = within(a, b, low, low + step) else { continue };
                let first = ((from / step - 0.5).ceil().max(0.0)) as usize;
                let last = ((to / step + 0.5).floor()).max(-1.0) + 1.0;
                for i in first..nx.min(last as usize) {
                    shares[j * nx + i] = 2.0;
                }
            }
        }
        for (at, share) in shares.iter_mut().enumerate() {
            let node = [(at % nx) as f64 * step, (at / nx) as f64 * step];
            *share = if share.is_nan() { f64::NAN } else { self.share(node, step) };
        }
        // Between the cells that sides pass, all of a run is inside or all is outside.
        for (j, row) in shares.chunks_exact_mut(nx).enumerate() {
            let mut before: Option<f64> = None;
            for (i, share) in row.iter_mut().enumerate() {
                if share.is_nan() {
                    let inside = *before.get_or_insert_with(|| f64::from(u8::from(self.contains([i as f64 * step, j as f64 * step]))));
                    *share = inside;
                } else {
                    before = None;
                }
            }
        }
        shares
    }

    fn sides(&self) -> impl Iterator<Item = ([f64; 2], [f64; 2])> + '_ {
        (0..self.corners.len()).map(|i| (self.corners[i], self.corners[(i + 1) % self.corners.len()]))
    }

    /// The share of the cell around a node that is inside.
    fn share(&self, node: [f64; 2], step: f64) -> f64 {
        let mut left: Vec<[f64; 2]> =
            self.corners.iter().map(|corner| [(corner[0] - node[0]) / step, (corner[1] - node[1]) / step]).collect();
        for (axis, sign) in [(0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0)] {
            left = clipped(&left, axis, sign);
        }
        (twice_area(&left).abs() / 2.0).min(1.0)
    }
}

/// What of a polygon has `sign` times its coordinate at most a half.
fn clipped(corners: &[[f64; 2]], axis: usize, sign: f64) -> Vec<[f64; 2]> {
    let beyond = |corner: &[f64; 2]| sign * corner[axis] - 0.5;
    let mut kept = Vec::with_capacity(corners.len() + 4);
    for (i, corner) in corners.iter().enumerate() {
        let next = &corners[(i + 1) % corners.len()];
        let (here, there) = (beyond(corner), beyond(next));
        if here <= 0.0 {
            kept.push(*corner);
        }
        if (here <= 0.0) != (there <= 0.0) {
            let share = here / (here - there);
            kept.push([0, 1].map(|axis| corner[axis] + share * (next[axis] - corner[axis])));
        }
    }
    kept
}

/// From where to where along x a side runs while it is between two heights.
fn within(a: [f64; 2], b: [f64; 2], low: f64, high: f64) -> Option<(f64, f64)> {
    let (a, b) = if a[1] <= b[1] { (a, b) } else { (b, a) };
    if b[1] < low || a[1] > high {
        return None;
    }
    let at = |y: f64| if b[1] > a[1] { a[0] + ((y - a[1]) / (b[1] - a[1])).clamp(0.0, 1.0) * (b[0] - a[0]) } else { a[0] };
    let (from, to) = if b[1] > a[1] { (at(low), at(high)) } else { (a[0], b[0]) };
    Some((from.min(to), from.max(to)))
}

fn twice_area(corners: &[[f64; 2]]) -> f64 {
    (0..corners.len()).map(|i| (corners[i], corners[(i + 1) % corners.len()])).map(|([ax, ay], [bx, by])| ax * by - bx * ay).sum()
}

/// Twice the area of the triangle: positive when `c` lies left of the way from `a` to `b`.
fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

fn on_side(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> bool {
    let within = |axis: usize| c[axis] >= a[axis].min(b[axis]) && c[axis] <= a[axis].max(b[axis]);
    turn(a, b, c).abs() <= 0.0 && within(0) && within(1)
}

/// The first two sides that share a point which is no common corner of theirs.
fn crossing(corners: &[[f64; 2]]) -> Option<(usize, usize)> {
    let n = corners.len();
    let side = |i: usize| (corners[i], corners[(i + 1) % n]);
    let all = (0..n).flat_map(|i| (i + 1..n).map(move |j| (i, j)));
    all.into_iter().find(|&(i, j)| {
        let ((a, b), (c, d)) = (side(i), side(j));
        if j == i + 1 {
            on_side(a, b, d) || on_side(c, d, a)
        } else if i == 0 && j == n - 1 {
            on_side(a, b, c) || on_side(c, d, b)
        } else {
            let apart = |p: f64, q: f64| (p > 0.0) != (q > 0.0) && p.abs() > 0.0 && q.abs() > 0.0;
            let ends = on_side(a, b, c) || on_side(a, b, d) || on_side(c, d, a) || on_side(c, d, b);
            ends || (apart(turn(a, b, c), turn(a, b, d)) && apart(turn(c, d, a), turn(c, d, b)))
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn polygon(corners: &[[f64; 2]]) -> Polygon {
        Polygon::new(corners.to_vec()).unwrap()
    }

    #[test]
    fn a_triangle_holds_half_of_its_rectangle() {
        // [D]
        let triangle = polygon(&[[0.0, 0.0], [4.0, 0.0], [0.0, 3.0]]);
        assert!((triangle.area() - 6.0).abs() < 1e-15);
        assert!(triangle.contains([1.0, 1.0]) && triangle.contains([2.0, 1.5]) && triangle.contains([0.0, 0.0]));
        assert!(!triangle.contains([2.0, 1.6]) && !triangle.contains([-0.1, 0.0]));
    }

    #[test]
    fn a_rectangles_border_cells_are_halves_and_quarters() {
        // [D]
        let shares = polygon(&[[0.0, 0.0], [6.0, 0.0], [6.0, 4.0], [0.0, 4.0]]).shares(4, 3, 2.0);
        let want = [0.25, 0.5, 0.5, 0.25, 0.5, 1.0, 1.0, 0.5, 0.25, 0.5, 0.5, 0.25];
        assert!(shares.iter().zip(want).all(|(got, want)| (got - want).abs() < 1e-12), "{shares:?}");
    }

    #[test]
    fn what_is_no_outline_is_refused() {
        let refused = |corners: &[[f64; 2]]| Polygon::new(corners.to_vec()).unwrap_err();
        assert_eq!(refused(&[[0.0, 0.0], [1.0, 0.0]]), PolygonError::TooFew(2));
        assert_eq!(refused(&[[0.0, 0.0], [1.0, f64::NAN], [1.0, 1.0]]), PolygonError::NotFinite(1));
        assert_eq!(refused(&[[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]]), PolygonError::Crosses { first: 0, second: 2 });
        assert!(Polygon::new(vec![[0.0, 0.0], [1.0, 0.0], [1.0, 0.0], [0.0, 1.0]]).is_err());
        assert!(Polygon::new(vec![[0.0, 0.0], [2.0, 0.0], [1.0, 0.0]]).is_err());
        // A corner on another side.
        assert!(Polygon::new(vec![[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [2.0, 0.0], [0.0, 4.0]]).is_err());
    }

    proptest! {
        #[test]
        fn the_shares_of_all_cells_make_up_the_area(radii in prop::collection::vec(0.5..9.0_f64, 3..12), step in 0.3..3.0_f64) {
            // A star about (10, 10): simple for any radii.
            let turn = std::f64::consts::TAU / radii.len() as f64;
            let corner = |(i, r): (usize, &f64)| [10.0 + r * (i as f64 * turn).cos(), 10.0 + r * (i as f64 * turn).sin()];
            let star = Polygon::new(radii.iter().enumerate().map(corner).collect()).unwrap();
            let n = (20.0 / step) as usize + 2;
            let shares = star.shares(n, n, step);
            prop_assert!((shares.iter().sum::<f64>() * step * step - star.area()).abs() < 1e-9 * star.area());
            for (at, share) in shares.iter().enumerate() {
                prop_assert!((0.0..=1.0).contains(share));
                if *share <= 0.0 || *share >= 1.0 {
                    let node = [(at % n) as f64 * step, (at / n) as f64 * step];
                    prop_assert_eq!(star.contains(node), *share > 0.5);
                }
            }
        }
    }
}
