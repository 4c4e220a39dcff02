//! An influence given row by row.

use super::problem::{BoundedError, Influence, MOST_ENTRIES};
use crate::band::{Band, Factor};

/// A matrix of influences, 0 or more: rows are places, columns are what is to be found.
#[derive(Clone, Debug)]
pub struct Rows {
    columns: usize,
    /// Of each row, the columns that touch it and their influence.
    rows: Vec<Vec<(usize, f64)>>,
    factor: Option<Factor>,
}

impl Rows {
    /// The influence whose rows are `rows`.
    ///
    /// # Errors
    /// [`BoundedError`] when there are no rows or columns, rows differ in length, a value is negative or not finite, or it
    /// is too large.
    pub fn new(rows: &[Vec<f64>]) -> Result<Self, BoundedError> {
        let columns = rows.first().map_or(0, Vec::len);
        if columns == 0 {
            return Err(BoundedError::Empty { rows: rows.len(), columns });
        }
        let mut found = Vec::with_capacity(rows.len());
        for (row, values) in rows.iter().enumerate() {
            if values.len() != columns {
                return Err(BoundedError::Ragged { row, found: values.len(), expected: columns });
            }
            if let Some((column, value)) = values.iter().copied().enumerate().find(|(_, value)| !(*value >= 0.0 && value.is_finite())) {
                return Err(BoundedError::Influence { row, column, value });
            }
            found.push(values.iter().copied().enumerate().filter(|(_, value)| *value > 0.0).collect());
        }
        let influence = Self { columns, rows: found, factor: None };
        if columns.saturating_mul(influence.half_width() + 1) > MOST_ENTRIES {
            return Err(BoundedError::TooLarge { positions: columns, cells: rows.len() });
        }
        Ok(influence)
    }

    pub(super) fn largest(&self) -> f64 {
        self.rows.iter().flatten().map(|(_, value)| *value).fold(0.0, f64::max)
    }

    /// The same with 1 as the largest influence.
    pub(super) fn scaled(&self) -> Self {
        let scale = self.largest().max(f64::MIN_POSITIVE);
        let rows = self.rows.iter().map(|row| row.iter().map(|(column, value)| (*column, value / scale)).collect()).collect();
        Self { columns: self.columns, rows, factor: None }
    }

    /// How far from the diagonal the entries of A'A lie at most.
    fn half_width(&self) -> usize {
        let widths = self.rows.iter().filter_map(|row| Some(row.last()?.0 - row.first()?.0));
        widths.max().unwrap_or(0)
    }
}

impl Influence for Rows {
    fn columns(&self) -> usize {
        self.columns
    }

    fn rows(&self) -> usize {
        self.rows.len()
    }

    fn times(&self, x: &[f64]) -> Vec<f64> {
        self.rows.iter().map(|row| row.iter().map(|(column, value)| value * x[*column]).sum()).collect()
    }

    fn transposed(&self, r: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; self.columns];
        for (row, r) in self.rows.iter().zip(r) {
            row.iter().for_each(|(column, value)| out[*column] += value * r);
        }
        out
    }

    fn most(&self, bounds: &[f64]) -> Vec<f64> {
        let mut most = vec![f64::INFINITY; self.columns];
        for (row, bound) in self.rows.iter().zip(bounds) {
            row.iter().for_each(|(column, value)| most[*column] = most[*column].min(bound / value));
        }
        most
    }

    fn factor(&mut self, row_weights: &[f64], column_weights: &[f64]) -> bool {
        let mut band = self.factor.take().map_or_else(|| Band::new(self.columns, self.half_width()), Factor::into_band);
        band.clear();
        for (row, weight) in self.rows.iter().zip(row_weights) {
            for (at, (column, value)) in row.iter().enumerate() {
                band.add_to_row(*column, &row[..=at], weight * value);
            }
        }
        for (column, weight) in column_weights.iter().enumerate() {
            band.add(column, column, *weight);
        }
        self.factor = band.factor().ok();
        self.factor.is_some()
    }

    fn solve(&self, b: &mut [f64]) {
        if let Some(factor) = &self.factor {
            factor.solve(b);
        }
    }
}
