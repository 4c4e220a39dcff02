//! Where to tape before work, and how much tape that is.
//!
//! Taped is what the plan keeps the machine off: edges, body lines on both sides, and the borders of sections to be left alone beside ones that are
//! worked. Trim, badges, glass and rubber are taped as well; they are not in the job.

use lastmicron_film::panel::Panel;

use crate::car::{Car, CarPanel};
use crate::outcome::{PanelPlan, SectionPlan};

/// Longest piece of an edge, a line or a border that is looked at as one, mm.
const PIECE_MM: f64 = 10.0;

/// A place this near to a section belongs to it, mm: outlines are given in millimetres.
const TOLERANCE_MM: f64 = 1.0;

/// What a tape runs along.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Along {
    /// An edge kept off, by its number.
    Edge(usize),
    /// A body line kept off, by its index on the panel.
    Line(usize),
    /// Borders of sections that are left alone.
    LeftAlone,
}

/// One tape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tape {
    /// Index of the panel in the car.
    pub panel: usize,
    /// What it runs along.
    pub along: Along,
    /// Its length, mm: where a worked section lies beside. Along a line it is laid once on each side.
    pub length_mm: f64,
}

/// Length of all tapes, mm.
#[must_use]
pub fn tape_mm(tapes: &[Tape]) -> f64 {
    // An empty sum of numbers is -0.
    tapes.iter().map(|tape| tape.length_mm).sum::<f64>() + 0.0
}

/// Where to tape, in one line: metres in all, then by panel.
#[must_use]
pub fn tape_in_words(car: &Car, tapes: &[Tape]) -> String {
    if tapes.is_empty() {
        return "none for what is kept off or left alone; trim, badges, glass and rubber as always".to_owned();
    }
    let of_panel = |tapes: &[Tape]| {
        let at = &car.panels[tapes[0].panel].panel;
        format!("{}: {}", at.name, parts(at, tapes).join(", "))
    };
    let panels: Vec<String> = tapes.chunk_by(|a, b| a.panel == b.panel).map(of_panel).collect();
    format!("{} m in all, and trim, badges, glass and rubber on top. {}", metres(tape_mm(tapes)), panels.join("; "))
}

/// The tapes of one panel; edges of one name are told together, and once for all where all of them are taped along their whole length.
fn parts(panel: &Panel, tapes: &[Tape]) -> Vec<String> {
    let mut edges: Vec<(String, f64)> = Vec::new();
    for tape in tapes {
        let Along::Edge(edge) = tape.along else { continue };
        let name = panel.edge_name(edge);
        match edges.iter_mut().find(|(known, _)| *known == name) {
            Some((_, mm)) => *mm += tape.length_mm,
            None => edges.push((name, tape.length_mm)),
        }
    }
    let all_mm: f64 = edges.iter().map(|(_, mm)| mm).sum();
    let round_mm: f64 = panel.edges().map(|([ax, ay], [bx, by])| f64::hypot(bx - ax, by - ay)).sum();
    let along_edges = if all_mm > round_mm - TOLERANCE_MM {
        vec![format!("{} m all round", metres(all_mm))]
    } else {
        edges.iter().map(|(name, mm)| format!("{} m at the {name}", metres(*mm))).collect()
    };
    let rest = tapes.iter().filter_map(|tape| match tape.along {
        Along::Edge(_) => None,
        Along::Line(line) => Some(format!("{} m beside body line {}", metres(tape.length_mm), line + 1)),
        Along::LeftAlone => Some(format!("{} m along what is left alone", metres(tape.length_mm))),
    });
    along_edges.into_iter().chain(rest).collect()
}

/// Rounded up: tape that is short is no tape.
fn metres(mm: f64) -> String {
    format!("{:.1}", (mm / 100.0 - 1e-9).ceil() / 10.0)
}

/// Tapes of one panel: along what it keeps off, where that is worked beside, and along what it leaves alone.
pub(crate) fn tapes(panel: &CarPanel, plan: &PanelPlan) -> Vec<Tape> {
    let by_work = |place: [f64; 2]| plan.sections.iter().any(|s| !s.steps.is_empty() && holds(s, place));
    let mut tapes = Vec::new();
    let mut add = |along: Along, length_mm: f64| {
        if length_mm > 0.0 {
            tapes.push(Tape { panel: plan.panel, along, length_mm });
        }
    };
    let edges: Vec<([f64; 2], [f64; 2])> = panel.panel.edges().collect();
    for off in &plan.keep_off {
        if let Some(&(a, b)) = edges.get(off.edge) {
            add(Along::Edge(off.edge), length_where(a, b, by_work));
        }
    }
    for off in &plan.keep_off_lines {
        let points = panel.lines.get(off.line).map(|line| line.points_mm.as_slice()).unwrap_or_default();
        let one_side: f64 =
            points.windows(2).map(|leg| length_where(leg[0], leg[1], |p| panel.panel.contains(p[0], p[1]) && by_work(p))).sum();
        add(Along::Line(off.line), 2.0 * one_side);
    }
    add(Along::LeftAlone, left_alone_mm(&panel.panel, &plan.sections));
    tapes
}

