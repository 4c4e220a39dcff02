//! The choice as numbers: for every tile, treatment and distance kept off, what it gains, costs and endangers.

use std::ops::Range;

use lastmicron_numerics::elementwise::count_greater;
use rayon::prelude::*;

use crate::before::{Before, SetsOfEach};
use crate::car::Car;
use crate::drawn::Drawn;
use crate::fit::fits;
use crate::gain::{Blend, Gain, Nearness};
use crate::hazard::{Wrong, which};
use crate::levels::{Levels, Strip, strips};
use crate::panel_room::PanelRoom;
use crate::room::{Above, TileRoom, least};
use crate::treatment::Treatment;

/// A choice that alone risks more than this times a limit is never worth listing: searches aim at the limit, or a little above it where the draws
/// to choose on are unlucky ones.
pub(crate) const WORTH_LISTING: f64 = 1.3;

/// Most draws on which the correction of a treatment is averaged.
const MOST_SAMPLED: usize = 1000;

/// Number of a panel that no vehicle has: the stream of factors for a tile that could be any.
const NO_PANEL: usize = 1 << 24;

/// What one treatment of a tile gains and endangers under one combined level of edges kept off.
#[derive(Clone, Debug)]
pub(crate) struct Choice {
    /// Mean share of the tile's defects gone beyond what is gone already, none counted beyond the goal, times the tile's weight.
    pub(crate) value: f64,
    /// Mean film taken, um times the tile's weight.
    pub(crate) film: f64,
    /// Share of draws in which a place that it works ends below the floor.
    pub(crate) risk: f64,
    /// Draws in which a worked place ends below the floor; none listed where that alone is beyond the limit.
    pub(crate) below: Vec<u32>,
    /// Draws in which a worked place reaches the undercoat; none listed where no limit is set on that, or it alone is beyond it.
    pub(crate) through: Vec<u32>,
    /// Whether its pads have room on the panel.
    pub(crate) fits: bool,
    /// Whether the spend allows it.
    pub(crate) within_spend: bool,
    /// Whether pads, spend, limits and the sets done before allow it, were this tile the only one.
    pub(crate) allowed: bool,
}

/// A tile of the problem.
#[derive(Clone, Debug)]
pub(crate) struct ProblemTile {
    /// Index among the problem's panels.
    pub(crate) panel: usize,
    /// Index among its panel's tiles.
    pub(crate) number: usize,
    /// Number of what was done on it before: tiles of one number had the same.
    pub(crate) before: usize,
    /// Draws in which a place of it that was worked before stands below the floor, and (where a limit is set on that) at the undercoat: whatever is
    /// chosen, they go wrong.
    pub(crate) standing: Wrong,
    /// The strips near enough to matter.
    pub(crate) levels: Levels,
    /// By combined level, then treatment.
    pub(crate) options: Vec<Vec<Choice>>,
    /// Minutes of each treatment.
    pub(crate) minutes: Vec<f64>,
    /// Share of the vehicle's area times visibility.
    pub(crate) weight: f64,
    /// Tiles beside it on the same panel.
    pub(crate) neighbours: Vec<usize>,
}

/// A panel of the problem.
#[derive(Clone, Debug)]
pub(crate) struct ProblemPanel {
    /// Index in the car.
    pub(crate) panel: usize,
    /// Levels of each of its strips.
    pub(crate) levels: Vec<usize>,
    pub(crate) tiles: Vec<usize>,
}

/// All that a search needs.
#[derive(Clone, Debug)]
pub(crate) struct Problem {
    pub(crate) panels: Vec<ProblemPanel>,
    pub(crate) tiles: Vec<ProblemTile>,
    pub(crate) draws: usize,
    pub(crate) treatments: usize,
    /// By number of what was done before, then treatment: the number of what is then done in all. No border shows between tiles that have the same.
    pub(crate) in_all: Vec<Vec<usize>>,
}

impl Problem {
    /// The same where nothing may be done that endangers a place in any draw.
    pub(crate) fn harmless(mut self) -> Self {
        let choices = self.tiles.iter_mut().flat_map(|tile| &mut tile.options).flatten();
        choices.for_each(|choice| choice.allowed &= choice.below.is_empty() && choice.through.is_empty());
        self
    }

    /// The problem over the measured panels that may be worked, on the draws to choose on; every treatment counted as taking `margin_um` more
    /// than it does.
    pub(crate) fn new(
        car: &Car,
        drawn: &Drawn,
        rooms: &[Option<PanelRoom>],
        (treatments, blends): (&[Treatment], &[Blend]),
        margin_um: f64,
    ) -> Self {
        Self::on(drawn.first_half(), car, drawn, rooms, (treatments, blends), margin_um)
    }

