//! Repeated readings: how repeatable a gauge is, and how many it takes to see a removal.

use lastmicron_numerics::normal;
use lastmicron_numerics::special::chi_squared_quantile;

/// Groups of five repeats serve from day to day in place of a whole study (common practice).
pub const DAILY_REPEATS: usize = 5;

/// Most repeats that [`repeats_to_see`] looks for. Judgement: nobody reads one place more often.
const MOST_REPEATS: u32 = 10_000;

/// Noise this small a share of the display's step leaves repeats on one number, so that their mean keeps the rounding.
/// Judgement: at half a step of noise the mean of rounded readings is within 2 % of a step of the true mean, below it worsens fast.
const DITHER_SHARE: f64 = 0.5;

/// Spreads beyond which a repeat is wild. Judgement: five robust standard deviations come by chance once in two million.
const WILD_SPREADS: f64 = 5.0;

/// Median of absolute deviations x this is the standard deviation of normal noise: 1 / the normal quantile of 3/4.
const MEDIAN_TO_SD: f64 = 1.482_602_218_505_602;

/// A standard deviation pooled from repeats.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeatability {
    /// Standard deviation, um.
    pub sd_um: f64,
    /// Degrees of freedom behind it.
    pub df: f64,
}

/// Why there is no repeatability.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum RepeatsError {
    /// No place was read twice.
    #[error("no place was read more than once: take at least two readings at one place without moving the probe, five as a rule")]
    NoRepeats,
    /// A reading that isn't a number.
    #[error("a reading is {0}: every reading must be a finite number")]
    NotFinite(f64),
}

/// What disturbs one reading beside the gauge's offset and gain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Noise {
    /// Standard deviation of repeats at one place, um.
    pub repeatability_um: f64,
    /// Standard deviation of re-placing the probe on a textured film, um.
    pub replacing_um: f64,
    /// The display's step, um; 0 when it shows more digits than matter.
    pub step_um: f64,
}

/// Repeatability pooled over places, each read repeatedly without moving the probe; places read once add nothing.
///
/// # Errors
/// [`RepeatsError`] when no place was read twice, or a reading isn't finite.
pub fn pooled<G: AsRef<[f64]>>(places: &[G]) -> Result<Repeatability, RepeatsError> {
    let (mut squares, mut df) = (0.0, 0.0);
    for place in places {
        let readings = place.as_ref();
        if let Some(&bad) = readings.iter().find(|reading| !reading.is_finite()) {
            return Err(RepeatsError::NotFinite(bad));
        }
        if readings.len() > 1 {
            let mean = readings.iter().sum::<f64>() / number(readings.len());
            squares += readings.iter().map(|reading| (reading - mean).powi(2)).sum::<f64>();
            df += number(readings.len() - 1);
        }
    }
    if df == 0.0 { Err(RepeatsError::NoRepeats) } else { Ok(Repeatability { sd_um: (squares / df).sqrt(), df }) }
}

/// Repeats that lie far from their place's others, as (place, repeat) counted from 0: a slip of the probe, or a number misread.
///
/// A repeat is wild when it is more than five standard deviations from its place's median, these taken from the median of all such
/// deviations, which one wild repeat hardly moves. Source: Hampel, "The influence curve and its role in robust estimation", 1974.
#[must_use]
pub fn wild<G: AsRef<[f64]>>(places: &[G]) -> Vec<(usize, usize)> {
    let places: Vec<&[f64]> = places.iter().map(AsRef::as_ref).filter(|place| place.iter().all(|reading| reading.is_finite())).collect();
    let mut deviations = Vec::new();
    for (place, readings) in places.iter().enumerate().filter(|(_, readings)| readings.len() > 2) {
        let middle = median(readings.to_vec());
        deviations.extend(readings.iter().enumerate().map(|(repeat, reading)| (place, repeat, (reading - middle).abs())));
    }
    let spread = MEDIAN_TO_SD * median(deviations.iter().map(|(_, _, deviation)| *deviation).collect());
    let far = deviations.into_iter().filter(|(_, _, deviation)| *deviation > WILD_SPREADS * spread);
    far.map(|(place, repeat, _)| (place, repeat)).collect()
}

/// The middle value, or the mean of the two; 0 of none.
fn median(mut values: Vec<f64>) -> f64 {
    values.sort_unstable_by(f64::total_cmp);
    let half = values.len() / 2;
    match values.get(half) {
        Some(upper) if values.len().is_multiple_of(2) => f64::midpoint(*upper, values[half - 1]),
        Some(middle) => *middle,
        None => 0.0,
    }
}

impl Repeatability {
    /// Bounds, um, between which the true standard deviation lies with chance `level` (0 to 1): s sqrt(df / chi-squared) at both
    /// tails. From [`DAILY_REPEATS`] repeats and 95 % it is 0.60 s to 2.87 s: they show a gauge that has gone wrong, not a digit.
    /// `None` when `level` is outside its range.
    #[must_use]
    pub fn between_um(&self, level: f64) -> Option<[f64; 2]> {
        let end = |p| chi_squared_quantile(p, self.df).ok().map(|x| self.sd_um * (self.df / x).sqrt());
        Some([end((1.0 + level) / 2.0)?, end((1.0 - level) / 2.0)?])
    }
}

/// Standard deviation, um, of a removal seen as the mean of `repeats` readings before less that of as many after; the offset of
/// one session cancels. Rounding by the display averages out only where noise moves readings across its steps.
#[must_use]
pub fn difference_sd_um(noise: Noise, repeats: u32) -> f64 {
    let jitter_um = f64::hypot(noise.repeatability_um, noise.replacing_um);
    let rounding = noise.step_um.powi(2) / 12.0;
    let n = f64::from(repeats.max(1));
    let each =
        if jitter_um >= DITHER_SHARE * noise.step_um { (jitter_um.powi(2) + rounding) / n } else { jitter_um.powi(2) / n + rounding };
    (2.0 * each).sqrt()
}

