//! Scenes as a whole: what is written is well-formed, inside its frame, and the same every time.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a test may stop at what should not be")]

#[path = "scenes/fixture.rs"]
mod fixture;

use expect_test::expect;
use lastmicron_body::{Body, Dimensions, Kind, Measure};
use lastmicron_draw::{
    Class, Mark, OnPanel, Room, Scales, Scene, TakenScales, correction_curve, panel_map, pass_figure, taken_map, vehicle_picture,
};
use lastmicron_film::panel::Panel;
use lastmicron_plan::taken::{BeforeAndNow, Likely, PanelTaken, Removed, Taken};
use lastmicron_plan::{Car, Interval, KeepOff, Outcome, PanelFilm};
use lastmicron_polish::pass::Pass;
use lastmicron_polish::{Belief, Drive, Machine, Pad, PadEdge, Step, USUAL_SCATTER, Use};
use lastmicron_units::Unit;
use proptest::prelude::*;

const ROOM: Room = Room { width_pt: 482.0, height_pt: 600.0 };

fn map(car: &Car, outcome: &Outcome, panel: usize, unit: Unit) -> Scene {
    panel_map(car, outcome, panel, &Scales::of(outcome, unit), ROOM)
}

/// Every text of a scene, in order.
fn texts(scene: &Scene) -> Vec<&str> {
    fn walk<'a>(marks: &'a [Mark], out: &mut Vec<&'a str>) {
        for mark in marks {
            match mark {
                Mark::Text { text, .. } => out.push(text),
                Mark::Clipped { marks, .. } | Mark::Named { marks, .. } => walk(marks, out),
                Mark::Path { .. } => {}
            }
        }
    }
    let mut out = Vec::new();
    walk(&scene.marks, &mut out);
    out
}

fn has(scene: &Scene, wanted: Class) -> bool {
    fn walk(marks: &[Mark], wanted: Class) -> bool {
        marks.iter().any(|mark| match mark {
            Mark::Text { class, .. } | Mark::Path { class, .. } => *class == wanted,
            Mark::Clipped { marks, .. } | Mark::Named { marks, .. } => walk(marks, wanted),
        })
    }
    walk(&scene.marks, wanted)
}

/// Asserts that `scene` parses as XML, and that every coordinate is a number inside the view box.
fn check(scene: &Scene) {
    let svg = scene.svg();
    let document = roxmltree::Document::parse(&svg).unwrap_or_else(|e| panic!("{e}\n{svg}"));
    let inside = |value: f64, most: f64| (-0.51..=most + 0.51).contains(&value);
    let mut ids = std::collections::BTreeSet::new();
    for node in document.descendants() {
        if let Some(id) = node.attribute("id") {
            assert!(ids.insert(id.to_owned()), "two marks are called {id}");
        }
        for (name, most) in [("x", scene.width_pt), ("y", scene.height_pt)] {
            if let Some(value) = node.attribute(name) {
                assert!(inside(value.parse().unwrap(), most), "{name} = {value} of {:?}", node.text());
            }
        }
        if let Some(course) = node.attribute("d") {
            let numbers: Vec<f64> =
                course.split(|c: char| c.is_ascii_alphabetic() || c == ' ').filter(|s| !s.is_empty()).map(|s| s.parse().unwrap()).collect();
            for p in numbers.chunks_exact(2) {
                assert!(inside(p[0], scene.width_pt) && inside(p[1], scene.height_pt), "{p:?} leaves the frame of {}", scene.title);
            }
        }
    }
}

#[test]
fn every_panel_of_the_invented_car_is_drawn_inside_its_frame_in_every_unit() {
    let (car, outcome) = fixture::car(14);
    for unit in [Unit::Micrometre, Unit::Mil, Unit::Millimetre] {
        for i in 0..14 {
            let scene = map(&car, &outcome, i, unit);
            check(&scene);
            assert!(scene.height_pt <= ROOM.height_pt, "{} is {} high", scene.title, scene.height_pt);
        }
    }
}

