use super::*;

use proptest::prelude::*;

use crate::equipment::Drive;

fn motion(orbit_radius_mm: f64, orbits_per_minute: f64, spin_rpm: f64) -> Motion {
    Motion::new(orbit_radius_mm, orbits_per_minute, spin_rpm).unwrap()
}

#[track_caller]
fn close(got: f64, wanted: f64, tolerance: f64) {
    assert!((got - wanted).abs() <= tolerance, "{got} instead of {wanted}");
}

#[test]
fn the_mean_over_all_angles_has_its_published_ratios() {
    // [C] standards 4.2: b / a, mean / a
    let table = [
        (0.01, 1.000_025_000_16),
        (0.05, 1.000_625_097_72),
        (0.1, 1.002_501_566_42),
        (0.2, 1.010_025_253_98),
        (0.5, 1.063_544_409_97),
        (0.8, 1.167_809_508_52),
        (1.0, 1.273_239_544_74),
        (1.25, 1.459_761_885_65),
        (2.0, 2.127_088_819_95),
        (5.0, 5.050_126_269_92),
        (10.0, 10.025_015_664_2),
    ];
    for (ratio, wanted) in table {
        close(all_round(1.0, ratio).mean_m_s, wanted, if ratio < 10.0 { 0.51e-11 } else { 0.51e-10 });
    }
    // [C] mpmath 1.4.1, the mean over the angle by quadrature in 30 digits
    close(all_round(1.0, 0.5).mean_m_s, 1.063_544_409_973_365, 1e-14);
    close(all_round(1.0, 0.8).mean_m_s, 1.167_809_508_520_726, 1e-14);
    // [D]
    close(all_round(1.0, 1.0).mean_m_s, 4.0 / PI, 1e-12);
    close(all_round(1.0, 0.0).mean_m_s, 1.0, 1e-12);
    close(all_round(0.0, 3.0).mean_m_s, 3.0, 1e-12);
}

#[test]
fn the_elliptic_integral_has_its_published_values() {
    // [C] standards 4.2
    for (m, wanted) in [(0.25, 1.467_462_209_34), (0.5, 1.350_643_881_05), (0.75, 1.211_056_027_57), (1.0, 1.0)] {
        close(complete_second(m), wanted, 0.51e-11);
    }
    // [C] standards 4.2 has 1.57079632679 at 0; [D] the limits
    close(complete_second(0.0), PI / 2.0, 1e-12);
    close(complete_second(1.0), 1.0, 1e-12);
}

#[test]
fn a_small_second_vector_adds_a_quarter_of_its_square() {
    // [D] 1 + b^2 / 4 + b^4 / 64; the next term is b^6 / 256
    for ratio in [1e-4f64, 1e-3, 0.01] {
        let wanted = 1.0 + ratio * ratio / 4.0 + ratio.powi(4) / 64.0;
        close(all_round(1.0, ratio).mean_m_s, wanted, 1e-14);
    }
}

#[test]
fn a_pad_that_only_orbits_slides_alike_everywhere() {
    // [C] standards 4.2: 4,800 a minute, 7.5 mm: 3.769911 m/s
    let stalled = motion(7.5, 4800.0, 0.0);
    for radius_mm in [0.0, 20.0, 55.0] {
        close(stalled.on_panel(radius_mm).unwrap().mean_m_s, 3.769_911, 0.51e-6);
        close(stalled.on_pad(radius_mm).unwrap().rms_m_s, 3.769_911, 0.51e-6);
    }
    // [D] the time covered alone makes the removal of the annulus
    let under = stalled.under_pad(62.5, 62.5).unwrap();
    close(under.speed.mean_m_s, 3.769_911, 0.51e-6);
    close(under.covered * under.speed.mean_m_s, 0.480_890 * 3.769_911, 2e-6);
}

#[test]
fn a_rotary_slides_at_its_rim_and_two_thirds_of_that_on_the_whole() {
    // [C] standards 4.2: 1,500 rpm, 150 mm: rim 11.78097, mean 7.85398 m/s
    let rotary = motion(0.0, 0.0, 1500.0);
    close(rotary.on_pad(75.0).unwrap().mean_m_s, 11.780_97, 0.51e-5);
    close(rotary.on_panel(75.0).unwrap().mean_m_s, 11.780_97, 0.51e-5);
    close(rotary.pad_mean(75.0).unwrap().mean_m_s, 7.853_98, 0.51e-5);
    close(rotary.on_panel(0.0).unwrap().mean_m_s, 0.0, 0.0);
}

#[test]
fn the_mean_over_a_pad_grows_with_its_spin() {
    // [C] standards 4.2: 125 mm, 7.5 mm, 4,800 a minute; spin either way
    for (spin_rpm, wanted) in [(0.0, 3.769_911), (60.0, 3.775_027), (300.0, 3.899_268), (600.0, 4.312_565)] {
        close(motion(7.5, 4800.0, spin_rpm).pad_mean(62.5).unwrap().mean_m_s, wanted, 0.51e-6);
        close(motion(7.5, 4800.0, -spin_rpm).pad_mean(62.5).unwrap().mean_m_s, wanted, 0.51e-6);
    }
}

