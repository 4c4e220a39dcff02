//! The field of one panel, drawn on the truth's grid.

use lastmicron_numerics::circulant::{Circulant, CirculantError};
use lastmicron_numerics::kernel::Family;
use rand_pcg::Pcg64;

/// Spacing of the truth's nodes, mm. Judgement: a tenth of the shortest correlation length drawn, and the reach of the gain at an edge.
const STEP_MM: f64 = 25.0;

/// The nodes of a panel: 0, step, ... up to its size, x running fastest.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Grid {
    pub(crate) step_mm: f64,
    pub(crate) nx: usize,
    pub(crate) ny: usize,
}

/// The law of the field within the panels of one car.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FieldLaw {
    pub(crate) family: Family,
    pub(crate) sd_um: f64,
    pub(crate) length_mm: f64,
    /// How much longer the field is along x than along y.
    pub(crate) stretch: f64,
}

impl Grid {
    pub(crate) fn over(width_mm: f64, height_mm: f64) -> Self {
        let nodes = |size_mm: f64| (size_mm / STEP_MM).round() as usize + 1;
        Self { step_mm: STEP_MM, nx: nodes(width_mm), ny: nodes(height_mm) }
    }

    pub(crate) fn place_mm(&self, node: usize) -> [f64; 2] {
        [(node % self.nx) as f64 * self.step_mm, (node / self.nx) as f64 * self.step_mm]
    }
}

/// Draws the field on a grid, um. A stretched field is an even one seen through a stretched grid.
pub(crate) fn draw_field(grid: &Grid, law: &FieldLaw, dice: &mut Pcg64) -> Result<Vec<f64>, CirculantError> {
    let aspect = law.stretch.sqrt();
    let (nx, ny) = (seen_through(grid.nx, 1.0 / aspect), seen_through(grid.ny, aspect));
    let circulant = Circulant::new(law.family, law.length_mm, nx, ny, grid.step_mm)?;
    let (mut even, mut spare) = (vec![0.0; nx * ny], vec![0.0; nx * ny]);
    circulant.draw_pair(dice, &mut even, &mut spare);
    let node = |i: usize, j: usize| f64::from(even[j.min(ny - 1) * nx + i.min(nx - 1)]);
    let between = |x: f64, y: f64| {
        let (i, j) = (x.floor() as usize, y.floor() as usize);
        let (u, v) = (x - x.floor(), y - y.floor());
        let row = |j: usize| (1.0 - u) * node(i, j) + u * node(i + 1, j);
        (1.0 - v) * row(j) + v * row(j + 1)
    };
    Ok((0..grid.nx * grid.ny).map(|k| law.sd_um * between((k % grid.nx) as f64 / aspect, (k / grid.nx) as f64 * aspect)).collect())
}

fn seen_through(nodes: usize, factor: f64) -> usize {
    ((nodes - 1) as f64 * factor).ceil() as usize + 1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chance::{Stream, dice};

    fn correlation_at_100_mm(stretch: f64, along_x: bool) -> f64 {
        let grid = Grid::over(500.0, 500.0);
        let law = FieldLaw { family: Family::Exponential, sd_um: 2.0, length_mm: 100.0, stretch };
        let mut chance = dice(9, Stream::Film);
        let (mut product, mut square) = (0.0, 0.0);
        for _ in 0..3000 {
            let field = draw_field(&grid, &law, &mut chance).unwrap();
            let other = if along_x { 4 } else { 4 * grid.nx };
            product += field[0] * field[other];
            square += field[0] * field[0];
        }
        assert!((square / 3000.0 - 4.0).abs() < 0.5, "variance {}", square / 3000.0);
        product / square
    }

    #[test]
    fn an_even_field_has_its_kernels_correlation_either_way() {
        for along_x in [true, false] {
            assert!((correlation_at_100_mm(1.0, along_x) - (-1.0_f64).exp()).abs() < 0.06); // [D] exp(-100 / 100); 3 standard errors
        }
    }

    #[test]
    fn a_stretched_field_is_longer_along_x_and_shorter_along_y() {
        assert!((correlation_at_100_mm(4.0, true) - (-0.5_f64).exp()).abs() < 0.06); // [D] twice the length
        assert!((correlation_at_100_mm(4.0, false) - (-2.0_f64).exp()).abs() < 0.06); // [D] half the length
    }
}
