//! Room: how much film a section has to give at its worst place, draw by draw.
//!
//! A place of topcoat T under a gain g ends below the floor when more than (T - floor) / g is taken in the middle. The smallest such room
//! over a section's worked places is all that a choice of treatment needs to know of its film.

use lastmicron_film::FilmDraws;
use lastmicron_film::grid::Grid;
use rayon::prelude::*;

use crate::car::{Car, CarPanel};
use crate::drawn::Drawn;
use crate::tiling::{Tile, nodes_in, tile};

/// Distances that an edge may be kept off, mm; the first is not at all.
pub(crate) const KEEP_OFF_MM: [f64; 3] = [0.0, 25.0, 50.0];

/// A node this much nearer to the edge than the distance kept off still counts as worked, mm: grids are not quite of 25 mm.
const TOLERANCE_MM: f64 = 2.5;

/// Distances from the edge at which correction is worked out, mm: nodes take the nearest below.
pub(crate) const GAIN_BINS_MM: [f64; 6] = [0.0, 10.0, 20.0, 30.0, 50.0, 90.0];

/// Edges that are kept off together: each edge of a four-sided panel alone, all edges of any other.
pub(crate) fn edge_groups(panel: &CarPanel) -> Vec<Vec<usize>> {
    let n = panel.panel.outline_mm.len();
    if n == 4 { (0..4).map(|e| vec![e]).collect() } else { vec![(0..n).collect()] }
}

/// Whether a place `distance_mm` from an edge is left out when that edge is kept off at `level`.
pub(crate) fn is_kept_off(distance_mm: f64, level: usize) -> bool {
    level > 0 && distance_mm < KEEP_OFF_MM[level] - TOLERANCE_MM
}

/// A section's worked places under one choice of distances kept off.
#[derive(Clone, Debug)]
pub(crate) struct Reach {
    /// Room above the floor over the rate's factors, by draw, um: taking more than this in the nominal middle ends below the floor.
    pub(crate) room_um: Vec<f32>,
    /// The same above no topcoat at all.
    pub(crate) depth_um: Vec<f32>,
    /// Nodes worked, by [`GAIN_BINS_MM`].
    pub(crate) nodes: [f64; GAIN_BINS_MM.len()],
    /// Largest share of the edge gain at a worked node.
    pub(crate) fall_off: f64,
}

/// A section with its room.
#[derive(Clone, Debug)]
pub(crate) struct SectionRoom {
    pub(crate) tile: Tile,
    /// Edge groups near enough to matter.
    pub(crate) groups: Vec<usize>,
    /// By level of each of `groups`, the first fastest.
    pub(crate) reaches: Vec<Reach>,
    /// Nodes of the section, worked or not.
    pub(crate) nodes: f64,
    /// Area on the panel, m2.
    pub(crate) area_m2: f64,
}

/// A panel's film as drawn, summed up.
#[derive(Clone, Debug)]
pub(crate) struct PanelRoom {
    pub(crate) sections: Vec<SectionRoom>,
    pub(crate) mean_um: Vec<f64>,
    pub(crate) sd_um: Vec<f64>,
    /// Smallest topcoat on the panel, by draw, um.
    pub(crate) smallest_um: Vec<f32>,
}

/// Turns build into the topcoat that is there now: less the undercoat, less what was taken on places worked before. The film's first row is
/// draw `first_draw`.
pub(crate) fn topcoat_now(car: &Car, drawn: &Drawn, panel: usize, film: &mut FilmDraws, first_draw: usize) {
    let (grid, nodes) = (&film.grid, film.grid.nodes());
    let edge = drawn.knowledge.edge;
    let patches: Vec<(Vec<usize>, &crate::car::Worked)> = car
        .worked
        .iter()
        .filter(|w| w.panel == panel && !w.after.is_empty())
        .map(|w| {
            let inside = |&n: &usize| {
                let [x, y] = grid.place_mm(n);
                x >= w.x_mm && x <= w.x_mm + w.width_mm && y >= w.y_mm && y <= w.y_mm + w.height_mm && grid.on_panel(n)
            };
            ((0..nodes).filter(inside).collect(), w)
        })
        .collect();
    film.build_um.par_chunks_exact_mut(nodes).enumerate().for_each(|(i, row)| {
        let draw = first_draw + i;
        let undercoat = drawn.film.undercoat_um(draw, panel) as f32;
        row.iter_mut().for_each(|v| *v -= undercoat);
        for (inside, patch) in &patches {
            let middle = drawn.already_removed_um(draw, panel, &patch.after, 1.0);
            for &n in inside {
                row[n] -= (middle * (1.0 + drawn.edge_gain[draw] * edge.fall_off(grid.edge_mm[n]))) as f32;
            }
        }
    });
}

