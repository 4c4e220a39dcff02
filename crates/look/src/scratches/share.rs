//! Shares of scratches that are gone, with their intervals.

use super::likely::Likely;

/// A share from 0 to 1 with its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// The median of what may be true.
    pub estimate: f64,
    /// 2.5 % of what may be true is lower.
    pub low: f64,
    /// 2.5 % of what may be true is higher.
    pub high: f64,
}

/// The quantiles of a share over what may be true.
pub(crate) fn share(likely: &[Likely], of: impl Fn(&Likely) -> f64) -> Share {
    let mut sorted: Vec<[f64; 2]> = likely.iter().map(|likely| [of(likely), likely.weight]).collect();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let total: f64 = sorted.iter().map(|[_, weight]| weight).sum();
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
    Share { estimate: quantile(0.5), low: quantile(0.025), high: quantile(0.975) }
}