#[test]
fn a_place_of_the_panel_sees_the_orbit_less_the_spin() {
    // [C] standards 4.2: spin 300 rpm; less than W e at the middle
    let spinning = motion(7.5, 4800.0, 300.0);
    for (radius_mm, wanted) in [(0.0, 3.534_292), (20.0, 3.562_273), (40.0, 3.646_905), (55.0, 3.748_840)] {
        close(spinning.on_panel(radius_mm).unwrap().mean_m_s, wanted, 0.51e-6);
        close(spinning.under_pad(radius_mm, 62.5).unwrap().speed.mean_m_s, wanted, 0.51e-6);
    }
    // [C] mpmath 1.4.1: against the orbit
    let contra = motion(7.5, 4800.0, -300.0);
    for (radius_mm, wanted) in [(0.0, 4.005_530_633), (20.0, 4.030_208_704), (40.0, 4.104_712_212), (55.0, 4.194_146_246)] {
        close(contra.on_panel(radius_mm).unwrap().mean_m_s, wanted, 0.51e-9);
    }
}

#[test]
fn a_pad_locked_to_its_orbit_turns_about_the_orbits_centre() {
    // [D] w = W: W rho
    let locked = motion(7.5, 600.0, 600.0);
    for radius_mm in [0.0, 10.0, 50.0] {
        close(locked.on_panel(radius_mm).unwrap().mean_m_s, 2.0 * PI * 10.0 * radius_mm / 1000.0, 1e-12);
    }
}

#[test]
fn the_annulus_is_covered_for_its_published_shares() {
    // [C] standards 4.2: R 62.5, e 7.5
    let table = [
        (0.0, 1.0),
        (55.0, 1.0),
        (58.0, 0.688_669),
        (60.0, 0.589_598),
        (62.5, 0.480_890),
        (65.0, 0.374_334),
        (68.0, 0.225_774),
        (70.0, 0.0),
        (500.0, 0.0),
    ];
    let spinning = motion(7.5, 4800.0, 300.0);
    for (radius_mm, wanted) in table {
        close(spinning.covered(radius_mm, 62.5).unwrap(), wanted, 0.51e-6);
    }
    let rotary = motion(0.0, 0.0, 1500.0);
    close(rotary.covered(62.5, 62.5).unwrap(), 1.0, 0.0);
    close(rotary.covered(62.6, 62.5).unwrap(), 0.0, 0.0);
}

#[test]
fn a_place_in_the_annulus_sees_the_side_of_the_orbit_that_covers_it() {
    // radius, covered, mean and rms with the orbit, mean and rms against it: [C] mpmath 1.4.1, quadrature in 30 digits
    let table = [
        (58.0, 0.688_669_24, 4.494_374_058_19, 4.555_114_344_2, 3.575_526_924_35, 3.710_570_717_64),
        (60.0, 0.589_597_89, 4.756_125_052_51, 4.791_083_250_67, 3.315_039_166_1, 3.430_126_786_37),
        (62.5, 0.480_889_93, 5.034_972_655_55, 5.051_418_926_98, 2.995_696_722_71, 3.083_274_590_81),
        (65.0, 0.374_334_08, 5.284_318_493_37, 5.290_650_127_79, 2.658_804_045_14, 2.715_452_747_31),
        (68.0, 0.225_774_49, 5.559_763_151_95, 5.560_640_845_8, 2.195_143_399_02, 2.212_103_854_41),
    ];
    for (radius_mm, covered, with_mean, with_rms, against_mean, against_rms) in table {
        for (spin_rpm, mean, rms) in [(300.0, with_mean, with_rms), (-300.0, against_mean, against_rms)] {
            let under = motion(7.5, 4800.0, spin_rpm).under_pad(radius_mm, 62.5).unwrap();
            close(under.covered, covered, 0.51e-8);
            close(under.speed.mean_m_s, mean, 1e-10);
            close(under.speed.rms_m_s, rms, 1e-10);
        }
    }
    let never = motion(7.5, 4800.0, 300.0).under_pad(80.0, 62.5).unwrap();
    assert_eq!(never, UnderPad { covered: 0.0, speed: Speed { mean_m_s: 0.0, rms_m_s: 0.0 } });
}

#[test]
fn places_and_pads_have_the_speeds_that_the_angles_add_up_to() {
    // [C] mpmath, integrated over the orbit without elliptic integrals: checks/reference/motion.py
    let table = include_str!("../../../../checks/motion-reference.csv");
    let rows: Vec<Vec<&str>> = table.lines().filter(|line| !line.starts_with('#')).skip(1).map(|line| line.split(',').collect()).collect();
    assert!(rows.len() > 70);
    for row in rows {
        let number = |i: usize| row[i].parse::<f64>().unwrap();
        let motion = motion(number(1), number(2), number(3));
        let (covered, speed, tolerance) = if row[0] == "pad" {
            (1.0, motion.pad_mean(number(4)).unwrap(), 1e-9)
        } else {
            let under = motion.under_pad(number(5), number(4)).unwrap();
            (under.covered, under.speed, 1e-12)
        };
        for (got, i) in [(covered, 6), (speed.mean_m_s, 7), (speed.rms_m_s, 8)] {
            assert!((got - number(i)).abs() <= tolerance, "{got} instead of {} in {row:?}", row[i]);
        }
    }
}

