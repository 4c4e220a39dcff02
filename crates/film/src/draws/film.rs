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

/// Draws that are made together: few enough for their films to stay near the processor, and a fixed number, so that sums over blocks don't
/// depend on how many threads there are.
const BLOCK: usize = 64;

impl Draws<'_> {
    /// The nodes on which panel `panel` is drawn; none when it has no readings.
    #[must_use]
    pub fn grid(&self, panel: usize) -> Option<&Grid> {
        self.posterior.systems.iter().find(|(k, _)| *k == panel).map(|(_, system)| &system.grid)
    }

    /// What `each` makes of the film of panel `panel` in the draws of a range, in blocks of some of them, in order; none when the panel has no
    /// readings. `each` gets the draws of its block and their builds, um: node fastest, one row a draw.
    ///
    /// Method: an unconditioned draw of offset, edge term, field and noise is corrected by kriging its difference from the readings
    /// (Matheron's rule; Journel & Huijbregts, Mining Geostatistics, 1978, ch. VII), so that the joint law over the nodes is the posterior's.
    pub fn film_in_blocks<T: Send>(
        &self,
        panel: usize,
        draws: Range<usize>,
        each: impl Fn(Range<usize>, &mut [f32]) -> T + Sync,
    ) -> Option<Vec<T>> {
        let i = self.posterior.systems.iter().position(|(k, _)| *k == panel)?;
        let system = &self.posterior.systems[i].1;
        let nodes = system.grid.nodes();
        let profile: Vec<[f64; 3]> = system.grid.edge_mm.iter().map(|e| profiles(if e.is_nan() { 1e9 } else { *e })).collect();
        let kernels: Vec<Vec<f32>> = self.groups.iter().enumerate().map(|(g, group)| self.kernel(g, group, system)).collect();
        let blocks = (0..draws.len().div_ceil(BLOCK)).into_par_iter();
        let made = blocks.map_init(
            || vec![0.0_f32; BLOCK * nodes],
            |builds, block| {
                let start = draws.start + block * BLOCK;
                let block = start..(start + BLOCK).min(draws.end);
                let builds = &mut builds[..block.len() * nodes];
                for (out, draw) in builds.chunks_exact_mut(nodes).zip(block.clone()) {
                    let mut rng = Pcg64Mcg::seed_from_u64(self.seed ^ 0x6669_6C6D_0000 ^ ((panel as u64) << 40) ^ ((draw as u64) << 4));
                    self.draw_film(i, draw, &profile, &kernels, &mut rng, out);
                }
                each(block, builds)
            },
        );
        Some(made.collect())
    }

    /// The film of panel `panel` in the draws of a range; none when it has no readings.
    #[must_use]
    pub fn film(&self, panel: usize, draws: Range<usize>) -> Option<FilmDraws> {
        let blocks = self.film_in_blocks(panel, draws, |_, builds| builds.to_vec())?;
        Some(FilmDraws { grid: self.grid(panel)?.clone(), build_um: blocks.concat() })
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
