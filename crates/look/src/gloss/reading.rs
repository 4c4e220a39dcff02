//! What readings of specular gloss say of a film's surface, beside what a smooth coat could show.
//!
//! A gloss meter's number means little alone: the most that the top of a smooth coat can show depends on its refractive index, and at 20 degrees
//! much so. Gloss is therefore told as a share of that limit, and haze as what there is beyond a smooth coat's own.

use super::{GlossError, MIDDLE_ANGLE_DEG, MOST_INDEX, STEEP_ANGLE_DEG, gloss_units, haze, haze_baseline};

/// Refractive index of a film that nobody has measured. Judgement: acrylic is near 1.49, nitrocellulose and polyurethane 1.50 to 1.51, alkyd and
/// melamine towards 1.52. Higher, every coat looks duller than it is; lower, a good coat seems to shine more than it can.
pub const USUAL_INDEX: f64 = 1.50;

/// Half of the 95 % interval of an index that nobody has measured. Judgement: from the mildest acrylic to an enamel rich in melamine. Larger, no
/// reading at 20 degrees says anything of the coat; smaller, an index in place of a polish is taken for merit.
pub const INDEX_GIVE: f64 = 0.02;

/// Half of the 95 % interval of what a meter's own error adds to every reading, gloss units. Judgement: a hand-held meter adjusted on its own
/// tile, on a flat panel. (A national laboratory's own tiles are good to 0.4 %.) Larger, a reading never stands above a limit; smaller, a dusty tile
/// is taken for a higher index.
pub const METER_UNITS: f64 = 1.5;

/// Half of the 95 % interval of one reading about another by the same meter on the same spot, gloss units. Judgement: taken off and put back by
/// hand. Larger, what a set gains is not seen; smaller, where the meter was put is taken for a gain.
pub const REPEAT_UNITS: f64 = 0.7;

/// One reading of specular gloss.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The spot's name.
    pub spot: String,
    /// Index of the panel it lies on.
    pub panel: usize,
    /// What had been done, as (process index, sets); empty before any work.
    pub after: Vec<(usize, u32)>,
    /// Gloss units at 20 degrees.
    pub gloss_20: Option<f64>,
    /// Gloss units at 60 degrees.
    pub gloss_60: Option<f64>,
    /// Refractive index of the film, where it is known; taken as exact.
    pub index: Option<f64>,
}

/// A value with its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Estimate {
    fn about(value: f64, half: f64) -> Self {
        Self { value, low: value - half, high: value + half }
    }
}

/// Gloss at one angle beside its limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// Angle of incidence, degrees.
    pub angle_deg: f64,
    /// Mean of the readings, gloss units.
    pub units: f64,
    /// How many readings.
    pub readings: usize,
    /// The most that the top of a smooth coat can show, gloss units.
    pub limit: Estimate,
    /// The reading as a share of the limit. It is not cut off at 1.
    pub share: Estimate,
    /// Where the reading stands above the limit by more than is uncertain: the index of a smooth coat that would show it.
    pub index_needed: Option<f64>,
}

/// Haze beside a smooth coat's own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Haze {
    /// Gloss at 60 degrees less gloss at 20, gloss units (ASTM D4039).
    pub units: f64,
    /// The same of a smooth coat, which scatters nothing.
    pub baseline: Estimate,
    /// What there is beyond the baseline.
    pub excess: Estimate,
}

/// How gloss has changed since the spot's state before, gloss units. The index and the meter's own error drop out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Change {
    /// At 20 degrees.
    pub gloss_20: Option<Estimate>,
    /// At 60 degrees.
    pub gloss_60: Option<Estimate>,
    /// Of haze, where it is judged in both states.
    pub haze: Option<Estimate>,
}

/// A spot before work, or after some of it: all readings with the same work done, together.
#[derive(Clone, Debug, PartialEq)]
pub struct State {
    /// What had been done.
    pub after: Vec<(usize, u32)>,
    /// At 20 degrees, where it was read.
    pub gloss_20: Option<Level>,
    /// At 60 degrees, where it was read.
    pub gloss_60: Option<Level>,
    /// Where both were read and the coat is bright enough for haze to be judged.
    pub haze: Option<Haze>,
    /// Since the state before; `None` in the first.
    pub change: Option<Change>,
}

