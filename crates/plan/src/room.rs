//! Room: how much film a tile has to give at its worst place, draw by draw.
//!
//! A place of topcoat T under a gain g ends below the floor when more than (T - floor) / g is taken in the middle. The smallest such room
//! over a tile's worked places is all that a choice of treatment needs to know of its film. Places of about the same gain that are kept off
//! together are one part: its least build stands for all of them, whatever undercoat and gain are drawn with the film.

use std::ops::Range;

use lastmicron_film::grid::Grid;
use lastmicron_numerics::elementwise::lower_to;

use crate::car::{Car, CarPanel};
use crate::drawn::Drawn;
use crate::tiling::{Tile, area_m2, nodes_in, tile};

/// Distances that an edge may be kept off, mm; the first is not at all.
pub(crate) const KEEP_OFF_MM: [f64; 5] = [0.0, 25.0, 50.0, 75.0, 100.0];

/// A node this much nearer to the edge than the distance kept off still counts as worked, mm: grids are not quite of 25 mm.
const TOLERANCE_MM: f64 = 2.5;

/// Distances from the edge at which correction is worked out, mm: nodes take the nearest below.
pub(crate) const GAIN_BINS_MM: [f64; 6] = [0.0, 10.0, 20.0, 30.0, 50.0, 90.0];

/// Edges that are kept off together: each edge of a four-sided panel alone, all edges of any other.
pub(crate) fn edge_groups(panel: &CarPanel) -> Vec<Vec<usize>> {
    let n = panel.panel.outline_mm.len();
    if n == 4 { (0..4).map(|e| vec![e]).collect() } else { vec![(0..n).collect()] }
}

/// Whether a place `distance_mm` from an edge is left out when that edge is kept off at `level`.
fn is_kept_off(distance_mm: f64, level: usize) -> bool {
    level > 0 && distance_mm < KEEP_OFF_MM[level] - TOLERANCE_MM
}

/// Places of a tile that are kept off together and have about the same gain.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    /// For each of the tile's edge groups, the level from which the part is left out.
    levels: Vec<usize>,
    /// Largest share of the edge gain among its places.
    pub(crate) fall_off: f64,
    /// Index of its gain among [`GAIN_BINS_MM`].
    pub(crate) bin: usize,
    /// Nodes of the panel's grid, as runs of neighbours.
    pub(crate) runs: Vec<Range<usize>>,
    /// Least build by film, less what was taken before, um.
    pub(crate) least_um: Vec<f32>,
}

impl Part {
    /// Whether the part is worked where edge groups are kept off at the combined level `level`.
    pub(crate) fn is_worked(&self, level: usize) -> bool {
        let mut rest = level;
        self.levels.iter().all(|&out| {
            let chosen = rest % KEEP_OFF_MM.len();
            rest /= KEEP_OFF_MM.len();
            chosen < out
        })
    }

    /// Number of its places.
    pub(crate) fn count(&self) -> f64 {
        self.runs.iter().map(ExactSizeIterator::len).sum::<usize>() as f64
    }

    fn add(&mut self, node: usize, fall_off: f64) {
        self.fall_off = self.fall_off.max(fall_off);
        match self.runs.last_mut().filter(|run| run.end == node) {
            Some(run) => run.end += 1,
            None => self.runs.push(node..node + 1),
        }
    }
}

/// A tile with its parts.
#[derive(Clone, Debug)]
pub(crate) struct TileRoom {
    pub(crate) tile: Tile,
    /// Edge groups near enough to matter.
    pub(crate) groups: Vec<usize>,
    pub(crate) parts: Vec<Part>,
    /// Nodes of the tile, worked or not.
    pub(crate) nodes: f64,
    /// Area on the panel, m2.
    pub(crate) area_m2: f64,
    /// Factor on rates, the panel's and its own, by draw.
    pub(crate) factor: Vec<f32>,
}

/// Draws and panel for which rooms are wanted, and the topcoat that must stay.
pub(crate) struct Above<'a> {
    pub(crate) drawn: &'a Drawn<'a>,
    pub(crate) panel: usize,
    pub(crate) draws: Range<usize>,
    /// Topcoat that must stay, um: the floor, or 0.
    pub(crate) floor_um: f64,
}

