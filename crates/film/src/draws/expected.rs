//! What a gauge is to be expected to show at a place: the posterior predictive law of one more reading.

use std::collections::HashMap;

use lastmicron_numerics::mixture::Component;
use lastmicron_numerics::normal;

use super::Draws;
use crate::gauge::Layer;
use crate::layout::{VEHICLE_MEAN, gauge_errors};
use crate::panel_system::{Lags, PanelSystem, State, profiles};
use crate::posterior::{FilmError, Posterior};
use crate::prior;
use crate::survey::Observation;

/// The law of one more reading, um: a mixture of normals, wild readings left out.
#[derive(Clone, Debug, PartialEq)]
pub struct Expected {
    parts: Vec<Component>,
}

/// Halvings by which a quantile is sought: from 100 mm down to less than a nanometre.
const HALVINGS: usize = 50;

impl Expected {
    /// Chance of a reading below `um`.
    #[must_use]
    pub fn below(&self, um: f64) -> f64 {
        self.parts.iter().map(|c| c.weight * normal::cumulative((um - c.mean) / c.sd)).sum()
    }

    /// Chance of a reading above `um`.
    #[must_use]
    pub fn above(&self, um: f64) -> f64 {
        self.parts.iter().map(|c| c.weight * normal::upper_tail((um - c.mean) / c.sd)).sum()
    }

    /// The reading, um, that lies above a share `p` of all, 0 < p < 1. Method: bisection.
    #[must_use]
    pub fn quantile(&self, p: f64) -> f64 {
        let ends = self.parts.iter().map(|c| (c.mean - 9.0 * c.sd, c.mean + 9.0 * c.sd));
        let (mut low, mut high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), (c, d)| (a.min(c), b.max(d)));
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if self.below(middle) < p { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }
}

/// What a panel's readings say of its film at one place under one hypothesis.
struct Kriged {
    /// Weights of the readings' residuals.
    weights: Vec<f64>,
    variance: f64,
}

impl Posterior {
    /// The law of the reading `at` before it is taken: its value is not looked at, nor must it be among those of the posterior.
    ///
    /// Method: `count` joint draws of hypotheses and unknowns and as many again, as [`Posterior::draw`] makes them; given each, the film at the place is normal,
    /// by kriging from the panel's readings. So the tails are those of normal laws and not of so many draws. A session with no reading yet has its
    /// gauge's errors before any reading; a panel with none has the prior's states.
    ///
    /// # Errors
    /// [`FilmError`] when arithmetic fails on extreme numbers.
    pub fn expected(&self, at: &Observation, count: usize, seed: u64) -> Result<Expected, FilmError> {
        let draws = self.draw_but_fields(count, seed)?;
        let mut parts = Vec::new();
        let mut place = Place::of(&draws, at);
        for draw in 0..draws.count() {
            match at.layer {
                Layer::Undercoat => parts.extend(place.undercoat(draw)),
                Layer::Total | Layer::Topcoat => parts.extend(place.film(draw)),
            }
        }
        let total: f64 = parts.iter().map(|c| c.weight).sum();
        parts.iter_mut().for_each(|c| c.weight /= total);
        Ok(Expected { parts })
    }
}

/// A place to be read.
struct Place<'a> {
    draws: &'a Draws<'a>,
    at: &'a Observation,
    /// Number of its panel among the measured ones.
    measured: Option<usize>,
    edge: [f64; crate::panel_system::SCALES],
    lags: HashMap<usize, Lags>,
    kriged: HashMap<u32, Kriged>,
}

impl<'a> Place<'a> {
    fn of(draws: &'a Draws<'a>, at: &'a Observation) -> Self {
        let posterior = draws.posterior;
        let [x, y] = at.place_mm;
        let edge = profiles(posterior.survey.surfaces[at.panel].panel.edge_distance_mm(x, y));
        let measured = posterior.systems.iter().position(|(k, _)| *k == at.panel);
        Self { draws, at, measured, edge, lags: HashMap::new(), kriged: HashMap::new() }
    }