#[test]
fn edges_of_an_oblique_panel_are_told_by_the_way_they_face() {
    let (mut car, outcome) = fixture::car(1);
    let [w, h] = car.panels[0].panel.size_mm();
    car.panels[0].panel.outline_mm = vec![[0.0, 0.0], [w, 0.0], [w - 100.0, h], [100.0, h]];
    let said = texts(&map(&car, &outcome, 0, Unit::Micrometre)).join("|");
    for words in ["|bottom: keep off 25 mm|", "|left: keep off 40 mm|", "25 mm along the bottom; 40 mm along the left."] {
        assert!(said.contains(words), "{words}: {said}");
    }
}

#[test]
fn the_same_panel_is_the_same_text() {
    let (car, outcome) = fixture::car(3);
    assert_eq!(map(&car, &outcome, 0, Unit::Micrometre).svg(), map(&car, &outcome, 0, Unit::Micrometre).svg());
}

#[test]
fn a_bonnet_says_what_to_do_where() {
    let (car, outcome) = fixture::car(1);
    let scene = map(&car, &outcome, 0, Unit::Micrometre);
    expect!["What to do where|1|leave|2|finish × 1|3|one-step × 1|finish × 1|4|one-step × 2|finish × 1|5|leave|6|finish × 1|7|one-step × 1|finish × 1|8|one-step × 2|finish × 1|9|leave|10|finish × 1|11|one-step × 1|finish × 1|12|one-step × 2|finish × 1|bottom: keep off 25 mm|left: keep off 40 mm|500 mm|Wide hatching: leave as it is.|Close hatching: keep off 25 mm along the bottom; 40 mm along the left.|Dashed box: worked already (one-step × 2).|Dash and dot: body line, radius 12 mm."]
    .assert_eq(&texts(&scene).join("|").split("|Topcoat now").next().unwrap_or_default().replace('\n', ""));
    for class in [Class::LeftAlone, Class::KeepOff, Class::Worked, Class::BodyLine, Class::Contour, Class::Reading, Class::ReadingAfter] {
        assert!(has(&scene, class), "{class:?} is missing");
    }
}

#[test]
fn a_small_map_is_drawn_so() {
    let (mut car, mut outcome) = fixture::car(1);
    car.panels[0].panel = Panel::rectangle("flap", 100.0, 60.0, car.panels[0].panel.substrate);
    car.panels[0].lines.clear();
    car.readings.truncate(1);
    car.worked.clear();
    let film = &mut outcome.film[0];
    (film.nx, film.ny, film.step_mm) = (3, 2, [50.0, 60.0]);
    film.topcoat_mean_um = vec![30.0, 32.0, 36.0, 30.0, 32.0, f64::NAN];
    film.topcoat_sd_um = vec![2.0; 6];
    let plan = &mut outcome.plan.panels[0];
    plan.sections.truncate(1);
    (plan.sections[0].width_mm, plan.sections[0].height_mm) = (100.0, 60.0);
    plan.keep_off.truncate(1);
    let scene = panel_map(&car, &outcome, 0, &Scales::of(&outcome, Unit::Micrometre), Room { width_pt: 240.0, height_pt: 300.0 });
    check(&scene);
    expect_test::expect_file!["scenes/small.svg"].assert_eq(&scene.svg());
}

#[test]
fn a_panel_without_estimate_is_hatched_and_never_coloured() {
    let (car, outcome) = fixture::car(14);
    let bumper = map(&car, &outcome, 13, Unit::Micrometre);
    assert!(has(&bumper, Class::Missing));
    assert!(texts(&bumper).contains(&"Hatched: no estimate."));
    let coloured = |scene: &Scene| {
        scene
            .marks
            .iter()
            .any(|m| matches!(m, Mark::Clipped { marks, .. } if marks.iter().any(|m| matches!(m, Mark::Path { fill: Some(_), .. }))))
    };
    assert!(!coloured(&bumper));
    assert!(coloured(&map(&car, &outcome, 0, Unit::Micrometre)));
}

