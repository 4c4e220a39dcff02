//! One panel's readings under one hypothesis of its film: covariances, evidence, and what they say of the unknowns.

use lastmicron_numerics::cholesky::{Cholesky, NotPositiveDefinite};
use lastmicron_numerics::kernel::Family;

use crate::grid::{Between, Grid, STEP_MM};
use crate::layout::{Layout, VEHICLE_MEAN};
use crate::panel::Panel;
use crate::prior;

/// Profiles that an edge term may have: one for each scale of [`prior::THIN_EDGE_SCALES_MM`].
pub(crate) const SCALES: usize = prior::THIN_EDGE_SCALES_MM.len();

/// Hypotheses of a panel: its edges as they should be or thin at one of the scales, each original or resprayed.
pub(crate) const STATES: usize = 2 * (SCALES + 1);

/// One hypothesis of a panel, 0 to [`STATES`] - 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) struct State(pub(crate) usize);

impl State {
    pub(crate) fn all() -> impl Iterator<Item = Self> {
        (0..STATES).map(Self)
    }

    pub(crate) const fn resprayed(self) -> bool {
        self.0 > SCALES
    }

    /// Index of the edge's scale, when it is thin.
    pub(crate) const fn thin_edge(self) -> Option<usize> {
        match self.0 % (SCALES + 1) {
            0 => None,
            n => Some(n - 1),
        }
    }

    /// Probability before any reading, where edges are thin with chance `thin`.
    pub(crate) fn prior(self, thin: f64) -> f64 {
        let edge = if self.thin_edge().is_some() { thin / SCALES as f64 } else { 1.0 - thin };
        edge * if self.resprayed() { prior::RESPRAY_CHANCE } else { 1.0 - prior::RESPRAY_CHANCE }
    }

    /// Mean and variance of the panel's offset from the vehicle's mean, um, where panels differ by `panel_sd_um`.
    pub(crate) fn offset(self, panel_sd_um: f64) -> (f64, f64) {
        let (added, added_sd) = prior::RESPRAY_UM;
        let variance = panel_sd_um * panel_sd_um;
        if self.resprayed() { (added, variance + added_sd * added_sd) } else { (0.0, variance) }
    }

    /// Mean and variance of the edge term, um; nothing where edges are as they should be.
    pub(crate) fn edge(self) -> (f64, f64) {
        let (mean, sd) = prior::THIN_EDGE_UM;
        if self.thin_edge().is_some() { (mean, sd * sd) } else { (0.0, 0.0) }
    }
}

/// One panel: its nodes, and its readings of film.
#[derive(Clone, Debug)]
pub(crate) struct PanelSystem {
    pub(crate) grid: Grid,
    /// Rows of the layout that show this panel's film.
    pub(crate) rows: Vec<usize>,
    pub(crate) between: Vec<Between>,
    /// Edge profiles at the readings, one for each scale.
    pub(crate) edge: Vec<[f64; SCALES]>,
    /// Variance of each reading's own noise beside texture, um2: the gauge's, widened where the reading looks wild.
    pub(crate) noise_variance: Vec<f64>,
}

/// Correlation of a field at the lags of a grid's nodes.
#[derive(Clone, Debug)]
pub(crate) struct Lags {
    nx: usize,
    table: Vec<f64>,
}

impl Lags {
    pub(crate) fn new(family: Family, length_mm: f64, nx: usize, ny: usize) -> Self {
        let at = |i: usize| f64::hypot((i % nx) as f64, (i / nx) as f64) * STEP_MM / length_mm;
        Self { nx, table: (0..nx * ny).map(|i| family.correlation(at(i))).collect() }
    }

    /// Correlation of two nodes of a grid that is `nx` wide.
    pub(crate) fn between(&self, nx: usize, a: usize, b: usize) -> f64 {
        self.table[(a / nx).abs_diff(b / nx) * self.nx + (a % nx).abs_diff(b % nx)]
    }
}

/// Fits of the readings' covariance to the columns [readings, 1, edge profiles]: all that the evidence of any state needs.
#[derive(Clone, Debug)]
pub(crate) struct Gram {
    log_determinant: f64,
    products: [[f64; SCALES + 2]; SCALES + 2],
    count: f64,
}

