//! Looks at a spot that can hardly both be right.

use std::collections::HashMap;

use crate::count::{Count, Kind, Seen};
use crate::looks::{Done, Z_95, first_state};

/// Two rows of a spot whose 95 % intervals of the share left have nothing in common, though both are after the same sets; or where the one after more sets has more left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Disagreement {
    /// Which rows, the earlier first.
    pub rows: [usize; 2],
    /// Bounds of the share left of each.
    pub left: [[f64; 2]; 2],
}

/// A row that says what share is left of a spot's first state.
struct Stated<'c> {
    row: usize,
    left: [f64; 2],
    after: &'c Done,
    is_measured: bool,
}

/// Rows that contradict an earlier one, each with the first that it contradicts.
///
/// Looked at are shares with bounds, beside one another and beside counts; their likelihoods are multiplied ([`crate::looks`]), so that two that
/// contradict each other make a plan surer of something between them than either alone would. Counts are taken as survivors of the first count of the
/// spot's first state, by Wilson's score interval. Not looked at are counts beside counts, since the later is taken as survivors of the earlier, and
/// shares without bounds, which say next to nothing. Two right ones contradict each other so 6 times in 1000, when they are equally sure \[D\]:
/// their difference is then beyond 2 x 1.96 / sqrt(2) of its sds.
#[must_use]
pub fn disagreements(counts: &[Count]) -> Vec<Disagreement> {
    let mut found = Vec::new();
    let mut firsts: HashMap<&str, &Done> = HashMap::new();
    let mut counted: HashMap<&str, u32> = HashMap::new();
    let mut stated: HashMap<&str, Vec<Stated<'_>>> = HashMap::new();
    for (row, count) in counts.iter().enumerate().filter(|(_, count)| count.kind == Kind::Fine) {
        let spot = count.spot.as_str();
        let first = *firsts.entry(spot).or_insert_with(|| first_state(count));
        if count.after == first {
            if let Seen::Count(n) = count.seen {
                counted.entry(spot).or_insert(n);
            }
            continue;
        }
        let left = match (count.seen, count.share_between) {
            (Seen::ShareLeft(_), between) => between,
            (Seen::Count(n), _) => counted.get(spot).and_then(|before| score_interval(n, *before)),
        };
        let Some(left) = left else { continue };
        let here = Stated { row, left, after: &count.after, is_measured: count.is_measured() };
        let earlier = stated.entry(spot).or_default();
        found.extend(earlier.iter().find(|earlier| earlier.contradicts(&here)).map(|earlier| earlier.beside(&here)));
        earlier.push(here);
    }
    found
}

impl Stated<'_> {
    fn contradicts(&self, other: &Self) -> bool {
        let (is_more_here, is_more_there) = (self.left[0] > other.left[1], other.left[0] > self.left[1]);
        // Both ways for one state; and more may not be left after more.
        (self.is_measured || other.is_measured)
            && (is_more_here && includes(self.after, other.after) || is_more_there && includes(other.after, self.after))
    }

    const fn beside(&self, later: &Self) -> Disagreement {
        Disagreement { rows: [self.row, later.row], left: [self.left, later.left] }
    }
}

/// Whether all that had been done by the time of `earlier` had been done by that of `later`.
fn includes(later: &Done, earlier: &Done) -> bool {
    let sets = |done: &Done, process: usize| done.iter().filter(|(of, _)| *of == process).map(|(_, sets)| sets).sum::<u32>();
    earlier.iter().all(|(process, _)| sets(earlier, *process) <= sets(later, *process))
}

