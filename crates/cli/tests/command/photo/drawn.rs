//! Photographs of scratches under a lamp, drawn.

use lastmicron_photo::{Picture, write_png};

pub(super) const WIDTH: usize = 1200;
pub(super) const HEIGHT: usize = 900;
/// Middle of the lamp's highlight.
const LAMP: [f64; 2] = [610.0, 455.0];
/// Scratches all over the picture, as bright as they are deep; depths are exponential, so that those left of worked paint are as deep as they all were before. And the share that is left.
const SCRATCHES: u32 = 1500;
pub(super) const LEFT: f64 = 0.25;

/// Where paint has been worked.
#[derive(Clone, Copy)]
pub(super) enum Worked {
    Nowhere,
    RightHalf,
    Everywhere,
}

/// A number from 0 to 1 for each three numbers, always the same.
fn noise(a: u32, b: u32, c: u32) -> f64 {
    let mut hash = u64::from(a) << 40 ^ u64::from(b) << 20 ^ u64::from(c);
    for _ in 0..3 {
        hash = (hash ^ hash >> 31).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    }
    (hash >> 11) as f64 / (1_u64 << 53) as f64
}

/// The bytes of a photograph, as PNG; `seed` is that of its noise alone.
pub(super) fn photograph(worked: Worked, seed: u32) -> Vec<u8> {
    let away = |x: f64, y: f64| (x - LAMP[0]).hypot(y - LAMP[1]);
    let mut light: Vec<f64> = Vec::with_capacity(WIDTH * HEIGHT);
    for (x, y) in (0..HEIGHT as u32).flat_map(|y| (0..WIDTH as u32).map(move |x| (x, y))) {
        let away = away(f64::from(x), f64::from(y));
        let grain: f64 = (0..4).map(|k| noise(seed + k, x, y) - 0.5).sum();
        light.push(35.0 + 50.0 * (-away / 200.0).exp() + 400.0 * (-0.5 * (away / 25.0).powi(2)).exp() + 3.0 * grain);
    }
    for scratch in 0..SCRATCHES {
        let of = |what: u32| noise(77, scratch, what);
        let middle = [WIDTH as f64 * of(0), HEIGHT as f64 * of(1)];
        let is_worked = match worked {
            Worked::Nowhere => false,
            Worked::RightHalf => middle[0] > 0.5 * WIDTH as f64,
            Worked::Everywhere => true,
        };
        // The same depth is taken off each.
        let depth = -of(2).max(1e-9).ln() - if is_worked { -LEFT.ln() } else { 0.0 };
        if depth <= 0.0 {
            continue;
        }
        let (down, right) = (std::f64::consts::PI * of(3)).sin_cos();
        let length = 63.0;
        // Half a pixel at a time, lit where it runs round the lamp.
        for step in 0..2 * length as u32 {
            let along = 0.5 * f64::from(step) - 0.5 * length;
            let at = [middle[0] + along * right, middle[1] + along * down];
            let distance = away(at[0], at[1]).max(1.0);
            let towards = ((at[0] - LAMP[0]) * right + (at[1] - LAMP[1]) * down) / distance;
            let bright = 4.0 * depth * (-distance / 400.0).exp() * (-0.5 * (towards / 0.2).powi(2)).exp();
            spot(&mut light, at, bright);
        }
    }
    let pixels = light.into_iter().map(|light| [light.round().clamp(0.0, 255.0) as u8; 3]).collect();
    write_png(&Picture::new(WIDTH, HEIGHT, pixels).unwrap()).unwrap()
}

/// Adds a small round spot of light.
fn spot(light: &mut [f64], [x, y]: [f64; 2], bright: f64) {
    for (v, u) in (-3..=3).flat_map(|v| (-3..=3).map(move |u| (v, u))) {
        let [column, row] = [x.round() + f64::from(u), y.round() + f64::from(v)];
        if column >= 0.0 && row >= 0.0 && column < WIDTH as f64 && row < HEIGHT as f64 {
            light[row as usize * WIDTH + column as usize] += bright * (-0.5 * ((column - x).powi(2) + (row - y).powi(2)) / 1.2).exp();
        }
    }
}
