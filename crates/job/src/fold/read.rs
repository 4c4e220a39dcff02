//! Numbers, words and names as they were said, read.

use lastmicron_units::{Entered, Unit, read_number};

use super::reason::Reason;
use crate::bounds::Sense;
use crate::event::{Film, MeanSd};
use crate::{name, words};
use lastmicron_polish::Belief;

/// A number that makes sense.
pub(super) fn number(text: &str, key: &'static str, sense: &Sense) -> Result<f64, Reason> {
    let value = read_number(text).map_err(|source| Reason::Number { key, source })?.value;
    sensible(value, key, sense)
}

/// A number that makes sense; `None` where nothing is said.
pub(super) fn maybe(text: Option<&String>, key: &'static str, sense: &Sense) -> Result<Option<f64>, Reason> {
    text.map(|text| number(text, key, sense)).transpose()
}

fn sensible(value: f64, key: &'static str, sense: &Sense) -> Result<f64, Reason> {
    let is_sensible = value.is_finite() && (sense.holds)(value);
    is_sensible.then_some(value + 0.0).ok_or_else(|| Reason::Range { key, found: value.to_string(), wanted: sense.wanted })
}

/// A whole number.
pub(super) fn whole(text: &str, key: &'static str, [least, most]: [i32; 2], wanted: &'static str) -> Result<i32, Reason> {
    let value = read_number(text).map_err(|source| Reason::Number { key, source })?.value;
    let whole = format!("{value:.0}").parse::<i32>().ok().filter(|whole| f64::from(*whole).total_cmp(&(value + 0.0)).is_eq());
    whole.filter(|whole| (least..=most).contains(whole)).ok_or_else(|| Reason::Range { key, found: value.to_string(), wanted })
}

/// How many of something.
pub(super) fn times(number: u32, key: &'static str, most: u32) -> Result<u32, Reason> {
    let is_sensible = (1..=most).contains(&number);
    is_sensible.then_some(number).ok_or_else(|| Reason::Range { key, found: number.to_string(), wanted: "a whole number from 1 to 1000" })
}

/// A film that makes sense.
pub(super) fn film(said: &Film, key: &'static str, sense: &Sense) -> Result<Entered, Reason> {
    let entered = entered(said)?;
    sensible(entered.thickness().micrometres(), key, sense).map(|_| entered)
}

/// A film as entered: number and unit apart, so that neither can contradict the other.
pub(super) fn entered(said: &Film) -> Result<Entered, Reason> {
    let unit: Unit = said.unit.trim().parse().map_err(|error| Reason::Film(lastmicron_units::EntryError::Unit(error)))?;
    let written = read_number(&said.number).map_err(|error| Reason::Film(error.into()))?;
    Ok(Entered::new(written, unit)?)
}

/// Somebody's belief.
pub(super) fn belief(said: &MeanSd, key: &'static str, mean: &Sense, sd: &Sense) -> Result<Belief, Reason> {
    Ok(Belief { mean: number(&said.mean, key, mean)?, sd: number(&said.sd, key, sd)? })
}

/// A name that can be used.
pub(super) fn usable_name(text: &str) -> Result<String, Reason> {
    match name::unusable(text.trim()) {
        Some(why) => Err(Reason::Name { name: shortened(text), why }),
        None => Ok(text.trim().to_owned()),
    }
}

/// A text as a reason may repeat it.
pub(super) fn shortened(text: &str) -> String {
    /// Most characters repeated.
    const MOST: usize = 60;
    text.chars().take(MOST).map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect()
}

/// One of a few words.
pub(super) fn word<T: Copy>(text: &str, what: &'static str, known: &[(&str, T)]) -> Result<T, Reason> {
    words::meant_by(text.trim(), known).ok_or_else(|| Reason::Unknown { what, word: shortened(text) })
}

/// One of a few words; `None` where nothing is said.
pub(super) fn maybe_word<T: Copy>(text: Option<&String>, what: &'static str, known: &[(&str, T)]) -> Result<Option<T>, Reason> {
    text.map(|text| word(text, what, known)).transpose()
}

/// Index of the one of that name.
pub(super) fn named<'n>(text: &str, what: &'static str, names: impl IntoIterator<Item = &'n str>) -> Result<usize, Reason> {
    let name = text.trim();
    names.into_iter().position(|known| known == name).ok_or_else(|| Reason::Unknown { what, word: shortened(text) })
}

/// Points in mm.
pub(super) fn points(said: &[[String; 2]], key: &'static str) -> Result<Vec<[f64; 2]>, Reason> {
    let number = |text: &String| number(text, key, &crate::bounds::PLACE_MM);
    said.iter().map(|[x, y]| Ok([number(x)?, number(y)?])).collect()
}
