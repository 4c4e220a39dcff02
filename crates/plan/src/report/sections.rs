//! One panel's sections, told.

use std::collections::BTreeMap;

use lastmicron_film::grid::Grid;

use super::unmeasured;
use super::{Made, Verdict, interval, quantile, sentences, spread};
use crate::before::{Before, SetsOfEach};
use crate::drawn::Drawn;
use crate::gain::{Gain, Nearness};
use crate::outcome::{Interval, SectionPlan, Spread};
use crate::room::{Part, TileRoom, tiles};
use crate::through;
use crate::tiling::{Joined, Tile, join};
use crate::treatment::Treatment;

/// Most films of the second half on which corrections and what is left are told: enough for percentiles to a few per cent of their spread.
const TOLD_FILMS: usize = 600;

/// A panel's sections, and its correction in each of the told draws.
pub(crate) struct Told {
    pub(crate) sections: Vec<SectionPlan>,
    /// By section, the sets of each process, those done before counted in.
    pub(crate) in_all: Vec<SetsOfEach>,
    pub(crate) correction: Vec<f64>,
    /// The level at which every strip is kept off, where that isn't the search's choice.
    pub(crate) kept_off: Option<usize>,
}

/// The draws on which sections are told: one a film, taken evenly from all of the half, for films of one kind of field stand together.
pub(super) fn told_draws(made: &Made) -> impl ExactSizeIterator<Item = usize> + Clone + use<> {
    let half = made.drawn.film.second_half();
    let step = half.len().div_ceil(TOLD_FILMS).max(1);
    half.step_by(step).map(Drawn::first_with)
}

/// Tells panel `panel`.
pub(crate) fn tell(made: &Made, verdict: &Verdict, panel: usize) -> Told {
    if !made.car.panels[panel].work {
        return nothing(made, panel, |_| "to stay as it is: the job says so");
    }
    let Some(room) = &made.rooms[panel] else { return unmeasured::tell(made, panel) };
    let Some(p) = made.problem.panels.iter().position(|p| p.panel == panel) else {
        return nothing(made, panel, |_| "nothing of it to plan");
    };
    let of_problem = &made.problem.panels[p].tiles;
    let each = || of_problem.iter().zip(&room.tiles);
    let after: Vec<Vec<f64>> = each().map(|(&i, tile)| smallest_after(made, verdict, panel, tile, i)).collect();
    let gone: Vec<Vec<f64>> = each()
        .map(|(&i, tile)| {
            let level = verdict.chosen.level(made.problem, i);
            corrections(made, &made.treatments[verdict.chosen.treatment[i]], tile, level)
        })
        .collect();
    // Alike are tiles that are treated alike and were before, for a like reason.
    let alike: Vec<([usize; 2], bool)> =
        each().map(|(&i, tile)| ([verdict.chosen.treatment[i], made.problem.tiles[i].before], tile.may_be_worked)).collect();
    let of_tiles = Tiles { rooms: &room.tiles, of_problem, after: &after, gone: &gone };
    let joined = join_rooms(&room.tiles, &alike);
    let sections: Vec<SectionPlan> = joined.iter().map(|joined| of_tiles.tell(made, verdict, joined)).collect();
    let in_all = sections.iter().zip(&joined).map(|(s, joined)| room.tiles[joined.tiles[0]].before.and(&s.steps)).collect();
    let correction = mean_by_area(&room.tiles, &gone, 0..room.tiles.len(), told_draws(made).len());
    Told { sections, in_all, correction, kept_off: None }
}

/// A panel left alone, for a reason by number of the tile: what is gone of it is what was gone already.
pub(super) fn nothing<'w>(made: &Made, panel: usize, why: impl Fn(usize) -> &'w str) -> Told {
    let rooms = tiles(made.car, made.drawn, made.blends, panel, &Grid::of(&made.car.panels[panel].panel));
    let gone: Vec<Vec<f64>> = rooms.iter().map(|tile| corrections(made, &Treatment::nothing(), tile, 0)).collect();
    let alike: Vec<(usize, bool)> = rooms.iter().map(|tile| (number_of_before(&rooms, tile), tile.may_be_worked)).collect();
    let joined = join_rooms(&rooms, &alike);
    let draws = told_draws(made).len();
    let told = |joined: &Joined| SectionPlan {
        correction: interval(mean_by_area(&rooms, &gone, joined.tiles.iter().copied(), draws)),
        ..left_alone(&joined.whole, why(joined.tiles[0]))
    };
    Told {
        sections: joined.iter().map(told).collect(),
        in_all: joined.iter().map(|joined| rooms[joined.tiles[0]].before.and(&[])).collect(),
        correction: mean_by_area(&rooms, &gone, 0..rooms.len(), draws),
        kept_off: None,
    }
}

