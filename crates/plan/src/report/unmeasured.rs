//! Panels that no gauge has read: planned by the spend and the mildest process, and marked.

use lastmicron_film::grid::Grid;

use super::sections::{Told, corrections, left_alone, mean_by_area, nothing, told_draws};
use super::{Made, interval, spread};
use crate::fit::fits;
use crate::levels::strips;
use crate::outcome::SectionPlan;
use crate::room::{TileRoom, bare_tiles, tiles};
use crate::tiling::join;
use crate::treatment::Treatment;

/// Level at which edges are kept off on a panel of unknown film: with the usual reach the gain at that distance is a seventh of that at the edge.
const KEPT_OFF: usize = 1;

/// Treatment of a panel that isn't measured, or why there is none.
fn treatment<'a>(made: &'a Made, panel: usize) -> Result<&'a Treatment, &'static str> {
    if made.car.panels[panel].work && share_to_work(made, panel) <= 0.0 {
        return Err("not measured, and all of it lies where edges are kept off: left alone");
    }
    if made.car.panels[panel].work && !made.treatments.iter().any(|t| t.steps.len() == 1 && fits(made.car, panel, &t.steps)) {
        return Err("not measured, and narrower than the mildest process's pad: left alone");
    }
    let wanted = within_spend(made, panel).ok_or("not measured, and no spend that a mild set would keep to: left alone")?;
    let fits = minutes(made, panel, wanted) <= minutes_left(made, panel);
    fits.then_some(wanted).ok_or("not measured, and the hours are too short for it: left alone")
}

/// Minutes of the hours that panels not measured leave to others, those from panel `end` on left out. They come first, in the order of the job,
/// each while the hours last: what they gain is not weighed against the others' risk, which has no counterpart there.
pub(crate) fn minutes_left(made: &Made, end: usize) -> f64 {
    (0..end).filter(|&k| !made.drawn.knowledge.posterior.is_measured(k)).fold(made.car.goal.hours * 60.0, |left, k| {
        let wanted = within_spend(made, k).map_or(0.0, |t| minutes(made, k, t));
        if wanted <= left { left - wanted } else { left }
    })
}

/// Minutes of `treatment` on the tiles of a panel that have a place to work.
fn minutes(made: &Made, panel: usize, treatment: &Treatment) -> f64 {
    treatment.minutes_per_m2 * made.car.panels[panel].panel.area_m2() * share_to_work(made, panel)
}

/// Share of a panel's area that lies on tiles with a place to work. Areas of tiles that an outline cuts are counted by places, and need not add up
/// to the panel's.
fn share_to_work(made: &Made, panel: usize) -> f64 {
    let grid = Grid::of(&made.car.panels[panel].panel);
    let rooms = bare_tiles(made.car, made.drawn, made.blends, panel, &grid);
    let area_m2 = |has_place: bool| -> f64 {
        rooms.iter().filter(|tile| !has_place || tile.worked(level(made, panel, tile)).next().is_some()).map(|tile| tile.area_m2).sum()
    };
    let all = area_m2(false);
    if all > 0.0 { area_m2(true) / all } else { 0.0 }
}

/// The combined level of `tile` with every edge kept off.
fn level(made: &Made, panel: usize, tile: &TileRoom) -> usize {
    tile.levels.combined(&vec![KEPT_OFF; strips(&made.car.panels[panel]).len()])
}

/// The most sets of the mildest process that the spend allows and the goal asks for; none without a spend.
fn within_spend<'a>(made: &'a Made, panel: usize) -> Option<&'a Treatment> {
    let car = made.car;
    let spend = car.limits.spend.filter(|_| car.panels[panel].work)?;
    let single = |t: &&Treatment| t.steps.len() == 1 && fits(car, panel, &t.steps);
    let mildest = made.treatments.iter().filter(single).min_by(|a, b| a.mean_um.total_cmp(&b.mean_um))?;
    let gain = 1.0 + most_gain(made, panel, mildest);
    let allowed = |t: &&Treatment| t.steps[0].process == mildest.steps[0].process && t.mean_um * gain <= spend.micrometres();
    let mut fitting: Vec<&Treatment> = made.treatments.iter().filter(single).filter(allowed).collect();
    fitting.sort_by(|a, b| a.mean_um.total_cmp(&b.mean_um));
    let enough = fitting.iter().position(|t| t.correction >= car.goal.correction);
    enough.map(|i| fitting[i]).or_else(|| fitting.last().copied())
}

/// The largest mean gain of a treatment at any place of a panel that is not kept off.
fn most_gain(made: &Made, panel: usize, treatment: &Treatment) -> f64 {
    let rooms = bare_tiles(made.car, made.drawn, made.blends, panel, &Grid::of(&made.car.panels[panel].panel));
    let worked = rooms.iter().flat_map(|tile| tile.worked(level(made, panel, tile)));
    worked.map(|part| part.gains[treatment.blend].mean).fold(0.0, f64::max)
}

