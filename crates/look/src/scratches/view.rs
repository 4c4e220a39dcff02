//! A photograph of a panel under one lamp, and what of it can be compared.

use lastmicron_raster::polar::{Elongated, Polar, margin, polar};
use lastmicron_raster::{Mask, Plane};
use rayon::prelude::*;

use super::fit::Found;
use super::lamp::{Lamp, highlight};
use super::rings::{self, Rings, Tally, median};
use super::sharpness::width;
use super::shot::Seen;
use super::trouble::Trouble;
use super::unlike::Unlike;

/// Width of the picture that distances are stated for, pixels.
pub(crate) const WIDTH: f64 = 2000.0;

/// The filter, pixels: about as wide as a scratch's image, where its signal stands out most from noise. Judgement of its length: longer gathers more of a line, and picks its directions more
/// sharply than the model knows them.
pub(crate) const KERNEL: Elongated = Elongated { across: 1.5, along: 4.0 };

/// The filter where scratches drown in noise or are blurred: it gathers more of each.
pub(crate) const WIDE_KERNEL: Elongated = Elongated { across: 2.5, along: 6.0 };

/// Peak of a scratch next to the lamp below which the wide filter is used, in units of noise, and width of its image above which it is. Measured on invented photographs of faint scratches on bright paint:
/// the error of `visible` falls from 0.055 to 0.027; where scratches stand out it would rise a little.
const FAINT: f64 = 16.0;
const WIDE: f64 = 1.8;

/// Pixels round overexposed ones that the filter can't be trusted at.
const OVEREXPOSED_REACH: usize = 6;

/// A photograph's light, 0 to 255, and where it is overexposed.
#[derive(Clone, Copy, Debug)]
pub struct Frame<'a> {
    /// Light.
    pub light: &'a Plane,
    /// Pixels that are overexposed.
    pub clipped: &'a Mask,
}

/// A photograph with its lamp found and its responses computed.
pub(crate) struct View {
    pub(crate) lamp: Lamp,
    /// Width of the picture by [`WIDTH`].
    pub(crate) scale: f64,
    pub(crate) polar: Polar,
    /// Pixels that are compared.
    pub(crate) usable: Mask,
    /// Standard deviation of the responses towards the lamp, where no scratch is lit.
    pub(crate) noise: f64,
    /// How a scratch is seen.
    pub(crate) seen: Seen,
    /// Standard deviation of its width, pixels.
    pub(crate) width_sd: f64,
    /// Share of the rings' pixels that are overexposed.
    pub(crate) overexposed: f64,
    /// Light of the middle pixel of those compared, of 255.
    pub(crate) light: f64,
}

impl View {
    /// Looks at a photograph; pixels of which `is_out` is true are left out.
    pub(crate) fn of(frame: Frame<'_>, kernel: Elongated, is_out: impl Fn(f64, f64) -> bool + Sync) -> Result<Self, Trouble> {
        let Frame { light, clipped } = frame;
        let scale = light.width() as f64 / WIDTH;
        let lamp = highlight(frame, scale, &is_out).ok_or(Trouble::NoLamp)?;
        let polar = polar(light, lamp.middle, kernel, 1).map_err(|_| Trouble::NoLamp)?;
        let overexposed = clipped.grown(OVEREXPOSED_REACH);
        let unlike = Unlike::new(light, lamp.middle, scale);
        let (most, margin) = (rings::EDGES[rings::RINGS] * scale, margin(kernel));
        let least = rings::EDGES[0] * scale;
        let mut usable = Mask::empty(light.width(), light.height()).map_err(|_| Trouble::NoLamp)?;
        let (mut inside, mut lost) = (0_usize, 0_usize);
        for y in margin..light.height().saturating_sub(margin) {
            for x in margin..light.width().saturating_sub(margin) {
                let away = [x as f64 - lamp.middle[0], y as f64 - lamp.middle[1]];
                let square = away[0] * away[0] + away[1] * away[1];
                if square < least * least || square >= most * most || is_out(x as f64, y as f64) {
                    continue;
                }
                inside += 1;
                if overexposed.get(x, y) {
                    lost += 1;
                } else if !unlike.at(x, y) {
                    usable.insert(x, y);
                }
            }
        }
        let noise = noise(&polar, &usable);
        if noise.is_nan() || noise <= 0.0 {
            return Err(Trouble::TooDark);
        }
        let [width, width_sd] = width(light, lamp.middle, kernel, &polar, &usable);
        let lights = usable.iter().step_by(31).map(|(x, y)| f64::from(light.row(y)[x])).collect();
        Ok(Self {
            lamp,
            scale,
            polar,
            usable,
            noise,
            seen: Seen { kernel, width },
            width_sd,
            overexposed: lost as f64 / inside.max(1) as f64,
            light: median(lights),
        })
    }