#[test]
fn where_words_do_not_fit_codes_stand_and_where_codes_do_not_numbers() {
    let (mut car, mut outcome) = fixture::car(1);
    car.processes[0].name = "the large machine with the firm pad and the coarser of the two polishes".to_owned();
    let scene = map(&car, &outcome, 0, Unit::Micrometre);
    check(&scene);
    assert!(texts(&scene).contains(&"A\u{d7}2"));
    assert!(texts(&scene).iter().any(|t| t.starts_with("A = the large machine")), "{:?}", texts(&scene));
    let one = outcome.plan.panels[0].sections[3].clone();
    outcome.plan.panels[0].sections = (0..60)
        .map(|i| {
            let (x_mm, y_mm) = (f64::from(i % 30) * 46.0, f64::from(i / 30) * 560.0);
            lastmicron_plan::SectionPlan { x_mm, y_mm, width_mm: 46.0, height_mm: 560.0, ..one.clone() }
        })
        .collect();
    let scene = map(&car, &outcome, 0, Unit::Micrometre);
    check(&scene);
    assert!(texts(&scene).iter().any(|t| t.starts_with("1\u{2013}60: the large machine")), "{:?}", texts(&scene));
}

#[test]
fn one_scale_serves_all_panels() {
    let (car, outcome) = fixture::car(3);
    let last =
        |i| texts(&map(&car, &outcome, i, Unit::Micrometre)).iter().rev().filter(|t| t.ends_with(" um")).map(|t| (*t).to_owned()).next();
    assert_eq!(last(0), last(1));
    assert_eq!(last(1), last(2));
}

#[test]
fn the_curve_marks_goal_bend_and_the_most_to_take() {
    let (car, outcome) = fixture::car(3);
    let scene = correction_curve(&car, &outcome, Unit::Mil, Room { width_pt: 482.0, height_pt: 230.0 });
    check(&scene);
    for words in ["goal 88 %", "bend 0.11 mil", "most at this visit 0.16 mil", "100 %"] {
        assert!(texts(&scene).contains(&words), "{words} is missing from {:?}", texts(&scene));
    }
}

#[test]
fn without_counts_there_is_no_curve_and_the_drawing_says_so() {
    let (car, mut outcome) = fixture::car(1);
    outcome.curve.clear();
    let scene = correction_curve(&car, &outcome, Unit::Micrometre, ROOM);
    assert_eq!(texts(&scene), ["Nothing was counted: there is no curve."]);
}

#[test]
fn a_panel_that_is_not_there_is_an_empty_drawing() {
    let (car, outcome) = fixture::car(1);
    check(&map(&car, &outcome, 9, Unit::Micrometre));
    check(&map(&car, &Outcome { film: Vec::new(), ..outcome.clone() }, 0, Unit::Micrometre));
}

const USED: Use = Use { machine: 0, pad: 0, load_n: 40.0, arm_speed_mm_s: 40.0, overlap: 0.5, passes: 4 };

/// A set of a pad so wide that takes so much, near lines of these radii.
fn likely(um: f64) -> Likely {
    Likely { mean: um, sd: 1.0, p025: um - 2.0, p05: um - 1.6, p50: um, p95: um + 1.6, p975: um + 2.0 }
}

