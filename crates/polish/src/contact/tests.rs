use super::*;

use lastmicron_numerics::quadrature::Rule;
use proptest::prelude::*;

fn pad(diameter_mm: f64, edge: PadEdge) -> Pad {
    Pad { name: "soft".to_owned(), diameter_mm, stiffness_pa_per_m: 2.4e6, edge }
}

fn upright() -> Pad {
    pad(150.0, PadEdge::Upright)
}

fn pressed(surface: Surface) -> Contact {
    press(&upright(), 50.0, surface).unwrap()
}

fn over_edge(share: f64, hold: Hold) -> Contact {
    pressed(Surface::Edge { overhang_mm: 75.0 * share, hold })
}

#[track_caller]
fn close(got: f64, wanted: f64, tolerance: f64) {
    assert!((got - wanted).abs() <= tolerance, "{got} instead of {wanted}");
}

/// The load that the pressures add up to, N, by rings.
fn carried_n(contact: &Contact, radius_mm: f64) -> f64 {
    let angles = 720;
    let ring = |r: f64| {
        let at = |i: i32| 2.0 * PI * (f64::from(i) + 0.5) / f64::from(angles);
        r * (0..angles).map(|i| contact.pressure_pa(r * at(i).cos(), r * at(i).sin())).sum::<f64>() * 2.0 * PI / f64::from(angles)
    };
    let rule = Rule::of(8);
    let rings = 40;
    let end = |i: i32| radius_mm * f64::from(i) / f64::from(rings);
    (0..rings).map(|i| rule.integral(end(i), end(i + 1), ring)).sum::<f64>() / 1e6
}

#[test]
fn a_flat_pad_presses_alike_everywhere() {
    // [C] standards 4.5: 150 mm, 50 N: 2.82942 kPa, 1.17893 mm
    let flat = pressed(Surface::Flat);
    close(flat.flat_pa(), 2829.42, 0.51e-2);
    close(flat.indent_mm(), 1.178_93, 0.51e-5);
    close(flat.peak_over_flat(), 1.0, 1e-12);
    close(flat.half_width_mm(), 75.0, 0.0);
    assert!(flat.profile_pa(5).iter().all(|p| (p - flat.flat_pa()).abs() < 1e-9) && flat.findings().is_empty());
    close(flat.pressure_pa(75.1, 0.0), 0.0, 0.0);
}

#[test]
fn a_disc_over_an_edge_has_its_published_pressures() {
    // [D, C] standards 4.4: overhang over radius, edge, far
    let table = [
        (0.0, 1.0, 1.0),
        (0.1, 1.089_56, 0.943_61),
        (0.2, 1.252_81, 0.832_90),
        (0.3, 1.477_46, 0.668_64),
        (0.4, 1.772_69, 0.436_93),
        (0.5, 2.157_12, 0.114_65),
        // [C] mpmath 1.4.1: without tension, the far side lifted
        (0.6, 2.678_347_747_73, 0.0),
        (0.8, 5.267_327_995_62, 0.0),
        (0.95, 20.951_804_454, 0.0),
    ];
    for (share, edge, far) in table {
        let contact = over_edge(share, Hold::SelfAligning);
        close(contact.peak_over_flat(), edge, if share > 0.5 { 1e-8 } else { 0.51e-5 });
        close(contact.profile_pa(2)[0] / contact.flat_pa(), far, 0.51e-5);
        close(contact.profile_pa(2)[1], contact.peak_pa(), 1e-6);
    }
    // [C] mpmath: where the contact of a lifted pad begins
    close(over_edge(0.8, Hold::SelfAligning).ends_mm()[0] / 75.0, -0.402_585_098_866, 1e-10);
}