/// Length of the borders between sections that are left alone and ones that are worked, on the panel.
fn left_alone_mm(panel: &Panel, sections: &[SectionPlan]) -> f64 {
    let (worked, left): (Vec<_>, Vec<_>) = sections.iter().partition(|s| !s.steps.is_empty());
    let borders = left.iter().flat_map(|l| worked.iter().filter_map(|w| border(l, w)));
    borders.map(|(a, b)| length_where(a, b, |p| panel.contains(p[0], p[1]))).sum::<f64>() + 0.0
}

/// The stretch that two sections have in common, mm; none where they aren't beside each other.
pub(crate) fn border(a: &SectionPlan, b: &SectionPlan) -> Option<([f64; 2], [f64; 2])> {
    let common = |a0: f64, a1: f64, b0: f64, b1: f64| [a0.max(b0), a1.min(b1)];
    let [x0, x1] = common(a.x_mm, a.x_mm + a.width_mm, b.x_mm, b.x_mm + b.width_mm);
    let [y0, y1] = common(a.y_mm, a.y_mm + a.height_mm, b.y_mm, b.y_mm + b.height_mm);
    let is_beside =
        ((x1 - x0).abs() < TOLERANCE_MM && y1 - y0 > TOLERANCE_MM) || ((y1 - y0).abs() < TOLERANCE_MM && x1 - x0 > TOLERANCE_MM);
    is_beside.then_some(([x0, y0], [x1, y1]))
}

fn holds(section: &SectionPlan, [x_mm, y_mm]: [f64; 2]) -> bool {
    let within = |at: f64, from: f64, size: f64| (from - TOLERANCE_MM..=from + size + TOLERANCE_MM).contains(&at);
    within(x_mm, section.x_mm, section.width_mm) && within(y_mm, section.y_mm, section.height_mm)
}

