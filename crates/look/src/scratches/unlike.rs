//! Parts of a photograph that are not the panel under the lamp.

use lastmicron_raster::{Mask, Plane};

use super::rings::median;

/// Side of the tiles that are compared with others as far from the lamp, pixels of a picture 2000 pixels wide.
const TILE: f64 = 40.0;

/// How much lighter or darker than the others a tile may be: a share of their light, and levels of 255. Judgement: the panel's own light varies by a fifth; what lies beyond its edge, a badge
/// or another lamp differs by half or more.
const APART: [f64; 2] = [0.4, 25.0];

/// Tiles unlike others as far from the lamp, and those next to them: beyond the panel's edge, a badge, tape, something that mirrors.
pub(crate) struct Unlike {
    tile: usize,
    tiles: Option<Mask>,
}

impl Unlike {
    pub(crate) fn new(light: &Plane, lamp: [f64; 2], scale: f64) -> Self {
        let tile = ((TILE * scale) as usize).max(1);
        let Some(means) = light.blocks(tile) else { return Self { tile, tiles: None } };
        let (across, down) = (means.width(), means.height());
        let ring = |column: usize, row: usize| {
            let middle = |at: usize| (at as f64 + 0.5) * tile as f64;
            ((middle(column) - lamp[0]).hypot(middle(row) - lamp[1]) / tile as f64) as usize
        };
        let tiles: Vec<(usize, usize, f64)> =
            means.values().iter().enumerate().map(|(at, mean)| (at % across, at / across, f64::from(*mean))).collect();
        let mut rings: Vec<Vec<f64>> = Vec::new();
        for (column, row, light) in &tiles {
            let ring = ring(*column, *row);
            rings.resize_with(rings.len().max(ring + 1), Vec::new);
            rings[ring].push(*light);
        }
        let usual: Vec<f64> = rings.into_iter().map(median).collect();
        let mut unlike = Mask::empty(across, down).ok();
        for (column, row, light) in tiles {
            let usual = usual[ring(column, row)];
            if let Some(mask) = unlike.as_mut().filter(|_| (light - usual).abs() > APART[0] * usual + APART[1]) {
                mask.insert(column, row);
            }
        }
        Self { tile, tiles: unlike.map(|tiles| tiles.grown(1)) }
    }

    /// Is the pixel in such a tile?
    pub(crate) fn at(&self, x: usize, y: usize) -> bool {
        self.tiles.as_ref().is_some_and(|tiles| tiles.get(x / self.tile, y / self.tile))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_lies_beyond_the_panels_edge_is_unlike_the_panel() {
        let light = |x: usize, y: usize| {
            let glow = 30.0 + 60.0 * (-(x as f32 - 1000.0).hypot(y as f32 - 750.0) / 500.0).exp();
            if x > 1600 { 150.0 } else { glow }
        };
        let values = (0..2000 * 1500).map(|at| light(at % 2000, at / 2000)).collect();
        let unlike = Unlike::new(&Plane::new(2000, 1500, values).unwrap(), [1000.0, 750.0], 1.0);
        for (x, y) in (0..1500).step_by(17).flat_map(|y| (0..2000).step_by(19).map(move |x| (x, y))) {
            let distance = (x as f64 - 1000.0).hypot(y as f64 - 750.0);
            // Farther away the ring has only two arcs, of which one lies beyond the edge.
            if distance < 740.0 && !(1540..=1641).contains(&x) {
                assert_eq!(unlike.at(x, y), x > 1600, "{x} {y}");
            }
        }
    }
}