/// All that gloss says of a spot.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// Its name.
    pub name: String,
    /// Index of the panel it lies on.
    pub panel: usize,
    /// The index taken, with low and high the same where the readings state it (their mean).
    pub index: Estimate,
    /// Its states, in the order in which they were first read.
    pub states: Vec<State>,
}

/// Puts readings beside what a smooth coat could show, spot by spot in the order of their first readings, and each state beside the one before.
///
/// Uncertainties are combined to first order (JCGM 100:2008, 5.1.2): the index, common to both angles; the meter's error and the repeat's.
///
/// # Errors
/// [`GlossError::Index`] for an index that no transparent film has.
pub fn judge(readings: &[Reading]) -> Result<Vec<Spot>, GlossError> {
    let mut names: Vec<&str> = Vec::new();
    for reading in readings {
        if !names.contains(&reading.spot.as_str()) {
            names.push(&reading.spot);
        }
    }
    names.into_iter().map(|name| spot(readings.iter().filter(|reading| reading.spot == name).collect())).collect()
}

fn spot(readings: Vec<&Reading>) -> Result<Spot, GlossError> {
    let index = mean(readings.iter().filter_map(|reading| reading.index))
        .map_or_else(|| Estimate::about(USUAL_INDEX, INDEX_GIVE), |(index, _)| Estimate::about(index, 0.0));
    let mut states: Vec<State> = Vec::new();
    for reading in &readings {
        if states.iter().any(|state| state.after == reading.after) {
            continue;
        }
        let together: Vec<&Reading> = readings.iter().copied().filter(|other| other.after == reading.after).collect();
        let mut now = state(&together, index)?;
        now.change = states.last().map(|before| change(before, &now));
        states.push(now);
    }
    let (name, panel) = readings.first().map(|reading| (reading.spot.clone(), reading.panel)).unwrap_or_default();
    Ok(Spot { name, panel, index, states })
}

fn state(readings: &[&Reading], index: Estimate) -> Result<State, GlossError> {
    let at = |angle_deg: f64, units: &dyn Fn(&Reading) -> Option<f64>| {
        mean(readings.iter().filter_map(|reading| units(reading))).map(|read| level(angle_deg, read, index)).transpose()
    };
    let gloss_20 = at(STEEP_ANGLE_DEG, &|reading| reading.gloss_20)?;
    let gloss_60 = at(MIDDLE_ANGLE_DEG, &|reading| reading.gloss_60)?;
    let haze = gloss_20.zip(gloss_60).map(|(steep, middle)| haze_beside(&steep, &middle, index)).transpose()?.flatten();
    let after = readings.first().map(|reading| reading.after.clone()).unwrap_or_default();
    Ok(State { after, gloss_20, gloss_60, haze, change: None })
}

fn level(angle_deg: f64, (units, readings): (f64, usize), index: Estimate) -> Result<Level, GlossError> {
    let [value, low, high] = over(index, |index| gloss_units(index, angle_deg))?;
    let half_limit = (high - low) / 2.0;
    let share = units / value;
    let half = f64::hypot(reading_half(readings), share * half_limit) / value;
    let share = Estimate::about(share, half);
    let index_needed = if share.low > 1.0 { index_of(units, angle_deg)? } else { None };
    Ok(Level { angle_deg, units, readings, limit: Estimate { value, low, high }, share, index_needed })
}

fn haze_beside(steep: &Level, middle: &Level, index: Estimate) -> Result<Option<Haze>, GlossError> {
    let Ok(units) = haze(middle.units, steep.units) else { return Ok(None) };
    // The higher the index, the less haze a smooth coat has.
    let [value, high, low] = over(index, haze_baseline)?;
    let half = f64::hypot(reading_half(steep.readings), reading_half(middle.readings)).hypot((high - low) / 2.0);
    Ok(Some(Haze { units, baseline: Estimate { value, low, high }, excess: Estimate::about(units - value, half) }))
}

