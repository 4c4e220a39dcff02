//! Where a nonparametric distribution can have mass, and which observations each place serves.

use super::Censored;

/// An innermost interval: from a lower end to an upper end of the data, with no other end between.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Innermost {
    pub(super) low: f64,
    /// Infinite when open above.
    pub(super) high: f64,
}

/// An observation as the range of innermost intervals inside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Range {
    /// First innermost interval inside.
    pub(super) first: usize,
    /// One past the last.
    pub(super) end: usize,
    /// Its share of all observations in the problem.
    pub(super) share: f64,
}

/// The likelihood to maximise: sum of share x log(mass in range).
#[derive(Debug)]
pub(super) struct Problem {
    pub(super) places: Vec<Innermost>,
    /// Observations that hold some but not all places, merged; in order of `first`.
    pub(super) ranges: Vec<Range>,
    /// How many observations `ranges` stand for.
    pub(super) count: f64,
}

/// An end's rank in the order in which ends at one value stand: an exact lifetime begins, intervals end, intervals begin.
type End = (u64, u8);

fn lower_end(row: &Censored) -> End {
    (row.low.to_bits(), if row.is_exact() { 0 } else { 2 })
}

fn upper_end(row: &Censored) -> End {
    (row.high.to_bits(), 1)
}

/// The innermost intervals of distinct rows in order (Turnbull, "The empirical distribution function with arbitrarily grouped,
/// censored and truncated data", 1976), and each row's range of them.
pub(super) fn problem(rows: &[Censored]) -> Problem {
    let mut lows: Vec<End> = rows.iter().map(lower_end).collect();
    let mut highs: Vec<End> = rows.iter().map(upper_end).collect();
    lows.sort_unstable();
    lows.dedup();
    highs.sort_unstable();
    highs.dedup();
    let (mut place_lows, mut place_highs) = (Vec::new(), Vec::new());
    let mut next_high = 0;
    for (i, &low) in lows.iter().enumerate() {
        while next_high < highs.len() && highs[next_high] < low {
            next_high += 1;
        }
        // Every row's upper end lies above its lower end, so that there is one.
        let Some(&high) = highs.get(next_high) else { break };
        if lows.get(i + 1).is_none_or(|&next| next > high) {
            place_lows.push(low);
            place_highs.push(high);
        }
    }
    let places: Vec<Innermost> = place_lows
        .iter()
        .zip(&place_highs)
        .map(|(low, high)| Innermost { low: f64::from_bits(low.0), high: f64::from_bits(high.0) })
        .collect();
    let ranges = rows.iter().map(|row| Range {
        first: place_lows.partition_point(|low| *low < lower_end(row)),
        end: place_highs.partition_point(|high| *high <= upper_end(row)),
        share: row.count,
    });
    let ranges = merged(ranges.filter(|range| range.end - range.first < places.len()).collect());
    let count: f64 = ranges.iter().map(|range| range.share).sum();
    let ranges = ranges.into_iter().map(|range| Range { share: range.share / count, ..range }).collect();
    Problem { places, ranges, count }
}

fn merged(mut ranges: Vec<Range>) -> Vec<Range> {
    ranges.sort_unstable_by_key(|range| (range.first, range.end));
    ranges.dedup_by(|next, kept| {
        let same = (next.first, next.end) == (kept.first, kept.end);
        if same {
            kept.share += next.share;
        }
        same
    });
    ranges
}

impl Problem {
    /// Mass inside each range, with its relative accuracy kept where a difference of sums would lose it.
    pub(super) fn probabilities(&self, mass: &[f64]) -> Vec<f64> {
        let mut below = Vec::with_capacity(mass.len() + 1);
        below.push(0.0);
        let mut sum = 0.0;
        for m in mass {
            sum += m;
            below.push(sum);
        }
        let mut above = vec![0.0; mass.len() + 1];
        for j in (0..mass.len()).rev() {
            above[j] = above[j + 1] + mass[j];
        }
        let inside = |range: &Range| {
            if range.end == mass.len() {
                return above[range.first];
            }
            let difference = below[range.end] - below[range.first];
            // Below a thousandth of the sums the difference has lost three digits or more.
            if difference > 1e-3 * below[range.end] { difference } else { mass[range.first..range.end].iter().sum() }
        };
        self.ranges.iter().map(inside).collect()
    }

