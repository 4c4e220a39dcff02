//! Shares and ranges in words that a person uses.

use lastmicron_draw::in_unit_bare;
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_hold_nine_times_in_ten() {
        assert_eq!(removal_range(&Spread { mean: 2.3, sd: 0.4 }, Unit::Micrometre), "2.3 (1.6 to 3.0)");
        assert_eq!(removal_range(&Spread { mean: 0.3, sd: 0.4 }, Unit::Micrometre), "0.3 (0.0 to 1.0)");
        assert_eq!(percent_range(&Interval { mean: 0.714, p05: 0.62, p95: 0.8 }), "71 % (62 to 80)");
        assert_eq!(film_range(&Interval { mean: 25.4, p05: 24.0, p95: f64::NAN }, Unit::Mil), "1.00 (0.94 to \u{2013})");
    }
}
