//! The depth that a path takes, on a grid over a panel of any outline.

use std::collections::BTreeMap;

use lastmicron_numerics::gp::Grid;
use lastmicron_numerics::polygon::{Polygon, PolygonError};
use lastmicron_numerics::superposition::{SuperpositionError, add_superposed};

use crate::influence::{Influence, InfluenceError};
use crate::path::Stay;

/// Why there is no map.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum MapError {
    /// No samples.
    #[error("the path has no places: give at least one")]
    NoPath,
    /// A pad that is wider than the panel.
    #[error("a pad of {diameter_mm} mm on a panel of {width_mm} x {height_mm} mm: it must not be wider than the panel")]
    PadWiderThanPanel {
        /// Diameter of the pad, mm.
        diameter_mm: f64,
        /// Width of the panel, mm.
        width_mm: f64,
        /// Height of the panel, mm.
        height_mm: f64,
    },
    /// A sample that is off the panel, or nowhere.
    #[error("sample {at} of the path is at ({x_mm}, {y_mm}) mm, off the panel: the pad's centre must stay on it")]
    OffPanel {
        /// Index of the sample.
        at: usize,
        /// From the left, mm.
        x_mm: f64,
        /// From the bottom, mm.
        y_mm: f64,
    },
    /// A time that is none.
    #[error("sample {at} of the path stays for {seconds} s: it must be a number, 0 or more")]
    Seconds {
        /// Index of the sample.
        at: usize,
        /// The time, s.
        seconds: f64,
    },
    /// The outline reaches beyond the grid's far nodes.
    #[error("the panel reaches ({x_mm}, {y_mm}) mm, which the grid does not: it must lie between 0 and the grid's far corner")]
    BeyondGrid {
        /// Rightmost, or leftmost when that is below 0, mm.
        x_mm: f64,
        /// Topmost, or lowest when that is below 0, mm.
        y_mm: f64,
    },
    /// The outline is none.
    #[error(transparent)]
    Outline(#[from] PolygonError),
    /// The influence can't be laid on the grid.
    #[error(transparent)]
    Influence(#[from] InfluenceError),
    /// The superposition was refused.
    #[error(transparent)]
    Superposition(#[from] SuperpositionError),
}

/// Depths at the nodes of a grid: of each the mean over the square of one step around it.
#[derive(Clone, Debug, PartialEq)]
pub struct RemovalMap {
    /// um, x running fastest from the bottom row; NaN where the square is off the panel.
    pub depth_um: Vec<f64>,
    /// Share of each node's square that is on the panel.
    pub share: Vec<f64>,
    /// Mean over the panel's area, um.
    pub mean_um: f64,
    /// Least of all nodes on the panel, um.
    pub min_um: f64,
    /// Greatest, um.
    pub max_um: f64,
}

/// Share of the deepest below which a depth is rounding and counts as nothing.
const ROUNDING: f64 = 1e-13;

/// Share of a part of a step that is rounding.
const SNAP: f64 = 1e-7;

/// The depth that a path takes from a panel. `outline` has its corners in mm; without one the panel is the grid's rectangle.
///
/// Method: Preston's law is linear in time, so that depths add: the influence at every sample, times the seconds there. A sample between nodes
/// is split among the four places around it that are a part of a step apart (an eighth, while the pad spans less than 150 steps), in
/// proportion: volume and centre are kept, and the spread that this adds is at most a part's half. Each of these places has a stencil of its own.
/// What a pad takes beyond the panel is lost: where it hangs over an edge, pressure rises, which this does not know (see contact).
///
/// The mean weighs every node by the part of its square that is on the panel. While the pad stays inside, it is k F v t / area exactly.
///
/// # Errors
/// [`MapError`] names the sample that leaves the panel, and the sides of an outline that cross.
pub fn removal_map(influence: &Influence, path: &[Stay], grid: Grid, outline: Option<&[[f64; 2]]>) -> Result<RemovalMap, MapError> {
    let far = [(grid.nx() - 1) as f64 * grid.step_mm(), (grid.ny() - 1) as f64 * grid.step_mm()];
    let panel = outline.map(|corners| panel(corners, far)).transpose()?;
    fits(influence, panel.as_ref(), far)?;
    check(path, panel.as_ref(), far)?;
    let share = panel.as_ref().map_or_else(|| rectangle(grid), |panel| panel.shares(grid.nx(), grid.ny(), grid.step_mm()));
    let mut depth_um = superposed(influence, path, grid)?;
    let deepest = depth_um.iter().copied().fold(0.0, f64::max);
    let (mut sum, mut area, mut min_um, mut max_um) = (0.0, 0.0, f64::INFINITY, 0.0_f64);
    for (depth, share) in depth_um.iter_mut().zip(&share) {
        if *share <= 0.0 {
            *depth = f64::NAN;
            continue;
        }
        *depth = if *depth < ROUNDING * deepest { 0.0 } else { *depth };
        sum += *share * *depth;
        area += *share;
        min_um = min_um.min(*depth);
        max_um = max_um.max(*depth);
    }
    Ok(RemovalMap { depth_um, share, mean_um: sum / area, min_um, max_um })
}

fn panel(corners: &[[f64; 2]], far: [f64; 2]) -> Result<Polygon, MapError> {
    let panel = Polygon::new(corners.to_vec())?;
    let low = [0, 1].map(|axis| corners.iter().map(|corner| corner[axis]).fold(f64::INFINITY, f64::min));
    let high = [0, 1].map(|axis| corners.iter().map(|corner| corner[axis]).fold(f64::NEG_INFINITY, f64::max));
    let beyond = |axis: usize| low[axis] < 0.0 || high[axis] > far[axis] * (1.0 + 1e-9);
    if beyond(0) || beyond(1) {
        let worst = |axis: usize| if low[axis] < 0.0 { low[axis] } else { high[axis] };
        return Err(MapError::BeyondGrid { x_mm: worst(0), y_mm: worst(1) });
    }
    Ok(panel)
}

fn fits(influence: &Influence, panel: Option<&Polygon>, far: [f64; 2]) -> Result<(), MapError> {
    let size = |axis: usize| {
        panel.map_or(far[axis], |panel| {
            let along = panel.corners().iter().map(|corner| corner[axis]);
            along.clone().fold(f64::NEG_INFINITY, f64::max) - along.fold(f64::INFINITY, f64::min)
        })
    };
    let (diameter_mm, width_mm, height_mm) = (influence.diameter_mm(), size(0), size(1));
    if diameter_mm > width_mm.min(height_mm) * (1.0 + 1e-9) {
        return Err(MapError::PadWiderThanPanel { diameter_mm, width_mm, height_mm });
    }
    Ok(())
}

fn check(path: &[Stay], panel: Option<&Polygon>, far: [f64; 2]) -> Result<(), MapError> {
    if path.is_empty() {
        return Err(MapError::NoPath);
    }
    for (at, stay) in path.iter().enumerate() {
        let Stay { x_mm, y_mm, seconds } = *stay;
        let on_grid = x_mm >= 0.0 && y_mm >= 0.0 && x_mm <= far[0] * (1.0 + 1e-9) && y_mm <= far[1] * (1.0 + 1e-9);
        if !(on_grid && panel.is_none_or(|panel| panel.contains([x_mm, y_mm]))) {
            return Err(MapError::OffPanel { at, x_mm, y_mm });
        }
        if !(seconds >= 0.0 && seconds.is_finite()) {
            return Err(MapError::Seconds { at, seconds });
        }
    }
    Ok(())
}

/// Halves along a rectangle's sides, quarters in its corners.
fn rectangle(grid: Grid) -> Vec<f64> {
    let along = |i: usize, n: usize| if n > 1 && (i == 0 || i == n - 1) { 0.5 } else { 1.0 };
    (0..grid.ny()).flat_map(|j| (0..grid.nx()).map(move |i| along(i, grid.nx()) * along(j, grid.ny()))).collect()
}

fn superposed(influence: &Influence, path: &[Stay], grid: Grid) -> Result<Vec<f64>, MapError> {
    let (nx, ny) = (grid.nx(), grid.ny());
    let cells = influence.on_cells(grid.step_mm())?;
    let parts = cells.parts();
    // By the place between nodes: which node, and for how long.
    let mut shifts: BTreeMap<[usize; 2], Vec<(usize, f64)>> = BTreeMap::new();
    for stay in path {
        for (column, right, along) in split(stay.x_mm / grid.step_mm(), parts, nx) {
            for (row, up, across) in split(stay.y_mm / grid.step_mm(), parts, ny) {
                let seconds = stay.seconds * along * across;
                if seconds > 0.0 {
                    shifts.entry([right, up]).or_default().push((row * nx + column, seconds));
                }
            }
        }
    }
    let mut depth_um = vec![0.0; nx * ny];
    let mut seconds = vec![0.0; nx * ny];
    for (shift, stays) in &shifts {
        seconds.fill(0.0);
        stays.iter().for_each(|(node, time)| seconds[*node] += time);
        add_superposed(&cells.stencil(*shift)?, &seconds, nx, &mut depth_um)?;
    }
    Ok(depth_um)
}

/// The two places around a distance in steps: the node before, parts of a step beyond it, and the share of each.
fn split(steps: f64, parts: usize, nodes: usize) -> [(usize, usize, f64); 2] {
    let place = steps * parts as f64;
    let nearest = place.round();
    let (first, beyond) = if (place - nearest).abs() < SNAP { (nearest, 0.0) } else { (place.floor(), place - place.floor()) };
    let at = |place: usize, share: f64| {
        let node = (place / parts).min(nodes - 1);
        (node, (place - node * parts).min(parts), share)
    };
    [at(first as usize, 1.0 - beyond), at(first as usize + 1, beyond)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::equipment::Use;
    use crate::motion::Motion;
    use crate::path::{Hatch, Section, section_path};

    fn orbital(spin_rpm: f64) -> Motion {
        Motion::new(7.5, 4800.0, spin_rpm).unwrap()
    }

    fn at(x_mm: f64, y_mm: f64, seconds: f64) -> Stay {
        Stay { x_mm, y_mm, seconds }
    }

    #[test]
    fn the_mean_over_a_closed_section_does_not_depend_on_the_path() {
        // standards 4.1 [C]: k = 1.842e-11, 40 N, 3.77 m/s, 90 s on 0.25 m2 is 1.000 um; 3.769911 m/s is the speed of 4,800 orbits of 7.5 mm.
        let influence = Influence::new(125.0, &orbital(0.0), 40.0, 1.842e-11).unwrap();
        let grid = Grid::over(500.0, 500.0, 5.0).unwrap();
        let section = Section { x_mm: 0.0, y_mm: 0.0, width_mm: 500.0, height_mm: 500.0 }.inset(80.0);
        let arm = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 37.0, overlap: 0.55, passes: 3 };
        let path = section_path(section, 125.0, &arm, Hatch::Crossed, 1.7).unwrap();
        let seconds: f64 = path.iter().map(|stay| stay.seconds).sum();
        let map = removal_map(&influence, &path, grid, None).unwrap();
        let want = 1.842e-11 * 40.0 * 3.769_911_184_307_752 * seconds / 0.25 * 1e6;
        assert!((map.mean_um / want - 1.0).abs() < 1e-6, "{} {want}", map.mean_um);
        assert!((1.842e-11 * 40.0 * 3.77 * 90.0 / 0.25 * 1e6_f64 - 1.0).abs() < 2e-4);
        // The same time in one place takes the same mean.
        let still = removal_map(&influence, &[at(250.3, 249.1, seconds)], grid, None).unwrap();
        assert!((still.mean_um / want - 1.0).abs() < 1e-6);
    }

    /// A pass along x over the middle of a grid, at 40 mm/s, sampled on nodes and in between.
    fn pass(influence: &Influence, half_height_mm: f64, step_mm: f64) -> (Vec<f64>, usize) {
        let (length, across) = (3.0 * influence.reach_mm() + 8.0 * step_mm, half_height_mm);
        let grid = Grid::over(length, 2.0 * across, step_mm).unwrap();
        let spacing = step_mm / 2.0;
        let path: Vec<Stay> = (0..)
            .map(|i| f64::from(i) * spacing)
            .take_while(|x| *x <= (grid.nx() - 1) as f64 * step_mm)
            .map(|x| at(x, across, spacing / 40.0))
            .collect();
        let map = removal_map(influence, &path, grid, None).unwrap();
        let column = grid.nx() / 2;
        (map.depth_um.chunks_exact(grid.nx()).map(|row| row[column]).collect(), grid.ny() / 2)
    }

    #[test]
    fn a_pass_of_a_spinning_pad_has_the_closed_forms_profile() {
        // standards 4.3 [C]: f(y) / R^2, D150, 1,500 rpm, 40 N, 40 mm/s, k 1e-11: 500.000 nm in the middle, 599.839 at the most.
        let table = [
            (0.0, 1.0),
            (0.1, 1.024920),
            (0.2, 1.071493),
            (0.3, 1.122583),
            (0.4, 1.167203),
            (0.5, 1.195265),
            (0.6, 1.195500),
            (0.7, 1.152981),
            (0.8, 1.043614),
            (0.9, 0.814278),
            (0.95, 0.603790),
        ];
        let influence = Influence::new(150.0, &Motion::new(0.0, 0.0, 1500.0).unwrap(), 40.0, 1e-11).unwrap();
        let (profile, middle) = pass(&influence, 90.0, 0.5);
        for (y, want) in table {
            let node = y * 75.0 / 0.5_f64;
            let got = profile[middle + (node + 1e-9).floor() as usize].midpoint(profile[middle + (node - 1e-9).ceil() as usize]) / 0.5;
            assert!((got / want - 1.0).abs() < 1e-3, "{y}: {got} {want}");
        }
        let most = profile.iter().copied().fold(0.0, f64::max);
        assert!((most / 0.599_839 - 1.0).abs() < 1e-3, "{most}");
        // 0.55243404 of the radius out.
        let peak = profile.iter().position(|depth| *depth >= most).unwrap().abs_diff(middle);
        assert!((peak as f64 * 0.5 - 0.552_434_04 * 75.0).abs() < 1.0, "{peak}");
        let volume: f64 = profile.iter().sum::<f64>() * 0.5 / 150.0;
        assert!((1000.0 * volume / 523.599 - 1.0).abs() < 1e-5, "{volume}");
    }

    #[test]
    fn a_pass_of_an_orbiting_pad_takes_its_chord() {
        // standards 4.3 [C]: D125, e 7.5, 4,800 orbits: 384.000 nm in the middle for e much less than R, 301.593 over the swath.
        let influence = Influence::new(125.0, &orbital(0.0), 40.0, 1e-11).unwrap();
        let (profile, middle) = pass(&influence, 90.0, 1.0);
        let volume: f64 = profile.iter().sum::<f64>() / 125.0;
        assert!((1000.0 * volume / 301.593 - 1.0).abs() < 1e-5, "{volume}");
        // [D] the chord 2 sqrt(R^2 - y^2), averaged over the orbit: y + e sin t.
        for y in [0.0_f64, 20.0, 40.0, 50.0] {
            let chord = |t: f64| 2.0 * (62.5_f64.powi(2) - (y + 7.5 * t.sin()).powi(2)).max(0.0).sqrt();
            let mean = (0..3600).map(|t| chord(f64::from(t).to_radians() / 10.0)).sum::<f64>() / 3600.0;
            let want = 1e6 * 1e-11 * 40.0 / (std::f64::consts::PI * 0.0625_f64.powi(2)) * 3.769_911_184 * mean / 40.0;
            let got = profile[middle + y as usize];
            assert!((got / want - 1.0).abs() < 1e-3, "{y}: {got} {want}");
        }
        // Small against R: 384.000 nm.
        let small = Motion::new(0.5, 72_000.0, 0.0).unwrap();
        let (profile, middle) = pass(&Influence::new(125.0, &small, 40.0, 1e-11).unwrap(), 70.0, 1.0);
        assert!((profile[middle] / 0.384 - 1.0).abs() < 1e-3, "{}", profile[middle]);
    }

    #[test]
    fn a_map_agrees_with_direct_sums_between_nodes_too() {
        // [D] every node's square as 40 x 40 points of the influence itself.
        let influence = Influence::new(60.0, &orbital(200.0), 30.0, 1e-11).unwrap();
        let grid = Grid::over(120.0, 100.0, 4.0).unwrap();
        let path = [at(40.0, 52.0, 3.0), at(61.3, 47.9, 2.0), at(120.0, 100.0, 1.0), at(7.77, 33.3, 4.0)];
        let map = removal_map(&influence, &path, grid, None).unwrap();
        for (node, got) in grid.places().iter().zip(&map.depth_um) {
            let point = |i: i32| 4.0 * ((f64::from(i) + 0.5) / 40.0 - 0.5);
            let there = |stay: &Stay| {
                let sum: f64 = (0..1600)
                    .map(|i| influence.rate_um_s(f64::hypot(node[0] + point(i % 40) - stay.x_mm, node[1] + point(i / 40) - stay.y_mm)))
                    .sum();
                stay.seconds * sum / 1600.0
            };
            let want: f64 = path.iter().map(there).sum();
            assert!((got - want).abs() < 2e-3 * map.max_um, "{node:?}: {got} {want}");
        }
    }

    #[test]
    fn a_panel_of_any_outline_keeps_what_is_on_it() {
        let influence = Influence::new(60.0, &orbital(0.0), 30.0, 1e-11).unwrap();
        let grid = Grid::over(400.0, 300.0, 5.0).unwrap();
        let triangle = [[0.0, 0.0], [400.0, 0.0], [0.0, 300.0]];
        let map = removal_map(&influence, &[at(101.0, 99.0, 10.0)], grid, Some(&triangle)).unwrap();
        let want = 1e-11 * 30.0 * 3.769_911_184_307_752 * 10.0 / 0.06 * 1e6;
        assert!((map.mean_um / want - 1.0).abs() < 1e-6, "{} {want}", map.mean_um);
        assert!(map.depth_um[81 * 60 + 80].is_nan() && map.min_um == 0.0 && map.max_um > 0.0);
        let refused = |path: &[Stay], outline: &[[f64; 2]]| removal_map(&influence, path, grid, Some(outline)).unwrap_err();
        assert_eq!(refused(&[at(1.0, 1.0, 1.0), at(300.0, 200.0, 1.0)], &triangle), MapError::OffPanel { at: 1, x_mm: 300.0, y_mm: 200.0 });
        let crossed = [[0.0, 0.0], [400.0, 300.0], [400.0, 0.0], [0.0, 300.0]];
        assert_eq!(refused(&[at(1.0, 1.0, 1.0)], &crossed), MapError::Outline(PolygonError::Crosses { first: 0, second: 2 }));
        assert!(matches!(refused(&[at(1.0, 1.0, 1.0)], &[[0.0, 0.0], [500.0, 0.0], [0.0, 1.0]]), MapError::BeyondGrid { .. }));
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        let influence = Influence::new(60.0, &orbital(0.0), 30.0, 1e-11).unwrap();
        let grid = Grid::over(400.0, 300.0, 5.0).unwrap();
        let refused = |path: &[Stay]| removal_map(&influence, path, grid, None).unwrap_err();
        assert_eq!(refused(&[]), MapError::NoPath);
        assert_eq!(refused(&[at(0.0, 0.0, 1.0), at(401.0, 0.0, 1.0)]), MapError::OffPanel { at: 1, x_mm: 401.0, y_mm: 0.0 });
        assert_eq!(refused(&[at(0.0, 0.0, -1.0)]), MapError::Seconds { at: 0, seconds: -1.0 });
        assert!(matches!(refused(&[at(f64::NAN, 0.0, 1.0)]), MapError::OffPanel { at: 0, .. }));
        let narrow = removal_map(&influence, &[at(0.0, 0.0, 1.0)], Grid::over(400.0, 55.0, 5.0).unwrap(), None).unwrap_err();
        assert_eq!(narrow, MapError::PadWiderThanPanel { diameter_mm: 60.0, width_mm: 400.0, height_mm: 55.0 });
    }
}