    /// Standard deviation of the logarithm of a response's peak, for want of knowing how wide a scratch's image is.
    pub(crate) fn peak_sd(&self) -> f64 {
        3.0 * self.seen.width * self.width_sd / self.seen.base()
    }

    /// Would a wider filter see more?
    pub(crate) fn wants_wider(&self, found: &Found) -> bool {
        found.peak() < FAINT || self.seen.width > WIDE
    }

    /// Light of one side by that of the other, at like distances from the lamp.
    pub(crate) fn light_ratio(&self, light: &Plane, is_worked: impl Fn(f64, f64) -> bool) -> f64 {
        let mut rings: [[Vec<f64>; 2]; rings::RINGS] = Default::default();
        for (x, y) in self.usable.iter().step_by(13) {
            let (u, v) = (x as f64, y as f64);
            let distance = (u - self.lamp.middle[0]).hypot(v - self.lamp.middle[1]) / self.scale;
            let ring = rings::EDGES.iter().filter(|edge| **edge <= distance).count();
            if let Some(ring) = ring.checked_sub(1).and_then(|ring| rings.get_mut(ring)) {
                ring[usize::from(is_worked(u, v))].push(f64::from(light.row(y)[x]));
            }
        }
        let both = rings.into_iter().filter(|[a, b]| a.len().min(b.len()) > 100);
        let sums = both.fold([0.0; 2], |sum, [a, b]| [sum[0] + median(a), sum[1] + median(b)]);
        (sums[1] + 1.0) / (sums[0] + 1.0)
    }

    /// Responses in each ring: of the pixels that `side` gives the number of one of the sides.
    pub(crate) fn rings<const SIDES: usize>(&self, side: impl Fn(f64, f64) -> usize + Sync) -> [Rings; SIDES] {
        let none = || std::array::from_fn::<Tally, SIDES, _>(|_| Tally::new());
        let width = self.usable.width();
        let rows = (0..self.usable.height()).into_par_iter().with_min_len(128);
        let tallies = rows.fold(none, |mut tallies, y| {
            for (x, y) in self.usable.iter_in(0..width, y..y + 1) {
                let away = [x as f64 - self.lamp.middle[0], y as f64 - self.lamp.middle[1]];
                let at = y * width + x;
                let responses = [self.polar.round.values()[at], self.polar.towards.values()[at]];
                if let Some(tally) = tallies.get_mut(side(x as f64, y as f64)) {
                    tally.add(away, self.scale, responses, self.noise as f32);
                }
            }
            tallies
        });
        let join = |a: [Tally; SIDES], b: [Tally; SIDES]| {
            let mut b = b.into_iter();
            a.map(|a| if let Some(b) = b.next() { a.join(&b) } else { a })
        };
        tallies.reduce(none, join).map(|tally| tally.rings())
    }
}

/// Normal deviations in a median deviation.
const PER_MEDIAN_DEVIATION: f64 = 1.4826;

/// Standard deviation of the responses towards the lamp, by their median deviation: lit scratches run round the lamp, so that few of them are among these.
fn noise(polar: &Polar, usable: &Mask) -> f64 {
    let values = polar.towards.values();
    let sample: Vec<f64> = usable.iter().step_by(17).map(|(x, y)| f64::from(values[y * usable.width() + x])).collect();
    let middle = median(sample.clone());
    PER_MEDIAN_DEVIATION * median(sample.iter().map(|value| (value - middle).abs()).collect())
}
