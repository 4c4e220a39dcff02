//! Two crossed factors with repeats.

use super::{AnovaError, Squares, at_least, finite, mean_about, number};

/// Analysis of variance of two crossed factors, every cell with as many repeats.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossed {
    /// Mean of all values.
    pub mean: f64,
    /// Rows.
    pub rows: Squares,
    /// Columns.
    pub columns: Squares,
    /// What rows and columns do together beyond their sum.
    pub interaction: Squares,
    /// Within cells.
    pub repeats: Squares,
    /// How many rows.
    pub row_count: f64,
    /// How many columns.
    pub column_count: f64,
    /// How many repeats in a cell.
    pub repeat_count: f64,
}

impl Crossed {
    /// All of it together.
    #[must_use]
    pub fn total(&self) -> Squares {
        let parts = [self.rows, self.columns, self.interaction, self.repeats];
        Squares { sum: parts.iter().map(|part| part.sum).sum(), df: parts.iter().map(|part| part.df).sum() }
    }

    /// Interaction and repeats as one, for a model without interaction.
    #[must_use]
    pub fn pooled(&self) -> Squares {
        Squares { sum: self.interaction.sum + self.repeats.sum, df: self.interaction.df + self.repeats.df }
    }
}

/// Analysis of variance of `cells[row][column]` = repeats.
///
/// Source: Montgomery, "Design and Analysis of Experiments", two-factor factorial design.
///
/// # Errors
/// [`AnovaError`] with fewer than two rows, columns or repeats, cells of different size, or a value that is not finite.
pub fn crossed(cells: &[Vec<Vec<f64>>]) -> Result<Crossed, AnovaError> {
    at_least("rows", cells.len(), 2)?;
    let columns = cells[0].len();
    at_least("columns", columns, 2)?;
    let repeats = cells[0][0].len();
    at_least("repeats", repeats, 2)?;
    for (row, line) in cells.iter().enumerate() {
        if line.len() != columns {
            let column = columns.min(line.len());
            let expected = if line.len() < columns { repeats } else { 0 };
            return Err(AnovaError::Unbalanced { row, column, found: line.get(column).map_or(0, Vec::len), expected });
        }
        for (column, cell) in line.iter().enumerate() {
            if cell.len() != repeats {
                return Err(AnovaError::Unbalanced { row, column, found: cell.len(), expected: repeats });
            }
            finite(cell.iter().copied())?;
        }
    }
    Ok(balanced(cells, columns, repeats))
}

fn balanced(cells: &[Vec<Vec<f64>>], columns: usize, repeats: usize) -> Crossed {
    let origin = cells[0][0][0];
    let cell_means: Vec<Vec<f64>> =
        cells.iter().map(|line| line.iter().map(|cell| mean_about(origin, cell.iter().copied())).collect()).collect();
    let row_means: Vec<f64> = cell_means.iter().map(|line| mean_about(0.0, line.iter().copied())).collect();
    let column_means: Vec<f64> = (0..columns).map(|j| mean_about(0.0, cell_means.iter().map(|line| line[j]))).collect();
    let grand = mean_about(0.0, row_means.iter().copied());
    let (p, o, r) = (number(cells.len()), number(columns), number(repeats));
    let rows = o * r * row_means.iter().map(|mean| (mean - grand).powi(2)).sum::<f64>();
    let across = p * r * column_means.iter().map(|mean| (mean - grand).powi(2)).sum::<f64>();
    let mut interaction = 0.0;
    let mut within = 0.0;
    for (i, line) in cells.iter().enumerate() {
        for (j, cell) in line.iter().enumerate() {
            interaction += r * (cell_means[i][j] - row_means[i] - column_means[j] + grand).powi(2);
            within += cell.iter().map(|value| ((value - origin) - cell_means[i][j]).powi(2)).sum::<f64>();
        }
    }
    Crossed {
        mean: origin + grand,
        rows: Squares { sum: rows, df: p - 1.0 },
        columns: Squares { sum: across, df: o - 1.0 },
        interaction: Squares { sum: interaction, df: (p - 1.0) * (o - 1.0) },
        repeats: Squares { sum: within, df: p * o * (r - 1.0) },
        row_count: p,
        column_count: o,
        repeat_count: r,
    }
}

#[cfg(test)]
mod tests {
    use super::super::ratio;
    use super::*;

    const STUDY: &str = include_str!("../../../../checks/gauge-study-10x3x3.csv");

    fn study() -> Vec<Vec<Vec<f64>>> {
        let mut cells = vec![vec![Vec::new(); 3]; 10];
        for line in STUDY.lines().filter(|line| !line.starts_with('#')).skip(1) {
            let f: Vec<&str> = line.split(',').collect();
            let operator = "ABC".find(f[1]).unwrap();
            cells[f[0].parse::<usize>().unwrap() - 1][operator].push(f[3].parse().unwrap());
        }
        cells
    }

    #[test]
    fn the_classic_gauge_study_has_its_published_sums_of_squares() {
        // [S] values of a commercial statistics package as asserted by a public test suite
        let got = crossed(&study()).unwrap();
        let printed = [
            (got.rows, 9.0, 88.3619, 9.817_99),
            (got.columns, 2.0, 3.1673, 1.583_63),
            (got.interaction, 18.0, 0.3590, 0.019_94),
            (got.repeats, 60.0, 2.7589, 0.045_98),
        ];
        for (squares, df, sum, mean) in printed {
            assert!((squares.df - df).abs() < 1e-12);
            assert!((squares.sum - sum).abs() < 0.5e-4 + 1e-9 && (squares.mean() - mean).abs() < 0.5e-5 + 1e-9, "{squares:?}");
        }
        assert!((got.total().sum - 94.6471).abs() < 0.5e-4 && (got.total().df - 89.0).abs() < 1e-12);
        let interaction = ratio(got.interaction, got.repeats).unwrap();
        assert!((interaction.f - 0.434).abs() < 0.5e-3 && (interaction.p - 0.974).abs() < 0.5e-3);
        assert!((ratio(got.rows, got.interaction).unwrap().f - 492.291).abs() < 0.5e-3);
        assert!((ratio(got.columns, got.interaction).unwrap().f - 79.406).abs() < 0.5e-3);
        // the manual's own table takes the repeats below
        assert!((ratio(got.rows, got.repeats).unwrap().f - 213.5).abs() < 0.05);
        assert!((ratio(got.columns, got.repeats).unwrap().f - 34.44).abs() < 0.005);
        assert!((got.pooled().mean() - 0.039_97).abs() < 0.5e-5 && (got.pooled().df - 78.0).abs() < 1e-12);
    }

    #[test]
    fn sums_of_squares_add_up_to_the_total() {
        let cells = study();
        let all: Vec<f64> = cells.iter().flatten().flatten().copied().collect();
        let mean = all.iter().sum::<f64>() / 90.0;
        let total: f64 = all.iter().map(|value| (value - mean).powi(2)).sum();
        assert!((crossed(&cells).unwrap().total().sum / total - 1.0).abs() < 1e-13);
    }

    #[test]
    fn a_cell_of_another_size_is_named() {
        let mut cells = study();
        cells[4][1].pop();
        assert_eq!(crossed(&cells), Err(AnovaError::Unbalanced { row: 4, column: 1, found: 2, expected: 3 }));
        let mut cells = study();
        cells[7].pop();
        assert_eq!(crossed(&cells), Err(AnovaError::Unbalanced { row: 7, column: 2, found: 0, expected: 3 }));
        assert!(crossed(&cells[..1]).is_err());
    }
}
