//! What lines of all directions add to the responses round a lamp.

use lastmicron_raster::polar::Elongated;
use num_complex::Complex64;
use rayon::prelude::*;

use super::profile::{self, LogTable};

/// Mean length of a scratch on a picture 2000 pixels wide, pixels: how many ends there are. Judgement: wash marks of 3 to 7 cm seen from half a metre; ends add a tenth of what lines do,
/// so that twice the length changes shares by less than 0.01.
pub(super) const LENGTH: f64 = 105.0;

/// Directions beyond which nothing is seen, radians from running round the lamp, and nodes up to there: of widely spread light a fifth is left, but the filter passes over what runs across it.
const MOST_TURN: f64 = 1.2;
const TURNS: usize = 81;

/// Spreads that are tabulated: the standard deviation of how far from running round the lamp a line may run and still be lit, radians (as a sine).
pub(crate) const SPREADS: [f64; 2] = [0.06, 0.5];
const SPREAD_NODES: usize = 23;

/// Peaks that are tabulated, in units of the noise.
const PEAKS: [f64; 2] = [1e-3, 1e3];
const PEAK_NODES: usize = 240;

/// Change of the logarithm of the characteristic function of responses, round the lamp less towards it, for a line length of 1 in an area of 1, by the peak of a response
/// to a line that runs right round the lamp, and by the spread of directions.
#[derive(Clone, Debug)]
pub(crate) struct Shot {
    by_spread: Vec<LogTable>,
    seen: Seen,
}

impl Shot {
    /// For lines seen so, in a picture `scale` times 2000 pixels wide.
    pub(crate) fn new(seen: Seen, scale: f64) -> Self {
        let (line, end) = (profile::line(), profile::end());
        let turns: Vec<f64> = (0..TURNS).map(|at| MOST_TURN * at as f64 / (TURNS - 1) as f64).collect();
        let step = MOST_TURN / (TURNS - 1) as f64;
        let (base, along) = (seen.base(), seen.kernel.along.hypot(seen.width));
        let ends_per_length = 2.0 / (LENGTH * scale);
        let factor = base.sqrt() / (std::f64::consts::TAU.sqrt() * along);
        let by_spread: Vec<LogTable> = (0..SPREAD_NODES)
            .into_par_iter()
            .map(|at| {
                let spread = spread_at(at);
                let lit: Vec<[f64; 4]> = turns
                    .iter()
                    .enumerate()
                    .map(|(at, turn)| {
                        let weight = if at == 0 || at == TURNS - 1 { step } else { 2.0 * step } / std::f64::consts::PI;
                        let [peak, root] = seen.turned(*turn);
                        let light = light(*turn, spread);
                        [weight, peak * light, root, light]
                    })
                    .collect();
                let sum = |y: f64| -> Complex64 { lit.iter().map(|[weight, peak, root, _]| line.at(y * peak) * (weight * root)).sum() };
                let lines = LogTable::of(PEAKS[0], PEAKS[1], PEAK_NODES, sum);
                let faded = |y: f64| -> Complex64 {
                    fades().map(|(share, beyond)| lines.at(y * share) - lines.at(y) * beyond).sum::<Complex64>() * (FADE_STEP * along)
                };
                let towards = |y: f64| -> Complex64 {
                    lit.iter().map(|[weight, _, _, light]| end.at(y * light * factor) * *weight).sum::<Complex64>() * (base.sqrt() * along)
                };
                LogTable::of(PEAKS[0], PEAKS[1], PEAK_NODES, |y| lines.at(y) + (faded(y) - towards(y)) * ends_per_length)
            })
            .collect();
        Self { by_spread, seen }
    }

    /// The table for a spread, whose logarithm is `log_spread`.
    pub(crate) fn at_spread(&self, log_spread: f64) -> LogTable {
        let step = (SPREADS[1] / SPREADS[0]).ln() / (SPREAD_NODES - 1) as f64;
        let place = ((log_spread - SPREADS[0].ln()) / step).clamp(0.0, (SPREAD_NODES - 1) as f64);
        let at = (place as usize).min(SPREAD_NODES - 2);
        self.by_spread[at].towards(&self.by_spread[at + 1], place - at as f64)
    }

    /// What a line does at each of some turns: weight, peak and the square root of its width, for the covariance.
    pub(crate) fn turns(&self, spread: f64, count: usize) -> Vec<[f64; 3]> {
        let step = 0.9 / (count - 1) as f64;
        let at = |at: usize| {
            let turn = step * at as f64;
            let weight = if at == 0 { step } else { 2.0 * step } / std::f64::consts::PI;
            let [peak, root] = self.seen.turned(turn);
            [weight, peak * light(turn, spread), root]
        };
        (0..count).map(at).collect()
    }
}

fn spread_at(at: usize) -> f64 {
    SPREADS[0] * (SPREADS[1] / SPREADS[0]).powf(at as f64 / (SPREAD_NODES - 1) as f64)
}

/// A line's section through a filter.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Seen {
    pub(crate) kernel: Elongated,
    /// Standard deviation of the section, pixels, everything that blurs it included.
    pub(crate) width: f64,
}

impl Seen {
    /// Square of the response's width across a line along the filter, square pixels.
    pub(crate) fn base(&self) -> f64 {
        self.kernel.across.powi(2) + self.width.powi(2)
    }

    /// Peak of the response to a line turned by `turn` from the filter, as a share of that of one along it, and the width of its response, pixels.
    fn turned(&self, turn: f64) -> [f64; 2] {
        let (sine, cosine) = turn.sin_cos();
        let wide = (self.kernel.across * cosine).powi(2) + (self.kernel.along * sine).powi(2) + self.width.powi(2);
        [cosine * cosine * (wide / self.base()).powf(-1.5), wide.sqrt()]
    }
}

/// How brightly a line shows that is turned by `turn` from running round the lamp.
fn light(turn: f64, spread: f64) -> f64 {
    (-0.5 * (turn.sin() / spread).powi(2)).exp()
}

const FADE_STEP: f64 = 0.25;

/// How much of a line the filter sees at distances from its end, from -3 to 3 filter lengths, and whether the line without an end would count there.
fn fades() -> impl Iterator<Item = (f64, f64)> {
    (-12..=12).map(|at| {
        let place = f64::from(at) * FADE_STEP;
        let beyond = if at > 0 {
            1.0
        } else if at == 0 {
            0.5
        } else {
            0.0
        };
        (lastmicron_numerics::normal::cumulative(place), beyond)
    })
}
