//! A choice, told.

mod assumptions;
mod sections;
pub(crate) mod sentences;
mod unmeasured;
mod verdict;

use lastmicron_units::Unit;
use rayon::prelude::*;

use crate::car::{Car, CarPanel};
use crate::chosen::Chosen;
use crate::drawn::Drawn;
use crate::gain::Blend;
use crate::levels::{KEEP_OFF_MM, Strip, strips};
use crate::outcome::{Interval, KeepOff, KeepOffLine, Outcome, PanelFilm, PanelPlan, Plan, Spread};
use crate::pad_work::pad_work;
use crate::panel_room::PanelRoom;
use crate::problem::Problem;
use crate::rates;
use crate::tape::tapes;
use crate::treatment::Treatment;

pub(crate) use unmeasured::minutes_left;
pub(crate) use verdict::{Totals, Verdict};

/// All that a report is made from.
pub(crate) struct Made<'a> {
    /// Unit in which films are told in sentences.
    pub(crate) unit: Unit,
    pub(crate) car: &'a Car,
    pub(crate) drawn: &'a Drawn<'a>,
    pub(crate) rooms: &'a [Option<PanelRoom>],
    pub(crate) treatments: &'a [Treatment],
    pub(crate) blends: &'a [Blend],
    pub(crate) problem: &'a Problem,
    /// Minutes that panels not measured leave to the measured ones.
    pub(crate) minutes: f64,
}

/// A choice, told.
pub(crate) fn outcome(made: &Made, chosen: &Chosen) -> Outcome {
    let (car, everywhere) = (made.car, 0..made.problem.tiles.len());
    let verdict = Verdict::of(made, chosen);
    let told: Vec<sections::Told> = (0..car.panels.len()).into_par_iter().map(|k| sections::tell(made, &verdict, k)).collect();
    let weights: Vec<f64> = car.panels.iter().map(|p| if p.work { p.panel.area_m2() * p.visibility } else { 0.0 }).collect();
    let total: f64 = weights.iter().sum();
    let sample = told.first().map_or(0, |t| t.correction.len());
    let overall: Vec<f64> = (0..sample)
        .map(|d| told.iter().zip(&weights).map(|(t, w)| w * t.correction[d]).sum::<f64>() / total.max(f64::MIN_POSITIVE))
        .collect();
    let minutes: f64 = told.iter().flat_map(|t| &t.sections).map(|s| s.minutes).sum();
    let panels: Vec<PanelPlan> = told
        .into_iter()
        .enumerate()
        .map(|(k, told)| {
            let of_panel = everywhere.clone().filter(|&i| made.problem.panels[made.problem.tiles[i].panel].panel == k);
            let (keep_off, keep_off_lines) = by_edge_and_line(&car.panels[k], &kept_off(made, chosen, k, &told));
            let notes = sentences::panel_notes(made, k, &told, &keep_off_lines);
            let measured = made.rooms[k].is_some();
            let is_worked = told.sections.iter().any(|s| !s.steps.is_empty());
            PanelPlan {
                panel: k,
                name: car.panels[k].panel.name.clone(),
                keep_off,
                keep_off_lines,
                risk: match (is_worked, car.panels[k].gone_through.is_empty()) {
                    (_, false) => 1.0,
                    (true, true) if !measured => f64::NAN,
                    _ => verdict.below(of_panel),
                },
                measured,
                respray: made.drawn.knowledge.posterior.respray_probability(k),
                sections: told.sections,
                notes,
            }
        })
        .collect();
    let was_worked =
        |p: &PanelPlan| made.rooms[p.panel].as_ref().is_some_and(|room| room.tiles.iter().any(|tile| !tile.before.is_nothing()));
    let is_known = |p: &PanelPlan| p.measured && (p.is_worked() || car.panels[p.panel].work && was_worked(p));
    let only_not_measured = panels.iter().any(PanelPlan::is_worked) && !panels.iter().any(is_known);
    let known = |chance: f64| if only_not_measured { f64::NAN } else { chance };
    let plan = Plan {
        risk: known(verdict.below(everywhere.clone())),
        through_risk: known(verdict.through(everywhere)),
        correction: interval(overall),
        hours: minutes / 60.0,
        films: made.drawn.film.second_half().len(),
        panels,
    };
    let (curve, bend_um) = curve(made);
    let rates = rates::of(car, made.drawn);
    Outcome {
        film: films(made),
        smallest_um: smallest(made),
        tapes: plan.panels.iter().flat_map(|p| tapes(&car.panels[p.panel], p)).collect(),
        pad_work: pad_work(car, &made.drawn.knowledge.gains, &plan, &rates),
        rates,
        curve,
        bend_um,
        findings: sentences::findings(made, &verdict, &plan),
        assumptions: assumptions::assumptions(made),
        plan,
    }
}

