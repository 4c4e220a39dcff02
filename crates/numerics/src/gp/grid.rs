//! A rectangular grid of places.

use super::GpError;

/// Places 0, step, 2 step, ... along both axes, x running fastest, from the bottom row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    nx: usize,
    ny: usize,
    step_mm: f64,
}

impl Grid {
    /// Most nodes of a grid.
    pub const MOST_NODES: usize = 4_000_000;

    /// Nodes every `step_mm` from 0 up to `width_mm` and `height_mm`; the far edges have nodes where the step divides the size.
    ///
    /// # Errors
    /// [`GpError::Grid`] unless the step is finite and above 0, the sizes are finite and not below 0, and the nodes are at most
    /// [`Grid::MOST_NODES`].
    pub fn over(width_mm: f64, height_mm: f64, step_mm: f64) -> Result<Self, GpError> {
        let wrong = GpError::Grid { width_mm, height_mm, step_mm, most: Self::MOST_NODES };
        let sane =
            step_mm.is_finite() && step_mm > 0.0 && width_mm.is_finite() && height_mm.is_finite() && width_mm >= 0.0 && height_mm >= 0.0;
        // A millionth of a step is allowed for sizes that are a multiple of it but for rounding.
        let nodes = |size_mm: f64| (size_mm / step_mm + 1e-6).floor() + 1.0;
        if !sane || nodes(width_mm) * nodes(height_mm) > Self::MOST_NODES as f64 {
            return Err(wrong);
        }
        Ok(Self { nx: nodes(width_mm) as usize, ny: nodes(height_mm) as usize, step_mm })
    }

    /// Nodes along x.
    #[must_use]
    pub const fn nx(&self) -> usize {
        self.nx
    }

    /// Nodes along y.
    #[must_use]
    pub const fn ny(&self) -> usize {
        self.ny
    }

    /// Distance between neighbours, mm.
    #[must_use]
    pub const fn step_mm(&self) -> f64 {
        self.step_mm
    }

    /// All nodes, x running fastest.
    #[must_use]
    pub fn places(&self) -> Vec<[f64; 2]> {
        (0..self.ny).flat_map(|j| (0..self.nx).map(move |i| [i as f64 * self.step_mm, j as f64 * self.step_mm])).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nodes_run_from_nothing_up_to_the_size() {
        let grid = Grid::over(1500.0, 1210.0, 25.0).unwrap();
        assert_eq!((grid.nx(), grid.ny()), (61, 49));
        assert!(grid.places()[62].iter().all(|at| (at - 25.0).abs() < 1e-12));
        assert_eq!(grid.places().len(), 2989);
        assert_eq!(Grid::over(0.3, 0.0, 0.1).unwrap().nx(), 4);
    }

    #[test]
    fn a_grid_that_makes_no_sense_is_refused() {
        for (width, height, step) in [(1.0, 1.0, 0.0), (1.0, 1.0, f64::NAN), (-1.0, 1.0, 1.0), (f64::INFINITY, 1.0, 1.0), (1e9, 1e9, 1e-3)]
        {
            assert!(matches!(Grid::over(width, height, step), Err(GpError::Grid { .. })));
        }
    }
}
