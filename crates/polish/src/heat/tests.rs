use super::*;

use proptest::prelude::*;

/// The standards' example: 50 N, 3.77 m/s, 150 mm, all of the heat into the panel.
fn example() -> Rubbing {
    Rubbing::new(USUAL_FRICTION, 50.0, 3.77, 150.0, 1.0).unwrap()
}

#[track_caller]
fn close(got: f64, wanted: f64, tolerance: f64) {
    assert!((got - wanted).abs() <= tolerance, "{got} instead of {wanted}");
}

#[test]
fn usual_panels_have_their_published_heat() {
    // [C] standards 11
    for (material, wanted) in [(Material::Steel, 3077.0), (Material::Aluminium, 2430.0), (Material::Plastic, 5355.0)] {
        close(Sheet::usual(material).heat_j_m2_k(), wanted, 0.51);
    }
}

#[test]
fn rubbing_has_its_published_power_and_flux() {
    // [C] standards 11
    close(example().watts(), 75.4, 0.051);
    close(example().flux_w_m2(), 4267.0, 0.51);
    close(Rubbing::new(0.4, 50.0, 3.77, 150.0, USUAL_SHARE).unwrap().watts(), 37.7, 0.051);
}

#[test]
fn a_machine_held_still_warms_as_published() {
    // [C] standards 11: 1.387 K/s on 0.8 mm steel
    let steel = Sheet::usual(Material::Steel);
    let rise = |seconds| steel.held_still_k(&example(), seconds).unwrap();
    close(rise(3.0) - rise(2.0), 1.387, 0.51e-3);
    // [C] plastic after 2 s 11.4 K
    close(Sheet::usual(Material::Plastic).held_still_k(&example(), 2.0).unwrap(), 11.4, 0.051);
    // [C] a thick body of steel 0.49 K
    close(Material::Steel.deep_rise_k(example().flux_w_m2(), 2.0).unwrap(), 0.49, 0.51e-2);
    // [S-low] a field number: 1.33 K/s over about 10 s
    close(rise(10.0) / 10.0, 1.33, 0.1);
}

#[test]
fn an_area_worked_warms_as_published() {
    // [C] standards 11: 0.25 m2 by 0.098 K/s on steel, 0.124 on aluminium
    for (material, wanted) in [(Material::Steel, 0.098), (Material::Aluminium, 0.124)] {
        let rise = Sheet::usual(material).worked_k(&example(), 0.25, 0.01, USUAL_LOSS_W_M2_K, Sides::One).unwrap();
        close(rise / 0.01, wanted, 0.51e-3);
    }
    // [C] without end 30.2 K, cooled on both sides 15.1
    close(example().steady_k(0.25, 10.0, Sides::One).unwrap(), 30.2, 0.051);
    close(example().steady_k(0.25, 10.0, Sides::Both).unwrap(), 15.1, 0.051);
    let late = Sheet::usual(Material::Steel).worked_k(&example(), 0.25, 1e5, 10.0, Sides::Both).unwrap();
    close(late, example().steady_k(0.25, 10.0, Sides::Both).unwrap(), 1e-9);
    // [C] across 100 um of paint 2.13 K
    close(example().across_film_k(100.0).unwrap(), 2.13, 0.51e-2);
}

#[test]
fn a_plate_begins_as_a_thick_body_and_ends_as_a_whole() {
    // [D] q t / (rho c L) + q L / (3 k)
    let plastic = Sheet::usual(Material::Plastic);
    let q = example().flux_w_m2();
    let late = plastic.held_still_k(&example(), 600.0).unwrap();
    close(late, q * 600.0 / plastic.heat_j_m2_k() + q * 0.003 / (3.0 * 0.2), 1e-9);
    // across the change of forms, at a Fourier number of 0.1
    let change = SHORT * Material::Plastic.heat_j_m3_k() * 9e-6 / 0.2;
    let [before, after] = [change * 0.999_999, change * 1.000_001].map(|s| plastic.held_still_k(&example(), s).unwrap());
    assert!(after > before && (after / before - 1.0).abs() < 1e-4, "{before} {after}");
}