impl Gram {
    /// Log marginal likelihood of the readings under `state`, offset and edge term integrated out.
    pub(crate) fn log_evidence(&self, state: State, panel_sd_um: f64) -> f64 {
        let ((m, v), (me, ve)) = (state.offset(panel_sd_um), state.edge());
        let g = &self.products;
        let e = state.thin_edge().map_or(1, |s| s + 2);
        // Products of the residual r = y - m 1 - me edge with itself and with the two columns.
        let residual = |j: usize| g[0][j] - m * g[1][j] - me * g[e][j];
        let (r1, re) = (residual(1), residual(e));
        let rr = residual(0) - m * r1 - me * re;
        let (a, b, c) = (1.0 + v * g[1][1], v * g[1][e], ve * g[1][e]);
        let d = 1.0 + ve * g[e][e];
        let determinant = a * d - b * c;
        // r' (V + U D U')^-1 r = r' V^-1 r - w' (I + D G)^-1 D w, w = U' V^-1 r
        let (x, y) = (v * r1, ve * re);
        let quadratic = rr - (r1 * (d * x - b * y) + re * (a * y - c * x)) / determinant;
        -0.5 * (quadratic + self.log_determinant + determinant.ln() + self.count * (2.0 * std::f64::consts::PI).ln())
    }
}

impl PanelSystem {
    /// The panel `k` with the film readings that the layout has of it; none when there are none.
    pub(crate) fn of(panel: &Panel, k: usize, layout: &Layout) -> Option<Self> {
        let rows: Vec<usize> = (0..layout.rows.len()).filter(|&r| layout.rows[r].panel == k && layout.rows[r].film).collect();
        if rows.is_empty() {
            return None;
        }
        let grid = Grid::of(panel);
        let places = rows.iter().map(|&r| layout.rows[r].place_mm);
        let between = places.clone().map(|[x, y]| grid.between(x, y)).collect();
        let edge = places.map(|[x, y]| profiles(panel.edge_distance_mm(x, y))).collect();
        let noise_variance = rows.iter().map(|&r| layout.rows[r].gauge_variance).collect();
        Some(Self { grid, rows, between, edge, noise_variance })
    }

    pub(crate) fn len(&self) -> usize {
        self.rows.len()
    }

    /// Correlation of the field between readings, `len` x `len`.
    pub(crate) fn correlation(&self, lags: &Lags) -> Vec<f64> {
        let (n, nx) = (self.len(), self.grid.nx);
        let mut r = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                let mut sum = 0.0;
                for &(a, wa) in &self.between[i] {
                    for &(b, wb) in &self.between[j] {
                        sum += wa * wb * lags.between(nx, a, b);
                    }
                }
                r[i * n + j] = sum;
                r[j * n + i] = sum;
            }
        }
        r
    }

    /// Covariance between readings from every unknown but the vehicle's mean, with their priors' variances.
    pub(crate) fn unknowns_covariance(&self, layout: &Layout) -> Vec<f64> {
        let n = self.len();
        let mut dense = vec![0.0; n * layout.priors.len()];
        for (i, &row) in self.rows.iter().enumerate() {
            for &(u, c) in layout.rows[row].on.iter().filter(|(u, _)| *u != VEHICLE_MEAN) {
                dense[u * n + i] += c;
            }
        }
        let mut covariance = vec![0.0; n * n];
        for (u, column) in dense.chunks_exact(n).enumerate() {
            if column.iter().all(|c| c.abs() < f64::MIN_POSITIVE) {
                continue;
            }
            let variance = layout.priors[u].variance();
            for i in 0..n {
                for j in 0..n {
                    covariance[i * n + j] += variance * column[i] * column[j];
                }
            }
        }
        covariance
    }

    /// Readings less what the unknowns' prior means account for.
    pub(crate) fn centred(&self, layout: &Layout) -> Vec<f64> {
        let mean = |row: usize| layout.rows[row].on.iter().map(|&(u, c)| c * layout.priors[u].mean()).sum::<f64>();
        self.rows.iter().map(|&r| layout.rows[r].value_um - mean(r)).collect()
    }

    /// Covariance of the readings under `scale.sd_um` and texture, before offset and edge term: sd^2 R + extra + noise.
    pub(crate) fn covariance(&self, correlation: &[f64], extra: Option<&[f64]>, sd_um: f64, texture_um: f64) -> Vec<f64> {
        let n = self.len();
        let mut v: Vec<f64> = correlation.iter().map(|r| sd_um * sd_um * r).collect();
        if let Some(extra) = extra {
            v.iter_mut().zip(extra).for_each(|(v, e)| *v += e);
        }
        for (i, noise) in self.noise_variance.iter().enumerate() {
            v[i * n + i] += noise + texture_um * texture_um;
        }
        v
    }

    /// Fits of a covariance to the readings `y` and to the columns of offset and edge.
    pub(crate) fn gram(&self, covariance: Vec<f64>, y: &[f64]) -> Result<Gram, NotPositiveDefinite> {
        let n = self.len();
        let factor = Cholesky::factor(n, covariance)?;
        let mut columns = vec![y.to_vec(), vec![1.0; n]];
        columns.extend((0..SCALES).map(|s| self.edge.iter().map(|e| e[s]).collect()));
        columns.iter_mut().for_each(|c| factor.solve_lower(c));
        let mut products = [[0.0; SCALES + 2]; SCALES + 2];
        for (i, a) in columns.iter().enumerate() {
            for (j, b) in columns.iter().enumerate() {
                products[i][j] = a.iter().zip(b).map(|(x, y)| x * y).sum();
            }
        }
        Ok(Gram { log_determinant: factor.log_determinant(), products, count: n as f64 })
    }

    /// Adds the offset's and the edge term's variances of `state` to a covariance.
    pub(crate) fn add_state(&self, covariance: &mut [f64], state: State, panel_sd_um: f64) {
        let n = self.len();
        let ((_, v), (_, ve)) = (state.offset(panel_sd_um), state.edge());
        for i in 0..n {
            for j in 0..n {
                let edge = state.thin_edge().map_or(0.0, |s| ve * self.edge[i][s] * self.edge[j][s]);
                covariance[i * n + j] += v + edge;
            }
        }
    }

    /// Mean of offset and edge term of `state` at reading `i`.
    pub(crate) fn state_mean(&self, state: State, panel_sd_um: f64, i: usize) -> f64 {
        state.offset(panel_sd_um).0 + state.thin_edge().map_or(0.0, |s| state.edge().0 * self.edge[i][s])
    }
}

