//! Tape along the line.

use lastmicron_raster::Plane;

use super::line::Line;
use super::rings::median;
use super::view::WIDTH;

/// Half the width that is left out along the line at least, pixels of a picture 2000 pixels wide: a line is drawn by hand, and work ends over a few millimetres.
const LEAST: f64 = 32.0;

/// How far from the line tape may reach, and from where on there is certainly none, by the picture's width.
const MOST: f64 = 0.06;
const BEYOND: f64 = 0.12;

/// Width of the strips along the line that are compared, by the picture's width.
const STRIP: f64 = 0.002;

/// How much lighter or darker than the paint tape is: a share of the paint's light, and levels of 255.
const APART: [f64; 2] = [0.25, 12.0];

/// What is left out beyond the tape's edge, pixels of a picture 2000 pixels wide: its shadow and the filter's reach.
const MARGIN: f64 = 10.0;

/// Half the width of what is left out along the line, pixels: the tape that is seen there, and a margin.
pub(crate) fn half_width(light: &Plane, line: &Line) -> f64 {
    let width = light.width() as f64;
    let strips = (2.0 * BEYOND / STRIP) as usize;
    let mut values: Vec<Vec<f64>> = vec![Vec::new(); strips];
    for y in (0..light.height()).step_by(3) {
        for (x, value) in light.row(y).iter().enumerate().step_by(3) {
            let strip = (line.away([x as f64, y as f64]) / (STRIP * width) + 0.5 * strips as f64).floor();
            if let Some(values) = (strip >= 0.0).then(|| values.get_mut(strip as usize)).flatten() {
                values.push(f64::from(*value));
            }
        }
    }
    let strips: Vec<f64> = values.into_iter().map(median).collect();
    let middle = strips.len() / 2;
    let most = (MOST / STRIP) as usize;
    let side = |lights: Vec<f64>| {
        let paint = median(lights[most..].to_vec());
        lights[..most].iter().take_while(|light| (*light - paint).abs() > APART[0] * paint + APART[1]).count()
    };
    let sides = [side(strips[middle..].to_vec()), side(strips[..middle].iter().rev().copied().collect())];
    let tape = sides.into_iter().max().unwrap_or(0);
    let seen = if tape > 0 { tape as f64 * STRIP * width + MARGIN * width / WIDTH } else { 0.0 };
    seen.max(LEAST * width / WIDTH)
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
        for (half, wanted) in [(0.0, 32.0..33.0), (12.0, 32.0..33.0), (60.0, 66.0..78.0), (90.0, 96.0..108.0)] {
            let found = half_width(&photograph(half), &line);
            assert!(wanted.contains(&found), "{half}: {found}");
        }
    }
}
