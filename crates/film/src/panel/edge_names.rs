//! What the edges of a panel are called, as one sees it from where one stands to work it.
//!
//! An edge goes by the way it faces: bottom, right, top, left, or a corner between two of them. An arch faces every way and would be half of the
//! sides: its edges are a cut-out, which goes by the way its mouth faces.

use super::Panel;

/// An edge that faces within this of square to a side is of that side, degrees; other edges are of the corner between two. Judgement: an edge that
/// leans by a third of the way to the next side is still seen as its side.
const OF_A_SIDE_DEG: f64 = 30.0;
/// Edges of a corner that are together shorter than this share of the panel's shorter side only round it off: each is of the side that it is nearer to.
/// Judgement: a hand's length on a door of 600 mm.
const ROUNDS_OFF: f64 = 0.25;
/// A bay of the outline is a cut-out where its edges face away from its mouth by more than this to both hands, degrees. Judgement: the walls of an arch
/// nearly face each other, those of a step in the outline are about square to each other.
const CUT_OUT_DEG: f64 = 60.0;
/// An edge of a bay that keeps within this share of the bay's depth from the straight line over its mouth is beside the cut-out, not in it. Judgement: the
/// feet of an arch are seldom quite in line with what is beside them.
const BESIDE: f64 = 0.05;

/// What some edges of a panel are called together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Called {
    /// They are all that the panel has.
    AllRound,
    /// Their names, each once, in the order of the outline. A name that other edges bear too comes with the ends of the stretch that is meant, mm.
    Named(Vec<String>),
}

/// Where an edge is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Place {
    facing: Facing,
    in_cut_out: bool,
}

/// The way that an edge faces: across, up, or both. One that has no length faces no way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Facing {
    across: Option<&'static str>,
    up: Option<&'static str>,
}

impl Panel {
    /// What edge `edge` is called: "bottom", "upper left", "bottom cut-out". Several edges may bear one name. An edge that the panel doesn't have goes by its
    /// number.
    #[must_use]
    pub fn edge_name(&self, edge: usize) -> String {
        places(&self.outline_mm).get(edge).map_or_else(|| format!("edge {edge}"), |place| place.name())
    }

    /// What `edges` are called together.
    #[must_use]
    pub fn called(&self, edges: &[usize]) -> Called {
        let places = places(&self.outline_mm);
        let is_meant = |edge: usize| edges.contains(&edge);
        if !places.is_empty() && (0..places.len()).all(is_meant) {
            return Called::AllRound;
        }
        let mut names: Vec<String> = Vec::new();
        for (edge, place) in places.iter().enumerate().filter(|(edge, _)| is_meant(*edge)) {
            let is_alike = |other: usize| places[other] == *place;
            let name = if (0..places.len()).filter(|other| is_alike(*other)).all(is_meant) {
                place.name()
            } else {
                let [from, to] = stretch(&self.outline_mm, edge, |other| is_alike(other) && is_meant(other));
                format!("{} from ({:.0}, {:.0}) to ({:.0}, {:.0}) mm", place.name(), from[0], from[1], to[0], to[1])
            };
            if !names.contains(&name) {
                names.push(name);
            }
        }
        names.extend(edges.iter().filter(|edge| **edge >= places.len()).map(|edge| format!("edge {edge}")));
        Called::Named(names)
    }
}

impl Place {
    fn name(self) -> String {
        let of = match (self.facing.up, self.facing.across) {
            (Some("top"), Some(across)) => format!("upper {across}"),
            (Some(_), Some(across)) => format!("lower {across}"),
            (Some(side), None) | (None, Some(side)) => side.to_owned(),
            (None, None) => "short".to_owned(),
        };
        if self.in_cut_out { format!("{of} cut-out") } else { of }
    }
}

