//! The line between the untouched and the worked side.

/// A line in a picture and which side of it is untouched. Pixels, from the middle of the top left one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// A point of it.
    point: [f64; 2],
    /// Across it, to the worked side, of length 1.
    normal: [f64; 2],
}

/// Why there is no line.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum LineError {
    /// Two points that are one, or not finite.
    #[error("the line's two points must be finite and at least one pixel apart")]
    Points,
    /// A point on the line.
    #[error("the untouched point must lie at least one pixel away from the line")]
    Untouched,
}

impl Line {
    /// Through two points, with a point on the untouched side.
    ///
    /// # Errors
    /// [`LineError`] when the points are less than a pixel apart, or the untouched one less than a pixel from the line.
    pub fn new(from: [f64; 2], to: [f64; 2], untouched: [f64; 2]) -> Result<Self, LineError> {
        let [right, down] = [to[0] - from[0], to[1] - from[1]];
        let length = right.hypot(down);
        if !(length.is_finite() && length >= 1.0) {
            return Err(LineError::Points);
        }
        let line = Self { point: from, normal: [-down / length, right / length] };
        let away = line.away(untouched);
        if !(away.is_finite() && away.abs() >= 1.0) {
            return Err(LineError::Untouched);
        }
        Ok(if away > 0.0 { Self { point: from, normal: line.normal.map(|part| -part) } } else { line })
    }

    /// How far a place is from the line, pixels: above 0 on the worked side.
    #[must_use]
    pub fn away(&self, place: [f64; 2]) -> f64 {
        (place[0] - self.point[0]) * self.normal[0] + (place[1] - self.point[1]) * self.normal[1]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worked_side_is_the_one_without_the_untouched_point() {
        for (from, to) in [([0.0, 10.0], [100.0, 10.0]), ([100.0, 10.0], [0.0, 10.0])] {
            let line = Line::new(from, to, [50.0, 3.0]).unwrap();
            assert!((line.away([20.0, 14.0]) - 4.0).abs() < 1e-12 && (line.away([20.0, 3.0]) + 7.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_line_without_two_points_or_two_sides_is_refused() {
        assert_eq!(Line::new([1.0, 1.0], [1.0, 1.5], [9.0, 9.0]), Err(LineError::Points));
        assert_eq!(Line::new([1.0, f64::NAN], [7.0, 1.5], [9.0, 9.0]), Err(LineError::Points));
        assert_eq!(Line::new([0.0, 0.0], [9.0, 0.0], [4.0, 0.5]), Err(LineError::Untouched));
    }
}
