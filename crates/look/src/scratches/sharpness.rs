//! How wide a scratch's image is.

use lastmicron_raster::polar::{Elongated, Polar, polar};
use lastmicron_raster::{Mask, Plane};

use super::rings::{SECTORS, sector};

/// Sigma across of a second filter, by that of the first: wide enough to see the same lines otherwise, narrow enough to see them apart.
const WIDER: f64 = 2.0;

/// Counted rows from one that is looked at to the next: they are enough.
const EVERY: usize = 4;

/// Width before anything is seen, pixels, as median and logarithmic deviation. Judgement: what a sharp photograph makes of a line much finer than a pixel.
const USUAL: [f64; 2] = [1.1, 0.25];

/// Widths that make sense, pixels.
const RANGE: [f64; 2] = [0.5, 5.0];

/// Standard deviation of a scratch's section, pixels, and its uncertainty.
///
/// Two filters answer to the same lines with powers that go as sigma^4 (sigma^2 + width^2)^-5/2; what both see of noise and of anything without direction goes out in the difference of lines
/// round the lamp and lines towards it.
/// Of the narrow filter's responses each `every`-th row is there.
pub(crate) fn width(light: &Plane, lamp: [f64; 2], kernel: Elongated, narrow: &Polar, usable: &Mask, every: usize) -> [f64; 2] {
    let every = EVERY * every;
    let Ok(wide) = polar(light, lamp, Elongated { across: WIDER * kernel.across, along: kernel.along }, every) else {
        return [USUAL[0], USUAL[0] * USUAL[1]];
    };
    let mut powers = [[0.0; 2]; SECTORS];
    for y in (0..usable.height()).step_by(every) {
        for (x, _) in usable.iter_in(0..usable.width(), y..y + 1) {
            let at = y * usable.width() + x;
            let sector = &mut powers[sector([x as f64 - lamp[0], y as f64 - lamp[1]])];
            for (power, polar) in sector.iter_mut().zip([narrow, &wide]) {
                *power += f64::from(polar.round.values()[at]).powi(2) - f64::from(polar.towards.values()[at]).powi(2);
            }
        }
    }
    let total = powers.iter().fold([0.0; 2], |sum, power| [sum[0] + power[0], sum[1] + power[1]]);
    let Some(seen) = width_of(kernel.across, total) else { return [USUAL[0], USUAL[0] * USUAL[1]] };
    let without = powers.iter().filter_map(|power| width_of(kernel.across, [total[0] - power[0], total[1] - power[1]]));
    let apart: Vec<f64> = without.map(|width| (width / seen).ln()).collect();
    let mean = apart.iter().sum::<f64>() / apart.len().max(1) as f64;
    let count = apart.len().max(1) as f64;
    // Jackknife: Efron and Stein, "The jackknife estimate of variance", Annals of Statistics 9 (1981), 586-596.
    let variance = apart.iter().map(|value| (value - mean).powi(2)).sum::<f64>() * (count - 1.0) / count + 1e-4;
    let variance = if apart.len() < SECTORS { 1.0 } else { variance };
    let (precision, usual) = (variance.recip(), USUAL[1].powi(-2));
    let log = (precision * seen.ln() + usual * USUAL[0].ln()) / (precision + usual);
    [log.exp(), log.exp() / (precision + usual).sqrt()]
}

/// The width that two filters' powers agree with.
fn width_of(across: f64, powers: [f64; 2]) -> Option<f64> {
    let [narrow, wide] = powers;
    if !(narrow > 0.0 && wide > 0.0) {
        return None;
    }
    // (wider^2 + w^2) / (across^2 + w^2)
    let ratio = (narrow / wide * WIDER.powi(4)).powf(0.4);
    let square = across * across * (WIDER * WIDER - ratio) / (ratio - 1.0);
    Some(if ratio <= 1.0 { RANGE[1] } else { square.max(0.0).sqrt().clamp(RANGE[0], RANGE[1]) })
}
