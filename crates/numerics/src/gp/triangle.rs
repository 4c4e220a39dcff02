//! Lower triangular factors of hundreds of rows, with loops that use the machine's vectors.

use crate::wide::wide;

/// The lower factor L of a symmetric positive definite matrix A = L L', row by row.
#[derive(Clone, Debug)]
pub(crate) struct Triangle {
    n: usize,
    rows: Vec<f64>,
}

impl Triangle {
    /// Factors the `n` x `n` matrix `a` (row-major, only its lower triangle is read), or gives the row whose pivot was not positive.
    ///
    /// Golub & Van Loan, Matrix Computations, 4th ed., section 4.2.5, by rows.
    pub(crate) fn factor(n: usize, mut a: Vec<f64>) -> Result<Self, usize> {
        match factor_in_place(n, &mut a) {
            Some(row) => Err(row),
            None => Ok(Self { n, rows: a }),
        }
    }

    /// The factor of a matrix of nothing.
    pub(crate) fn nothing(n: usize) -> Self {
        Self { n, rows: vec![0.0; n * n] }
    }

    /// Row `i`, as far as the diagonal.
    pub(crate) fn row(&self, i: usize) -> &[f64] {
        &self.rows[i * self.n..i * self.n + i + 1]
    }

    pub(crate) const fn size(&self) -> usize {
        self.n
    }

    /// Natural logarithm of the determinant of A.
    pub(crate) fn log_determinant(&self) -> f64 {
        2.0 * (0..self.n).map(|i| self.rows[i * self.n + i].ln()).sum::<f64>()
    }

    /// L^-1, by forward substitution on whole rows.
    pub(crate) fn inverse(&self) -> Self {
        let n = self.n;
        let mut rows = vec![0.0; n * n];
        invert(self, &mut rows);
        Self { n, rows }
    }

    /// L' L of this triangle, lower half, row-major: A^-1 when this is the inverse of A's factor.
    pub(crate) fn square(&self) -> Vec<f64> {
        let n = self.n;
        let mut square = vec![0.0; n * n];
        add_square(self, &mut square);
        square
    }

    /// L b.
    pub(crate) fn times(&self, b: &[f64]) -> Vec<f64> {
        (0..self.n).map(|i| self.row(i).iter().zip(b).map(|(l, b)| l * b).sum()).collect()
    }

    /// L' b.
    pub(crate) fn transposed_times(&self, b: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; self.n];
        for (i, b) in b.iter().enumerate().take(self.n) {
            add_multiple(&mut out[..=i], self.row(i), *b);
        }
        out
    }
}

wide! {
    /// Puts the factor in the place of the lower triangle, or gives the row whose pivot was not positive.
    fn factor_in_place<'a>(n: usize, a: &'a mut [f64]) -> Option<usize> {
        for i in 0..n {
            let (above, rest) = a.split_at_mut(i * n);
            let row = &mut rest[..=i];
            let diagonal = row[i];
            for (j, other) in above.chunks_exact(n).enumerate() {
                row[j] = (row[j] - dot(&row[..j], &other[..j])) / other[j];
            }
            let pivot = diagonal - dot(&row[..i], &row[..i]);
            // A pivot that is rounding alone is no pivot: what is left of the diagonal must stand clear of its last digits.
            if !(pivot > diagonal * f64::EPSILON && pivot.is_finite()) {
                return Some(i);
            }
            row[i] = pivot.sqrt();
        }
        None
    }
}

wide! {
    fn invert<'a>(triangle: &'a Triangle, rows: &'a mut [f64]) -> () {
        let n = triangle.n;
        for i in 0..n {
            let (above, rest) = rows.split_at_mut(i * n);
            let row = &mut rest[..=i];
            add_rows(row, triangle.row(i), above, n);
            let pivot = triangle.rows[i * n + i];
            row.iter_mut().for_each(|value| *value /= -pivot);
            row[i] = 1.0 / pivot;
        }
    }
}

wide! {
    fn add_square<'a>(triangle: &'a Triangle, square: &'a mut [f64]) -> () {
        let n = triangle.n;
        for k in 0..n {
            let row = triangle.row(k);
            for (value, target) in row.iter().zip(square.chunks_exact_mut(n)) {
                add_multiple(&mut target[..=k], row, *value);
            }
        }
    }
}

