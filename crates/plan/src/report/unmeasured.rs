//! Panels that no gauge has read: planned by the spend and the mildest process, and marked.

use lastmicron_film::gauge::Layer;
use lastmicron_film::gauge::reach::readable;
use lastmicron_film::grid::Grid;

use super::sections::{Told, corrections, join_rooms, left_alone, mean_by_area, nothing, number_of_before, told_draws};
use super::{Made, interval, spread};
use crate::before::Before;
use crate::car::CarPanel;
use crate::fit::fits;
use crate::levels::strips;
use crate::outcome::SectionPlan;
use crate::room::{Part, TileRoom, bare_tiles, tiles};
use crate::through;
use crate::tiling::Joined;
use crate::treatment::Treatment;

/// Level at which edges are kept off on a panel of unknown film: with the usual reach the gain at that distance is a seventh of that at the edge.
const KEPT_OFF: usize = 1;

/// Why a tile with nowhere to work is left alone.
const ALL_EDGE: &str = "not measured, and all of it lies where edges are kept off: left alone";

/// Why a panel is worked that nobody has read.
const UNREAD: &str = "not measured: read it first; unread it gets the mildest process, within the spend, at a risk that is not known";
/// Why one is worked that no gauge reads.
const UNREADABLE: &str = "no gauge of this kind reads film on plastic: the mildest process, within the spend, at a risk that is not known";

/// How far below the goal what was worked counts as having reached it. Judgement: the mean over the draws that treatments are judged by is out by as much, and a plan
/// that was worked must not ask for one more set of the whole panel because other draws of the same fell out lower.
const REACHED_WITHIN: f64 = 0.03;

/// Whether a gauge that shows all the film on the metal reads a panel.
pub(super) fn is_readable(panel: &CarPanel) -> bool {
    readable(panel.panel.substrate, Layer::Total).is_ok()
}

/// Tiles of a panel that isn't measured on which the same was done before, and what they are given.
struct Alike<'a> {
    /// Numbers of the tiles.
    tiles: Vec<usize>,
    /// Their treatment, or why there is none.
    given: Result<&'a Treatment, &'static str>,
    /// Area of those that have a place to work, m2.
    area_m2: f64,
    minutes: f64,
}

/// What the tiles of a panel that isn't measured are given; or why nothing on it is worked, whatever was done before.
fn given<'a>(made: &'a Made, panel: usize, rooms: &[TileRoom]) -> Result<Vec<Alike<'a>>, &'static str> {
    let is_near_all = rooms.iter().all(|tile| !tile.may_be_worked);
    if made.car.panels[panel].may_be_worked() && !is_near_all && !rooms.iter().any(|tile| has_place(made, panel, tile)) {
        return Err(ALL_EDGE);
    }
    if made.car.panels[panel].may_be_worked() && !made.treatments.iter().any(|t| t.steps.len() == 1 && fits(made.car, panel, &t.steps)) {
        return Err("not measured, and narrower than the mildest process's pad: left alone");
    }
    let mut wanted = wanted(made, panel, rooms);
    if minutes(&wanted) > minutes_left(made, panel) {
        let too_short = "not measured, and the hours are too short for it: left alone";
        wanted.iter_mut().for_each(|alike| alike.given = alike.given.and(Err(too_short)));
    }
    Ok(wanted)
}

/// Minutes of the hours that panels not measured leave to others, those from panel `end` on left out. They come first, in the order of the job,
/// each while the hours last: what they gain is not weighed against the others' risk, which has no counterpart there.
pub(crate) fn minutes_left(made: &Made, end: usize) -> f64 {
    (0..end).filter(|&k| !made.drawn.knowledge.posterior.is_measured(k)).fold(made.car.goal.hours * 60.0, |left, k| {
        let wanted = minutes(&wanted(made, k, &rooms(made, k)));
        if wanted <= left { left - wanted } else { left }
    })
}

fn minutes(wanted: &[Alike]) -> f64 {
    wanted.iter().map(|alike| alike.minutes).sum::<f64>() + 0.0
}

