//! Sections: a panel tiled finely enough to follow its film, and tiles treated alike joined within arm's reach.

use lastmicron_film::grid::Grid;
use lastmicron_film::panel::Panel;

/// Shortest and longest side of a section, mm: what one application of polish keeps wet and an arm reaches. Common practice, no source.
const SIDE_MM: (f64, f64) = (250.0, 600.0);
/// Usual side of a tile, mm: near the shortest that can be worked alone, because film varies within a hand's breadth. On simulated cars tiles of
/// 400 mm lose a fortieth of the correction.
const USUAL_SIDE_MM: f64 = 280.0;

/// A rectangle of a panel that is treated in one way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tile {
    pub(crate) x_mm: f64,
    pub(crate) y_mm: f64,
    pub(crate) width_mm: f64,
    pub(crate) height_mm: f64,
    /// Column and row among the panel's tiles.
    pub(crate) column: usize,
    pub(crate) row: usize,
}

impl Tile {
    /// Lower left corner, mm.
    pub(crate) const fn corner_mm(&self) -> [f64; 2] {
        [self.x_mm, self.y_mm]
    }

    /// Size, mm.
    pub(crate) const fn size_mm(&self) -> [f64; 2] {
        [self.width_mm, self.height_mm]
    }
}

/// Tiles a panel's bounding box; tiles without any place on the panel are left out.
pub(crate) fn tile(panel: &Panel, grid: &Grid) -> Vec<Tile> {
    let [width, height] = panel.size_mm();
    let (columns, rows) = (pieces(width), pieces(height));
    let mut tiles = Vec::new();
    for row in 0..rows {
        for column in 0..columns {
            let (x, y) = (cut(width, column, columns), cut(height, row, rows));
            let tile = Tile {
                x_mm: x,
                y_mm: y,
                width_mm: cut(width, column + 1, columns) - x,
                height_mm: cut(height, row + 1, rows) - y,
                column,
                row,
            };
            if nodes_in(&tile, grid, [width, height]).next().is_some() {
                tiles.push(tile);
            }
        }
    }
    tiles
}

/// Tiles joined to a rectangle that is worked at once.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Joined {
    /// Indices of its tiles.
    pub(crate) tiles: Vec<usize>,
    /// The rectangle; its column and row are its lower left tile's.
    pub(crate) whole: Tile,
}

/// Joins neighbouring tiles that are treated alike (a number for each tile) to rectangles within arm's reach: each as wide as it can be, then as
/// high.
pub(crate) fn join(tiles: &[Tile], treatment: &[usize]) -> Vec<Joined> {
    let at = |column: usize, row: usize| tiles.iter().position(|t| t.column == column && t.row == row);
    let mut taken = vec![false; tiles.len()];
    let mut joined = Vec::new();
    for (i, first) in tiles.iter().enumerate() {
        if taken[i] {
            continue;
        }
        let alike = |taken: &[bool], column: usize, row: usize| at(column, row).filter(|&t| !taken[t] && treatment[t] == treatment[i]);
        let width = |last: usize| tiles[last].x_mm + tiles[last].width_mm - first.x_mm;
        let height = |last: usize| tiles[last].y_mm + tiles[last].height_mm - first.y_mm;
        let mut bottom = vec![i];
        while let Some(t) = alike(&taken, first.column + bottom.len(), first.row).filter(|&t| width(t) <= SIDE_MM.1) {
            bottom.push(t);
        }
        let mut rows = vec![bottom];
        loop {
            let row = first.row + rows.len();
            let next: Option<Vec<usize>> = (0..rows[0].len()).map(|c| alike(&taken, first.column + c, row)).collect();
            let Some(next) = next.filter(|n| n.iter().all(|&t| height(t) <= SIDE_MM.1)) else { break };
            rows.push(next);
        }
        let of_it = rows.concat();
        of_it.iter().for_each(|&t| taken[t] = true);
        let last = of_it[of_it.len() - 1];
        joined.push(Joined { whole: Tile { width_mm: width(last), height_mm: height(last), ..*first }, tiles: of_it });
    }
    joined
}

