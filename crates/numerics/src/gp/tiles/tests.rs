use super::*;
use crate::gp::{Field, Mean, Reading};
use crate::kernel::{Family, Kernel};

/// Readings scattered over 1000 x 800 mm; every fifth place twice.
fn scattered(count: u32, sd: f64) -> Vec<Reading> {
    let place = |i: u32| (f64::from(i * 7919 % 1009), f64::from(i * 6007 % 809));
    (0..count)
        .map(|i| {
            let (x_mm, y_mm) = place(if sd > 0.0 && i % 5 == 0 { i / 5 } else { i });
            Reading { x_mm, y_mm, value: 100.0 + (x_mm / 170.0).sin() - (y_mm / 90.0).cos(), sd: sd * (1.0 + f64::from(i % 3)) }
        })
        .collect()
}

/// Largest relative difference of sds, and of means over the field's sd, between the grid's and the places' estimates.
fn differences(field: &Field, grid: Grid) -> [f64; 2] {
    let (tiled, direct) = (field.on(grid), field.at(&grid.places()).unwrap());
    let sds = tiled.sd.iter().zip(&direct.sd).map(|(a, b)| (a - b).abs() / b.max(1e-300));
    let means = tiled.mean.iter().zip(&direct.mean).map(|(a, b)| (a - b).abs() / field.kernel().sd());
    [sds.fold(0.0, f64::max), means.fold(0.0, f64::max)]
}

#[test]
fn tiles_agree_with_places_to_eight_digits() {
    // [D] the same formulas without nodes
    for family in Family::ALL {
        for (length_mm, step_mm) in [(400.0, 10.0), (90.0, 10.0), (1500.0, 12.5), (60.0, 25.0)] {
            for mean in [Mean::Known(100.0), Mean::Constant] {
                let field = Field::new(&scattered(150, 0.7), Kernel::new(family, 5.0, length_mm).unwrap(), mean).unwrap();
                let [sd, mean] = differences(&field, Grid::over(1000.0, 800.0, step_mm).unwrap());
                assert!(sd < 1e-8 && mean < 1e-11, "{family:?} {length_mm} {step_mm}: {sd:e} {mean:e}");
            }
        }
    }
}

#[test]
fn tiles_are_in_use_where_they_pay() {
    let tiles = |count, step_mm, pays| {
        let field = Field::new(&scattered(count, 0.7), Kernel::new(Family::Matern32, 5.0, 400.0).unwrap(), Mean::Constant).unwrap();
        let tiles = Tiles::new(&field.forms, &field.conditioned, Grid::over(1000.0, 800.0, step_mm).unwrap());
        let near =
            |tiles: &Tiles| tiles.given.places.iter().filter(|at| f64::hypot(at[0] - 500.0, at[1] - 400.0) <= tiles.reach_mm).count();
        assert_eq!(tiles.is_some_and(|tiles| tiles.pays(near(&tiles))), pays, "{count} {step_mm}");
    };
    tiles(300, 5.0, true);
    tiles(300, 100.0, false);
    tiles(12, 5.0, false);
}

#[test]
fn tiles_that_hold_places_without_any_variance_are_computed_directly() {
    for family in [Family::Exponential, Family::Matern32] {
        let field = Field::new(&scattered(100, 0.0), Kernel::new(family, 5.0, 100.0).unwrap(), Mean::Constant).unwrap();
        let grid = Grid::over(1000.0, 800.0, 10.0).unwrap();
        let (tiled, direct) = (field.on(grid), field.at(&grid.places()).unwrap());
        for (a, b) in tiled.sd.iter().zip(&direct.sd) {
            assert!((a - b).abs() < 1e-8 * b + 1e-7, "{family:?}: {a:e} {b:e}");
        }
    }
}
