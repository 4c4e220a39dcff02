//! Asking before a number is taken: is it what can be expected at that place, and if not, what may have been meant?

use std::fmt;

use lastmicron_film::gauge::Layer;
use lastmicron_units::{Entered, SINGLE_COAT, Unit, VEHICLE_BUILD, Written, implausible};

use crate::car::{Car, Reading};
use crate::choose::{Effort, Prepared};
use crate::error::PlanError;

/// A number is asked about when one so far out, to either side, has less than this chance. Judgement: of 300 good readings none in thirty surveys is
/// asked about for nothing. Larger, and people learn to answer without looking; smaller, and a slip on a panel of which little is known passes.
const ASKED_BELOW: f64 = 1e-4;

/// Another reading of the same digits is named when one so far out has at least this chance. Judgement: what is named must itself be usual.
const NAMED_ABOVE: f64 = 0.01;

/// Most other readings of the digits that are named: a choice of more is no help.
const MOST_NAMED: usize = 2;

/// What a reading may be expected to show at its place, from all that was read before.
#[derive(Clone, Debug, PartialEq)]
pub struct Expected {
    /// None where no film of the vehicle has been read.
    law: Option<lastmicron_film::Expected>,
    layer: Layer,
    through_um: f64,
}

/// A number that is not to be expected, to be shown to the person who entered it. It is never changed: yes takes it as it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Question {
    /// As it was entered.
    pub entered: Entered,
    /// What is to be expected 19 times in 20, um, least and most; none where no film of the vehicle has been read.
    pub expected_um: Option<[f64; 2]>,
    /// What may have been meant, likeliest first: the same digits in another unit, or with the point one digit off.
    pub meant: Vec<Entered>,
}

/// What `reading` may be expected to show, its value not looked at: place, layer, gauge, session and what had been done there before are. It may be asked
/// for before the number is known, so that the number is judged at once.
///
/// # Errors
/// [`PlanError`] when there is no process, or numbers are too extreme. A car of which nothing was read is no error, nor is a panel or gauge that it doesn't
/// have: then the number is judged by what any vehicle has.
pub fn expected(car: &Car, reading: &Reading, effort: Effort) -> Result<Expected, PlanError> {
    let (layer, gauge) = (reading.layer, car.gauges.get(reading.gauge));
    let through_um = gauge.map_or(0.0, |g| g.through_um);
    let is_there = gauge.is_some() && reading.panel < car.panels.len() && reading.after.iter().all(|s| s.process < car.processes.len());
    let law = match Prepared::new(car, effort, Unit::Micrometre) {
        Err(PlanError::NoReadings) => None,
        Err(other) => return Err(other),
        Ok(prepared) if is_there => Some(prepared.expected(reading)?),
        Ok(_) => None,
    };
    Ok(Expected { law, layer, through_um })
}

impl Expected {
    /// What to ask of a number as it was entered; nothing where it is to be expected.
    #[must_use]
    pub fn question(&self, entered: Entered) -> Option<Question> {
        let is_odd = |e: Entered| implausible(e, self.usual()).is_some();
        if !is_odd(entered) && self.chance(entered) >= ASKED_BELOW {
            return None;
        }
        let mut meant: Vec<(Entered, f64)> = slips(entered)
            .into_iter()
            .filter(|e| !is_odd(*e))
            .map(|e| (e, self.chance(e)))
            .filter(|(_, chance)| *chance >= NAMED_ABOVE)
            .collect();
        meant.sort_by(|a, b| b.1.total_cmp(&a.1));
        meant.truncate(MOST_NAMED);
        let expected_um = self.law.as_ref().map(|law| [0.025, 0.975].map(|p| law.quantile(p) + self.through_um));
        Some(Question { entered, expected_um, meant: meant.into_iter().map(|(e, _)| e).collect() })
    }

    /// The numbers that are not asked about, um, least and most: by them a device judges at once, without asking.
    #[must_use]
    pub fn unasked_um(&self) -> [f64; 2] {
        let usual = self.usual();
        let of = |p: f64| self.law.as_ref().map(|law| law.quantile(p) + self.through_um);
        let [low, high] = [of(0.5 * ASKED_BELOW), of(1.0 - 0.5 * ASKED_BELOW)];
        [low.map_or(usual.low_um, |um| um.max(usual.low_um)), high.map_or(usual.high_um, |um| um.min(usual.high_um))]
    }

