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
