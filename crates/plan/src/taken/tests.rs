use super::*;
use crate::car::Worked;
use crate::example::{EFFORT, car};
use crate::kept_off::KeptOff;
use crate::outcome::KeepOff;
use crate::{plan, survey};
use lastmicron_polish::Step;
use proptest::prelude::*;

const UNIT: Unit = Unit::Micrometre;

/// The example, worked: the left half of the bonnet with two sets, a spot within it with one more, and all of the flap, which nobody read.
pub(super) fn worked() -> Car {
    let on = |panel: usize, [x_mm, y_mm, width_mm, height_mm]: [f64; 4], process: usize, sets: u32| Worked {
        panel,
        x_mm,
        y_mm,
        width_mm,
        height_mm,
        after: vec![Step { process, sets }],
        kept_off: KeptOff::default(),
    };
    let left_half = on(0, [0.0, 0.0, 500.0, 800.0], 0, 2);
    Car { worked: vec![left_half, on(0, [200.0, 300.0, 200.0, 200.0], 1, 1), on(2, [0.0, 0.0, 900.0, 700.0], 0, 1)], ..car() }
}

#[test]
fn what_is_left_is_the_film_of_the_plan_and_of_the_survey() {
    for car in [car(), worked()] {
        let taken = taken(&car, EFFORT).unwrap();
        let planned = plan(&car, EFFORT, UNIT).unwrap();
        let surveyed = survey::survey(&car, EFFORT, UNIT).unwrap();
        for panel in &taken.panels {
            // Compared as text: off a panel there is no number, and none equals none there.
            let left = panel.film.as_ref().map(|film| format!("{:?}", film.left));
            assert_eq!(left, surveyed[panel.panel].film.as_ref().map(|film| format!("{film:?}")));
            let Some(left) = left else { continue };
            assert_eq!(left, format!("{:?}", planned.film[panel.panel]));
        }
        let smallest = taken.smallest_left_um.unwrap();
        assert_eq!((smallest.p05, smallest.p95), (planned.smallest_um.p05, planned.smallest_um.p95));
    }
}

#[test]
fn where_nothing_was_worked_exactly_nothing_was_removed() {
    let taken = taken(&car(), EFFORT).unwrap();
    for panel in &taken.panels {
        let removed = panel.removed.as_ref().unwrap();
        assert!(removed.mean_um.iter().chain(&removed.sd_um).all(|um| um.is_nan() || um.to_bits() == 0));
        assert!(removed.mean_um.iter().any(|um| um.to_bits() == 0));
        assert_eq!((removed.over_worked_um, removed.most_um), (None, None));
        assert!(panel.worked_m2.abs() < 1e-12);
        let Some(film) = &panel.film else { continue };
        assert_eq!(format!("{:?}", film.before), format!("{:?}", film.left));
        assert_eq!((film.below_floor, film.reached_undercoat), (None, None));
    }
    assert_eq!((taken.most_um, taken.below_floor, taken.reached_undercoat), (None, None, None));
    let bonnet = worked();
    let removed = super::taken(&bonnet, EFFORT).unwrap().panels[0].removed.clone().unwrap();
    let grid = Grid::of(&bonnet.panels[0].panel);
    let is_right = |n: usize| grid.place_mm(n)[0] > 500.5;
    assert!((0..grid.nodes()).all(|n| is_right(n) == (removed.mean_um[n].to_bits() == 0)));
}

#[test]
fn the_means_of_before_and_removed_leave_the_mean_of_what_is_left() {
    let taken = taken(&worked(), EFFORT).unwrap();
    let (removed, film) = (taken.panels[0].removed.as_ref().unwrap(), taken.panels[0].film.as_ref().unwrap());
    for n in 0..removed.mean_um.len() {
        let left_um = film.before.topcoat_mean_um[n] - removed.mean_um[n];
        assert!((left_um - film.left.topcoat_mean_um[n]).abs() < 1e-4);
    }
    // [D] Two sets of 0.5 um, 0.125 sd each and in common, are 1 um in the middle; the spot has 1.6 um more. At the edges more is taken, nowhere less.
    let at = |x: f64, y: f64| removed.mean_um[Grid::of(&worked().panels[0].panel).between(x, y)[0].0];
    assert!((at(450.0, 100.0) - 1.0).abs() < 0.1, "{}", at(450.0, 100.0));
    assert!((at(300.0, 400.0) - 2.6).abs() < 0.2, "{}", at(300.0, 400.0));
    let (mean, most) = (removed.over_worked_um.unwrap(), removed.most_um.unwrap());
    assert!(mean.mean > 1.0 && mean.mean < most.mean && mean.p025 < mean.p05 && mean.p95 < mean.p975);
    assert!((taken.panels[0].worked_m2 - 0.4).abs() < 1e-12);
}

