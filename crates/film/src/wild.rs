//! Wild readings: a lifted probe, dirt, a slip of the hand. They are resisted, and named.

use lastmicron_numerics::cholesky::{Cholesky, NotPositiveDefinite};
use lastmicron_numerics::kernel::Family;

use crate::layout::Layout;
use crate::panel_system::{Lags, PanelSystem, State};
use crate::prior;

/// The hypothesis under which readings are compared with their neighbours.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Reference {
    pub(crate) family: Family,
    pub(crate) length_mm: f64,
    pub(crate) sd_um: f64,
    pub(crate) texture_um: f64,
    pub(crate) panel_sd_um: f64,
}

impl Reference {
    /// The middle of the priors: for a first look, before the readings have said what their field is like.
    pub(crate) const FIRST: Self = Self { family: Family::Matern32, length_mm: 240.0, sd_um: 2.6, texture_um: 0.6, panel_sd_um: 20.0 };
}

/// Rounds of weighting: a second wild reading beside the first shows only once that one is weighed down.
const ROUNDS: usize = 5;

/// Weighs down readings of a panel that their neighbours contradict: each reading's noise variance becomes that of the mean precision over
/// "good" and "wild", with the probability of wild from its leave-one-out prediction (Rasmussen & Williams, Gaussian Processes for Machine
/// Learning, 2006, eqs 5.10-5.12). A wild reading's variance is never less than its own residual's square, so that a slipped decimal point, however
/// far off, says nothing of the field. Returns the probability of wild for every reading.
pub(crate) fn weigh_down(
    system: &mut PanelSystem,
    layout: &Layout,
    reference: Reference,
    state: State,
) -> Result<Vec<f64>, NotPositiveDefinite> {
    let n = system.len();
    let gauge: Vec<f64> = system.rows.iter().map(|&r| layout.rows[r].gauge_variance).collect();
    let (mut wild, mut residuals) = (vec![0.0; n], vec![0.0; n]);
    if n < 3 {
        return Ok(wild);
    }
    let lags = Lags::new(reference.family, reference.length_mm, system.grid.nx, system.grid.ny);
    let correlation = system.correlation(&lags);
    let extra = system.unknowns_covariance(layout);
    let y = system.centred(layout);
    let texture = reference.texture_um * reference.texture_um;
    system.noise_variance.clone_from(&gauge);
    for _ in 0..ROUNDS {
        let mut v = system.covariance(&correlation, Some(&extra), reference.sd_um, reference.texture_um);
        system.add_state(&mut v, state, reference.panel_sd_um);
        let factor = Cholesky::factor(n, v)?;
        let mut alpha: Vec<f64> = (0..n).map(|i| y[i] - system.state_mean(state, reference.panel_sd_um, i)).collect();
        factor.solve(&mut alpha);
        let inverse = factor.inverse();
        for i in 0..n {
            let precision = inverse[i * n + i];
            let residual = alpha[i] / precision;
            residuals[i] = residual;
            // The prediction's own variance, without this reading's noise.
            let rest = (1.0 / precision - system.noise_variance[i] - texture).max(0.0);
            let density = |variance: f64| (-0.5 * residual * residual / variance).exp() / variance.sqrt();
            let good = (1.0 - prior::WILD_CHANCE) * density(rest + gauge[i] + texture);
            let bad = prior::WILD_CHANCE * density(rest + gauge[i] + texture + prior::WILD_SD_UM.powi(2));
            wild[i] = if good + bad > 0.0 { bad / (good + bad) } else { 1.0 };
        }
        for (i, p) in wild.iter().enumerate() {
            let of_wild = gauge[i] + f64::max(prior::WILD_SD_UM, residuals[i].abs()).powi(2);
            let precision = (1.0 - p) / gauge[i].max(1e-6) + p / of_wild;
            system.noise_variance[i] = 1.0 / precision;
        }
    }
    Ok(wild)
}
