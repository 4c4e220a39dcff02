//! Shares and ranges in words that a person uses.

use lastmicron_draw::in_unit_bare;
use lastmicron_job::event::Digest;
use lastmicron_plan::taken::Likely;
use lastmicron_plan::{Interval, Spread};
use lastmicron_units::Unit;

/// Half the span that a normal law keeps 9 times in 10, in standard deviations.
const NINE_IN_TEN: f64 = 1.645;

/// A share as per cent.
pub(crate) fn percent(share: f64) -> String {
    if share.is_finite() { format!("{:.0} %", share * 100.0) } else { "not known".to_owned() }
}

/// A share with the range that holds it 9 times in 10.
pub(crate) fn percent_range(share: &Interval) -> String {
    if !share.mean.is_finite() {
        return "not known".to_owned();
    }
    format!("{} ({:.0} to {:.0})", percent(share.mean), share.p05 * 100.0, share.p95 * 100.0)
}

/// A film with the range that holds it 9 times in 10, bare.
pub(crate) fn film_range(film: &Interval, unit: Unit) -> String {
    if !film.mean.is_finite() {
        return "not known".to_owned();
    }
    let [mean, low, high] = [film.mean, film.p05, film.p95].map(|um| in_unit_bare(um, unit));
    format!("{mean} ({low} to {high})")
}

/// The same from a mean and a standard deviation, never below nothing: a set takes film, it adds none.
pub(crate) fn removal_range(film: &Spread, unit: Unit) -> String {
    let low = (film.mean - NINE_IN_TEN * film.sd).max(0.0);
    film_range(&Interval { mean: film.mean, p05: low, p95: film.mean + NINE_IN_TEN * film.sd }, unit)
}

/// A film in words: "34.0 to 41.0 um, 19 times in 20". There is no less than none: what may have been gone through begins at 0.
pub(crate) fn nineteen_in_twenty(film: &Likely, unit: Unit) -> String {
    if !film.mean.is_finite() {
        return "not known".to_owned();
    }
    let [low, high] = [film.p025, film.p975].map(|um| in_unit_bare(um.max(0.0), unit));
    format!("{low} to {high} {unit}, 19 times in 20")
}

/// A hash in groups of four digits, as people read one out.
pub(crate) fn grouped(hash: Digest) -> String {
    let digits = hash.to_string();
    let groups: Vec<String> = digits.as_bytes().chunks(4).map(|four| four.iter().copied().map(char::from).collect()).collect();
    groups.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_film_and_a_hash_are_said_as_people_say_them() {
        let film = Likely { mean: 37.4, sd: 1.8, p025: 34.0, p05: 34.6, p50: 37.5, p95: 40.3, p975: 41.0 };
        assert_eq!(nineteen_in_twenty(&film, Unit::Micrometre), "34.0 to 41.0 um, 19 times in 20");
        assert_eq!(nineteen_in_twenty(&Likely { p025: -3.0, ..film }, Unit::Micrometre), "0.0 to 41.0 um, 19 times in 20");
        assert_eq!(nineteen_in_twenty(&Likely { mean: f64::NAN, ..film }, Unit::Micrometre), "not known");
        assert_eq!(grouped(Digest([0xab; 32])), ["abab"; 16].join(" "));
    }

    #[test]
    fn ranges_hold_nine_times_in_ten() {
        assert_eq!(removal_range(&Spread { mean: 2.3, sd: 0.4 }, Unit::Micrometre), "2.3 (1.6 to 3.0)");
        assert_eq!(removal_range(&Spread { mean: 0.3, sd: 0.4 }, Unit::Micrometre), "0.3 (0.0 to 1.0)");
        assert_eq!(percent_range(&Interval { mean: 0.714, p05: 0.62, p95: 0.8 }), "71 % (62 to 80)");
        assert_eq!(film_range(&Interval { mean: 25.4, p05: 24.0, p95: f64::NAN }, Unit::Mil), "1.00 (0.94 to \u{2013})");
    }
}