#[test]
fn a_disc_begins_to_lift_at_its_published_overhang() {
    // [C] standards 4.4: 0.528913 of the radius
    assert!(over_edge(0.528_913, Hold::SelfAligning).profile_pa(2)[0] < 1e-2);
    let (before, after) = (over_edge(0.528_912, Hold::SelfAligning), over_edge(0.528_914, Hold::SelfAligning));
    assert!(before.profile_pa(2)[0] > 0.0 && before.findings().is_empty());
    assert!(after.ends_mm()[0] > -75.0 && matches!(after.findings(), [Finding::Lifts { lifted_mm }] if *lifted_mm < 0.01));
}

#[test]
fn a_pad_held_square_has_the_pressure_of_the_area_left() {
    // [C] standards 4.4: area fractions
    let table = [(0.0, 1.0), (0.1, 0.981_31), (0.2, 0.947_96), (0.3, 0.905_94), (0.4, 0.857_62), (0.5, 0.804_50), (0.6, 0.747_68)];
    for (share, area) in table {
        let contact = over_edge(share, Hold::Rigid);
        close(1.0 / contact.peak_over_flat(), area, 0.51e-5);
        close(contact.profile_pa(2)[0], contact.profile_pa(2)[1], 1e-9);
    }
}

#[test]
fn a_dome_has_its_published_contact() {
    // [C] standards 4.5: radius, half-width mm, indent mm, peak kPa
    for (radius_mm, half_width, indent, peak) in [(500.0, 60.3476, 3.641_83, 8.740_39), (100.0, 40.3568, 8.143_38, 19.544_10)] {
        let contact = pressed(Surface::Dome { radius_mm });
        close(contact.half_width_mm(), half_width, 0.51e-4);
        close(contact.indent_mm(), indent, 0.51e-5);
        close(contact.peak_pa() / 1000.0, peak, 0.51e-5);
    }
}

#[test]
fn a_ridge_has_its_published_contact() {
    // [C] standards 4.5: radius, half-width mm, indent mm, peak kPa, over flat
    for (radius_mm, half_width, indent, peak, over) in
        [(20.0, 16.0915, 6.4734, 15.5362, (5.49, 0.51e-2)), (5.0, 10.1370, 10.2759, 24.6621, (8.7, 0.51e-1))]
    {
        let contact = pressed(Surface::Ridge { radius_mm });
        close(contact.half_width_mm(), half_width, 0.51e-4);
        close(contact.indent_mm(), indent, 0.51e-4);
        close(contact.peak_pa() / 1000.0, peak, 0.51e-4);
        close(contact.peak_over_flat(), over.0, over.1);
        // [C] standards 4.5: squeezed by 0.41 of 25 mm at the sharper
        assert!(contact.findings().iter().all(|f| matches!(f, Finding::Steep { .. })), "{:?}", contact.findings());
    }
    close(pressed(Surface::Ridge { radius_mm: 5.0 }).indent_mm() / USUAL_THICKNESS_MM, 0.41, 0.51e-2);
}

#[test]
fn a_wide_ridge_is_that_of_the_discs_own_chords() {
    // radius, half-width, indent, peak over flat: [C] mpmath 1.4.1
    for (radius_mm, half_width, indent, over) in
        [(200.0, 34.928_787_435_7, 3.050_050_479_32, 2.587_144_368_3), (1000.0, 60.764_271_097_9, 1.846_148_321_03, 1.565_958_420_75)]
    {
        let contact = pressed(Surface::Ridge { radius_mm });
        close(contact.half_width_mm(), half_width, 1e-9);
        close(contact.indent_mm(), indent, 1e-10);
        close(contact.peak_over_flat(), over, 1e-10);
    }
    // beyond the pad's rim: clipped there
    let contact = pressed(Surface::Ridge { radius_mm: 5000.0 });
    close(contact.half_width_mm(), 75.0, 0.0);
    close(contact.indent_mm(), 1.319_550_504_38, 1e-10);
    close(contact.peak_over_flat(), 1.119_282_346_07, 1e-10);
    assert_eq!(contact.findings(), [Finding::WholeFace]);
}