/// Sums up the film of a panel in every draw; none when it has no readings.
pub(crate) fn panel_room(car: &Car, drawn: &Drawn, panel: usize) -> Option<PanelRoom> {
    let mut film = drawn.film.film(panel, 0..drawn.count())?;
    topcoat_now(car, drawn, panel, &mut film, 0);
    let grid = &film.grid;
    let fall_off: Vec<f32> = grid.edge_mm.iter().map(|e| if e.is_nan() { 0.0 } else { drawn.knowledge.edge.fall_off(*e) as f32 }).collect();
    let tiles = tile(&car.panels[panel].panel, grid);
    let mut sections: Vec<(SectionRoom, Classes)> = tiles.iter().map(|t| section(&car.panels[panel], grid, t, &fall_off)).collect();
    let mut first = 0;
    for (_, classes) in &mut sections {
        classes.first = first;
        first += classes.nodes.len();
    }
    let draws: Vec<DrawRoom> = film
        .build_um
        .par_chunks_exact(grid.nodes())
        .enumerate()
        .map(|(draw, topcoat)| draw_room(car, drawn, draw, topcoat, &fall_off, &sections))
        .collect();
    for (s, (section, classes)) in sections.iter_mut().enumerate() {
        let factors = drawn.section_factors(panel, s);
        let factor: Vec<f32> = (0..drawn.count()).map(|d| (factors[d] * drawn.panel_factor(d, panel)) as f32).collect();
        for (level, reach) in section.reaches.iter_mut().enumerate() {
            let included: Vec<usize> =
                (0..classes.levels.len()).filter(|&c| classes.is_worked(c, level)).map(|c| classes.first + c).collect();
            let least = |of: &dyn Fn(&DrawRoom, usize) -> f32, d: usize| {
                let least = included.iter().map(|&c| of(&draws[d], c)).fold(f32::INFINITY, f32::min);
                if least > 0.0 { least / factor[d] } else { least }
            };
            reach.room_um = (0..draws.len()).map(|d| least(&|r, c| r.room_um[c], d)).collect();
            reach.depth_um = (0..draws.len()).map(|d| least(&|r, c| r.depth_um[c], d)).collect();
        }
    }
    let on: Vec<usize> = (0..grid.nodes()).filter(|&n| grid.on_panel(n)).collect();
    let smallest_um =
        film.build_um.par_chunks_exact(grid.nodes()).map(|t| on.iter().map(|&n| t[n]).fold(f32::INFINITY, f32::min)).collect();
    let (mean_um, sd_um) = moments(&film, grid);
    Some(PanelRoom { sections: sections.into_iter().map(|(s, _)| s).collect(), mean_um, sd_um, smallest_um })
}

/// Nodes of a section, classed by the levels at which each of its edge groups leaves them out.
struct Classes {
    /// Number of the section's first class among the panel's.
    first: usize,
    nodes: Vec<Vec<usize>>,
    /// Level of each edge group from which the class is left out.
    levels: Vec<Vec<usize>>,
}

impl Classes {
    /// Whether class `c` is worked under the combined level `level`.
    fn is_worked(&self, c: usize, level: usize) -> bool {
        let mut rest = level;
        self.levels[c].iter().all(|&out| {
            let chosen = rest % KEEP_OFF_MM.len();
            rest /= KEEP_OFF_MM.len();
            chosen < out
        })
    }
}

/// Rooms of one draw, by class over all of a panel's sections.
struct DrawRoom {
    room_um: Vec<f32>,
    depth_um: Vec<f32>,
}