impl Facing {
    /// Of a direction, square to the edge and away from the panel.
    fn of([x, y]: [f64; 2]) -> Self {
        let least = OF_A_SIDE_DEG.to_radians().sin() * f64::hypot(x, y);
        let named = |part: f64, [less, more]: [&'static str; 2]| (part.abs() > least).then_some(if part < 0.0 { less } else { more });
        Self { across: named(x, ["left", "right"]), up: named(y, ["bottom", "top"]) }
    }

    /// The nearest side.
    fn side([x, y]: [f64; 2]) -> Self {
        if x.abs() > y.abs() { Self::of([x, 0.0]) } else { Self::of([0.0, y]) }
    }

    const fn is_corner(self) -> bool {
        self.across.is_some() && self.up.is_some()
    }
}

/// Where each edge of an outline is.
fn places(outline_mm: &[[f64; 2]]) -> Vec<Place> {
    let n = outline_mm.len();
    let turn = if twice_area(outline_mm) < 0.0 { -1.0 } else { 1.0 };
    let out = |[ax, ay]: [f64; 2], [bx, by]: [f64; 2]| [(by - ay) * turn, (ax - bx) * turn];
    let facing = |edge: usize| out(outline_mm[edge], outline_mm[(edge + 1) % n]);
    let mut places: Vec<Place> = (0..n).map(|edge| Place { facing: Facing::of(facing(edge)), in_cut_out: false }).collect();
    for (bay, mouth) in bays(outline_mm) {
        let mouth = out(outline_mm[mouth[0]], outline_mm[mouth[1]]);
        if faces_itself(bay.iter().map(|&edge| facing(edge)), mouth) {
            bay.into_iter().for_each(|edge| places[edge] = Place { facing: Facing::of(mouth), in_cut_out: true });
        }
    }
    let shorter_mm = [0, 1].map(|axis| span(outline_mm, axis)).into_iter().fold(f64::INFINITY, f64::min);
    let is_corner = |place: &Place| place.facing.is_corner() && !place.in_cut_out;
    let rounded: Vec<usize> = (0..n)
        .filter(|&edge| is_corner(&places[edge]))
        .filter(|&edge| {
            let [start, count] = run(n, edge, |other| places[other] == places[edge]);
            let long: f64 = (start..start + count).map(|i| length(facing(i % n))).sum();
            long < ROUNDS_OFF * shorter_mm
        })
        .collect();
    rounded.into_iter().for_each(|edge| places[edge].facing = Facing::side(facing(edge)));
    places
}

/// The stretches of the outline, as edges in their order, that lie within its convex hull and away from it, each with the corners of the hull at both sides.
fn bays(outline_mm: &[[f64; 2]]) -> Vec<(Vec<usize>, [usize; 2])> {
    let (hull, n) = (hull(outline_mm), outline_mm.len());
    let sides = (0..hull.len()).map(|at| [hull[at], if at + 1 < hull.len() { hull[at + 1] } else { hull[0] + n }]);
    let mut bays = Vec::new();
    for [from, to] in sides.filter(|[from, to]| to - from > 1) {
        let mouth = [outline_mm[from], outline_mm[to % n]];
        let depth = |corner: usize| cross(mouth[0], mouth[1], outline_mm[corner % n]).abs();
        let beside = BESIDE * (from..=to).map(depth).fold(0.0, f64::max);
        let edges: Vec<usize> = (from..to).collect();
        let is_beside = |edge: &usize| depth(*edge) <= beside && depth(edge + 1) <= beside;
        let stretches = edges.split(is_beside).filter(|stretch| !stretch.is_empty());
        bays.extend(stretches.map(|stretch| (stretch.iter().map(|edge| edge % n).collect(), [from, to % n])));
    }
    bays
}

/// The corners of the outline on its convex hull, ascending (Andrew, Information Processing Letters 9, 1979).
fn hull(outline_mm: &[[f64; 2]]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..outline_mm.len()).collect();
    order.sort_by(|&i, &j| {
        let (a, b) = (outline_mm[i], outline_mm[j]);
        a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
    });
    let half = |order: &mut dyn Iterator<Item = usize>| {
        let mut chain: Vec<usize> = Vec::new();
        for corner in order {
            let turns_right = |chain: &[usize]| match chain {
                [.., a, b] => cross(outline_mm[*a], outline_mm[*b], outline_mm[corner]) < 0.0,
                _ => false,
            };
            while turns_right(&chain) {
                chain.pop();
            }
            chain.push(corner);
        }
        chain
    };
    let mut hull = half(&mut order.iter().copied());
    hull.extend(half(&mut order.iter().rev().copied()));
    hull.sort_unstable();
    hull.dedup();
    hull
}

/// Whether directions in a bay spread to both hands of that of its mouth, as the walls of a cut-out do.
fn faces_itself(directions: impl Iterator<Item = [f64; 2]>, [mx, my]: [f64; 2]) -> bool {
    let from_mouth = directions.map(|[x, y]| (mx * y - my * x).atan2(mx * x + my * y).to_degrees());
    let [low, high] = from_mouth.fold([0.0_f64, 0.0], |[low, high], deg| [low.min(deg), high.max(deg)]);
    low < -CUT_OUT_DEG && high > CUT_OUT_DEG
}

