//! Cholesky factors of small symmetric positive definite matrices.
//!
//! Thousands of matrices of 5 to 80 rows are factored for one plan, between draws and without allocation; for that size the textbook
//! loops over slices are as fast as a library's blocked code. Large matrices belong to a linear algebra library.

/// The matrix was not positive definite: the pivot at this row was not positive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the matrix is not positive definite at row {row}")]
pub struct NotPositiveDefinite {
    /// Row of the first pivot that was not positive.
    pub row: usize,
}

/// The lower factor L of A = L L', row by row.
#[derive(Clone, Debug)]
pub struct Cholesky {
    n: usize,
    lower: Vec<f64>,
}

impl Cholesky {
    /// Factors the `n` x `n` matrix `a` (row-major; only its lower triangle is read), in place of it.
    ///
    /// Golub & Van Loan, Matrix Computations, 4th ed., algorithm 4.2.1 by rows.
    ///
    /// # Errors
    /// [`NotPositiveDefinite`] when a pivot is not positive or not finite.
    pub fn factor(n: usize, mut a: Vec<f64>) -> Result<Self, NotPositiveDefinite> {
        for i in 0..n {
            let (above, rest) = a.split_at_mut(i * n);
            let row = &mut rest[..=i];
            for j in 0..i {
                let other = &above[j * n..=j * n + j];
                let sum: f64 = dot(&row[..j], &other[..j]);
                row[j] = (row[j] - sum) / other[j];
            }
            let pivot = row[i] - dot(&row[..i], &row[..i]);
            if !(pivot > 0.0 && pivot.is_finite()) {
                return Err(NotPositiveDefinite { row: i });
            }
            row[i] = pivot.sqrt();
        }
        Ok(Self { n, lower: a })
    }

    /// Number of rows.
    #[must_use]
    pub const fn size(&self) -> usize {
        self.n
    }

    /// Natural logarithm of the determinant of A.
    #[must_use]
    pub fn log_determinant(&self) -> f64 {
        (0..self.n).map(|i| self.lower[i * self.n + i].ln()).sum::<f64>() * 2.0
    }

    /// Replaces `b` by L^-1 b.
    pub fn solve_lower(&self, b: &mut [f64]) {
        for i in 0..self.n {
            let row = &self.lower[i * self.n..=i * self.n + i];
            b[i] = (b[i] - dot(&row[..i], &b[..i])) / row[i];
        }
    }

    /// Replaces `b` by L'^-1 b.
    pub fn solve_upper(&self, b: &mut [f64]) {
        for i in (0..self.n).rev() {
            let row = &self.lower[i * self.n..=i * self.n + i];
            b[i] /= row[i];
            let x = b[i];
            for (value, l) in b[..i].iter_mut().zip(row) {
                *value -= x * l;
            }
        }
    }

    /// Replaces `b` by A^-1 b.
    pub fn solve(&self, b: &mut [f64]) {
        self.solve_lower(b);
        self.solve_upper(b);
    }

    /// A^-1, row-major.
    #[must_use]
    pub fn inverse(&self) -> Vec<f64> {
        let n = self.n;
        let mut inverse = vec![0.0; n * n];
        for i in 0..n {
            let column = &mut inverse[i * n..(i + 1) * n];
            column[i] = 1.0;
            self.solve(column);
        }
        inverse
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_worked_factor_is_reproduced() {
        // [D] [[4, 2], [2, 10]] = [[2, 0], [1, 3]] [[2, 1], [0, 3]]
        let factor = Cholesky::factor(2, vec![4.0, 2.0, 2.0, 10.0]).unwrap();
        for (entry, expected) in [(0, 2.0), (2, 1.0), (3, 3.0)] {
            assert!((factor.lower[entry] - expected).abs() < 1e-15);
        }
        assert!((factor.log_determinant() - 36f64.ln()).abs() < 1e-15);
        let mut b = vec![8.0, 22.0];
        factor.solve(&mut b);
        assert!((b[0] - 1.0).abs() < 1e-15 && (b[1] - 2.0).abs() < 1e-15);
        let inverse = factor.inverse();
        assert!((inverse[0] - 10.0 / 36.0).abs() < 1e-15 && (inverse[1] + 2.0 / 36.0).abs() < 1e-15);
    }

    #[test]
    fn an_indefinite_matrix_is_refused_with_its_row() {
        assert_eq!(Cholesky::factor(2, vec![1.0, 2.0, 2.0, 1.0]).unwrap_err(), NotPositiveDefinite { row: 1 });
        assert_eq!(Cholesky::factor(1, vec![f64::NAN]).unwrap_err(), NotPositiveDefinite { row: 0 });
    }
}
