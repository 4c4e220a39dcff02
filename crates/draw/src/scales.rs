//! One scale for the whole job, so that two panels' maps can be compared.

use lastmicron_plan::taken::Taken;
use lastmicron_plan::{Outcome, PanelFilm};
use lastmicron_units::Unit;

use crate::colour::{cividis, grey};

/// Most bands of the topcoat's scale. Judgement: more than a dozen colours are not told apart, fewer than half a dozen hide the field.
const TOPCOAT_BANDS: f64 = 10.0;
/// Most bands of the scale of uncertainty, which varies less.
const SD_BANDS: f64 = 6.0;
/// Least distance of two levels of a film, um: a gauge tells no less apart.
const LEAST_STEP_UM: f64 = 0.1;
/// The same of what one set takes. Judgement: a mild set takes some tenths.
const LEAST_DEPTH_STEP_UM: f64 = 0.01;
/// The scale's upper part reaches half as far above the 85th percentile of the usual panels as that is above the least. Judgement: a resprayed
/// panel reads high, is little known, and must not press all others into one colour; what lies above the scale has the last colour, marked "+".
const REACH: f64 = 0.5;
const HIGH_QUANTILE: f64 = 0.85;
/// A panel that is as likely resprayed as not is no usual one.
const RESPRAYED: f64 = 0.5;

/// Levels between which an estimate is drawn in one colour.
#[derive(Clone, Debug, PartialEq)]
pub struct Scale {
    /// Borders of the bands, um, ascending; empty when nothing is known.
    pub levels_um: Vec<f64>,
    /// Distance of two levels, um.
    pub step_um: f64,
    /// Whether values lie above the last level.
    pub open_above: bool,
}

/// The scales of a job's maps.
#[derive(Clone, Debug, PartialEq)]
pub struct Scales {
    /// Topcoat there now, mean.
    pub topcoat: Scale,
    /// Its standard deviation.
    pub sd: Scale,
    /// In which unit figures are printed, and in which levels are round.
    pub unit: Unit,
}

impl Scales {
    /// Scales that serve every panel of `outcome`, with levels that are round in `unit`.
    #[must_use]
    pub fn of(outcome: &Outcome, unit: Unit) -> Self {
        let respray = |panel: usize| outcome.plan.panels.get(panel).map_or(0.0, |p| p.respray);
        Self::of_films(&outcome.film.iter().enumerate().map(|(panel, film)| (film, respray(panel))).collect::<Vec<_>>(), unit)
    }

    /// Scales that serve films, each with the chance that its panel has been resprayed.
    fn of_films(films: &[(&PanelFilm, f64)], unit: Unit) -> Self {
        let of = |values: fn(&PanelFilm) -> &Vec<f64>, bands: f64| {
            let usual = films.iter().filter(|(_, respray)| *respray < RESPRAYED);
            Scale::over(
                films.iter().flat_map(|(film, _)| values(film)),
                usual.flat_map(|(film, _)| values(film)),
                unit,
                bands,
                LEAST_STEP_UM,
            )
        };
        Self { topcoat: of(|film| &film.topcoat_mean_um, TOPCOAT_BANDS), sd: of(|film| &film.topcoat_sd_um, SD_BANDS), unit }
    }
}

/// The scales of the maps of what was taken and is left.
#[derive(Clone, Debug, PartialEq)]
pub struct TakenScales {
    /// Topcoat before work and now: one scale, so that the two can be compared.
    pub film: Scales,
    /// Film removed, from nothing.
    pub removed: Scale,
}

impl TakenScales {
    /// Scales that serve every panel of `taken`, with levels that are round in `unit`.
    #[must_use]
    pub fn of(taken: &Taken, unit: Unit) -> Self {
        let films = taken.panels.iter().filter_map(|panel| Some((panel.film.as_ref()?, panel.respray)));
        let films: Vec<(&PanelFilm, f64)> = films.flat_map(|(film, respray)| [(&film.before, respray), (&film.left, respray)]).collect();
        let removed: Vec<f64> = taken.panels.iter().filter_map(|p| p.removed.as_ref()).flat_map(|r| r.mean_um.clone()).collect();
        Self { film: Scales::of_films(&films, unit), removed: Scale::of_depths(&removed, unit) }
    }
}

impl Scale {
    /// A scale for the topcoat of some panels.
    #[must_use]
    pub fn of_topcoat(films: &[PanelFilm], unit: Unit) -> Self {
        let values = || films.iter().flat_map(|film| &film.topcoat_mean_um);
        Self::over(values(), values(), unit, TOPCOAT_BANDS, LEAST_STEP_UM)
    }

    /// A scale for depths that one set takes, from nothing up to the deepest.
    pub(crate) fn of_depths(depths_um: &[f64], unit: Unit) -> Self {
        let deepest = depths_um.iter().copied().filter(|depth| depth.is_finite()).fold(0.0, f64::max);
        let ends = [0.0, deepest];
        Self::over(ends.iter(), ends.iter(), unit, TOPCOAT_BANDS, LEAST_DEPTH_STEP_UM)
    }

