//! Curves as chains of straight legs.

/// A place in a view, mm.
pub(crate) type Spot = [f64; 2];

/// From `a` to `b`, `rise` to the left of the straight way in the middle: a parabola of `legs` legs.
pub(crate) fn bow(a: Spot, b: Spot, rise: f64, legs: u32) -> Vec<Spot> {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length = f64::hypot(dx, dy).max(1e-9);
    let at = |i: u32| {
        let t = f64::from(i) / f64::from(legs);
        let off = 4.0 * rise * t * (1.0 - t);
        [a[0] + t * dx - off * dy / length, a[1] + t * dy + off * dx / length]
    };
    (0..=legs).map(at).collect()
}

/// A closed ellipse.
pub(crate) fn ellipse(centre: Spot, half_width: f64, half_height: f64, legs: u32) -> Vec<Spot> {
    (0..legs)
        .map(|i| {
            let (sin, cos) = (f64::from(i) / f64::from(legs) * std::f64::consts::TAU).sin_cos();
            [centre[0] + half_width * cos, centre[1] + half_height * sin]
        })
        .collect()
}

/// A closed rectangle with corners rounded over `round`.
pub(crate) fn rounded(low: Spot, high: Spot, round: f64) -> Vec<Spot> {
    let round = round.min((high[0] - low[0]) / 2.0).min((high[1] - low[1]) / 2.0);
    let corners = [
        [high[0] - round, high[1] - round],
        [low[0] + round, high[1] - round],
        [low[0] + round, low[1] + round],
        [high[0] - round, low[1] + round],
    ];
    let mut points = Vec::new();
    for (quarter, centre) in (0_u32..).zip(corners) {
        for i in 0..=4_u32 {
            let (sin, cos) = ((f64::from(quarter) + f64::from(i) / 4.0) * std::f64::consts::FRAC_PI_2).sin_cos();
            points.push([centre[0] + round * cos, centre[1] + round * sin]);
        }
    }
    points
}

/// A band `width` wide along a course, half on either side of it.
pub(crate) fn band(course: &[Spot], width: f64) -> Vec<Spot> {
    let mut left = Vec::new();
    let mut right = Vec::new();
    for (i, p) in course.iter().enumerate() {
        let before = course[i.saturating_sub(1)];
        let after = course[(i + 1).min(course.len() - 1)];
        let (dx, dy) = (after[0] - before[0], after[1] - before[1]);
        let length = f64::hypot(dx, dy).max(1e-9);
        let (nx, ny) = (-dy / length * width / 2.0, dx / length * width / 2.0);
        left.push([p[0] + nx, p[1] + ny]);
        right.push([p[0] - nx, p[1] - ny]);
    }
    left.reverse();
    right.extend(left);
    right
}

/// The same points the other way.
pub(crate) fn back(mut points: Vec<Spot>) -> Vec<Spot> {
    points.reverse();
    points
}

/// Mirrored about the upright through `middle`.
pub(crate) fn mirrored(points: &[Spot], middle: f64) -> Vec<Spot> {
    points.iter().rev().map(|[x, y]| [2.0 * middle - x, *y]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bow_rises_to_the_left_of_its_way() {
        let up = bow([0.0, 0.0], [100.0, 0.0], 10.0, 2);
        assert_eq!(up, [[0.0, 0.0], [50.0, 10.0], [100.0, 0.0]]);
        let down = bow([100.0, 0.0], [0.0, 0.0], 10.0, 2);
        assert!((down[1][1] + 10.0).abs() < 1e-9);
    }
}
