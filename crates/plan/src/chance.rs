//! A chance in words that a person uses.

use std::fmt::{self, Display, Formatter};

/// An event that none of n independent trials showed has, 19 times in 20, a chance of less than this through n: the rule of three (Hanley &
/// Lippman-Hand, J. Am. Med. Assoc. 249, 1983: "If nothing goes wrong, is everything all right?").
const NONE_SEEN: f64 = 3.0;
/// From this chance on "1 in so many" is too coarse, and it is said by the hundred. Judgement: between 1 in 9 and 1 in 10 lie 1.1 per cent.
const BY_THE_HUNDRED: f64 = 0.1;
/// Said of any stated chance that is rarer. Judgement: a longer number tells nobody more, and it may be as small as a number can be.
const RAREST_ONE_IN: f64 = 1e12;
/// What a binary fraction may be off by: 1 / 0.004 is to be 250, and 0.14 to be 14 chances in 100.
const HAIR: f64 = 1e-9;

/// A chance, 0 to 1, and what it rests on. A counted one is never said smaller than it is, and none rarer than its films can show: "1 chance in
/// 64", "13 chances in 100", "less than 1 chance in 660", "not known". A stated one is said as it was set: "1 chance in 50", "0.95 %". With `{:#}`,
/// for a table whose head says that it holds chances: "1 in 64", "13 in 100", "< 1 in 660".
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    p: f64,
    films: Option<usize>,
}

impl Chance {
    /// A chance `p`, 0 to 1, counted on `films` films, taken as independent. Draws that share a film count once.
    #[must_use]
    pub const fn counted(p: f64, films: usize) -> Self {
        Self { p, films: Some(films) }
    }

    /// A chance `p`, 0 to 1, that somebody states: a limit.
    #[must_use]
    pub const fn stated(p: f64) -> Self {
        Self { p, films: None }
    }

    /// Whether there is a number at all.
    #[must_use]
    pub const fn is_known(self) -> bool {
        self.p.is_finite() && (self.p > 0.0 || !matches!(self.films, Some(0..=2)))
    }
}

impl Display for Chance {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let [below, chance, chances] = if f.alternate() { ["< ", "", ""] } else { ["less than ", "chance ", "chances "] };
        match (self.p, self.films) {
            _ if !self.is_known() => f.write_str("not known"),
            (p, None) if p <= 0.0 => f.write_str("none"),
            (p, None) => {
                let one_in = (1.0 / p).min(RAREST_ONE_IN).round();
                let is_whole = (one_in * p - 1.0).abs() < HAIR || one_in >= RAREST_ONE_IN;
                if is_whole { write!(f, "1 {chance}in {one_in:.0}") } else { write!(f, "{} %", significant(100.0 * p)) }
            }
            // What one or two films showed is no better known than what none did.
            (p, Some(films)) if p * (films as f64) < NONE_SEEN => {
                write!(f, "{below}1 {chance}in {:.0}", two_digits_down(films as f64 / NONE_SEEN))
            }
            // A hair less, so that 0.14 is 14 and not 15.
            (p, _) if p > BY_THE_HUNDRED => write!(f, "{:.0} {chances}in 100", (p * 100.0 * (1.0 - HAIR)).ceil().min(100.0)),
            (p, _) => write!(f, "1 {chance}in {:.0}", two_digits_down(1.0 / p)),
        }
    }
}

/// To six digits, without zeros at the end.
fn significant(value: f64) -> f64 {
    let unit = 10_f64.powf(5.0 - value.abs().log10().floor());
    (value * unit).round() / unit
}

