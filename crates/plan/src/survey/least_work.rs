//! What the least work comes to on each panel and section: one set, edges kept off as far as it takes, judged as a plan is.

use super::{SectionVerdict, Verdict, Word, reason};
use crate::car::{Car, Limits};
use crate::hazard::Hazard;
use crate::levels::KEEP_OFF_MM;
use crate::problem::{Problem, ProblemPanel};
use crate::report::Made;
use crate::through;
use crate::treatment::{LeastSets, Treatment};

/// Chances of the least work, for every set and distance kept off.
pub(super) struct LeastWork<'a> {
    pub(super) made: &'a Made<'a>,
    pub(super) sets: &'a [Treatment],
    problem: Problem,
    /// By set (the one that leaves alone left out), then level.
    chances: Vec<Vec<Chances>>,
}

/// What one set comes to with every edge and line kept off at one level.
struct Chances {
    tiles: Vec<Chance>,
    /// By panel of the problem.
    panels: Vec<Together>,
}

/// Of some tiles, worked together.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chance {
    /// Level at which edges are kept off.
    pub(super) level: usize,
    /// How many of the tiles have a place to work.
    pub(super) worked: usize,
    /// Whether the pads have room.
    pub(super) fits: bool,
    /// Whether the spend allows it at every place worked.
    pub(super) within_spend: bool,
    /// Share of the draws to judge by in which a worked place ends below the floor.
    pub(super) below: f64,
    /// The same for the undercoat.
    pub(super) through: f64,
}

/// A panel: all of it, and as many of its sections as keep to the limits together, those with most topcoat first.
#[derive(Clone, Copy, Debug)]
pub(super) struct Together {
    pub(super) all: Chance,
    pub(super) kept: Chance,
    /// Sections worked in `kept`.
    pub(super) sections: usize,
    /// The share of the panel's area that they are, with those before them that have nowhere to work.
    pub(super) share: f64,
}

/// Share of a panel's area that must keep to the limits together for the panel to bear a set. Judgement: the word is of the panel, so it goes by the larger
/// part. Were it all of the panel, one thin corner would condemn what a plan works round; were it any section, one thick corner would pass a panel that
/// a plan leaves alone but for it.
const MOST_OF_IT: f64 = 0.5;

impl<'a> LeastWork<'a> {
    /// Of the panels that were summed up.
    pub(super) fn of(made: &'a Made<'a>, sets: &'a LeastSets) -> Self {
        let sets = &sets.treatments;
        // Draws that go wrong are listed up to the limits: here all of them are wanted, for a chance beyond the limit is told too.
        let limits = Limits { risk: 1.0, through_risk: made.car.limits.through_risk.map(|_| 1.0), ..made.car.limits };
        let car = Car { limits, ..made.car.clone() };
        let problem = Problem::on(made.drawn.second_half(), &car, made.drawn, made.rooms, (sets, made.blends), 0.0);
        let thickest_first: Vec<Vec<usize>> = problem.panels.iter().map(|p| thickest_first(made, &problem, p)).collect();
        let mut work = Self { made, sets, problem, chances: Vec::new() };
        let under = |set: usize| (0..KEEP_OFF_MM.len()).map(|level| work.chances(&thickest_first, set, level)).collect();
        work.chances = (1..sets.len()).map(under).collect();
        work
    }

    /// What a panel bears as a whole, with its reason.
    pub(super) fn verdict(&self, panel: usize) -> Verdict {
        let Some(p) = self.of_problem(panel) else {
            return Verdict { word: Word::LeaveAlone, why: "to stay as it is: the job says so".to_owned() };
        };
        let rooms = self.made.rooms[panel].as_ref();
        if rooms.is_some_and(|room| room.tiles.iter().all(|tile| !tile.may_be_worked)) {
            return Verdict { word: Word::LeaveAlone, why: through::why(&self.made.car.panels[panel]) };
        }
        let bears = |set: usize| self.at_best(set, p).is_some_and(|t| t.share >= MOST_OF_IT);
        Verdict { word: self.word(bears), why: reason::why(self, panel) }
    }

    /// What each section of a panel bears alone.
    pub(super) fn sections(&self, panel: usize) -> Vec<SectionVerdict> {
        let (Some(p), Some(room)) = (self.of_problem(panel), self.made.rooms[panel].as_ref()) else { return Vec::new() };
        let section = |&i: &usize| {
            let tile = room.tiles[self.problem.tiles[i].number].tile;
            let word = self.word(|set| self.chances[set - 1].iter().any(|c| self.keeps(&c.tiles[i])));
            SectionVerdict { x_mm: tile.x_mm, y_mm: tile.y_mm, width_mm: tile.width_mm, height_mm: tile.height_mm, word }
        };
        self.problem.panels[p].tiles.iter().map(section).collect()
    }

    /// What a set, by its number among the sets, comes to on a panel where edges are kept off as suits it best, and whether the panel bears it.
    pub(super) fn on_panel(&self, panel: usize, set: usize) -> Option<(Together, bool)> {
        let together = self.at_best(set, self.of_problem(panel)?)?;
        Some((together, together.share >= MOST_OF_IT))
    }