/// The first edge, and how many there are, of the stretch around `edge` on which something holds, of `n` edges in a ring.
fn run(n: usize, edge: usize, holds: impl Fn(usize) -> bool) -> [usize; 2] {
    let before = (1..n).take_while(|back| holds((edge + n - back) % n)).count();
    let after = (1..n - before).take_while(|on| holds((edge + on) % n)).count();
    [(edge + n - before) % n, before + 1 + after]
}

/// The ends of the stretch around `edge` on which something holds.
fn stretch(outline_mm: &[[f64; 2]], edge: usize, holds: impl Fn(usize) -> bool) -> [[f64; 2]; 2] {
    let n = outline_mm.len();
    let [start, count] = run(n, edge, holds);
    [outline_mm[start], outline_mm[(start + count) % n]]
}

fn twice_area(outline_mm: &[[f64; 2]]) -> f64 {
    let n = outline_mm.len();
    (0..n).map(|i| cross([0.0, 0.0], outline_mm[i], outline_mm[(i + 1) % n])).sum()
}

fn cross([ox, oy]: [f64; 2], [ax, ay]: [f64; 2], [bx, by]: [f64; 2]) -> f64 {
    (ax - ox) * (by - oy) - (ay - oy) * (bx - ox)
}

fn span(outline_mm: &[[f64; 2]], axis: usize) -> f64 {
    let [low, high] = outline_mm
        .iter()
        .map(|corner| corner[axis])
        .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], at| [low.min(at), high.max(at)]);
    high - low
}

