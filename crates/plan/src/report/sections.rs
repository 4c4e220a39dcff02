//! One panel's sections, told.

use std::ops::Range;

use super::unmeasured;
use super::{Judged, Made, interval, quantile, sentences, spread};
use crate::drawn::Drawn;
use crate::outcome::{Interval, KeepOff, SectionPlan, Spread};
use crate::problem::combined;
use crate::room::{GAIN_BINS_MM, SectionRoom, build_now, edge_groups, is_kept_off};
use crate::search::Chosen;
use crate::tiling::{self, nodes_in};

/// Films of the second half on which corrections and what is left are told: enough for percentiles to a few per cent of their spread.
const TOLD_FILMS: usize = 600;

/// A panel's sections, and its correction in each of the told draws.
pub(crate) struct Told {
    pub(crate) sections: Vec<SectionPlan>,
    pub(crate) correction: Vec<f64>,
    /// Edges kept off where that isn't the search's choice.
    pub(crate) keep_off: Option<Vec<KeepOff>>,
}

/// The films of the second half on which sections are told.
fn told_films(made: &Made) -> Range<usize> {
    let films = made.drawn.film.second_half();
    films.start..films.start + films.len().min(TOLD_FILMS)
}

/// The draws on which sections are told: one a film.
pub(super) fn told_draws(made: &Made) -> impl ExactSizeIterator<Item = usize> + Clone + use<> {
    told_films(made).map(Drawn::first_with)
}

/// Tells panel `panel`.
pub(crate) fn tell(made: &Made, chosen: &Chosen, judged: &[Judged], panel: usize) -> Told {
    let draws = told_draws(made);
    if !made.car.panels[panel].work {
        let grid = lastmicron_film::grid::Grid::of(&made.car.panels[panel].panel);
        let tiles = tiling::tile(&made.car.panels[panel].panel, &grid);
        let sections = tiles.iter().map(|t| left_alone(t, "to stay as it is: the job says so")).collect();
        return Told { sections, correction: vec![0.0; draws.len()], keep_off: None };
    }
    let Some(room) = &made.rooms[panel] else { return unmeasured::tell(made, panel) };
    let Some(p) = made.problem.panels.iter().position(|p| p.panel == panel) else {
        return Told { sections: Vec::new(), correction: vec![0.0; draws.len()], keep_off: None };
    };
    let after = smallest_after(made, chosen, panel, p);
    let area: f64 = room.sections.iter().map(|s| s.area_m2).sum();
    let mut overall = vec![0.0; draws.len()];
    let mut sections = Vec::new();
    for (number, &s) in made.problem.panels[p].sections.iter().enumerate() {
        let section = &room.sections[number];
        let treatment = &made.treatments[chosen.treatment[s]];
        let correction = corrections(made, chosen, panel, section, s);
        overall.iter_mut().zip(&correction).for_each(|(o, c)| *o += c * section.area_m2 / area);
        let factors = made.drawn.section_factors(panel, number);
        let removal: Vec<f64> = made
            .drawn
            .second_half()
            .map(|d| treatment.removal_um(made.drawn, d) * factors[d] * made.drawn.panel_factor(d, panel))
            .collect();
        let share = |wrong: &[u32]| wrong.len() as f64 / made.drawn.second_half().len() as f64;
        let told = SectionPlan {
            x_mm: section.tile.x_mm,
            y_mm: section.tile.y_mm,
            width_mm: section.tile.width_mm,
            height_mm: section.tile.height_mm,
            steps: treatment.steps.clone(),
            removal_um: spread(&removal),
            topcoat_after_p05_um: quantile(&after[number], 0.05),
            topcoat_after_p50_um: quantile(&after[number], 0.5),
            correction: interval(correction),
            risk: share(&judged[s].below),
            through_risk: share(&judged[s].through),
            minutes: made.problem.sections[s].minutes[chosen.treatment[s]],
            why: String::new(),
        };
        let why = sentences::why(made, chosen, s, &told);
        sections.push(SectionPlan { why, ..told });
    }
    Told { sections, correction: overall, keep_off: None }
}