/// The tiles of a panel without the factors on their rates.
fn rooms(made: &Made, panel: usize) -> Vec<TileRoom> {
    bare_tiles(made.car, made.drawn, made.blends, panel, &Grid::of(&made.car.panels[panel].panel))
}

/// What would be given to tiles of a panel, were there hours enough. Areas of tiles that an outline cuts are counted by places, and need not add up to the
/// panel's: minutes go by their shares of it.
fn wanted<'a>(made: &'a Made, panel: usize, rooms: &[TileRoom]) -> Vec<Alike<'a>> {
    let all_m2: f64 = rooms.iter().map(|tile| tile.area_m2).sum();
    let number: Vec<usize> = rooms.iter().map(|tile| number_of_before(rooms, tile)).collect();
    let alike = |first: usize| {
        let tiles: Vec<usize> = (0..rooms.len()).filter(|&t| number[t] == first).collect();
        let area_m2: f64 = tiles.iter().map(|&t| &rooms[t]).filter(|tile| has_place(made, panel, tile)).map(|tile| tile.area_m2).sum();
        let given = within_spend(made, panel, rooms, &rooms[first].before);
        let minutes_per_m2 = given.map_or(0.0, |treatment| treatment.minutes_per_m2);
        let minutes = minutes_per_m2 * made.car.panels[panel].panel.area_m2() * if all_m2 > 0.0 { area_m2 / all_m2 } else { 0.0 };
        Alike { tiles, given, area_m2, minutes }
    };
    (0..rooms.len()).filter(|&t| number[t] == t).map(alike).collect()
}

/// Whether any of a tile is worked.
fn has_place(made: &Made, panel: usize, tile: &TileRoom) -> bool {
    tile.may_be_worked && tile.worked(level(made, panel, tile)).next().is_some()
}

/// The combined level of `tile` with every edge kept off.
fn level(made: &Made, panel: usize, tile: &TileRoom) -> usize {
    tile.levels.combined(&vec![KEPT_OFF; strips(&made.car.panels[panel]).len()])
}

/// The most sets of the mildest process that the spend allows after what was done before, and that the goal asks for; or why there are none. There are
/// none without a spend.
fn within_spend<'a>(made: &'a Made, panel: usize, rooms: &[TileRoom], before: &Before) -> Result<&'a Treatment, &'static str> {
    let (car, no_spend) = (made.car, "not measured, and no spend that a mild set would keep to: left alone");
    let spend = car.limits.spend.filter(|_| car.panels[panel].may_be_worked()).ok_or(no_spend)?;
    let goal = if before.is_nothing() { car.goal.correction } else { car.goal.correction - REACHED_WITHIN };
    let enough = |t: &Treatment| t.correction_after(before, made.drawn) >= goal;
    if !before.is_nothing() && enough(&Treatment::nothing()) {
        return Err("not measured; worked already: the goal is reached");
    }
    let single = |t: &&Treatment| t.steps.len() == 1 && fits(car, panel, &t.steps);
    let mildest = made.treatments.iter().filter(single).min_by(|a, b| a.mean_um.total_cmp(&b.mean_um)).ok_or(no_spend)?;
    if !before.leaves_sets_for(&mildest.steps) {
        return Err("not measured; worked already: no section is given more sets");
    }
    let of_process = |t: &&Treatment| t.steps[0].process == mildest.steps[0].process && before.leaves_sets_for(&t.steps);
    let keeps_to_it = |t: &&Treatment| most_um(made, panel, rooms, (before, t)) <= spend.micrometres();
    let mut fitting: Vec<&Treatment> = made.treatments.iter().filter(single).filter(of_process).filter(keeps_to_it).collect();
    fitting.sort_by(|a, b| a.mean_um.total_cmp(&b.mean_um));
    let least_enough = fitting.iter().find(|t| enough(t)).or(fitting.last()).copied();
    least_enough.ok_or(if before.is_nothing() { no_spend } else { "not measured; worked already: one more set would go beyond the spend" })
}

