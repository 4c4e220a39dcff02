//! Noise of a day's work.
//!
//! Local law decides which rule holds; the tool shows the arithmetic.

/// A rule by which noise is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// 29 CFR 1910.95, hearing conservation: 90 dB for 8 hours, halved for each 5 dB, levels below 80 dB not counted.
    Osha,
    /// NIOSH, "Criteria for a recommended standard: occupational noise exposure", 98-126 (1998): 85 dB for 8 hours, halved for each 3 dB.
    Niosh,
}

/// Some hours at one level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Period {
    /// Level, dB(A).
    pub db_a: f64,
    /// Hours at it.
    pub hours: f64,
}

/// What a day's noise adds up to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dose {
    /// Share of the dose allowed, per cent.
    pub percent: f64,
    /// Level that gives the same dose in 8 hours, dB(A); `None` when there is no dose.
    pub twa_db_a: Option<f64>,
}

/// Why there is no dose.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum NoiseError {
    /// A level that no shop has.
    #[error("a level of {0} dB(A): it must lie between 0 and 200")]
    Level(f64),
    /// Hours that no day has.
    #[error("{0} hours: the hours at one level must lie between 0 and 24")]
    Hours(f64),
    /// Together more than a day.
    #[error("{0} hours at all levels together: a day has 24")]
    Day(f64),
}

/// Level below which OSHA's hearing-conservation dose counts nothing, dB(A). 29 CFR 1910.95(d)(2)(i).
const OSHA_THRESHOLD_DB_A: f64 = 80.0;

/// The day to which doses are referred, hours.
const DAY_HOURS: f64 = 8.0;

/// Hours that `rule` allows at `db_a`: by its formula, of which printed tables are roundings.
///
/// Source: 29 CFR 1910.95 appendix A; NIOSH 98-126, 1.1.
#[must_use]
pub fn allowed_hours(rule: Rule, db_a: f64) -> f64 {
    match rule {
        Rule::Osha => DAY_HOURS / ((db_a - 90.0) / 5.0).exp2(),
        Rule::Niosh => DAY_HOURS / ((db_a - 85.0) / 3.0).exp2(),
    }
}

/// The dose of a day of `periods`.
///
/// The level of 8 hours is 5 / log10(2) = 16.61 times log10(dose) above 90 by OSHA, and by NIOSH's printed formula 10 times
/// log10(dose) above 85, although its exchange rate would have 9.97.
///
/// # Errors
/// [`NoiseError`] for numbers out of range.
pub fn dose(rule: Rule, periods: &[Period]) -> Result<Dose, NoiseError> {
    check(periods)?;
    let counts = |period: &&Period| match rule {
        Rule::Osha => period.db_a >= OSHA_THRESHOLD_DB_A,
        Rule::Niosh => true,
    };
    let share: f64 = periods.iter().filter(counts).map(|period| period.hours / allowed_hours(rule, period.db_a)).sum();
    let twa_db_a = match rule {
        Rule::Osha => 5.0 * share.log2() + 90.0,
        Rule::Niosh => 10.0 * share.log10() + 85.0,
    };
    Ok(Dose { percent: 100.0 * share, twa_db_a: twa_db_a.is_finite().then_some(twa_db_a) })
}

/// Level of the same energy in 8 hours, dB(A), as Directive 2003/10/EC counts: action from 80 and 85, limit 87. `None` for no noise.
///
/// # Errors
/// [`NoiseError`] for numbers out of range.
pub fn daily_level_db_a(periods: &[Period]) -> Result<Option<f64>, NoiseError> {
    check(periods)?;
    let energy: f64 = periods.iter().map(|period| period.hours / DAY_HOURS * 10f64.powf(period.db_a / 10.0)).sum();
    Ok((energy > 0.0).then(|| 10.0 * energy.log10()))
}

/// Level of several sources at once, dB: the sum of their energies.
#[must_use]
pub fn together_db(levels_db: &[f64]) -> f64 {
    10.0 * levels_db.iter().map(|level| 10f64.powf(level / 10.0)).sum::<f64>().log10()
}