fn section(panel: &CarPanel, grid: &Grid, tile: &Tile, fall_off: &[f32]) -> (SectionRoom, Classes) {
    let size = panel.panel.size_mm();
    let nodes: Vec<usize> = nodes_in(tile, grid, size).collect();
    let last = KEEP_OFF_MM.len() - 1;
    let distance = |group: &[usize], n: usize| {
        let [x, y] = grid.place_mm(n);
        group.iter().map(|&e| panel.panel.distance_to_edge_mm(e, x, y)).fold(f64::INFINITY, f64::min)
    };
    let all = edge_groups(panel);
    let groups: Vec<usize> = (0..all.len()).filter(|&g| nodes.iter().any(|&n| is_kept_off(distance(&all[g], n), last))).collect();
    let left_out_from = |n: usize, g: usize| {
        let d = distance(&all[g], n);
        (0..KEEP_OFF_MM.len()).find(|&level| is_kept_off(d, level)).unwrap_or(KEEP_OFF_MM.len())
    };
    let mut classes = Classes { first: 0, nodes: Vec::new(), levels: Vec::new() };
    for &n in &nodes {
        let levels: Vec<usize> = groups.iter().map(|&g| left_out_from(n, g)).collect();
        if let Some(c) = classes.levels.iter().position(|l| *l == levels) {
            classes.nodes[c].push(n);
        } else {
            classes.levels.push(levels);
            classes.nodes.push(vec![n]);
        }
    }
    let reaches = (0..KEEP_OFF_MM.len().pow(groups.len() as u32))
        .map(|level| {
            let (mut bins, mut most) = ([0.0; GAIN_BINS_MM.len()], 0.0_f64);
            for c in (0..classes.levels.len()).filter(|&c| classes.is_worked(c, level)) {
                for &n in &classes.nodes[c] {
                    bins[GAIN_BINS_MM.iter().rposition(|&mm| grid.edge_mm[n] >= mm - 1e-6).unwrap_or(0)] += 1.0;
                    most = most.max(f64::from(fall_off[n]));
                }
            }
            Reach { room_um: Vec::new(), depth_um: Vec::new(), nodes: bins, fall_off: most }
        })
        .collect();
    let count = nodes.len() as f64;
    let on_panel = (0..grid.nodes()).filter(|&n| grid.on_panel(n)).count() as f64;
    let area_m2 = panel.panel.area_m2() * count / on_panel;
    (SectionRoom { tile: *tile, groups, reaches, nodes: count, area_m2 }, classes)
}

fn draw_room(car: &Car, drawn: &Drawn, draw: usize, topcoat: &[f32], fall_off: &[f32], sections: &[(SectionRoom, Classes)]) -> DrawRoom {
    let (floor, gain) = (car.limits.floor.micrometres() as f32, drawn.edge_gain[draw] as f32);
    let classes = sections.iter().map(|(_, c)| c.nodes.len()).sum();
    let mut room = DrawRoom { room_um: Vec::with_capacity(classes), depth_um: Vec::with_capacity(classes) };
    for nodes in sections.iter().flat_map(|(_, c)| &c.nodes) {
        let (mut above_floor, mut above_nothing) = (f32::INFINITY, f32::INFINITY);
        for &n in nodes {
            let inverse = 1.0 / (1.0 + gain * fall_off[n]);
            above_floor = above_floor.min((topcoat[n] - floor) * inverse);
            above_nothing = above_nothing.min(topcoat[n] * inverse);
        }
        room.room_um.push(above_floor);
        room.depth_um.push(above_nothing);
    }
    room
}

fn moments(film: &FilmDraws, grid: &Grid) -> (Vec<f64>, Vec<f64>) {
    let nodes = grid.nodes();
    let draws = (film.build_um.len() / nodes) as f64;
    let mut sums = vec![(0.0, 0.0); nodes];
    for row in film.build_um.chunks_exact(nodes) {
        for ((sum, square), v) in sums.iter_mut().zip(row) {
            *sum += f64::from(*v);
            *square += f64::from(*v) * f64::from(*v);
        }
    }
    let of = |n: usize, value: f64| if grid.on_panel(n) { value } else { f64::NAN };
    sums.iter()
        .enumerate()
        .map(|(n, (sum, square))| {
            let mean = sum / draws;
            (of(n, mean), of(n, (square / draws - mean * mean).max(0.0).sqrt()))
        })
        .unzip()
}
