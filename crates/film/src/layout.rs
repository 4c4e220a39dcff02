//! Which unknowns a survey has, in which order, and each reading as a row over them.

use std::collections::BTreeMap;
use std::ops::Range;

use lastmicron_numerics::mixture::Prior;

use crate::gauge::{Gauge, Layer};
use crate::prior;
use crate::survey::{Observation, PanelUndercoat, Survey};

/// Places without topcoat that are nearer to each other than this share what they lack, mm. Judgement: one hidden spot.
const SAME_HIDDEN_PLACE_MM: f64 = 100.0;

/// Sizes of the vehicle's mean build that no reading is needed to exclude, um: so wide that it decides nothing.
const VEHICLE_MEAN_SD_UM: f64 = 150.0;

/// One reading as a row: value = film x (panel's film at its place) + sum of coefficient x unknown + noise.
#[derive(Clone, Debug)]
pub(crate) struct Row {
    /// Index of the observation.
    pub(crate) observation: usize,
    pub(crate) panel: usize,
    pub(crate) place_mm: [f64; 2],
    pub(crate) value_um: f64,
    /// Whether the panel's own film (offset, edge, field) is part of it.
    pub(crate) film: bool,
    pub(crate) on: Vec<(usize, f64)>,
    /// Variance of the gauge's repeatability and display, um2: texture comes on top.
    pub(crate) gauge_variance: f64,
}

/// The unknowns of a survey beside the panels' own film, in order.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    pub(crate) priors: Vec<Prior>,
    pub(crate) rows: Vec<Row>,
    /// Index of each panel's undercoat offset (or own undercoat).
    pub(crate) undercoat_of: Vec<usize>,
    /// Index of the offset of each gauge and session; its gain follows.
    pub(crate) errors_of: BTreeMap<(usize, usize), usize>,
    /// Indices of what hidden places lack of the undercoat.
    pub(crate) lacking: Range<usize>,
    /// Index of the first unknown that the caller named.
    pub(crate) first_named: usize,
}

impl Layout {
    /// The surface whose undercoat's offset unknown `u` is.
    pub(crate) fn surface_of(&self, u: usize) -> Option<usize> {
        u.checked_sub(VEHICLE_UNDERCOAT + 1).filter(|k| *k < self.undercoat_of.len())
    }

    /// Whether unknown `u` is one of the undercoat: the vehicle's, a panel's, or what a hidden place lacks.
    pub(crate) fn is_of_undercoat(&self, u: usize) -> bool {
        u == VEHICLE_UNDERCOAT || self.surface_of(u).is_some() || self.lacking.contains(&u)
    }

    /// Whether some reading of film depends on an undercoat, as one of the topcoat alone does.
    pub(crate) fn film_shows_undercoat(&self) -> bool {
        self.rows.iter().filter(|row| row.film).flat_map(|row| &row.on).any(|&(u, _)| self.is_of_undercoat(u))
    }

    /// Offsets among the values `x` of the unknowns `of`: surface and um.
    pub(crate) fn offsets<'a>(&'a self, of: &'a [usize], x: &'a [f64]) -> impl Iterator<Item = (usize, f64)> + Clone + 'a {
        of.iter().zip(x).filter_map(|(&u, um)| Some((self.surface_of(u)?, *um)))
    }
}

/// Index of the vehicle's mean build.
pub(crate) const VEHICLE_MEAN: usize = 0;
/// Index of the vehicle's undercoat.
pub(crate) const VEHICLE_UNDERCOAT: usize = 1;

