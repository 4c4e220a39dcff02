//! Room: how much film a tile has to give at its worst place, draw by draw.
//!
//! A place of topcoat T under a gain g ends below the floor when more than (T - floor) / g is taken in the middle. The smallest such room
//! over a tile's worked places is all that a choice of treatment needs to know of its film. Places of about the same gain that are kept off
//! together are one part: its least build stands for all of them, whatever undercoat and gain are drawn with the film.

use std::ops::Range;

use lastmicron_film::grid::Grid;
use lastmicron_numerics::elementwise::lower_to;

use crate::before::{Before, WorkedPlaces};
use crate::car::{Car, CarPanel};
use crate::drawn::Drawn;
use crate::gain::{Blend, Gain};
use crate::levels::{Levels, strips};
use crate::tiling::{Tile, area_m2, nodes_in, tile};

/// Places of a tile that are kept off together and have about the same gain.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    /// For each of the tile's strips, the level from which the part is left out.
    out_from: Vec<usize>,
    /// Cell of nearness to edges and lines.
    pub(crate) cell: usize,
    /// Whether it was kept off by all that was done on the tile before.
    pub(crate) is_untouched: bool,
    /// Largest gain among its places, by blend.
    pub(crate) gains: Vec<Gain>,
    /// The same of what was done before.
    pub(crate) gain_before: Gain,
    /// Nodes of the panel's grid, as runs of neighbours.
    pub(crate) runs: Vec<Range<usize>>,
    /// Least build by film, less what was taken before, um.
    pub(crate) least_um: Vec<f32>,
}

impl Part {
    /// Number of its places.
    pub(crate) fn count(&self) -> f64 {
        self.runs.iter().map(ExactSizeIterator::len).sum::<usize>() as f64
    }

    fn add(&mut self, node: usize, gains: impl Iterator<Item = Gain>, before: Gain) {
        self.gain_before = self.gain_before.or(before);
        self.gains.iter_mut().zip(gains).for_each(|(largest, gain)| *largest = largest.or(gain));
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
    /// What was done on it before.
    pub(crate) before: Before,
    /// What was done at parts that it left out.
    nothing: Before,
    /// The strips near enough to matter.
    pub(crate) levels: Levels,
    pub(crate) parts: Vec<Part>,
    /// Whether it may be worked: not where the topcoat was gone through, there or just beside or, until somebody goes on in spite of it, on the panel.
    pub(crate) may_be_worked: bool,
    /// Nodes of the tile, worked or not.
    pub(crate) nodes: f64,
    /// Area on the panel, m2.
    pub(crate) area_m2: f64,
    /// Factor on rates, the panel's and its own, by draw.
    pub(crate) factor: Vec<f32>,
}

/// Draws and panel for which rooms are wanted, the topcoat that must stay, and by which gains film is taken.
#[derive(Clone)]
pub(crate) struct Above<'a> {
    pub(crate) drawn: &'a Drawn<'a>,
    pub(crate) panel: usize,
    pub(crate) draws: Range<usize>,
    /// Topcoat that must stay, um: the floor, or 0.
    pub(crate) floor_um: f64,
    /// Index of the blend of gains.
    pub(crate) blend: usize,
}

impl TileRoom {
    /// Whether a part is worked under a combined level.
    pub(crate) fn is_worked(&self, part: &Part, level: usize) -> bool {
        self.levels.is_worked(&part.out_from, level)
    }

    /// What was done at a part before.
    pub(crate) const fn before_at(&self, part: &Part) -> &Before {
        if part.is_untouched { &self.nothing } else { &self.before }
    }

    /// The parts worked under a combined level.
    pub(crate) fn worked(&self, level: usize) -> impl Iterator<Item = &Part> {
        self.parts.iter().filter(move |p| self.is_worked(p, level))
    }

    /// Room of every part, by draw, um: taking more than this in the nominal middle leaves less than the floor.
    pub(crate) fn part_rooms(&self, above: &Above) -> Vec<Vec<f32>> {
        self.rooms_of(above, |_| true)
    }

    /// Room of the tile under a combined level, by draw, um; infinite where nothing is worked.
    pub(crate) fn room(&self, above: &Above, level: usize) -> Vec<f32> {
        let rooms = self.rooms_of(above, |p| self.is_worked(p, level));
        least(rooms.iter(), above.draws.len())
    }

    /// Draws, counted from the first, in which a place of a tile that counts as worked before, and that was not kept off then, is below `floor_um` as it
    /// stands; none of any other tile.
    pub(crate) fn stands_below(&self, drawn: &Drawn, panel: usize, draws: Range<usize>, floor_um: f64) -> Vec<u32> {
        if self.before.is_nothing() {
            return Vec::new();
        }
        let worked = || self.parts.iter().filter(|part| !part.is_untouched);
        let least = |film: usize| worked().map(|part| part.least_um[film]).fold(f32::INFINITY, f32::min);
        let is_below = |d: usize| least(Drawn::film_of(d)) < (drawn.undercoat_um(d, panel) + floor_um) as f32;
        (0_u32..).zip(draws).filter(|(_, d)| is_below(*d)).map(|(i, _)| i).collect()
    }

