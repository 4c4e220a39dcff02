//! Estimates with their intervals.

use super::likely::Likely;

/// An estimate with its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The median of what may be true.
    pub estimate: f64,
    /// 2.5 % of what may be true is lower.
    pub low: f64,
    /// 2.5 % of what may be true is higher.
    pub high: f64,
}

/// The quantiles of something over what may be true; none when nothing is known of it.
pub(crate) fn estimate(likely: &[Likely], of: impl Fn(&Likely) -> f64) -> Option<Estimate> {
    let mut sorted: Vec<[f64; 2]> = likely.iter().map(|likely| [of(likely), likely.weight]).collect();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]));
    // Values that are alike are one, or half of the weight of each would lie below the others.
    sorted.dedup_by(|next, kept| {
        let is_alike = next[0].total_cmp(&kept[0]).is_eq();
        if is_alike {
            kept[1] += next[1];
        }
        is_alike
    });
    let total: f64 = sorted.iter().map(|[_, weight]| weight).sum();
    if !(total.is_finite() && total > 0.0 && sorted.iter().all(|[value, _]| value.is_finite())) {
        return None;
    }
    let quantile = |p: f64| {
        let mut below = 0.0;
        let mut last = [0.0, sorted.first().map_or(0.0, |[value, _]| *value)];
        for [value, weight] in &sorted {
            // Half of a value's weight lies below it.
            let at = (below + 0.5 * weight) / total;
            if at >= p {
                let share = if at > last[0] { (p - last[0]) / (at - last[0]) } else { 1.0 };
                return last[1] + share * (value - last[1]);
            }
            last = [at, *value];
            below += weight;
        }
        last[1]
    };
    Some(Estimate { estimate: quantile(0.5), low: quantile(0.025), high: quantile(0.975) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_of_a_normal_law_are_its_own_however_it_is_laid_out() {
        // [M] 1.96 and 0 of the standard normal law; values stand nine times, as shapes at one hazard do.
        for start in [0.0, 0.1, 0.25, 0.4] {
            let of = |step: i32| 5.0 + start * 0.5 + 0.5 * f64::from(step);
            let weight = |value: f64| (-0.5 * (value - 5.0).powi(2)).exp();
            let likely: Vec<Likely> = (-9..=9)
                .flat_map(|step| (0..9).map(move |_| step))
                .map(|step| Likely { weight: weight(of(step)), gone: of(step), visible: 0.0, untouched: 0.0 })
                .collect();
            let found = estimate(&likely, |likely| likely.gone).unwrap();
            assert!((found.estimate - 5.0).abs() < 0.02, "{start}: {found:?}");
            assert!((found.low - 3.04).abs() < 0.15 && (found.high - 6.96).abs() < 0.15, "{start}: {found:?}");
        }
    }

    #[test]
    fn of_what_is_no_number_nothing_is_said() {
        let likely = |weight: f64, gone: f64| [Likely { weight, gone, visible: 0.0, untouched: 0.0 }];
        for likely in [likely(0.0, 0.5), likely(f64::NAN, 0.5), likely(1.0, f64::NAN)] {
            assert_eq!(estimate(&likely, |likely| likely.gone), None);
        }
        assert_eq!(estimate(&[], |likely| likely.gone), None);
    }
}
