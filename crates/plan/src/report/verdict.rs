//! A choice, judged on draws that were not used to make it.

use rayon::prelude::*;

use super::Made;
use crate::car::Limits;
use crate::chosen::Chosen;
use crate::hazard::{Hazard, Wrong, which};
use crate::room::Above;

/// What a choice does in the draws of the second half.
pub(crate) struct Verdict<'a> {
    made: &'a Made<'a>,
    pub(super) chosen: &'a Chosen,
    /// Film that each treatment takes, by draw of the second half, um.
    taken_um: Vec<Vec<f32>>,
    /// By tile of the problem: where what is chosen goes wrong, counted from the second half's first draw.
    tiles: Vec<Wrong>,
    /// By tile of the problem: where what was worked before stands wrong already.
    standing: Vec<Wrong>,
    /// What the whole choice comes to.
    pub(crate) all: Totals,
}

/// What a choice comes to on measured panels.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Totals {
    /// Chance that any place that is worked, or was before, ends below the floor.
    pub(crate) below: f64,
    /// Chance that any such place reaches the undercoat.
    pub(crate) through: f64,
    pub(crate) minutes: f64,
}

impl Totals {
    /// Whether its chances are more than the limits allow.
    pub(crate) fn is_beyond(&self, limits: Limits) -> bool {
        self.below > limits.risk || limits.through_risk.is_some_and(|limit| self.through > limit)
    }
}

impl<'a> Verdict<'a> {
    pub(crate) fn of(made: &'a Made<'a>, chosen: &'a Chosen) -> Self {
        let half = made.drawn.second_half();
        let taken = |t: &crate::treatment::Treatment| half.clone().map(|d| t.removal_um(made.drawn, d) as f32).collect();
        let taken_um = made.treatments.iter().map(taken).collect();
        let mut verdict = Self { made, chosen, taken_um, tiles: Vec::new(), standing: Vec::new(), all: Totals::default() };
        let floor_um = made.car.limits.floor.micrometres();
        let wrong = |i: usize| {
            let treatment = chosen.treatment[i];
            Wrong { below: verdict.wrong(i, treatment, floor_um), through: verdict.wrong(i, treatment, 0.0) }
        };
        let everywhere = 0..made.problem.tiles.len();
        verdict.tiles = everywhere.clone().into_par_iter().map(wrong).collect();
        let standing = |i: usize| Wrong { below: verdict.stands_below(i, floor_um), through: verdict.stands_below(i, 0.0) };
        verdict.standing = everywhere.clone().into_par_iter().map(standing).collect();
        let minutes = everywhere.clone().map(|i| made.problem.tiles[i].minutes[chosen.treatment[i]]).sum();
        verdict.all = Totals { below: verdict.below(everywhere.clone()), through: verdict.through(everywhere), minutes };
        verdict
    }

    /// Draws in which tile `i` would end below `floor_um` at a worked place under `treatment`, edges kept off as chosen.
    fn wrong(&self, i: usize, treatment: usize, floor_um: f64) -> Vec<u32> {
        let tile = &self.made.problem.tiles[i];
        let panel = self.made.problem.panels[tile.panel].panel;
        let Some(room) = self.made.rooms[panel].as_ref().filter(|_| treatment != 0) else { return Vec::new() };
        let level = self.chosen.level(self.made.problem, i);
        let blend = self.made.treatments[treatment].blend;
        let above = Above { drawn: self.made.drawn, panel, draws: self.made.drawn.second_half(), floor_um, blend };
        which(&self.taken_um[treatment], &room.tiles[tile.number].room(&above, level))
    }

    /// Draws in which a place of tile `i` that was worked before is below `floor_um` as it stands.
    fn stands_below(&self, i: usize, floor_um: f64) -> Vec<u32> {
        let tile = &self.made.problem.tiles[i];
        let panel = self.made.problem.panels[tile.panel].panel;
        let Some(room) = self.made.rooms[panel].as_ref() else { return Vec::new() };
        room.tiles[tile.number].stands_below(self.made.drawn, panel, self.made.drawn.second_half(), floor_um)
    }

    /// Chance that a place of any of `tiles` that is worked, or was before, ends below the floor.
    pub(crate) fn below(&self, tiles: impl Iterator<Item = usize>) -> f64 {
        self.any(tiles.flat_map(|i| [&self.tiles[i].below, &self.standing[i].below]))
    }