#[test]
fn edges_that_were_kept_off_lost_nothing_and_count_for_nothing() {
    let with = |edges: Vec<KeepOff>| {
        let mut car = worked();
        car.worked.truncate(1);
        car.worked[0].kept_off.edges = edges;
        taken(&car, EFFORT).unwrap()
    };
    // The left half: its left, upper and lower edges are the panel's.
    let [whole, off] = [vec![], [0, 2, 3].map(|edge| KeepOff { edge, mm: 100.0 }).to_vec()].map(with);
    let [removed_whole, removed] = [&whole, &off].map(|taken| taken.panels[0].removed.clone().unwrap());
    let grid = Grid::of(&worked().panels[0].panel);
    for n in 0..grid.nodes() {
        let [x, y] = grid.place_mm(n);
        let is_worked = x < 500.5 && grid.edge_mm[n] >= 97.5;
        assert_eq!(removed.mean_um[n].to_bits() == 0, !is_worked, "{x} {y}");
        if is_worked {
            assert!((removed.mean_um[n] - removed_whole.mean_um[n]).abs() < 1e-9);
        }
    }
    // [D] Two sets of 0.5 um are 1 um in the middle; with the usual gain 100 mm from an edge hardly more, at one up to half as much again.
    let most = |taken: &Taken| taken.most_um.unwrap().mean;
    assert!(most(&off) < 1.1 && most(&whole) > 1.3, "{} {}", most(&off), most(&whole));
    let film = |taken: &Taken| taken.panels[0].film.clone().unwrap();
    assert!(film(&off).smallest_left_um.p50 >= film(&whole).smallest_left_um.p50);
    assert!(off.below_floor <= whole.below_floor);
}

#[test]
fn a_panel_that_nobody_read_has_a_removal_and_no_film() {
    let taken = taken(&worked(), EFFORT).unwrap();
    let flap = &taken.panels[2];
    assert_eq!((flap.readings, flap.film.is_some()), (0, false));
    assert!((flap.worked_m2 - 0.315).abs() < 1e-12);
    let over = flap.removed.as_ref().unwrap().over_worked_um.unwrap();
    // [D] One set of 0.5 um, more at edges, which are near everywhere on it.
    assert!(over.mean > 0.5 && over.mean < 0.9 && over.sd > 0.1, "{over:?}");
    let bonnet_alone = Car { worked: worked().worked[2..].to_vec(), ..worked() };
    let alone = super::taken(&bonnet_alone, EFFORT).unwrap();
    assert_eq!((alone.below_floor, alone.reached_undercoat), (None, None), "its risk is not known");
}

#[test]
fn of_a_car_that_nobody_read_nothing_is_known_but_where_nothing_was_done() {
    let car = Car { readings: Vec::new(), ..worked() };
    let taken = taken(&car, EFFORT).unwrap();
    assert!(taken.panels.iter().all(|p| p.film.is_none()));
    assert_eq!(taken.panels.iter().map(|p| p.removed.is_some()).collect::<Vec<_>>(), [false, true, false]);
    assert!((taken.panels[0].worked_m2 - 0.4).abs() < 1e-12);
}

#[test]
fn chances_are_those_of_the_worked_places_alone() {
    let with_floor = |um: f64| {
        let mut car = worked();
        car.limits.floor = lastmicron_units::Thickness::from_micrometres(um).unwrap();
        taken(&car, EFFORT).unwrap()
    };
    let chances: Vec<f64> = [5.0, 20.0, 28.0, 31.0, 34.0, 60.0].map(|um| with_floor(um).below_floor.unwrap()).to_vec();
    assert!(chances.is_sorted() && chances[0] < 0.01 && chances[5] > 0.99, "{chances:?}");
    // The sill was not worked, and counts for nothing.
    let taken = with_floor(28.0);
    assert_eq!(taken.panels[1].film.as_ref().unwrap().below_floor, None);
    assert_eq!(taken.panels[0].film.as_ref().unwrap().below_floor, taken.below_floor);
    assert!(taken.reached_undercoat <= taken.below_floor);
}

#[test]
fn thin_places_are_apart_and_the_lowest_comes_first() {
    let film = taken(&worked(), EFFORT).unwrap().panels[0].film.clone().unwrap().left;
    let thin = thin_places(&film, 3);
    let low_um = |p: &ThinPlace| p.topcoat_um.mean - 1.645 * p.topcoat_um.sd;
    assert!(thin.len() == 3 && thin.is_sorted_by(|a, b| low_um(a) <= low_um(b)));
    let lowest = film.topcoat_mean_um.iter().zip(&film.topcoat_sd_um).map(|(mean, sd)| mean - 1.645 * sd).fold(f64::INFINITY, f64::min);
    assert!((low_um(&thin[0]) - lowest).abs() < 1e-12);
    let apart = |a: &ThinPlace, b: &ThinPlace| f64::hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) >= APART_MM;
    assert!((0..3).all(|i| (0..i).all(|j| apart(&thin[i], &thin[j]))));
    let unknown = PanelFilm { topcoat_mean_um: vec![f64::NAN; film.nx * film.ny], ..film };
    assert!(thin_places(&unknown, 3).is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn more_sets_take_more_and_leave_less(sets in 1_u32..12, process in 0_usize..2) {
        let with = |sets: u32| {
            let mut car = worked();
            car.worked[0].after = vec![Step { process, sets }];
            taken(&car, EFFORT).unwrap()
        };
        let [fewer, more] = [with(sets), with(sets + 1)];
        prop_assert!(more.most_um.unwrap().mean > fewer.most_um.unwrap().mean);
        prop_assert!(more.smallest_left_um.unwrap().p50 <= fewer.smallest_left_um.unwrap().p50);
        prop_assert!(more.below_floor >= fewer.below_floor);
    }
}