/// The first of a panel's tiles on which the same was done before as on this one.
pub(super) fn number_of_before(rooms: &[TileRoom], tile: &TileRoom) -> usize {
    rooms.iter().position(|other| other.before == tile.before).unwrap_or_default()
}

/// Joins tiles that are alike, by what is given of each.
pub(super) fn join_rooms<A: PartialEq>(rooms: &[TileRoom], alike: &[A]) -> Vec<Joined> {
    let number = |of: &A| alike.iter().position(|other| other == of).unwrap_or_default();
    join(&rooms.iter().map(|room| room.tile).collect::<Vec<_>>(), &alike.iter().map(number).collect::<Vec<_>>())
}

/// What is known of a panel's tiles, by told draw.
struct Tiles<'a> {
    rooms: &'a [TileRoom],
    /// Each tile's index in the problem.
    of_problem: &'a [usize],
    /// Smallest topcoat left, um.
    after: &'a [Vec<f64>],
    /// Share of defects gone.
    gone: &'a [Vec<f64>],
}

impl Tiles<'_> {
    /// Tells tiles that are joined to one section. In the sums each keeps a factor of its own on the rates, which counts their common risk a
    /// little too high.
    fn tell(&self, made: &Made, verdict: &Verdict, joined: &Joined) -> SectionPlan {
        let of_problem: Vec<usize> = joined.tiles.iter().map(|&t| self.of_problem[t]).collect();
        let number = verdict.chosen.treatment[of_problem[0]];
        let treatment = &made.treatments[number];
        let factor = &self.rooms[joined.tiles[0]].factor;
        let removal: Vec<f64> = made.drawn.second_half().map(|d| treatment.removal_um(made.drawn, d) * f64::from(factor[d])).collect();
        let mut after: Vec<f64> = (0..self.after[joined.tiles[0]].len())
            .map(|d| joined.tiles.iter().map(|&t| self.after[t][d]).fold(f64::INFINITY, f64::min))
            .collect();
        after.sort_by(f64::total_cmp);
        let told = SectionPlan {
            x_mm: joined.whole.x_mm,
            y_mm: joined.whole.y_mm,
            width_mm: joined.whole.width_mm,
            height_mm: joined.whole.height_mm,
            steps: treatment.steps.clone(),
            removal_um: spread(&removal),
            topcoat_after_p05_um: quantile(&after, 0.05),
            topcoat_after_p50_um: quantile(&after, 0.5),
            correction: interval(mean_by_area(self.rooms, self.gone, joined.tiles.iter().copied(), after.len())),
            risk: verdict.below(of_problem.iter().copied()),
            through_risk: verdict.through(of_problem.iter().copied()),
            minutes: of_problem.iter().map(|&i| made.problem.tiles[i].minutes[number]).sum(),
            why: String::new(),
        };
        let first = &self.rooms[joined.tiles[0]];
        let car_panel = &made.car.panels[made.problem.panels[made.problem.tiles[of_problem[0]].panel].panel];
        let why =
            if first.may_be_worked { sentences::why(made, verdict, (&of_problem, &first.before), &told) } else { through::why(car_panel) };
        SectionPlan { why, ..told }
    }
}

/// Mean over `tiles` by their areas, by told draw.
pub(super) fn mean_by_area(
    rooms: &[TileRoom],
    of_tiles: &[Vec<f64>],
    tiles: impl Iterator<Item = usize> + Clone,
    draws: usize,
) -> Vec<f64> {
    let area: f64 = tiles.clone().map(|t| rooms[t].area_m2).sum();
    let mut mean = vec![0.0; draws];
    for t in tiles {
        mean.iter_mut().zip(&of_tiles[t]).for_each(|(m, v)| *m += v * rooms[t].area_m2 / area);
    }
    mean
}

