//! A panel's outline as somebody listed it, put in order.

/// Most corners of one outline: a traced curve needs some hundred.
const MOST_CORNERS: usize = 1000;
/// Least size of a panel either way, mm: no pad works less.
const LEAST_SIZE_MM: f64 = 10.0;

/// Corners anticlockwise, beginning with the one nearest to the origin, so that edges are numbered from there.
///
/// A closing corner that repeats the first is dropped and a clockwise outline is turned round. For panels seen from the front, in mm from the lower left.
///
/// # Errors
/// A sentence for an outline that encloses nothing, crosses itself, or lies below or left of its origin.
pub fn in_order(mut corners: Vec<[f64; 2]>) -> Result<Vec<[f64; 2]>, String> {
    if corners.len() > 1 && is_same(corners.first(), corners.last()) {
        corners.pop();
    }
    if corners.len() < 3 {
        return Err(format!("{} corners enclose nothing: list at least three", corners.len()));
    }
    if corners.len() > MOST_CORNERS {
        return Err(format!("{} corners: list at most {MOST_CORNERS}", corners.len()));
    }
    if let Some([x, y]) = corners.iter().find(|[x, y]| *x < 0.0 || *y < 0.0) {
        return Err(format!("the corner ({x}, {y}) lies left of or below the origin: measure from the panel's lower left"));
    }
    if let Some(i) = (0..corners.len()).find(|i| is_same(corners.get(*i), corners.get((i + 1) % corners.len()))) {
        return Err(format!("corner {} stands twice in a row", i + 1));
    }
    if let Some((i, j)) = crossing(&corners) {
        return Err(format!("its sides {} and {} cross or touch", i + 1, j + 1));
    }
    let across = |axis: usize| {
        let (low, high) =
            corners.iter().fold((f64::INFINITY, 0.0), |(low, high), corner| (f64::min(low, corner[axis]), f64::max(high, corner[axis])));
        high - low
    };
    if across(0) < LEAST_SIZE_MM || across(1) < LEAST_SIZE_MM {
        return Err(format!("it is {} by {} mm: a panel is at least {LEAST_SIZE_MM} mm either way", across(0), across(1)));
    }
    if twice_area(&corners) < 0.0 {
        corners.reverse();
    }
    let from_origin = |corner: &[f64; 2]| corner[0] * corner[0] + corner[1] * corner[1];
    let key = |corner: &[f64; 2]| (from_origin(corner), corner[1], corner[0]);
    let first = corners.iter().enumerate().min_by(|a, b| {
        let (a, b) = (key(a.1), key(b.1));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2))
    });
    if let Some((first, _)) = first {
        corners.rotate_left(first);
    }
    Ok(corners)
}

fn is_same(a: Option<&[f64; 2]>, b: Option<&[f64; 2]>) -> bool {
    a.zip(b).is_some_and(|(a, b)| a[0].total_cmp(&b[0]).is_eq() && a[1].total_cmp(&b[1]).is_eq())
}

fn twice_area(corners: &[[f64; 2]]) -> f64 {
    (0..corners.len()).map(|i| (corners[i], corners[(i + 1) % corners.len()])).map(|([ax, ay], [bx, by])| ax * by - bx * ay).sum()
}

/// The first two sides that share a point which is no common corner of theirs.
fn crossing(corners: &[[f64; 2]]) -> Option<(usize, usize)> {
    let n = corners.len();
    let side = |i: usize| (corners[i], corners[(i + 1) % n]);
    for i in 0..n {
        for j in i + 1..n {
            let (a, b) = side(i);
            let (c, d) = side(j);
            let is_crossing = if j == i + 1 {
                folds_back(a, b, d)
            } else if i == 0 && j == n - 1 {
                folds_back(c, d, b)
            } else {
                touch(a, b, c, d)
            };
            if is_crossing {
                return Some((i, j));
            }
        }
    }
    None
}

/// Twice the area of the triangle: positive when `c` lies left of the way from `a` to `b`.
fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// Whether the way from `a` to `b` and on to `c` comes back over itself.
fn folds_back(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> bool {
    let forward = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]);
    turn(a, b, c).abs() <= 0.0 && forward < 0.0
}

