//! The choice as numbers: for every tile, treatment and distance kept off, what it gains, costs and endangers.

use lastmicron_numerics::elementwise::count_greater;
use rayon::prelude::*;

use crate::car::Car;
use crate::drawn::Drawn;
use crate::hazard::which;
use crate::panel_room::PanelRoom;
use crate::room::{Above, GAIN_BINS_MM, KEEP_OFF_MM, TileRoom, edge_groups, least};
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
    /// Mean share of the tile's defects gone, none counted beyond the goal, times the tile's weight.
    pub(crate) value: f64,
    /// Mean film taken, um times the tile's weight.
    pub(crate) film: f64,
    /// Share of draws in which a worked place ends below the floor.
    pub(crate) risk: f64,
    /// Draws in which a worked place ends below the floor; none listed where that alone is beyond the limit.
    pub(crate) below: Vec<u32>,
    /// Draws in which a worked place reaches the undercoat; none listed where no limit is set on that, or it alone is beyond it.
    pub(crate) through: Vec<u32>,
    /// Whether the spend allows it.
    pub(crate) within_spend: bool,
    /// Whether spend and limits allow it, were this tile the only one.
    pub(crate) allowed: bool,
}

/// A tile of the problem.
#[derive(Clone, Debug)]
pub(crate) struct ProblemTile {
    /// Index among the problem's panels.
    pub(crate) panel: usize,
    /// Index among its panel's tiles.
    pub(crate) number: usize,
    /// Edge groups near enough to matter.
    pub(crate) groups: Vec<usize>,
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
    pub(crate) groups: usize,
    pub(crate) tiles: Vec<usize>,
}

/// All that a search needs.
#[derive(Clone, Debug)]
pub(crate) struct Problem {
    pub(crate) panels: Vec<ProblemPanel>,
    pub(crate) tiles: Vec<ProblemTile>,
    pub(crate) draws: usize,
    pub(crate) treatments: usize,
}

/// Combined level of a tile whose edge groups are kept off at `levels` (by group of the panel).
pub(crate) fn combined(groups: &[usize], levels: &[usize]) -> usize {
    groups.iter().rev().fold(0, |sum, &g| sum * KEEP_OFF_MM.len() + levels[g])
}

impl Problem {
    /// The problem over the measured panels that may be worked, on the draws to choose on; every treatment counted as taking `margin_um` more
    /// than it does.
    pub(crate) fn new(car: &Car, drawn: &Drawn, rooms: &[Option<PanelRoom>], treatments: &[Treatment], margin_um: f64) -> Self {
        let half = drawn.first_half();
        let taken: Vec<Vec<f32>> =
            treatments.iter().map(|t| half.clone().map(|d| (t.removal_um(drawn, d) + margin_um) as f32).collect()).collect();
        let gained: Vec<[f64; GAIN_BINS_MM.len()]> = treatments.par_iter().map(|t| gains(car, drawn, t)).collect();
        let total: f64 = car.panels.iter().filter(|p| p.work).map(|p| p.panel.area_m2() * p.visibility).sum();
        let mut problem = Self { panels: Vec::new(), tiles: Vec::new(), draws: half.len(), treatments: treatments.len() };
        for (k, room) in rooms.iter().enumerate() {
            let Some(room) = room.as_ref().filter(|_| car.panels[k].work) else { continue };
            let factor = half.clone().map(|d| drawn.panel_factor(d, k)).sum::<f64>() / half.len() as f64;
            let first = problem.tiles.len();
            let panel = problem.panels.len();
            let made: Vec<ProblemTile> = room
                .tiles
                .par_iter()
                .enumerate()
                .map(|(number, s)| {
                    let weight = s.area_m2 * car.panels[k].visibility / total;
                    let above = |floor_um: f64| Above { drawn, panel: k, draws: half.clone(), floor_um };
                    let rooms = s.part_rooms(&above(car.limits.floor.micrometres()));
                    let depths = car.limits.through_risk.map(|_| s.part_rooms(&above(0.0)));
                    let of = Options { car, drawn, treatments, taken: &taken, gained: &gained, weight, tile: s, factor };
                    let options = (0..s.levels())
                        .map(|level| {
                            let worked = |rooms: &[Vec<f32>]| {
                                least(s.parts.iter().zip(rooms).filter(|(p, _)| p.is_worked(level)).map(|(_, r)| r), half.len())
                            };
                            of.at(level, &worked(&rooms), depths.as_deref().map(worked).as_deref())
                        })
                        .collect();
                    ProblemTile {
                        panel,
                        number,
                        groups: s.groups.clone(),
                        options,
                        minutes: treatments.iter().map(|t| t.minutes_per_m2 * s.area_m2).collect(),
                        weight,
                        neighbours: neighbours(&room.tiles, number).map(|n| first + n).collect(),
                    }
                })
                .collect();
            problem.panels.push(ProblemPanel {
                panel: k,
                groups: edge_groups(&car.panels[k]).len(),
                tiles: (first..first + made.len()).collect(),
            });
            problem.tiles.extend(made);
        }
        problem
    }
}

