//! Rows of a spot paired into looks: of so many defects, so many were left.

use crate::count::{Count, Kind, Seen};

/// What had been done, as (process, sets).
pub(crate) type Done = [(usize, u32)];

/// Defects that a share left without stated bounds counts for. Judgement: "about a third left" is worth a count of twenty.
const SHARE_WORTH: f64 = 20.0;

/// Most defects that a share with bounds counts for. Judgement: a window holds some hundred scratches, and their own luck stays however
/// sharp the photograph. Larger, laws fit shares better than the steps between the shapes considered are wide: at 400, three shares stated to 0.02
/// hold the truth 87 times in 100 where they should 90 times. Smaller, a good photograph is no better than a count by eye.
const MOST_SHARE_WORTH: f64 = 300.0;

/// Correlation of the errors of two shares with bounds on one spot. Judgement: both divide by the same untouched paint, which alone makes it
/// sqrt(a b / ((1 + a)(1 + b))) for shares a and b of lengths that scatter alike (0.2 to 0.3 for shares between 0.2 and 0.6); and they are of the same
/// scratches. Larger, independent photographs count for too little; at 0, intervals of 90 % hold the truth only 85 to 87 times in 100.
const COMMON: f64 = 0.25;

/// Standard deviations from the middle of a 95 % interval to its ends.
pub(crate) const Z_95: f64 = 1.96;

/// One look that followed another on the same defects: of `before` defects, `left` were left.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// Index of the panel.
    pub panel: usize,
    /// What had been done at the look before, as (process, sets).
    pub from: Vec<(usize, u32)>,
    /// What had been done at this look.
    pub to: Vec<(usize, u32)>,
    /// Defects before; of a share, its worth in defects.
    pub before: f64,
    /// Defects left.
    pub left: f64,
}