    /// The same on the draws `half`: those to judge by, for what was not chosen on the others.
    pub(crate) fn on(
        half: Range<usize>,
        car: &Car,
        drawn: &Drawn,
        rooms: &[Option<PanelRoom>],
        (treatments, blends): (&[Treatment], &[Blend]),
        margin_um: f64,
    ) -> Self {
        let taken: Vec<Vec<f32>> =
            treatments.iter().map(|t| half.clone().map(|d| (t.removal_um(drawn, d) + margin_um) as f32).collect()).collect();
        let mut cells: Vec<usize> = rooms.iter().flatten().flat_map(|r| &r.tiles).flat_map(|t| &t.parts).map(|p| p.cell).collect();
        cells.sort_unstable();
        cells.dedup();
        let befores = befores(rooms);
        let of_cells = |before: &&Before| -> Vec<ByCell> {
            treatments.par_iter().map(|t| ByCell::of(car, drawn, blends, (before, t), &cells)).collect()
        };
        let worked: Vec<Vec<ByCell>> = befores.iter().map(of_cells).collect();
        let total: f64 = car.panels.iter().filter(|p| p.work).map(|p| p.panel.area_m2() * p.visibility).sum();
        let mut problem = Self {
            panels: Vec::new(),
            tiles: Vec::new(),
            draws: half.len(),
            treatments: treatments.len(),
            in_all: in_all(&befores, treatments),
        };
        for (k, room) in rooms.iter().enumerate() {
            let Some(room) = room.as_ref().filter(|_| car.panels[k].work) else { continue };
            let factor = half.clone().map(|d| drawn.panel_factor(d, k)).sum::<f64>() / half.len() as f64;
            let fits: Vec<bool> = treatments.iter().map(|t| fits(car, k, &t.steps)).collect();
            let first = problem.tiles.len();
            let panel = problem.panels.len();
            let made: Vec<ProblemTile> = room
                .tiles
                .par_iter()
                .enumerate()
                .map(|(number, s)| {
                    let weight = s.area_m2 * car.panels[k].visibility / total;
                    let parts = |floor_um: f64| -> Vec<Vec<Vec<f32>>> {
                        let above = |blend| Above { drawn, panel: k, draws: half.clone(), floor_um, blend };
                        (0..blends.len()).map(|blend| s.part_rooms(&above(blend))).collect()
                    };
                    let rooms = parts(car.limits.floor.micrometres());
                    let depths = car.limits.through_risk.map(|_| parts(0.0));
                    let stands_below = |floor_um: f64| s.stands_below(drawn, k, half.clone(), floor_um);
                    let standing = Wrong {
                        below: stands_below(car.limits.floor.micrometres()),
                        through: car.limits.through_risk.map_or_else(Vec::new, |_| stands_below(0.0)),
                    };
                    let number_of = |before: &Before| befores.iter().position(|other| *other == before).unwrap_or_default();
                    let before = number_of(&s.before);
                    let worked: Vec<&[ByCell]> =
                        s.parts.iter().map(|part| worked.get(number_of(s.before_at(part))).map_or(&[][..], Vec::as_slice)).collect();
                    let of = Options { car, treatments, taken: &taken, worked: &worked, weight, tile: s, factor, fits: &fits };
                    let options = (0..s.levels.count())
                        .map(|level| {
                            let least = |rooms: &Vec<Vec<f32>>| {
                                least(s.parts.iter().zip(rooms).filter(|(p, _)| s.is_worked(p, level)).map(|(_, r)| r), half.len())
                            };
                            let of_blends = |parts: &Vec<Vec<Vec<f32>>>| parts.iter().map(least).collect::<Vec<_>>();
                            of.at(level, &of_blends(&rooms), depths.as_ref().map(of_blends).as_deref())
                        })
                        .collect();
                    ProblemTile {
                        panel,
                        number,
                        before,
                        standing,
                        levels: s.levels.clone(),
                        options,
                        minutes: treatments.iter().map(|t| t.minutes_per_m2 * s.area_m2).collect(),
                        weight,
                        neighbours: neighbours(&room.tiles, number).map(|n| first + n).collect(),
                    }
                })
                .collect();
            problem.panels.push(ProblemPanel {
                panel: k,
                levels: strips(&car.panels[k]).iter().map(Strip::levels).collect(),
                tiles: (first..first + made.len()).collect(),
            });
            problem.tiles.extend(made);
        }
        problem
    }
}