    /// What is shown of a film of this mean and variance in `draw`.
    fn shown(&self, draw: usize, weight: f64, mean_um: f64, variance: f64) -> Component {
        let (posterior, at) = (self.draws.posterior, self.at);
        let gauge = &posterior.survey.gauges[at.gauge];
        let texture = posterior.hyper.fields[self.draws.hypotheses[draw].weight.field].texture_um;
        let noise = gauge.repeatability_um.powi(2) + gauge.resolution_um.powi(2) / 12.0 + texture * texture;
        let (mean, of_errors, slope) = match posterior.layout.errors_of.get(&(at.gauge, at.session)) {
            Some(&u) => {
                let gain = self.draws.unknown(draw, u + 1);
                (mean_um * (1.0 + gain) + self.draws.unknown(draw, u), 0.0, 1.0 + gain)
            }
            None => {
                let [offset, gain] = gauge_errors(gauge).map(|e| e.variance());
                (mean_um, offset + mean_um * mean_um * gain, 1.0)
            }
        };
        Component { weight, mean, sd: (variance * slope * slope + of_errors + noise).max(f64::MIN_POSITIVE).sqrt() }
    }

    /// What is shown of the film in `draw`.
    fn film(&mut self, draw: usize) -> Vec<Component> {
        let (draws, at) = (self.draws, self.at);
        let taken: f64 = at.removed.iter().map(|&(u, c)| c * draws.named(draw, u)).sum();
        let under = if at.layer == Layer::Topcoat { draws.undercoat_um(draw, 0, at.panel) } else { 0.0 };
        let level = draws.unknown(draw, VEHICLE_MEAN) - taken - under;
        let Some(i) = self.measured else {
            let h = &draws.hypotheses[draw].weight;
            return State::all()
                .map(|state| {
                    let (mean, variance) = self.before_readings(draw, state);
                    self.shown(draw, state.prior(h.thin_edge_chance), level + mean, variance)
                })
                .collect();
        };
        let which = draws.factors[i].1[draw];
        if !self.kriged.contains_key(&which) {
            let kriged = self.krige(i, draw);
            self.kriged.insert(which, kriged);
        }
        let state = draws.hypotheses[draw].states[i];
        let (mean, _) = self.before_readings(draw, state);
        let kriged = &self.kriged[&which];
        let residual = self.residuals(i, draw, state);
        let told: f64 = kriged.weights.iter().zip(residual).map(|(w, r)| w * r).sum();
        vec![self.shown(draw, 1.0, level + mean + told, kriged.variance)]
    }

    /// Mean of offset and edge term at the place under `state`, and the variance of the film there before any of the panel's readings, um and um2.
    fn before_readings(&self, draw: usize, state: State) -> (f64, f64) {
        let weight = &self.draws.hypotheses[draw].weight;
        let sd = self.draws.posterior.hyper.fields[weight.field].sd_um;
        let ((mean, variance), (edge_mean, edge_variance)) = (state.offset(prior::PANEL_SDS_UM[weight.spread].0), state.edge());
        let e = state.thin_edge().map_or(0.0, |scale| self.edge[scale]);
        (mean + edge_mean * e, variance + edge_variance * e * e + sd * sd)
    }

    fn residuals(&self, i: usize, draw: usize, state: State) -> impl Iterator<Item = f64> {
        let (posterior, draws) = (self.draws.posterior, self.draws);
        let system = &posterior.systems[i].1;
        let panel_sd = prior::PANEL_SDS_UM[draws.hypotheses[draw].weight.spread].0;
        (0..system.len()).map(move |r| {
            let row = &posterior.layout.rows[system.rows[r]];
            let known: f64 = row.on.iter().map(|&(u, c)| c * draws.unknown(draw, u)).sum();
            row.value_um - known - system.state_mean(state, panel_sd, r)
        })
    }