#[test]
fn edges_lines_and_crowns_have_the_contact_that_rings_find() {
    // [C] mpmath, by rings where the program goes by chords: checks/reference/contact.py
    let table = include_str!("../../../../checks/contact-reference.csv");
    let rows: Vec<Vec<&str>> = table.lines().filter(|line| !line.starts_with('#')).skip(1).map(|line| line.split(',').collect()).collect();
    assert!(rows.len() > 40);
    for row in rows {
        let number = |i: usize| row[i].parse::<f64>().unwrap();
        // The chords of a tapered pad have a kink, and its highest pressure on a crown is looked for in steps.
        let (edge, tolerance) = if row[0] == "upright" { (PadEdge::Upright, 1e-9) } else { (PadEdge::Tapered, 1e-5) };
        let surface = match row[1] {
            "overhang" => Surface::Edge { overhang_mm: number(2), hold: Hold::SelfAligning },
            "rigid" => Surface::Edge { overhang_mm: number(2), hold: Hold::Rigid },
            "ridge" => Surface::Ridge { radius_mm: number(2) },
            _ => Surface::Dome { radius_mm: number(2) },
        };
        let contact = press(&pad(150.0, edge), 50.0, surface).unwrap();
        for (got, i) in [(contact.peak_over_flat(), 3), (contact.half_width_mm(), 4), (contact.indent_mm(), 5)] {
            assert!((got / number(i) - 1.0).abs() < tolerance, "{got} instead of {} in {row:?}", row[i]);
        }
    }
}

#[test]
fn the_peak_goes_with_the_roots_of_the_radius() {
    // [D] at one load: the square root on a dome, the cube root on a ridge
    let dome = |radius_mm| pressed(Surface::Dome { radius_mm }).peak_pa();
    close(dome(50.0) / dome(200.0), 2.0, 1e-12);
    let ridge = |radius_mm| pressed(Surface::Ridge { radius_mm }).peak_pa();
    close(ridge(2.0) / ridge(16.0), 2.0, 1e-12);
}

#[test]
fn a_gentle_curve_is_flat_in_the_end() {
    for surface in [Surface::Ridge { radius_mm: 1e9 }, Surface::Dome { radius_mm: 1e9 }] {
        let contact = pressed(surface);
        close(contact.peak_over_flat(), 1.0, 1e-5);
        close(contact.half_width_mm(), 75.0, 0.0);
        assert_eq!(contact.findings(), [Finding::WholeFace]);
    }
}

#[test]
fn a_tapered_pad_presses_most_at_its_rim() {
    // [C] numpy, direct summation of 4001 x 4001 places: overhang, peak over flat
    let tapered = |surface| press(&pad(150.0, PadEdge::Tapered), 50.0, surface).unwrap();
    for (share, peak, far) in [(0.2, 2.260_206, 2.0 * 0.674_391), (0.5, 3.926_349, 2.0 * 0.060_538)] {
        let contact = tapered(Surface::Edge { overhang_mm: 75.0 * share, hold: Hold::SelfAligning });
        close(contact.peak_over_flat(), peak, 2e-3);
        close(contact.profile_pa(2)[0] / contact.flat_pa(), far, 2e-3);
        assert!(contact.peak_pa() > 1.5 * over_edge(share, Hold::SelfAligning).peak_pa());
    }
    let flat = tapered(Surface::Flat);
    // [D] the mean of 1 / thickness over the face
    let mean = 2.0 * (0.625 * 2f64.ln() - 0.125) + RIM_FROM * RIM_FROM;
    close(flat.peak_over_flat(), 2.0 / mean, 1e-6);
    close(flat.pressure_pa(0.0, 0.0) / flat.flat_pa(), 1.0 / mean, 1e-6);
}

#[test]
fn where_the_model_leaves_its_range_the_contact_says_so() {
    let sharp = press(&upright(), 120.0, Surface::Ridge { radius_mm: 5.0 }).unwrap();
    assert!(matches!(sharp.findings(), [Finding::Deep { thickness_mm: 25.0, .. }, Finding::Steep { radius_mm: 5.0, .. }]));
    for finding in sharp.findings() {
        assert!(finding.to_string().contains("higher than this"), "{finding}");
    }
    let tipping = over_edge(0.9, Hold::SelfAligning);
    assert!(tipping.findings()[0].to_string().starts_with("the far 60 mm of the pad lift off"), "{}", tipping.findings()[0]);
}

