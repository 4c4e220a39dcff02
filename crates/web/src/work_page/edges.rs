//! The edges and lines that a section comes to: how far the pad stays off each, and what is taped.

use lastmicron_film::panel::{Called, Panel};
use lastmicron_folder::planned::{PlannedPanel, PlannedSection};
use lastmicron_plan::CarPanel;
use maud::{Markup, html};

use super::pads::Reach;

/// Edges as near to a section as this bound it, mm: outlines and sections are rounded to whole millimetres.
const NEAR_MM: f64 = 2.0;

/// For the edges and lines that the section comes to, the distance, the pad and the tape.
pub(super) fn edges(car_panel: &CarPanel, panel: &PlannedPanel, section: &PlannedSection, pads: &str, reach: Reach) -> Markup {
    let kept_off = |edge: usize| panel.keep_off.iter().find(|off| off.edge == edge).map(|off| off.mm);
    let near: Vec<(usize, Option<f64>)> = car_panel
        .panel
        .edges()
        .enumerate()
        .map(|(edge, ends)| (edge, ends, kept_off(edge)))
        .filter(|(_, ends, off)| comes_to(section, *ends, off.unwrap_or_default()))
        .map(|(edge, _, off)| (edge, off))
        .collect();
    let lines: Vec<(usize, f64)> = panel
        .keep_off_lines
        .iter()
        .filter(|off| {
            let points = car_panel.lines.get(off.line).map_or(&[][..], |line| &line.points_mm);
            points.windows(2).any(|ends| comes_to(section, (ends[0], ends[1]), off.mm))
        })
        .map(|off| (off.line, off.mm))
        .collect();
    let told = told(&car_panel.panel, &near, &lines, (pads, reach));
    html! {
        section {
            h3 { "Edges and lines of this section" }
            ul { @for (what, how) in &told { li { strong { (what) } ": " (how) "." } } }
            @if told.is_empty() { p.quiet { "It comes to no edge and to no body line." } }
        }
    }
}

/// What to keep to at these edges, each with the distance kept off it, and these lines: what holds for several is told once.
fn told(panel: &Panel, edges: &[(usize, Option<f64>)], lines: &[(usize, f64)], (pads, reach): (&str, Reach)) -> Vec<(String, String)> {
    let at_edges = together(edges).into_iter().map(|(off, edges)| {
        let how = off.map_or_else(
            || format!("to the edge with {pads}{}: an edge takes more than the middle, and the plan counts that", over_edge(reach)),
            |mm| format!("stay {mm:.0} mm off with {pads}, and tape it there{}", beside_tape(reach)),
        );
        (named(panel, &edges), how)
    });
    let at_lines = together(lines).into_iter().map(|(mm, lines)| {
        let numbers: Vec<String> = lines.iter().map(|line| (line + 1).to_string()).collect();
        let plural = if numbers.len() == 1 { "line" } else { "lines" };
        (
            format!("body {plural} {}", numbers.join(", ")),
            format!("stay {mm:.0} mm off on both sides with {pads}, and tape it{}", beside_tape(reach)),
        )
    });
    at_edges.chain(at_lines).collect()
}

/// How far a pad's middle stays from tape, so that its rim doesn't ride past it.
fn beside_tape(reach: Reach) -> String {
    reach.from_tape_mm.map_or_else(String::new, |mm| format!("; its middle stays {:.0} mm or more from the tape", mm.ceil()))
}

/// How much of a pad may go over an edge: what the risk allows for, where the plan says it.
fn over_edge(reach: Reach) -> String {
    reach
        .over_edge_mm
        .map_or_else(|| " flat, never over it".to_owned(), |mm| format!(" flat, no more than {:.0} mm of it over", mm.floor()))
}

/// Edges by their names; all that a panel has are "all round".
fn named(panel: &Panel, edges: &[usize]) -> String {
    match panel.called(edges) {
        Called::AllRound => "all round".to_owned(),
        Called::Named(names) => names.join(", "),
    }
}

/// Numbers of the same distance together, in the order in which the distances come first.
fn together<D: PartialEq + Copy>(of: &[(usize, D)]) -> Vec<(D, Vec<usize>)> {
    let mut groups: Vec<(D, Vec<usize>)> = Vec::new();
    for (number, distance) in of {
        match groups.iter_mut().find(|(known, _)| known == distance) {
            Some((_, numbers)) => numbers.push(*number),
            None => groups.push((*distance, vec![*number])),
        }
    }
    groups
}

