//! How far what borders a tile is kept off, as one number.

use lastmicron_film::panel::Panel;

use crate::car::CarPanel;

/// Distances that an edge may be kept off, mm; the first is not at all.
pub(crate) const KEEP_OFF_MM: [f64; 5] = [0.0, 25.0, 50.0, 75.0, 100.0];

/// How many of them a body line may be kept off. Judgement: a strip of tape on a line is as wide as the line is felt under a pad; farther off, a
/// panel would lose its middle.
const OF_LINES: usize = 2;

/// A node this much nearer than the distance kept off still counts as worked, mm: grids are not quite of 25 mm.
pub(crate) const TOLERANCE_MM: f64 = 2.5;

/// Whether a place `distance_mm` from what is kept off by `mm` is left out.
pub(crate) fn is_left_out(distance_mm: f64, mm: f64) -> bool {
    distance_mm < mm - TOLERANCE_MM
}

/// What is kept off together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Strip {
    /// Edges, by number.
    Edges(Vec<usize>),
    /// All body lines of a panel.
    Lines,
}

/// What is kept off together on a panel: each edge of a four-sided one alone, all edges of any other; all its lines.
pub(crate) fn strips(panel: &CarPanel) -> Vec<Strip> {
    let n = panel.panel.outline_mm.len();
    let mut strips = if n == 4 { (0..4).map(|e| Strip::Edges(vec![e])).collect() } else { vec![Strip::Edges((0..n).collect())] };
    if !panel.lines.is_empty() {
        strips.push(Strip::Lines);
    }
    strips
}

impl Strip {
    /// How many of [`KEEP_OFF_MM`] it may be kept off.
    pub(crate) fn levels(&self) -> usize {
        match self {
            Self::Edges(_) => KEEP_OFF_MM.len(),
            Self::Lines => OF_LINES,
        }
    }

    /// The level from which a place is left out; the number of levels where it never is.
    pub(crate) fn left_out_from(&self, panel: &CarPanel, place_mm: [f64; 2]) -> usize {
        let mm = self.distance_mm(panel, place_mm);
        (1..self.levels()).find(|&level| is_left_out(mm, KEEP_OFF_MM[level])).unwrap_or(self.levels())
    }

    fn distance_mm(&self, panel: &CarPanel, place_mm: [f64; 2]) -> f64 {
        let to_edge = |of: &Panel, edge: usize| of.distance_to_edge_mm(edge, place_mm[0], place_mm[1]);
        match self {
            Self::Edges(edges) => edges.iter().map(|&e| to_edge(&panel.panel, e)).fold(f64::INFINITY, f64::min),
            Self::Lines => panel.lines.iter().map(|line| line.distance_mm(place_mm)).fold(f64::INFINITY, f64::min),
        }
    }
}

/// The strips near enough to a tile to matter, and the levels at which they are kept off combined to one number.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Levels {
    /// Indices among the panel's strips.
    pub(crate) strips: Vec<usize>,
    /// Levels that each has.
    counts: Vec<usize>,
}

impl Levels {
    /// Of `near`, indices among `all` strips of a panel.
    pub(crate) fn of(all: &[Strip], near: Vec<usize>) -> Self {
        let counts = near.iter().map(|&s| all[s].levels()).collect();
        Self { strips: near, counts }
    }

    /// How many combined levels there are.
    pub(crate) fn count(&self) -> usize {
        self.counts.iter().product()
    }

    /// The combined level where the panel's strips are kept off at `levels`.
    pub(crate) fn combined(&self, levels: &[usize]) -> usize {
        self.strips.iter().zip(&self.counts).rev().fold(0, |sum, (&s, &count)| sum * count + levels[s])
    }

    /// Whether a place left out from a level of each strip is worked at the combined level.
    pub(crate) fn is_worked(&self, out_from: &[usize], combined: usize) -> bool {
        let mut rest = combined;
        self.counts.iter().zip(out_from).all(|(count, &out)| {
            let level = rest % count;
            rest /= count;
            level < out
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_worked_where_no_strip_is_kept_off_beyond_it() {
        let all = [vec![0], vec![1], vec![2], vec![3]].map(Strip::Edges);
        let all = [all.as_slice(), &[Strip::Lines]].concat();
        let levels = Levels::of(&all, vec![0, 3, 4]);
        assert_eq!(levels.count(), 50);
        let mut seen = [false; 50];
        for bottom in 0..5 {
            for left in 0..5 {
                for line in 0..2 {
                    let combined = levels.combined(&[bottom, 4, 4, left, line]);
                    seen[combined] = true;
                    assert_eq!(levels.is_worked(&[2, 5, 1], combined), bottom < 2 && line < 1);
                }
            }
        }
        assert!(seen.iter().all(|s| *s));
    }
}
