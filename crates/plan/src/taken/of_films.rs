//! A panel in every film drawn: before work, taken, left.

use lastmicron_film::grid::Grid;

use crate::car::Car;
use crate::drawn::Drawn;
use crate::panel_room::Moments;
use crate::patch::{Patch, patches};

/// Mean and standard deviation at every node, um.
pub(super) type Map = (Vec<f64>, Vec<f64>);

/// A panel in every film drawn.
pub(super) struct OfFilms {
    pub(super) removed: Map,
    /// Mean taken over the worked nodes, um, by film; none where no node was worked.
    pub(super) over_worked_um: Option<Vec<f32>>,
    /// Most taken at a node, um, by film.
    pub(super) most_um: Option<Vec<f32>>,
    /// None where none of the film was read.
    pub(super) film: Option<Film>,
}

/// The topcoat of a panel in every draw.
pub(super) struct Film {
    pub(super) before: Map,
    pub(super) left: Map,
    /// Smallest before, um, by draw.
    pub(super) smallest_before_um: Vec<f32>,
    /// Smallest now, um, by draw.
    pub(super) smallest_left_um: Vec<f32>,
    /// Smallest now at a worked node, um, by draw; none where no node was worked.
    pub(super) least_worked_um: Option<Vec<f32>>,
}

/// What the sets recorded on a panel took and left in every film.
pub(super) fn of_films(car: &Car, drawn: &Drawn, panel: usize) -> OfFilms {
    let of_outline = Grid::of(&car.panels[panel].panel);
    let grid = drawn.film.grid(panel).unwrap_or(&of_outline);
    let work = Work::of(patches(car, drawn, panel, grid), grid);
    let (removed, sums) = removal(drawn, &work, grid);
    let of_worked = |of: fn(&Sum) -> f32| (!work.nodes.is_empty()).then(|| sums.iter().map(of).collect());
    OfFilms {
        removed,
        over_worked_um: of_worked(|sum| sum.mean_um),
        most_um: of_worked(|sum| sum.most_um),
        film: film(drawn, panel, &work, grid),
    }
}

/// What was worked on a panel.
struct Work<'a> {
    patches: Vec<Patch<'a>>,
    /// Nodes worked, each once.
    nodes: Vec<usize>,
    /// Nodes on the panel.
    on_panel: Vec<usize>,
}

impl<'a> Work<'a> {
    fn of(patches: Vec<Patch<'a>>, grid: &Grid) -> Self {
        let mut nodes: Vec<usize> = patches.iter().flat_map(|patch| &patch.nodes).map(|(n, _)| *n).collect();
        nodes.sort_unstable();
        nodes.dedup();
        Self { patches, nodes, on_panel: (0..grid.nodes()).filter(|&n| grid.on_panel(n)).collect() }
    }
}

/// What was taken in one film over the worked nodes.
struct Sum {
    mean_um: f32,
    most_um: f32,
}

/// What was taken, which needs no film: the rates and factors of every draw say it.
fn removal(drawn: &Drawn, work: &Work, grid: &Grid) -> (Map, Vec<Sum>) {
    let mut moments = Moments::new(grid.nodes());
    let mut taken_um = vec![0.0_f32; grid.nodes()];
    let films = drawn.film.count();
    let of_film = |film: usize| {
        work.nodes.iter().for_each(|&n| taken_um[n] = 0.0);
        work.patches.iter().flat_map(|patch| patch.taken_um(drawn, film)).for_each(|(n, um)| taken_um[n] += um);
        moments.add(&taken_um, 0.0);
        let sum: f64 = work.nodes.iter().map(|&n| f64::from(taken_um[n])).sum();
        let most_um = work.nodes.iter().map(|&n| taken_um[n]).fold(0.0, f32::max);
        Sum { mean_um: (sum / work.nodes.len().max(1) as f64) as f32, most_um }
    };
    let sums = (0..films).map(of_film).collect();
    (Moments::of_all(&[moments], grid, films), sums)
}

/// The topcoat before and now; none where none of it was read.
fn film(drawn: &Drawn, panel: usize, work: &Work, grid: &Grid) -> Option<Film> {
    let (nodes, films) = (grid.nodes(), drawn.film.count());
    let undercoat_um = |draw: usize| drawn.undercoat_um(draw, panel) as f32;
    let blocks = drawn.film.film_in_blocks(panel, 0..films, |films, builds| {
        let (mut before, mut left) = (Moments::new(nodes), Moments::new(nodes));
        let of_film = |(film, build): (usize, &mut [f32])| {
            let undercoat_um = undercoat_um(Drawn::first_with(film));
            let least = |build: &[f32], of: &[usize]| of.iter().map(|&n| build[n]).fold(f32::INFINITY, f32::min);
            let least_before = least(build, &work.on_panel);
            before.add(build, undercoat_um);
            work.patches.iter().for_each(|patch| patch.take(drawn, film, build));
            left.add(build, undercoat_um);
            [least_before, least(build, &work.on_panel), least(build, &work.nodes)]
        };
        let least: Vec<[f32; 3]> = films.zip(builds.chunks_exact_mut(nodes)).map(of_film).collect();
        (before, left, least)
    })?;
    let (mut before, mut left, mut least) = (Vec::new(), Vec::new(), Vec::new());
    for (before_of, left_of, least_of) in blocks {
        before.push(before_of);
        left.push(left_of);
        least.extend(least_of);
    }
    let by_draw = |which: usize| (0..drawn.count()).map(|d| least[Drawn::film_of(d)][which] - undercoat_um(d)).collect();
    Some(Film {
        before: Moments::of_all(&before, grid, films),
        left: Moments::of_all(&left, grid, films),
        smallest_before_um: by_draw(0),
        smallest_left_um: by_draw(1),
        least_worked_um: (!work.nodes.is_empty()).then(|| by_draw(2)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::example::{EFFORT, with_made};
    use crate::taken::tests::worked;

    #[test]
    fn before_less_removed_is_left_in_every_draw_at_every_node() {
        let car = worked();
        with_made(&car, EFFORT, |made| {
            let drawn = made.drawn;
            let grid = drawn.film.grid(0).unwrap();
            let patches = patches(&car, drawn, 0, grid);
            let film = drawn.film.film(0, 0..drawn.film.count()).unwrap();
            let mut taken_anywhere = false;
            for (film, before) in film.build_um.chunks_exact(grid.nodes()).enumerate() {
                let (mut left, mut taken) = (before.to_vec(), vec![0.0_f32; grid.nodes()]);
                patches.iter().for_each(|patch| patch.take(drawn, film, &mut left));
                patches.iter().flat_map(|patch| patch.taken_um(drawn, film)).for_each(|(n, um)| taken[n] += um);
                taken_anywhere |= taken.iter().any(|um| *um > 0.0);
                // A build of 70 um is kept to 8e-6 um, and a node is worked twice at most.
                assert!((0..grid.nodes()).all(|n| (before[n] - taken[n] - left[n]).abs() < 3e-5));
                assert!((0..grid.nodes()).all(|n| taken[n] > 0.0 || before[n].to_bits() == left[n].to_bits()));
            }
            assert!(taken_anywhere);
        });
    }
}