/// A section left alone, of whose film nothing is told.
pub(super) fn left_alone(tile: &tiling::Tile, why: &str) -> SectionPlan {
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

/// Share of the section's defects gone, by told draw; places kept off count as nothing gone.
fn corrections(made: &Made, chosen: &Chosen, panel: usize, section: &SectionRoom, s: usize) -> Vec<f64> {
    let treatment = &made.treatments[chosen.treatment[s]];
    let problem = &made.problem.sections[s];
    let level = combined(&problem.groups, &chosen.levels[problem.panel]);
    let mut places = [0.0; GAIN_BINS_MM.len()];
    section.worked(level).for_each(|p| places[p.bin] += p.count());
    let factors = made.drawn.section_factors(panel, problem.number);
    told_draws(made)
        .map(|d| {
            if treatment.steps.is_empty() {
                return 0.0;
            }
            let factor = factors[d] * made.drawn.panel_factor(d, panel);
            let of_bin = |bin: usize, nodes: f64| {
                let gain = 1.0 + made.drawn.edge_gain[d] * made.drawn.knowledge.edge.fall_off(GAIN_BINS_MM[bin]);
                nodes * treatment.correction(made.drawn, d, factor * gain)
            };
            let gone: f64 = places.iter().enumerate().filter(|(_, n)| **n > 0.0).map(|(b, n)| of_bin(b, *n)).sum();
            gone / section.nodes
        })
        .collect()
}

/// Smallest topcoat left on a worked place of each section (on any place of one left alone), sorted over the told draws, um.
fn smallest_after(made: &Made, chosen: &Chosen, panel: usize, p: usize) -> Vec<Vec<f64>> {
    let films = told_films(made);
    let sections = &made.problem.panels[p].sections;
    let Some(mut film) = made.drawn.film.film(panel, films.clone()) else { return vec![vec![f64::NAN]; sections.len()] };
    build_now(made.car, made.drawn, panel, &mut film, films.start);
    let (car_panel, grid) = (&made.car.panels[panel], &film.grid);
    let groups = edge_groups(car_panel);
    let stays_off = |n: usize| {
        let [x, y] = grid.place_mm(n);
        chosen.levels[p].iter().zip(&groups).any(|(&level, edges)| {
            let near = edges.iter().map(|&e| car_panel.panel.distance_to_edge_mm(e, x, y)).fold(f64::INFINITY, f64::min);
            is_kept_off(near, level)
        })
    };
    let fall_off: Vec<f64> = grid.edge_mm.iter().map(|e| if e.is_nan() { 0.0 } else { made.drawn.knowledge.edge.fall_off(*e) }).collect();
    let mut after = Vec::new();
    for (number, &s) in sections.iter().enumerate() {
        let treatment = &made.treatments[chosen.treatment[s]];
        let tile = made.rooms[panel].as_ref().map(|r| r.sections[number].tile);
        let all: Vec<usize> = tile.iter().flat_map(|t| nodes_in(t, grid, car_panel.panel.size_mm())).collect();
        let worked: Vec<usize> = all.iter().copied().filter(|&n| treatment.steps.is_empty() || !stays_off(n)).collect();
        let places = if worked.is_empty() { &all } else { &worked };
        let factors = made.drawn.section_factors(panel, number);
        let mut least: Vec<f64> = told_draws(made)
            .zip(film.build_um.chunks_exact(grid.nodes()))
            .map(|(d, build)| {
                let middle = treatment.removal_um(made.drawn, d) * factors[d] * made.drawn.panel_factor(d, panel);
                let undercoat = made.drawn.undercoat_um(d, panel);
                let left = |n: usize| f64::from(build[n]) - undercoat - middle * (1.0 + made.drawn.edge_gain[d] * fall_off[n]);
                places.iter().map(|&n| left(n)).fold(f64::INFINITY, f64::min)
            })
            .collect();
        least.sort_by(f64::total_cmp);
        after.push(least);
    }
    after
}
