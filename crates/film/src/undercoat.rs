//! Panels' undercoats about the vehicle's: what is believed of each under a hypothesis, and how far panels differ.

use lastmicron_numerics::mixture::{Prior, pick};
use rand::Rng;

use crate::panel_system::State;
use crate::posterior::Posterior;
use crate::prior;
use crate::survey::PanelUndercoat;

/// Priors of the panels' undercoat offsets.
pub(crate) struct UndercoatOffsets {
    /// By spread, then surface; none where a panel's undercoat is stated for itself.
    usual: Vec<Vec<Option<Prior>>>,
    /// By measured panel, if it was resprayed.
    resprayed: Vec<Option<Prior>>,
    /// Measured panel of each surface.
    measured: Vec<Option<usize>>,
}

impl UndercoatOffsets {
    pub(crate) fn of(posterior: &Posterior) -> Self {
        let surfaces = &posterior.survey.surfaces;
        let about = |k: usize| match surfaces[k].undercoat {
            PanelUndercoat::About { sd_um } => Some(sd_um),
            PanelUndercoat::Own(_) => None,
        };
        let under = |factor: f64| (0..surfaces.len()).map(|k| about(k).map(|sd| prior::undercoat_offset(factor * sd))).collect();
        let resprayed = |(k, system): &(usize, crate::panel_system::PanelSystem)| {
            let mut added = system.centred(&posterior.layout);
            added.sort_by(f64::total_cmp);
            // The median: one wild reading adds no film.
            about(*k).map(|sd| prior::respray_undercoat_offset(sd, added[added.len() / 2]))
        };
        Self {
            usual: prior::UNDERCOAT_SPREADS.iter().map(|(factor, _)| under(*factor)).collect(),
            resprayed: posterior.systems.iter().map(resprayed).collect(),
            measured: (0..surfaces.len()).map(|k| posterior.systems.iter().position(|(s, _)| *s == k)).collect(),
        }
    }

    /// Prior of surface `surface`'s offset where panels have `states` and differ by spread `spread`; none where its undercoat is stated for itself.
    pub(crate) fn prior(&self, surface: usize, states: &[State], spread: usize) -> Option<&Prior> {
        let resprayed = self.measured[surface].filter(|&i| states[i].resprayed());
        resprayed.map_or(self.usual[spread][surface].as_ref(), |i| self.resprayed[i].as_ref())
    }

    /// Draws the spread anew, given the offsets (`surface`, um) that panels have (a Gibbs step).
    pub(crate) fn draw_spread(&self, offsets: impl Iterator<Item = (usize, f64)> + Clone, states: &[State], rng: &mut impl Rng) -> usize {
        let log_weight = |spread: usize| {
            let original = offsets.clone().filter(|(k, _)| self.measured[*k].is_none_or(|i| !states[i].resprayed()));
            let fit: f64 = original.filter_map(|(k, um)| Some(self.usual[spread][k].as_ref()?.log_density(um))).sum();
            prior::UNDERCOAT_SPREADS[spread].1.ln() + fit
        };
        let logs: Vec<f64> = (0..self.usual.len()).map(log_weight).collect();
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        pick(rng, logs.iter().map(|l| (l - top).exp()))
    }
}
