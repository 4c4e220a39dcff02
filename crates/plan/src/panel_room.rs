//! A panel's film as drawn, summed up: what is there now, and the least of it in every part that is worked or kept off together.

use lastmicron_film::grid::Grid;

use crate::car::Car;
use crate::drawn::Drawn;
use crate::gain::Blend;
use crate::patch::patches;
use crate::room::{Part, TileRoom, tiles};

/// A panel's film as drawn, summed up.
#[derive(Clone, Debug)]
pub(crate) struct PanelRoom {
    pub(crate) tiles: Vec<TileRoom>,
    /// Mean of the topcoat at every node, um.
    pub(crate) mean_um: Vec<f64>,
    /// Its standard deviation, um.
    pub(crate) sd_um: Vec<f64>,
    /// Smallest topcoat on the panel, by draw, um.
    pub(crate) smallest_um: Vec<f32>,
}

/// Sums up the film of a panel in every draw; none when it has no readings.
pub(crate) fn panel_room(car: &Car, drawn: &Drawn, blends: &[Blend], panel: usize) -> Option<PanelRoom> {
    let grid = drawn.film.grid(panel)?;
    let (nodes, films) = (grid.nodes(), drawn.film.count());
    let mut tiles = tiles(car, drawn, blends, panel, grid);
    let patches = patches(car, drawn, panel, grid);
    let undercoat_um = |draw: usize| drawn.undercoat_um(draw, panel) as f32;
    let blocks = drawn.film.film_in_blocks(panel, 0..films, |films, builds| {
        let mut moments = Moments::new(nodes);
        let of_film = |(film, build): (usize, &mut [f32])| -> Vec<f32> {
            patches.iter().for_each(|patch| patch.take(drawn, film, build));
            moments.add(build, undercoat_um(Drawn::first_with(film)));
            tiles.iter().flat_map(|t| &t.parts).map(|part| least_of(part, build)).collect()
        };
        let least_um: Vec<Vec<f32>> = films.zip(builds.chunks_exact_mut(nodes)).map(of_film).collect();
        (least_um, moments)
    })?;
    let (least_um, moments): (Vec<Vec<Vec<f32>>>, Vec<Moments>) = blocks.into_iter().unzip();
    let least_um = least_um.concat();
    for (i, part) in tiles.iter_mut().flat_map(|t| &mut t.parts).enumerate() {
        part.least_um = least_um.iter().map(|parts| parts[i]).collect();
    }
    let smallest: Vec<f32> = least_um.iter().map(|parts| lowest(parts)).collect();
    let smallest_um = (0..drawn.count()).map(|d| smallest[Drawn::film_of(d)] - undercoat_um(d)).collect();
    let (mean_um, sd_um) = Moments::of_all(&moments, grid, films);
    Some(PanelRoom { tiles, mean_um, sd_um, smallest_um })
}

fn least_of(part: &Part, build: &[f32]) -> f32 {
    part.runs.iter().map(|run| lowest(&build[run.clone()])).fold(f32::INFINITY, f32::min)
}

/// The lowest of some values; infinite when there are none.
fn lowest(values: &[f32]) -> f32 {
    // Side by side and by comparison, so that it vectorises.
    let lower = |a: f32, b: f32| if b < a { b } else { a };
    let mut lanes = [f32::INFINITY; 8];
    let (blocks, rest) = values.as_chunks::<8>();
    for block in blocks {
        lanes.iter_mut().zip(block).for_each(|(lane, v)| *lane = lower(*lane, *v));
    }
    lanes.iter().chain(rest).copied().fold(f32::INFINITY, lower)
}

/// Sums of the topcoat at every node over some films, um, and of its square.
pub(crate) struct Moments {
    sums: Vec<f64>,
    squares: Vec<f64>,
}

impl Moments {
    pub(crate) fn new(nodes: usize) -> Self {
        Self { sums: vec![0.0; nodes], squares: vec![0.0; nodes] }
    }

    pub(crate) fn add(&mut self, build: &[f32], undercoat_um: f32) {
        for ((sum, square), v) in self.sums.iter_mut().zip(&mut self.squares).zip(build) {
            let topcoat = f64::from(v - undercoat_um);
            *sum += topcoat;
            *square += topcoat * topcoat;
        }
    }

    /// Mean and standard deviation at every node, um, from the sums of `blocks` over `films` films; NaN off the panel.
    pub(crate) fn of_all(blocks: &[Self], grid: &Grid, films: usize) -> (Vec<f64>, Vec<f64>) {
        let of = |n: usize| {
            let mean = blocks.iter().map(|b| b.sums[n]).sum::<f64>() / films as f64;
            let square = blocks.iter().map(|b| b.squares[n]).sum::<f64>() / films as f64;
            if grid.on_panel(n) { (mean, (square - mean * mean).max(0.0).sqrt()) } else { (f64::NAN, f64::NAN) }
        };
        (0..grid.nodes()).map(of).unzip()
    }
}