/// Adds the first rows of `above` (each `n` wide, row k filled as far as its diagonal), times the factors of `by`, to `row`.
#[inline(always)]
fn add_rows(row: &mut [f64], by: &[f64], above: &[f64], n: usize) {
    for (k, (other, factor)) in above.chunks_exact(n).zip(by).enumerate() {
        add_multiple(&mut row[..=k], &other[..=k], *factor);
    }
}

#[inline(always)]
fn add_multiple(to: &mut [f64], from: &[f64], factor: f64) {
    for (to, from) in to.iter_mut().zip(from) {
        *to = from.mul_add(factor, *to);
    }
}

/// Sum of products, in a fixed number of interleaved partial sums so that the order, and the result, is the same on every machine.
#[inline(always)]
fn dot(a: &[f64], b: &[f64]) -> f64 {
    const LANES: usize = 32;
    let (a_chunks, a_rest) = a.as_chunks::<LANES>();
    let (b_chunks, b_rest) = b.as_chunks::<LANES>();
    let mut sums = [0.0; LANES];
    for (a, b) in a_chunks.iter().zip(b_chunks) {
        for ((sum, a), b) in sums.iter_mut().zip(a).zip(b) {
            *sum = a.mul_add(*b, *sum);
        }
    }
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(a, b)| a * b).sum();
    sums.iter().sum::<f64>() + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lehmer(n: usize) -> Vec<f64> {
        (0..n * n).map(|at| (((at / n).min(at % n) + 1) as f64) / (((at / n).max(at % n) + 1) as f64)).collect()
    }

    #[test]
    fn a_worked_factor_is_reproduced() {
        // [D] [[4, 2], [2, 10]] = [[2, 0], [1, 3]] [[2, 1], [0, 3]]; its inverse is [[10, -2], [-2, 4]] / 36
        let triangle = Triangle::factor(2, vec![4.0, 2.0, 2.0, 10.0]).unwrap();
        assert_eq!((triangle.row(0), triangle.row(1)), (&[2.0][..], &[1.0, 3.0][..]));
        assert!((triangle.log_determinant() - 36f64.ln()).abs() < 1e-15);
        let inverse = triangle.inverse().square();
        for (got, want) in [inverse[0], inverse[2], inverse[3]].into_iter().zip([10.0, -2.0, 4.0]) {
            assert!((got - want / 36.0).abs() < 1e-15);
        }
    }

    #[test]
    fn the_inverse_of_lehmers_matrix_has_three_diagonals() {
        // [M] Lehmer's matrix min(i, j) / max(i, j): its inverse is tridiagonal, with -i (i + 1) / (2 i + 1) beside the diagonal.
        let n = 70;
        let triangle = Triangle::factor(n, lehmer(n)).unwrap();
        let inverse = triangle.inverse().square();
        for i in 1..n {
            let k = i as f64;
            assert!((inverse[i * n + i - 1] + k * (k + 1.0) / (2.0 * k + 1.0)).abs() < 1e-10);
            assert!(inverse[i * n..i * n + i - 1].iter().all(|value| value.abs() < 1e-10));
        }
        let b: Vec<f64> = (0..n).map(|i| (i as f64).sin()).collect();
        let back = triangle.times(&triangle.inverse().times(&b));
        assert!(back.iter().zip(&b).all(|(back, b)| (back - b).abs() < 1e-12));
        let by_transpose = triangle.inverse().transposed_times(&triangle.inverse().times(&b));
        let by_square: f64 = (0..n).map(|j| inverse[(n - 1) * n + j] * b[j]).sum();
        assert!((by_transpose[n - 1] - by_square).abs() < 1e-10);
    }

    #[test]
    fn a_matrix_that_is_not_positive_definite_is_refused_with_its_row() {
        assert_eq!(Triangle::factor(2, vec![1.0, 2.0, 2.0, 1.0]).unwrap_err(), 1);
        assert_eq!(Triangle::factor(2, vec![1.0, 1.0, 1.0, 1.0]).unwrap_err(), 1);
        assert_eq!(Triangle::factor(1, vec![f64::NAN]).unwrap_err(), 0);
    }
}