/// A vehicle of which 2 um were taken wherever sets are recorded.
fn taken(car: &Car, outcome: &Outcome) -> Taken {
    let panel = |(panel, left): (usize, &PanelFilm)| {
        let is_worked = |n: usize| {
            let [x, y] = [(n % left.nx) as f64 * left.step_mm[0], (n / left.nx) as f64 * left.step_mm[1]];
            let on =
                |w: &lastmicron_plan::Worked| (w.x_mm..=w.x_mm + w.width_mm).contains(&x) && (w.y_mm..=w.y_mm + w.height_mm).contains(&y);
            car.worked.iter().any(|w| w.panel == panel && on(w))
        };
        let mean_um: Vec<f64> = (0..left.nx * left.ny).map(|n| if is_worked(n) { 2.0 } else { 0.0 }).collect();
        let before_um = left.topcoat_mean_um.iter().zip(&mean_um).map(|(left, removed)| left + removed).collect();
        let over = mean_um.iter().any(|um| *um > 0.0).then(|| likely(2.0));
        let film = BeforeAndNow {
            before: PanelFilm { topcoat_mean_um: before_um, ..left.clone() },
            left: left.clone(),
            smallest_before_um: likely(30.0),
            smallest_left_um: likely(28.0),
            below_floor: over.map(|_| 0.01),
            reached_undercoat: over.map(|_| 0.0),
        };
        let removed = Removed { sd_um: mean_um.clone(), mean_um, over_worked_um: over, most_um: over };
        let readings = car.readings.iter().filter(|r| r.panel == panel).count();
        let film = outcome.plan.panels[panel].measured.then_some(film);
        PanelTaken { panel, readings, respray: 0.0, worked_m2: 0.0, removed: Some(removed), film }
    };
    let panels = outcome.film.iter().enumerate().map(panel).collect();
    Taken { panels, smallest_left_um: None, most_um: None, below_floor: None, reached_undercoat: None, films: 100 }
}

#[test]
fn what_was_taken_is_drawn_inside_its_frame_in_every_unit() {
    let (car, outcome) = fixture::car(14);
    let taken = taken(&car, &outcome);
    for unit in [Unit::Micrometre, Unit::Mil, Unit::Millimetre] {
        let scales = TakenScales::of(&taken, unit);
        for panel in &taken.panels {
            let scene = taken_map(&car, panel, &scales, ROOM);
            check(&scene);
            assert!(scene.height_pt <= ROOM.height_pt + 1.0, "{}", scene.title);
        }
    }
}

#[test]
fn before_and_left_share_a_scale_and_what_was_not_worked_has_two_panes() {
    let (car, outcome) = fixture::car(14);
    let taken = taken(&car, &outcome);
    let scales = TakenScales::of(&taken, Unit::Micrometre);
    let drawn = |panel: usize| taken_map(&car, &taken.panels[panel], &scales, ROOM);
    let bonnet = drawn(0);
    let all = texts(&bonnet);
    let headings = ["Topcoat before work (mean)", "Topcoat left now (mean)", "Removed (mean)", "How sure of that (sd)"];
    assert!(headings.iter().all(|heading| all.contains(heading)), "{all:?}");
    let first = format!("{:.0} um", scales.film.topcoat.levels_um[0]);
    assert_eq!(all.iter().filter(|text| **text == first).count(), 2, "one legend: {all:?}");
    assert!(all.contains(&"2.0"), "what was removed on the spot: {all:?}");
    assert_eq!(texts(&drawn(1)).iter().filter(|text| text.starts_with("Topcoat")).count(), 1);
    let cap = drawn(13);
    assert!(has(&cap, Class::Missing) && !has(&cap, Class::Band) && cap.description.contains("is not known"));
    let away = PanelTaken { panel: 99, ..taken.panels[0].clone() };
    assert_eq!(taken_map(&car, &away, &scales, ROOM).description, "There is no such panel.");
}

fn set(diameter_mm: f64, set_um: Belief, radii_mm: &[f64]) -> Pass {
    let machine =
        Machine { name: "orbital".to_owned(), drive: Drive::Free, orbit_radius_mm: 7.5, orbits_per_minute: 4200.0, spin_rpm: 200.0 };
    let pad = Pad { name: "foam".to_owned(), diameter_mm, stiffness_pa_per_m: 2.4e6, edge: PadEdge::Upright };
    Pass::of(&machine, &pad, &USED, set_um, USUAL_SCATTER, radii_mm).unwrap()
}

