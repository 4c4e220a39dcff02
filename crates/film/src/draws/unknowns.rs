//! The unknowns of each draw, and the undercoats that follow from them.

use lastmicron_numerics::cholesky::NotPositiveDefinite;
use lastmicron_numerics::mixture::Evidence;
use rand::SeedableRng;
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

use super::UNDERCOATS;
use super::chain::Chain;
use super::factors::Factor;
use super::hypotheses::Hypothesis;
use crate::layout::{VEHICLE_MEAN, VEHICLE_UNDERCOAT};
use crate::posterior::Posterior;
use crate::prior;
use crate::survey::PanelUndercoat;
use crate::undercoat::UndercoatOffsets;

/// Draws are made in this many streams, each with a generator of its own, whatever the number of threads: same seed, same draws.
const STREAMS: usize = 8;

/// Sweeps before a stream's first draw.
const BURN_IN: usize = 30;

impl Posterior {
    /// Unknowns that some reading depends on; the others are drawn from their priors.
    pub(super) fn active_unknowns(&self) -> Vec<usize> {
        let mut seen = vec![false; self.layout.priors.len()];
        seen[VEHICLE_MEAN] = true;
        self.layout.rows.iter().flat_map(|r| &r.on).for_each(|&(u, _)| seen[u] = true);
        (0..seen.len()).filter(|&u| seen[u]).collect()
    }

    /// What readings of undercoat say of the active unknowns, with texture as noise.
    fn undercoat_evidence(&self, active: &[usize], texture_um: f64) -> Evidence {
        let mut evidence = Evidence::none(active.len());
        for row in self.layout.rows.iter().filter(|r| !r.film) {
            let on: Vec<(usize, f64)> = row.on.iter().filter_map(|&(u, c)| Some((active.binary_search(&u).ok()?, c))).collect();
            evidence.observe(&on, row.value_um, 1.0 / (row.gauge_variance + texture_um * texture_um));
        }
        evidence
    }

    /// Unknowns of every draw, in the layout's order, and the undercoats, as [`super::Draws`] keeps both.
    pub(super) fn draw_unknowns(
        &self,
        hypotheses: &[Hypothesis],
        factors: &[(Vec<Factor>, Vec<u32>)],
        active: &[usize],
        seed: u64,
    ) -> Result<(Vec<f64>, Vec<f64>), NotPositiveDefinite> {
        let undercoats: Vec<Evidence> = prior::TEXTURES_UM.iter().map(|(texture, _)| self.undercoat_evidence(active, *texture)).collect();
        let offsets = UndercoatOffsets::of(self);
        let film_shows_undercoat = self.layout.film_shows_undercoat();
        let of_undercoats: Vec<usize> = (0..active.len()).filter(|&j| self.layout.is_of_undercoat(active[j])).collect();
        let active_undercoats: Vec<usize> = of_undercoats.iter().map(|&j| active[j]).collect();
        let per_stream = hypotheses.len().div_ceil(STREAMS).max(1);
        let streams = hypotheses
            .par_chunks(per_stream)
            .enumerate()
            .map(|(stream, chunk)| {
                let mut rng = Pcg64Mcg::seed_from_u64(seed ^ 0x756E_6B00 ^ stream as u64);
                let mut chain = Chain::new(&self.layout, &offsets, active);
                let mut values = Vec::with_capacity(chunk.len() * self.layout.priors.len());
                let mut undercoats_um = Vec::with_capacity(chunk.len() * UNDERCOATS * self.survey.surfaces.len());
                for (c, h) in chunk.iter().enumerate() {
                    let texture = self.hyper.fields[h.weight.field].texture_um;
                    let nearest = prior::TEXTURES_UM.iter().position(|(t, _)| *t >= texture).unwrap_or(0);
                    let mut evidence = undercoats[nearest].clone();
                    for (panel, which) in factors {
                        add(&mut evidence, &panel[which[stream * per_stream + c] as usize].evidence);
                    }
                    for _ in 0..if c == 0 { BURN_IN } else { 1 } {
                        chain.step(&evidence, &h.states, &mut rng)?;
                    }
                    let mut drawn: Vec<f64> = (0..self.layout.priors.len()).map(|u| chain.value(u, &h.states, &mut rng)).collect();
                    values.extend_from_slice(&drawn);
                    self.push_undercoats(&drawn, &mut undercoats_um);
                    let (mut again, evidence) = chain.within(&active_undercoats, &of_undercoats, &evidence);
                    for _ in 1..UNDERCOATS {
                        // The film is drawn given the first undercoat: where its readings depend on that, it goes with no other.
                        if !film_shows_undercoat {
                            again.step(&evidence, &h.states, &mut rng)?;
                            for u in (0..drawn.len()).filter(|&u| self.layout.is_of_undercoat(u)) {
                                drawn[u] = again.value(u, &h.states, &mut rng);
                            }
                        }
                        self.push_undercoats(&drawn, &mut undercoats_um);
                    }
                }
                Ok((values, undercoats_um))
            })
            .collect::<Result<Vec<_>, NotPositiveDefinite>>()?;
        let (unknowns, undercoats_um): (Vec<Vec<f64>>, Vec<Vec<f64>>) = streams.into_iter().unzip();
        Ok((unknowns.concat(), undercoats_um.concat()))
    }

    /// Adds the undercoat of every surface, um above nothing, from one draw of all unknowns.
    fn push_undercoats(&self, unknowns: &[f64], to: &mut Vec<f64>) {
        to.extend(self.survey.surfaces.iter().zip(&self.layout.undercoat_of).map(|(surface, &u)| {
            let um = match surface.undercoat {
                PanelUndercoat::About { .. } => unknowns[VEHICLE_UNDERCOAT] + unknowns[u],
                PanelUndercoat::Own(_) => unknowns[u],
            };
            um.max(0.0)
        }));
    }
}

fn add(to: &mut Evidence, more: &Evidence) {
    to.precision.iter_mut().zip(&more.precision).for_each(|(a, b)| *a += b);
    to.shift.iter_mut().zip(&more.shift).for_each(|(a, b)| *a += b);
}
