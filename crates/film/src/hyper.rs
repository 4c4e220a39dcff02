//! What readings say of the field's smoothness, length and deviation, of texture, and of how panels differ: weights over a lattice of them.
//!
//! A car has few readings, so nothing is fixed at one guess: every combination keeps its weight, with each panel's hypotheses (thin edges,
//! respray) summed out. Panels are taken as independent given the vehicle's central build, whose own doubt widens their spread.

use lastmicron_numerics::cholesky::NotPositiveDefinite;
use lastmicron_numerics::kernel::Family;
use rayon::prelude::*;

use crate::layout::Layout;
use crate::panel_system::{Lags, PanelSystem, STATES, State};
use crate::prior;

/// One combination of field and texture.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Field {
    pub(crate) family: Family,
    pub(crate) length_mm: f64,
    pub(crate) sd_um: f64,
    pub(crate) texture_um: f64,
    prior: f64,
    /// Fields of one group share family and length.
    pub(crate) group: usize,
}

/// Weight of one combination of field, spread of panels and chance of thin edges.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Weight {
    pub(crate) field: usize,
    /// Index into [`prior::PANEL_SDS_UM`].
    pub(crate) spread: usize,
    pub(crate) thin_edge_chance: f64,
    pub(crate) weight: f64,
}

/// The lattice with its weights.
#[derive(Clone, Debug)]
pub(crate) struct Hyper {
    pub(crate) fields: Vec<Field>,
    /// Weights, summing to 1, ordered by field.
    pub(crate) weights: Vec<Weight>,
    /// Log evidence by field, spread, panel, state.
    log_evidence: Vec<f64>,
    panels: usize,
}

/// Every combination of field and texture, those of a group together.
pub(crate) fn lattice() -> Vec<Field> {
    let mut fields = Vec::new();
    let mut group = 0;
    for (family, p) in prior::FAMILIES {
        for (length_mm, q) in prior::LENGTHS_MM {
            for (sd_um, r) in prior::FIELD_SDS_UM {
                for (texture_um, s) in prior::TEXTURES_UM {
                    fields.push(Field { family, length_mm, sd_um, texture_um, prior: p * q * r * s, group });
                }
            }
            group += 1;
        }
    }
    fields
}

impl Hyper {
    /// Weighs the lattice by the readings of all panels.
    pub(crate) fn weigh(systems: &[&PanelSystem], layout: &Layout) -> Result<Self, NotPositiveDefinite> {
        let fields = lattice();
        let panels = systems.len();
        let spreads = prior::PANEL_SDS_UM.len();
        let prepared: Vec<(Vec<f64>, Vec<f64>)> = systems.par_iter().map(|s| (s.unknowns_covariance(layout), s.centred(layout))).collect();
        let widening = (1.0 + 1.6 / panels as f64).sqrt();
        let log_evidence: Vec<f64> = fields
            .par_chunk_by(|a, b| a.group == b.group)
            .map(|group| {
                let mut out = vec![0.0; group.len() * spreads * panels * STATES];
                for (k, system) in systems.iter().enumerate() {
                    let lags = Lags::new(group[0].family, group[0].length_mm, system.grid.nx, system.grid.ny);
                    let correlation = system.correlation(&lags);
                    let (extra, y) = &prepared[k];
                    for (f, field) in group.iter().enumerate() {
                        let v = system.covariance(&correlation, Some(extra), field.sd_um, field.texture_um);
                        let gram = system.gram(v, y)?;
                        for (t, (sd, _)) in prior::PANEL_SDS_UM.iter().enumerate() {
                            for state in State::all() {
                                out[((f * spreads + t) * panels + k) * STATES + state.0] = gram.log_evidence(state, sd * widening);
                            }
                        }
                    }
                }
                Ok(out)
            })
            .collect::<Result<Vec<_>, _>>()?
            .concat();
        let mut hyper = Self { fields, weights: Vec::new(), log_evidence, panels };
        hyper.weights = hyper.all_weights();
        Ok(hyper)
    }

    fn all_weights(&self) -> Vec<Weight> {
        let mut weights = Vec::new();
        for (field, f) in self.fields.iter().enumerate() {
            for (spread, (_, p)) in prior::PANEL_SDS_UM.iter().enumerate() {
                for (chance, q) in prior::THIN_EDGE_CHANCES {
                    let panels: f64 = (0..self.panels)
                        .map(|k| {
                            let e = self.evidence(field, spread, k);
                            let top = e.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                            top + State::all().map(|s| s.prior(chance) * (e[s.0] - top).exp()).sum::<f64>().ln()
                        })
                        .sum();
                    weights.push(Weight { field, spread, thin_edge_chance: chance, weight: (f.prior * p * q).ln() + panels });
                }
            }
        }
        let top = weights.iter().map(|w| w.weight).fold(f64::NEG_INFINITY, f64::max);
        weights.iter_mut().for_each(|w| w.weight = (w.weight - top).exp());
        let total: f64 = weights.iter().map(|w| w.weight).sum();
        weights.iter_mut().for_each(|w| w.weight /= total);
        weights
    }

    fn evidence(&self, field: usize, spread: usize, panel: usize) -> &[f64] {
        let start = ((field * prior::PANEL_SDS_UM.len() + spread) * self.panels + panel) * STATES;
        &self.log_evidence[start..start + STATES]
    }

    /// Probabilities of a panel's states under one combination.
    pub(crate) fn states(&self, weight: &Weight, panel: usize) -> [f64; STATES] {
        let e = self.evidence(weight.field, weight.spread, panel);
        let top = e.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mut p = [0.0; STATES];
        for state in State::all() {
            p[state.0] = state.prior(weight.thin_edge_chance) * (e[state.0] - top).exp();
        }
        let total: f64 = p.iter().sum();
        p.map(|p| p / total)
    }

    /// Probabilities of a panel's states over all combinations.
    pub(crate) fn mean_states(&self, panel: usize) -> [f64; STATES] {
        let mut mean = [0.0; STATES];
        for weight in self.weights.iter().filter(|w| w.weight > 1e-6) {
            let p = self.states(weight, panel);
            mean.iter_mut().zip(p).for_each(|(m, p)| *m += weight.weight * p);
        }
        mean
    }

    /// The heaviest combination.
    pub(crate) fn heaviest(&self) -> Option<&Weight> {
        self.weights.iter().max_by(|a, b| a.weight.total_cmp(&b.weight))
    }
}
