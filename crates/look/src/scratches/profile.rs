//! What one line adds to a filter's responses: two functions of one number.
//!
//! A response of a line of peak y, seen by a filter that measures the second derivative across, is y (1 - z^2) exp(-z^2 / 2) at a distance of z widths. Lines that lie at random
//! change the logarithm of the responses' characteristic function by the integral of exp(i y h(z)) - 1 over all distances: shot noise. Source: Campbell's theorem, as in Rice, "Mathematical
//! analysis of random noise", Bell System Technical Journal 23 (1944), 282-332, section 1.5.

use std::sync::LazyLock;

use num_complex::Complex64;

/// A function on nodes whose logarithms are evenly spaced, linear between them. Below the first its real part goes as the square of the number and its imaginary part as the cube: a filter
/// without response to a constant has no first moment. Beyond the last it is constant.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct LogTable {
    first: f64,
    step: f64,
    values: Vec<Complex64>,
}

impl LogTable {
    /// Tabulates `f` from `first` to `last`.
    pub(crate) fn of(first: f64, last: f64, count: usize, f: impl Fn(f64) -> Complex64) -> Self {
        let step = (last / first).ln() / (count - 1) as f64;
        let values = (0..count).map(|at| f((first.ln() + at as f64 * step).exp())).collect();
        Self { first: first.ln(), step, values }
    }

    /// The table between this one and another of the same nodes.
    pub(crate) fn towards(&self, other: &Self, share: f64) -> Self {
        let values = self.values.iter().zip(&other.values).map(|(a, b)| a * (1.0 - share) + b * share).collect();
        Self { values, ..*self }
    }

    /// The value at `y`, whose logarithm is `log`.
    #[inline]
    pub(crate) fn at_log(&self, log: f64) -> Complex64 {
        let place = (log - self.first) / self.step;
        if place < 0.0 {
            let square = (2.0 * (log - self.first)).exp();
            let least = self.values[0];
            return Complex64::new(least.re * square, least.im * square * square.sqrt());
        }
        let at = (place as usize).min(self.values.len() - 2);
        let share = (place - at as f64).min(1.0);
        self.values[at] * (1.0 - share) + self.values[at + 1] * share
    }

    /// The value at `y`; 0 at 0.
    #[inline]
    pub(crate) fn at(&self, y: f64) -> Complex64 {
        if y > 0.0 { self.at_log(y.ln()) } else { Complex64::new(0.0, 0.0) }
    }
}

/// Peaks from which on and up to which the functions are tabulated. Below, their powers hold to 1e-6; beyond, a line is as bright as can be.
const LEAST: f64 = 1e-3;
const MOST: f64 = 3e3;
const NODES: usize = 400;

/// The integral over z of exp(i y (1 - z^2) exp(-z^2 / 2)) - 1, as a function of y.
pub(crate) fn line() -> &'static LogTable {
    static LINE: LazyLock<LogTable> = LazyLock::new(tabulated_line);
    &LINE
}

fn tabulated_line() -> LogTable {
    LogTable::of(LEAST, MOST, NODES, |y| {
        // Enough steps that the phase turns little from one to the next, up to where the sum no longer matters to what is not resolved.
        let count = (400.0 + 6.0 * y).min(6000.0) as usize;
        let step = 7.0 / count as f64;
        let value = |z: f64| {
            let phase = y * (1.0 - z * z) * (-0.5 * z * z).exp();
            // The first moment is 0, which a sum would only nearly be.
            Complex64::new(phase.cos() - 1.0, phase.sin() - phase)
        };
        let inner: Complex64 = (1..count).map(|at| value(at as f64 * step)).sum();
        (inner + value(0.0) * 0.5 + value(7.0) * 0.5) * 2.0 * step
    })
}

/// Four times the integral over a, c > 0 of cos(y a exp(-a^2 / 2 - c^2 / 2)) - 1, as a function of y: a line's end seen by a filter along it, whose response is odd in the
/// distance from the end.
pub(crate) fn end() -> &'static LogTable {
    static END: LazyLock<LogTable> = LazyLock::new(tabulated_end);
    &END
}

fn tabulated_end() -> LogTable {
    let nodes = |most: f64, count: usize| (0..count).map(move |at| (at as f64 + 0.5) * most / count as f64);
    let (a_count, c_count) = (60, 40);
    let peaks: Vec<f64> = nodes(4.5, a_count).flat_map(|a| nodes(4.0, c_count).map(move |c| a * (-0.5 * (a * a + c * c)).exp())).collect();
    let cell = 4.5 / a_count as f64 * 4.0 / c_count as f64;
    LogTable::of(LEAST, MOST, NODES, |y| Complex64::new(4.0 * cell * peaks.iter().map(|peak| (y * peak).cos() - 1.0).sum::<f64>(), 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_peaks_add_their_second_and_third_moments() {
        // [D] The integral of h^2 is 3/4 sqrt(pi); that of h^3 follows from Gaussian moments with variance 1/3: sqrt(2 pi / 3) (1 - 3/3 + 3 * 3/9 - 15/27).
        let second = 0.75 * std::f64::consts::PI.sqrt();
        let third = (std::f64::consts::TAU / 3.0).sqrt() * (1.0 - 1.0 + 1.0 - 15.0 / 27.0);
        for y in [1e-5, 1e-3, 1e-2] {
            let value = line().at(y);
            assert!((value.re / (-0.5 * second * y * y) - 1.0).abs() < 2e-3, "{y} {value}");
            assert!((value.im / (-third * y.powi(3) / 6.0) - 1.0).abs() < 2e-3, "{y} {value}");
        }
    }

    #[test]
    fn ends_add_their_second_moment() {
        // [D] Four times the integral of a^2 exp(-a^2) exp(-c^2) over the quadrant is 4 (sqrt(pi) / 4) (sqrt(pi) / 2) = pi / 2.
        let value = end().at(1e-2);
        assert!((value.re / (-0.5 * 1e-4 * std::f64::consts::FRAC_PI_2) - 1.0).abs() < 2e-3, "{value}");
    }

    #[test]
    fn the_brightest_lines_take_out_a_band_that_widens_slowly() {
        let table = line();
        // [D] All within |h| > 1 / y is taken out: a band of about 2 sqrt(2 ln y), and stationary phases add or take sqrt(2 pi / 3 y).
        let widths: Vec<f64> = [100.0, 1000.0, 3000.0].iter().map(|y| -table.at(*y).re).collect();
        assert!(widths.windows(2).all(|pair| pair[0] < pair[1]) && widths[0] > 6.0 && widths[2] < 11.0, "{widths:?}");
        assert!((table.at(1e9) - table.at(MOST)).norm() < 1e-12 && table.at(0.0).norm() == 0.0);
    }
}