    fn rooms_of(&self, above: &Above, wanted: impl Fn(&Part) -> bool) -> Vec<Vec<f32>> {
        let Above { drawn, panel, draws, floor_um, blend } = above;
        let share: Vec<f32> = self.factor[draws.clone()].iter().map(|f| 1.0 / f).collect();
        let kept: Vec<f32> = draws.clone().map(|d| (drawn.undercoat_um(d, *panel) + floor_um) as f32).collect();
        let of = |part: &Part| {
            let gain = part.gains[*blend];
            let film = draws.clone().map(|d| (part.least_um[Drawn::film_of(d)], gain.drawn(drawn.hand(d)) as f32));
            film.zip(kept.iter().zip(&share)).map(|((build, gain), (kept, share))| (build - kept) * share / (1.0 + gain)).collect()
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
pub(crate) fn bare_tiles(car: &Car, drawn: &Drawn, blends: &[Blend], panel: usize, grid: &Grid) -> Vec<TileRoom> {
    let of = &car.panels[panel];
    let worked = WorkedPlaces::of(car, drawn, panel, grid);
    tile(&of.panel, grid).iter().map(|t| tile_room(of, drawn, blends, grid, t, &worked)).collect()
}

/// The tiles of a panel as far as they are known without its film: where their parts lie, and the factors on their rates.
pub(crate) fn tiles(car: &Car, drawn: &Drawn, blends: &[Blend], panel: usize, grid: &Grid) -> Vec<TileRoom> {
    let mut tiles = bare_tiles(car, drawn, blends, panel, grid);
    for (number, tile) in tiles.iter_mut().enumerate() {
        let own = drawn.tile_factors(panel, number);
        tile.factor = own.iter().enumerate().map(|(d, own)| (own * drawn.panel_factor(d, panel)) as f32).collect();
    }
    tiles
}

fn tile_room(panel: &CarPanel, drawn: &Drawn, blends: &[Blend], grid: &Grid, tile: &Tile, worked: &WorkedPlaces) -> TileRoom {
    let size = panel.panel.size_mm();
    let gains = &drawn.knowledge.gains;
    let nodes: Vec<usize> = nodes_in(tile, grid, size).collect();
    let (before, nothing) = (worked.before(&nodes), worked.nothing());
    let all = strips(panel);
    let out_from: Vec<Vec<usize>> =
        nodes.iter().map(|&n| all.iter().map(|strip| strip.left_out_from(panel, grid.place_mm(n))).collect()).collect();
    let near = (0..all.len()).filter(|&s| out_from.iter().any(|levels| levels[s] < all[s].levels())).collect();
    let levels = Levels::of(&all, near);
    let mut parts: Vec<Part> = Vec::new();
    for (&n, out_from) in nodes.iter().zip(&out_from) {
        let out_from: Vec<usize> = levels.strips.iter().map(|&s| out_from[s]).collect();
        let nearness = gains.nearness(panel, grid.place_mm(n), grid.edge_mm[n]);
        let cell = nearness.cell();
        let is_untouched = worked.is_left_out(n);
        let is_alike = |p: &Part| p.cell == cell && p.out_from == out_from && p.is_untouched == is_untouched;
        let part = parts.iter().position(is_alike).unwrap_or_else(|| {
            let gains = vec![Gain::default(); blends.len()];
            parts.push(Part { out_from, cell, is_untouched, gains, gain_before: Gain::default(), runs: Vec::new(), least_um: Vec::new() });
            parts.len() - 1
        });
        let nearest = nearness.nearest_within(grid);
        parts[part].add(
            n,
            blends.iter().map(|blend| gains.at(blend, nearest)),
            if is_untouched { &nothing } else { &before }.gain(drawn, nearest),
        );
    }
    TileRoom {
        tile: *tile,
        before,
        nothing,
        levels,
        parts,
        may_be_worked: panel.may_be_worked() && !panel.is_gone_through_near(tile.corner_mm(), tile.size_mm()),
        nodes: nodes.len() as f64,
        area_m2: area_m2(tile, grid, size),
        factor: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example::{EFFORT, car, with_made};
    use crate::levels::{KEEP_OFF_MM, TOLERANCE_MM};
    use lastmicron_polish::{Belief, EdgeGain};

    /// The least room over the worked places of a tile of panel 0, place by place.
    fn by_place(made: &crate::report::Made, tile: &TileRoom, draw: usize, keep_off_mm: f64) -> f64 {
        let (drawn, panel) = (made.drawn, &made.car.panels[0].panel);
        let films = drawn.film.film(0, 0..drawn.film.count()).unwrap();
        let build = &films.build_um[Drawn::film_of(draw) * films.grid.nodes()..][..films.grid.nodes()];
        nodes_in(&tile.tile, &films.grid, panel.size_mm())
            .filter(|&n| films.grid.edge_mm[n] >= keep_off_mm - TOLERANCE_MM)
            .map(|n| {
                let topcoat = f64::from(build[n]) - drawn.undercoat_um(draw, 0) - 15.0;
                let near = drawn.knowledge.gains.nearness(&made.car.panels[0], films.grid.place_mm(n), films.grid.edge_mm[n]);
                let gain = drawn.knowledge.gains.at(&made.blends[0], near).drawn(drawn.hand(draw));
                topcoat / (1.0 + gain) / f64::from(tile.factor[draw])
            })
            .fold(f64::INFINITY, f64::min)
    }

    fn compare(gain: f64, agrees: impl Fn(f64, f64) -> bool) {
        let mut car = car();
        car.edge = Some(EdgeGain { gain: Belief { mean: gain, sd: 0.0 }, reach_mm: 40.0 });
        with_made(&car, EFFORT, |made| {
            let room = made.rooms[0].as_ref().unwrap();
            for (tile, level) in room.tiles.iter().zip([0, 1, 3].into_iter().cycle()).take(5) {
                let combined = tile.levels.combined(&[level; 4]);
                let above = Above { drawn: made.drawn, panel: 0, draws: 0..9, floor_um: 15.0, blend: 0 };
                let of_parts = tile.room(&above, combined);
                let least =
                    least(tile.part_rooms(&above).iter().zip(&tile.parts).filter(|(_, p)| tile.is_worked(p, combined)).map(|(r, _)| r), 9);
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