/// What was done before on tiles, each once.
fn befores(rooms: &[Option<PanelRoom>]) -> Vec<&Before> {
    let mut befores: Vec<&Before> = Vec::new();
    for tile in rooms.iter().flatten().flat_map(|room| &room.tiles) {
        for before in std::iter::once(&tile.before).chain(tile.parts.iter().map(|part| tile.before_at(part))) {
            if !befores.contains(&before) {
                befores.push(before);
            }
        }
    }
    befores
}

/// Numbers of what is done in all: by what was done before, then treatment.
fn in_all(befores: &[&Before], treatments: &[Treatment]) -> Vec<Vec<usize>> {
    let mut seen: Vec<SetsOfEach> = Vec::new();
    let mut number = |sets: SetsOfEach| {
        seen.iter().position(|s| *s == sets).unwrap_or_else(|| {
            seen.push(sets);
            seen.len() - 1
        })
    };
    befores.iter().map(|before| treatments.iter().map(|t| number(before.and(&t.steps))).collect()).collect()
}

/// What a treatment comes to at each cell of nearness to edges and lines, after what was done before.
struct ByCell {
    /// Mean correction beyond what is gone already, none counted beyond the goal: a treatment that meets the goal in the mean is as good as any, and
    /// one where it is met already gains nothing.
    gone: Vec<f64>,
    /// Mean gain.
    gain: Vec<f64>,
}

impl ByCell {
    /// Of `cells`; others are left at nothing.
    fn of(car: &Car, drawn: &Drawn, blends: &[Blend], (before, treatment): (&Before, &Treatment), cells: &[usize]) -> Self {
        let count = cells.last().map_or(0, |last| last + 1);
        let mut worked = Self { gone: vec![0.0; count], gain: vec![0.0; count] };
        let Some(blend) = blends.get(treatment.blend).filter(|_| !treatment.steps.is_empty()) else { return worked };
        let factors = drawn.tile_factors(NO_PANEL, 0);
        for &cell in cells {
            let near = Nearness::of_cell(cell);
            let (gain, gain_before) = (drawn.knowledge.gains.at(blend, near), before.gain(drawn, near));
            let gone =
                |treatment: &Treatment| mean_gone(car, drawn, (before, gain_before), (treatment, gain), &factors).min(car.goal.correction);
            worked.gone[cell] = gone(treatment) - gone(&Treatment::nothing());
            worked.gain[cell] = gain.mean;
        }
        worked
    }
}

/// Mean correction of a treatment after what was done before, each at its gain, over the first half.
fn mean_gone(
    car: &Car,
    drawn: &Drawn,
    (before, gain_before): (&Before, Gain),
    (treatment, gain): (&Treatment, Gain),
    factors: &[f64],
) -> f64 {
    let half = drawn.first_half();
    let sample = half.clone().step_by(half.len().div_ceil(MOST_SAMPLED));
    let of = |(i, d): (usize, usize)| {
        let factor = |gain: Gain| (1.0 + gain.drawn(drawn.hand(d))) * factors[d] * drawn.panel_factor(d, i % car.panels.len());
        treatment.correction(drawn, d, factor(gain), before.taking(factor(gain_before)))
    };
    sample.clone().enumerate().map(of).sum::<f64>() / sample.len() as f64
}

/// A tile's choices under one combined level.
struct Options<'a> {
    car: &'a Car,
    treatments: &'a [Treatment],
    /// Film that each treatment takes, by draw, um.
    taken: &'a [Vec<f32>],
    /// By part of the tile, what each treatment comes to by cell, after what was done there before.
    worked: &'a [&'a [ByCell]],
    weight: f64,
    tile: &'a TileRoom,
    /// Mean of the factor by which the panel's rates differ.
    factor: f64,
    /// Whether each treatment's pads have room on the panel.
    fits: &'a [bool],
}