#[test]
fn a_machine_moves_as_its_numbers_say() {
    let machine =
        Machine { name: "large orbital".to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4800.0, spin_rpm: 60.0 };
    assert_eq!(Motion::of(&machine).unwrap(), motion(7.5, 4800.0, 60.0));
}

#[test]
fn what_no_machine_has_is_refused_with_its_number() {
    let said = |error: MotionError| error.to_string();
    assert!(said(Motion::new(-1.0, 4800.0, 0.0).unwrap_err()).starts_with("an orbit of radius -1 mm"));
    assert!(said(Motion::new(f64::NAN, 4800.0, 0.0).unwrap_err()).starts_with("an orbit of radius NaN mm"));
    assert!(said(Motion::new(7.5, -4800.0, 0.0).unwrap_err()).starts_with("-4800 orbits a minute"));
    assert!(said(Motion::new(7.5, 4800.0, f64::INFINITY).unwrap_err()).starts_with("a spin of inf a minute"));
    let orbital = motion(7.5, 4800.0, 0.0);
    assert_eq!(orbital.on_panel(-0.1), Err(MotionError::Radius(-0.1)));
    assert!(matches!(orbital.on_pad(f64::NAN), Err(MotionError::Radius(_))));
    assert_eq!(orbital.pad_mean(0.0), Err(MotionError::Pad(0.0)));
    assert_eq!(orbital.covered(1.0, 7.5), Err(MotionError::OrbitLargerThanPad { orbit_radius_mm: 7.5, pad_radius_mm: 7.5 }));
    assert!(orbital.under_pad(1.0, 5.0).is_err());
}

proptest! {
    #[test]
    fn the_rms_is_never_below_the_mean_and_the_mean_never_below_the_larger_vector(
        e in 0.0..20.0f64, n in 0.0..10_000.0f64, spin in -3000.0..3000.0f64, radius in 0.0..100.0f64,
    ) {
        let motion = motion(e, n, spin);
        for speed in [motion.on_panel(radius).unwrap(), motion.on_pad(radius).unwrap(), motion.pad_mean(radius + 1.0).unwrap()] {
            prop_assert!(speed.rms_m_s >= speed.mean_m_s && speed.mean_m_s >= 0.0, "{speed:?}");
        }
        let [a, b] = motion.at_place(radius);
        prop_assert!(motion.on_panel(radius).unwrap().mean_m_s >= a.max(b) * (1.0 - 1e-12));
    }

    #[test]
    fn an_orbit_rubs_what_its_halves_rub_together(e in 0.1..20.0f64, n in 10.0..10_000.0f64, spin in -3000.0..3000.0f64, angle in 0.01..3.13f64, radius in 0.0..100.0f64) {
        // [D] the part in line and the part opposed make up the whole
        let [a, b] = motion(e, n, spin).at_place(radius);
        let parts = in_line(a, b, angle).mean_m_s * angle + opposed(a, b, PI - angle).mean_m_s * (PI - angle);
        prop_assert!((parts / PI - all_round(a, b).mean_m_s).abs() < 1e-10 * (a + b));
    }

    #[test]
    fn what_all_places_see_together_is_what_the_pad_does(e in 0.0..15.0f64, spin in -600.0..600.0f64, pad in 20.0..80.0f64) {
        // [D] the panel's integral of covered time and speed is the pad's integral of its speed
        let motion = motion(e, 4200.0, spin);
        let rule = lastmicron_numerics::quadrature::Rule::of(64);
        let rate = |mm: f64| { let under = motion.under_pad(mm, pad).unwrap(); under.covered * under.speed.mean_m_s * 2.0 * PI * mm };
        let seen = rule.integral(0.0, pad - e, rate) + rule.integral(pad - e, pad, rate) + rule.integral(pad, pad + e, rate);
        let done = motion.pad_mean(pad).unwrap().mean_m_s * PI * pad * pad;
        prop_assert!((seen - done).abs() < 1e-4 * done + 1e-9, "{seen} {done}");
    }

    #[test]
    fn no_motion_gives_what_is_not_a_number(e in 0.0..10_000.0f64, n in 0.0..1e6f64, spin in -1e6..1e6f64, radius in 0.0..10_000.0f64, pad in 1e-9..10_000.0f64) {
        let motion = motion(e, n, spin);
        let speeds = [motion.on_panel(radius).unwrap(), motion.on_pad(radius).unwrap(), motion.pad_mean(pad).unwrap()];
        prop_assert!(speeds.iter().all(|s| s.mean_m_s.is_finite() && s.rms_m_s.is_finite()));
        if let Ok(under) = motion.under_pad(radius, pad) {
            prop_assert!((0.0..=1.0).contains(&under.covered) && under.speed.mean_m_s.is_finite());
        }
    }
}