fn change(before: &State, now: &State) -> Change {
    let variance = |level: &Level| REPEAT_UNITS * REPEAT_UNITS / level.readings as f64;
    let at = |before: Option<Level>, now: Option<Level>| {
        before.zip(now).map(|(before, now)| Estimate::about(now.units - before.units, (variance(&before) + variance(&now)).sqrt()))
    };
    let (gloss_20, gloss_60) = (at(before.gloss_20, now.gloss_20), at(before.gloss_60, now.gloss_60));
    let half = |change: Option<Estimate>| change.map_or(0.0, |change| change.high - change.value);
    let haze = before.haze.zip(now.haze);
    let haze = haze.map(|(before, now)| Estimate::about(now.units - before.units, half(gloss_20).hypot(half(gloss_60))));
    Change { gloss_20, gloss_60, haze }
}

/// Half of the 95 % interval of a mean of `readings`, which repeats make better and the meter's own error does not.
fn reading_half(readings: usize) -> f64 {
    METER_UNITS.hypot(REPEAT_UNITS / (readings as f64).sqrt())
}

/// A function of the index at its value, its low and its high end.
fn over(index: Estimate, of: impl Fn(f64) -> Result<f64, GlossError>) -> Result<[f64; 3], GlossError> {
    Ok([of(index.value)?, of(index.low)?, of(index.high)?])
}

/// Index of the smooth coat that shows `units` at `angle_deg`, by bisection to 1e-6; none below 4.
fn index_of(units: f64, angle_deg: f64) -> Result<Option<f64>, GlossError> {
    let (mut low, mut high) = (1.0, MOST_INDEX);
    if gloss_units(high, angle_deg)? < units {
        return Ok(None);
    }
    while high - low > 1e-6 {
        let middle = f64::midpoint(low, high);
        if gloss_units(middle, angle_deg)? < units { low = middle } else { high = middle }
    }
    Ok(Some(f64::midpoint(low, high)))
}