    /// Share-weighted log-likelihood less the mass: its maximum over masses >= 0 has them sum to 1.
    pub(super) fn value(&self, mass: &[f64], inside: &[f64]) -> f64 {
        let likelihood: f64 = self.ranges.iter().zip(inside).map(|(range, p)| range.share * p.ln()).sum();
        let total: f64 = mass.iter().sum();
        if likelihood.is_nan() { f64::NEG_INFINITY } else { likelihood - total }
    }

    /// What a little mass at each place would add to the share-weighted log-likelihood: 1 on the support at the maximum, at most 1 elsewhere.
    pub(super) fn gain(&self, inside: &[f64]) -> Vec<f64> {
        let mut change = vec![0.0; self.places.len() + 1];
        for (range, p) in self.ranges.iter().zip(inside) {
            let z = range.share / p;
            change[range.first] += z;
            change[range.end] -= z;
        }
        change.pop();
        let mut sum = 0.0;
        for value in &mut change {
            sum += *value;
            *value = sum;
        }
        change
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(data: &[(f64, Option<f64>)]) -> Vec<Censored> {
        let rows: Vec<Censored> = data.iter().map(|&(low, high)| Censored::new(low, high, 1.0).unwrap()).collect();
        super::super::distinct(&rows).unwrap()
    }

    fn places(data: &[(f64, Option<f64>)]) -> Vec<(f64, f64)> {
        problem(&rows(data)).places.iter().map(|place| (place.low, place.high)).collect()
    }

    #[test]
    fn mass_lies_between_a_lower_end_and_the_next_upper_end() {
        assert_eq!(places(&[(0.0, Some(7.0)), (4.0, Some(11.0)), (5.0, Some(12.0)), (6.0, None)]), [(6.0, 7.0)]);
        assert_eq!(places(&[(0.0, Some(2.0)), (1.0, Some(4.0)), (3.0, None)]), [(1.0, 2.0), (3.0, 4.0)]);
    }

    #[test]
    fn intervals_that_only_touch_do_not_overlap() {
        assert_eq!(places(&[(0.0, Some(1.0)), (1.0, Some(2.0)), (2.0, None)]), [(0.0, 1.0), (1.0, 2.0), (2.0, f64::INFINITY)]);
    }

    #[test]
    fn an_exact_lifetime_ends_inside_the_interval_that_it_closes() {
        // 2 lies in (1, 2] and not in (2, 3]
        assert_eq!(places(&[(1.0, Some(2.0)), (2.0, Some(2.0)), (2.0, Some(3.0))]), [(2.0, 2.0), (2.0, 3.0)]);
        assert_eq!(problem(&rows(&[(1.0, Some(2.0)), (2.0, Some(2.0)), (2.0, Some(3.0))])).ranges.len(), 2);
    }

    #[test]
    fn ranges_hold_what_lies_inside() {
        let problem = problem(&rows(&[(0.0, Some(2.0)), (1.0, Some(4.0)), (3.0, None), (0.0, None)]));
        let ranges: Vec<_> = problem.ranges.iter().map(|range| (range.first, range.end)).collect();
        // the second holds both places and says nothing between them; so does the fourth
        assert_eq!(ranges, [(0, 1), (1, 2)]);
        assert!((problem.count - 2.0).abs() < 1e-15);
    }

    #[test]
    fn a_mass_lost_in_the_sums_is_still_counted_right() {
        let problem = problem(&rows(&[(0.0, Some(1.0)), (1.0, Some(2.0)), (2.0, None)]));
        let inside = problem.probabilities(&[1.0, 1e-20, 1e-25]);
        assert_eq!(inside, [1.0, 1e-20, 1e-25]);
        assert!((problem.gain(&inside)[0] - 1.0 / 3.0).abs() < 1e-15);
    }
}
