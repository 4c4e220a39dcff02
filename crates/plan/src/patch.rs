//! Rectangles that have been worked already, and what was taken on them in every film.

use lastmicron_film::grid::Grid;

use crate::car::{Car, CarPanel, Worked};
use crate::drawn::Drawn;
use crate::gain::Gain;

/// A rectangle that has been worked already.
pub(crate) struct Patch<'a> {
    worked: &'a Worked,
    panel: usize,
    /// Its nodes, each with its gain.
    pub(crate) nodes: Vec<(usize, Gain)>,
}

/// How far apart borders of rectangles that abut may be, mm: rounding of a section's corners.
const ABUT_MM: f64 = 0.5;

/// The rectangles of a panel that have been worked, in the order of the car.
pub(crate) fn patches<'a>(car: &'a Car, drawn: &Drawn, panel: usize, grid: &Grid) -> Vec<Patch<'a>> {
    let gains = &drawn.knowledge.gains;
    let all = worked_on(car, panel);
    let patch = |&worked: &&'a Worked| {
        let blend = gains.blend(&worked.after, drawn.knowledge.work.central_um());
        let gain = |n: usize| gains.at(&blend, gains.nearness(&car.panels[panel], grid.place_mm(n), grid.edge_mm[n]));
        Patch { worked, panel, nodes: places(&car.panels[panel], worked, &all, grid).map(|n| (n, gain(n))).collect() }
    };
    all.iter().map(patch).collect()
}

/// The rectangles of a panel on which sets were done.
pub(crate) fn worked_on(car: &Car, panel: usize) -> Vec<&Worked> {
    car.worked.iter().filter(|w| w.panel == panel && !w.after.is_empty()).collect()
}

/// The nodes of a panel that count as worked with a rectangle, one of the `all` on it.
pub(crate) fn places(panel: &CarPanel, worked: &Worked, all: &[&Worked], grid: &Grid) -> impl Iterator<Item = usize> {
    (0..grid.nodes()).filter(move |&n| grid.on_panel(n) && is_of(panel, worked, grid.place_mm(n), all))
}

/// The nodes of a panel that lie in a rectangle and were kept off when it was worked.
pub(crate) fn places_left_out(panel: &CarPanel, worked: &Worked, grid: &Grid) -> impl Iterator<Item = usize> {
    let is_left_out = |place_mm: [f64; 2]| holds(worked, place_mm) && worked.kept_off.leaves_out(panel, place_mm);
    (0..grid.nodes()).filter(move |&n| grid.on_panel(n) && is_left_out(grid.place_mm(n)))
}

/// Whether a place counts as worked with a rectangle: it lies in it or on its border, and was not kept off. On a border that another of the `all` begins
/// at it counts with that one alone, as in a plan: sections that tile a panel are worked side by side, not twice where they meet.
fn is_of(panel: &CarPanel, worked: &Worked, place_mm: [f64; 2], all: &[&Worked]) -> bool {
    let is_worked = |rectangle: &Worked| holds(rectangle, place_mm) && !rectangle.kept_off.leaves_out(panel, place_mm);
    let is_at = |mm: f64, border_mm: f64| (mm - border_mm).abs() <= ABUT_MM;
    let [_, high] = corners_mm(worked);
    let begins = |other: &Worked, axis: usize| is_at(corners_mm(other)[0][axis], high[axis]) && is_worked(other);
    let is_anothers = |axis: usize| is_at(place_mm[axis], high[axis]) && all.iter().any(|other| begins(other, axis));
    is_worked(worked) && !is_anothers(0) && !is_anothers(1)
}

/// Lower left and upper right corner, mm.
fn corners_mm(worked: &Worked) -> [[f64; 2]; 2] {
    [[worked.x_mm, worked.y_mm], [worked.x_mm + worked.width_mm, worked.y_mm + worked.height_mm]]
}

fn holds(worked: &Worked, place_mm: [f64; 2]) -> bool {
    let [low, high] = corners_mm(worked);
    (0..2).all(|axis| (low[axis]..=high[axis]).contains(&place_mm[axis]))
}