/// Whether a straight piece comes as near to a section as `within_mm`: it is cut by the section's rectangle, widened by as much (Liang & Barsky, ACM
/// Transactions on Graphics 3, 1984).
fn comes_to(section: &PlannedSection, (from, to): ([f64; 2], [f64; 2]), within_mm: f64) -> bool {
    let by = within_mm.max(NEAR_MM);
    let low = [section.x_mm - by, section.y_mm - by];
    let high = [section.x_mm + section.width_mm + by, section.y_mm + section.height_mm + by];
    let (mut enters, mut leaves) = (0.0_f64, 1.0_f64);
    for axis in 0..2 {
        let run = to[axis] - from[axis];
        if run.abs() < f64::EPSILON {
            if from[axis] < low[axis] || from[axis] > high[axis] {
                return false;
            }
            continue;
        }
        let cuts = [(low[axis] - from[axis]) / run, (high[axis] - from[axis]) / run];
        enters = enters.max(cuts[0].min(cuts[1]));
        leaves = leaves.min(cuts[0].max(cuts[1]));
    }
    enters <= leaves
}

#[cfg(test)]
mod tests {
    use super::*;
    use lastmicron_film::gauge::Substrate;
    use serde_json::json;

    #[test]
    fn a_section_comes_to_the_edges_beside_it_and_to_no_others() {
        let section: PlannedSection = serde_json::from_value(json!({
            "x_mm": 0.0, "y_mm": 400.0, "width_mm": 400.0, "height_mm": 400.0, "steps": [], "removal_um": { "mean": 0.0, "sd": 0.0 },
            "topcoat_after_um": { "p05": null, "p50": null }, "correction": { "mean": 0.0, "p05": 0.0, "p95": 0.0 }, "minutes": 0.0, "why": ""
        }))
        .unwrap();
        let comes = |from: [f64; 2], to: [f64; 2], within: f64| comes_to(&section, (from, to), within);
        assert!(comes([0.0, 0.0], [0.0, 1000.0], 0.0), "its left side lies on it");
        assert!(!comes([0.0, 0.0], [1000.0, 0.0], 25.0), "the panel's lower edge is 400 mm below");
        assert!(comes([425.0, 0.0], [425.0, 1000.0], 25.0) && !comes([430.0, 0.0], [430.0, 1000.0], 25.0));
        assert!(
            comes([-50.0, 500.0], [500.0, 1050.0], 0.0) && !comes([-50.0, 780.0], [220.0, 1050.0], 0.0),
            "oblique, over its corner and past it"
        );
    }
    #[test]
    fn what_holds_for_several_edges_or_lines_is_told_once() {
        let outline_mm = vec![[0.0, 0.0], [900.0, 0.0], [900.0, 600.0], [450.0, 640.0], [0.0, 600.0]];
        let door = Panel { name: "door".to_owned(), outline_mm, substrate: Substrate::Steel };
        let said = |edges: &[(usize, Option<f64>)], lines: &[(usize, f64)]| {
            let told = told(&door, edges, lines, ("the foam", Reach { over_edge_mm: None, from_tape_mm: None }));
            told.iter().map(|(what, how)| format!("{what}: {how}")).collect::<Vec<_>>().join("|")
        };
        let off = Some(25.0);
        assert_eq!(said(&[0, 1, 2, 3, 4].map(|edge| (edge, off)), &[]), "all round: stay 25 mm off with the foam, and tape it there");
        assert_eq!(
            said(&[(0, off), (2, off), (3, off)], &[(0, 25.0), (2, 25.0)]),
            "bottom, top: stay 25 mm off with the foam, and tape it there|body lines 1, 3: stay 25 mm off on both sides with the foam, and tape it"
        );
        let free = "to the edge with the foam flat, never over it: an edge takes more than the middle, and the plan counts that";
        assert_eq!(
            said(&[(0, None), (1, Some(50.0)), (4, None)], &[(1, 25.0)]),
            format!(
                "bottom, left: {free}|right: stay 50 mm off with the foam, and tape it there|body line 2: stay 25 mm off on both sides with the foam, and tape it"
            )
        );
        assert_eq!(said(&[], &[]), "");
    }
}
