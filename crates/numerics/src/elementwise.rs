//! Sums, minima and comparisons of long rows, element by element, in single precision.

use crate::wide::wide;

/// Adds to `to` the sum of `rows` (each as long as `to`, one after the other) times their `weights`, in single precision.
///
/// Rows or weights in excess of the other are left out.
pub fn add_combination(to: &mut [f32], weights: &[f32], rows: &[f32]) {
    if !to.is_empty() {
        let count = weights.len().min(rows.len() / to.len());
        add(to, &weights[..count], &rows[..count * to.len()]);
    }
}

wide! {
    fn add<'a>(to: &'a mut [f32], weights: &'a [f32], rows: &'a [f32]) -> () {
        let n = to.len();
        // Four rows in one pass: each value is then read and written a quarter as often.
        let (fours, rest) = weights.as_chunks::<4>();
        let mut blocks = rows.chunks_exact(4 * n);
        for (&[a, b, c, d], block) in fours.iter().zip(&mut blocks) {
            let (front, back) = block.split_at(2 * n);
            let ((first, second), (third, fourth)) = (front.split_at(n), back.split_at(n));
            let four = first.iter().zip(second).zip(third.iter().zip(fourth));
            for (value, ((p, q), (r, s))) in to.iter_mut().zip(four) {
                *value += (a * p + b * q) + (c * r + d * s);
            }
        }
        for (weight, row) in rest.iter().zip(blocks.remainder().chunks_exact(n)) {
            for (value, v) in to.iter_mut().zip(row) {
                *value += weight * v;
            }
        }
    }
}

/// Replaces each value of `to` by that of `row` where that is less. A NaN in `row` is passed over. What one has in excess of the other is left out.
pub fn lower_to(to: &mut [f32], row: &[f32]) {
    lower(to, row);
}

wide! {
    fn lower<'a>(to: &'a mut [f32], row: &'a [f32]) -> () {
        for (value, v) in to.iter_mut().zip(row) {
            *value = if *v < *value { *v } else { *value };
        }
    }
}

/// Number of places where `a` is more than `b`; none where either is NaN. What one has in excess of the other is left out.
#[must_use]
pub fn count_greater(a: &[f32], b: &[f32]) -> usize {
    greater(a, b)
}

wide! {
    fn greater<'a>(a: &'a [f32], b: &'a [f32]) -> usize {
        // In blocks that a byte can count: so it vectorises.
        let mut all = 0;
        for (a, b) in a.chunks(128).zip(b.chunks(128)) {
            let mut count = 0_u8;
            for (x, y) in a.iter().zip(b) {
                count += u8::from(x > y);
            }
            all += usize::from(count);
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Values of either sign, some NaN, some alike.
    fn some(count: usize, seed: u32) -> Vec<f32> {
        let value = |i: usize| (i as u32).wrapping_mul(2_654_435_761).wrapping_add(seed) % 41;
        (0..count).map(|i| if value(i) == 40 { f32::NAN } else { value(i) as f32 - 20.0 }).collect()
    }

    proptest! {
        #[test]
        fn lower_values_replace_higher_ones(n in 0..300usize, seed in 0..1000u32) {
            let (mut to, row) = (vec![3.0; n], some(n, seed));
            lower_to(&mut to, &row);
            let expected = |v: &f32| if *v < 3.0 { *v } else { 3.0 };
            prop_assert_eq!(to, row.iter().map(expected).collect::<Vec<f32>>());
        }

        #[test]
        fn greater_values_are_counted_one_by_one(n in 0..600usize, seed in 0..1000u32) {
            let (a, b) = (some(n, seed), some(n, seed ^ 77));
            prop_assert_eq!(count_greater(&a, &b), a.iter().zip(&b).filter(|(x, y)| x > y).count());
        }

        #[test]
        fn rows_are_added_with_their_weights(n in 1..70usize, count in 0..11usize, more in 0..6usize, fewer in 0..6usize, seed in 0..1000u32) {
            let value = |i: usize| ((i as u32).wrapping_mul(2_654_435_761).wrapping_add(seed) % 1000) as f32 / 500.0 - 1.0;
            // Rows in excess of weights, or weights in excess of rows.
            let rows: Vec<f32> = (0..(count + more) * n).map(value).collect();
            let weights: Vec<f32> = (0..count + if more == 0 { fewer } else { 0 }).map(|i| value(i + 7)).collect();
            let mut to: Vec<f32> = (0..n).map(|i| value(i + 31)).collect();
            let expected: Vec<f64> = (0..n)
                .map(|j| f64::from(to[j]) + (0..count).map(|i| f64::from(weights[i]) * f64::from(rows[i * n + j])).sum::<f64>())
                .collect();
            add_combination(&mut to, &weights, &rows);
            for (sum, expected) in to.iter().zip(expected) {
                prop_assert!((f64::from(*sum) - expected).abs() < 1e-5);
            }
        }
    }
}
