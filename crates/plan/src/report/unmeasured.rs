//! Panels that no gauge has read: planned by the spend and the mildest process, and marked.

use lastmicron_film::grid::Grid;

use super::sections::{Told, corrections, left_alone, mean_by_area, nothing, told_draws};
use super::{Made, interval, spread};
use crate::outcome::{KeepOff, SectionPlan};
use crate::problem::combined;
use crate::room::{KEEP_OFF_MM, TileRoom, edge_groups, tiles};
use crate::tiling::join;
use crate::treatment::Treatment;

/// Level at which edges are kept off on a panel of unknown film: the gain at that distance is a seventh of that at the edge.
const KEPT_OFF: usize = 1;

/// Treatment of a panel that isn't measured, or why there is none.
fn treatment<'a>(made: &'a Made, panel: usize) -> Result<&'a Treatment, &'static str> {
    let wanted = within_spend(made, panel).ok_or("not measured, and no spend that a mild set would keep to: left alone")?;
    let fits = minutes(made, panel, wanted) <= minutes_left(made, panel);
    fits.then_some(wanted).ok_or("not measured, and the hours are too short for it: left alone")
}

/// Minutes of the hours that panels not measured leave to others, those from panel `end` on left out. They come first, in the order of the job,
/// each while the hours last: what they gain is not weighed against the others' risk, which has no counterpart there.
pub(crate) fn minutes_left(made: &Made, end: usize) -> f64 {
    (0..end).filter(|&k| made.rooms[k].is_none()).fold(made.car.goal.hours * 60.0, |left, k| {
        let wanted = within_spend(made, k).map_or(0.0, |t| minutes(made, k, t));
        if wanted <= left { left - wanted } else { left }
    })
}

fn minutes(made: &Made, panel: usize, treatment: &Treatment) -> f64 {
    treatment.minutes_per_m2 * made.car.panels[panel].panel.area_m2()
}

/// The most sets of the mildest process that the spend allows and the goal asks for; none without a spend.
fn within_spend<'a>(made: &'a Made, panel: usize) -> Option<&'a Treatment> {
    let car = made.car;
    let spend = car.limits.spend.filter(|_| car.panels[panel].work)?;
    let single = |t: &&Treatment| t.steps.len() == 1;
    let mildest = made.treatments.iter().filter(single).min_by(|a, b| a.mean_um.total_cmp(&b.mean_um))?.steps[0].process;
    let gain = 1.0 + made.drawn.knowledge.edge.gain.mean * made.drawn.knowledge.edge.fall_off(KEEP_OFF_MM[KEPT_OFF]);
    let fits = |t: &&Treatment| t.steps[0].process == mildest && t.mean_um * gain <= spend.micrometres();
    let mut fitting: Vec<&Treatment> = made.treatments.iter().filter(single).filter(fits).collect();
    fitting.sort_by(|a, b| a.mean_um.total_cmp(&b.mean_um));
    let enough = fitting.iter().position(|t| t.correction >= car.goal.correction);
    enough.map(|i| fitting[i]).or_else(|| fitting.last().copied())
}

/// Tells a panel without readings.
pub(super) fn tell(made: &Made, panel: usize) -> Told {
    let treatment = match treatment(made, panel) {
        Ok(treatment) => treatment,
        Err(why) => return nothing(made, panel, why),
    };
    let of = &made.car.panels[panel];
    let rooms = tiles(made.car, made.drawn, panel, &Grid::of(&of.panel));
    let level = |tile: &TileRoom| combined(&tile.groups, &vec![KEPT_OFF; edge_groups(of).len()]);
    let gone: Vec<Vec<f64>> = rooms.iter().map(|tile| corrections(made, treatment, tile, level(tile))).collect();
    // Alike are tiles that have a place to work, and tiles that have none.
    let has_place: Vec<usize> = rooms.iter().map(|tile| usize::from(tile.worked(level(tile)).next().is_some())).collect();
    let area_m2: f64 = rooms.iter().map(|tile| tile.area_m2).sum();
    // Areas of tiles that an outline cuts are counted by places: together they take what the panel does.
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
                removal_um: spread(&removal),
                correction: interval(mean_by_area(&rooms, &gone, joined.tiles.iter().copied(), draws.len())),
                minutes: minutes_per_m2 * joined.tiles.iter().map(|&t| rooms[t].area_m2).sum::<f64>(),
                ..left_alone(&joined.whole, "not measured: the mildest process, within the spend; its risk is not known")
            }
        })
        .collect();
    let keep_off = Some((0..of.panel.outline_mm.len()).map(|edge| KeepOff { edge, mm: KEEP_OFF_MM[KEPT_OFF] }).collect());
    Told { sections, correction: mean_by_area(&rooms, &gone, 0..rooms.len(), draws.len()), keep_off }
}

#[cfg(test)]
mod tests {
    use crate::choose::plan;
    use crate::example::{EFFORT, car_with_spend};
    use crate::outcome::Outcome;

    const FLAP: usize = 2;

    fn planned(spend_um: f64, hours: f64) -> Outcome {
        let mut car = car_with_spend(spend_um);
        car.goal.hours = hours;
        plan(&car, EFFORT).unwrap()
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
    fn edges_kept_off_gain_nothing_and_take_nothing_off_the_rest() {
        let outcome = planned(0.7, 40.0);
        let flap = &outcome.plan.panels[FLAP];
        assert!(!flap.keep_off.is_empty());
        let worked: Vec<_> = flap.sections.iter().filter(|s| !s.steps.is_empty()).collect();
        assert!(!worked.is_empty());
        // The same set in the middle of the bonnet, all of whose places are worked, gains more.
        let most = worked.iter().map(|s| s.correction.mean).fold(0.0, f64::max);
        let least = worked.iter().map(|s| s.correction.mean).fold(1.0, f64::min);
        assert!(least < most - 0.02, "{least} {most}");
        assert!(worked.iter().all(|s| s.removal_um.mean <= 0.7));
    }
}