fn touch(a: [f64; 2], b: [f64; 2], c: [f64; 2], d: [f64; 2]) -> bool {
    let (abc, abd, cda, cdb) = (turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b));
    let apart = |p: f64, q: f64| (p > 0.0 && q > 0.0) || (p < 0.0 && q < 0.0);
    if apart(abc, abd) || apart(cda, cdb) {
        return false;
    }
    // In line with each other, they touch when their boxes do.
    let overlap = |axis: usize| a[axis].min(b[axis]) <= c[axis].max(d[axis]) && c[axis].min(d[axis]) <= a[axis].max(b[axis]);
    overlap(0) && overlap(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    const RECTANGLE: [[f64; 2]; 4] = [[0.0, 0.0], [1400.0, 0.0], [1400.0, 1150.0], [0.0, 1150.0]];

    fn refused(corners: &[[f64; 2]]) -> String {
        in_order(corners.to_vec()).unwrap_err()
    }

    #[test]
    fn a_rectangle_stays_as_it_is_however_it_is_listed() {
        let mut clockwise = RECTANGLE.to_vec();
        clockwise.reverse();
        let mut closed = RECTANGLE.to_vec();
        closed.push(RECTANGLE[0]);
        let mut from_top = RECTANGLE.to_vec();
        from_top.rotate_left(2);
        for corners in [RECTANGLE.to_vec(), clockwise, closed, from_top] {
            assert_eq!(in_order(corners).unwrap(), RECTANGLE);
        }
    }

    #[test]
    fn edges_are_counted_from_the_corner_nearest_to_the_origin() {
        let wing = vec![[500.0, 0.0], [900.0, 300.0], [0.0, 600.0], [100.0, 100.0]];
        assert_eq!(in_order(wing).unwrap(), [[100.0, 100.0], [500.0, 0.0], [900.0, 300.0], [0.0, 600.0]]);
    }

    #[test]
    fn corners_in_line_are_no_fault() {
        let mut corners = RECTANGLE.to_vec();
        corners.insert(1, [700.0, 0.0]);
        assert_eq!(in_order(corners.clone()).unwrap(), corners);
    }

    #[test]
    fn what_encloses_nothing_is_refused() {
        assert_eq!(refused(&[]), "0 corners enclose nothing: list at least three");
        assert_eq!(refused(&[[0.0, 0.0], [5.0, 5.0], [0.0, 0.0]]), "2 corners enclose nothing: list at least three");
        assert_eq!(refused(&[[0.0, 0.0], [0.0, 0.0], [5.0, 5.0]]), "corner 1 stands twice in a row");
        assert_eq!(refused(&[[0.0, 0.0], [9.0, 0.0], [9.0, 100.0]]), "it is 9 by 100 mm: a panel is at least 10 mm either way");
        assert_eq!(
            refused(&[[-1.0, 0.0], [9.0, 0.0], [9.0, 100.0]]),
            "the corner (-1, 0) lies left of or below the origin: measure from the panel's lower left"
        );
        assert_eq!(refused(&vec![[1.0, 1.0]; 1002]), "1001 corners: list at most 1000");
    }

    #[test]
    fn what_crosses_itself_is_refused() {
        assert_eq!(refused(&[[0.0, 0.0], [100.0, 100.0], [100.0, 0.0], [0.0, 100.0]]), "its sides 1 and 3 cross or touch");
        assert_eq!(refused(&[[0.0, 0.0], [100.0, 0.0], [50.0, 0.0], [50.0, 80.0]]), "its sides 1 and 2 cross or touch");
        // A corner that lies on another side.
        assert_eq!(refused(&[[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [50.0, 0.0], [0.0, 100.0]]), "its sides 1 and 3 cross or touch");
        assert_eq!(refused(&[[0.0, 0.0], [50.0, 50.0], [100.0, 100.0]]), "its sides 1 and 3 cross or touch");
    }
}