/// The 95 % score interval of a binomial share, `left` of `before`; none of none.
///
/// Source: Wilson, "Probable inference, the law of succession, and statistical inference", J. Am. Stat. Assoc. 22, 1927.
fn score_interval(left: u32, before: u32) -> Option<[f64; 2]> {
    if before == 0 {
        return None;
    }
    // Sets leave marks of their own: more than there were are all of them.
    let (n, share) = (f64::from(before), f64::from(left.min(before)) / f64::from(before));
    let z2 = Z_95 * Z_95 / n;
    let (middle, half) = (share + 0.5 * z2, (z2 * (share * (1.0 - share) + 0.25 * z2)).sqrt());
    Some([middle - half, middle + half].map(|bound| (bound / (1.0 + z2)).clamp(0.0, 1.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(spot: &str, sets: u32, seen: Seen, share_between: Option<[f64; 2]>) -> Count {
        let after = if sets == 0 { vec![] } else { vec![(0, sets)] };
        Count { spot: spot.into(), panel: 0, after, seen, share_between, kind: Kind::Fine, wiped: true }
    }

    fn count(sets: u32, n: u32) -> Count {
        row("a", sets, Seen::Count(n), None)
    }

    fn photographed(spot: &str, sets: u32, low: f64, high: f64) -> Count {
        row(spot, sets, Seen::ShareLeft(0.5 * (low + high)), Some([low, high]))
    }

    fn check(counts: &[Count], expected: &[[usize; 2]]) {
        assert_eq!(disagreements(counts).iter().map(|found| found.rows).collect::<Vec<_>>(), expected);
    }

    #[test]
    fn photographs_of_one_state_whose_intervals_have_nothing_in_common_disagree() {
        check(&[photographed("a", 2, 0.1, 0.19), photographed("a", 2, 0.4, 0.5)], &[[0, 1]]);
        check(&[photographed("a", 2, 0.4, 0.5), photographed("a", 2, 0.1, 0.19)], &[[0, 1]]);
        check(&[photographed("a", 2, 0.1, 0.2), photographed("a", 2, 0.2, 0.5)], &[]);
        check(&[photographed("a", 1, 0.4, 0.5), photographed("a", 2, 0.1, 0.19), photographed("b", 2, 0.4, 0.5)], &[]);
        let three = [photographed("a", 2, 0.1, 0.2), photographed("a", 2, 0.15, 0.3), photographed("a", 2, 0.25, 0.4)];
        check(&three, &[[0, 2]]);
    }

    #[test]
    fn more_left_after_more_work_disagrees() {
        check(&[photographed("a", 1, 0.1, 0.19), photographed("a", 2, 0.4, 0.5)], &[[0, 1]]);
        check(&[photographed("a", 2, 0.4, 0.5), photographed("a", 1, 0.1, 0.19)], &[[0, 1]]);
        // Of other processes nobody can say which takes more.
        let other = Count { after: vec![(1, 3)], ..photographed("a", 1, 0.4, 0.5) };
        check(&[photographed("a", 1, 0.1, 0.19), other.clone()], &[]);
        check(&[photographed("a", 1, 0.1, 0.19), Count { after: vec![(1, 3), (0, 1)], ..other }], &[[0, 1]]);
    }

    #[test]
    fn a_photograph_and_a_count_of_one_state_disagree() {
        let counts = [count(0, 75), count(2, 38), photographed("a", 2, 0.1, 0.19), photographed("a", 2, 0.45, 0.6)];
        check(&counts, &[[1, 2], [2, 3]]);
        check(&[photographed("a", 2, 0.1, 0.19), count(0, 75), count(2, 38)], &[[0, 2]]);
        // Without a count before, nobody knows of how many these were left.
        check(&[photographed("a", 2, 0.1, 0.19), count(2, 38)], &[]);
        check(&[count(0, 0), count(2, 0), photographed("a", 2, 0.1, 0.19)], &[]);
    }

    #[test]
    fn what_a_plan_does_not_multiply_does_not_disagree() {
        check(&[count(0, 75), count(2, 70), count(2, 5)], &[]);
        check(&[photographed("a", 0, 0.95, 1.0), photographed("a", 0, 0.5, 0.6)], &[]);
        check(&[photographed("a", 1, 0.1, 0.2), row("a", 1, Seen::ShareLeft(0.9), None)], &[]);
        let haze = |low: f64| Count { kind: Kind::Haze, ..photographed("a", 1, low, low + 0.1) };
        check(&[haze(0.1), haze(0.7)], &[]);
    }

    #[test]
    fn a_count_has_its_score_interval() {
        // [M] from memory of Newcombe, Statistics in Medicine 17, 1998, table I, score intervals to four digits
        for (left, before, low, high) in
            [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)]
        {
            let between = score_interval(left, before).unwrap();
            assert!((between[0] - low).abs() < 6e-5 && (between[1] - high).abs() < 6e-5, "{between:?}");
        }
        assert_eq!(score_interval(30, 20), score_interval(20, 20));
    }
}