/// Nodes of the grid that lie on the panel and in the tile. A node on a shared border belongs to the tile above or to the right.
pub(crate) fn nodes_in<'g>(tile: &Tile, grid: &'g Grid, size: [f64; 2]) -> impl Iterator<Item = usize> + 'g {
    all_nodes_in(tile, grid, size).filter(|&n| grid.on_panel(n))
}

/// Area of the tile that lies on the panel, m2: exact for a rectangle, otherwise by the share of the tile's nodes that do.
pub(crate) fn area_m2(tile: &Tile, grid: &Grid, size: [f64; 2]) -> f64 {
    let [on, all] = [nodes_in(tile, grid, size).count(), all_nodes_in(tile, grid, size).count()];
    tile.width_mm * tile.height_mm * 1e-6 * on as f64 / all.max(1) as f64
}

fn all_nodes_in<'g>(tile: &Tile, grid: &'g Grid, [width, height]: [f64; 2]) -> impl Iterator<Item = usize> + 'g {
    let within = |lo: f64, size: f64, full: f64| {
        let hi = lo + size;
        (lo - 0.5, if hi < full - 0.5 { hi - 0.5 } else { f64::INFINITY })
    };
    let (x, y) = (within(tile.x_mm, tile.width_mm, width), within(tile.y_mm, tile.height_mm, height));
    (0..grid.nodes()).filter(move |&n| {
        let [px, py] = grid.place_mm(n);
        px >= x.0 && px < x.1 && py >= y.0 && py < y.1
    })
}

/// Into how many pieces a side is cut.
fn pieces(side_mm: f64) -> usize {
    let fewest = (side_mm / SIDE_MM.1).ceil().max(1.0);
    let most = (side_mm / SIDE_MM.0).floor().max(fewest);
    (side_mm / USUAL_SIDE_MM).round().clamp(fewest, most) as usize
}

/// Where cut `i` of `n` falls, to a tenth of a millimetre.
fn cut(side_mm: f64, i: usize, n: usize) -> f64 {
    if i == n { side_mm } else { (side_mm * i as f64 / n as f64 * 10.0).round() / 10.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use lastmicron_film::gauge::Substrate;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn every_place_lies_in_exactly_one_section_of_a_workable_size(w in 60.0..3000.0f64, h in 60.0..2500.0f64) {
            let panel = Panel::rectangle("panel", w, h, Substrate::Steel);
            let grid = Grid::of(&panel);
            let tiles = tile(&panel, &grid);
            let mut seen = vec![0; grid.nodes()];
            for t in &tiles {
                prop_assert!(t.width_mm <= 600.1 && t.width_mm >= w.min(249.9));
                prop_assert!(t.height_mm <= 600.1 && t.height_mm >= h.min(249.9));
                nodes_in(t, &grid, [w, h]).for_each(|n| seen[n] += 1);
            }
            prop_assert!(seen.iter().all(|&n| n == 1));
        }

        #[test]
        fn joined_tiles_are_alike_and_cover_the_panel_once(w in 60.0..3000.0f64, h in 60.0..2500.0f64, seed in 0..1000_usize) {
            let panel = Panel::rectangle("panel", w, h, Substrate::Steel);
            let tiles = tile(&panel, &Grid::of(&panel));
            let treatment: Vec<usize> = (0..tiles.len()).map(|i| (i * i * 7 + seed) / 5 % 2).collect();
            let joined = join(&tiles, &treatment);
            let mut seen = vec![0; tiles.len()];
            for j in &joined {
                j.tiles.iter().for_each(|&t| seen[t] += 1);
                prop_assert!(j.tiles.iter().all(|&t| treatment[t] == treatment[j.tiles[0]]));
                prop_assert!(j.whole.width_mm <= 600.1 && j.whole.height_mm <= 600.1);
                let area: f64 = j.tiles.iter().map(|&t| tiles[t].width_mm * tiles[t].height_mm).sum();
                prop_assert!((area - j.whole.width_mm * j.whole.height_mm).abs() < 1.0);
            }
            prop_assert!(seen.iter().all(|&n| n == 1));
        }
    }
}
