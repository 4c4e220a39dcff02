//! Joint draws from the posterior: the unknowns of the vehicle, and each panel's film at its nodes.

mod chain;

use std::collections::HashMap;
use std::ops::Range;

use lastmicron_numerics::cholesky::{Cholesky, NotPositiveDefinite};
use lastmicron_numerics::circulant::Circulant;
use lastmicron_numerics::mixture::{Evidence, pick};
use rand::{Rng, RngExt, SeedableRng};
use rand_distr::StandardNormal;
use rand_pcg::Pcg64Mcg;
use rayon::prelude::*;

use self::chain::Chain;
use crate::grid::{Grid, STEP_MM};
use crate::hyper::Weight;
use crate::layout::{VEHICLE_MEAN, VEHICLE_UNDERCOAT};
use crate::panel_system::{Lags, PanelSystem, State, profiles};
use crate::posterior::{FilmError, Posterior};
use crate::prior;
use crate::survey::PanelUndercoat;
use crate::undercoat::UndercoatOffsets;

/// Groups of fields (one family and length) lighter than this are left out of the draws: too few draws would share too few fields.
const LEAST_GROUP_WEIGHT: f64 = 0.012;

/// Draws are made in this many streams, each with a generator of its own, whatever the number of threads: same seed, same draws.
const STREAMS: usize = 8;

/// Sweeps before a stream's first draw.
const BURN_IN: usize = 30;

/// Undercoats drawn with each film: given the gauge's errors, films say nothing of undercoats, so several cost hardly more than one, and the
/// undercoat is most of the doubt.
pub const UNDERCOATS: usize = 4;

/// Joint draws of everything. Draws come in two halves of equal size that share no randomness but the sign of their fields.
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

#[derive(Clone, Debug)]
struct Hypothesis {
    weight: Weight,
    /// Group of fields, and the draw's position within its half of that group.
    group: usize,
    position: usize,
    second_half: bool,
    /// State of each measured panel.
    states: Vec<State>,
}

/// A panel's readings under one hypothesis, factored, and what they say of the active unknowns.
struct Factor {
    cholesky: Cholesky,
    evidence: Evidence,
}

/// Unconditioned fields of one family and length, on a lattice that every panel's grid fits in.
struct FieldGroup {
    lags: Lags,
    nx: usize,
    nodes: usize,
    fields: Vec<f32>,
}

/// A panel's film, drawn: build at every node and draw.
pub struct FilmDraws {
    /// The nodes.
    pub grid: Grid,
    /// Build, um: node fastest, one row a draw.
    pub build_um: Vec<f32>,
}