impl Options<'_> {
    /// One choice a treatment, from the tile's rooms above the floor and its depths above nothing (where that is limited), by blend and draw.
    fn at(&self, level: usize, rooms: &[Vec<f32>], depths: Option<&[Vec<f32>]>) -> Vec<Choice> {
        let blend = |t: usize| self.treatments[t].blend;
        let one = |t: usize| self.one(level, t, rooms.get(blend(t)), depths.and_then(|d| d.get(blend(t))));
        (0..self.treatments.len()).map(one).collect()
    }

    fn one(&self, level: usize, t: usize, room: Option<&Vec<f32>>, depth: Option<&Vec<f32>>) -> Choice {
        let treatment = &self.treatments[t];
        let mut choice = Choice {
            value: 0.0,
            film: 0.0,
            risk: 0.0,
            below: Vec::new(),
            through: Vec::new(),
            fits: self.fits[t],
            within_spend: true,
            allowed: true,
        };
        let Some(room) = room.filter(|_| !treatment.steps.is_empty()) else { return choice };
        if !choice.fits || !self.tile.may_be_worked || self.tile.worked(level).next().is_none() {
            // Its pads have no room, the topcoat was gone through there, or nothing is left to work between what is kept off.
            choice.allowed = false;
            return choice;
        }
        let (limits, mean_um) = (self.car.limits, treatment.mean_um * self.factor);
        let mut most_um = 0.0_f64;
        let parts = self.tile.parts.iter().zip(self.worked).filter(|(part, _)| self.tile.is_worked(part, level));
        for (part, worked) in parts {
            let share = self.weight * part.count() / self.tile.nodes;
            choice.value += share * worked[t].gone[part.cell];
            choice.film += share * mean_um * (1.0 + worked[t].gain[part.cell]);
            let taken_before_um = self.tile.before_at(part).mean_um * self.factor * (1.0 + part.gain_before.mean);
            most_um = most_um.max(mean_um * (1.0 + part.gains[treatment.blend].mean) + taken_before_um);
        }
        let draws = room.len() as f64;
        choice.risk = count_greater(&self.taken[t], room) as f64 / draws;
        choice.within_spend = limits.spend.is_none_or(|spend| most_um <= spend.micrometres());
        choice.allowed = choice.within_spend && choice.risk <= WORTH_LISTING * limits.risk;
        if let (Some(depth), Some(limit)) = (depth, limits.through_risk) {
            choice.allowed &= count_greater(&self.taken[t], depth) as f64 / draws <= WORTH_LISTING * limit;
            if choice.allowed {
                choice.through = which(&self.taken[t], depth);
            }
        }
        if choice.allowed {
            choice.below = which(&self.taken[t], room);
        }
        choice.allowed &= self.tile.before.leaves_sets_for(&treatment.steps);
        choice
    }
}

/// Tiles of a panel that share a border with tile `number`.
fn neighbours(tiles: &[TileRoom], number: usize) -> impl Iterator<Item = usize> + '_ {
    let (c, r) = (tiles[number].tile.column, tiles[number].tile.row);
    let beside = move |s: &TileRoom| s.tile.column.abs_diff(c) + s.tile.row.abs_diff(r) == 1;
    (0..tiles.len()).filter(move |&n| beside(&tiles[n]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example::{EFFORT, car, with_made};

    #[test]
    fn a_treatment_with_nothing_left_to_work_is_not_allowed() {
        with_made(&car(), EFFORT, |made| {
            let mut empty = 0;
            for tile in &made.problem.tiles {
                let panel = made.problem.panels[tile.panel].panel;
                let room = &made.rooms[panel].as_ref().unwrap().tiles[tile.number];
                for (level, options) in tile.options.iter().enumerate() {
                    assert!(options[0].allowed);
                    if room.worked(level).next().is_none() {
                        empty += 1;
                        assert!(options[1..].iter().all(|o| !o.allowed));
                    }
                }
            }
            // A sill of 160 mm has no middle when both long edges are kept off by 100 mm.
            assert!(empty > 0);
        });
    }

    #[test]
    fn what_is_listed_is_what_goes_wrong_in_the_first_half() {
        with_made(&car(), EFFORT, |made| {
            let half = made.drawn.first_half();
            for tile in &made.problem.tiles {
                let panel = made.problem.panels[tile.panel].panel;
                let room = &made.rooms[panel].as_ref().unwrap().tiles[tile.number];
                let floor_um = made.car.limits.floor.micrometres();
                let above = |blend| Above { drawn: made.drawn, panel, draws: half.clone(), floor_um, blend };
                for (level, options) in tile.options.iter().enumerate().step_by(7) {
                    for (option, treatment) in options.iter().zip(made.treatments).filter(|(o, _)| o.allowed) {
                        let rooms = room.room(&above(treatment.blend), level);
                        let wrong =
                            half.clone().filter(|&d| treatment.removal_um(made.drawn, d) as f32 > rooms[d] && !treatment.steps.is_empty());
                        assert_eq!(option.below, wrong.map(|d| d as u32).collect::<Vec<_>>());
                    }
                }
            }
        });
    }
}