/// Lays out a survey.
pub(crate) fn lay_out(survey: &Survey) -> Layout {
    let undercoat_um = survey.undercoat.mean();
    let mut priors = vec![Prior::normal(central_build(survey, undercoat_um), VEHICLE_MEAN_SD_UM), survey.undercoat.clone()];
    let undercoat_of: Vec<usize> = (0..survey.surfaces.len()).map(|k| priors.len() + k).collect();
    priors.extend(survey.surfaces.iter().map(|s| match &s.undercoat {
        PanelUndercoat::About { sd_um } => prior::undercoat_offset_of_any_spread(*sd_um),
        PanelUndercoat::Own(own) => own.clone(),
    }));
    let mut sessions = BTreeMap::new();
    for o in &survey.observations {
        sessions.entry((o.gauge, o.session)).or_insert_with(|| {
            let [offset, gain] = gauge_errors(&survey.gauges[o.gauge]);
            priors.extend([offset, gain]);
            priors.len() - 2
        });
    }
    let hidden = hidden_places(survey);
    let first_lacking = priors.len();
    let count = hidden.iter().flatten().max().map_or(0, |m| m + 1);
    priors.extend((0..count).map(|_| prior::lacking(undercoat_um)));
    let first_named = priors.len();
    priors.extend(survey.unknowns.iter().map(|u| u.prior.clone()));

    let rows = survey
        .observations
        .iter()
        .enumerate()
        .map(|(i, o)| {
            let gauge = &survey.gauges[o.gauge];
            let session = sessions[&(o.gauge, o.session)];
            let mut on = vec![(session, 1.0), (session + 1, o.value_um)];
            let offset_only = matches!(survey.surfaces[o.panel].undercoat, PanelUndercoat::About { .. });
            let mut undercoat = |sign: f64| {
                on.push((undercoat_of[o.panel], sign));
                if offset_only {
                    on.push((VEHICLE_UNDERCOAT, sign));
                }
            };
            match o.layer {
                Layer::Total => {}
                Layer::Undercoat => undercoat(1.0),
                Layer::Topcoat => undercoat(-1.0),
            }
            if let Some(place) = hidden[i] {
                on.push((first_lacking + place, -1.0));
            }
            let film = o.layer != Layer::Undercoat;
            if film {
                on.push((VEHICLE_MEAN, 1.0));
                on.extend(o.removed.iter().map(|&(u, c)| (first_named + u, -c)));
            }
            let step = gauge.resolution_um;
            let gauge_variance = gauge.repeatability_um.powi(2) + step * step / 12.0;
            Row { observation: i, panel: o.panel, place_mm: o.place_mm, value_um: o.value_um, film, on, gauge_variance }
        })
        .collect();
    Layout { priors, rows, undercoat_of, errors_of: sessions, lacking: first_lacking..first_named, first_named }
}

/// Offset (um) and gain (a share) of a gauge, from the maker's rectangles: half-width over root three (GUM 4.3.7).
pub(crate) fn gauge_errors(gauge: &Gauge) -> [Prior; 2] {
    let sd = |half_width: f64| (half_width / 3f64.sqrt()).max(1e-6);
    [Prior::normal(0.0, sd(gauge.fixed_um)), Prior::normal(0.0, sd(gauge.percent / 100.0))]
}

/// For each observation of undercoat, the number of its hidden place.
fn hidden_places(survey: &Survey) -> Vec<Option<usize>> {
    let mut places: Vec<(usize, [f64; 2])> = Vec::new();
    survey
        .observations
        .iter()
        .map(|o| {
            (o.layer == Layer::Undercoat).then(|| {
                let near = |(panel, p): &(usize, [f64; 2])| {
                    *panel == o.panel && f64::hypot(p[0] - o.place_mm[0], p[1] - o.place_mm[1]) < SAME_HIDDEN_PLACE_MM
                };
                places.iter().position(near).unwrap_or_else(|| {
                    places.push((o.panel, o.place_mm));
                    places.len() - 1
                })
            })
        })
        .collect()
}

/// Median over the panels of each panel's median build, um: where the vehicle's mean is sought. A panel that was read often, as one with a
/// test spot is, counts once.
fn central_build(survey: &Survey, undercoat_um: f64) -> f64 {
    let of_panel = |k: usize| {
        let build = |o: &Observation| match o.layer {
            Layer::Total => Some(o.value_um),
            Layer::Topcoat => Some(o.value_um + undercoat_um),
            Layer::Undercoat => None,
        };
        median(survey.observations.iter().filter(|o| o.panel == k).filter_map(build).collect())
    };
    median((0..survey.surfaces.len()).filter_map(of_panel).collect()).unwrap_or(undercoat_um)
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}