/// Tells a panel without readings.
pub(super) fn tell(made: &Made, panel: usize) -> Told {
    let treatment = match treatment(made, panel) {
        Ok(treatment) => treatment,
        Err(why) => return nothing(made, panel, why),
    };
    let of = &made.car.panels[panel];
    let rooms = tiles(made.car, made.drawn, made.blends, panel, &Grid::of(&of.panel));
    let level = |tile: &TileRoom| level(made, panel, tile);
    let gone: Vec<Vec<f64>> = rooms.iter().map(|tile| corrections(made, treatment, tile, level(tile))).collect();
    // Alike are tiles that have a place to work, and tiles that have none.
    let has_place: Vec<usize> = rooms.iter().map(|tile| usize::from(tile.worked(level(tile)).next().is_some())).collect();
    let area_m2: f64 = rooms.iter().zip(&has_place).filter(|(_, has)| **has > 0).map(|(tile, _)| tile.area_m2).sum();
    let minutes_per_m2 = minutes(made, panel, treatment) / area_m2;
    let draws = told_draws(made);
    let sections = join(&rooms.iter().map(|tile| tile.tile).collect::<Vec<_>>(), &has_place)
        .iter()
        .map(|joined| {
            if has_place[joined.tiles[0]] == 0 {
                return left_alone(&joined.whole, "not measured, and all of it lies where edges are kept off: left alone");
            }
            let factor = &rooms[joined.tiles[0]].factor;
            let removal: Vec<f64> = draws.clone().map(|d| treatment.removal_um(made.drawn, d) * f64::from(factor[d])).collect();
            SectionPlan {
                steps: treatment.steps.clone(),
                risk: f64::NAN,
                through_risk: f64::NAN,
                removal_um: spread(&removal),
                correction: interval(mean_by_area(&rooms, &gone, joined.tiles.iter().copied(), draws.len())),
                minutes: minutes_per_m2 * joined.tiles.iter().map(|&t| rooms[t].area_m2).sum::<f64>(),
                ..left_alone(&joined.whole, "not measured: the mildest process, within the spend; its risk is not known")
            }
        })
        .collect();
    Told { sections, correction: mean_by_area(&rooms, &gone, 0..rooms.len(), draws.len()), kept_off: Some(KEPT_OFF) }
}

#[cfg(test)]
mod tests {
    use crate::choose::plan;
    use crate::example::{EFFORT, car_with_spend};
    use crate::outcome::Outcome;
    use lastmicron_film::gauge::Substrate;
    use lastmicron_film::panel::Panel;
    use lastmicron_units::Unit;

    const FLAP: usize = 2;

    fn planned(spend_um: f64, hours: f64) -> Outcome {
        let mut car = car_with_spend(spend_um);
        car.goal.hours = hours;
        plan(&car, EFFORT, Unit::Micrometre).unwrap()
    }

    #[test]
    fn a_three_sided_panel_takes_the_minutes_of_its_area_and_the_hours_hold() {
        // One set of the mildest: 12 minutes a square metre on 0.9 x 0.7 / 2 = 0.315 m2 is 3.78 minutes.
        let outcome = planned(0.7, 3.9 / 60.0);
        let minutes: f64 = outcome.plan.panels[FLAP].sections.iter().map(|s| s.minutes).sum();
        assert!(minutes > 3.0 && minutes < 3.78 + 1e-9, "{minutes}");
        assert!(outcome.plan.hours <= 3.9 / 60.0 + 1e-9);
        let short = planned(0.7, 3.7 / 60.0);
        assert!(short.plan.panels[FLAP].sections.iter().all(|s| s.steps.is_empty()));
    }

    #[test]
    fn sections_with_more_of_them_kept_off_gain_less_and_the_spend_holds() {
        let outcome = planned(0.7, 40.0);
        let flap = &outcome.plan.panels[FLAP];
        assert!(!flap.keep_off.is_empty());
        let worked: Vec<_> = flap.sections.iter().filter(|s| !s.steps.is_empty()).collect();
        assert!(!worked.is_empty());
        let most = worked.iter().map(|s| s.correction.mean).fold(0.0, f64::max);
        let least = worked.iter().map(|s| s.correction.mean).fold(1.0, f64::min);
        assert!(least < most - 0.02, "{least} {most}");
        assert!(worked.iter().all(|s| s.removal_um.mean <= 0.7));
    }

    #[test]
    fn the_risk_of_what_is_worked_without_readings_is_not_known() {
        let outcome = planned(0.7, 40.0);
        let flap = &outcome.plan.panels[FLAP];
        assert!(flap.is_worked() && flap.risk.is_nan());
        assert!(flap.sections.iter().all(|s| s.risk.is_nan() != s.steps.is_empty()));
        assert_eq!(outcome.plan.not_counted(), ["flap"]);
        assert!(outcome.plan.risk.is_finite());
        let mut car = car_with_spend(0.7);
        car.panels[..FLAP].iter_mut().for_each(|p| p.work = false);
        let only = plan(&car, EFFORT, Unit::Micrometre).unwrap().plan;
        assert!(only.risk.is_nan() && only.through_risk.is_nan());
    }

    #[test]
    fn a_strip_that_is_all_edge_takes_no_minutes_and_names_no_edges() {
        let mut car = car_with_spend(0.7);
        car.panels[FLAP].panel = Panel::rectangle("flap", 900.0, 40.0, Substrate::Plastic);
        let outcome = plan(&car, EFFORT, Unit::Micrometre).unwrap();
        let flap = &outcome.plan.panels[FLAP];
        assert!(!flap.is_worked() && flap.keep_off.is_empty() && flap.risk.abs() < 1e-12);
        car.panels[FLAP].work = false;
        let without = plan(&car, EFFORT, Unit::Micrometre).unwrap();
        assert!((without.plan.hours - outcome.plan.hours).abs() < 1e-9);
    }
}