impl Posterior {
    /// Draws `count` times, and as many again as a second half, from `seed`.
    ///
    /// # Errors
    /// [`FilmError`] when arithmetic fails on extreme numbers.
    pub fn draw(&self, count: usize, seed: u64) -> Result<Draws<'_>, FilmError> {
        let hypotheses = self.hypotheses(count, seed);
        let active = self.active_unknowns();
        let factors = self
            .systems
            .par_iter()
            .enumerate()
            .map(|(i, (_, system))| self.factors(i, system, &hypotheses, &active))
            .collect::<Result<Vec<_>, _>>()?;
        let (unknowns, undercoats_um) = self.draw_unknowns(&hypotheses, &factors, &active, seed)?;
        let groups = self.draw_fields(&hypotheses, seed)?;
        Ok(Draws { posterior: self, seed, hypotheses, unknowns, undercoats_um, factors, groups })
    }

    /// Hypotheses of both halves, in proportion to their weights (systematic sampling), those of one field together.
    fn hypotheses(&self, count: usize, seed: u64) -> Vec<Hypothesis> {
        let fields = &self.hyper.fields;
        let mut group_weight = vec![0.0; fields.last().map_or(0, |f| f.group + 1)];
        for w in &self.hyper.weights {
            group_weight[fields[w.field].group] += w.weight;
        }
        let kept = |w: &&Weight| group_weight[fields[w.field].group] >= LEAST_GROUP_WEIGHT;
        let total: f64 = self.hyper.weights.iter().filter(kept).map(|w| w.weight).sum();
        let mut rng = Pcg64Mcg::seed_from_u64(seed ^ 0x6879_706F);
        let mut all = Vec::with_capacity(2 * count);
        for second_half in [false, true] {
            let (mut sum, mut next) = (0.0, rng.random::<f64>());
            let (mut group, mut position) = (usize::MAX, 0);
            for weight in self.hyper.weights.iter().filter(kept) {
                sum += weight.weight / total * count as f64;
                while next < sum && all.len() < count * (1 + usize::from(second_half)) {
                    if fields[weight.field].group != group {
                        (group, position) = (fields[weight.field].group, 0);
                    }
                    let states =
                        (0..self.systems.len()).map(|i| State(pick(&mut rng, self.hyper.states(weight, i).iter().copied()))).collect();
                    all.push(Hypothesis { weight: *weight, group, position, second_half, states });
                    position += 1;
                    next += 1.0;
                }
            }
        }
        all
    }

    /// Unknowns that some reading depends on; the others are drawn from their priors.
    fn active_unknowns(&self) -> Vec<usize> {
        let mut seen = vec![false; self.layout.priors.len()];
        seen[VEHICLE_MEAN] = true;
        self.layout.rows.iter().flat_map(|r| &r.on).for_each(|&(u, _)| seen[u] = true);
        (0..seen.len()).filter(|&u| seen[u]).collect()
    }

    fn factors(
        &self,
        i: usize,
        system: &PanelSystem,
        hypotheses: &[Hypothesis],
        active: &[usize],
    ) -> Result<(Vec<Factor>, Vec<u32>), NotPositiveDefinite> {
        let mut known: HashMap<(usize, usize, State), u32> = HashMap::new();
        let (mut factors, mut correlation, mut group) = (Vec::new(), Vec::new(), usize::MAX);
        let mut which = Vec::with_capacity(hypotheses.len());
        for h in hypotheses {
            let key = (h.weight.field, h.weight.spread, h.states[i]);
            if let Some(&f) = known.get(&key) {
                which.push(f);
                continue;
            }
            let field = self.hyper.fields[h.weight.field];
            if group != field.group {
                group = field.group;
                correlation = system.correlation(&Lags::new(field.family, field.length_mm, system.grid.nx, system.grid.ny));
            }
            let mut v = system.covariance(&correlation, None, field.sd_um, field.texture_um);
            let panel_sd = prior::PANEL_SDS_UM[h.weight.spread].0;
            system.add_state(&mut v, h.states[i], panel_sd);
            let cholesky = Cholesky::factor(system.len(), v)?;
            let evidence = self.panel_evidence(system, &cholesky, h.states[i], panel_sd, active);
            let number = factors.len() as u32;
            factors.push(Factor { cholesky, evidence });
            known.insert(key, number);
            which.push(number);
        }
        Ok((factors, which))
    }

    /// What a panel's readings say of the active unknowns, its own film integrated out: X' V^-1 X and X' V^-1 (y - mean).
    fn panel_evidence(&self, system: &PanelSystem, v: &Cholesky, state: State, panel_sd_um: f64, active: &[usize]) -> Evidence {
        let (n, d) = (system.len(), active.len());
        let mut columns = vec![0.0; n * d];
        let mut y = vec![0.0; n];
        for (i, &row) in system.rows.iter().enumerate() {
            let row = &self.layout.rows[row];
            y[i] = row.value_um - system.state_mean(state, panel_sd_um, i);
            for &(u, c) in &row.on {
                if let Ok(j) = active.binary_search(&u) {
                    columns[j * n + i] += c;
                }
            }
        }
        v.solve_lower(&mut y);
        let used: Vec<usize> = (0..d).filter(|j| columns[j * n..(j + 1) * n].iter().any(|c| c.abs() > 0.0)).collect();
        for &j in &used {
            v.solve_lower(&mut columns[j * n..(j + 1) * n]);
        }
        let column = |j: usize| &columns[j * n..(j + 1) * n];
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        let mut evidence = Evidence::none(d);
        for &a in &used {
            evidence.shift[a] = dot(column(a), &y);
            for &b in &used {
                evidence.precision[a * d + b] = dot(column(a), column(b));
            }
        }
        evidence
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

    fn draw_unknowns(
        &self,
        hypotheses: &[Hypothesis],
        factors: &[(Vec<Factor>, Vec<u32>)],
        active: &[usize],
        seed: u64,
    ) -> Result<(Vec<f64>, Vec<f64>), NotPositiveDefinite> {
        let undercoats: Vec<Evidence> = prior::TEXTURES_UM.iter().map(|(texture, _)| self.undercoat_evidence(active, *texture)).collect();
        let offsets = UndercoatOffsets::of(self);
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
                        again.step(&evidence, &h.states, &mut rng)?;
                        for u in (0..drawn.len()).filter(|&u| self.layout.is_of_undercoat(u)) {
                            drawn[u] = again.value(u, &h.states, &mut rng);
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

    /// Unconditioned fields for every group in use, as many as the larger half needs.
    fn draw_fields(&self, hypotheses: &[Hypothesis], seed: u64) -> Result<Vec<FieldGroup>, FilmError> {
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

fn add(to: &mut Evidence, more: &Evidence) {
    to.precision.iter_mut().zip(&more.precision).for_each(|(a, b)| *a += b);
    to.shift.iter_mut().zip(&more.shift).for_each(|(a, b)| *a += b);
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
        for (a, row) in alpha.iter().zip(kernels[h.group].chunks_exact(out.len())) {
            let a = (variance * a) as f32;
            out.iter_mut().zip(row).for_each(|(value, k)| *value += a * k);
        }
    }

    /// The group's field that this panel has in this draw. Panels of one draw never share a field; the halves take opposite signs.
    fn unconditioned(&self, i: usize, draw: usize, sd_um: f32, out: &mut [f32]) {
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