/// A spot as its rows so far have it.
struct Spot<'c> {
    name: &'c str,
    /// The state that its shares are shares of.
    first: &'c Done,
    /// Its last count.
    counted: Option<(&'c Done, f64)>,
    /// Its last share without bounds; of the first state, all.
    shared: (&'c Done, f64),
    /// Which of the looks are its shares with bounds.
    measured: Vec<usize>,
}

impl<'c> Spot<'c> {
    fn opened_by(count: &'c Count) -> Self {
        let first = first_state(count);
        Self { name: &count.spot, first, counted: None, shared: (first, 1.0), measured: Vec::new() }
    }

    fn count(&mut self, count: &'c Count, n: f64) -> Option<Look> {
        let (from, before) = self.counted.replace((&count.after, n))?;
        look(count, from, before, n.min(before))
    }

    fn share(&mut self, count: &'c Count, share: f64) -> Option<Look> {
        let (from, before) = std::mem::replace(&mut self.shared, (&count.after, share));
        let survived = if before > 0.0 { (share / before).min(1.0) } else { 1.0 };
        look(count, from, SHARE_WORTH, SHARE_WORTH * survived)
    }

    fn measured(&self, count: &Count, share: f64, between: [f64; 2]) -> Option<Look> {
        let worth = share_worth(share, between);
        // A photograph of the first state itself is of its own reference.
        if self.first == count.after { None } else { look(count, self.first, worth, worth * share) }
    }
}

/// The state that a spot begins with: a share with bounds that opens it is of the untouched paint beside it; everything else begins at what it found.
pub(crate) fn first_state(opening: &Count) -> &Done {
    if opening.is_measured() { &[] } else { &opening.after }
}

fn look(count: &Count, from: &Done, before: f64, left: f64) -> Option<Look> {
    (before > 0.0).then(|| Look { panel: count.panel, from: from.to_vec(), to: count.after.clone(), before, left })
}

/// Pairs the rows of each spot, in their order, into looks. Haze and deep defects are kept out: they follow laws of their own.
///
/// Counts are survivors of the spot's last count, shares without bounds of its last such share. A share with bounds (a 95 % interval) is
/// measured against the spot's first state every time: it is a look from there to now, worth n defects of which its share is left.
/// k such shares of one spot see the same scratches and divide by the same reference, and would count some of it twice: each is worth
/// n / (1 + (k - 1) / 4), so that however many they are, together they never outweigh four.
#[must_use]
pub fn looks(counts: &[Count]) -> Vec<Look> {
    let mut looks = Vec::new();
    let mut spots: Vec<Spot<'_>> = Vec::new();
    for count in counts.iter().filter(|c| c.kind == Kind::Fine) {
        let known = spots.iter().position(|spot| spot.name == count.spot);
        let at = known.unwrap_or(spots.len());
        if known.is_none() {
            spots.push(Spot::opened_by(count));
        }
        let spot = &mut spots[at];
        let seen = match (count.seen, count.share_between) {
            (Seen::Count(n), _) => spot.count(count, f64::from(n)),
            (Seen::ShareLeft(share), None) => known.and_then(|_| spot.share(count, share)),
            (Seen::ShareLeft(share), Some(between)) => {
                let seen = spot.measured(count, share, between);
                spot.measured.extend(seen.is_some().then_some(looks.len()));
                seen
            }
        };
        looks.extend(seen);
    }
    for spot in spots.iter().filter(|spot| spot.measured.len() > 1) {
        let discount = 1.0 + COMMON * (spot.measured.len() - 1) as f64;
        for &i in &spot.measured {
            looks[i].before /= discount;
            looks[i].left /= discount;
        }
    }
    looks
}

/// Defects that a share with a 95 % interval is worth: the n at which the score interval of a binomial share is as wide as the interval stated.
///
/// Away from 0 and 1 this is share (1 - share) / sd^2; at 0 with an upper bound of h it is 1.96^2 (1 / h - 1). Only the width counts, since a binomial
/// share is skewed as it must be near its ends; bounds that leave the share out are widened to it. An interval from 0 to 1 is worth nothing.
///
/// Source: Wilson, "Probable inference, the law of succession, and statistical inference", J. Am. Stat. Assoc. 22, 1927, solved for n.
fn share_worth(share: f64, [low, high]: [f64; 2]) -> f64 {
    let width2 = (high.max(share) - low.min(share)).clamp(1e-6, 1.0).powi(2);
    let inside = 2.0 * share * (1.0 - share) - width2;
    // (-inside + root) / (1 - width2) is z^2 / n, and the product of both roots is -width2 / (1 - width2).
    let root = (inside * inside + width2 * (1.0 - width2)).sqrt();
    (Z_95 * Z_95 * (inside + root) / width2).clamp(0.0, MOST_SHARE_WORTH)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(spot: &str, after: &[(usize, u32)], seen: Seen, share_between: Option<[f64; 2]>) -> Count {
        Count { spot: spot.into(), panel: 0, after: after.to_vec(), seen, share_between, kind: Kind::Fine, wiped: true }
    }

    fn count(spot: &str, after: &[(usize, u32)], n: u32) -> Count {
        row(spot, after, Seen::Count(n), None)
    }

    fn share(spot: &str, after: &[(usize, u32)], share: f64) -> Count {
        row(spot, after, Seen::ShareLeft(share), None)
    }

    fn photographed(spot: &str, after: &[(usize, u32)], share: f64, low: f64, high: f64) -> Count {
        row(spot, after, Seen::ShareLeft(share), Some([low, high]))
    }

    #[track_caller]
    fn worth(share: f64, low: f64, high: f64, want: f64, tolerance: f64) {
        let got = share_worth(share, [low, high]);
        assert!((got - want).abs() <= tolerance, "{share} ({low} to {high}) is worth {got} and not {want}");
    }

    #[test]
    fn counts_of_a_spot_pair_up_and_new_marks_never_make_survivors() {
        let counts = [count("a", &[], 40), count("b", &[], 50), count("a", &[(0, 1)], 20), count("a", &[(0, 2)], 23)];
        let looks = looks(&counts);
        assert_eq!(looks.len(), 2);
        assert_eq!((looks[0].before, looks[0].left), (40.0, 20.0));
        assert_eq!((looks[1].before, looks[1].left), (20.0, 20.0));
        assert_eq!(looks[1].from, vec![(0, 1)]);
    }

    #[test]
    fn shares_left_are_shares_of_what_was_there_first() {
        let looks = looks(&[share("a", &[], 1.0), share("a", &[(0, 1)], 0.5), share("a", &[(0, 2)], 0.25)]);
        assert_eq!((looks[1].before, looks[1].left), (20.0, 10.0));
    }

    #[test]
    fn a_share_after_a_count_is_of_the_first_state_and_a_count_after_a_share_of_the_last_count() {
        let looks = looks(&[count("a", &[], 40), share("a", &[(0, 1)], 0.5), count("a", &[(0, 2)], 10)]);
        assert_eq!((looks[0].before, looks[0].left, looks[0].from.is_empty()), (20.0, 10.0, true));
        assert_eq!((looks[1].before, looks[1].left, looks[1].from.is_empty()), (40.0, 10.0, true));
    }

    #[test]
    fn a_photograph_is_looked_at_from_the_first_state_every_time() {
        let looks = looks(&[
            share("a", &[], 1.0),
            photographed("a", &[(0, 1)], 0.5, 0.4, 0.6),
            photographed("a", &[(0, 2)], 0.3, 0.2, 0.4),
            count("b", &[], 40),
            photographed("b", &[(0, 1)], 0.5, 0.4, 0.6),
        ]);
        assert_eq!(looks.len(), 3);
        assert!(looks.iter().all(|look| look.from.is_empty()));
        for (look, left) in looks.iter().zip([0.5, 0.3, 0.5]) {
            assert!((look.left / look.before - left).abs() < 1e-12);
        }
        // [D] two of one spot share their reference, and count for 1 / 1.25 each of what one alone counts for
        assert!((looks[2].before / looks[0].before - 1.25).abs() < 1e-12);
    }

    #[test]
    fn a_half_polished_spot_needs_no_row_before_work() {
        let looks = looks(&[photographed("a", &[(0, 2)], 0.14, 0.1, 0.19), share("a", &[(0, 3)], 0.07)]);
        assert_eq!((looks[0].from.len(), looks[0].to.as_slice()), (0, [(0, 2)].as_slice()));
        assert_eq!((looks[1].from.len(), looks[1].before), (0, 20.0));
    }

    #[test]
    fn a_photograph_of_the_first_state_says_nothing_of_depths() {
        assert!(looks(&[photographed("a", &[], 1.0, 0.97, 1.0), photographed("a", &[], 0.98, 0.95, 1.0)]).is_empty());
    }

    #[test]
    fn the_worth_of_a_share_has_the_deviation_that_is_stated() {
        // [D] 0.5 x 0.5 / 0.05^2 = 100, less z^2: half of the score interval of n / 2 of n is 0.5 z / sqrt(n + z^2)
        worth(0.5, 0.5 - 0.098, 0.5 + 0.098, 100.0 - 1.96 * 1.96, 1e-9);
        // [M] from memory of Newcombe, Statistics in Medicine 17, 1998, table I, score intervals to four digits
        worth(81.0 / 263.0, 0.2553, 0.3662, 263.0, 0.6);
        worth(15.0 / 148.0, 0.0624, 0.1605, 148.0, 0.4);
        worth(1.0 / 29.0, 0.0061, 0.1718, 29.0, 0.05);
        worth(0.0, 0.0, 0.1611, 20.0, 0.05);
    }

    #[test]
    fn shares_at_their_ends_are_worth_what_their_one_bound_says() {
        // [D] z^2 (1 / 0.03 - 1) = 124; an exact upper bound of 0.03 on none of n, 0.97^n = 0.025, has n = 121
        worth(0.0, 0.0, 0.03, 1.96 * 1.96 * (1.0 / 0.03 - 1.0), 1e-9);
        worth(1.0, 0.97, 1.0, 1.96 * 1.96 * (1.0 / 0.03 - 1.0), 1e-9);
        assert!((share_worth(0.01, [0.0, 0.05]) - share_worth(0.99, [0.95, 1.0])).abs() < 1e-6);
    }

    #[test]
    fn bounds_that_say_all_or_nothing_keep_their_worth_sane() {
        worth(0.4, 0.0, 1.0, 0.0, 1e-12);
        worth(0.4, 0.4, 0.4, MOST_SHARE_WORTH, 1e-12);
        worth(0.0, 0.0, 0.0, MOST_SHARE_WORTH, 1e-12);
        // bounds that leave the share out reach to it
        assert!((share_worth(0.1, [0.2, 0.3]) - share_worth(0.1, [0.1, 0.3])).abs() < 1e-12);
    }

    #[test]
    fn a_wider_interval_is_never_worth_more() {
        for share in (0..=40).map(|i| f64::from(i) / 40.0) {
            let worth = |step: i32| {
                let reach = f64::from(step) / 40.0;
                share_worth(share, [(share - reach).max(0.0), (share + reach).min(1.0)])
            };
            assert!((1..=40).all(|step| (0.0..=worth(step - 1)).contains(&worth(step))), "{share}");
        }
    }
}
