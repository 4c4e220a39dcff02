//! How pages say what many of them say: a sentence's capital, so many of a thing, an instant, a chance.

pub(crate) use lastmicron_draw::counted;
use lastmicron_draw::{in_unit, in_unit_bare};
use lastmicron_job::event::When;
use lastmicron_plan::Interval;
use lastmicron_units::Unit;

/// With a capital, as a sentence or a heading has it.
pub(crate) fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// The date and the minute, by the device's clock.
pub(crate) fn minute(when: &When) -> String {
    when.as_str().chars().take(16).collect::<String>().replace('T', " ")
}

/// A time to wait, as a person counts it.
pub(crate) fn waiting(seconds: &i64) -> String {
    if *seconds <= 90 { counted(seconds, "second", "seconds") } else { counted((seconds + 59) / 60, "minute", "minutes") }
}

/// A film's bounds, 9 times in 10. What is believed of it may reach below nothing, where the undercoat is in doubt; no film does.
pub(crate) fn film_between(um: &Interval, unit: Unit) -> String {
    format!("{} to {}", in_unit_bare(um.p05.max(0.0), unit), in_unit(um.p95.max(0.0), unit))
}

/// From this chance on, "1 chance in so many" would be rounded too far: 0.4 is not 1 in 3, and 0.7 not 1 in 1.
const LIKELY: f64 = 0.1;

/// A chance, as pages say it everywhere.
pub(crate) fn chance(chance: f64) -> String {
    if chance > LIKELY { format!("{:.0} chances in 100", 100.0 * chance) } else { format!("1 chance in {:.0}", 1.0 / chance) }
}

/// A chance that was counted over so many drawn films: one that never came is bounded by the rule of three (Hanley & Lippman-Hand, JAMA 249, 1983; from
/// memory).
pub(crate) fn counted_chance(counted: f64, films: usize) -> String {
    if counted > 0.0 { chance(counted) } else { format!("less than 1 chance in {}", films / 3) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_to_wait_is_counted_as_a_person_does() {
        assert_eq!([1, 60, 91].map(|s| waiting(&s)), ["1 second", "60 seconds", "2 minutes"]);
    }

    #[test]
    fn a_chance_is_never_rounded_to_certainty() {
        let said = [0.7, 0.4, 0.1, 0.02].map(chance);
        assert_eq!(said, ["70 chances in 100", "40 chances in 100", "1 chance in 10", "1 chance in 50"]);
        assert_eq!(counted_chance(0.0, 1980), "less than 1 chance in 660");
    }
}
