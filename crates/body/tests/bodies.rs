//! Every body over the whole range of its dimensions: its panels are panels, and its picture is one vehicle.

#![expect(clippy::unwrap_used, reason = "a test may stop at what should not be")]

use expect_test::expect;
use lastmicron_body::{Body, BodyError, Dimensions, Kind, Measure, Part, Shape, Stand, View};
use lastmicron_film::gauge::Substrate;
use lastmicron_film::panel::Panel;
use proptest::prelude::*;

/// Most corners of a panel, so that a job stays small.
const MOST_CORNERS: usize = 60;
/// What two panels may share beyond their common border, mm: curves are drawn in legs, and corners in whole millimetres.
const SLIVER_MM: f64 = 3.0;

/// Least and most area, m2, by the last words of a name. Common practice, no source: measured over with a tape, generously.
const AREAS_M2: [(&str, [f64; 2]); 24] = [
    ("bonnet", [0.6, 3.0]),
    ("roof", [0.7, 9.0]),
    ("boot lid", [0.5, 2.7]),
    ("rear deck", [0.2, 1.6]),
    ("tailgate", [0.25, 1.3]),
    ("bumper", [0.25, 1.4]),
    ("front wing", [0.15, 1.2]),
    ("sliding door", [1.0, 3.2]),
    ("front door", [0.35, 1.5]),
    ("rear door", [0.2, 1.2]),
    ("door", [0.33, 1.6]),
    ("sill", [0.08, 0.45]),
    ("cant rail", [0.05, 0.5]),
    ("rear quarter", [0.1, 1.4]),
    ("rear side panel", [0.8, 4.0]),
    ("bed side", [0.25, 2.4]),
    ("cab corner", [0.08, 0.4]),
    ("mirror", [0.01, 0.05]),
    ("front mudguard", [0.07, 0.16]),
    ("rear mudguard", [0.05, 0.12]),
    ("tank side", [0.05, 0.16]),
    ("tank top", [0.04, 0.12]),
    ("side cover", [0.015, 0.15]),
    ("tail cover", [0.01, 0.05]),
];

/// Dimensions at these shares of the way from least to most.
fn at(kind: Kind, shares: [f64; 10]) -> Dimensions {
    Measure::of(kind).into_iter().zip(shares).fold(Dimensions::usual(kind), |dimensions, (measure, share)| {
        let [least, most] = Dimensions::bounds_mm(kind, measure);
        dimensions.with(measure, least + share * (most - least))
    })
}

fn usual(kind: Kind) -> Body {
    Body::new(kind, Dimensions::usual(kind)).unwrap()
}

fn twice_area(corners: &[[f64; 2]]) -> f64 {
    (0..corners.len()).map(|i| (corners[i], corners[(i + 1) % corners.len()])).map(|([ax, ay], [bx, by])| ax * by - bx * ay).sum()
}

/// The first two sides that cross or touch and are no neighbours.
fn crossing(corners: &[[f64; 2]]) -> Option<(usize, usize)> {
    let n = corners.len();
    let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
    let side = |i: usize| (corners[i], corners[(i + 1) % n]);
    let apart = |p: f64, q: f64| (p > 0.0 && q > 0.0) || (p < 0.0 && q < 0.0);
    let touch = |i: usize, j: usize| {
        let ((a, b), (c, d)) = (side(i), side(j));
        let overlap = |k: usize| a[k].min(b[k]) <= c[k].max(d[k]) && c[k].min(d[k]) <= a[k].max(b[k]);
        !apart(turn(a, b, c), turn(a, b, d)) && !apart(turn(c, d, a), turn(c, d, b)) && overlap(0) && overlap(1)
    };
    (0..n).flat_map(|i| (i + 2..n).map(move |j| (i, j))).find(|(i, j)| !(*i == 0 && *j == n - 1) && touch(*i, *j))
}

fn mirrored(panel: &Panel) -> Vec<[f64; 2]> {
    let [width, _] = panel.size_mm();
    panel.outline_mm.iter().rev().map(|[x, y]| [width - x, *y]).collect()
}

/// The same corners in the same order, from wherever it begins.
fn is_same_round(a: &[[f64; 2]], b: &[[f64; 2]]) -> bool {
    let is_same = |p: [f64; 2], q: [f64; 2]| (p[0] - q[0]).abs() < 1e-6 && (p[1] - q[1]).abs() < 1e-6;
    a.len() == b.len() && (0..b.len()).any(|k| a.iter().enumerate().all(|(i, p)| is_same(*p, b[(i + k) % b.len()])))
}

