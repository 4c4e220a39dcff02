//! What is kept off, in words: each distance once.

use lastmicron_film::panel::{Called, Panel};

use crate::outcome::{KeepOff, KeepOffLine};

/// What to keep off on a panel, each distance said once: "25 mm all round", "75 mm along the bottom and the top", "25 mm on both sides of body line 1".
/// Empty where nothing is kept off.
#[must_use]
pub fn kept_off_in_words(panel: &Panel, edges: &[KeepOff], lines: &[KeepOffLine]) -> Vec<String> {
    let along = alike(edges, |off| off.mm).into_iter().map(|(mm, of)| {
        let edges: Vec<usize> = of.iter().map(|off| off.edge).collect();
        match panel.called(&edges) {
            Called::AllRound => format!("{mm} mm all round"),
            Called::Named(names) => format!("{mm} mm along {}", listed(names.iter().map(|name| format!("the {name}")))),
        }
    });
    let beside = alike(lines, |off| off.mm).into_iter().map(|(mm, of)| {
        let plural = if of.len() == 1 { "line" } else { "lines" };
        format!("{mm} mm on both sides of body {plural} {}", listed(of.iter().map(|off| (off.line + 1).to_string())))
    });
    along.chain(beside).collect()
}

/// "a", "a and b", "a, b and c".
fn listed(words: impl Iterator<Item = String>) -> String {
    let words: Vec<String> = words.collect();
    match words.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Those of the same distance together, in the order in which the distances come first.
fn alike<T>(of: &[T], mm: impl Fn(&T) -> f64) -> Vec<(f64, Vec<&T>)> {
    let mut groups: Vec<(f64, Vec<&T>)> = Vec::new();
    for one in of {
        match groups.iter_mut().find(|(known, _)| known.total_cmp(&mm(one)).is_eq()) {
            Some((_, members)) => members.push(one),
            None => groups.push((mm(one), vec![one])),
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;
    use lastmicron_film::gauge::Substrate;

    fn said(outline_mm: &[[f64; 2]], edges: &[(usize, f64)], lines: &[(usize, f64)]) -> String {
        let panel = Panel { name: "panel".to_owned(), outline_mm: outline_mm.to_vec(), substrate: Substrate::Steel };
        let edges: Vec<KeepOff> = edges.iter().map(|&(edge, mm)| KeepOff { edge, mm }).collect();
        let lines: Vec<KeepOffLine> = lines.iter().map(|&(line, mm)| KeepOffLine { line, mm }).collect();
        kept_off_in_words(&panel, &edges, &lines).join("; ")
    }

    #[test]
    fn each_distance_is_said_once() {
        let door = [[0.0, 0.0], [900.0, 0.0], [900.0, 400.0], [700.0, 600.0], [0.0, 600.0]];
        let all = [0, 1, 2, 3, 4].map(|edge| (edge, 25.0));
        assert_eq!(said(&door, &all, &[]), "25 mm all round");
        assert_eq!(
            said(&door, &[(0, 75.0), (1, 12.5), (2, 75.0), (4, 75.0)], &[(0, 25.0), (2, 25.0)]),
            "75 mm along the bottom, the upper right and the left; 12.5 mm along the right; 25 mm on both sides of body lines 1 and 3"
        );
        assert_eq!(said(&door, &[(1, 50.0)], &[(0, 25.0)]), "50 mm along the right; 25 mm on both sides of body line 1");
        assert_eq!(said(&door, &[], &[]), "");
    }

    #[test]
    fn edges_of_one_name_and_two_distances_are_told_apart_by_their_ends() {
        let roof = [[0.0, 0.0], [800.0, 0.0], [400.0, 100.0], [0.0, 0.0]];
        assert_eq!(
            said(&roof[..3], &[(1, 25.0), (2, 50.0)], &[]),
            "25 mm along the top from (800, 0) to (400, 100) mm; 50 mm along the top from (400, 100) to (0, 0) mm"
        );
    }
}