    /// Kriging of the film at the place from the readings of measured panel `i` under the hypothesis of `draw`.
    fn krige(&mut self, i: usize, draw: usize) -> Kriged {
        let draws = self.draws;
        let system: &PanelSystem = &draws.posterior.systems[i].1;
        let h = &draws.hypotheses[draw];
        let field = draws.posterior.hyper.fields[h.weight.field];
        let (nx, ny) = (system.grid.nx, system.grid.ny);
        let lags = self.lags.entry(field.group).or_insert_with(|| Lags::new(field.family, field.length_mm, nx, ny));
        let place = system.grid.between(self.at.place_mm[0], self.at.place_mm[1]);
        let correlation = |other: &crate::grid::Between| -> f64 {
            place
                .iter()
                .flat_map(|&(a, wa)| other.iter().map(move |&(b, wb)| (a, b, wa * wb)))
                .map(|(a, b, w)| w * lags.between(nx, a, b))
                .sum()
        };
        let state = h.states[i];
        let ((_, offset), (_, of_edge)) = (state.offset(prior::PANEL_SDS_UM[h.weight.spread].0), state.edge());
        let along = |edge: &[f64; crate::panel_system::SCALES]| state.thin_edge().map_or(0.0, |scale| edge[scale]);
        let e = along(&self.edge);
        let variance = field.sd_um * field.sd_um;
        let with = |between: &crate::grid::Between, edge: f64| variance * correlation(between) + offset + of_edge * e * edge;
        let covariance: Vec<f64> = system.between.iter().zip(&system.edge).map(|(b, edge)| with(b, along(edge))).collect();
        let mut weights = covariance.clone();
        draws.factors[i].0[draws.factors[i].1[draw] as usize].cholesky.solve(&mut weights);
        let told: f64 = weights.iter().zip(&covariance).map(|(w, c)| w * c).sum();
        Kriged { variance: (with(&place, e) - told).max(0.0), weights }
    }