    /// Chance that a place of any of `tiles` that is worked, or was before, reaches the undercoat.
    pub(crate) fn through(&self, tiles: impl Iterator<Item = usize>) -> f64 {
        self.any(tiles.flat_map(|i| [&self.tiles[i].through, &self.standing[i].through]))
    }

    /// What the work done before comes to as it stands.
    pub(crate) fn stands(&self) -> Totals {
        let any = |of: fn(&Wrong) -> &Vec<u32>| self.any(self.standing.iter().map(of));
        Totals { below: any(|wrong| &wrong.below), through: any(|wrong| &wrong.through), minutes: 0.0 }
    }

    /// The chance of [`Self::below`] if all of `tiles` were given `treatment`.
    pub(super) fn below_under(&self, tiles: &[usize], treatment: usize) -> f64 {
        self.under(tiles, treatment, self.made.car.limits.floor.micrometres(), |standing| &standing.below)
    }

    /// The chance of [`Self::through`] if all of `tiles` were given `treatment`.
    pub(super) fn through_under(&self, tiles: &[usize], treatment: usize) -> f64 {
        self.under(tiles, treatment, 0.0, |standing| &standing.through)
    }

    fn under(&self, tiles: &[usize], treatment: usize, floor_um: f64, of_standing: fn(&Wrong) -> &Vec<u32>) -> f64 {
        let wrong: Vec<Vec<u32>> = tiles.iter().map(|&i| self.wrong(i, treatment, floor_um)).collect();
        self.any(wrong.iter().chain(tiles.iter().map(|&i| of_standing(&self.standing[i]))))
    }

    fn any<'b>(&self, lists: impl Iterator<Item = &'b Vec<u32>>) -> f64 {
        let mut hazard = Hazard::new(self.made.drawn.second_half().len());
        lists.for_each(|list| hazard.add(list));
        hazard.risk()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::choose::choose;
    use crate::drawn::Drawn;
    use crate::example::{EFFORT, car, with_made};

    #[test]
    fn draws_go_wrong_where_the_second_half_has_no_room_for_what_is_taken() {
        with_made(&car(), EFFORT, |made| {
            let chosen = choose(made, EFFORT.seed);
            let verdict = Verdict::of(made, &chosen);
            let mut wrong = 0;
            for d in made.drawn.second_half() {
                wrong += usize::from(made.problem.tiles.iter().zip(&chosen.treatment).any(|(tile, &treatment)| {
                    let panel = made.problem.panels[tile.panel].panel;
                    let room = &made.rooms[panel].as_ref().unwrap().tiles[tile.number];
                    let taken = made.treatments[treatment].removal_um(made.drawn, d) * f64::from(room.factor[d]);
                    let level = tile.levels.combined(&chosen.levels[tile.panel]);
                    let left = |p: &crate::room::Part| {
                        let gain = 1.0 + p.gains[made.treatments[treatment].blend].drawn(made.drawn.hand(d));
                        f64::from(p.least_um[Drawn::film_of(d)]) - made.drawn.undercoat_um(d, panel) - taken * gain
                    };
                    treatment != 0 && room.worked(level).any(|p| left(p) < 15.0)
                }));
            }
            let all = made.drawn.second_half().len();
            assert!(wrong > 0);
            assert!((verdict.below(0..made.problem.tiles.len()) * all as f64 - wrong as f64).abs() < 1.5, "{wrong}");
        });
    }

    #[test]
    fn a_section_has_the_risk_of_all_its_tiles_now_and_under_another_treatment() {
        with_made(&car(), EFFORT, |made| {
            let chosen = choose(made, EFFORT.seed);
            let verdict = Verdict::of(made, &chosen);
            let tiles: Vec<usize> = made.problem.panels[0].tiles.clone();
            let strongest = made.treatments.len() - 1;
            let alone: Vec<f64> = tiles.iter().map(|&i| verdict.below_under(&[i], strongest)).collect();
            let together = verdict.below_under(&tiles, strongest);
            let largest = alone.iter().copied().fold(0.0, f64::max);
            assert!(largest > 0.0 && together >= largest && together <= alone.iter().sum::<f64>() + 1e-12);
            for &i in &tiles {
                let now = verdict.below([i].into_iter());
                assert!((verdict.below_under(&[i], chosen.treatment[i]) - now).abs() < 1e-12);
                assert!(verdict.below_under(&[i], 0).abs() < 1e-12);
            }
            assert!(verdict.through(tiles.iter().copied()) <= verdict.below(tiles.iter().copied()));
        });
    }
}
