use super::*;

use crate::equipment::{Drive, PadEdge};
use lastmicron_numerics::quadrature::Rule;
use proptest::prelude::*;

/// An orbit so small that it smooths nothing: the same speed everywhere.
fn even() -> Machine {
    Machine { name: "even".to_owned(), drive: Drive::Free, orbit_radius_mm: 0.1, orbits_per_minute: 100_000.0, spin_rpm: 0.0 }
}

fn orbital() -> Machine {
    Machine { name: "orbital".to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4200.0, spin_rpm: 0.0 }
}

fn rotary() -> Machine {
    Machine { name: "rotary".to_owned(), drive: Drive::Rotary, orbit_radius_mm: 0.0, orbits_per_minute: 0.0, spin_rpm: 1200.0 }
}

fn foam(diameter_mm: f64, edge: PadEdge) -> Pad {
    Pad { name: "foam".to_owned(), diameter_mm, stiffness_pa_per_m: 2.4e6, edge }
}

const USED: Use = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 };

/// A profile's value at a distance, linear between its places.
fn at(profile: &Profile, values: &[f64], distance_mm: f64) -> f64 {
    let place = distance_mm / profile.distances_mm[1];
    let low = place.floor() as usize;
    values[low] + (place - place.floor()) * (values[low + 1] - values[low])
}

#[test]
fn near_an_edge_a_pad_takes_what_direct_sums_over_its_chords_say() {
    // [C] strip sums in numpy, pressure balanced afresh on 4,000 chords, six overhangs: mean, and sd without the contact's own doubt.
    let cases: [(Machine, [f64; 4], [f64; 4]); 2] = [
        (even(), [0.2422, 0.1944, 0.1216, 0.0022], [0.2176, 0.1646, 0.0838, 0.0358]),
        (rotary(), [0.4608, 0.1926, -0.0549, 0.0261], [0.1322, 0.0691, 0.0574, 0.0404]),
    ];
    for (machine, means, sds) in cases {
        let pad = foam(140.0, PadEdge::Upright);
        let profile = Near::of(&machine, &pad, &USED).unwrap().edge().unwrap();
        for ((distance_mm, mean), sd) in [5.0, 20.0, 40.0, 80.0].into_iter().zip(means).zip(sds) {
            let got = at(&profile, &profile.mean, distance_mm);
            assert!((got - mean).abs() < 4e-3, "{} at {distance_mm}: {got} {mean}", machine.name);
            let got = at(&profile, &profile.sd, distance_mm);
            assert!((got - sd.hypot(CONTACT_DOUBT * mean)).abs() < 4e-3, "{} at {distance_mm}: {got} {sd}", machine.name);
        }
    }
}

#[test]
fn near_a_line_a_pad_takes_what_direct_sums_over_its_strokes_say() {
    // [C] the same on a bend of 15, 30 and 45 degrees, strokes every millimetre, by Newton's steps of its own in numpy
    let cases: [(f64, [f64; 5]); 3] = [
        (12.0, [1.237, 0.758, 0.376, -0.088, -0.168]),
        (40.0, [0.642, 0.591, 0.475, -0.032, -0.165]),
        (150.0, [0.148, 0.149, 0.151, 0.140, -0.020]),
    ];
    for (radius_mm, means) in cases {
        let pad = foam(140.0, PadEdge::Upright);
        let profile = Near::of(&even(), &pad, &USED).unwrap().line(radius_mm).unwrap();
        for (distance_mm, mean) in [0.0, 5.0, 10.0, 30.0, 60.0].into_iter().zip(means) {
            let got = at(&profile, &profile.mean, distance_mm);
            assert!((got - mean).abs() < 0.02, "{radius_mm} at {distance_mm}: {got} {mean}");
        }
    }
}

#[test]
fn what_a_line_gains_its_sides_lose() {
    // [D] the load is carried whole wherever the pad lies: over all places it takes what it takes on a flat panel.
    let pad = foam(100.0, PadEdge::Upright);
    let profile = Near::of(&even(), &pad, &USED).unwrap().line(10.0).unwrap();
    let whole: f64 = profile.mean.iter().sum::<f64>() - 0.5 * profile.mean[0];
    let gained: f64 = profile.mean.iter().map(|m| m.max(0.0)).sum();
    assert!(whole.abs() < 0.05 * gained, "{whole} of {gained}");
}

#[test]
fn strokes_half_over_each_other_ripple_as_their_chords_do() {
    // [D] sqrt(1 - y^2) + sqrt(1 - (1 - y)^2) from 0 to 1: mean pi / 2, mean square 4 / 3 + 2 int; crosswise passes halve the variance
    let rule = Rule::of(64);
    let both = rule.integral(0.0, 1.0, |y: f64| ((1.0 - y * y) * (1.0 - (1.0 - y).powi(2))).sqrt());
    let mean = std::f64::consts::FRAC_PI_2;
    let wanted = (4.0 / 3.0 + 2.0 * both - mean * mean).sqrt() / mean;
    let pad = foam(140.0, PadEdge::Upright);
    let got = |passes| Near::of(&even(), &pad, &Use { passes, ..USED }).unwrap().unevenness();
    assert!((got(1) - wanted).abs() < 2e-3, "{} {wanted}", got(1));
    assert!((got(4) - wanted / 2f64.sqrt()).abs() < 2e-3);
    assert!((got(3) - wanted * 5f64.sqrt() / 3.0).abs() < 2e-3);
}