/// Mean correction at each of [`GAIN_BINS_MM`], none counted beyond the goal: a treatment that meets the goal in the mean is as good as any.
fn gains(car: &Car, drawn: &Drawn, treatment: &Treatment) -> [f64; GAIN_BINS_MM.len()] {
    let half = drawn.first_half();
    let sample = half.clone().step_by(half.len().div_ceil(MOST_SAMPLED));
    let factors = drawn.tile_factors(NO_PANEL, 0);
    GAIN_BINS_MM.map(|mm| {
        let sum: f64 = sample
            .clone()
            .enumerate()
            .map(|(i, d)| {
                let gain = 1.0 + drawn.edge_gain[d] * drawn.knowledge.edge.fall_off(mm);
                let factor = gain * factors[d] * drawn.panel_factor(d, i % car.panels.len());
                treatment.correction(drawn, d, factor)
            })
            .sum();
        (sum / sample.len() as f64).min(car.goal.correction)
    })
}

/// A tile's choices under one combined level.
struct Options<'a> {
    car: &'a Car,
    drawn: &'a Drawn<'a>,
    treatments: &'a [Treatment],
    /// Film that each treatment takes, by draw, um.
    taken: &'a [Vec<f32>],
    /// Correction of each treatment at [`GAIN_BINS_MM`].
    gained: &'a [[f64; GAIN_BINS_MM.len()]],
    weight: f64,
    tile: &'a TileRoom,
    /// Mean of the factor by which the panel's rates differ.
    factor: f64,
}

impl Options<'_> {
    /// One choice a treatment, from the tile's `room` above the floor and its `depth` above nothing (where that is limited), by draw.
    fn at(&self, level: usize, room: &[f32], depth: Option<&[f32]>) -> Vec<Choice> {
        (0..self.treatments.len()).map(|t| self.one(level, t, room, depth)).collect()
    }

    fn one(&self, level: usize, t: usize, room: &[f32], depth: Option<&[f32]>) -> Choice {
        let treatment = &self.treatments[t];
        let mut choice =
            Choice { value: 0.0, film: 0.0, risk: 0.0, below: Vec::new(), through: Vec::new(), within_spend: true, allowed: true };
        if treatment.steps.is_empty() {
            return choice;
        }
        if self.tile.worked(level).next().is_none() {
            // Nothing is left to work between the edges kept off.
            choice.allowed = false;
            return choice;
        }
        let (limits, mean_um) = (self.car.limits, treatment.mean_um * self.factor);
        let (gain, mut most) = (self.drawn.knowledge.edge.gain.mean, 0.0_f64);
        for part in self.tile.worked(level) {
            let share = self.weight * part.count() / self.tile.nodes;
            let fall_off = self.drawn.knowledge.edge.fall_off(GAIN_BINS_MM[part.bin]);
            choice.value += share * self.gained[t][part.bin];
            choice.film += share * mean_um * (1.0 + gain * fall_off);
            most = most.max(part.fall_off);
        }
        let draws = room.len() as f64;
        choice.risk = count_greater(&self.taken[t], room) as f64 / draws;
        choice.within_spend = limits.spend.is_none_or(|spend| mean_um * (1.0 + gain * most) <= spend.micrometres());
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
                let above = Above { drawn: made.drawn, panel, draws: half.clone(), floor_um: made.car.limits.floor.micrometres() };
                for (level, options) in tile.options.iter().enumerate().step_by(7) {
                    let rooms = room.room(&above, level);
                    for (option, treatment) in options.iter().zip(made.treatments).filter(|(o, _)| o.allowed) {
                        let wrong =
                            half.clone().filter(|&d| treatment.removal_um(made.drawn, d) as f32 > rooms[d] && !treatment.steps.is_empty());
                        assert_eq!(option.below, wrong.map(|d| d as u32).collect::<Vec<_>>());
                    }
                }
            }
        });
    }
}