    /// What any vehicle has of this layer.
    fn usual(&self) -> lastmicron_units::Expected {
        if self.layer == Layer::Total { VEHICLE_BUILD } else { SINGLE_COAT }
    }

    /// Chance of a reading as far out or farther, to either side; 1 where nothing is known.
    fn chance(&self, entered: Entered) -> f64 {
        let um = entered.thickness().micrometres() - self.through_um;
        self.law.as_ref().map_or(1.0, |law| 2.0 * law.below(um).min(law.above(um)))
    }
}

/// The same digits in another unit, and with the point one digit to the right and to the left.
fn slips(entered: Entered) -> Vec<Entered> {
    let (value, decimals) = (entered.number(), decimals(entered));
    let units = Unit::ALL.into_iter().filter(|unit| *unit != entered.unit());
    let same = units.map(|unit| (Written { value, decimals }, unit));
    let right = Written { value: value * 10.0, decimals: decimals.saturating_sub(1) };
    let left = Written { value: value / 10.0, decimals: decimals + 1 };
    same.chain([right, left].map(|written| (written, entered.unit()))).filter_map(|(w, unit)| Entered::new(w, unit).ok()).collect()
}

/// Decimals that a number was entered with, as it prints.
fn decimals(entered: Entered) -> usize {
    let text = entered.to_string();
    let number = text.split(' ').next().unwrap_or_default();
    number.split_once('.').map_or(0, |(_, decimals)| decimals.len())
}

