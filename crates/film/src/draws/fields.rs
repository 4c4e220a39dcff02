//! Unconditioned fields that draws share, and which of them each panel has in each draw.

use lastmicron_numerics::circulant::Circulant;
use rand::SeedableRng;
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

use super::Draws;
use super::hypotheses::Hypothesis;
use crate::grid::STEP_MM;
use crate::panel_system::Lags;
use crate::posterior::{FilmError, Posterior};

/// Unconditioned fields of one family and length, on a lattice that every panel's grid fits in.
pub(super) struct FieldGroup {
    pub(super) lags: Lags,
    nx: usize,
    nodes: usize,
    fields: Vec<f32>,
}

impl Posterior {
    /// Unconditioned fields for every group in use, as many as the larger half needs.
    pub(super) fn draw_fields(&self, hypotheses: &[Hypothesis], seed: u64) -> Result<Vec<FieldGroup>, FilmError> {
        let nx = self.systems.iter().map(|(_, s)| s.grid.nx).max().unwrap_or(1);
        let ny = self.systems.iter().map(|(_, s)| s.grid.ny).max().unwrap_or(1);
        let count = self.hyper.fields.last().map_or(0, |f| f.group + 1);
        (0..count)
            .into_par_iter()
            .map(|group| {
                let needed = hypotheses.iter().filter(|h| h.group == group).map(|h| h.position + 1).max().unwrap_or(0);
                let Some(field) = self.hyper.fields.iter().find(|f| f.group == group) else { unreachable!("groups are numbered from 0") };
                let lags = Lags::new(field.family, field.length_mm, nx, ny);
                let nodes = nx * ny;
                let mut fields = vec![0.0; needed.next_multiple_of(2) * nodes];
                if needed > 0 {
                    let circulant = Circulant::new(field.family, field.length_mm, nx, ny, STEP_MM)?;
                    fields.par_chunks_exact_mut(2 * nodes).enumerate().for_each(|(pair, both)| {
                        let mut rng = Pcg64Mcg::seed_from_u64(seed ^ ((group as u64) << 40) ^ ((pair as u64) << 8) ^ 0x66);
                        let (a, b) = both.split_at_mut(nodes);
                        circulant.draw_pair(&mut rng, a, b);
                    });
                }
                Ok(FieldGroup { lags, nx, nodes, fields })
            })
            .collect()
    }
}

impl Draws<'_> {
    /// The group's field that this panel has in this draw. Panels of one draw never share a field; the halves take opposite signs.
    pub(super) fn unconditioned(&self, i: usize, draw: usize, sd_um: f32, out: &mut [f32]) {
        let (h, grid) = (&self.hypotheses[draw], &self.posterior.systems[i].1.grid);
        let group = &self.groups[h.group];
        let (fields, panels) = (group.fields.len() / group.nodes, self.posterior.systems.len());
        let stride = (fields / (panels + 1)).max(1);
        let turn = if h.second_half { stride / 2 } else { 0 };
        let number = (h.position + i * stride + turn) % fields;
        let amplitude = if h.second_half { -sd_um } else { sd_um };
        let field = &group.fields[number * group.nodes..(number + 1) * group.nodes];
        for (row, values) in out.chunks_exact_mut(grid.nx).zip(field.chunks_exact(group.nx)) {
            row.iter_mut().zip(values).for_each(|(out, v)| *out = amplitude * v);
        }
    }
}
