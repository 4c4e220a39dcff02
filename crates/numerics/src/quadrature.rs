//! Integrals of smooth functions over an interval: Gauss and Legendre's rule.

use std::f64::consts::PI;

/// A rule of so many nodes, exact for polynomials of up to twice their number less one.
///
/// Method: nodes are the roots of the Legendre polynomial by Newton's method. Source: Golub and Welsch, "Calculation of Gauss quadrature
/// rules", 1969, gives the rule; Abramowitz and Stegun, "Handbook of Mathematical Functions", 1964, 25.4.29, its weights.
#[derive(Clone, Debug, PartialEq)]
pub struct Rule {
    /// Node on -1 to 1, and its weight.
    nodes: Vec<[f64; 2]>,
}

impl Rule {
    /// The rule of `count` nodes; at least one.
    #[must_use]
    pub fn of(count: usize) -> Self {
        let count = count.max(1);
        Self { nodes: (0..count).map(|i| node(i, count)).collect() }
    }

    /// Nodes between -1 and 1 and their weights, which sum to 2.
    #[must_use]
    pub fn nodes(&self) -> &[[f64; 2]] {
        &self.nodes
    }

    /// The integral of `f` between `from` and `to`; negative when `to` is the smaller.
    ///
    /// ```
    /// use lastmicron_numerics::quadrature::Rule;
    /// assert!((Rule::of(4).integral(0.0, 2.0, |x| x * x * x) - 4.0).abs() < 1e-14);
    /// ```
    pub fn integral(&self, from: f64, to: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
        let (half, middle) = (0.5 * (to - from), 0.5 * (to + from));
        half * self.nodes.iter().map(|[x, weight]| weight * f(middle + half * x)).sum::<f64>()
    }
}

/// Newton's steps from the usual start. Judgement: six double the digits from three to more than a double holds.
const STEPS: usize = 6;

#[expect(clippy::cast_precision_loss, reason = "a rule has few nodes")]
fn node(i: usize, count: usize) -> [f64; 2] {
    let n = count as f64;
    let mut x = (PI * (i as f64 + 0.75) / (n + 0.5)).cos();
    let mut slope = 1.0;
    for _ in 0..STEPS {
        let (mut before, mut value) = (1.0, x);
        for k in 2..=count {
            let k = k as f64;
            (before, value) = (value, ((2.0 * k - 1.0) * x * value - (k - 1.0) * before) / k);
        }
        slope = n * (before - x * value) / (1.0 - x * x);
        x -= value / slope;
    }
    [x, 2.0 / ((1.0 - x * x) * slope * slope)]
}

#[cfg(test)]
mod tests {
    use super::*;

    use proptest::prelude::*;

    #[test]
    fn the_rule_of_five_has_its_published_nodes_and_weights() {
        // [M] from memory of Abramowitz and Stegun, table 25.4
        let table =
            [(0.906_179_845_938_664, 0.236_926_885_056_189), (0.538_469_310_105_683, 0.478_628_670_499_366), (0.0, 0.568_888_888_888_889)];
        for ([x, weight], (wanted_x, wanted_weight)) in Rule::of(5).nodes.iter().zip(table) {
            assert!((x - wanted_x).abs() < 1e-14 && (weight - wanted_weight).abs() < 1e-14, "{x} {weight}");
        }
    }

    #[test]
    fn a_smooth_function_is_integrated_to_the_last_digits() {
        // [D] the integral of exp from -1 to 2
        let wanted = 2f64.exp() - (-1f64).exp();
        assert!((Rule::of(16).integral(-1.0, 2.0, f64::exp) - wanted).abs() < 1e-14);
        assert!((Rule::of(16).integral(2.0, -1.0, f64::exp) + wanted).abs() < 1e-14);
        assert!((Rule::of(0).integral(0.0, 3.0, |_| 2.0) - 6.0).abs() < 1e-14);
    }

    proptest! {
        #[test]
        fn powers_up_to_twice_the_nodes_less_one_are_exact(count in 1..40usize) {
            let power = i32::try_from(2 * count - 1).unwrap();
            let wanted = 1.0 / f64::from(power + 1);
            let got = Rule::of(count).integral(0.0, 1.0, |x| x.powi(power));
            prop_assert!((got - wanted).abs() < 1e-13, "{count}: {got} {wanted}");
        }
    }
}
