//! What must hold of any data.

use proptest::prelude::*;

use super::{Censored, SurvivalError, exponential, nonparametric, weibull};

/// An inspected lifetime: ends on a coarse grid, so that ties, touching intervals and exact values all come up.
fn row() -> impl Strategy<Value = Censored> {
    (0..40_u32, prop::option::weighted(0.8, 0..15_u32), 1..4_u32).prop_map(|(low, width, count)| {
        let low = f64::from(low);
        Censored::new(low, width.map(|w| low + f64::from(w)), f64::from(count)).unwrap()
    })
}

/// P(T = t or low < T <= high) under the fitted masses.
fn held(fit: &super::Nonparametric, row: &Censored) -> f64 {
    let high = row.high().unwrap_or(f64::INFINITY);
    let exact = row.high() == Some(row.low());
    let inside = fit.masses.iter().filter(|m| {
        let point = m.high == Some(m.low);
        m.high.unwrap_or(f64::INFINITY) <= high
            && if exact { point && m.low.to_bits() == row.low().to_bits() } else { m.low > row.low() || (m.low >= row.low() && !point) }
    });
    inside.map(|m| m.mass).sum()
}

proptest! {
    #[test]
    fn masses_sum_to_1_and_no_place_would_gain_more(data in prop::collection::vec(row(), 1..60)) {
        let fit = nonparametric(&data).unwrap();
        prop_assert!(fit.gap < 1e-9);
        prop_assert!((fit.masses.iter().map(|m| m.mass).sum::<f64>() - 1.0).abs() < 1e-12);
        prop_assert!(fit.masses.iter().all(|m| m.mass > 0.0));
        // The likelihood is that of the data as given, computed without the ranges.
        let by_hand: f64 = data.iter().map(|row| row.count() * held(&fit, row).ln()).sum();
        prop_assert!((fit.log_likelihood - by_hand).abs() < 1e-9 * (1.0 + by_hand.abs()));
    }

    #[test]
    fn no_weibull_is_more_likely_than_the_best_of_all_distributions(data in prop::collection::vec(row(), 2..60)) {
        let data: Vec<Censored> = data.into_iter().filter(|row| row.high() != Some(row.low())).collect();
        prop_assume!(!data.is_empty());
        let best = nonparametric(&data).unwrap();
        match (exponential(&data), weibull(&data)) {
            (Ok(exponential), Ok(weibull)) => {
                prop_assert!(weibull.log_likelihood >= exponential.log_likelihood - 1e-9);
                prop_assert!(best.log_likelihood >= weibull.log_likelihood - 1e-9);
            }
            (_, Err(error)) => prop_assert!(!matches!(error, SurvivalError::NotConverged { .. }), "{error}"),
            (Err(error), _) => prop_assert!(!matches!(error, SurvivalError::NotConverged { .. }), "{error}"),
        }
    }

    #[test]
    fn another_unit_changes_the_scale_only(data in prop::collection::vec(row(), 5..40), power in -30..30_i32) {
        let unit = 10f64.powi(power);
        let scaled: Vec<Censored> = data.iter().map(|row| Censored::new(row.low() * unit, row.high().map(|h| h * unit), row.count()).unwrap()).collect();
        if let (Ok(plain), Ok(other)) = (weibull(&data), weibull(&scaled)) {
            prop_assert!((plain.shape / other.shape - 1.0).abs() < 1e-8);
            prop_assert!((plain.scale * unit / other.scale - 1.0).abs() < 1e-8);
        }
    }

    #[test]
    fn exact_and_right_censored_lifetimes_give_the_product_limit(steps in prop::collection::vec((1..5_u32, any::<bool>()), 2..40)) {
        let mut t = 0.0;
        let mut data = Vec::new();
        for (step, ends) in steps {
            t += f64::from(step);
            data.push(Censored::new(t, ends.then_some(t), 1.0).unwrap());
        }
        let fit = nonparametric(&data).unwrap();
        let mut survivors = 1.0;
        for (i, row) in data.iter().enumerate() {
            if row.high().is_some() {
                survivors *= 1.0 - 1.0 / f64::from(u32::try_from(data.len() - i).unwrap());
            }
            let beyond = fit.survival_between(row.low())[1];
            prop_assert!((beyond - survivors).abs() < 1e-9, "{} {}", beyond, survivors);
        }
    }
}

/// A fixed sequence that looks random: fractional parts of multiples of the golden ratio.
fn golden(i: u32) -> f64 {
    (f64::from(i) * 0.618_033_988_749_894_9).fract()
}

#[test]
fn thousands_of_distinct_exact_lifetimes_are_fitted_too() {
    let data: Vec<Censored> = (1..=3000).map(|i| Censored::new(golden(i), (i % 3 > 0).then(|| golden(i)), 1.0).unwrap()).collect();
    let fit = nonparametric(&data).unwrap();
    let mut order: Vec<&Censored> = data.iter().collect();
    order.sort_by(|a, b| a.low().total_cmp(&b.low()));
    let mut survivors = 1.0;
    for (i, row) in order.iter().enumerate() {
        if row.high().is_some() {
            survivors *= 1.0 - 1.0 / f64::from(u32::try_from(data.len() - i).unwrap());
        }
        assert!((fit.survival_between(row.low())[1] - survivors).abs() < 1e-6);
    }
}

#[test]
fn a_single_late_lifetime_among_a_million_million_keeps_its_share() {
    let data = [Censored::new(0.0, Some(1.0), 1e12).unwrap(), Censored::new(1.0, Some(2.0), 1.0).unwrap()];
    let fit = nonparametric(&data).unwrap();
    assert!((fit.masses[1].mass * 1e12 - 1.0).abs() < 1e-9);
}
