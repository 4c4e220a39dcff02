//! A photograph of a panel under one lamp, and what of it can be compared.

use lastmicron_raster::polar::{Elongated, Polar, margin, polar};
use lastmicron_raster::{Mask, Plane};
use rayon::prelude::*;

use super::fit::Found;
use super::lamp::Lamp;
use super::photograph::Photograph;
use super::rings::{self, Rings, Tally, median};
use super::sharpness;
use super::shot::Seen;
use super::tape::LeftOut;
use super::trouble::{Part, Trouble};
use super::unlike::Unlike;

/// Longer side of the picture that distances are stated for, pixels: called 2000 pixels wide.
const LONGER: f64 = 2000.0;

/// The filter, pixels: about as wide as a scratch's image, where its signal stands out most from noise. Judgement of its length: longer gathers more of a line, and picks its directions more
/// sharply than the model knows them.
pub(crate) const KERNEL: Elongated = Elongated { across: 1.5, along: 4.0 };

/// The filter where scratches drown in noise or are blurred: it gathers more of each.
pub(crate) const WIDE_KERNEL: Elongated = Elongated { across: 2.5, along: 6.0 };

/// Peak of a scratch next to the lamp below which the wide filter is used, in units of noise, and width of its image above which it is. Measured on invented photographs of faint scratches on bright paint:
/// the error of `visible` falls from 0.055 to 0.027; where scratches stand out it would rise a little.
const FAINT: f64 = 16.0;
const WIDE: f64 = 1.8;

/// Noise of the responses below which there is none, of 255. Judgement: the filter's own rounding leaves 1e-6, a photograph's rounding to whole numbers hundredths.
const LEAST_NOISE: f64 = 1e-4;

/// Light of the middle pixel below which a photograph is dark, of 255: rounding to whole numbers hides faint scratches there.
pub(crate) const DARK: f64 = 5.0;

/// Pixels round overexposed ones that the filter can't be trusted at. Judgement: four widths of the filter across; it reaches farther along itself, but faintly.
const OVEREXPOSED_REACH: usize = 6;

/// A photograph's light, 0 to 255, and where it is overexposed.
#[derive(Clone, Copy, Debug)]
pub struct Frame<'a> {
    /// Light.
    pub light: &'a Plane,
    /// Pixels that are overexposed.
    pub clipped: &'a Mask,
}

/// Size of a picture by that of one 2000 pixels wide, by its longer side: a photograph shows as much lying as upright.
pub(crate) fn scale(light: &Plane) -> f64 {
    light.width().max(light.height()) as f64 / LONGER
}

/// A photograph with its lamp found.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Shown<'a> {
    pub(crate) frame: Frame<'a>,
    pub(crate) photograph: Photograph,
    pub(crate) lamp: Lamp,
    /// Size of what the picture shows by that of one 2000 pixels wide.
    pub(crate) scale: f64,
    pub(crate) left_out: LeftOut<'a>,
}

/// A photograph with its lamp found and its responses computed.
pub(crate) struct View {
    pub(crate) lamp: Lamp,
    /// Size of what the picture shows by that of one 2000 pixels wide, see [`scale`].
    pub(crate) scale: f64,
    pub(crate) polar: Polar,
    /// Rows from one whose responses are computed to the next.
    pub(crate) every: usize,
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
    /// Looks at a photograph whose lamp is found.
    pub(crate) fn of(shown: &Shown<'_>, kernel: Elongated) -> Result<Self, Trouble> {
        let Shown { frame: Frame { light, clipped }, photograph, lamp, scale, left_out } = *shown;
        let (width, height) = (light.width(), light.height());
        let every = rows_apart(scale);
        let too_little = Trouble::TooLittle(Part::Panel(photograph));
        let polar = polar(light, lamp.middle, kernel, every).map_err(|_| too_little)?;
        let (overexposed, unlike) = (clipped.grown(OVEREXPOSED_REACH), Unlike::new(light, lamp.middle, scale));
        let margin = margin(kernel);
        let (columns, rows) = (margin..width.saturating_sub(margin), margin..height.saturating_sub(margin));
        let inside = Mask::of(width, height, |x, y| {
            let place = [x as f64, y as f64];
            let is_within = columns.contains(&x) && rows.contains(&y);
            is_within && rings::ring([place[0] - lamp.middle[0], place[1] - lamp.middle[1]], scale).is_some() && !left_out.is_out(place)
        });
        let inside = inside.map_err(|_| too_little)?;
        let is_usable = |x: usize, y: usize| inside.get(x, y) && !overexposed.get(x, y) && !unlike.at(x, y);
        let usable = Mask::of(width, height, is_usable).map_err(|_| too_little)?;
        let lost = overexposed.iter().filter(|(x, y)| inside.get(*x, *y)).count() as f64 / inside.count().max(1) as f64;
        if usable.count() == 0 {
            return Err(too_little);
        }
        let noise = noise(&polar, &usable, every);
        let middle_light = median(usable.iter().step_by(31).map(|(x, y)| f64::from(light.row(y)[x])).collect());
        if noise.is_nan() || noise < LEAST_NOISE {
            return Err(if middle_light < DARK { Trouble::TooDark(photograph) } else { Trouble::Smooth(photograph) });
        }
        let [seen, width_sd] = sharpness::width(light, lamp.middle, kernel, &polar, &usable, every);
        Ok(Self {
            lamp,
            scale,
            polar,
            usable,
            noise,
            every,
            seen: Seen { kernel, width: seen },
            width_sd,
            overexposed: lost,
            light: middle_light,
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
            if let Some(ring) = rings::ring([u - self.lamp.middle[0], v - self.lamp.middle[1]], self.scale) {
                rings[ring][usize::from(is_worked(u, v))].push(f64::from(light.row(y)[x]));
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
        let counted = self.usable.height().div_ceil(self.every);
        // A tally is large: one for each thread is enough.
        let rows = (0..counted).into_par_iter().with_min_len(counted.div_ceil(rayon::current_num_threads()).max(1));
        let tallies = rows.fold(none, |mut tallies, row| {
            let y = row * self.every;
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
        tallies.reduce(none, join).map(|tally| tally.rings(self.every))
    }
}

/// Normal deviations in a median deviation.
const PER_MEDIAN_DEVIATION: f64 = 1.4826;

/// Standard deviation of the responses towards the lamp, by their median deviation: lit scratches run round the lamp, so that few of them are among these.
fn noise(polar: &Polar, usable: &Mask, every: usize) -> f64 {
    let (values, width) = (polar.towards.values(), usable.width());
    let rows = (0..usable.height()).step_by(every);
    let counted = rows.flat_map(|y| usable.iter_in(0..width, y..y + 1));
    let sample: Vec<f64> = counted.step_by(17).map(|(x, y)| f64::from(values[y * width + x])).collect();
    let middle = median(sample.clone());
    PER_MEDIAN_DEVIATION * median(sample.iter().map(|value| (value - middle).abs()).collect())
}

/// Width of a picture's pixels by those of one 2000 pixels wide from which on rows are left out: a scratch's image, blurred by the lens and the filter, is several rows wide on it whatever its size, and
/// twice the rows tell hardly more of it. Judgement: at 12 megapixels each second row is counted, at most each third.
fn rows_apart(scale: f64) -> usize {
    (scale.round() as usize).clamp(1, 3)
}