impl Patch<'_> {
    /// What was taken in `film` at each of its nodes, um.
    pub(crate) fn taken_um(&self, drawn: &Drawn, film: usize) -> impl Iterator<Item = (usize, f32)> {
        let hand = drawn.hand(Drawn::first_with(film));
        let middle = drawn.already_removed_um(film, self.panel, &self.worked.after);
        self.nodes.iter().map(move |&(n, gain)| (n, (middle * (1.0 + gain.drawn(hand))) as f32))
    }

    /// Takes that off the build of `film`.
    pub(crate) fn take(&self, drawn: &Drawn, film: usize, build: &mut [f32]) {
        self.taken_um(drawn, film).for_each(|(n, um)| build[n] -= um);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::BodyLine;
    use crate::choose::plan;
    use crate::example::{EFFORT, car, with_made};
    use crate::kept_off::KeptOff;
    use crate::levels::strips;
    use crate::outcome::{KeepOff, KeepOffLine};
    use lastmicron_polish::Step;
    use lastmicron_units::Unit;
    use proptest::prelude::*;

    fn section([x_mm, y_mm, width_mm, height_mm]: [f64; 4]) -> Worked {
        Worked { panel: 0, x_mm, y_mm, width_mm, height_mm, after: vec![Step { process: 0, sets: 2 }], kept_off: KeptOff::default() }
    }

    #[test]
    fn sections_that_tile_a_panel_are_worked_once_where_they_meet() {
        // [D] The bonnet of 1000 by 800 mm as one section, or as two by two: the same film is left.
        let left = |sections: Vec<Worked>| plan(&Car { worked: sections, ..car() }, EFFORT, Unit::Micrometre).unwrap().film.remove(0);
        let whole = left(vec![section([0.0, 0.0, 1000.0, 800.0])]);
        let tiled = left([[0.0, 0.0], [500.0, 0.0], [0.0, 400.0], [500.0, 400.0]].map(|[x, y]| section([x, y, 500.0, 400.0])).to_vec());
        assert_eq!(whole, tiled);
    }

    #[test]
    fn a_spot_within_a_section_is_worked_with_both() {
        let worked = vec![section([0.0, 0.0, 500.0, 400.0]), section([200.0, 200.0, 200.0, 100.0])];
        let car = Car { worked, ..car() };
        with_made(&car, EFFORT, |made| {
            let grid = made.drawn.film.grid(0).unwrap();
            let patches = patches(&car, made.drawn, 0, grid);
            // [D] 21 by 17 places of the section, its border with them; 9 by 5 of the spot.
            assert_eq!(patches.iter().map(|p| p.nodes.len()).collect::<Vec<_>>(), [21 * 17, 9 * 5]);
            assert!(patches[1].nodes.iter().all(|spot| patches[0].nodes.contains(spot)));
        });
    }

    #[test]
    fn what_was_kept_off_is_not_worked_as_a_plan_has_it_node_by_node() {
        let line = BodyLine { points_mm: vec![[0.0, 370.0], [1000.0, 430.0]], radius_mm: 8.0 };
        let panel = CarPanel { lines: vec![line], ..car().panels.remove(0) };
        let grid = Grid::of(&panel.panel);
        // By the levels of a plan: 50 mm off the right edge, 100 off the left, 25 off the line.
        let levels = [0, 2, 0, 4, 1];
        let edges = vec![KeepOff { edge: 1, mm: 50.0 }, KeepOff { edge: 3, mm: 100.0 }];
        let kept_off = KeptOff { edges, lines: vec![KeepOffLine { line: 0, mm: 25.0 }] };
        let worked = Worked { kept_off, ..section([0.0, 0.0, 1000.0, 800.0]) };
        let is_worked_in_plan =
            |n: usize| strips(&panel).iter().zip(levels).all(|(strip, level)| level < strip.left_out_from(&panel, grid.place_mm(n)));
        let found: Vec<usize> = places(&panel, &worked, &[&worked], &grid).collect();
        let planned: Vec<usize> = (0..grid.nodes()).filter(|&n| grid.on_panel(n) && is_worked_in_plan(n)).collect();
        assert_eq!(found, planned);
        let left_out: Vec<usize> = places_left_out(&panel, &worked, &grid).collect();
        assert_eq!(found.len() + left_out.len(), grid.nodes());
        // [D] Nodes every 25 mm: columns at 100 to 950 are worked, two rows or three of each lie on the line.
        let column = |x_mm: f64| found.iter().filter(|&&n| (grid.place_mm(n)[0] - x_mm).abs() < 1.0).count();
        assert_eq!([75.0, 975.0].map(column), [0, 0]);
        assert!([100.0, 500.0, 950.0].map(column).iter().all(|rows| (30..33).contains(rows)), "of 33 rows");
    }

    #[test]
    fn edges_and_lines_that_a_panel_lacks_leave_nothing_out() {
        let kept_off = KeptOff { edges: vec![KeepOff { edge: 4, mm: 100.0 }], lines: vec![KeepOffLine { line: 0, mm: 100.0 }] };
        assert!(!kept_off.leaves_out(&car().panels[0], [0.0, 0.0]));
    }

    proptest! {
        #[test]
        fn every_place_of_tiles_counts_with_one_of_them(cuts in prop::collection::vec(1_u8..20, 1..6), x in 0_u16..=1000, y in 0_u16..=500) {
            let mut at: Vec<f64> = cuts.iter().map(|c| f64::from(*c) * 50.0).chain([0.0, 1000.0]).collect();
            at.sort_by(f64::total_cmp);
            at.dedup();
            let tiles: Vec<Worked> = at.windows(2).flat_map(|x| [0.0, 250.0].map(|y| section([x[0], y, x[1] - x[0], 250.0]))).collect();
            let all: Vec<&Worked> = tiles.iter().collect();
            let place_mm = [f64::from(x), f64::from(y)];
            prop_assert_eq!(all.iter().filter(|tile| is_of(&car().panels[0], tile, place_mm, &all)).count(), 1);
        }
    }
}