fn as_panel(shape: &Shape) -> Panel {
    Panel { name: String::new(), outline_mm: shape.outline_mm.clone(), substrate: Substrate::Unknown }
}

/// A place that lies on both, farther from their borders than a sliver.
fn common_place(a: &Shape, b: &Shape) -> Option<[f64; 2]> {
    const STEP_MM: f64 = 12.0;
    let (a, b) = (as_panel(a), as_panel(b));
    let span = |k: usize| {
        let ends = |p: &Panel| p.outline_mm.iter().map(|c| c[k]).fold([f64::INFINITY, 0.0], |[low, high], x| [low.min(x), high.max(x)]);
        let ([a0, a1], [b0, b1]) = (ends(&a), ends(&b));
        [a0.max(b0), a1.min(b1)]
    };
    let ([x0, x1], [y0, y1]) = (span(0), span(1));
    let steps = |from: f64, to: f64| std::iter::successors(Some(from + 1.0), |x| Some(x + STEP_MM)).take_while(move |x| *x < to);
    let deep = |p: &Panel, x: f64, y: f64| p.contains(x, y) && p.edge_distance_mm(x, y) > SLIVER_MM;
    steps(x0, x1).flat_map(|x| steps(y0, y1).map(move |y| [x, y])).find(|[x, y]| deep(&a, *x, *y) && deep(&b, *x, *y))
}

fn check_panels(body: &Body) {
    for (i, panel) in body.panels().iter().enumerate() {
        let (name, outline) = (panel.name(), &panel.stated.panel.outline_mm);
        assert!(outline.len() <= MOST_CORNERS, "{name} has {} corners", outline.len());
        assert_eq!(crossing(outline), None, "{name} crosses itself: {outline:?}");
        assert!(twice_area(outline) > 0.0, "{name} is listed clockwise");
        let low = [0, 1].map(|k| outline.iter().map(|c| c[k]).fold(f64::INFINITY, f64::min));
        assert!(low.iter().all(|mm| mm.abs() < 1e-9), "{name} begins at {low:?}");
        let from_origin = |c: &[f64; 2]| f64::hypot(c[0], c[1]);
        assert!(outline.iter().all(|c| from_origin(&outline[0]) <= from_origin(c) + 1e-9), "{name} begins elsewhere");
        let (_, [least, most]) = AREAS_M2.iter().find(|(words, _)| name.ends_with(words)).unwrap();
        let area = panel.stated.panel.area_m2();
        assert!((*least..=*most).contains(&area), "{name} of the {} has {area:.3} m2: {:?}", body.kind().name(), body.dimensions());
        assert!(panel.free_edges.iter().all(|edge| *edge < outline.len()) && panel.free_edges.is_sorted());
        for line in &panel.stated.lines {
            for [x, y] in &line.points_mm {
                let on = panel.stated.panel.contains(*x, *y) || panel.stated.panel.edge_distance_mm(*x, *y) <= 1.0;
                assert!(on, "a line leaves {name} at ({x}, {y})");
            }
        }
        assert_eq!(body.panels().iter().filter(|other| other.name() == name).count(), 1, "{name} stands twice");
        assert!(body.shapes().iter().any(|shape| shape.part == Part::Panel(i)), "{name} is not in the picture");
    }
}

/// What is painted, as a share of the faces of the box about the vehicle. Judgement: the rest is glass, wheels, the underside and
/// what the box's corners hold; a body beyond these would have a panel missing, or one of another car's size.
fn check_area(body: &Body) {
    let [l, w, h] = [Measure::Length, Measure::Width, Measure::Height].map(|measure| body.dimensions().get(measure) / 1000.0);
    let painted: f64 = body.panels().iter().map(|panel| panel.stated.panel.area_m2()).sum();
    let share = painted / (2.0 * h * (l + w) + l * w);
    let [least, most] = if body.kind() == Kind::Motorcycle { [0.04, 0.12] } else { [0.20, 0.70] };
    assert!((least..=most).contains(&share), "{painted:.2} m2 of a {} are {share:.3}: {:?}", body.kind().name(), body.dimensions());
}

