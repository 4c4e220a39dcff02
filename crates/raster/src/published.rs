//! What general-purpose libraries make of the same picture (`checks/reference/ridges.py`) \[C\].

use crate::{Mask, Plane, hysteresis, ridge, skeleton, smooth};

const TABLE: &str = include_str!("../../../checks/ridges-scikit-image.csv");

const WIDTH: usize = 96;

/// A column of the table.
fn column(name: &str) -> Vec<f64> {
    let mut rows = TABLE.lines().filter(|line| !line.starts_with('#'));
    let at = rows.next().unwrap().split(',').position(|head| head == name).unwrap();
    rows.map(|row| row.split(',').nth(at).unwrap().parse().unwrap()).collect()
}

fn picture() -> Plane {
    let values: Vec<f32> = column("grey").iter().map(|grey| (grey / 255.0) as f32).collect();
    Plane::new(WIDTH, values.len() / WIDTH, values).unwrap()
}

fn mask(name: &str) -> Mask {
    let values: Vec<bool> = column(name).iter().map(|value| *value > 0.5).collect();
    Mask::new(WIDTH, values.len() / WIDTH, &values).unwrap()
}

fn response() -> Plane {
    ridge::response(&picture(), &[1.0, 1.5, 2.0, 3.0]).unwrap()
}

fn farthest(plane: &Plane, name: &str) -> f64 {
    plane.values().iter().zip(column(name)).map(|(value, expected)| (f64::from(*value) - expected).abs()).fold(0.0, f64::max)
}

#[test]
fn the_ridge_response_is_that_of_scikit_image() {
    assert!(column("response").iter().copied().fold(0.0, f64::max) > 0.05);
    let farthest = farthest(&response(), "response");
    assert!(farthest < 2e-7, "{farthest}");
}

#[test]
fn smoothing_is_that_of_scikit_image() {
    let farthest = farthest(&smooth(&picture(), 1.7).unwrap(), "smoothed");
    assert!(farthest < 3e-7, "{farthest}");
}

#[test]
fn what_hysteresis_keeps_is_what_scipy_s_regions_keep() {
    assert_eq!(hysteresis(&response(), 0.0113, 0.0213), mask("kept"));
}

#[test]
fn the_skeleton_is_that_of_scikit_image() {
    assert_eq!(skeleton(&mask("kept")), mask("skeleton"));
    assert!(mask("skeleton").count() > 400);
}