/// Length of the pieces of a straight line whose middles `is_taped`, mm.
fn length_where([ax, ay]: [f64; 2], [bx, by]: [f64; 2], is_taped: impl Fn([f64; 2]) -> bool) -> f64 {
    let length_mm = f64::hypot(bx - ax, by - ay);
    let pieces = (length_mm / PIECE_MM).ceil().max(1.0);
    let middle = |i: u32| {
        let t = (f64::from(i) + 0.5) / pieces;
        [ax + t * (bx - ax), ay + t * (by - ay)]
    };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a vehicle's side is some metres long")]
    let taped = (0..pieces as u32).filter(|&i| is_taped(middle(i))).count();
    length_mm * taped as f64 / pieces
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::BodyLine;
    use crate::outcome::{Interval, KeepOff, KeepOffLine, Spread};
    use lastmicron_film::gauge::Substrate;
    use lastmicron_polish::Step;

    fn section(x_mm: f64, y_mm: f64, [width_mm, height_mm]: [f64; 2], sets: u32) -> SectionPlan {
        SectionPlan {
            x_mm,
            y_mm,
            width_mm,
            height_mm,
            steps: (sets > 0).then_some(Step { process: 0, sets }).into_iter().collect(),
            removal_um: Spread { mean: 0.0, sd: 0.0 },
            topcoat_after_p05_um: 30.0,
            topcoat_after_p50_um: 35.0,
            correction: Interval { mean: 0.0, p05: 0.0, p95: 0.0 },
            risk: 0.0,
            through_risk: 0.0,
            minutes: 0.0,
            why: String::new(),
        }
    }

    fn plan(sections: Vec<SectionPlan>, keep_off: Vec<KeepOff>, keep_off_lines: Vec<KeepOffLine>) -> PanelPlan {
        PanelPlan {
            panel: 0,
            name: "roof".to_owned(),
            keep_off,
            keep_off_lines,
            risk: 0.0,
            measured: true,
            respray: 0.0,
            sections,
            notes: vec![],
        }
    }

    fn panel(outline_mm: &[[f64; 2]], lines: Vec<BodyLine>) -> CarPanel {
        let panel = Panel { name: "roof".to_owned(), outline_mm: outline_mm.to_vec(), substrate: Substrate::Steel };
        CarPanel { panel, undercoat: None, hardness: None, metallic: None, visibility: 1.0, work: true, lines, gone_through: Vec::new() }
    }

    #[test]
    fn edges_are_taped_where_they_are_worked_and_what_is_left_alone_along_its_border() {
        // [D] of the bottom, 1,000 mm, the right 400 are left alone; the border of these is 600 mm high
        let roof = panel(&[[0.0, 0.0], [1000.0, 0.0], [1000.0, 600.0], [0.0, 600.0]], vec![]);
        let sections = vec![section(0.0, 0.0, [600.0, 600.0], 2), section(600.0, 0.0, [400.0, 600.0], 0)];
        let off = vec![KeepOff { edge: 0, mm: 25.0 }, KeepOff { edge: 3, mm: 50.0 }];
        let tapes = tapes(&roof, &plan(sections, off, vec![]));
        let wanted = [(Along::Edge(0), 600.0), (Along::Edge(3), 600.0), (Along::LeftAlone, 600.0)];
        assert_eq!(tapes.len(), wanted.len());
        for (tape, (along, mm)) in tapes.iter().zip(wanted) {
            assert!(tape.along == along && (tape.length_mm - mm).abs() < 10.0 + 1e-9, "{tape:?}");
        }
        assert!((tape_mm(&tapes) - 1800.0).abs() < 30.0);
    }

    #[test]
    fn a_line_is_taped_on_both_sides_and_only_on_the_panel() {
        // [D] a triangle with legs of 800 mm: at a height of 400 a line from side to side is 400 mm long
        let line = BodyLine { points_mm: vec![[0.0, 400.0], [800.0, 400.0]], radius_mm: 12.0 };
        let flap = panel(&[[0.0, 0.0], [800.0, 0.0], [0.0, 800.0]], vec![line]);
        let whole = plan(vec![section(0.0, 0.0, [800.0, 800.0], 1)], vec![], vec![KeepOffLine { line: 0, mm: 25.0 }]);
        let tapes = tapes(&flap, &whole);
        assert!(tapes.len() == 1 && (tapes[0].length_mm - 800.0).abs() < 20.0 + 1e-9, "{tapes:?}");
    }

    #[test]
    fn tapes_are_told_in_one_line_with_metres_rounded_up() {
        let car = crate::example::car();
        let tape = |panel: usize, along: Along, length_mm: f64| Tape { panel, along, length_mm };
        let tapes = [
            tape(0, Along::Edge(2), 1000.0),
            tape(0, Along::Line(0), 801.0),
            tape(2, Along::Edge(1), 350.0),
            tape(2, Along::LeftAlone, 50.0),
        ];
        assert_eq!(
            tape_in_words(&car, &tapes),
            "2.3 m in all, and trim, badges, glass and rubber on top. bonnet: 1.0 m at the top, 0.9 m beside body line 1; flap: 0.4 m at the upper right, 0.1 m along what is left alone"
        );
        assert!(tape_in_words(&car, &[]).starts_with("none for what"));
        // [D] the bonnet is 1,000 by 800 mm: 3.6 m all round
        let mut round = [(0, 1000.0), (1, 800.0), (2, 1000.0), (3, 800.0)].map(|(edge, mm)| tape(0, Along::Edge(edge), mm));
        assert!(tape_in_words(&car, &round).ends_with(" on top. bonnet: 3.6 m all round"));
        round[1].length_mm = 500.0;
        assert!(
            tape_in_words(&car, &round).ends_with("bonnet: 1.0 m at the bottom, 0.5 m at the right, 1.0 m at the top, 0.8 m at the left")
        );
    }

    #[test]
    fn nothing_is_taped_on_a_panel_that_nothing_is_kept_off() {
        let roof = panel(&[[0.0, 0.0], [1000.0, 0.0], [1000.0, 600.0], [0.0, 600.0]], vec![]);
        let of = |sets: u32, keep_off: Vec<KeepOff>| tapes(&roof, &plan(vec![section(0.0, 0.0, [1000.0, 600.0], sets)], keep_off, vec![]));
        assert!(of(2, vec![]).is_empty() && of(0, vec![KeepOff { edge: 0, mm: 25.0 }]).is_empty());
        assert!(of(2, vec![KeepOff { edge: 9, mm: 25.0 }]).is_empty(), "an edge that the panel has not");
        assert!(tape_mm(&[]).is_sign_positive());
    }
}