fn check_mirrors(body: &Body) {
    for (i, panel) in body.panels().iter().enumerate() {
        let Some(mirror) = panel.mirror else {
            assert!(!panel.name().starts_with("left ") && !panel.name().starts_with("right "), "{} has no mirror image", panel.name());
            continue;
        };
        let other = &body.panels()[mirror];
        assert_eq!(other.mirror, Some(i));
        assert_eq!(other.name().split_once(' ').unwrap().1, panel.name().split_once(' ').unwrap().1);
        assert!(is_same_round(&mirrored(&panel.stated.panel), &other.stated.panel.outline_mm), "{} is no mirror image", other.name());
        assert_eq!(panel.free_edges.len(), other.free_edges.len(), "{}", panel.name());
        assert_eq!(panel.stated.lines.len(), other.stated.lines.len(), "{}", panel.name());
    }
}

fn check_picture(body: &Body) {
    for view in View::ALL {
        let [width, height] = body.size_mm(view);
        let shapes: Vec<&Shape> = body.shapes().iter().filter(|s| s.view == view && matches!(s.part, Part::Panel(_))).collect();
        assert!(!shapes.is_empty(), "no panel from {}", view.name());
        let of = |shape: &Shape| match shape.part {
            Part::Panel(i) => body.panels()[i].name().to_owned(),
            _ => String::new(),
        };
        for (i, shape) in shapes.iter().enumerate() {
            let name = of(shape);
            let inside = |[x, y]: &[f64; 2]| (-0.5..=width + 0.5).contains(x) && (-0.5..=height + 0.5).contains(y);
            assert!(shape.outline_mm.iter().all(inside), "{name} leaves the view from {}: {:?}", view.name(), body.dimensions());
            assert_eq!(crossing(&shape.outline_mm), None, "{name} from {}: {:?}", view.name(), shape.outline_mm);
            for other in &shapes[i + 1..] {
                let common = common_place(shape, other);
                assert_eq!(common, None, "{name} and {} from {}: {:?}", of(other), view.name(), body.dimensions());
            }
        }
    }
}

/// Wing, doors and quarter meet along their shut lines: at least two corners of each lie on the next one's border.
fn check_shut_lines(body: &Body) {
    const ALONG: [&str; 6] =
        ["left front wing", "left door", "left front door", "left rear door", "left sliding door", "left rear side panel"];
    let number = |name: &str| body.panels().iter().position(|panel| panel.name() == name);
    let last = ["left rear quarter", "left cab corner"];
    let along: Vec<&Shape> = ALONG
        .iter()
        .chain(&last)
        .filter_map(|name| body.shapes().iter().find(|s| s.view == View::Left && number(name).is_some_and(|i| s.part == Part::Panel(i))))
        .collect();
    assert!(along.len() >= 3, "a side has a wing, a door and what is behind it");
    for pair in along.windows(2) {
        let next = as_panel(pair[1]);
        let common = pair[0].outline_mm.iter().filter(|[x, y]| next.edge_distance_mm(*x, *y) < 1.5).count();
        assert!(common >= 2, "{:?} and {:?}", pair[0], pair[1]);
    }
}

fn check(body: &Body) {
    check_panels(body);
    check_area(body);
    check_mirrors(body);
    check_picture(body);
    if body.kind() != Kind::Motorcycle {
        check_shut_lines(body);
    }
}

#[test]
fn the_usual_body_of_each_kind_is_sane() {
    for kind in Kind::ALL {
        check(&usual(kind));
    }
}

#[test]
fn a_usual_bonnet_has_0_8_to_2_2_m2() {
    for kind in Kind::ALL {
        for bonnet in usual(kind).panels().iter().filter(|panel| panel.name() == "bonnet") {
            assert!((0.8..=2.2).contains(&bonnet.stated.panel.area_m2()), "{}", kind.name());
        }
    }
}

#[test]
fn each_dimension_alone_may_go_a_third_of_the_way_to_its_bounds() {
    for kind in Kind::ALL {
        for (i, measure) in Measure::of(kind).into_iter().enumerate() {
            for share in [0.35, 0.65] {
                let usual = Dimensions::usual(kind);
                let shares = std::array::from_fn(|k| if k == i { share } else { f64::NAN });
                let moved = usual.with(measure, at(kind, shares).get(measure));
                match Body::new(kind, moved) {
                    Ok(body) => check(&body),
                    Err(why) => panic!("{}: {why}", kind.name()),
                }
            }
        }
    }
}

