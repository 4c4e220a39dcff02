//! Least value of a positive definite quadratic over x >= 0.

/// Exchanges after which the search returns what it has; it takes about five, and the line search around it forgives a poor step.
const MOST_EXCHANGES: usize = 100;

/// Exchanges of whole sets without progress before single variables are exchanged, which can't cycle.
/// Kim and Park, "Fast nonnegative matrix factorization: an active-set-like method and comparisons", 2011, take 3.
const PATIENCE: usize = 3;

/// A point x >= 0 that (nearly) minimises x'Ax / 2 - b'x for a symmetric positive definite A of order `b.len()`, row by row.
///
/// Method: block principal pivoting from no bound active (Portugal, Judice and Vicente, "A comparison of block pivoting
/// and interior-point algorithms for linear least squares problems with nonnegative variables", 1994), A scaled to a unit
/// diagonal. Returns `None` when a factor fails.
pub(super) fn least(a: &[f64], b: &[f64]) -> Option<Vec<f64>> {
    let n = b.len();
    let scale: Vec<f64> = (0..n).map(|i| 1.0 / a[i * n + i].sqrt()).collect();
    let scaled = |i: usize, j: usize| a[i * n + j] * scale[i] * scale[j];
    let target: Vec<f64> = (0..n).map(|i| b[i] * scale[i]).collect();
    let mut passive = vec![true; n];
    let mut x = vec![0.0; n];
    let (mut fewest, mut patience) = (n + 1, PATIENCE);
    for _ in 0..MOST_EXCHANGES {
        let chosen: Vec<usize> = (0..n).filter(|&i| passive[i]).collect();
        let solution = solve(&chosen, &scaled, &target)?;
        x.fill(0.0);
        for (&i, value) in chosen.iter().zip(&solution) {
            x[i] = *value;
        }
        let wrong: Vec<usize> = (0..n)
            .filter(|&i| {
                if passive[i] {
                    return x[i] < 0.0;
                }
                let slope: f64 = target[i] - chosen.iter().zip(&solution).map(|(&j, value)| scaled(i, j) * value).sum::<f64>();
                slope > 1e-14 * (1.0 + target[i].abs())
            })
            .collect();
        if wrong.is_empty() {
            break;
        }
        if wrong.len() < fewest {
            (fewest, patience) = (wrong.len(), PATIENCE);
        } else {
            patience = patience.saturating_sub(1);
        }
        let exchanged = if patience > 0 { &wrong[..] } else { &wrong[wrong.len() - 1..] };
        for &i in exchanged {
            passive[i] = !passive[i];
        }
    }
    Some(x.iter().zip(&scale).map(|(value, s)| value.max(0.0) * s).collect())
}

/// Solution of the chosen rows and columns by Cholesky's factors.
fn solve(chosen: &[usize], a: &impl Fn(usize, usize) -> f64, b: &[f64]) -> Option<Vec<f64>> {
    let n = chosen.len();
    let mut factor = vec![0.0; n * n];
    let mut x: Vec<f64> = chosen.iter().map(|&i| b[i]).collect();
    for i in 0..n {
        for j in 0..=i {
            let (upper, lower) = factor.split_at(i * n);
            let row = &lower[..i];
            let rest = a(chosen[i], chosen[j]);
            if i == j {
                let pivot = rest - dot(row, row);
                if pivot <= 0.0 || pivot.is_nan() {
                    return None;
                }
                factor[i * n + i] = pivot.sqrt();
            } else {
                let above = &upper[j * n..j * n + j];
                factor[i * n + j] = (rest - dot(&row[..j], above)) / upper[j * n + j];
            }
        }
        x[i] = (x[i] - dot(&factor[i * n..i * n + i], &x[..i])) / factor[i * n + i];
    }
    for i in (0..n).rev() {
        x[i] /= factor[i * n + i];
        let value = x[i];
        for j in 0..i {
            x[j] -= factor[i * n + j] * value;
        }
    }
    Some(x)
}

/// Eight running sums, so that the additions need not wait for each other.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 8];
    let (a8, b8) = (a.chunks_exact(8), b.chunks_exact(8));
    let rest: f64 = a8.remainder().iter().zip(b8.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a8.zip(b8) {
        for k in 0..8 {
            sums[k] += x[k] * y[k];
        }
    }
    rest + sums.iter().sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_deconvolution_with_bounds_has_its_known_answer() {
        // least squares of tridiag(.25, .5, .25) t = (1, 0, 3, 0, 1) over t >= 0 [C]
        let rows: Vec<[f64; 5]> =
            (0..5_i32).map(|i| [0, 1, 2, 3, 4].map(|j: i32| [0.5, 0.25, 0.0, 0.0, 0.0][i.abs_diff(j) as usize])).collect();
        let target = [1.0, 0.0, 3.0, 0.0, 1.0];
        let a: Vec<f64> =
            (0..5).flat_map(|i| (0..5).map(move |j| (i, j))).map(|(i, j)| rows.iter().map(|row| row[i] * row[j]).sum()).collect();
        let b: Vec<f64> = (0..5).map(|i| rows.iter().zip(target).map(|(row, r)| row[i] * r).sum()).collect();
        let x = least(&a, &b).unwrap();
        for (got, want) in x.iter().zip([0.857_142_857_142_857, 0.0, 3.714_285_714_285_714, 0.0, 0.857_142_857_142_857]) {
            assert!((got - want).abs() < 1e-13, "{x:?}");
        }
    }

    #[test]
    fn a_matrix_without_factors_has_no_answer() {
        assert_eq!(least(&[1.0, 2.0, 2.0, 1.0], &[1.0, 1.0]), None);
    }
}