impl TileRoom {
    /// How many combined levels there are.
    pub(crate) fn levels(&self) -> usize {
        KEEP_OFF_MM.len().pow(self.groups.len() as u32)
    }

    /// The parts worked under a combined level.
    pub(crate) fn worked(&self, level: usize) -> impl Iterator<Item = &Part> {
        self.parts.iter().filter(move |p| p.is_worked(level))
    }

    /// Room of every part, by draw, um: taking more than this in the nominal middle leaves less than the floor.
    pub(crate) fn part_rooms(&self, above: &Above) -> Vec<Vec<f32>> {
        self.rooms_of(above, |_| true)
    }

    /// Room of the tile under a combined level, by draw, um; infinite where nothing is worked.
    pub(crate) fn room(&self, above: &Above, level: usize) -> Vec<f32> {
        let rooms = self.rooms_of(above, |p| p.is_worked(level));
        least(rooms.iter(), above.draws.len())
    }

    fn rooms_of(&self, above: &Above, wanted: impl Fn(&Part) -> bool) -> Vec<Vec<f32>> {
        let Above { drawn, panel, draws, floor_um } = above;
        let share: Vec<f32> = self.factor[draws.clone()].iter().map(|f| 1.0 / f).collect();
        let kept: Vec<f32> = draws.clone().map(|d| (drawn.undercoat_um(d, *panel) + floor_um) as f32).collect();
        let of = |part: &Part| {
            let film = draws.clone().map(|d| part.least_um[Drawn::film_of(d)]);
            let gain = drawn.edge_gain[draws.clone()].iter().map(|g| *g as f32 * part.fall_off as f32);
            film.zip(gain)
                .zip(kept.iter().zip(&share))
                .map(|((build, gain), (kept, share))| (build - kept) * share / (1.0 + gain))
                .collect()
        };
        self.parts.iter().filter(|p| wanted(p)).map(of).collect()
    }
}

/// The least of several rooms, by draw.
pub(crate) fn least<'r>(rooms: impl Iterator<Item = &'r Vec<f32>>, draws: usize) -> Vec<f32> {
    let mut least = vec![f32::INFINITY; draws];
    rooms.for_each(|room| lower_to(&mut least, room));
    least
}

/// The tiles of a panel: where their parts lie, without builds or factors.
pub(crate) fn bare_tiles(car: &Car, drawn: &Drawn, panel: usize, grid: &Grid) -> Vec<TileRoom> {
    let of = &car.panels[panel];
    tile(&of.panel, grid).iter().map(|t| tile_room(of, drawn, grid, t)).collect()
}

/// The tiles of a panel as far as they are known without its film: where their parts lie, and the factors on their rates.
pub(crate) fn tiles(car: &Car, drawn: &Drawn, panel: usize, grid: &Grid) -> Vec<TileRoom> {
    let mut tiles = bare_tiles(car, drawn, panel, grid);
    for (number, tile) in tiles.iter_mut().enumerate() {
        let own = drawn.tile_factors(panel, number);
        tile.factor = own.iter().enumerate().map(|(d, own)| (own * drawn.panel_factor(d, panel)) as f32).collect();
    }
    tiles
}

