//! What a survey has found so far: of every panel the film, what work it bears, and where to read next.
//!
//! All of it comes from the joint draws that a plan and [`crate::next()`] rest on: the same effort and seed give the same film. One panel alone is
//! answered in a fraction of the time of all, because only its own film needs drawing at the nodes.

mod least_work;
mod question;
mod reason;

use lastmicron_film::gauge::{Layer, Substrate};
use lastmicron_film::grid::Grid;
use lastmicron_units::Unit;

use crate::car::Car;
use crate::choose::{Effort, Prepared};
use crate::error::PlanError;
use crate::next::{Advice, next_on};
use crate::outcome::PanelFilm;
use crate::report;
use crate::through;
use crate::treatment::{LeastSets, treatments};
use least_work::LeastWork;
pub use question::{Expected, Question, expected};

/// What a panel, or a section of it, bears. Worst first, so that what bears more is greater; the order says nothing of what isn't known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Word {
    /// None of its film has been read.
    NotKnownYet,
    /// Not even one set of the mildest process keeps to the limits on most of it, or the job says that it stays as it is.
    LeaveAlone,
    /// One set of the mildest process keeps to the limits on most of it, one of the process that a plan would use does not.
    MildOnly,
    /// One set of the process that a plan would use keeps to the limits on most of it.
    Work,
}

impl Word {
    /// As it is said.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NotKnownYet => "not known yet",
            Self::LeaveAlone => "leave alone",
            Self::MildOnly => "mild only",
            Self::Work => "work",
        }
    }
}

/// A word with its reason.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// The word.
    pub word: Word,
    /// Why, in a sentence: the chances, the place that decides, what would change it.
    pub why: String,
}

/// A section, worked alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectionVerdict {
    /// Lower left corner, mm.
    pub x_mm: f64,
    /// Lower left corner, mm.
    pub y_mm: f64,
    /// Size, mm.
    pub width_mm: f64,
    /// Size, mm.
    pub height_mm: f64,
    /// What it bears.
    pub word: Word,
}

impl SectionVerdict {
    /// Whether a place lies in it or on its border.
    #[must_use]
    pub fn holds(&self, x_mm: f64, y_mm: f64) -> bool {
        (self.x_mm..=self.x_mm + self.width_mm).contains(&x_mm) && (self.y_mm..=self.y_mm + self.height_mm).contains(&y_mm)
    }
}

/// What is known of one panel.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelSurvey {
    /// Index of the panel in the car.
    pub panel: usize,
    /// Readings taken on it, of any layer.
    pub readings: usize,
    /// Its topcoat now; none where none of its film has been read.
    pub film: Option<PanelFilm>,
    /// Chance, 0 to 1, that it has been resprayed; NaN where none of its film has been read.
    pub respray: f64,
    /// What it bears, were it the only panel worked: of its sections worked together those that are most of its area.
    pub verdict: Verdict,
    /// What each section bears, were it the only one worked; none where the film isn't known or stays as it is.
    pub sections: Vec<SectionVerdict>,
    /// The place to read next on it; none where no reading would help, or none can be taken.
    pub next: Option<Advice>,
    /// Its undercoat, where a reading of that would help more than any place: it needs a spot without topcoat, which is not always to be found.
    pub undercoat: Option<Advice>,
}

impl PanelSurvey {
    /// The lowest likely topcoat, um: the smallest over the panel lies below it one time in twenty.
    #[must_use]
    pub fn lowest_likely_um(&self) -> Option<f64> {
        self.film.as_ref().map(|film| film.smallest_um.p05)
    }

    /// What the section round a place bears; the panel's word where no section holds it.
    #[must_use]
    pub fn word_at(&self, x_mm: f64, y_mm: f64) -> Word {
        let round = self.sections.iter().filter(|s| s.holds(x_mm, y_mm)).map(|s| s.word).min();
        round.unwrap_or(self.verdict.word)
    }
}

/// Surveys every panel of a car. Films in sentences are told in `unit`; numbers are in um.
///
/// # Errors
/// [`PlanError`] when there is no process, or numbers are too extreme. A car without readings is not an error: nothing is known of it yet.
pub fn survey(car: &Car, effort: Effort, unit: Unit) -> Result<Vec<PanelSurvey>, PlanError> {
    let all: Vec<usize> = (0..car.panels.len()).collect();
    of_panels(car, &all, effort, unit)
}

/// Surveys one panel of a car; none where there is no such panel.
///
/// Its film and what it bears are those of [`survey`] with the same effort. The place to read next is asked for as if no other panel could be worked,
/// so that the whole limit of risk is this panel's.
///
/// # Errors
/// As [`survey`].
pub fn survey_panel(car: &Car, panel: usize, effort: Effort, unit: Unit) -> Result<Option<PanelSurvey>, PlanError> {
    if panel >= car.panels.len() {
        return Ok(None);
    }
    Ok(of_panels(car, &[panel], effort, unit)?.pop())
}