#[test]
fn what_is_no_contact_is_refused_with_its_number() {
    let with = |diameter_mm, stiffness_pa_per_m, load_n, surface| {
        press(&Pad { diameter_mm, stiffness_pa_per_m, ..upright() }, load_n, surface).unwrap_err().to_string()
    };
    let edge = |overhang_mm| Surface::Edge { overhang_mm, hold: Hold::SelfAligning };
    assert!(with(0.0, 2.4e6, 50.0, Surface::Flat).starts_with("a pad of 0 mm"));
    assert!(with(150.0, f64::NAN, 50.0, Surface::Flat).starts_with("a stiffness of NaN Pa/m"));
    assert!(with(150.0, 2.4e6, 0.0, Surface::Flat).starts_with("a load of 0 N"));
    assert!(with(150.0, 2.4e6, -5.0, Surface::Flat).starts_with("a load of -5 N"));
    assert!(with(150.0, 2.4e6, 50.0, edge(-1.0)).starts_with("an overhang of -1 mm"));
    assert!(with(150.0, 2.4e6, 50.0, edge(75.0)).starts_with("an overhang of 75 mm under a pad of radius 75 mm"));
    assert!(with(150.0, 2.4e6, 50.0, Surface::Ridge { radius_mm: 0.0 }).starts_with("a radius of 0 mm"));
    assert!(with(150.0, 2.4e6, 50.0, Surface::Dome { radius_mm: f64::INFINITY }).starts_with("a radius of inf mm"));
    assert!(with(1e-300, 2.4e6, 50.0, Surface::Flat).starts_with("the pressure is not a finite number"));
}

fn pads() -> impl Strategy<Value = Pad> {
    (20.0..200.0f64, prop_oneof![Just(PadEdge::Upright), Just(PadEdge::Tapered)]).prop_map(|(diameter_mm, edge)| pad(diameter_mm, edge))
}

fn surfaces() -> impl Strategy<Value = Surface> {
    // A share of the radius stands for the overhang: see `on`.
    prop_oneof![
        Just(Surface::Flat),
        (0.0..0.95f64).prop_map(|overhang_mm| Surface::Edge { overhang_mm, hold: Hold::SelfAligning }),
        (0.0..0.95f64).prop_map(|overhang_mm| Surface::Edge { overhang_mm, hold: Hold::Rigid }),
        (0.0..5.0f64).prop_map(|power| Surface::Ridge { radius_mm: 10f64.powf(power) }),
        (0.0..5.0f64).prop_map(|power| Surface::Dome { radius_mm: 10f64.powf(power) }),
    ]
}

fn on(pad: &Pad, load_n: f64, surface: Surface) -> Contact {
    let surface = match surface {
        Surface::Edge { overhang_mm, hold } => Surface::Edge { overhang_mm: overhang_mm * pad.diameter_mm / 2.0, hold },
        Surface::Flat | Surface::Ridge { .. } | Surface::Dome { .. } => surface,
    };
    press(pad, load_n, surface).unwrap()
}