fn check(periods: &[Period]) -> Result<(), NoiseError> {
    for period in periods {
        if !(0.0..=200.0).contains(&period.db_a) {
            return Err(NoiseError::Level(period.db_a));
        }
        if !(0.0..=24.0).contains(&period.hours) {
            return Err(NoiseError::Hours(period.hours));
        }
    }
    let hours: f64 = periods.iter().map(|period| period.hours).sum();
    // A hair over, so that hours that add up to 24 in decimals do so here.
    if hours > 24.0 + 1e-9 { Err(NoiseError::Day(hours)) } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn periods(levels: &[(f64, f64)]) -> Vec<Period> {
        levels.iter().map(|&(hours, db_a)| Period { db_a, hours }).collect()
    }

    #[track_caller]
    fn close(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{got} {want}");
    }

    #[test]
    fn allowed_hours_round_to_the_printed_table() {
        // [S] 29 CFR 1910.95 table G-16A; one official copy prints 21.2 for 83 dB, the formula gives 21.112
        let table = [
            (80.0, 32.0, 1),
            (81.0, 27.9, 1),
            (82.0, 24.3, 1),
            (83.0, 21.1, 1),
            (84.0, 18.4, 1),
            (85.0, 16.0, 1),
            (86.0, 13.9, 1),
            (87.0, 12.1, 1),
            (88.0, 10.6, 1),
            (89.0, 9.2, 1),
            (90.0, 8.0, 1),
            (91.0, 7.0, 1),
            (92.0, 6.1, 1),
            (93.0, 5.3, 1),
            (94.0, 4.6, 1),
            (95.0, 4.0, 1),
            (96.0, 3.5, 1),
            (97.0, 3.0, 1),
            (98.0, 2.6, 1),
            (99.0, 2.3, 1),
            (100.0, 2.0, 1),
            (101.0, 1.7, 1),
            (102.0, 1.5, 1),
            (103.0, 1.3, 1),
            (104.0, 1.1, 1),
            (105.0, 1.0, 1),
            (106.0, 0.87, 2),
            (110.0, 0.5, 1),
            (115.0, 0.25, 2),
            (120.0, 0.125, 3),
            (125.0, 0.063, 3),
            (130.0, 0.031, 3),
        ];
        for (db_a, hours, digits) in table {
            close(allowed_hours(Rule::Osha, db_a), hours, 0.5001 * 10f64.powi(-digits));
        }
        close(allowed_hours(Rule::Osha, 83.0), 21.112, 0.5e-3);
    }

    #[test]
    fn niosh_allows_its_published_minutes() {
        // [S] NIOSH 98-126
        close(allowed_hours(Rule::Niosh, 88.0) * 60.0, 240.0, 1e-10);
        close(allowed_hours(Rule::Niosh, 100.0) * 60.0, 15.0, 1e-10);
    }

    #[test]
    fn mixed_days_have_their_doses() {
        // [C] hours at levels; OSHA per cent and dB, NIOSH per cent and dB
        let table = [
            (&[(4.0, 90.0), (2.0, 95.0), (2.0, 80.0)][..], 106.25, 90.437, 418.599, 91.218),
            (&[(3.0, 92.0), (4.0, 88.0), (1.0, 97.0)], 120.362, 91.337, 488.988, 91.893),
        ];
        for (levels, osha, osha_db, niosh, niosh_db) in table {
            let got = dose(Rule::Osha, &periods(levels)).unwrap();
            close(got.percent, osha, 0.51e-3);
            close(got.twa_db_a.unwrap(), osha_db, 0.51e-3);
            let got = dose(Rule::Niosh, &periods(levels)).unwrap();
            close(got.percent, niosh, 0.51e-3);
            close(got.twa_db_a.unwrap(), niosh_db, 0.51e-3);
        }
        // 131 % by the table's 6.1 hours [S], 131.95 % exactly
        close(dose(Rule::Osha, &periods(&[(8.0, 92.0)])).unwrap().percent, 131.95, 0.51e-2);
    }

    #[test]
    fn osha_levels_follow_from_doses() {
        // [S] 29 CFR 1910.95 table A-1: per cent, dB
        for (percent, db_a) in [(25.0, 80.0), (50.0, 85.0), (100.0, 90.0), (200.0, 95.0)] {
            let hours = percent / 100.0 * 8.0;
            let got = dose(Rule::Osha, &periods(&[(hours, 90.0)])).unwrap();
            close(got.percent, percent, 1e-12);
            close(got.twa_db_a.unwrap(), db_a, 1e-12);
        }
        // [C] the printed 16.61
        close(5.0 / f64::log10(2.0), 16.6096, 0.5e-4);
    }

    #[test]
    fn osha_counts_from_80_and_niosh_counts_all() {
        let quiet = periods(&[(8.0, 79.9)]);
        assert_eq!(dose(Rule::Osha, &quiet).unwrap(), Dose { percent: 0.0, twa_db_a: None });
        assert!(dose(Rule::Niosh, &quiet).unwrap().percent > 30.0);
        close(dose(Rule::Osha, &periods(&[(8.0, 80.0)])).unwrap().percent, 25.0, 1e-12);
    }

    #[test]
    fn energies_add() {
        // [C]
        close(together_db(&[88.0, 85.0]), 89.764, 0.5e-3);
        close(daily_level_db_a(&periods(&[(3.0, 92.0), (4.0, 88.0), (1.0, 97.0)])).unwrap().unwrap(), 91.865, 0.51e-3);
        assert_eq!(daily_level_db_a(&[]), Ok(None));
    }

    #[test]
    fn numbers_that_no_day_has_are_refused() {
        assert_eq!(dose(Rule::Osha, &periods(&[(1.0, -1.0)])), Err(NoiseError::Level(-1.0)));
        assert_eq!(dose(Rule::Osha, &periods(&[(25.0, 90.0)])), Err(NoiseError::Hours(25.0)));
        assert_eq!(dose(Rule::Niosh, &periods(&[(13.0, 90.0), (13.0, 80.0)])), Err(NoiseError::Day(26.0)));
        assert!(daily_level_db_a(&periods(&[(f64::NAN, 90.0)])).is_err());
    }
}
