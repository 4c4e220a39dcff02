//! What somebody could do who knew the truth: the bar that no plan can pass by much.

use lastmicron_plan::Car;

use crate::taken::{Done, On};
use crate::truth::{PanelTruth, Rehearsal, Truth};
use crate::working::share_gone;

/// Longest side of the oracle's tiles, mm.
const TILE_MM: f64 = 450.0;

/// What the oracle reaches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OracleScore {
    /// Share of the defects gone, as [`Aftermath`](crate::Aftermath) has it.
    pub correction: f64,
    /// Film taken, um, the mean over the same area.
    pub film_um: f64,
}

/// The most correction, up to the goal, that stays above the floor: in tiles of 450 mm at most, in whole sets of the mildest process, edges worked with the rest.
/// It knows film, rates and gain, but not the scatter from section to section, and is bound by neither hours nor spend.
#[must_use]
pub fn oracle(rehearsal: &Rehearsal) -> OracleScore {
    let Rehearsal { car, truth, .. } = rehearsal;
    let (mut seen, mut area, mut gone, mut film) = (0.0, 0.0, 0.0, 0.0);
    for (k, (of_car, panel)) in car.panels.iter().zip(&truth.panels).enumerate().filter(|(_, (c, _))| c.work) {
        for tile in tiles(panel) {
            let (tile_gone, tile_film) = best_sets(car, truth, On::whole(k, of_car), &tile);
            seen += of_car.visibility * tile.len() as f64;
            gone += of_car.visibility * tile_gone;
            area += tile.len() as f64;
            film += tile_film;
        }
    }
    OracleScore { correction: gone / f64::max(seen, f64::MIN_POSITIVE), film_um: film / f64::max(area, f64::MIN_POSITIVE) }
}

/// The nodes of each tile.
fn tiles(panel: &PanelTruth) -> Vec<Vec<usize>> {
    let (rows, columns) = (cuts(panel.ny, panel.step_mm), cuts(panel.nx, panel.step_mm));
    let tile = |row: &std::ops::Range<usize>, column: &std::ops::Range<usize>| -> Vec<usize> {
        row.clone().flat_map(|j| column.clone().map(move |i| j * panel.nx + i)).collect()
    };
    rows.iter().flat_map(|row| columns.iter().map(|column| tile(row, column))).collect()
}

fn cuts(nodes: usize, step_mm: f64) -> Vec<std::ops::Range<usize>> {
    let parts = ((nodes as f64 * step_mm) / TILE_MM).ceil().max(1.0) as usize;
    (0..parts).map(|p| p * nodes / parts..(p + 1) * nodes / parts).collect()
}

/// Sums over a tile of the share gone and the film taken, at the best whole number of sets.
fn best_sets(car: &Car, truth: &Truth, on: On<'_>, tile: &[usize]) -> (f64, f64) {
    let panel = &truth.panels[on.k];
    let Some((mildest, rate_um)) = truth.rates_um.iter().copied().enumerate().min_by(|a, b| a.1.total_cmp(&b.1)) else { return (0.0, 0.0) };
    let set_um = rate_um * panel.rate_factor;
    let in_times_the_middle = Done::evenly(mildest, 1.0);
    let gains: Vec<f64> = tile.iter().map(|node| in_times_the_middle.taken_um(truth, on, panel.place_mm(*node))).collect();
    let room = tile
        .iter()
        .zip(&gains)
        .map(|(node, g)| (panel.topcoat_um[*node] - car.limits.floor.micrometres()) / g)
        .fold(f64::INFINITY, f64::min);
    let needed = (truth.defects.depth_um(car.goal.correction) / set_um).ceil();
    let sets = (room.max(0.0) / set_um).floor().min(needed);
    let marks = sets * truth.marks[mildest];
    let worth = |g: &f64| if sets > 0.0 { share_gone(truth, sets * set_um * g, marks, car.goal.correction) } else { 0.0 };
    (gains.iter().map(worth).sum(), gains.iter().map(|g| sets * set_um * g).sum())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{TrueEdges, families, rehearse};

    #[test]
    fn the_oracle_takes_as_many_sets_as_the_lowest_place_holds() {
        let mut rehearsal = rehearse(&families::thin_single_stage(), 1).unwrap();
        rehearsal.car.panels.truncate(1);
        rehearsal.car.panels[0].panel.outline_mm = vec![[0.0, 0.0], [400.0, 0.0], [400.0, 400.0], [0.0, 400.0]];
        let topcoat_um = vec![19.0; 17 * 17];
        let panel = PanelTruth { step_mm: 25.0, nx: 17, ny: 17, topcoat_um, undercoat_um: 30.0, rate_factor: 1.0, resprayed: false };
        rehearsal.truth.panels = vec![panel];
        rehearsal.truth.rates_um = vec![0.5, 1.2, 2.6];
        rehearsal.truth.edges = TrueEdges::Law { gain: 0.0, reach_mm: 25.0 };
        rehearsal.truth.defects.scale_um = 10.0;
        // [D] 3 um above the floor of 16, half a micrometre a set: six sets, and the goal is far
        let best = oracle(&rehearsal);
        assert!((best.film_um - 3.0).abs() < 1e-12);
        assert!((best.correction - (1.0 - rehearsal.truth.defects.share_left(3.0))).abs() < 1e-12);
    }

    #[test]
    fn the_oracle_stops_at_the_goal() {
        let mut rehearsal = rehearse(&families::thin_single_stage(), 2).unwrap();
        for panel in &mut rehearsal.truth.panels {
            panel.topcoat_um.fill(500.0);
        }
        let best = oracle(&rehearsal);
        assert!((best.correction - rehearsal.car.goal.correction).abs() < 1e-12);
        let needed_um = rehearsal.truth.defects.depth_um(rehearsal.car.goal.correction);
        assert!(best.film_um >= needed_um * 0.75 && best.film_um <= needed_um + 1.5, "{} for {needed_um}", best.film_um);
    }
}