fn set_drawn(pass: &Pass, unit: Unit) -> Scene {
    pass_figure(pass, "One set of one-step", "Orbital, foam, 40 N.", unit, ROOM)
}

#[test]
fn a_set_is_drawn_with_its_section_its_edge_and_its_lines() {
    let pass = set(140.0, Belief { mean: 1.2, sd: 0.2 }, &[12.0, 40.0]);
    for unit in [Unit::Micrometre, Unit::Mil, Unit::Millimetre] {
        let scene = set_drawn(&pass, unit);
        check(&scene);
        assert!(scene.height_pt <= ROOM.height_pt, "{}", scene.height_pt);
    }
    let scene = set_drawn(&pass, Unit::Micrometre);
    for class in [Class::Band, Class::Contour, Class::Curve, Class::CurveBand, Class::Guide] {
        assert!(has(&scene, class), "{class:?} is missing");
    }
    for words in ["Across an edge", "Over a line of radius 12 mm", "Over a line of radius 40 mm", "mm from the edge; taken in um", "100 mm"]
    {
        assert!(texts(&scene).contains(&words), "{words} is missing from {:?}", texts(&scene));
    }
    expect!["Orbital, foam, 40 N. A section 450 mm square: 1.20 um in the middle, at most 1.46 um. At an edge: 1.54 um (0.88 um to 2.52 um, 19 times in 20). On a line of radius 12 mm: 2.63 um (1.34 um to 4.65 um, 19 times in 20). On a line of radius 40 mm: 1.92 um (0.85 um to 3.76 um, 19 times in 20)."]
    .assert_eq(&scene.description);
}

#[test]
fn a_pad_as_wide_as_a_section_is_drawn_without_a_map() {
    let scene = set_drawn(&set(440.0, Belief { mean: 1.2, sd: 0.2 }, &[]), Unit::Micrometre);
    check(&scene);
    assert!(!has(&scene, Class::Band) && has(&scene, Class::Curve));
    assert!(texts(&scene).join(" ").contains("No map: a pad of 440 mm with its orbit spans 455 mm"));
}

#[test]
fn more_lines_than_a_page_holds_are_left_to_the_table() {
    let scene = set_drawn(&set(140.0, Belief { mean: 1.2, sd: 0.2 }, &[5.0, 12.0, 40.0, 80.0, 150.0]), Unit::Micrometre);
    check(&scene);
    assert!(texts(&scene).join(" ").contains("Further lines stand in the table."));
    assert!(scene.height_pt <= ROOM.height_pt, "{}", scene.height_pt);
}

/// Corners about a middle, star-shaped: simple, of any number of corners, convex or not.
fn outline() -> impl Strategy<Value = Vec<[f64; 2]>> {
    (prop::collection::vec(0.3..1.0_f64, 3..24), 100.0..3000.0_f64, 0.1..1.0_f64).prop_map(|(radii, width, squat)| {
        let n = radii.len() as f64;
        let corner = |(i, r): (usize, &f64)| {
            let (sin, cos) = (i as f64 / n * std::f64::consts::TAU).sin_cos();
            [width / 2.0 * (1.0 + r * cos), width * squat / 2.0 * (1.0 + r * sin)]
        };
        radii.iter().enumerate().map(corner).collect()
    })
}

/// A phone's width, and as high as it likes.
const PHONE: Room = Room { width_pt: 360.0, height_pt: 2000.0 };

fn vehicle(kind: Kind) -> Body {
    Body::new(kind, Dimensions::usual(kind)).unwrap()
}

/// Panels that a finger finds in a scene: number, width and height of what stands for them.
fn pointed_at(scene: &Scene) -> Vec<(usize, f64, f64)> {
    let size = |marks: &[Mark]| match marks {
        [Mark::Path { path, .. }] => {
            let area = kurbo::Shape::bounding_box(path);
            (area.width(), area.height())
        }
        _ => (0.0, 0.0),
    };
    let named = scene.marks.iter().filter_map(|mark| match mark {
        Mark::Named { panel, marks, .. } => Some((*panel, size(marks))),
        _ => None,
    });
    named.map(|(panel, (w, h))| (panel, w, h)).collect()
}

