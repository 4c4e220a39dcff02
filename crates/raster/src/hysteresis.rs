//! Pixels above a low threshold, where they hang together with one above a high threshold.

use crate::mask::{BITS, Mask, to_the_left, to_the_right};
use crate::plane::Plane;

/// The pixels above `low` that are joined to one above `high` by pixels above `low`, side by side or corner to corner.
///
/// Method: Canny, "A computational approach to edge detection", IEEE Transactions on Pattern Analysis and Machine Intelligence 8 (1986), 679-698 \[M\].
/// Pixels are neighbours in all eight directions, as those of a skeleton are; scikit-image's `apply_hysteresis_threshold` (version 0.26) knows the four
/// sides only, and breaks a line one pixel wide that runs aslant. A `low` above `high` is taken as `high`, as there. No NaN is above a threshold.
#[must_use]
pub fn hysteresis(plane: &Plane, low: f32, high: f32) -> Mask {
    let mut mask = Mask::above(plane, high);
    // Every pixel above both: also where `low` is greater, or NaN.
    let mut allowed = Mask::above(plane, low);
    for (allowed, seeds) in allowed.rows_mut().zip(mask.rows()) {
        allowed.iter_mut().zip(seeds).for_each(|(allowed, seeds)| *allowed |= seeds);
    }
    let stride = mask.across() + 2;
    let (mut kept, allowed) = (mask.padded(), allowed.padded());
    let last = mask.height();
    // Down and up in turn until nothing is added, over the rows beside which something was.
    let mut due = vec![true; last + 2];
    let mut is_changed = true;
    while is_changed {
        is_changed = false;
        for y in (1..=last).chain((1..=last).rev()) {
            if std::mem::take(&mut due[y]) && grow(&mut kept, &allowed, stride, y) {
                (due[y - 1], due[y + 1], is_changed) = (true, true, true);
            }
        }
    }
    mask.take_padded(&kept);
    mask
}

/// Adds to row `y` what is allowed and joined to its own pixels or to those of the rows above and below. Says whether that was any.
fn grow(kept: &mut [u64], allowed: &[u64], stride: usize, y: usize) -> bool {
    let (above, rest) = kept[(y - 1) * stride..(y + 2) * stride].split_at_mut(stride);
    let (row, below) = rest.split_at_mut(stride);
    let allowed = &allowed[y * stride..(y + 1) * stride];
    let mut is_changed = false;
    for at in (1..stride - 1).filter(|at| allowed[*at] != 0) {
        let beside = |row: &[u64]| row[at] | to_the_left(row[at - 1], row[at]) | to_the_right(row[at], row[at + 1]);
        let seeds = (row[at] | beside(above) | beside(below) | row[at - 1] >> (BITS - 1)) & allowed[at];
        is_changed |= fill(&mut row[at], seeds, allowed[at]);
    }
    // From the right to the left: only what runs over from one word to another is left to do.
    for at in (1..stride - 1).rev() {
        let seeds = row[at + 1] << (BITS - 1) & allowed[at];
        if seeds & !row[at] != 0 {
            is_changed |= fill(&mut row[at], seeds, allowed[at]);
        }
    }
    is_changed
}

/// Adds the whole runs of `allowed` in which there is a seed.
fn fill(word: &mut u64, seeds: u64, allowed: u64) -> bool {
    let before = *word;
    let (mut up, mut down) = (seeds | before, seeds | before);
    let (mut way_up, mut way_down) = (allowed, allowed);
    for shift in [1, 2, 4, 8, 16, 32] {
        up |= way_up & up << shift;
        down |= way_down & down >> shift;
        way_up &= way_up << shift;
        way_down &= way_down >> shift;
    }
    *word = up | down;
    *word != before
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// \[D\] the definition: neighbours of kept pixels are added one by one.
    fn one_by_one(plane: &Plane, low: f32, high: f32) -> Mask {
        let mut mask = Mask::above(plane, high);
        let mut left: Vec<(usize, usize)> = mask.iter().collect();
        while let Some((x, y)) = left.pop() {
            for (x, y) in (x.saturating_sub(1)..x + 2).flat_map(|x| (y.saturating_sub(1)..y + 2).map(move |y| (x, y))) {
                if plane.get(x, y).is_some_and(|value| value > low.min(high)) && !mask.get(x, y) {
                    mask.insert(x, y);
                    left.push((x, y));
                }
            }
        }
        mask
    }

    proptest! {
        #[test]
        fn what_is_kept_is_what_is_joined((width, height) in (1..150usize, 1..40usize), seed in any::<u32>(), low in 100..200u32) {
            let value = |at: usize| match (at as u32).wrapping_add(seed).wrapping_mul(2_654_435_761) >> 24 {
                255 => f32::NAN,
                value => value as f32,
            };
            let plane = Plane::new(width, height, (0..width * height).map(value).collect()).unwrap();
            let low = low as f32;
            prop_assert_eq!(hysteresis(&plane, low, 252.0), one_by_one(&plane, low, 252.0));
        }
    }

    #[test]
    fn a_spiral_is_followed_to_its_end() {
        let size = 131;
        let mut plane = Plane::filled(size, size, 0.0).unwrap();
        let (mut x, mut y, mut length, mut steps) = (0_usize, 0_usize, size - 1, 0);
        for turn in 0.. {
            for _ in 0..length {
                plane.row_mut(y)[x] = 1.0;
                steps += 1;
                match turn % 4 {
                    0 => x += 1,
                    1 => y += 1,
                    2 => x -= 1,
                    _ => y -= 1,
                }
            }
            if turn > 1 && turn % 2 == 0 {
                length -= 2;
            }
            if length == 0 {
                break;
            }
        }
        plane.row_mut(0)[0] = 2.0;
        assert_eq!(hysteresis(&plane, 0.5, 1.5).count(), plane.values().iter().filter(|value| **value > 0.0).count());
        assert!(steps > 8000);
    }

    #[test]
    fn a_low_threshold_above_the_high_one_is_the_high_one() {
        let plane = Plane::new(3, 1, vec![1.0, 3.0, 1.0]).unwrap();
        assert_eq!(hysteresis(&plane, 5.0, 2.0).count(), 1);
        assert_eq!(hysteresis(&plane, f32::NAN, 2.0).count(), 1);
        assert_eq!(hysteresis(&plane, 0.0, f32::NAN).count(), 0);
        assert_eq!(hysteresis(&plane, 0.5, 2.0).count(), 3);
    }
}