    /// What is shown in `draw` of the undercoat at a place without topcoat, which may lack some of it.
    fn undercoat(&self, draw: usize) -> Vec<Component> {
        let posterior = self.draws.posterior;
        let lacks = prior::lacking(posterior.survey.undercoat.mean());
        let of = self.draws.undercoat_um(draw, 0, self.at.panel);
        lacks.components().iter().map(|c| self.shown(draw, c.weight, of - c.mean, c.sd * c.sd)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gauge::{Gauge, Substrate};
    use crate::panel::Panel;
    use crate::survey::{PanelUndercoat, Surface, Survey};
    use lastmicron_numerics::mixture::Prior;

    fn read(panel: usize, x: f64, y: f64, value_um: f64, layer: Layer) -> Observation {
        Observation { panel, place_mm: [x, y], value_um, layer, gauge: 0, session: 0, removed: vec![] }
    }

    /// A door read at five places, a wing not read.
    fn posterior() -> Posterior {
        let surface = |name: &str| Surface {
            panel: Panel::rectangle(name, 600.0, 500.0, Substrate::Steel),
            undercoat: PanelUndercoat::About { sd_um: 1.6 },
        };
        let places = [(20.0, 30.0, 57.0), (300.0, 250.0, 61.0), (580.0, 240.0, 59.5), (310.0, 480.0, 58.0), (150.0, 300.0, 60.0)];
        let gauge = Gauge { name: String::new(), fixed_um: 1.0, percent: 1.0, repeatability_um: 0.8, resolution_um: 0.1, through_um: 0.0 };
        Posterior::of(Survey {
            surfaces: vec![surface("door"), surface("wing")],
            undercoat: Prior::normal(30.0, 3.0),
            gauges: vec![gauge],
            unknowns: vec![],
            observations: places.iter().map(|&(x, y, um)| read(0, x, y, um, Layer::Total)).collect(),
        })
        .unwrap()
    }

    fn moments(law: &Expected) -> (f64, f64) {
        let mean: f64 = law.parts.iter().map(|c| c.weight * c.mean).sum();
        (mean, law.parts.iter().map(|c| c.weight * (c.sd * c.sd + (c.mean - mean).powi(2))).sum())
    }

    #[test]
    fn the_law_of_a_reading_is_that_of_the_film_drawn_at_its_node_and_the_gauge() {
        let posterior = posterior();
        let count = 2000;
        let draws = posterior.draw(count, 4).unwrap();
        let grid = draws.grid(0).unwrap();
        for node in [0, 5, grid.nodes() / 2, grid.nodes() - 1] {
            let [x, y] = grid.place_mm(node);
            let law = posterior.expected(&read(0, x, y, f64::NAN, Layer::Total), count, 4).unwrap();
            let film = draws.film(0, 0..draws.count()).unwrap();
            let shown: Vec<f64> =
                (0..draws.count()).map(|d| draws.shown_um(d, 0, 0, f64::from(film.build_um[d * grid.nodes() + node]))).collect();
            let n = shown.len() as f64;
            let mean = shown.iter().sum::<f64>() / n;
            let variance = shown.iter().map(|s| (s - mean).powi(2)).sum::<f64>() / n;
            let textures = posterior.hyper.weights.iter().map(|w| w.weight * posterior.hyper.fields[w.field].texture_um.powi(2));
            let noise = 0.8 * 0.8 + 0.01 / 12.0 + textures.sum::<f64>();
            let (of_law, variance_of_law) = moments(&law);
            // Four standard errors of a mean and of a variance of so many draws, a normal law's.
            assert!((of_law - mean).abs() < 4.0 * (variance / n).sqrt(), "{node}: {of_law} {mean}");
            assert!(
                (variance_of_law / (variance + noise) - 1.0).abs() < 4.0 * (2.0 / n).sqrt(),
                "{node}: {variance_of_law} {variance} {noise}"
            );
        }
    }

    #[test]
    fn a_panel_that_was_not_read_is_less_sure_than_one_that_was_and_may_be_resprayed() {
        let posterior = posterior();
        let law = |panel: usize| posterior.expected(&read(panel, 300.0, 250.0, 0.0, Layer::Total), 300, 1).unwrap();
        let (door, wing) = (law(0), law(1));
        assert!(moments(&wing).1 > 4.0 * moments(&door).1);
        // One in ten is resprayed before any reading, with 90 um more in the mean (the prior's).
        assert!(wing.above(110.0) > 0.05 && wing.above(110.0) < 0.15 && door.above(110.0) < 1e-6);
    }

    #[test]
    fn a_place_without_topcoat_shows_the_undercoat_or_less() {
        let law = posterior().expected(&read(0, 0.0, 0.0, 0.0, Layer::Undercoat), 300, 1).unwrap();
        let (low, high) = (law.quantile(0.025), law.quantile(0.975));
        assert!(low < 22.0 && high > 33.0 && high < 40.0, "{low} {high}");
    }

    #[test]
    fn quantiles_and_chances_are_each_others_inverse() {
        let law =
            Expected { parts: vec![Component { weight: 0.9, mean: 60.0, sd: 2.0 }, Component { weight: 0.1, mean: 150.0, sd: 40.0 }] };
        for p in [1e-6, 0.025, 0.5, 0.95, 0.999] {
            assert!((law.below(law.quantile(p)) / p - 1.0).abs() < 1e-6);
        }
        assert!((law.below(60.0) + law.above(60.0) - 1.0).abs() < 1e-12);
        // [D] Half of the first normal and 0.1 x P(Z < -2.25), which is 0.012224 [M].
        assert!((law.below(60.0) - (0.45 + 0.1 * 0.012_224)).abs() < 1e-6);
    }
}
