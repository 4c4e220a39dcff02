//! One panel's sections, told.

use super::unmeasured;
use super::{Judged, Made, any, interval, quantile, sentences, spread};
use crate::drawn::Drawn;
use crate::outcome::{Interval, KeepOff, SectionPlan, Spread};
use crate::problem::combined;
use crate::room::{GAIN_BINS_MM, PanelRoom, Part, SectionRoom};
use crate::search::Chosen;
use crate::tiling::{Joined, Tile, join, tile};

/// Films of the second half on which corrections and what is left are told: enough for percentiles to a few per cent of their spread.
const TOLD_FILMS: usize = 600;

/// A panel's sections, and its correction in each of the told draws.
pub(crate) struct Told {
    pub(crate) sections: Vec<SectionPlan>,
    pub(crate) correction: Vec<f64>,
    /// Edges kept off where that isn't the search's choice.
    pub(crate) keep_off: Option<Vec<KeepOff>>,
}

/// The draws on which sections are told: one a film.
pub(super) fn told_draws(made: &Made) -> impl ExactSizeIterator<Item = usize> + Clone + use<> {
    made.drawn.film.second_half().take(TOLD_FILMS).map(Drawn::first_with)
}

/// Tells panel `panel`.
pub(crate) fn tell(made: &Made, chosen: &Chosen, judged: &[Judged], panel: usize) -> Told {
    let draws = told_draws(made);
    if !made.car.panels[panel].work {
        let sections = sections_of_one_treatment(made, panel).iter().map(|t| left_alone(t, "to stay as it is: the job says so")).collect();
        return Told { sections, correction: vec![0.0; draws.len()], keep_off: None };
    }
    let Some(room) = &made.rooms[panel] else { return unmeasured::tell(made, panel) };
    let Some(p) = made.problem.panels.iter().position(|p| p.panel == panel) else {
        return Told { sections: Vec::new(), correction: vec![0.0; draws.len()], keep_off: None };
    };
    let of_panel = &made.problem.panels[p].sections;
    let each = || of_panel.iter().zip(&room.sections);
    let after: Vec<Vec<f64>> = each().map(|(&s, tile)| smallest_after(made, chosen, panel, tile, s)).collect();
    let gone: Vec<Vec<f64>> = each().map(|(&s, tile)| corrections(made, chosen, tile, s)).collect();
    let tiles: Vec<Tile> = room.sections.iter().map(|s| s.tile).collect();
    let treatment: Vec<usize> = of_panel.iter().map(|&s| chosen.treatment[s]).collect();
    let of_tiles = Tiles { room, of_panel, after: &after, gone: &gone };
    let sections = join(&tiles, &treatment).iter().map(|joined| of_tiles.tell(made, chosen, judged, joined)).collect();
    let correction = mean_by_area(room, &gone, &(0..tiles.len()).collect::<Vec<_>>());
    Told { sections, correction, keep_off: None }
}

/// The sections of a panel that is treated the same all over.
pub(super) fn sections_of_one_treatment(made: &Made, panel: usize) -> Vec<Tile> {
    let of = &made.car.panels[panel].panel;
    let tiles = tile(of, &lastmicron_film::grid::Grid::of(of));
    join(&tiles, &vec![0; tiles.len()]).into_iter().map(|j| j.whole).collect()
}

/// What is known of a panel's tiles, by told draw.
struct Tiles<'a> {
    room: &'a PanelRoom,
    /// Each tile's index among the problem's sections.
    of_panel: &'a [usize],
    /// Smallest topcoat left, um.
    after: &'a [Vec<f64>],
    /// Share of defects gone.
    gone: &'a [Vec<f64>],
}

