//! Joint draws from the posterior: the unknowns of the vehicle, and each panel's film at its nodes.

mod chain;
mod expected;
mod factors;
mod fields;
mod film;
mod hypotheses;
mod unknowns;

use std::ops::Range;

use rayon::prelude::*;

pub use self::expected::Expected;
use self::factors::Factor;
use self::fields::FieldGroup;
pub use self::film::FilmDraws;
use self::hypotheses::Hypothesis;
use crate::posterior::{FilmError, Posterior};

/// Undercoats that go with each film: given the gauge's errors, films say nothing of undercoats, so several cost hardly more than one, and the
/// undercoat is most of the doubt.
///
/// Except where a reading of the topcoat alone was taken, on any panel: it ties the film to the undercoat drawn with it. Then all of a film's
/// undercoats are that one, on every panel.
pub const UNDERCOATS: usize = 4;

/// Joint draws of everything, in two halves of equal size. The halves share their unconditioned fields: the second takes them with the opposite
/// sign, and begins at another of them where there are enough. Everything else is drawn afresh.
pub struct Draws<'a> {
    posterior: &'a Posterior,
    seed: u64,
    /// Hypotheses of each draw.
    hypotheses: Vec<Hypothesis>,
    /// Unknowns of each draw, in the layout's order.
    unknowns: Vec<f64>,
    /// Undercoats, um: by draw, then [`UNDERCOATS`], then surface.
    undercoats_um: Vec<f64>,
    /// For each measured panel, its factored systems and which of them each draw uses.
    factors: Vec<(Vec<Factor>, Vec<u32>)>,
    groups: Vec<FieldGroup>,
}

impl Posterior {
    /// Draws `count` times, and as many again as a second half, from `seed`.
    ///
    /// # Errors
    /// [`FilmError`] when arithmetic fails on extreme numbers.
    pub fn draw(&self, count: usize, seed: u64) -> Result<Draws<'_>, FilmError> {
        let draws = self.draw_but_fields(count, seed)?;
        let groups = self.draw_fields(&draws.hypotheses, seed)?;
        Ok(Draws { groups, ..draws })
    }

    /// The same without fields: enough for what needs no film at the nodes.
    fn draw_but_fields(&self, count: usize, seed: u64) -> Result<Draws<'_>, FilmError> {
        let hypotheses = self.hypotheses(count, seed);
        let active = self.active_unknowns();
        let factors = self
            .systems
            .par_iter()
            .enumerate()
            .map(|(i, (_, system))| self.factors(i, system, &hypotheses, &active))
            .collect::<Result<Vec<_>, _>>()?;
        let (unknowns, undercoats_um) = self.draw_unknowns(&hypotheses, &factors, &active, seed)?;
        Ok(Draws { posterior: self, seed, hypotheses, unknowns, undercoats_um, factors, groups: Vec::new() })
    }
}

impl Draws<'_> {
    /// Number of draws, both halves.
    #[must_use]
    pub fn count(&self) -> usize {
        self.hypotheses.len()
    }

    /// The draws of the first half, meant to choose on.
    #[must_use]
    pub fn first_half(&self) -> Range<usize> {
        0..self.count() / 2
    }

    /// The draws of the second half, meant to judge a choice by.
    #[must_use]
    pub fn second_half(&self) -> Range<usize> {
        self.count() / 2..self.count()
    }

    fn unknown(&self, draw: usize, u: usize) -> f64 {
        self.unknowns[draw * self.posterior.layout.priors.len() + u]
    }

    /// Value of the caller's unknown `named` in `draw`.
    #[must_use]
    pub fn named(&self, draw: usize, named: usize) -> f64 {
        self.unknown(draw, self.posterior.layout.first_named + named)
    }

    /// Undercoat of panel `panel` in `draw`, um, above nothing: the `again`th of the [`UNDERCOATS`] that go with the draw's film.
    #[must_use]
    pub fn undercoat_um(&self, draw: usize, again: usize, panel: usize) -> f64 {
        self.undercoats_um[(draw * UNDERCOATS + again) * self.posterior.survey.surfaces.len() + panel]
    }

    /// What a gauge would show in `draw`, noise left out, on `film_um` of film, um. Sessions that no reading was taken in have no errors.
    #[must_use]
    pub fn shown_um(&self, draw: usize, gauge: usize, session: usize, film_um: f64) -> f64 {
        let errors = self.posterior.layout.errors_of.get(&(gauge, session));
        errors.map_or(film_um, |&u| film_um * (1.0 + self.unknown(draw, u + 1)) + self.unknown(draw, u))
    }

    /// Whether panel `panel` was resprayed in `draw`; false when it has no readings.
    #[must_use]
    pub fn is_resprayed(&self, draw: usize, panel: usize) -> bool {
        self.posterior.systems.iter().position(|(k, _)| *k == panel).is_some_and(|i| self.hypotheses[draw].states[i].resprayed())
    }
}