/// A section left alone, of whose film nothing is told.
pub(super) fn left_alone(tile: &Tile, why: &str) -> SectionPlan {
    SectionPlan {
        x_mm: tile.x_mm,
        y_mm: tile.y_mm,
        width_mm: tile.width_mm,
        height_mm: tile.height_mm,
        steps: Vec::new(),
        removal_um: Spread { mean: 0.0, sd: 0.0 },
        topcoat_after_p05_um: f64::NAN,
        topcoat_after_p50_um: f64::NAN,
        correction: Interval { mean: 0.0, p05: 0.0, p95: 0.0 },
        risk: 0.0,
        through_risk: 0.0,
        minutes: 0.0,
        why: why.to_owned(),
    }
}

/// Share of a tile's defects gone in all under `treatment`, by told draw; at places kept off at the combined `level` no more than was gone already.
pub(super) fn corrections(made: &Made, treatment: &Treatment, tile: &TileRoom, level: usize) -> Vec<f64> {
    let (gains, nothing) = (&made.drawn.knowledge.gains, Treatment::nothing());
    let blend = made.blends.get(treatment.blend).filter(|_| !treatment.steps.is_empty());
    let mut counts: BTreeMap<(usize, bool, bool), (&Before, f64)> = BTreeMap::new();
    for part in &tile.parts {
        let is_worked = blend.is_some() && tile.is_worked(part, level);
        let before = tile.before_at(part);
        if is_worked || !before.is_nothing() {
            counts.entry((part.cell, is_worked, part.is_untouched)).or_insert((before, 0.0)).1 += part.count();
        }
    }
    let of = |((cell, is_worked, _), (before, count)): ((usize, bool, bool), (_, f64))| {
        let near = Nearness::of_cell(cell);
        let (treatment, blend) = if is_worked { (treatment, blend) } else { (&nothing, None) };
        let gain = blend.map_or(Gain::default(), |blend| gains.at(blend, near));
        let gain_before = Before::gain(before, made.drawn, near);
        (treatment, gain, (before, gain_before), count)
    };
    let places: Vec<(&Treatment, Gain, (&Before, Gain), f64)> = counts.into_iter().map(of).collect();
    told_draws(made)
        .map(|d| {
            let factor = |gain: Gain| f64::from(tile.factor[d]) * (1.0 + gain.drawn(made.drawn.hand(d)));
            let of_cell = |&(treatment, gain, (before, gain_before), count): &(&Treatment, Gain, (&Before, Gain), f64)| {
                count * treatment.correction(made.drawn, d, factor(gain), before.taking(factor(gain_before)))
            };
            places.iter().map(of_cell).sum::<f64>() / tile.nodes
        })
        .collect()
}

/// Smallest topcoat left on a worked place of a tile (on any place of one left alone), by told draw, um.
fn smallest_after(made: &Made, verdict: &Verdict, panel: usize, tile: &TileRoom, i: usize) -> Vec<f64> {
    let treatment = &made.treatments[verdict.chosen.treatment[i]];
    let level = verdict.chosen.level(made.problem, i);
    let parts: Vec<&Part> = tile.parts.iter().filter(|p| treatment.steps.is_empty() || tile.is_worked(p, level)).collect();
    let left = |d: usize| {
        let middle = treatment.removal_um(made.drawn, d) * f64::from(tile.factor[d]);
        let gain = |p: &Part| p.gains.get(treatment.blend).map_or(0.0, |gain| gain.drawn(made.drawn.hand(d)));
        let left = |p: &&Part| f64::from(p.least_um[Drawn::film_of(d)]) - middle * (1.0 + gain(p));
        parts.iter().map(left).fold(f64::INFINITY, f64::min) - made.drawn.undercoat_um(d, panel)
    };
    told_draws(made).map(left).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::choose::Effort;
    use crate::example::{EFFORT, car, with_made};

    #[test]
    fn told_films_are_taken_from_all_of_the_second_half() {
        let effort = Effort { draws: 2 * TOLD_FILMS + 1, ..EFFORT };
        with_made(&car(), effort, |made| {
            let half = made.drawn.film.second_half();
            let films: Vec<usize> = told_draws(made).map(Drawn::film_of).collect();
            assert_eq!(films[0], half.start);
            let steps: Vec<usize> = films.windows(2).map(|w| w[1] - w[0]).collect();
            assert!(steps.iter().all(|s| *s == steps[0]));
            assert!(films[films.len() - 1] + steps[0] >= half.end);
        });
    }
}