#[test]
fn every_vehicle_is_drawn_inside_its_frame_from_a_phone_to_a_page() {
    for kind in Kind::ALL {
        for (width_pt, height_pt) in [(320.0, 2000.0), (360.0, 500.0), (820.0, 1100.0), (1440.0, 700.0), (482.0, 300.0)] {
            let body = vehicle(kind);
            let scene = vehicle_picture(&body, &[], Some(1), Room { width_pt, height_pt });
            check(&scene);
            assert!(scene.height_pt <= height_pt + 1e-6, "the {} is {} high", kind.name(), scene.height_pt);
            assert!(has(&scene, Class::Chosen) && has(&scene, Class::Tyre));
        }
    }
}

#[test]
fn each_panel_is_as_large_as_a_finger_on_a_phone_with_its_reach() {
    for kind in Kind::ALL {
        let body = vehicle(kind);
        let found = pointed_at(&vehicle_picture(&body, &[], None, PHONE));
        for (i, panel) in body.panels().iter().enumerate() {
            let is_large = found.iter().any(|(p, w, h)| *p == i && *w >= 43.9 && *h >= 43.9);
            assert!(is_large, "the {} of the {}: {:?}", panel.name(), kind.name(), found.iter().filter(|f| f.0 == i).collect::<Vec<_>>());
        }
    }
}

#[test]
fn most_panels_of_a_phone_carry_their_names() {
    for kind in Kind::ALL {
        let scene = vehicle_picture(&vehicle(kind), &[], None, PHONE);
        let said = texts(&scene).join("|");
        let wanted: &[&str] = match kind {
            Kind::Motorcycle => &["tank side", "side|cover", "tank top"],
            Kind::Van => &["sliding door", "front door", "rear door", "bonnet", "roof"],
            Kind::Saloon => &["front door", "rear door", "bonnet", "roof", "boot lid", "front bumper"],
            _ => &["door", "bonnet", "front bumper", "rear bumper"],
        };
        for words in wanted {
            assert!(said.contains(words) || said.contains(&words.replace('|', " ")), "{words} on the {}: {said}", kind.name());
        }
    }
}

#[test]
fn a_number_on_a_panel_stands_in_place_of_its_name_and_is_told() {
    let body = vehicle(Kind::Estate);
    let on: Vec<OnPanel> = (0..body.panels().len())
        .map(|i| OnPanel { words: if i == 1 { "34 um".to_owned() } else { String::new() }, fill: (i == 1).then_some([200, 180, 100]) })
        .collect();
    let scene = vehicle_picture(&body, &on, None, PHONE);
    assert!(texts(&scene).contains(&"34 um") && !texts(&scene).contains(&"bonnet"));
    assert!(scene.description.contains("bonnet: 34 um;"), "{}", scene.description);
    assert!(scene.svg().contains("fill=\"#c8b464\""));
}