proptest! {
    #[test]
    fn the_pressure_carries_the_load_and_pulls_nowhere(pad in pads(), load in 1.0..200.0f64, surface in surfaces()) {
        let contact = on(&pad, load, surface);
        // A narrow ridge's closed form carries up to 1.1 % more than the disc's chords; a ridge narrower than the sums' steps is left to its own test.
        prop_assume!(contact.half_width_mm() > 0.06 * pad.diameter_mm);
        let carried = carried_n(&contact, pad.diameter_mm / 2.0);
        prop_assert!((carried / load - 1.0).abs() < 0.02, "{carried} of {load} N: {contact:?}");
        prop_assert!(contact.profile_pa(33).iter().all(|p| *p >= 0.0 && *p <= contact.peak_pa() * (1.0 + 1e-3)));
        prop_assert!(contact.peak_over_flat() >= 1.0 - 1e-9);
    }

    #[test]
    fn a_tapered_pad_carries_its_load_on_a_narrow_line_too(radius in 1.0..50.0f64, diameter in 50.0..150.0f64) {
        // [D] the line's load by its own chords
        let pad = pad(diameter, PadEdge::Tapered);
        let contact = press(&pad, 30.0, Surface::Ridge { radius_mm: radius }).unwrap();
        let [from, to] = contact.ends_mm();
        let rule = Rule::of(24);
        let chord = |x: f64| {
            let end = ((diameter / 2.0).powi(2) - x * x).max(0.0).sqrt();
            let kink = RIM_FROM * diameter / 2.0;
            let inner = (kink * kink - x * x).max(0.0).sqrt().min(end);
            2.0 * (rule.integral(0.0, inner, |y| contact.pressure_pa(x, y)) + rule.integral(inner, end, |y| contact.pressure_pa(x, y)))
        };
        let carried = rule.integral(from, to, chord) / 1e6;
        prop_assert!((carried / 30.0 - 1.0).abs() < 1e-3, "{carried}");
    }

    #[test]
    fn the_peak_grows_with_the_overhang_and_is_least_held_square(pad in pads(), share in 0.0..0.9f64, more in 0.001..0.05f64) {
        for hold in [Hold::SelfAligning, Hold::Rigid] {
            let at = |overhang_mm| on(&pad, 40.0, Surface::Edge { overhang_mm, hold }).peak_pa();
            prop_assert!(at(share + more) > at(share));
        }
        let held = |hold| on(&pad, 40.0, Surface::Edge { overhang_mm: share, hold }).peak_pa();
        prop_assert!(held(Hold::Rigid) <= held(Hold::SelfAligning) * (1.0 + 1e-12));
    }

    #[test]
    fn a_sharper_curve_is_pressed_harder(pad in pads(), power in 0.0..5.0f64, factor in 1.02..3.0f64) {
        let radius_mm = 10f64.powf(power);
        for curve in [|radius_mm| Surface::Ridge { radius_mm }, |radius_mm| Surface::Dome { radius_mm }] {
            let (sharp, gentle) = (on(&pad, 40.0, curve(radius_mm)), on(&pad, 40.0, curve(radius_mm * factor)));
            // A gentle crown may well take load off a tapered pad's stiff rim.
            prop_assert!(pad.edge == PadEdge::Tapered || sharp.peak_pa() > gentle.peak_pa() * (1.0 - 2e-3), "{sharp:?} {gentle:?}");
            prop_assert!(sharp.half_width_mm() <= gentle.half_width_mm() * (1.0 + 1e-9));
        }
    }

    #[test]
    fn an_upright_pads_pressure_is_in_proportion_to_its_load_on_flats_and_edges(load in 1.0..500.0f64, share in 0.0..0.9f64) {
        let at = |load| press(&upright(), load, Surface::Edge { overhang_mm: 75.0 * share, hold: Hold::SelfAligning }).unwrap().peak_pa();
        prop_assert!((at(2.0 * load) / at(load) - 2.0).abs() < 1e-9);
    }

    #[test]
    fn a_balanced_pad_has_its_load_under_its_middle(share in 0.0..0.95f64) {
        let contact = over_edge(share, Hold::SelfAligning);
        let [from, to] = contact.ends_mm();
        let rule = Rule::of(64);
        let chord = |x: f64| 2.0 * (75.0f64 * 75.0 - x * x).max(0.0).sqrt() * contact.pressure_pa(x, 0.0);
        let (force, moment) = (rule.integral(from, to, chord), rule.integral(from, to, |x| x * chord(x)));
        prop_assert!((force / 1e6 - 50.0).abs() < 1e-2 && (moment / force).abs() < 1e-2, "{force} {moment}");
    }
}
