//! Tape along the line.

use lastmicron_raster::Plane;

use super::line::Line;
use super::rings::median;
use super::view::scale;

/// Half the width that is left out along the line at least, pixels of a picture 2000 pixels wide: a line is drawn by hand, and work ends over a few millimetres.
const LEAST: f64 = 32.0;

/// How far from the line tape may reach, and from where on there is certainly none, pixels of a picture 2000 pixels wide.
const MOST: f64 = 120.0;
const BEYOND: f64 = 240.0;

/// Width of the strips along the line that are compared, pixels of a picture 2000 pixels wide.
const STRIP: f64 = 4.0;

/// How much lighter or darker than the paint tape is: a share of the paint's light, and levels of 255.
const APART: [f64; 2] = [0.25, 12.0];

/// What is left out beyond the tape's edge, pixels of a picture 2000 pixels wide: its shadow and the filter's reach.
const MARGIN: f64 = 10.0;

/// What is left out along the line between the sides, when there is one.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LeftOut<'a> {
    line: Option<&'a Line>,
    /// Half the width of the tape that is seen there, with a margin, pixels; 0 where none is.
    pub(crate) tape: f64,
    /// Half the width of all that is left out, pixels.
    half_width: f64,
}

impl<'a> LeftOut<'a> {
    /// Nothing.
    pub(crate) const NOTHING: Self = Self { line: None, tape: 0.0, half_width: 0.0 };

    /// Along a line.
    pub(crate) fn along(line: &'a Line, light: &Plane) -> Self {
        let (scale, tape) = (scale(light), tape(light, line));
        Self { line: Some(line), tape, half_width: tape.max(LEAST * scale) }
    }

    /// Is a place left out?
    pub(crate) fn is_out(&self, place: [f64; 2]) -> bool {
        self.line.is_some_and(|line| line.away(place).abs() < self.half_width)
    }

    /// Is a place on tape?
    pub(crate) fn is_tape(&self, place: [f64; 2]) -> bool {
        self.line.is_some_and(|line| line.away(place).abs() < self.tape)
    }
}

/// Half the width of the tape that is seen along a line, with a margin, pixels; 0 when none is.
fn tape(light: &Plane, line: &Line) -> f64 {
    let scale = scale(light);
    let strips = (2.0 * BEYOND / STRIP) as usize;
    let mut values: Vec<Vec<f64>> = vec![Vec::new(); strips];
    for y in (0..light.height()).step_by(3) {
        for (x, value) in light.row(y).iter().enumerate().step_by(3) {
            let strip = (line.away([x as f64, y as f64]) / (STRIP * scale) + 0.5 * strips as f64).floor();
            if let Some(values) = (strip >= 0.0).then(|| values.get_mut(strip as usize)).flatten() {
                values.push(f64::from(*value));
            }
        }
    }
    // A strip beyond the picture's border has no light.
    let strips: Vec<Option<f64>> = values.into_iter().map(|values| (!values.is_empty()).then(|| median(values))).collect();
    let (below, above) = strips.split_at(strips.len() / 2);
    let sides = [tape_on(above.iter().copied()), tape_on(below.iter().rev().copied())];
    let strips = sides.into_iter().max().unwrap_or(0);
    if strips > 0 { (strips as f64 * STRIP + MARGIN) * scale } else { 0.0 }
}

/// How many strips of tape there are from the line on, by their light and that of the paint beyond.
fn tape_on(lights: impl Iterator<Item = Option<f64>>) -> usize {
    let lights: Vec<Option<f64>> = lights.collect();
    let most = ((MOST / STRIP) as usize).min(lights.len());
    let beyond: Vec<f64> = lights[most..].iter().flatten().copied().collect();
    if beyond.is_empty() {
        return 0;
    }
    let paint = median(beyond);
    let is_tape = |light: &Option<f64>| light.is_some_and(|light| (light - paint).abs() > APART[0] * paint + APART[1]);
    lights[..most].iter().take_while(|light| is_tape(light)).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn photograph(half: f64) -> Plane {
        let light = |x: usize, y: usize| {
            let glow = 20.0 + 30.0 * (-(x as f32 - 1000.0).hypot(y as f32 - 750.0) / 700.0).exp();
            if (y as f64 - 760.0).abs() < half { 165.0 } else { glow + (x * 7 % 5) as f32 }
        };
        Plane::new(2000, 1500, (0..2000 * 1500).map(|at| light(at % 2000, at / 2000)).collect()).unwrap()
    }

    #[test]
    fn tape_is_left_out_with_a_margin() {
        let line = Line::new([0.0, 760.0], [1999.0, 760.0], [1000.0, 300.0]).unwrap();
        for (half, wanted) in [(0.0_f64, 32.0..33.0), (12.0, 32.0..33.0), (60.0, 66.0..78.0), (90.0, 96.0..108.0)] {
            let photograph = photograph(half);
            let found = LeftOut::along(&line, &photograph);
            assert!(wanted.contains(&found.half_width), "{half}: {found:?}");
            assert_eq!(found.tape > 0.0, half > 0.0);
        }
    }

    #[test]
    fn a_line_near_the_border_has_tape_only_where_it_is_seen() {
        let photograph = Plane::filled(2000, 1500, 40.0).unwrap();
        for y in [0.0, 30.0, 1499.0, -400.0] {
            let line = Line::new([0.0, y], [1999.0, y], [1000.0, 700.0]).unwrap();
            assert!(LeftOut::along(&line, &photograph).tape < 1e-9, "{y}");
        }
    }
}