#[test]
fn a_coupe_is_drawn_so() {
    let body = vehicle(Kind::Coupe);
    let scene = vehicle_picture(&body, &[], Some(2), PHONE);
    check(&scene);
    expect_test::expect_file!["scenes/coupe.svg"].assert_eq(&scene.svg());
    expect![[r#"
        coupe, 4350 by 1720 by 1310 mm
        The vehicle from its left, its right, before, behind and above. Its panels: front bumper; bonnet; left front wing; left door; left sill; left cant rail; left rear quarter; left mirror; boot lid; rear bumper; right mirror; right rear quarter; right cant rail; right sill; right door; right front wing; roof. Outlined: left front wing."#]].assert_eq(&format!("{}\n{}", scene.title, scene.description));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn any_outline_sections_and_text_give_a_well_formed_drawing_inside_its_frame(
        corners in outline(),
        clockwise in any::<bool>(),
        (across, up) in (1..10_usize, 1..7_usize),
        (panel_name, process_name) in ("\\PC{0,40}", "\\PC{0,60}"),
        (off, means) in (-10.0..400.0_f64, prop::collection::vec(prop_oneof![5 => -20.0..300.0_f64, 1 => Just(f64::NAN), 1 => Just(f64::INFINITY)], 30)),
        sets in 0..9_u32,
    ) {
        let (mut car, mut outcome) = fixture::car(1);
        let mut corners = corners;
        if clockwise {
            corners.reverse();
        }
        car.panels[0].panel.name = panel_name;
        car.panels[0].panel.outline_mm = corners;
        car.processes[0].name = process_name;
        let [w, h] = car.panels[0].panel.size_mm();
        let film = &mut outcome.film[0];
        (film.nx, film.ny, film.step_mm) = (6, 5, [w / 5.0, h / 4.0]);
        film.topcoat_sd_um = means.iter().map(|m| (m / 40.0).abs()).collect();
        film.topcoat_mean_um = means;
        let plan = &mut outcome.plan.panels[0];
        let one = plan.sections[3].clone();
        let (wide, high) = (w / across as f64, h / up as f64);
        plan.sections = (0..across * up).map(|i| lastmicron_plan::SectionPlan {
            x_mm: (i % across) as f64 * wide,
            y_mm: (i / across) as f64 * high,
            width_mm: wide,
            height_mm: high,
            steps: if sets == 0 { Vec::new() } else { vec![Step { process: i % 3, sets }] },
            ..one.clone()
        }).collect();
        plan.keep_off = vec![KeepOff { edge: 0, mm: off }, KeepOff { edge: 2, mm: 30.0 }, KeepOff { edge: 99, mm: 5.0 }];
        for unit in [Unit::Micrometre, Unit::Mil] {
            let scene = map(&car, &outcome, 0, unit);
            check(&scene);
            prop_assert!(scene.height_pt.is_finite());
        }
    }

    #[test]
    fn any_set_is_drawn_inside_its_frame(diameter in 25.0..230.0_f64, mean in 0.001..50.0_f64, doubt in 0.0..2.0_f64, radius in 1.0..500.0_f64, wide in 150.0..900.0_f64) {
        let pass = set(diameter, Belief { mean, sd: doubt * mean }, &[radius]);
        for unit in [Unit::Micrometre, Unit::Mil] {
            check(&pass_figure(&pass, "x", "A caption that is somewhat longer than a narrow drawing is wide.", unit, Room { width_pt: wide, height_pt: 700.0 }));
        }
    }

    #[test]
    fn any_vehicle_is_drawn_inside_its_frame(kind in prop::sample::select(Kind::ALL.to_vec()), shares in prop::array::uniform10(0.0..=1.0_f64), wide in 150.0..1500.0_f64, high in 100.0..1500.0_f64) {
        let dimensions = Measure::of(kind).into_iter().zip(shares).fold(Dimensions::usual(kind), |dimensions, (measure, share)| {
            let [least, most] = Dimensions::bounds_mm(kind, measure);
            dimensions.with(measure, least + share * (most - least))
        });
        if let Ok(body) = Body::new(kind, dimensions) {
            check(&vehicle_picture(&body, &[], Some(0), Room { width_pt: wide, height_pt: high }));
        }
    }

    #[test]
    fn any_curve_is_drawn_inside_its_frame(points in prop::collection::vec((-1.0..40.0_f64, -0.2..1.2_f64), 0..30), bend in prop_oneof![0.0..50.0_f64, Just(f64::NAN)]) {
        let (car, mut outcome) = fixture::car(1);
        outcome.curve = points.into_iter().map(|(d, s)| (d, Interval { mean: s, p05: s - 0.1, p95: s + 0.1 })).collect();
        outcome.bend_um = bend;
        check(&correction_curve(&car, &outcome, Unit::Micrometre, Room { width_pt: 300.0, height_pt: 160.0 }));
    }
}