/// What is kept off on a panel, where any tile beside it is worked: the level of each of its strips.
fn kept_off(made: &Made, chosen: &Chosen, panel: usize, told: &sections::Told) -> Vec<usize> {
    let strips = strips(&made.car.panels[panel]).len();
    if let Some(level) = told.kept_off {
        return vec![level; strips];
    }
    let Some(p) = made.problem.panels.iter().position(|p| p.panel == panel) else { return vec![0; strips] };
    let worked_beside = |strip: usize| {
        made.problem.panels[p].tiles.iter().any(|&i| chosen.treatment[i] != 0 && made.problem.tiles[i].levels.strips.contains(&strip))
    };
    chosen.levels[p].iter().enumerate().map(|(strip, &level)| if worked_beside(strip) { level } else { 0 }).collect()
}

/// The edges and the lines of a panel that are kept off at these levels of its strips.
fn by_edge_and_line(panel: &CarPanel, levels: &[usize]) -> (Vec<KeepOff>, Vec<KeepOffLine>) {
    let (mut edges, mut lines) = (Vec::new(), Vec::new());
    for (strip, &level) in strips(panel).iter().zip(levels).filter(|(_, level)| **level > 0) {
        let mm = KEEP_OFF_MM[level];
        match strip {
            Strip::Edges(numbers) => edges.extend(numbers.iter().map(|&edge| KeepOff { edge, mm })),
            Strip::Lines => lines.extend((0..panel.lines.len()).map(|line| KeepOffLine { line, mm })),
        }
    }
    (edges, lines)
}

/// Mean and the 5th and 95th percentile of a sample; all 0 when it is empty.
pub(crate) fn interval(mut sample: Vec<f64>) -> Interval {
    if sample.is_empty() {
        return Interval { mean: 0.0, p05: 0.0, p95: 0.0 };
    }
    sample.sort_by(f64::total_cmp);
    let mean = sample.iter().sum::<f64>() / sample.len() as f64;
    Interval { mean, p05: quantile(&sample, 0.05), p95: quantile(&sample, 0.95) }
}

/// Quantile of a sorted sample, interpolated linearly between order statistics (Hyndman & Fan, Am. Stat. 50, 1996, type 7).
pub(crate) fn quantile(sorted: &[f64], p: f64) -> f64 {
    let at = p * (sorted.len() - 1) as f64;
    let low = at.floor() as usize;
    let high = (low + 1).min(sorted.len() - 1);
    sorted[low] + (at - low as f64) * (sorted[high] - sorted[low])
}

pub(crate) fn spread(sample: &[f64]) -> Spread {
    let n = sample.len() as f64;
    let mean = sample.iter().sum::<f64>() / n;
    Spread { mean, sd: (sample.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / n).sqrt() }
}

fn films(made: &Made) -> Vec<PanelFilm> {
    (0..made.car.panels.len()).map(|k| film(made, k)).collect()
}

/// The film of panel `panel`; NaN where it has no readings.
pub(crate) fn film(made: &Made, panel: usize) -> PanelFilm {
    let room = made.rooms[panel].as_ref();
    let grid = lastmicron_film::grid::Grid::of(&made.car.panels[panel].panel);
    let unknown = || vec![f64::NAN; grid.nodes()];
    let smallest = room.map_or_else(Vec::new, |r| r.smallest_um.iter().map(|v| f64::from(*v)).collect());
    PanelFilm {
        step_mm: grid.step_mm,
        nx: grid.nx,
        ny: grid.ny,
        topcoat_mean_um: room.map_or_else(unknown, |r| r.mean_um.clone()),
        topcoat_sd_um: room.map_or_else(unknown, |r| r.sd_um.clone()),
        smallest_um: interval(smallest),
    }
}

fn smallest(made: &Made) -> Interval {
    let rooms: Vec<&PanelRoom> = made.rooms.iter().flatten().collect();
    interval((0..made.drawn.count()).map(|d| f64::from(rooms.iter().map(|r| r.smallest_um[d]).fold(f32::INFINITY, f32::min))).collect())
}

/// Correction against film removed, without marks, and where it bends: the depth beyond which a per cent costs more than twice what it
/// costs on the average up to there.
fn curve(made: &Made) -> (Vec<(f64, Interval)>, f64) {
    let sample: Vec<usize> = made.drawn.second_half().step_by((made.drawn.count() / 1000).max(1)).collect();
    let mean_for = |gone: f64| sample.iter().map(|&d| made.drawn.law(d).removal_for(gone)).sum::<f64>() / sample.len() as f64;
    let deepest = mean_for(0.98);
    let steps = 48;
    let curve: Vec<(f64, Interval)> = (0..=steps)
        .map(|i| {
            let depth = deepest * f64::from(i) / f64::from(steps);
            (depth, interval(sample.iter().map(|&d| 1.0 - made.drawn.law(d).survival(depth)).collect()))
        })
        .collect();
    let bend = curve.windows(2).find(|w| {
        let slope = (w[1].1.mean - w[0].1.mean) / (w[1].0 - w[0].0);
        w[1].0 > 0.0 && w[1].1.mean > 0.5 && slope < 0.5 * w[1].1.mean / w[1].0
    });
    let bend_um = bend.map_or(deepest, |w| w[0].0);
    (curve, bend_um)
}