fn length([x, y]: [f64; 2]) -> f64 {
    f64::hypot(x, y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gauge::Substrate;
    use proptest::prelude::*;

    fn panel(outline_mm: &[[f64; 2]]) -> Panel {
        Panel { name: "panel".to_owned(), outline_mm: outline_mm.to_vec(), substrate: Substrate::Steel }
    }

    fn names(outline_mm: &[[f64; 2]]) -> Vec<String> {
        (0..outline_mm.len()).map(|edge| panel(outline_mm).edge_name(edge)).collect()
    }

    fn reversed(outline_mm: &[[f64; 2]]) -> Vec<[f64; 2]> {
        outline_mm.iter().rev().copied().collect()
    }

    const TRAPEZOID: [[f64; 2]; 4] = [[0.0, 0.0], [500.0, 0.0], [400.0, 450.0], [0.0, 500.0]];

    #[test]
    fn edges_are_called_by_the_way_they_face() {
        assert_eq!(names(&Panel::rectangle("roof", 1200.0, 900.0, Substrate::Steel).outline_mm), ["bottom", "right", "top", "left"]);
        assert_eq!(names(&TRAPEZOID), ["bottom", "right", "top", "left"]);
        // Edge 0 of the reversed outline runs from its last corner to the one before.
        assert_eq!(names(&reversed(&TRAPEZOID)), ["top", "right", "bottom", "left"]);
        assert_eq!(names(&[[0.0, 0.0], [400.0, 0.0], [0.0, 300.0]]), ["bottom", "upper right", "left"]);
        assert_eq!(panel(&TRAPEZOID).edge_name(4), "edge 4");
    }

    #[test]
    fn a_corner_cut_off_has_a_name_and_one_that_is_rounded_has_none() {
        let cut = |mm: f64| names(&[[mm, 0.0], [900.0, 0.0], [900.0, 600.0], [0.0, 600.0], [0.0, mm]]);
        assert_eq!(cut(200.0), ["bottom", "right", "top", "left", "lower left"]);
        // [D] 100 mm off both sides leave an edge of 141 mm, and a quarter of 600 is 150: a tie goes to the bottom
        assert_eq!(cut(100.0), ["bottom", "right", "top", "left", "bottom"]);
    }

    #[test]
    fn an_arch_is_a_cut_out_and_a_step_is_not() {
        // [D] half of an octagon out of the bottom: its edges face every way but down
        let wing = [
            [0.0, 0.0],
            [200.0, 0.0],
            [200.0, 150.0],
            [350.0, 300.0],
            [500.0, 300.0],
            [650.0, 150.0],
            [650.0, 0.0],
            [900.0, 0.0],
            [900.0, 500.0],
            [0.0, 500.0],
        ];
        let mut wanted = vec!["bottom"; 7];
        wanted[1..6].fill("bottom cut-out");
        wanted.extend(["right", "top", "left"]);
        assert_eq!(names(&wing), wanted);
        let quarter = [[0.0, 0.0], [1000.0, 0.0], [1000.0, 500.0], [400.0, 500.0], [400.0, 900.0], [0.0, 900.0]];
        assert_eq!(names(&quarter), ["bottom", "right", "top", "right", "top", "left"]);
    }

    #[test]
    fn what_is_beside_an_arch_is_no_part_of_it_though_its_feet_are_not_in_line() {
        let side = [
            [0.0, 0.0],
            [200.0, 8.0],
            [200.0, 300.0],
            [500.0, 300.0],
            [500.0, 8.0],
            [900.0, 6.0],
            [900.0, 250.0],
            [1200.0, 250.0],
            [1200.0, 4.0],
            [1400.0, 0.0],
            [1400.0, 600.0],
            [0.0, 600.0],
        ];
        let cut = ["bottom cut-out"; 3];
        assert_eq!(names(&side), [&["bottom"], &cut[..], &["bottom"], &cut[..], &["bottom", "right", "top", "left"]].concat());
    }

    #[test]
    fn edges_are_called_together_and_told_apart_where_they_share_a_name() {
        let called = |outline: &[[f64; 2]], edges: &[usize]| match panel(outline).called(edges) {
            Called::AllRound => "all round".to_owned(),
            Called::Named(names) => names.join(", "),
        };
        assert_eq!(called(&TRAPEZOID, &[3, 0, 1, 2]), "all round");
        assert_eq!(called(&TRAPEZOID, &[3, 0, 9]), "bottom, left, edge 9");
        assert_eq!(called(&TRAPEZOID, &[]), "");
        let roof = [[0.0, 0.0], [800.0, 0.0], [800.0, 400.0], [400.0, 500.0], [0.0, 400.0]];
        assert_eq!(called(&roof, &[2, 3]), "top");
        assert_eq!(called(&roof, &[3]), "top from (400, 500) to (0, 400) mm");
        // A name that begins at the end of the list: 0 and 4 are one stretch.
        let begun = [[300.0, 0.0], [800.0, 0.0], [800.0, 400.0], [0.0, 400.0], [0.0, 0.0]];
        assert_eq!(called(&begun, &[4, 0]), "bottom");
        assert_eq!(called(&begun, &[4]), "bottom from (0, 0) to (300, 0) mm");
    }

    #[test]
    fn no_outline_is_too_poor_for_names() {
        assert_eq!(names(&[]), Vec::<String>::new());
        assert_eq!(names(&[[0.0, 0.0]]), ["short"]);
        assert_eq!(names(&[[0.0, 0.0], [0.0, 0.0], [100.0, 0.0]]), ["short", "bottom", "top"]);
        assert_eq!(panel(&[]).called(&[]), Called::Named(vec![]));
    }

    proptest! {
        /// What is above is called below when the panel is turned over, and left is right.
        #[test]
        fn a_panel_turned_by_half_has_the_opposite_names(corners in proptest::collection::vec((1.0..1000.0f64, 1.0..1000.0f64), 3..9)) {
            let outline: Vec<[f64; 2]> = corners.iter().map(|&(x, y)| [x, y]).collect();
            let turned: Vec<[f64; 2]> = outline.iter().map(|[x, y]| [1000.0 - x, 1000.0 - y]).collect();
            let opposite = |name: &String| {
                let word = |word| match word {
                    "bottom" => "top",
                    "top" => "bottom",
                    "left" => "right",
                    "right" => "left",
                    "upper" => "lower",
                    "lower" => "upper",
                    other => other,
                };
                name.split(' ').map(word).collect::<Vec<_>>().join(" ")
            };
            prop_assert_eq!(names(&turned), names(&outline).iter().map(opposite).collect::<Vec<_>>());
        }

        /// A convex outline has no cut-out, and each of its names is one stretch.
        #[test]
        fn names_of_a_convex_outline_are_in_one_piece(sides in 3..40u32, wide in 0.1..4.0f64, begin in 0.0..6.3f64) {
            let outline: Vec<[f64; 2]> = (0..sides).map(|i| begin + f64::from(i) / f64::from(sides) * std::f64::consts::TAU)
                .map(|at| [500.0 * wide * (1.0 + at.cos()), 500.0 * (1.0 + at.sin())]).collect();
            let names = names(&outline);
            prop_assert!(names.iter().all(|name| !name.contains("cut-out") && name != "short"));
            let changes = (0..names.len()).filter(|&i| names[i] != names[(i + 1) % names.len()]).count();
            let mut each = names.clone();
            each.sort_unstable();
            each.dedup();
            prop_assert_eq!(changes, each.len());
        }
    }
}