/// Mean and number; `None` of nothing.
fn mean(values: impl Iterator<Item = f64>) -> Option<(f64, usize)> {
    let (sum, count) = values.fold((0.0, 0_usize), |(sum, count), value| (sum + value, count + 1));
    (count > 0).then(|| (sum / count as f64, count))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(after: &[(usize, u32)], gloss_20: f64, gloss_60: f64, index: Option<f64>) -> Reading {
        let read = |units: f64| (units > 0.0).then_some(units);
        Reading { spot: "a".to_owned(), panel: 0, after: after.to_vec(), gloss_20: read(gloss_20), gloss_60: read(gloss_60), index }
    }

    fn judged(reading: Reading) -> State {
        judge(&[reading]).unwrap().remove(0).states.remove(0)
    }

    #[track_caller]
    fn close(got: Estimate, [value, low, high]: [f64; 3], tolerance: f64) {
        let is_close = |got: f64, want: f64| (got - want).abs() <= tolerance;
        assert!(is_close(got.value, value) && is_close(got.low, low) && is_close(got.high, high), "{got:?}");
    }

    #[test]
    fn a_reading_stands_beside_what_a_smooth_coat_of_its_index_shows() {
        // [C] gloss of a smooth surface: 76.86, 82.05, 87.32 at 20 degrees and 85.80, 89.14, 92.43 at 60, for 1.48, 1.50, 1.52
        let state = judged(read(&[], 71.0, 82.2, None));
        close(state.gloss_20.unwrap().limit, [82.05, 76.86, 87.32], 0.51e-2);
        close(state.gloss_60.unwrap().limit, [89.14, 85.80, 92.43], 0.51e-2);
        // [D] 71 / 82.05, give or take hypot(hypot(1.5, 0.7), 0.8653 x 5.23) / 82.05 = 0.0587
        close(state.gloss_20.unwrap().share, [0.8653, 0.8066, 0.9240], 2e-4);
        let known = judged(read(&[], 71.0, 0.0, Some(1.52))).gloss_20.unwrap();
        close(known.limit, [87.32; 3], 0.51e-2);
        close(known.share, [0.8131, 0.8131 - 1.6553 / 87.32, 0.8131 + 1.6553 / 87.32], 2e-4);
    }

    #[test]
    fn haze_is_what_a_smooth_coat_does_not_have() {
        // [C] baselines 7.09 and 5.11, and 85.80 - 76.86 = 8.94 at 1.48; [S] 95 - 88 = 7
        let haze = judged(read(&[], 71.0, 82.2, None)).haze.unwrap();
        close(haze.baseline, [7.09, 5.11, 8.94], 1.01e-2);
        // [D] 11.2 - 7.09, give or take hypot(1.6553 sqrt 2, 1.915) = 3.026
        close(haze.excess, [4.11, 4.11 - 3.026, 4.11 + 3.026], 1.01e-2);
        let polished = judged(read(&[], 88.0, 95.0, Some(1.52))).haze.unwrap();
        assert!((polished.units - 7.0).abs() < 1e-12 && (polished.excess.value - 1.89).abs() < 1.01e-2);
        // a perfectly smooth coat has none, whatever its index
        for (index, gloss_20, gloss_60) in [(1.46, 71.75, 82.41), (1.50, 82.05, 89.14), (1.54, 92.67, 95.68)] {
            assert!(judged(read(&[], gloss_20, gloss_60, Some(index))).haze.unwrap().excess.value.abs() < 1.01e-2);
        }
        // [S] ASTM D4039 4.2: above 70 at 60 degrees only
        assert_eq!(judged(read(&[], 40.0, 70.0, None)).haze, None);
        assert!(judged(read(&[], 40.0, 70.1, None)).haze.is_some());
    }

    #[test]
    fn a_reading_above_the_limit_names_the_index_it_would_take() {
        // [S] 90 to 95 at 20 degrees mean an index of 1.53 to 1.55; [C] 92.67 is that of 1.54, 109.12 that of 1.60
        for (units, index) in [(92.67, 1.54), (109.12, 1.60)] {
            let level = judged(read(&[], units, 0.0, None)).gloss_20.unwrap();
            assert!((level.index_needed.unwrap() - index).abs() < 1e-3 && level.share.value > 1.0, "{level:?}");
        }
        let needed = |units: f64| judged(read(&[], units, 0.0, None)).gloss_20.unwrap().index_needed;
        assert!((1.53..1.55).contains(&needed(91.5).unwrap()));
        // 86 may be an index of 1.515: the limit is not that certain
        assert_eq!((needed(86.0), needed(71.0)), (None, None));
        // no transparent film shows that
        assert_eq!(needed(900.0), None);
    }

    #[test]
    fn repeats_count_together_and_states_follow_one_another() {
        let rows =
            [read(&[], 60.0, 80.0, None), read(&[], 62.0, 82.0, None), read(&[(0, 2)], 78.0, 88.0, None), read(&[(0, 3)], 78.5, 0.0, None)];
        let spot = judge(&rows).unwrap().remove(0);
        assert_eq!(spot.states.iter().map(|state| state.after.len()).collect::<Vec<_>>(), [0, 1, 1]);
        let before = spot.states[0].gloss_20.unwrap();
        assert!((before.units - 61.0).abs() < 1e-12 && before.readings == 2 && spot.states[0].change.is_none());
        // [D] 78 - 61, give or take 0.7 sqrt(1 / 2 + 1) = 0.857; haze 10 - 20, give or take sqrt 2 of that
        let change = spot.states[1].change.unwrap();
        close(change.gloss_20.unwrap(), [17.0, 16.143, 17.857], 1e-3);
        close(change.haze.unwrap(), [-10.0, -11.212, -8.788], 1e-3);
        assert_eq!(spot.states[2].change.map(|change| (change.gloss_60, change.haze)), Some((None, None)));
    }

    #[test]
    fn an_index_that_no_film_has_is_refused() {
        assert_eq!(judge(&[read(&[], 71.0, 82.0, Some(0.9))]), Err(GlossError::Index(0.9)));
    }
}
