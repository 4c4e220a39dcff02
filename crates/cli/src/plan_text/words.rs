//! Chances, ranges and times in words, and text in eighty columns.

use lastmicron_plan::{Chance, Interval, Spread};
use lastmicron_units::Unit;

/// Columns of a terminal as everybody has it.
const COLUMNS: usize = 80;
/// Half the span that a normal law keeps 9 times in 10, in standard deviations.
const NINE_IN_TEN: f64 = 1.645;

/// How to say numbers: film in a unit, chances as counted on a number of films.
#[derive(Clone, Copy, Debug)]
pub(super) struct Say {
    pub(super) unit: Unit,
    pub(super) films: usize,
}

impl Say {
    /// A counted chance, to be followed by "of" or "that".
    pub(super) fn chance(self, p: f64) -> String {
        let chance = Chance::counted(p, self.films);
        if chance.is_known() { chance.to_string() } else { "a chance that is not known".to_owned() }
    }

    /// A film with its range.
    pub(super) fn film(self, film: Interval) -> String {
        if !film.mean.is_finite() {
            return "not known".to_owned();
        }
        format!("{} {} ({} to {}, 9 times in 10)", self.bare(film.mean), self.unit, self.bare(film.p05), self.bare(film.p95))
    }

    /// What is taken, with its range; never less than nothing.
    pub(super) fn removal(self, taken: Spread) -> String {
        let half = NINE_IN_TEN * taken.sd;
        self.film(Interval { mean: taken.mean, p05: (taken.mean - half).max(0.0), p95: taken.mean + half })
    }

    /// What one set takes, which is less than a reading tells apart, with its range.
    pub(super) fn rate(self, taken: Spread) -> String {
        let half = NINE_IN_TEN * taken.sd;
        let [mean, low, high] =
            [taken.mean, (taken.mean - half).max(0.0), taken.mean + half].map(|um| self.digits(um, self.unit.decimals() + 1));
        format!("{mean} {} ({low} to {high}, 9 times in 10)", self.unit)
    }

    /// A film without its unit.
    pub(super) fn bare(self, um: f64) -> String {
        self.digits(um, self.unit.decimals())
    }

    fn digits(self, um: f64, decimals: usize) -> String {
        let number = format!("{:.*}", decimals, um / self.unit.micrometres());
        if number.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.')) { number.trim_start_matches('-').to_owned() } else { number }
    }

    /// A share with its range.
    pub(super) fn share(self, share: Interval) -> String {
        if !share.mean.is_finite() {
            return "not known".to_owned();
        }
        let [mean, low, high] = [share.mean, share.p05, share.p95].map(|share| format!("{:.0}", share * 100.0));
        format!("{mean} % ({low} to {high}, 9 times in 10)")
    }
}

/// "2 h 05 min", "14 min".
pub(super) fn hours(minutes: f64) -> String {
    if !minutes.is_finite() {
        return "a time that is not known".to_owned();
    }
    let minutes = minutes.max(0.0).round();
    let (hours, rest) = ((minutes / 60.0).floor(), minutes % 60.0);
    match (hours >= 1.0, rest >= 1.0) {
        (true, true) => format!("{hours:.0} h {rest:02.0} min"),
        (true, false) => format!("{hours:.0} h"),
        (false, _) => format!("{rest:.0} min"),
    }
}

/// Text in lines of at most eighty columns, the first after one indent, the others after another. A word that is wider is cut.
pub(crate) fn wrapped(text: &str, first: &str, others: &str) -> String {
    let mut wrapped = String::new();
    let mut line = first.to_owned();
    let mut is_fresh = true;
    for word in text.split_whitespace().flat_map(|word| pieces(word, COLUMNS - 24)) {
        if !is_fresh && line.chars().count() + 1 + word.chars().count() > COLUMNS {
            wrapped += line.trim_end();
            wrapped.push('\n');
            others.clone_into(&mut line);
            is_fresh = true;
        }
        if !is_fresh {
            line.push(' ');
        }
        line += &word;
        is_fresh = false;
    }
    wrapped += line.trim_end();
    wrapped.push('\n');
    wrapped
}

/// A word in pieces of at most `width` characters, without control characters: it may come from a file.
fn pieces(word: &str, width: usize) -> Vec<String> {
    let chars: Vec<char> = word.chars().filter(|c| !c.is_control()).collect();
    chars.chunks(width).map(|chunk| chunk.iter().collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const SAY: Say = Say { unit: Unit::Micrometre, films: 2000 };

    #[test]
    fn a_chance_that_is_not_known_is_said_so_that_a_sentence_goes_on() {
        assert_eq!([0.0, f64::NAN].map(|p| SAY.chance(p)), ["less than 1 chance in 660", "a chance that is not known"]);
    }

    #[test]
    fn films_and_shares_carry_their_ranges() {
        assert_eq!(SAY.film(Interval { mean: 24.12, p05: 19.3, p95: 28.8 }), "24.1 um (19.3 to 28.8, 9 times in 10)");
        assert_eq!(SAY.removal(Spread { mean: 0.3, sd: 0.4 }), "0.3 um (0.0 to 1.0, 9 times in 10)");
        assert_eq!(SAY.removal(Spread { mean: -0.01, sd: 0.0 }), "0.0 um (0.0 to 0.0, 9 times in 10)");
        assert_eq!(SAY.rate(Spread { mean: 0.46, sd: 0.05 }), "0.46 um (0.38 to 0.54, 9 times in 10)");
        assert_eq!(SAY.share(Interval { mean: 0.84, p05: 0.75, p95: 0.91 }), "84 % (75 to 91, 9 times in 10)");
        assert_eq!(SAY.film(Interval { mean: f64::NAN, p05: 0.0, p95: 0.0 }), "not known");
    }

    #[test]
    fn times_are_said_in_hours_and_minutes() {
        assert_eq!(
            [0.0, 14.2, 59.6, 60.0, 125.0, 840.0, f64::NAN].map(hours),
            ["0 min", "14 min", "1 h", "1 h", "2 h 05 min", "14 h", "a time that is not known"]
        );
    }

    #[test]
    fn text_is_wrapped_at_eighty_columns() {
        let text = wrapped(&"word ".repeat(20), "- ", "  ");
        assert_eq!(text.lines().map(str::len).collect::<Vec<_>>(), [76, 26]);
        assert_eq!(wrapped("", "x", "y"), "x\n");
        assert!(wrapped(&"w".repeat(200), "  ", "  ").lines().all(|line| line.len() <= 80));
        assert_eq!(wrapped("a\u{1b}[2Jb", "", ""), "a[2Jb\n");
    }
}