#[test]
fn how_long_a_machine_may_stand_is_the_time_to_that_rise() {
    let plastic = Sheet::usual(Material::Plastic);
    let seconds = plastic.seconds_held_still(&example(), 20.0).unwrap();
    close(plastic.held_still_k(&example(), seconds).unwrap(), 20.0, 1e-5);
    assert!(seconds < Sheet::usual(Material::Steel).seconds_held_still(&example(), 20.0).unwrap());
    let weak = Rubbing::new(0.4, 1e-6, 0.1, 150.0, 0.5).unwrap();
    close(plastic.seconds_held_still(&weak, 20.0).unwrap(), LONGEST_S, 1e-9);
}

#[test]
fn a_hot_panel_is_cautioned_about_in_words() {
    assert_eq!(caution(20.0), Ok(None));
    // [S-low] 110 degrees F
    close(WARM_C, (110.0 - 32.0) / 1.8, 0.51);
    assert!(caution(50.0).unwrap().unwrap().to_string().starts_with("about 50 degrees C, an estimate: more than the 43"));
    assert!(caution(75.0).unwrap().unwrap().to_string().starts_with("about 75 degrees C, an estimate: paint may soften from 60"));
    assert!(caution(f64::NAN).is_err());
}

#[test]
fn what_is_no_heat_is_refused_with_its_number() {
    let said = |error: HeatError| error.to_string();
    assert!(said(Sheet::new(Material::Steel, 0.0).unwrap_err()).starts_with("a sheet of 0 mm"));
    assert!(said(Rubbing::new(-0.4, 50.0, 3.77, 150.0, 1.0).unwrap_err()).starts_with("a friction of -0.4"));
    assert!(said(Rubbing::new(0.4, 0.0, 3.77, 150.0, 1.0).unwrap_err()).starts_with("a load of 0 N"));
    assert!(said(Rubbing::new(0.4, 50.0, f64::NAN, 150.0, 1.0).unwrap_err()).starts_with("a speed of NaN m/s"));
    assert!(said(Rubbing::new(0.4, 50.0, 3.77, 150.0, 1.5).unwrap_err()).starts_with("a share of 1.5"));
    assert!(said(example().steady_k(0.001, 10.0, Sides::One).unwrap_err()).starts_with("a pad of 0.0177 m2 on an area of 0.0010 m2"));
    assert!(said(example().steady_k(0.25, 0.0, Sides::One).unwrap_err()).starts_with("a loss of 0 W/m2 K"));
    assert!(said(example().across_film_k(-1.0).unwrap_err()).starts_with("a film of -1 um"));
    assert!(Sheet::usual(Material::Steel).held_still_k(&example(), -1.0).is_err());
}

proptest! {
    #[test]
    fn a_surface_only_warms(early in 0.0..100.0f64, more in 0.01..100.0f64) {
        for material in [Material::Steel, Material::Aluminium, Material::Plastic] {
            let rise = |seconds| Sheet::usual(material).held_still_k(&example(), seconds).unwrap();
            prop_assert!(rise(early + more) > rise(early));
        }
    }

    #[test]
    fn plastic_warms_before_metal_does(seconds in 0.1..10.0f64) {
        let rise = |material| Sheet::usual(material).held_still_k(&example(), seconds).unwrap();
        prop_assert!(rise(Material::Plastic) > rise(Material::Steel) && rise(Material::Steel) > 0.0);
    }

    #[test]
    fn an_area_worked_stays_below_its_steady_state(area in 0.02..2.0f64, seconds in 0.0..10_000.0f64) {
        let rise = Sheet::usual(Material::Steel).worked_k(&example(), area, seconds, 10.0, Sides::Both).unwrap();
        prop_assert!(rise >= 0.0 && rise <= example().steady_k(area, 10.0, Sides::Both).unwrap());
    }
}