impl fmt::Display for Question {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}?", self.entered)?;
        let unit = self.entered.unit();
        if let Some([low, high]) = self.expected_um.map(|um| um.map(|um| um / unit.micrometres())) {
            let decimals = unit.decimals();
            write!(f, " Expected here is {low:.decimals$} to {high:.decimals$} {unit}, 19 times in 20.")?;
        } else {
            f.write_str(" No vehicle is to be expected to have so much or so little.")?;
        }
        match self.meant.as_slice() {
            [] => f.write_str(" Read it again; if it shows the same, take it."),
            [first, rest @ ..] => {
                write!(f, " Was it {first}")?;
                rest.iter().try_for_each(|other| write!(f, " or {other}"))?;
                f.write_str("?")
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example::{EFFORT, car};
    use expect_test::expect;
    use lastmicron_units::Thickness;

    fn at(panel: usize, layer: Layer) -> Reading {
        Reading { panel, x_mm: 400.0, y_mm: 100.0, layer, value: Thickness::from_micrometres(0.0).unwrap(), ..car().readings[0].clone() }
    }

    fn asked(of: &Expected, text: &str) -> Option<String> {
        of.question(Entered::read(text, Unit::Micrometre).unwrap()).map(|q| q.to_string())
    }

    #[test]
    fn what_is_to_be_expected_is_taken_without_a_question() {
        let bonnet = expected(&car(), &at(0, Layer::Total), EFFORT).unwrap();
        // The bonnet reads 63 to 69 um; 2.5 mil is 63.5 um and 0.066 mm 66 um [D].
        for text in ["66", "60", "72.5", "2.5 mil", "0.066 mm"] {
            assert_eq!(asked(&bonnet, text), None, "{text}");
        }
    }

    #[test]
    fn a_device_that_judges_at_once_asks_about_the_same_numbers() {
        for (panel, layer) in [(0, Layer::Total), (2, Layer::Total), (1, Layer::Undercoat)] {
            let expected = expected(&car(), &at(panel, layer), EFFORT).unwrap();
            let [low, high] = expected.unasked_um();
            for um in [low - 0.01, low + 0.01, 0.5 * (low + high), high - 0.01, high + 0.01] {
                let is_asked = asked(&expected, &format!("{um:.6}")).is_some();
                assert_eq!(is_asked, !(low..=high).contains(&um), "{um} of {low} to {high}");
            }
        }
    }

    #[test]
    fn slips_are_asked_about_with_what_may_have_been_meant() {
        let car = car();
        let bonnet = expected(&car, &at(0, Layer::Total), EFFORT).unwrap();
        let flap = expected(&car, &at(2, Layer::Total), EFFORT).unwrap();
        let bare = expected(&car, &at(1, Layer::Undercoat), EFFORT).unwrap();
        let mut said = String::new();
        for (name, of) in [("bonnet", &bonnet), ("flap, never read", &flap), ("bare place on the sill", &bare)] {
            for text in ["2.6", "66", "660", "6.6 um", "66 mil", "110", "31"] {
                let asked = asked(of, text).unwrap_or_else(|| "taken".to_owned());
                said += &format!("{name}, {text}: {asked}\n");
            }
        }
        expect![[r#"
            bonnet, 2.6: 2.6 um? Expected here is 59.2 to 71.5 um, 19 times in 20. Was it 2.6 mil?
            bonnet, 66: taken
            bonnet, 660: 660 um? Expected here is 59.2 to 71.5 um, 19 times in 20. Was it 66.0 um?
            bonnet, 6.6 um: 6.6 um? Expected here is 59.2 to 71.5 um, 19 times in 20. Was it 66 um?
            bonnet, 66 mil: 66 mil? Expected here is 2.33 to 2.81 mil, 19 times in 20. Was it 66 um?
            bonnet, 110: 110 um? Expected here is 59.2 to 71.5 um, 19 times in 20. Read it again; if it shows the same, take it.
            bonnet, 31: 31 um? Expected here is 59.2 to 71.5 um, 19 times in 20. Read it again; if it shows the same, take it.
            flap, never read, 2.6: 2.6 um? Expected here is 52.9 to 185.7 um, 19 times in 20. Was it 2.6 mil?
            flap, never read, 66: taken
            flap, never read, 660: 660 um? Expected here is 52.9 to 185.7 um, 19 times in 20. Was it 66.0 um?
            flap, never read, 6.6 um: 6.6 um? Expected here is 52.9 to 185.7 um, 19 times in 20. Was it 66 um or 6.6 mil?
            flap, never read, 66 mil: 66 mil? Expected here is 2.08 to 7.31 mil, 19 times in 20. Was it 66 um or 6.6 mil?
            flap, never read, 110: taken
            flap, never read, 31: taken
            bare place on the sill, 2.6: taken
            bare place on the sill, 66: 66 um? Expected here is 11.2 to 37.7 um, 19 times in 20. Was it 6.6 um?
            bare place on the sill, 660: 660 um? Expected here is 11.2 to 37.7 um, 19 times in 20. Read it again; if it shows the same, take it.
            bare place on the sill, 6.6 um: taken
            bare place on the sill, 66 mil: 66 mil? Expected here is 0.44 to 1.48 mil, 19 times in 20. Read it again; if it shows the same, take it.
            bare place on the sill, 110: 110 um? Expected here is 11.2 to 37.7 um, 19 times in 20. Was it 11.0 um?
            bare place on the sill, 31: taken
        "#]].assert_eq(&said);
    }

    #[test]
    fn a_number_that_is_asked_about_is_never_changed() {
        let bonnet = expected(&car(), &at(0, Layer::Total), EFFORT).unwrap();
        let entered = Entered::read("6.60 um", Unit::Mil).unwrap();
        let question = bonnet.question(entered).unwrap();
        assert_eq!(question.entered, entered);
        assert_eq!(question.meant.iter().map(ToString::to_string).collect::<Vec<_>>(), ["66.0 um"]);
    }

    #[test]
    fn before_anything_was_read_a_number_is_judged_by_what_any_vehicle_has() {
        let mut car = car();
        car.readings.clear();
        let law = expected(&car, &at(0, Layer::Total), EFFORT).unwrap();
        assert_eq!(asked(&law, "300"), None);
        assert_eq!(
            asked(&law, "4.3").unwrap(),
            "4.3 um? No vehicle is to be expected to have so much or so little. Was it 4.3 mil or 43 um?"
        );
        // Nor is a panel that isn't there an error.
        assert_eq!(asked(&expected(&self::car(), &at(9, Layer::Total), EFFORT).unwrap(), "300"), None);
    }

    #[test]
    fn a_clean_film_under_the_probe_is_part_of_what_is_expected() {
        let mut car = car();
        let without =
            expected(&car, &at(0, Layer::Total), EFFORT).unwrap().question(Entered::read("5", Unit::Micrometre).unwrap()).unwrap();
        car.gauges[0].through_um = 50.0;
        car.readings.iter_mut().for_each(|r| r.value = Thickness::from_micrometres(r.value.micrometres() + 50.0).unwrap());
        let with = expected(&car, &at(0, Layer::Total), EFFORT).unwrap().question(Entered::read("5", Unit::Micrometre).unwrap()).unwrap();
        let difference = with.expected_um.unwrap()[0] - without.expected_um.unwrap()[0];
        assert!((difference - 50.0).abs() < 1e-6, "{difference}");
    }
}