    /// A scale from the least of the values to somewhat above those that are `usual` (of all, where none are).
    fn over<'a>(
        values_um: impl Iterator<Item = &'a f64>,
        usual_um: impl Iterator<Item = &'a f64>,
        unit: Unit,
        bands: f64,
        least_step_um: f64,
    ) -> Self {
        let sorted = sorted(values_um);
        let usual = Some(self::sorted(usual_um)).filter(|usual| !usual.is_empty());
        let (Some(&low), Some(&high)) = (sorted.first(), sorted.last()) else {
            return Self { levels_um: Vec::new(), step_um: unit.micrometres(), open_above: false };
        };
        let usual = quantile(usual.as_ref().unwrap_or(&sorted), HIGH_QUANTILE);
        let top = high.min(usual + REACH * (usual - low));
        let one = unit.micrometres();
        let step = round_step((top - low) / one / bands).max(round_step(least_step_um / one));
        let first = (low / one / step + 1e-9).floor();
        let last = (top / one / step - 1e-9).ceil().max(first + 1.0).min(first + 2.0 * bands);
        let mut levels_um = Vec::new();
        let mut level = first;
        while level <= last {
            levels_um.push(level * step * one);
            level += 1.0;
        }
        let open_above = levels_um.last().is_some_and(|&l| high > l + 1e-9);
        Self { levels_um, step_um: step * one, open_above }
    }

    /// The levels inside the scale: those that a contour follows.
    #[must_use]
    pub fn contours_um(&self) -> &[f64] {
        let n = self.levels_um.len();
        let end = if self.open_above { n } else { n.saturating_sub(1) };
        self.levels_um.get(1..end.max(1)).unwrap_or_default()
    }

    /// Colour in cividis of the band above level `band`.
    #[must_use]
    pub fn colour(&self, band: usize) -> [u8; 3] {
        cividis(self.share(band))
    }

    pub(crate) fn grey(&self, band: usize) -> [u8; 3] {
        grey(self.share(band))
    }

    /// Bands there are, the open one included.
    pub(crate) fn bands(&self) -> usize {
        self.levels_um.len().saturating_sub(usize::from(!self.open_above))
    }

    fn share(&self, band: usize) -> f64 {
        let last = self.bands().saturating_sub(1).max(1);
        band.min(last) as f64 / last as f64
    }
}

/// The numbers among `values`, ascending.
fn sorted<'a>(values: impl Iterator<Item = &'a f64>) -> Vec<f64> {
    let mut sorted: Vec<f64> = values.copied().filter(|v| v.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    sorted
}

/// The least of 1, 2, 5, 10, ... times a power of ten that is not below `raw`.
fn round_step(raw: f64) -> f64 {
    if !(raw.is_finite() && raw > 0.0) {
        return f64::MIN_POSITIVE;
    }
    let power = 10_f64.powf(raw.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|&step| step >= raw * (1.0 - 1e-9)).unwrap_or(10.0 * power)
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share of a length is an index")]
fn quantile(sorted: &[f64], share: f64) -> f64 {
    let at = (share * sorted.len().saturating_sub(1) as f64).round() as usize;
    sorted.get(at).copied().unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn levels(values: &[f64], unit: Unit) -> Vec<f64> {
        Scale::over(values.iter(), values.iter(), unit, 10.0, LEAST_STEP_UM).levels_um
    }

    #[test]
    fn levels_are_round_in_the_persons_unit() {
        assert_eq!(levels(&[31.0, 47.0], Unit::Micrometre), [30.0, 32.0, 34.0, 36.0, 38.0, 40.0, 42.0, 44.0, 46.0, 48.0]);
        let mils: Vec<f64> = levels(&[25.4 * 1.1, 25.4 * 2.0], Unit::Mil).iter().map(|um| um / 25.4).collect();
        assert!((mils[0] - 1.1).abs() < 1e-9 && (mils[1] - 1.2).abs() < 1e-9, "{mils:?}");
    }

    #[test]
    fn a_resprayed_panel_does_not_press_the_others_into_one_colour() {
        let mut values: Vec<f64> = (0..95).map(|i| 30.0 + f64::from(i) / 10.0).collect();
        values.extend([200.0; 5]);
        // As one panel among few it is more than the quantile leaves out.
        values.extend([210.0; 30]);
        let scale = Scale::over(values.iter(), values[..95].iter(), Unit::Micrometre, 10.0, LEAST_STEP_UM);
        assert!(scale.open_above);
        assert!(scale.levels_um.iter().all(|&level| level < 60.0), "{:?}", scale.levels_um);
    }

    #[test]
    fn nothing_known_is_no_scale_and_one_value_is_one_band() {
        assert!(levels(&[f64::NAN], Unit::Micrometre).is_empty());
        assert_eq!(levels(&[40.0], Unit::Micrometre).len(), 2);
        assert!(Scale::over([].iter(), [].iter(), Unit::Mil, 6.0, LEAST_STEP_UM).contours_um().is_empty());
    }

    proptest! {
        #[test]
        fn a_scale_covers_its_values_in_at_most_some_twenty_bands(values in prop::collection::vec(-500.0..5000.0_f64, 1..60), few in 0..60usize, unit in prop::sample::select(vec![Unit::Micrometre, Unit::Mil, Unit::Millimetre])) {
            let scale = Scale::over(values.iter(), values.iter().take(few), unit, 10.0, LEAST_STEP_UM);
            let low = values.iter().copied().fold(f64::INFINITY, f64::min);
            let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            prop_assert!(scale.levels_um.len() >= 2 && scale.levels_um.len() <= 22);
            prop_assert!(scale.levels_um[0] <= low + 1e-6);
            prop_assert!(scale.open_above || *scale.levels_um.last().unwrap() >= high - 1e-6);
            prop_assert!(scale.levels_um.windows(2).all(|w| w[0] < w[1]));
        }
    }
}