/// The most that is taken in the mean at any place of a panel that is not kept off, by what was done before and a treatment, um.
fn most_um(made: &Made, panel: usize, rooms: &[TileRoom], (before, treatment): (&Before, &Treatment)) -> f64 {
    let of_part = |tile: &TileRoom, part: &Part| {
        let before_um = tile.before_at(part).mean_um * (1.0 + part.gain_before.mean);
        treatment.mean_um * (1.0 + part.gains[treatment.blend].mean) + before_um
    };
    let of_tile = |tile: &TileRoom| tile.worked(level(made, panel, tile)).map(|part| of_part(tile, part)).fold(0.0, f64::max);
    rooms.iter().filter(|tile| tile.before == *before).map(of_tile).fold(0.0, f64::max)
}

/// Tells a panel without readings.
pub(super) fn tell(made: &Made, panel: usize) -> Told {
    let left = through::why(&made.car.panels[panel]);
    if !made.car.panels[panel].may_be_worked() {
        return nothing(made, panel, |_| &left);
    }
    let given = match given(made, panel, &rooms(made, panel)) {
        Ok(given) => given,
        Err(why) => return nothing(made, panel, |_| why),
    };
    let rooms = tiles(made.car, made.drawn, made.blends, panel, &Grid::of(&made.car.panels[panel].panel));
    let number: Vec<usize> =
        (0..rooms.len()).map(|t| given.iter().position(|alike| alike.tiles.contains(&t)).unwrap_or_default()).collect();
    let has_place: Vec<bool> = rooms.iter().map(|tile| has_place(made, panel, tile)).collect();
    let of = |t: usize| match given[number[t]].given {
        _ if !rooms[t].may_be_worked => Err(left.as_str()),
        Ok(_) if !has_place[t] => Err(ALL_EDGE),
        given => given,
    };
    if (0..rooms.len()).all(|t| of(t).is_err()) {
        return nothing(made, panel, |t| of(t).err().unwrap_or(ALL_EDGE));
    }
    let leave = Treatment::nothing();
    let gone: Vec<Vec<f64>> =
        rooms.iter().enumerate().map(|(t, tile)| corrections(made, of(t).unwrap_or(&leave), tile, level(made, panel, tile))).collect();
    let draws = told_draws(made);
    let section = |joined: &Joined| {
        let first = joined.tiles[0];
        let correction = interval(mean_by_area(&rooms, &gone, joined.tiles.iter().copied(), draws.len()));
        let treatment = match of(first) {
            Ok(treatment) => treatment,
            Err(why) => return SectionPlan { correction, ..left_alone(&joined.whole, why) },
        };
        let factor = &rooms[first].factor;
        let removal: Vec<f64> = draws.clone().map(|d| treatment.removal_um(made.drawn, d) * f64::from(factor[d])).collect();
        let minutes_per_m2 = given[number[first]].minutes / given[number[first]].area_m2;
        SectionPlan {
            steps: treatment.steps.clone(),
            risk: f64::NAN,
            through_risk: f64::NAN,
            removal_um: spread(&removal),
            correction,
            minutes: minutes_per_m2 * joined.tiles.iter().map(|&t| rooms[t].area_m2).sum::<f64>(),
            ..left_alone(&joined.whole, if is_readable(&made.car.panels[panel]) { UNREAD } else { UNREADABLE })
        }
    };
    // Alike are tiles on which the same was done before, where both have a place to work, or none for a like reason.
    let alike: Vec<(usize, bool, bool)> = (0..rooms.len()).map(|t| (number[t], has_place[t], rooms[t].may_be_worked)).collect();
    let joined = join_rooms(&rooms, &alike);
    let sections: Vec<SectionPlan> = joined.iter().map(section).collect();
    let in_all = sections.iter().zip(&joined).map(|(s, joined)| rooms[joined.tiles[0]].before.and(&s.steps)).collect();
    Told { sections, in_all, correction: mean_by_area(&rooms, &gone, 0..rooms.len(), draws.len()), kept_off: Some(KEPT_OFF) }
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
