//! A Gibbs chain over some of a vehicle's unknowns.

use lastmicron_numerics::cholesky::NotPositiveDefinite;
use lastmicron_numerics::mixture::{Evidence, Prior, Sampler};
use rand::Rng;

use crate::layout::Layout;
use crate::panel_system::State;
use crate::undercoat::UndercoatOffsets;

/// Where a chain stands.
pub(super) struct Chain<'a> {
    layout: &'a Layout,
    offsets: &'a UndercoatOffsets,
    /// The unknowns drawn, ascending; the others are drawn from their priors.
    of: &'a [usize],
    sampler: Sampler,
    /// Values of `of`.
    x: Vec<f64>,
    /// Spread of the panels' undercoats.
    spread: usize,
}

impl<'a> Chain<'a> {
    /// A chain over the unknowns `of`, before its first step.
    pub(super) fn new(layout: &'a Layout, offsets: &'a UndercoatOffsets, of: &'a [usize]) -> Self {
        let priors: Vec<&Prior> = of.iter().map(|&u| &layout.priors[u]).collect();
        Self { layout, offsets, of, sampler: Sampler::new(&priors), x: vec![0.0; of.len()], spread: 0 }
    }

    /// A chain over the unknowns `of` alone, which stand at `kept` among this one's, that goes on from here with the others held; and what
    /// `evidence` says of them then.
    pub(super) fn within(&self, of: &'a [usize], kept: &[usize], evidence: &Evidence) -> (Self, Evidence) {
        let x = kept.iter().map(|&j| self.x[j]).collect();
        (Self { of, sampler: self.sampler.of(kept), x, ..*self }, evidence.given(kept, &self.x))
    }

    /// Draws the unknowns, then the spread, anew.
    pub(super) fn step(&mut self, evidence: &Evidence, states: &[State], rng: &mut impl Rng) -> Result<(), NotPositiveDefinite> {
        let priors: Vec<&Prior> = self.of.iter().map(|&u| self.prior(u, states)).collect();
        self.sampler.draw(evidence, &priors, rng, &mut self.x)?;
        self.spread = self.offsets.draw_spread(self.layout.offsets(self.of, &self.x), states, rng);
        Ok(())
    }

    /// Value of unknown `u`.
    pub(super) fn value(&self, u: usize, states: &[State], rng: &mut impl Rng) -> f64 {
        self.of.binary_search(&u).map_or_else(|_| self.prior(u, states).draw(rng), |j| self.x[j])
    }

    fn prior(&self, u: usize, states: &[State]) -> &'a Prior {
        let of_offset = self.layout.surface_of(u).and_then(|k| self.offsets.prior(k, states, self.spread));
        of_offset.unwrap_or(&self.layout.priors[u])
    }
}
