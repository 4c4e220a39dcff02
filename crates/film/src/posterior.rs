//! The joint posterior of a vehicle's film.

use lastmicron_numerics::cholesky::NotPositiveDefinite;
use lastmicron_numerics::circulant::CirculantError;

use crate::gauge::Layer;
use crate::hyper::Hyper;
use crate::layout::{self, Layout};
use crate::panel_system::{PanelSystem, State};
use crate::prior;
use crate::survey::Survey;
use crate::wild::{self, Reference};

/// Why there is no posterior.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum FilmError {
    /// No reading of film.
    #[error("there is no reading of film on any panel")]
    NoReadings,
    /// The readings' covariance could not be factored.
    #[error("the readings' covariance can't be factored: {0}")]
    Covariance(#[from] NotPositiveDefinite),
    /// A field could not be drawn.
    #[error(transparent)]
    Field(#[from] CirculantError),
}

/// A reading that its neighbours contradict.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WildReading {
    /// Index of the observation in the survey.
    pub observation: usize,
    /// Probability that it is wild.
    pub probability: f64,
}

/// A mean and a standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moments {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
}

/// The joint posterior of a vehicle's film: everything the readings say, with every doubt kept.
///
/// Method: the vehicle's mean, undercoats, gauge errors and the caller's unknowns are jointly Gaussian given components of their priors;
/// each panel's offset, edge term and field are integrated out exactly given the field's kind and the panel's hypothesis; those are weighed
/// by their evidence over a lattice. See docs/method/film.md.
pub struct Posterior {
    pub(crate) survey: Survey,
    pub(crate) layout: Layout,
    /// Panels with readings of film: their index in the survey, and their system.
    pub(crate) systems: Vec<(usize, PanelSystem)>,
    pub(crate) hyper: Hyper,
    wild: Vec<WildReading>,
}

impl Posterior {
    /// The posterior of a survey.
    ///
    /// # Errors
    /// [`FilmError::NoReadings`] when no panel has a reading of film; otherwise when arithmetic fails on extreme numbers.
    pub fn of(survey: Survey) -> Result<Self, FilmError> {
        let layout = layout::lay_out(&survey);
        let mut systems: Vec<(usize, PanelSystem)> =
            survey.surfaces.iter().enumerate().filter_map(|(k, surface)| Some((k, PanelSystem::of(&surface.panel, k, &layout)?))).collect();
        if systems.is_empty() {
            return Err(FilmError::NoReadings);
        }
        for (_, system) in &mut systems {
            wild::weigh_down(system, &layout, Reference::FIRST, likely_state(system, &layout))?;
        }
        let refs: Vec<&PanelSystem> = systems.iter().map(|(_, s)| s).collect();
        let first = Hyper::weigh(&refs, &layout)?;
        let mut wild = Vec::new();
        let mut changed = false;
        if let Some(weight) = first.heaviest().copied() {
            let field = first.fields[weight.field];
            let reference = Reference {
                family: field.family,
                length_mm: field.length_mm,
                sd_um: field.sd_um,
                texture_um: field.texture_um,
                panel_sd_um: prior::PANEL_SDS_UM[weight.spread].0,
            };
            for (i, (_, system)) in systems.iter_mut().enumerate() {
                let states = first.states(&weight, i);
                let state = State::all().max_by(|a, b| states[a.0].total_cmp(&states[b.0])).unwrap_or(State(0));
                let before = system.noise_variance.clone();
                let probabilities = wild::weigh_down(system, &layout, reference, state)?;
                changed |= before.iter().zip(&system.noise_variance).any(|(a, b)| (a / b).ln().abs() > 0.2);
                wild.extend(
                    system
                        .rows
                        .iter()
                        .zip(probabilities)
                        .filter(|(_, p)| *p > 0.5)
                        .map(|(&row, probability)| WildReading { observation: layout.rows[row].observation, probability }),
                );
            }
        }
        let refs: Vec<&PanelSystem> = systems.iter().map(|(_, s)| s).collect();
        let hyper = if changed { Hyper::weigh(&refs, &layout)? } else { first };
        Ok(Self { survey, layout, systems, hyper, wild })
    }

    /// Readings more likely wild than not.
    #[must_use]
    pub fn wild_readings(&self) -> &[WildReading] {
        &self.wild
    }

    /// Whether panel `panel` has a reading of its film.
    #[must_use]
    pub fn is_measured(&self, panel: usize) -> bool {
        self.systems.iter().any(|(k, _)| *k == panel)
    }

    /// Whether an undercoat or a topcoat reading was taken on panel `panel`.
    #[must_use]
    pub fn undercoat_was_read(&self, panel: usize) -> bool {
        self.survey.observations.iter().any(|o| o.panel == panel && o.layer != Layer::Total)
    }

    /// Probability that panel `panel` was resprayed; the prior's when it has no readings.
    #[must_use]
    pub fn respray_probability(&self, panel: usize) -> f64 {
        self.state_probability(panel, State::resprayed, prior::RESPRAY_CHANCE)
    }

    /// Probability that panel `panel` thins towards its edges; the prior's when it has no readings.
    #[must_use]
    pub fn thin_edge_probability(&self, panel: usize) -> f64 {
        let prior = prior::THIN_EDGE_CHANCES.iter().map(|(c, w)| c * w).sum();
        self.state_probability(panel, |s| s.thin_edge().is_some(), prior)
    }

    fn state_probability(&self, panel: usize, holds: impl Fn(State) -> bool, unread: f64) -> f64 {
        self.systems.iter().position(|(k, _)| *k == panel).map_or(unread, |i| {
            let p = self.hyper.mean_states(i);
            State::all().filter(|s| holds(*s)).map(|s| p[s.0]).sum()
        })
    }

    /// Standard deviation of the film within a panel, um.
    #[must_use]
    pub fn field_sd_um(&self) -> Moments {
        self.moments(|f| self.hyper.fields[f].sd_um)
    }

    /// Distance over which the film keeps its value, mm.
    #[must_use]
    pub fn field_length_mm(&self) -> Moments {
        self.moments(|f| self.hyper.fields[f].length_mm)
    }

    fn moments(&self, value: impl Fn(usize) -> f64) -> Moments {
        let mean: f64 = self.hyper.weights.iter().map(|w| w.weight * value(w.field)).sum();
        let variance: f64 = self.hyper.weights.iter().map(|w| w.weight * (value(w.field) - mean).powi(2)).sum();
        Moments { mean, sd: variance.sqrt() }
    }
}

/// Original or resprayed, by the plain median of a panel's readings: good enough to compare each reading with its neighbours.
fn likely_state(system: &PanelSystem, layout: &Layout) -> State {
    let mut y = system.centred(layout);
    y.sort_by(f64::total_cmp);
    let median = y[y.len() / 2];
    let evidence = |state: State| {
        let (mean, variance) = state.offset(6.0);
        -0.5 * ((median - mean).powi(2) / variance + variance.ln()) + state.prior(0.0).ln()
    };
    let (original, resprayed) = (State(0), State(crate::panel_system::SCALES + 1));
    if evidence(resprayed) > evidence(original) { resprayed } else { original }
}
