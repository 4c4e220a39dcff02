//! Each panel's readings under the hypotheses drawn, factored, and what they say of the unknowns with the panel's own film integrated out.

use std::collections::HashMap;

use lastmicron_numerics::cholesky::{Cholesky, NotPositiveDefinite};
use lastmicron_numerics::mixture::Evidence;

use super::hypotheses::Hypothesis;
use crate::panel_system::{Lags, PanelSystem, State};
use crate::posterior::Posterior;
use crate::prior;

/// A panel's readings under one hypothesis, factored, and what they say of the active unknowns.
pub(super) struct Factor {
    pub(super) cholesky: Cholesky,
    pub(super) evidence: Evidence,
}

impl Posterior {
    /// The factored systems of panel `i` (`system`), one for each different hypothesis, and which of them each draw uses.
    pub(super) fn factors(
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
}