/// Edge profiles at a distance from the edge: exp(-distance / scale).
pub(crate) fn profiles(distance_mm: f64) -> [f64; SCALES] {
    prior::THIN_EDGE_SCALES_MM.map(|scale| (-distance_mm / scale).exp())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gauge::{Gauge, Layer, Substrate};
    use crate::layout::lay_out;
    use crate::survey::{Observation, PanelUndercoat, Surface, Survey};
    use lastmicron_numerics::mixture::Prior;

    fn survey() -> Survey {
        let panel = Panel::rectangle("door", 600.0, 500.0, Substrate::Steel);
        let gauge = Gauge { name: String::new(), fixed_um: 1.0, percent: 1.0, repeatability_um: 0.8, resolution_um: 0.1, through_um: 0.0 };
        let place = [(20.0, 30.0, 57.0), (300.0, 250.0, 61.0), (580.0, 240.0, 59.5), (310.0, 480.0, 58.0), (150.0, 300.0, 60.0)];
        Survey {
            surfaces: vec![Surface { panel, undercoat: PanelUndercoat::About { sd_um: 2.0 } }],
            undercoat: Prior::normal(30.0, 3.0),
            gauges: vec![gauge],
            unknowns: vec![],
            observations: place
                .iter()
                .map(|&(x, y, value_um)| Observation {
                    panel: 0,
                    place_mm: [x, y],
                    value_um,
                    layer: Layer::Total,
                    gauge: 0,
                    session: 0,
                    removed: vec![],
                })
                .collect(),
        }
    }

    #[test]
    fn evidence_from_the_small_algebra_is_that_of_the_full_covariance() {
        let survey = survey();
        let layout = lay_out(&survey);
        let system = PanelSystem::of(&survey.surfaces[0].panel, 0, &layout).unwrap();
        let lags = Lags::new(Family::Matern32, 200.0, system.grid.nx, system.grid.ny);
        let correlation = system.correlation(&lags);
        let y = system.centred(&layout);
        for state in State::all() {
            let v = system.covariance(&correlation, None, 2.5, 0.5);
            let gram = system.gram(v.clone(), &y).unwrap();
            let mut full = v;
            system.add_state(&mut full, state, 4.0);
            let factor = Cholesky::factor(system.len(), full).unwrap();
            let mut r: Vec<f64> = y.iter().enumerate().map(|(i, y)| y - system.state_mean(state, 4.0, i)).collect();
            factor.solve_lower(&mut r);
            let quadratic: f64 = r.iter().map(|x| x * x).sum();
            let expected = -0.5 * (quadratic + factor.log_determinant() + 5.0 * (2.0 * std::f64::consts::PI).ln());
            assert!((gram.log_evidence(state, 4.0) - expected).abs() < 1e-9, "{state:?}");
        }
    }

    #[test]
    fn probabilities_of_states_sum_to_one() {
        assert!((State::all().map(|s| s.prior(0.35)).sum::<f64>() - 1.0).abs() < 1e-12);
    }
}