#[test]
fn one_walks_round_a_saloon_in_this_order() {
    let body = usual(Kind::Saloon);
    let walk: Vec<String> = body.panels().iter().map(|p| format!("{}: {}", p.name(), p.stand.words())).collect();
    expect![[r#"
        front bumper: stand before the vehicle
        bonnet: stand before the vehicle
        left front wing: stand at its left
        left front door: stand at its left
        left rear door: stand at its left
        left sill: stand at its left
        left cant rail: stand at its left
        left rear quarter: stand at its left
        left mirror: stand at its left
        boot lid: stand behind it
        rear bumper: stand behind it
        right mirror: stand at its right
        right rear quarter: stand at its right
        right cant rail: stand at its right
        right sill: stand at its right
        right rear door: stand at its right
        right front door: stand at its right
        right front wing: stand at its right
        roof: stand on a step at its left, then at its right for the far half"#]]
    .assert_eq(&walk.join("\n"));
}

#[test]
fn panels_of_the_other_kinds_are_called_so() {
    let named = |kind: Kind| {
        let body = usual(kind);
        let shared = body.panels().iter().filter(|p| !p.name().starts_with("right "));
        format!("{}: {}", kind.name(), shared.map(lastmicron_body::BodyPanel::name).collect::<Vec<_>>().join(", "))
    };
    let all: Vec<String> = Kind::ALL.into_iter().filter(|kind| *kind != Kind::Saloon).map(named).collect();
    expect![[r#"
        coupe: front bumper, bonnet, left front wing, left door, left sill, left cant rail, left rear quarter, left mirror, boot lid, rear bumper, roof
        hatchback: front bumper, bonnet, left front wing, left front door, left rear door, left sill, left cant rail, left rear quarter, left mirror, tailgate, rear bumper, roof
        estate: front bumper, bonnet, left front wing, left front door, left rear door, left sill, left cant rail, left rear quarter, left mirror, tailgate, rear bumper, roof
        roadster: front bumper, bonnet, left front wing, left door, left sill, left rear quarter, left mirror, boot lid, rear deck, rear bumper
        off-roader: front bumper, bonnet, left front wing, left front door, left rear door, left sill, left cant rail, left rear quarter, left mirror, tailgate, rear bumper, roof
        pickup: front bumper, bonnet, left front wing, left door, left sill, left cant rail, left cab corner, left bed side, left mirror, tailgate, rear bumper, roof
        van: front bumper, bonnet, left front wing, left front door, left sliding door, left sill, left cant rail, left rear side panel, left mirror, left rear door, rear bumper, roof
        motorcycle: front mudguard, left tank side, tank top, left side cover, left tail cover, rear mudguard"#]].assert_eq(&all.join("\n"));
}

#[test]
fn a_bonnet_is_seen_from_the_front_and_a_left_wing_has_the_front_on_its_left() {
    let body = usual(Kind::Estate);
    let of = |name: &str| body.panels().iter().find(|p| p.name() == name).unwrap();
    // Wider at the windscreen, which is above as seen from the front.
    let bonnet = of("bonnet");
    let [_, height] = bonnet.stated.panel.size_mm();
    let width = |low: f64, high: f64| {
        let xs: Vec<f64> = bonnet.stated.panel.outline_mm.iter().filter(|c| c[1] >= low && c[1] <= high).map(|c| c[0]).collect();
        xs.iter().copied().fold(0.0, f64::max) - xs.iter().copied().fold(f64::INFINITY, f64::min)
    };
    assert_eq!(bonnet.stand, Stand::Front);
    assert!(width(0.6 * height, height) > width(0.0, 0.4 * height));
    // Higher at the windscreen, which is on the right as seen from the left.
    let wing = &of("left front wing").stated.panel;
    let highest = wing.outline_mm.iter().max_by(|a, b| a[1].total_cmp(&b[1])).unwrap();
    assert!(highest[0] > 0.7 * wing.size_mm()[0]);
    assert_eq!(of("front bumper").stated.panel.substrate, Substrate::Plastic);
    assert_eq!(of("left front wing").stated.panel.substrate, Substrate::Steel);
}

#[test]
fn an_aluminium_saloon_keeps_its_plastic() {
    let panels = usual(Kind::Saloon).stated_panels(Substrate::Aluminium);
    let of =
        |substrate: Substrate| panels.iter().filter(|p| p.panel.substrate == substrate).map(|p| p.panel.name.as_str()).collect::<Vec<_>>();
    assert_eq!(of(Substrate::Plastic), ["front bumper", "left mirror", "rear bumper", "right mirror"]);
    assert_eq!(of(Substrate::Aluminium).len(), panels.len() - 4);
}

#[test]
fn a_quarter_runs_on_where_it_meets_the_rail_and_ends_at_its_arch() {
    let body = usual(Kind::Saloon);
    let quarter = body.panels().iter().find(|p| p.name() == "left rear quarter").unwrap();
    let edges = quarter.stated.panel.outline_mm.len();
    assert!(quarter.free_edges.len() > 10 && quarter.free_edges.len() < edges);
    let bonnet = body.panels().iter().find(|p| p.name() == "bonnet").unwrap();
    assert_eq!(bonnet.free_edges.len(), bonnet.stated.panel.outline_mm.len());
    let roof = body.panels().iter().find(|p| p.name() == "roof").unwrap();
    assert_eq!(roof.free_edges, Vec::<usize>::new());
}

/// The names of a panel's edges, each once, in the order of its outline.
fn edge_names(panel: &Panel) -> Vec<String> {
    let mut names: Vec<String> = (0..panel.outline_mm.len()).map(|edge| panel.edge_name(edge)).collect();
    names.dedup();
    names
}

#[test]
fn edges_of_drawn_panels_are_called_as_one_sees_them() {
    let body = usual(Kind::Estate);
    let of = |name: &str| edge_names(&body.panels().iter().find(|p| p.name() == name).unwrap().stated.panel).join(", ");
    assert_eq!(of("bonnet"), "bottom, right, top, left");
    assert_eq!(of("left front wing"), "bottom cut-out, bottom, right, top, left");
    assert_eq!(of("left front door"), "bottom, right, top, left");
    let known = ["bottom", "right", "top", "left", "lower left", "lower right", "upper left", "upper right", "bottom cut-out"];
    for kind in Kind::ALL {
        let body = usual(kind);
        for panel in body.panels() {
            let mut names = edge_names(&panel.stated.panel);
            assert!(names.iter().all(|name| known.contains(&name.as_str())), "{} of the {}: {names:?}", panel.name(), kind.name());
            let Some(other) = panel.mirror else { continue };
            let swapped = |name: String| match name.split_once("left") {
                Some((before, after)) => format!("{before}right{after}"),
                None => name.replace("right", "left"),
            };
            let mut mirrored: Vec<String> = edge_names(&body.panels()[other].stated.panel).into_iter().map(swapped).collect();
            for list in [&mut names, &mut mirrored] {
                list.sort_unstable();
                list.dedup();
            }
            assert_eq!(names, mirrored, "{} of the {}", panel.name(), kind.name());
        }
    }
}

#[test]
fn dimensions_that_make_no_body_are_told_apart() {
    let long = Dimensions::usual(Kind::Saloon).with(Measure::Wheelbase, 3100.0).with(Measure::FrontOverhang, 1100.0);
    let why = Body::new(Kind::Saloon, long).unwrap_err();
    assert!(matches!(why, BodyError::NoRoom { .. }));
    expect!["these dimensions leave 85 mm for the rear overhang behind its wheel arch, which takes at least 160 mm: check the overall length, the wheelbase and the front overhang"].assert_eq(&why.to_string());
    let roof = Dimensions::usual(Kind::Pickup).with(Measure::Roof, 1300.0).with(Measure::Bonnet, 1750.0);
    expect!["these dimensions leave 73 mm for the bed before the rear wheel arch, which takes at least 150 mm: check the overall length, the distance from the front end to the windscreen and the length of the roof"].assert_eq(&Body::new(Kind::Pickup, roof).unwrap_err().to_string());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn any_dimensions_make_a_sane_body_or_none(kind in prop::sample::select(Kind::ALL.to_vec()), shares in prop::array::uniform10(0.0..=1.0_f64)) {
        if let Ok(body) = Body::new(kind, at(kind, shares)) {
            check(&body);
        }
    }

    #[test]
    fn dimensions_near_the_usual_make_a_body(kind in prop::sample::select(Kind::ALL.to_vec()), shares in prop::array::uniform10(0.42..=0.58_f64)) {
        match Body::new(kind, at(kind, shares)) {
            Ok(body) => check(&body),
            Err(why) => prop_assert!(false, "{}: {why}", kind.name()),
        }
    }

    #[test]
    fn no_number_makes_it_stumble(kind in prop::sample::select(Kind::ALL.to_vec()), which in 0..10_usize, mm in prop::num::f64::ANY) {
        let measure = Measure::ALL[which];
        let made = Body::new(kind, Dimensions::usual(kind).with(measure, mm));
        let [least, most] = Dimensions::bounds_mm(kind, measure);
        if Measure::of(kind).contains(&measure) && !(least..=most).contains(&mm) {
            let is_beyond = matches!(made, Err(BodyError::Beyond { .. }));
            prop_assert!(is_beyond);
        }
    }
}