impl Tiles<'_> {
    /// Tells tiles that are joined to one section. In the sums each keeps a factor of its own on the rates, which counts their common risk a
    /// little too high.
    fn tell(&self, made: &Made, chosen: &Chosen, judged: &[Judged], joined: &Joined) -> SectionPlan {
        let of_problem: Vec<usize> = joined.tiles.iter().map(|&t| self.of_panel[t]).collect();
        let treatment = &made.treatments[chosen.treatment[of_problem[0]]];
        let draws = made.drawn.second_half();
        let factor = &self.room.sections[joined.tiles[0]].factor;
        let removal: Vec<f64> = draws.clone().map(|d| treatment.removal_um(made.drawn, d) * f64::from(factor[d])).collect();
        let mut after: Vec<f64> = (0..self.after[joined.tiles[0]].len())
            .map(|d| joined.tiles.iter().map(|&t| self.after[t][d]).fold(f64::INFINITY, f64::min))
            .collect();
        after.sort_by(f64::total_cmp);
        let wrong = |of: &dyn Fn(&Judged) -> &Vec<u32>| any(of_problem.iter().map(|&s| of(&judged[s])), draws.len());
        let told = SectionPlan {
            x_mm: joined.whole.x_mm,
            y_mm: joined.whole.y_mm,
            width_mm: joined.whole.width_mm,
            height_mm: joined.whole.height_mm,
            steps: treatment.steps.clone(),
            removal_um: spread(&removal),
            topcoat_after_p05_um: quantile(&after, 0.05),
            topcoat_after_p50_um: quantile(&after, 0.5),
            correction: interval(mean_by_area(self.room, self.gone, &joined.tiles)),
            risk: wrong(&|j| &j.below),
            through_risk: wrong(&|j| &j.through),
            minutes: of_problem.iter().map(|&s| made.problem.sections[s].minutes[chosen.treatment[s]]).sum(),
            why: String::new(),
        };
        let why = sentences::why(made, chosen, &of_problem, &told);
        SectionPlan { why, ..told }
    }
}

/// Mean over tiles by their areas, by told draw.
fn mean_by_area(room: &PanelRoom, of_tiles: &[Vec<f64>], tiles: &[usize]) -> Vec<f64> {
    let area: f64 = tiles.iter().map(|&t| room.sections[t].area_m2).sum();
    let mut mean = vec![0.0; of_tiles.first().map_or(0, Vec::len)];
    for &t in tiles {
        mean.iter_mut().zip(&of_tiles[t]).for_each(|(m, v)| *m += v * room.sections[t].area_m2 / area);
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

/// Share of the section's defects gone, by told draw; places kept off count as nothing gone.
fn corrections(made: &Made, chosen: &Chosen, section: &SectionRoom, s: usize) -> Vec<f64> {
    let treatment = &made.treatments[chosen.treatment[s]];
    let problem = &made.problem.sections[s];
    let level = combined(&problem.groups, &chosen.levels[problem.panel]);
    let mut places = [0.0; GAIN_BINS_MM.len()];
    section.worked(level).for_each(|p| places[p.bin] += p.count());
    told_draws(made)
        .map(|d| {
            if treatment.steps.is_empty() {
                return 0.0;
            }
            let factor = f64::from(section.factor[d]);
            let of_bin = |bin: usize, nodes: f64| {
                let gain = 1.0 + made.drawn.edge_gain[d] * made.drawn.knowledge.edge.fall_off(GAIN_BINS_MM[bin]);
                nodes * treatment.correction(made.drawn, d, factor * gain)
            };
            let gone: f64 = places.iter().enumerate().filter(|(_, n)| **n > 0.0).map(|(b, n)| of_bin(b, *n)).sum();
            gone / section.nodes
        })
        .collect()
}

/// Smallest topcoat left on a worked place of a tile (on any place of one left alone), by told draw, um.
fn smallest_after(made: &Made, chosen: &Chosen, panel: usize, tile: &SectionRoom, s: usize) -> Vec<f64> {
    let treatment = &made.treatments[chosen.treatment[s]];
    let of_problem = &made.problem.sections[s];
    let level = combined(&of_problem.groups, &chosen.levels[of_problem.panel]);
    let worked: Vec<&Part> = tile.worked(level).filter(|_| !treatment.steps.is_empty()).collect();
    let parts: Vec<&Part> = if worked.is_empty() { tile.parts.iter().collect() } else { worked };
    let left = |d: usize| {
        let middle = treatment.removal_um(made.drawn, d) * f64::from(tile.factor[d]);
        let left = |p: &&Part| p.least_um(Drawn::film_of(d)) - middle * (1.0 + made.drawn.edge_gain[d] * p.fall_off);
        parts.iter().map(left).fold(f64::INFINITY, f64::min) - made.drawn.undercoat_um(d, panel)
    };
    told_draws(made).map(left).collect()
}
