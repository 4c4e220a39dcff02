//! A panel's film at its nodes, in each draw: an unconditioned draw corrected by what the readings say.

use std::ops::Range;

use lastmicron_numerics::elementwise::add_combination;
use rand::{Rng, RngExt, SeedableRng};
use rand_distr::StandardNormal;
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

use super::Draws;
use super::fields::FieldGroup;
use crate::grid::Grid;
use crate::layout::VEHICLE_MEAN;
use crate::panel_system::{PanelSystem, profiles};
use crate::prior;

/// A panel's film, drawn: build at every node and draw.
pub struct FilmDraws {
    /// The nodes.
    pub grid: Grid,
    /// Build, um: node fastest, one row a draw.
    pub build_um: Vec<f32>,
}

impl Draws<'_> {
    /// The film of panel `panel` in the draws of a range; none when it has no readings.
    ///
    /// Method: an unconditioned draw of offset, edge term, field and noise is corrected by kriging its difference from the readings
    /// (Matheron's rule; Journel & Huijbregts, Mining Geostatistics, 1978, ch. VII), so that the joint law over the nodes is the posterior's.
    #[must_use]
    pub fn film(&self, panel: usize, draws: Range<usize>) -> Option<FilmDraws> {
        let i = self.posterior.systems.iter().position(|(k, _)| *k == panel)?;
        let system = &self.posterior.systems[i].1;
        let nodes = system.grid.nodes();
        let profile: Vec<[f64; 3]> = system.grid.edge_mm.iter().map(|e| profiles(if e.is_nan() { 1e9 } else { *e })).collect();
        let mut build_um = vec![0.0_f32; draws.len() * nodes];
        let kernels: Vec<Vec<f32>> = self.groups.iter().enumerate().map(|(g, group)| self.kernel(g, group, system)).collect();
        build_um.par_chunks_exact_mut(nodes).zip(draws).for_each(|(out, draw)| {
            let mut rng = Pcg64Mcg::seed_from_u64(self.seed ^ 0x6669_6C6D_0000 ^ ((panel as u64) << 40) ^ ((draw as u64) << 4));
            self.draw_film(i, draw, &profile, &kernels, &mut rng, out);
        });
        Some(FilmDraws { grid: system.grid.clone(), build_um })
    }

    /// Correlation of the field between readings and nodes, a row a reading.
    fn kernel(&self, g: usize, group: &FieldGroup, system: &PanelSystem) -> Vec<f32> {
        if !self.hypotheses.iter().any(|h| h.group == g) {
            return Vec::new();
        }
        let (grid, n) = (&system.grid, system.len());
        let mut rows = vec![0.0_f32; n * grid.nodes()];
        for (row, between) in rows.chunks_exact_mut(grid.nodes()).zip(&system.between) {
            for &(a, w) in between.iter().filter(|(_, w)| *w > 0.0) {
                for (node, value) in row.iter_mut().enumerate() {
                    *value += (w * group.lags.between(grid.nx, a, node)) as f32;
                }
            }
        }
        rows
    }

    fn draw_film(&self, i: usize, draw: usize, profile: &[[f64; 3]], kernels: &[Vec<f32>], rng: &mut impl Rng, out: &mut [f32]) {
        let posterior = self.posterior;
        let system = &posterior.systems[i].1;
        let h = &self.hypotheses[draw];
        let (state, field) = (h.states[i], posterior.hyper.fields[h.weight.field]);
        let panel_sd_um = prior::PANEL_SDS_UM[h.weight.spread].0;
        let mut normal = || rng.sample::<f64, _>(StandardNormal);
        let ((offset_mean, offset_variance), (edge_mean, edge_variance)) = (state.offset(panel_sd_um), state.edge());
        let offset = offset_mean + offset_variance.sqrt() * normal();
        let edge = edge_mean + edge_variance.sqrt() * normal();
        let scale = state.thin_edge().unwrap_or(0);
        self.unconditioned(i, draw, field.sd_um as f32, out);

        let (factors, which) = &self.factors[i];
        let factor = &factors[which[draw] as usize];
        let mut alpha: Vec<f64> = (0..system.len())
            .map(|r| {
                let row = &posterior.layout.rows[system.rows[r]];
                let known: f64 = row.on.iter().map(|&(u, c)| c * self.unknown(draw, u)).sum();
                let simulated: f64 = system.between[r].iter().map(|&(n, w)| w * f64::from(out[n])).sum();
                let noise = (system.noise_variance[r] + field.texture_um * field.texture_um).sqrt() * normal();
                row.value_um - known - offset - edge * system.edge[r][scale] - simulated - noise
            })
            .collect();
        factor.cholesky.solve(&mut alpha);
        let sum: f64 = alpha.iter().sum();
        let along_edge: f64 = alpha.iter().zip(&system.edge).map(|(a, e)| a * e[scale]).sum();
        let level = self.unknown(draw, VEHICLE_MEAN) + offset + offset_variance * sum;
        let edge = if state.thin_edge().is_some() { edge + edge_variance * along_edge } else { 0.0 };
        for (value, p) in out.iter_mut().zip(profile) {
            *value += (level + edge * p[scale]) as f32;
        }
        let variance = field.sd_um * field.sd_um;
        let weights: Vec<f32> = alpha.iter().map(|a| (variance * a) as f32).collect();
        add_combination(out, &weights, &kernels[h.group]);
    }
}