/// Fewest repeats, before and after each, with which a removal of `removal_um` is told from none: where nothing was removed, the
/// difference stays below half of `removal_um` with chance `certainty`, and where it was, the difference exceeds that half with the
/// same chance. So 2 z sd <= removal, z the normal quantile of `certainty`.
///
/// `None` when no number of repeats up to ten thousand does, as with a display whose step is as coarse as the removal, or when
/// `removal_um` is not above 0 or `certainty` not between 0.5 and 1.
#[must_use]
pub fn repeats_to_see(removal_um: f64, certainty: f64, noise: Noise) -> Option<u32> {
    if !(removal_um > 0.0 && certainty > 0.5 && certainty < 1.0) {
        return None;
    }
    let enough_um = removal_um / (2.0 * normal::quantile(certainty));
    let enough = |repeats| difference_sd_um(noise, repeats) <= enough_um;
    if !enough(MOST_REPEATS) {
        return None;
    }
    // The noise only falls with more repeats.
    let (mut low, mut high) = (1, MOST_REPEATS);
    while low < high {
        let middle = u32::midpoint(low, high);
        if enough(middle) { high = middle } else { low = middle + 1 }
    }
    Some(low)
}

#[expect(clippy::cast_precision_loss, reason = "a number of readings in memory, below 2^53")]
pub(super) fn number(n: usize) -> f64 {
    n as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    const NOISE: Noise = Noise { repeatability_um: 0.8, replacing_um: 0.6, step_um: 0.1 };

    #[test]
    fn repeats_are_pooled_by_their_variances() {
        // by hand [D]: squares 2 and 8 over 2 + 1 degrees of freedom
        let got = pooled(&[vec![1.0, 2.0, 3.0], vec![10.0, 14.0], vec![50.0]]).unwrap();
        assert!((got.sd_um - (10.0 / 3.0f64).sqrt()).abs() < 1e-14 && (got.df - 3.0).abs() < 1e-15);
        assert_eq!(pooled(&[vec![1.0], vec![]]), Err(RepeatsError::NoRepeats));
        assert!(matches!(pooled(&[[1.0, f64::NAN]]), Err(RepeatsError::NotFinite(_))));
    }

    #[test]
    fn the_paper_that_one_operator_misread_is_found() {
        // data [S] NIST YOUDEN31: operator 21, trial 4 reads .0466 mm among .076 to .077
        let csv = include_str!("../../../../checks/nist-youden31.csv");
        let mut places = vec![Vec::new(); 24];
        for line in csv.lines().filter(|line| !line.starts_with('#')).skip(1) {
            let fields: Vec<&str> = line.split(',').collect();
            places[fields[0].parse::<usize>().unwrap() - 1].push(fields[2].parse::<f64>().unwrap());
        }
        assert_eq!(wild(&places), [(20, 3)]);
        // [C] pooled repeatability of all
        assert!((pooled(&places).unwrap().sd_um - 0.003_886_3).abs() < 0.51e-7);
        assert_eq!(wild::<Vec<f64>>(&[]), []);
        assert_eq!(wild(&[[1.0, 9.0]]), []);
    }

    #[test]
    fn five_repeats_bound_the_truth_within_a_factor_of_five() {
        // sqrt(4 / chi-squared) at 11.1433 and 0.484419 [C]
        let [low, high] = Repeatability { sd_um: 1.0, df: 4.0 }.between_um(0.95).unwrap();
        assert!((low - 0.599_133).abs() < 0.5e-6 && (high - 2.873_556).abs() < 0.5e-6, "{low} {high}");
        assert_eq!(Repeatability { sd_um: 1.0, df: 4.0 }.between_um(1.0), None);
        assert_eq!(DAILY_REPEATS, 5);
    }

    #[test]
    fn a_removal_needs_as_many_repeats_as_its_noise_asks() {
        // [D] each reading has variance .64 + .36 + .01/12; 2 z sd <= d gives n = ceil(8 z^2 (1.000833) / d^2)
        for (removal_um, certainty, z) in [(2.0, 0.975, 1.959_963_985f64), (1.0, 0.95, 1.644_853_627), (0.5, 0.99, 2.326_347_874)] {
            let n = (8.0 * z * z * (1.0 + 0.01 / 12.0) / f64::powi(removal_um, 2)).ceil();
            assert!((f64::from(repeats_to_see(removal_um, certainty, NOISE).unwrap()) - n).abs() < 0.5);
        }
        assert_eq!(repeats_to_see(1000.0, 0.9, NOISE), Some(1));
    }

    #[test]
    fn a_coarse_display_can_hide_a_removal_for_ever() {
        let coarse = Noise { repeatability_um: 0.1, replacing_um: 0.1, step_um: 1.0 };
        assert_eq!(repeats_to_see(1.0, 0.95, coarse), None);
        assert!(repeats_to_see(3.0, 0.95, coarse).is_some());
    }

    #[test]
    fn questions_without_sense_have_no_answer() {
        assert_eq!(repeats_to_see(0.0, 0.9, NOISE), None);
        assert_eq!(repeats_to_see(1.0, 0.5, NOISE), None);
        assert_eq!(repeats_to_see(1.0, 1.0, NOISE), None);
        assert_eq!(repeats_to_see(f64::NAN, 0.9, NOISE), None);
        assert_eq!(repeats_to_see(1.0, 0.9, Noise { repeatability_um: f64::NAN, ..NOISE }), None);
    }
}