    /// Whether limits, spend and pads allow it.
    fn keeps(&self, chance: &Chance) -> bool {
        let limits = self.made.car.limits;
        let through = limits.through_risk.is_none_or(|limit| chance.through <= limit);
        chance.worked > 0 && chance.fits && chance.within_spend && chance.below <= limits.risk && through
    }

    fn of_problem(&self, panel: usize) -> Option<usize> {
        self.problem.panels.iter().position(|p| p.panel == panel)
    }

    /// At the level at which most of panel `p` of the problem keeps to the limits, the least of them; where none does, the farthest that leaves a
    /// place to work.
    fn at_best(&self, set: usize, p: usize) -> Option<Together> {
        let mut all = self.chances.get(set.checked_sub(1)?)?.iter().map(|c| c.panels[p]);
        let first = all.next()?;
        let farthest = |a: Together, b: Together| if b.all.worked > 0 && a.share <= 0.0 { b } else { a };
        Some(all.fold(first, |a, b| {
            if b.share > a.share {
                b
            } else if b.share <= 0.0 {
                farthest(a, b)
            } else {
                a
            }
        }))
    }

    /// The word for what bears the sets that `bears` says. The last of the sets is the plan's, which may be the mildest.
    fn word(&self, bears: impl Fn(usize) -> bool) -> Word {
        match self.sets.len() {
            sets @ 2.. if bears(sets - 1) => Word::Work,
            2.. if bears(1) => Word::MildOnly,
            _ => Word::LeaveAlone,
        }
    }

    /// What `set` comes to with every strip kept off at `level`, or at its last where it has fewer.
    fn chances(&self, thickest_first: &[Vec<usize>], set: usize, level: usize) -> Chances {
        let sums = || Sums::new(&self.problem, set, level);
        let alone = |i: usize| {
            let mut sums = sums();
            sums.add(i);
            sums.chance
        };
        let together = |tiles: &Vec<usize>| {
            let room = |i: usize| self.made.rooms[self.problem.panels[self.problem.tiles[i].panel].panel].as_ref();
            let area = |i: usize| room(i).map_or(0.0, |r| r.tiles[self.problem.tiles[i].number].area_m2);
            let whole: f64 = tiles.iter().map(|&i| area(i)).sum();
            let (mut sums, mut of_it) = (sums(), None);
            let mut share = 0.0;
            for (n, &i) in tiles.iter().enumerate() {
                sums.add(i);
                if self.keeps(&sums.chance) {
                    share = tiles[..=n].iter().map(|&i| area(i)).sum::<f64>() / whole;
                    of_it = Some((sums.chance, sums.chance.worked));
                }
            }
            let (kept, sections) = of_it.unwrap_or((sums.chance, 0));
            Together { all: sums.chance, kept, sections, share }
        };
        Chances { tiles: (0..self.problem.tiles.len()).map(alone).collect(), panels: thickest_first.iter().map(together).collect() }
    }
}

/// What one set comes to on tiles that are added one by one.
struct Sums<'a> {
    problem: &'a Problem,
    set: usize,
    chance: Chance,
    below: Hazard,
    through: Hazard,
}

impl<'a> Sums<'a> {
    fn new(problem: &'a Problem, set: usize, level: usize) -> Self {
        let chance = Chance { level, worked: 0, fits: true, within_spend: true, below: 0.0, through: 0.0 };
        Self { problem, set, chance, below: Hazard::new(problem.draws), through: Hazard::new(problem.draws) }
    }

    fn add(&mut self, i: usize) {
        let tile = &self.problem.tiles[i];
        let levels: Vec<usize> = self.problem.panels[tile.panel].levels.iter().map(|count| self.chance.level.min(count - 1)).collect();
        let choice = &tile.options[tile.levels.combined(&levels)][self.set];
        self.chance.fits &= choice.fits;
        // Nothing is taken where there is nowhere to work.
        if choice.film > 0.0 {
            self.below.add(&choice.below);
            self.through.add(&choice.through);
            self.chance.worked += 1;
            self.chance.within_spend &= choice.within_spend;
            (self.chance.below, self.chance.through) = (self.below.risk(), self.through.risk());
        }
    }
}

/// A panel's tiles by the mean of their smallest build, largest first: an order that no floor changes, so that a higher floor never bears more.
fn thickest_first(made: &Made, problem: &Problem, panel: &ProblemPanel) -> Vec<usize> {
    let Some(room) = made.rooms[panel.panel].as_ref() else { return panel.tiles.clone() };
    let smallest = |i: usize| {
        let parts = &room.tiles[problem.tiles[i].number].parts;
        let of_film = |film: usize| parts.iter().map(|p| f64::from(p.least_um[film])).fold(f64::INFINITY, f64::min);
        (0..made.drawn.film.count()).map(of_film).sum::<f64>()
    };
    let mut tiles: Vec<(usize, f64)> = panel.tiles.iter().map(|&i| (i, smallest(i))).collect();
    tiles.sort_by(|a, b| b.1.total_cmp(&a.1));
    tiles.into_iter().map(|(i, _)| i).collect()
}