/// Rounded down to two digits, and to a whole number: a chance is not made smaller by rounding.
fn two_digits_down(one_in: f64) -> f64 {
    let unit = 10_f64.powf((one_in.log10().floor() - 1.0).max(0.0));
    // A hair more, so that 1 / 0.004 is 250 and not 240.
    (one_in / unit * (1.0 + HAIR)).floor() * unit
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_counted_chance_is_said_as_people_say_it() {
        let cases = [
            (0.017, "1 chance in 58"),
            (0.004, "1 chance in 250"),
            (0.003, "1 chance in 330"),
            (0.1, "1 chance in 10"),
            (0.123, "13 chances in 100"),
            (0.14, "14 chances in 100"),
            (0.55, "55 chances in 100"),
            (1.0, "100 chances in 100"),
            (0.001_6, "1 chance in 620"),
            (0.000_5, "less than 1 chance in 660"),
            (0.000_125, "less than 1 chance in 660"),
        ];
        for (p, said) in cases {
            assert_eq!(Chance::counted(p, 2000).to_string(), said, "{p}");
        }
    }

    /// The rule of three, as in Hanley & Lippman-Hand (1983): nothing in n trials, and the 95 % limit is about 3 / n. [M]
    #[test]
    fn what_no_film_showed_is_said_no_rarer_than_three_through_their_number() {
        let cases = [
            (2000, "less than 1 chance in 660"),
            (100, "less than 1 chance in 33"),
            (64, "less than 1 chance in 21"),
            (100_000, "less than 1 chance in 33000"),
            (300, "less than 1 chance in 100"),
            (20, "less than 1 chance in 6"),
            (3, "less than 1 chance in 1"),
            (2, "not known"),
            (0, "not known"),
        ];
        for (films, said) in cases {
            assert_eq!(Chance::counted(0.0, films).to_string(), said, "{films} films");
        }
        // The exact limit, 1 - 0.05^(1/n), is just below the rule's: what is said is true. [D]
        for films in [64_i32, 100, 2000, 100_000] {
            let exact = 1.0 - 0.05_f64.powf(1.0 / f64::from(films));
            assert!(exact * two_digits_down(f64::from(films) / NONE_SEEN) < 1.0, "{films} films");
        }
    }

    #[test]
    fn a_limit_is_said_as_it_was_set() {
        let said = [0.02, 0.001, 0.5, 0.0095, 0.095, 0.15, 0.0, 1e-310, f64::NAN].map(|p| Chance::stated(p).to_string());
        let expected = [
            "1 chance in 50",
            "1 chance in 1000",
            "1 chance in 2",
            "0.95 %",
            "9.5 %",
            "15 %",
            "none",
            "1 chance in 1000000000000",
            "not known",
        ];
        assert_eq!(said, expected);
    }

    #[test]
    fn in_a_table_it_is_the_same_number_in_fewer_words() {
        let said = [0.017, 0.0, 0.97, f64::INFINITY].map(|p| format!("{:#}", Chance::counted(p, 2000)));
        assert_eq!(said, ["1 in 58", "< 1 in 660", "97 in 100", "not known"]);
    }

    /// The number that is said, "less than" left out.
    fn said(p: f64) -> f64 {
        let said = format!("{:#}", Chance::counted(p, 2000));
        let (count, of) = said.trim_start_matches("< ").split_once(" in ").unwrap();
        count.parse::<f64>().unwrap() / of.parse::<f64>().unwrap()
    }

    proptest! {
        #[test]
        fn a_chance_is_never_said_smaller_than_it_is(p in 1e-9..=1.0) {
            let said = said(p);
            prop_assert!(said >= p * (1.0 - 2.0 * HAIR), "{p} is said as {said}");
            prop_assert!(said <= 1.11 * p.max(NONE_SEEN / 2000.0), "{p} is said as {said}");
        }

        #[test]
        fn a_larger_chance_is_said_no_smaller(p in 0.0..=1.0, more in 0.0..=0.01, rare in 0.0..=0.003) {
            prop_assert!(said(p) <= said(f64::min(p + more, 1.0)));
            prop_assert!(said(0.0) <= said(rare) && said(rare) <= said(rare + more));
        }
    }
}