#[test]
fn the_very_edge_takes_no_less_than_what_is_further_in() {
    for machine in [even(), orbital(), rotary()] {
        for pad in [foam(75.0, PadEdge::Upright), foam(140.0, PadEdge::Upright), foam(140.0, PadEdge::Tapered)] {
            let profile = Near::of(&machine, &pad, &USED).unwrap().edge().unwrap();
            // [D] with any overhang a balanced pad presses most at the edge, and a square one evenly.
            assert!(
                profile.mean[0] >= profile.mean[2] && profile.mean[0] > 0.0,
                "{} {}: {:?}",
                machine.name,
                pad.diameter_mm,
                &profile.mean[..4]
            );
        }
    }
}

#[test]
fn the_trades_order_of_pads_comes_out() {
    // Common practice, no source: a tapered pad cuts more at an edge than an upright one, a large pad more on a line than a small one, a rotary's rim
    // more at an edge than an orbit, a sharp line loses more than a soft one.
    let edge = |machine: &Machine, diameter, rim| Near::of(machine, &foam(diameter, rim), &USED).unwrap().edge().unwrap().gain().gain.mean;
    assert!(edge(&orbital(), 140.0, PadEdge::Tapered) > 1.2 * edge(&orbital(), 140.0, PadEdge::Upright));
    assert!(edge(&rotary(), 140.0, PadEdge::Upright) > 1.2 * edge(&orbital(), 140.0, PadEdge::Upright));
    let line = |diameter, radius_mm| {
        let pad = foam(diameter, PadEdge::Upright);
        Near::of(&orbital(), &pad, &USED).unwrap().line(radius_mm).unwrap().gain().gain.mean
    };
    assert!(line(140.0, 12.0) > 2.0 * line(75.0, 12.0) && line(75.0, 12.0) > 5.0 * line(25.0, 12.0));
    assert!(line(140.0, 5.0) > line(140.0, 40.0) && line(140.0, 40.0) > line(140.0, 600.0));
}

#[test]
fn what_makes_no_sense_is_refused() {
    let said = |pad: &Pad, used: &Use| Near::of(&orbital(), pad, used).err().unwrap().to_string();
    assert!(said(&foam(0.0, PadEdge::Upright), &USED).starts_with("a pad of 0 mm"));
    assert!(said(&foam(14.0, PadEdge::Upright), &USED).starts_with("an orbit of radius 7.5 mm under a pad of radius 7 mm"));
    assert!(said(&foam(140.0, PadEdge::Upright), &Use { load_n: 0.0, ..USED }).starts_with("a load of 0 N"));
    let pad = foam(140.0, PadEdge::Upright);
    let near = Near::of(&orbital(), &pad, &USED).unwrap();
    assert!(near.line(0.0).unwrap_err().to_string().starts_with("a radius of 0 mm"));
    assert!(near.line(f64::NAN).is_err());
}

#[test]
fn a_gain_that_is_mostly_doubt_reaches_no_further_than_its_profile() {
    let machine = Machine { spin_rpm: 2811.5, ..orbital() };
    let pad = foam(124.2, PadEdge::Tapered);
    let used = Use { load_n: 48.4, overlap: 0.125, passes: 1, ..USED };
    let law = Near::of(&machine, &pad, &used).unwrap().line(320.0).unwrap().gain();
    assert!(law.gain.mean < 0.03 && law.gain.sd > 0.1 && law.reach_mm < 125.0, "{law:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]
    #[test]
    fn gains_are_numbers_that_fall_off_within_two_pads(
        diameter in 20.0..200.0_f64, load in 2.0..120.0_f64, overlap in 0.0..0.8_f64, spin in -3000.0..3000.0_f64, radius in 1.0..2000.0_f64, passes in 1..9u32,
        tapered in any::<bool>(),
    ) {
        let machine = Machine { spin_rpm: spin, ..orbital() };
        let pad = foam(diameter, if tapered { PadEdge::Tapered } else { PadEdge::Upright });
        let used = Use { load_n: load, overlap, passes, ..USED };
        let near = Near::of(&machine, &pad, &used).unwrap();
        prop_assert!((0.0..1.5).contains(&near.unevenness()));
        for profile in [near.edge().unwrap(), near.line(radius).unwrap()] {
            let last = profile.mean.len() - 1;
            prop_assert!(profile.mean.iter().chain(&profile.sd).all(|x| x.is_finite()));
            prop_assert!(profile.mean.iter().all(|m| *m > -1.0 - 1e-9) && profile.sd.iter().all(|s| *s >= 0.0));
            prop_assert!((profile.distances_mm[last] - diameter).abs() < 1e-9);
            let law = profile.gain();
            prop_assert!(law.gain.mean > 0.0 && law.reach_mm > 0.0 && law.reach_mm < diameter + 1e-9, "{law:?}");
        }
    }
}

#[test]
fn a_profile_is_read_between_its_distances_and_stays_at_its_last_beyond_them() {
    let profile = Profile { distances_mm: vec![0.0, 2.0, 4.0], mean: vec![0.6, 0.2, -0.1], sd: vec![0.3, 0.1, 0.1] };
    let near = |mm: f64, mean: f64, sd: f64| (profile.at(mm).mean - mean).abs() < 1e-12 && (profile.at(mm).sd - sd).abs() < 1e-12;
    assert!(near(0.0, 0.6, 0.3) && near(1.0, 0.4, 0.2) && near(3.0, 0.05, 0.1) && near(9.0, -0.1, 0.1));
}
