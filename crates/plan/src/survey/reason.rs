//! Why a panel bears what it bears, in a sentence.

use lastmicron_film::gauge::Layer;
use lastmicron_polish::Step;

use super::least_work::{Chance, LeastWork, Together};
use crate::chance;
use crate::levels::KEEP_OFF_MM;
use crate::report::Made;
use crate::report::sentences::film;

/// Farther from the least topcoat than this a reading isn't named as what decided it, mm. Judgement: about half a field's usual length; farther off, the
/// film there is the model's more than the reading's.
const DECIDES_MM: f64 = 120.0;

/// Nearer to an edge than this a place lies at it, mm: one step of the grid.
const AT_EDGE_MM: f64 = 25.0;

/// Why the panel bears what it bears: what the sets come to, the place that decides, and what would change it.
pub(super) fn why(work: &LeastWork, panel: usize) -> String {
    let last = work.sets.len() - 1;
    let mut parts = Vec::new();
    let mut bears = None;
    for set in (1..=last).rev() {
        let Some((together, is_borne)) = work.on_panel(panel, set) else { continue };
        let mildest = if set == 1 && last > 1 { ", the mildest," } else { "" };
        parts.push(format!("one set of {}{mildest} {}", named(work.made, &work.sets[set].steps), comes_to(work.made, panel, &together)));
        if is_borne {
            bears = Some(set);
            break;
        }
    }
    parts.extend(least_place(work.made, panel));
    if bears != Some(last) {
        parts.push(would_change(work.made, panel));
    }
    parts.join("; ")
}

fn named(made: &Made, steps: &[Step]) -> String {
    steps.iter().map(|s| made.car.processes[s.process].name.as_str()).collect::<Vec<_>>().join(" and of ")
}

/// What a set comes to on the panel.
fn comes_to(made: &Made, panel: usize, together: &Together) -> String {
    let (limits, all, kept) = (made.car.limits, &together.all, &together.kept);
    if !all.fits {
        return format!("has a pad wider than the panel's {:.0} mm", made.car.panels[panel].panel.narrowest_mm());
    }
    if all.worked == 0 {
        return "has nowhere to work".to_owned();
    }
    if let Some(spend) = limits.spend.filter(|_| !all.within_spend && together.sections == 0) {
        let is_worked = made.rooms[panel].as_ref().is_some_and(|room| room.tiles.iter().any(|tile| !tile.before.is_nothing()));
        let with = if is_worked { " with what was taken already" } else { "" };
        return format!("takes{with} more than the spend of {} where most is taken", film(made, spend.micrometres()));
    }
    let off = if all.level == 0 { String::new() } else { format!(" with {:.0} mm kept off the edges", KEEP_OFF_MM[all.level]) };
    let through = limits.through_risk.filter(|limit| all.below <= limits.risk && all.through > *limit);
    let (limit, of, ends) = match through {
        Some(limit) => (limit, (|c: &Chance| c.through) as fn(&Chance) -> f64, "reaching the undercoat".to_owned()),
        None => (limits.risk, (|c: &Chance| c.below) as fn(&Chance) -> f64, ending_below(made)),
    };
    let counted = |chance: &Chance| chance::Chance::counted(of(chance), made.drawn.film.second_half().len());
    let (whole, limit) = (counted(all), chance::Chance::stated(limit));
    match (together.sections, all.worked) {
        (0, _) => {
            format!("on all of it{off} has {whole} of {ends}: the limit is {limit}, and not even the section with most film keeps to it")
        }
        (n, of) if n < of => {
            format!("on {n} of {of} sections{off} has {} of {ends}, and {whole} on all of them: the limit is {limit}", counted(kept))
        }
        _ => format!("on all of it{off} has {whole} of {ends}: the limit is {limit}"),
    }
}

fn ending_below(made: &Made) -> String {
    format!("ending below {} somewhere", film(made, made.car.limits.floor.micrometres()))
}

/// Where topcoat is least in the mean, and what was read there.
fn least_place(made: &Made, panel: usize) -> Option<String> {
    let (grid, room) = (made.drawn.film.grid(panel)?, made.rooms[panel].as_ref()?);
    let on_panel = (0..grid.nodes()).filter(|&n| grid.on_panel(n));
    let least = on_panel.min_by(|&a, &b| room.mean_um[a].total_cmp(&room.mean_um[b]))?;
    let [x, y] = grid.place_mm(least);
    let of_film = made.car.readings.iter().filter(|r| r.panel == panel && r.layer != Layer::Undercoat);
    let away = |r: &crate::car::Reading| f64::hypot(r.x_mm - x, r.y_mm - y);
    let nearest = of_film.min_by(|a, b| away(a).total_cmp(&away(b)))?;
    let edge = if grid.edge_mm[least] < AT_EDGE_MM { ", at the edge" } else { "" };
    let read = if away(nearest) <= DECIDES_MM {
        format!("where {} was read at ({:.0}, {:.0})", film(made, nearest.value.micrometres()), nearest.x_mm, nearest.y_mm)
    } else {
        format!("{:.0} mm from the nearest reading", away(nearest))
    };
    let [mean, sd] = [room.mean_um[least], room.sd_um[least]].map(|um| film(made, um));
    Some(format!("topcoat is least near ({x:.0}, {y:.0}) mm{edge}, {mean} with an sd of {sd}, {read}"))
}

/// What would change it most.
fn would_change(made: &Made, panel: usize) -> String {
    let Some(room) = made.rooms[panel].as_ref() else { return String::new() };
    let floor_um = made.car.limits.floor.micrometres() as f32;
    let below = room.smallest_um.iter().filter(|um| **um < floor_um).count();
    if 2 * below > room.smallest_um.len() {
        return "more likely than not some place is below the floor already".to_owned();
    }
    let undercoats: Vec<f64> = (0..made.drawn.count()).map(|d| made.drawn.undercoat_um(d, panel)).collect();
    let smallest: Vec<f64> = room.smallest_um.iter().map(|um| f64::from(*um)).collect();
    let share = share_explained(&smallest, &undercoats);
    if share > 0.5 && !made.drawn.knowledge.posterior.undercoat_was_read(panel) {
        return format!("an undercoat reading would tell most: {:.0} % of the doubt is what lies under the topcoat", 100.0 * share);
    }
    "further readings near there would tell most".to_owned()
}

/// Share of the variance of `y` that a straight line over `x` explains: the squared correlation; 0 where either is constant.
fn share_explained(y: &[f64], x: &[f64]) -> f64 {
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len().max(1) as f64;
    let (mx, my) = (mean(x), mean(y));
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for (x, y) in x.iter().zip(y) {
        xx += (x - mx).powi(2);
        yy += (y - my).powi(2);
        xy += (x - mx) * (y - my);
    }
    if xx * yy > 0.0 { xy * xy / (xx * yy) } else { 0.0 }
}