/// The panel to go to next when panel `in_hand` is done: the next in the job's order that should be read and was not; when all were, the one on which
/// a reading would help most. None where no reading would.
#[must_use]
pub fn go_to(panels: &[PanelSurvey], in_hand: usize) -> Option<usize> {
    let (before, after): (Vec<_>, Vec<_>) = panels.iter().partition(|p| p.panel <= in_hand);
    let unread = after.into_iter().chain(before).find(|p| p.panel != in_hand && p.film.is_none() && p.next.is_some());
    let gain = |p: &PanelSurvey| p.next.iter().chain(&p.undercoat).map(|advice| advice.gain).fold(f64::NEG_INFINITY, f64::max);
    let most = || panels.iter().filter(|p| gain(p) > 0.0).max_by(|a, b| gain(a).total_cmp(&gain(b)));
    unread.or_else(most).map(|p| p.panel)
}

fn of_panels(car: &Car, panels: &[usize], effort: Effort, unit: Unit) -> Result<Vec<PanelSurvey>, PlanError> {
    let prepared = match Prepared::new(car, effort, unit) {
        Err(PlanError::NoReadings) => return Ok(panels.iter().map(|&k| unread(car, k)).collect()),
        other => other?,
    };
    let drawn = prepared.drawn()?;
    let (treatments, mut blends) = treatments(car, &drawn);
    let sets = LeastSets::of(car, &drawn, &treatments, &mut blends);
    prepared.with_panels(
        &drawn,
        (&treatments, &blends),
        |k| panels.contains(&k),
        |made| {
            let read: Vec<usize> = panels.iter().copied().filter(|&k| made.rooms[k].is_some()).collect();
            let next = if read.is_empty() { Vec::new() } else { next_on(made, effort.seed, &read) };
            let work = LeastWork::of(made, &sets);
            let mut of_read = read.iter().zip(next).map(|(&k, next)| PanelSurvey {
                panel: k,
                readings: readings(car, k),
                film: Some(report::film(made, k)),
                respray: drawn.knowledge.posterior.respray_probability(k),
                verdict: work.verdict(k),
                sections: work.sections(k),
                next: next.place,
                undercoat: next.undercoat,
            });
            Ok(panels
                .iter()
                .map(|&k| if made.rooms[k].is_some() { of_read.next() } else { None }.unwrap_or_else(|| unread(car, k)))
                .collect())
        },
    )
}

fn readings(car: &Car, panel: usize) -> usize {
    car.readings.iter().filter(|r| r.panel == panel).count()
}

/// A panel none of whose film has been read.
fn unread(car: &Car, panel: usize) -> PanelSurvey {
    let of = &car.panels[panel];
    let plastic = of.panel.substrate == Substrate::Plastic;
    let why = match (of.work, plastic) {
        (false, _) => "to stay as it is: the job says so".to_owned(),
        _ if !of.may_be_worked() => through::why_left(of),
        (true, true) => "on plastic no gauge of this kind reads the film".to_owned(),
        (true, false) => "none of its film has been read".to_owned(),
    };
    let word = if of.may_be_worked() { Word::NotKnownYet } else { Word::LeaveAlone };
    let next = (of.work && !plastic).then(|| first_place(car, panel));
    PanelSurvey {
        panel,
        readings: readings(car, panel),
        film: None,
        respray: f64::NAN,
        verdict: Verdict { word, why },
        sections: Vec::new(),
        next: next.flatten(),
        undercoat: None,
    }
}

/// Where to begin on a panel: the node farthest from its edges, of several the one nearest to the middle of its size. A reading there says most of its
/// offset and nothing of its edges. What it gains is not known before there is a film.
fn first_place(car: &Car, panel: usize) -> Option<Advice> {
    let of = &car.panels[panel].panel;
    let (grid, [width, height]) = (Grid::of(of), of.size_mm());
    let off_middle = |n: usize| {
        let [x, y] = grid.place_mm(n);
        f64::hypot(x - 0.5 * width, y - 0.5 * height)
    };
    let inside = (0..grid.nodes()).filter(|&n| grid.on_panel(n));
    let [x_mm, y_mm] = inside
        .max_by(|&a, &b| grid.edge_mm[a].total_cmp(&grid.edge_mm[b]).then(off_middle(b).total_cmp(&off_middle(a))))
        .map(|n| grid.place_mm(n))?;
    let why = format!("nothing has been read on {}: far from its edges a reading stands for most of it", of.name);
    Some(Advice { panel, x_mm, y_mm, layer: Layer::Total, gain: f64::NAN, why })
}

#[cfg(test)]
mod tests;