fn tile_room(panel: &CarPanel, drawn: &Drawn, grid: &Grid, tile: &Tile) -> TileRoom {
    let size = panel.panel.size_mm();
    let nodes: Vec<usize> = nodes_in(tile, grid, size).collect();
    let last = KEEP_OFF_MM.len() - 1;
    let distance = |group: &[usize], n: usize| {
        let [x, y] = grid.place_mm(n);
        group.iter().map(|&e| panel.panel.distance_to_edge_mm(e, x, y)).fold(f64::INFINITY, f64::min)
    };
    let all = edge_groups(panel);
    let groups: Vec<usize> = (0..all.len()).filter(|&g| nodes.iter().any(|&n| is_kept_off(distance(&all[g], n), last))).collect();
    let left_out_from = |n: usize, g: usize| {
        let d = distance(&all[g], n);
        (0..KEEP_OFF_MM.len()).find(|&level| is_kept_off(d, level)).unwrap_or(KEEP_OFF_MM.len())
    };
    let mut parts: Vec<Part> = Vec::new();
    for &n in &nodes {
        let levels: Vec<usize> = groups.iter().map(|&g| left_out_from(n, g)).collect();
        let bin = GAIN_BINS_MM.iter().rposition(|&mm| grid.edge_mm[n] >= mm - 1e-6).unwrap_or(0);
        let fall_off = drawn.knowledge.edge.fall_off(grid.edge_mm[n]);
        let part = parts.iter().position(|p| p.bin == bin && p.levels == levels).unwrap_or_else(|| {
            parts.push(Part { levels, fall_off, bin, runs: Vec::new(), least_um: Vec::new() });
            parts.len() - 1
        });
        parts[part].add(n, fall_off);
    }
    TileRoom { tile: *tile, groups, parts, nodes: nodes.len() as f64, area_m2: area_m2(tile, grid, size), factor: Vec::new() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example::{EFFORT, car, with_made};
    use crate::problem::combined;
    use lastmicron_polish::{Belief, EdgeGain};

    #[test]
    fn a_part_is_worked_where_no_edge_group_is_kept_off_beyond_it() {
        let groups = [0, 2, 3];
        let part = Part { levels: vec![2, 5, 1], fall_off: 0.0, bin: 0, runs: Vec::new(), least_um: Vec::new() };
        for number in 0..KEEP_OFF_MM.len().pow(4) {
            let levels: Vec<usize> = (0..4).map(|g| number / KEEP_OFF_MM.len().pow(g) % KEEP_OFF_MM.len()).collect();
            let expected = levels[0] < 2 && levels[3] < 1;
            assert_eq!(part.is_worked(combined(&groups, &levels)), expected, "{levels:?}");
        }
    }

    /// The least room over the worked places of a tile of panel 0, place by place.
    fn by_place(made: &crate::report::Made, tile: &TileRoom, draw: usize, keep_off_mm: f64) -> f64 {
        let (drawn, panel) = (made.drawn, &made.car.panels[0].panel);
        let films = drawn.film.film(0, 0..drawn.film.count()).unwrap();
        let build = &films.build_um[Drawn::film_of(draw) * films.grid.nodes()..][..films.grid.nodes()];
        nodes_in(&tile.tile, &films.grid, panel.size_mm())
            .filter(|&n| films.grid.edge_mm[n] >= keep_off_mm - TOLERANCE_MM)
            .map(|n| {
                let topcoat = f64::from(build[n]) - drawn.undercoat_um(draw, 0) - 15.0;
                let gain = 1.0 + drawn.edge_gain[draw] * drawn.knowledge.edge.fall_off(films.grid.edge_mm[n]);
                topcoat / gain / f64::from(tile.factor[draw])
            })
            .fold(f64::INFINITY, f64::min)
    }

    fn compare(gain: f64, agrees: impl Fn(f64, f64) -> bool) {
        let mut car = car();
        car.edge = Some(EdgeGain { gain: Belief { mean: gain, sd: 0.0 }, reach_mm: 40.0 });
        with_made(&car, EFFORT, |made| {
            let room = made.rooms[0].as_ref().unwrap();
            for (tile, level) in room.tiles.iter().zip([0, 1, 3].into_iter().cycle()).take(5) {
                let combined = combined(&tile.groups, &[level; 4]);
                let above = Above { drawn: made.drawn, panel: 0, draws: 0..9, floor_um: 15.0 };
                let of_parts = tile.room(&above, combined);
                let least =
                    least(tile.part_rooms(&above).iter().zip(&tile.parts).filter(|(_, p)| p.is_worked(combined)).map(|(r, _)| r), 9);
                assert_eq!(of_parts, least);
                for (draw, room) in of_parts.iter().enumerate().step_by(3) {
                    let exact = by_place(made, tile, draw, KEEP_OFF_MM[level]);
                    assert!(agrees(f64::from(*room), exact), "{room} {exact}");
                }
            }
        });
    }

    #[test]
    fn without_a_gain_room_is_the_least_topcoat_above_the_floor_over_the_places() {
        compare(0.0, |room, exact| (room - exact).abs() < 1e-3);
    }

    #[test]
    fn with_a_gain_room_is_never_more_than_at_the_places_and_hardly_less() {
        compare(0.6, |room, exact| room <= exact + 1e-3 && room > exact - 0.2 * exact.abs() - 1.0);
    }
}
