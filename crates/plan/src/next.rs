//! Where to measure next: the readings that would help the plan most, chosen together.
//!
//! The doubt that costs correction is the doubt about each tile's room. What a set of readings would take off it is worked out on the
//! joint draws by linear regression (exact for normal laws), and priced by what the plan could then do: at a price for risk, the best
//! treatment for every room that may turn out. Readings are added one by one, each given those before it, so a second beside the first is
//! worth little.

use std::ops::Range;

use lastmicron_film::UNDERCOATS;
use lastmicron_film::gauge::{Gauge, Layer, Substrate};
use lastmicron_numerics::normal;
use lastmicron_units::Unit;
use rayon::prelude::*;

use crate::car::Car;
use crate::choose::{Effort, Prepared};
use crate::chosen::Chosen;
use crate::drawn::Drawn;
use crate::error::PlanError;
use crate::levels::KEEP_OFF_MM;
use crate::problem::Choice;
use crate::report::Made;
use crate::room::Above;

/// One reading to take.
#[derive(Clone, Debug, PartialEq)]
pub struct Advice {
    /// Index of the panel.
    pub panel: usize,
    /// Place, mm; for an undercoat reading no place is known, and it is the panel's lower left.
    pub x_mm: f64,
    /// Place, mm.
    pub y_mm: f64,
    /// What to read: the total, or the undercoat where there is no topcoat.
    pub layer: Layer,
    /// What the plan is expected to gain by it, after those before it: correction, and risk taken away at what correction it costs, as a share of all
    /// defects. Correction alone gains less.
    pub gain: f64,
    /// Why, in a sentence.
    pub why: String,
}

/// Spacing of the places considered, mm. Judgement: finer than any field's length that readings could follow.
const SPACING_MM: f64 = 100.0;

/// Nearest to an edge that a reading is advised, mm: closer, the edge itself bends what a gauge reads. Common practice, no source.
const LEAST_EDGE_MM: f64 = 20.0;

/// Level at which the edges of a tile that the plan leaves alone are kept off when its worth is asked: work there would begin off the edges.
const LEFT_ALONE_LEVEL: usize = 1;

/// Nearer to an edge than this a reading is advised for the edge's sake, mm: half as far again as edges are first kept off.
const NEAR_EDGE_MM: f64 = 1.5 * KEEP_OFF_MM[1];

/// Texture under a reading to come, um. Judgement: the middle of the prior.
const TEXTURE_UM: f64 = 0.6;

/// Chance that a place without topcoat has all the primers of its panel, so that reading it tells of the panel. Judgement, as in the film's
/// prior of what such places lack.
const COMPLETE: f64 = 0.8;

/// Shares of a room's variance explained at which its worth is worked out.
const SHARES: usize = 24;

/// Abscissae at which an outcome of the readings is priced, in standard deviations: middles of equal slices of probability.
const OUTCOMES: usize = 31;

/// The `count` readings that would help the plan most, best first, chosen together.
///
/// # Errors
/// [`PlanError`] when the car gives nothing to plan from.
pub fn next(car: &Car, count: usize, effort: Effort) -> Result<Vec<Advice>, PlanError> {
    let prepared = Prepared::new(car, effort, Unit::Micrometre)?;
    prepared.with(|made| {
        let mut weighed = Weighed::of(made, effort.seed);
        let first_noise = weighed.places.len();
        let mut advice: Vec<Advice> = Vec::new();
        while advice.len() < count {
            let Some((best, gain)) = weighed.best(|_| true) else { break };
            let place = weighed.places[best].clone();
            advice.push(told(car, &place, gain, &weighed.rooms));
            condition(&place, &mut weighed.rooms, &mut weighed.places);
            if place.layer == Layer::Undercoat {
                weighed.places.remove(best);
            } else {
                // Read again, the place would show a new noise.
                weighed.places[best].noise_um = made.drawn.noise(weighed.half.len(), first_noise + advice.len(), weighed.noise_sd_um);
            }
        }
        Ok(advice)
    })
}

/// The place of each of some panels by which the plan would gain most, and the undercoat reading by which it would gain more, where there is one.
pub(crate) fn next_on(made: &Made, seed: u64, panels: &[usize]) -> Vec<BestOn> {
    let weighed = Weighed::of(made, seed);
    let best = |panel: usize, wanted: &(dyn Fn(&Place) -> bool + Sync)| {
        let (best, gain) = weighed.best(|place| place.panel == panel && wanted(place))?;
        Some(told(made.car, &weighed.places[best], gain, &weighed.rooms))
    };
    let on = |&panel: &usize| {
        let place = best(panel, &|place| place.layer != Layer::Undercoat);
        let undercoat = best(panel, &|place| place.layer == Layer::Undercoat);
        let gain = |advice: &Option<Advice>| advice.as_ref().map_or(0.0, |advice| advice.gain);
        let undercoat = if gain(&undercoat) > gain(&place) { undercoat } else { None };
        BestOn { place, undercoat }
    };
    panels.iter().map(on).collect()
}

/// What to read next on a panel.
pub(crate) struct BestOn {
    /// The place.
    pub(crate) place: Option<Advice>,
    /// The undercoat, where that is worth more than any place.
    pub(crate) undercoat: Option<Advice>,
}

/// Readings that could be taken, and the rooms that they would tell of.
struct Weighed {
    rooms: Vec<Room>,
    places: Vec<Place>,
    /// Films of the draws that both rest on.
    half: Range<usize>,
    noise_sd_um: f64,
}

impl Weighed {
    fn of(made: &Made, seed: u64) -> Self {
        let chosen = crate::choose::choose(made, seed);
        let half = made.drawn.film.first_half();
        let noise_sd_um = made.car.gauges.first().map_or(0.0, noise_sd_um);
        Self { rooms: rooms(made, &chosen, &half), places: places(made, noise_sd_um, &half), half, noise_sd_um }
    }

    /// Index and gain of the place that the plan would gain most by, of those that are `wanted`.
    fn best(&self, wanted: impl Fn(&Place) -> bool + Sync) -> Option<(usize, f64)> {
        let gain = |(i, place): (usize, &Place)| wanted(place).then(|| (i, expected_gain(place, &self.rooms)));
        let gains: Vec<(usize, f64)> = self.places.par_iter().enumerate().filter_map(gain).collect();
        gains.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// A tile's room and what it is worth to know it better.
#[derive(Clone)]
struct Room {
    panel: usize,
    /// What of the room's deviation from its mean is still in doubt, by draw, um.
    rest_um: Vec<f32>,
    variance: f64,
    /// Worth by share of variance explained, 0 to 1 in equal steps.
    worth: Vec<f64>,
    explained: f64,
}

/// A reading that could be taken.
#[derive(Clone)]
struct Place {
    panel: usize,
    place_mm: [f64; 2],
    layer: Layer,
    /// What of its deviation from its mean is still in doubt, noise left out, by draw, um.
    rest_um: Vec<f32>,
    /// The noise that it would have, by draw, um.
    noise_um: Vec<f32>,
}

fn centred(mut values: Vec<f32>) -> Vec<f32> {
    let mean = values.iter().map(|v| f64::from(*v)).sum::<f64>() / values.len() as f64;
    values.iter_mut().for_each(|v| *v -= mean as f32);
    values
}

fn product(a: &[f32], b: &[f32]) -> f64 {
    // In blocks: single precision would lose digits over thousands of draws.
    let blocks = a.chunks(64).zip(b.chunks(64));
    blocks.map(|(a, b)| f64::from(a.iter().zip(b).map(|(x, y)| x * y).sum::<f32>())).sum::<f64>() / a.len() as f64
}

/// The room of every tile that may be worked, and its worth.
fn rooms(made: &Made, chosen: &Chosen, half: &Range<usize>) -> Vec<Room> {
    let price = price_of_risk(made, chosen);
    made.problem
        .tiles
        .par_iter()
        .enumerate()
        .filter_map(|(i, tile)| {
            let panel = made.problem.panels[tile.panel].panel;
            let mut levels = chosen.levels[tile.panel].clone();
            if chosen.treatment[i] == 0 {
                levels.iter_mut().for_each(|l| *l = LEFT_ALONE_LEVEL);
            }
            let level = tile.levels.combined(&levels);
            let of = &made.rooms[panel].as_ref()?.tiles[tile.number];
            of.worked(level).next()?;
            let draws = Drawn::first_with(half.start)..Drawn::first_with(half.end);
            // A tile left alone is asked about as the mildest treatment would work it.
            let blend = made.treatments.get(chosen.treatment[i].max(1))?.blend;
            let above = Above { drawn: made.drawn, panel, draws, floor_um: made.car.limits.floor.micrometres(), blend };
            let room: Vec<f32> = of.room(&above, level).into_iter().step_by(UNDERCOATS).collect();
            let mean = room.iter().map(|v| f64::from(*v)).sum::<f64>() / room.len() as f64;
            let rest_um = centred(room);
            let variance = product(&rest_um, &rest_um);
            let options: Vec<(f64, f64)> = tile.options[level]
                .iter()
                .zip(made.treatments)
                .filter(|(o, _)| o.fits && o.within_spend)
                .map(|(o, t)| (o.value, t.mean_um))
                .collect();
            let worth = (0..=SHARES).map(|i| worth(mean, variance, i as f64 / SHARES as f64, &options, price)).collect();
            Some(Room { panel, rest_um, variance, worth, explained: 0.0 })
        })
        .collect()
}

/// What a tile is expected to be worth when the share `explained` of its room's variance is known before treating it.
fn worth(mean_um: f64, variance: f64, explained: f64, options: &[(f64, f64)], price: f64) -> f64 {
    let (known, doubt) = ((variance * explained).sqrt(), (variance * (1.0 - explained)).sqrt().max(1e-6));
    let of = |z: f64| {
        let room = mean_um + known * z;
        let net = |&(value, taken): &(f64, f64)| {
            if taken <= 0.0 { 0.0 } else { value - price * normal::cumulative((taken - room) / doubt) }
        };
        options.iter().map(net).fold(0.0, f64::max)
    };
    (0..OUTCOMES).map(|i| of(normal::quantile((i as f64 + 0.5) / OUTCOMES as f64))).sum::<f64>() / OUTCOMES as f64
}

/// What a unit of risk is worth to the plan as it stands: what the best step not taken would gain over what it would endanger.
fn price_of_risk(made: &Made, chosen: &Chosen) -> f64 {
    let mut ratios: Vec<f64> = Vec::new();
    for (i, &treatment) in chosen.treatment.iter().enumerate() {
        let options = chosen.options(made.problem, i);
        let now = &options[treatment];
        // What stands already is endangered under any of them.
        let stands = made.problem.tiles[i].standing.below.len() as f64 / made.problem.draws as f64;
        let more = |o: &Choice| o.risk.max(stands) - now.risk.max(stands);
        let best = options
            .iter()
            .filter(|o| o.value > now.value + 1e-4 && more(o) > 0.0)
            .map(|o| (o.value - now.value) / more(o))
            .fold(0.0, f64::max);
        if best > 0.0 {
            ratios.push(best);
        }
    }
    ratios.sort_by(f64::total_cmp);
    // Steps beyond the risk are not taken for want of room: the better half of them shows what room is worth.
    let usual = 0.1 / made.car.limits.risk;
    ratios.get(ratios.len() * 3 / 4).copied().unwrap_or(usual).clamp(0.5, 10.0 * usual)
}

/// Every reading considered: totals over each measured panel, and one undercoat reading a panel where none was taken. Panels that were measured
/// and not summed up are left out.
fn places(made: &Made, noise_sd: f64, half: &Range<usize>) -> Vec<Place> {
    let (car, drawn) = (made.car, made.drawn);
    let left_out = |k: usize| made.rooms[k].is_none() && drawn.knowledge.posterior.is_measured(k);
    let session = drawn.knowledge.last_session(car);
    let mut places: Vec<Place> = (0..car.panels.len())
        .into_par_iter()
        .filter(|&k| car.panels[k].work && !left_out(k))
        .flat_map_iter(|panel| {
            let film = drawn.film.film(panel, half.clone());
            let totals: Vec<Place> = film.map_or_else(Vec::new, |film| {
                let nodes = film.grid.nodes();
                let considered = (0..nodes).filter(|&n| is_considered(&film.grid, n));
                considered
                    .map(|n| {
                        let of = |d: usize| {
                            let build = f64::from(film.build_um[(d - half.start) * nodes + n]);
                            drawn.film.shown_um(d, 0, session, build) as f32
                        };
                        Place {
                            panel,
                            place_mm: film.grid.place_mm(n),
                            layer: Layer::Total,
                            rest_um: centred(half.clone().map(of).collect()),
                            noise_um: Vec::new(),
                        }
                    })
                    .collect()
            });
            let known = car.readings.iter().any(|r| r.panel == panel && r.layer == Layer::Undercoat);
            // On plastic no gauge of this kind reads anything.
            let is_readable = car.panels[panel].panel.substrate != Substrate::Plastic;
            let undercoat = (!known && is_readable).then(|| {
                let of = |d: usize| drawn.film.shown_um(d, 0, session, drawn.film.undercoat_um(d, 0, panel)) as f32;
                let rest_um = centred(half.clone().map(of).collect());
                Place { panel, place_mm: [0.0, 0.0], layer: Layer::Undercoat, rest_um, noise_um: Vec::new() }
            });
            totals.into_iter().chain(undercoat)
        })
        .collect();
    for (i, place) in places.iter_mut().enumerate() {
        place.noise_um = drawn.noise(half.len(), i, noise_sd);
    }
    places
}

fn noise_sd_um(gauge: &Gauge) -> f64 {
    (gauge.repeatability_um.powi(2) + gauge.resolution_um.powi(2) / 12.0 + TEXTURE_UM * TEXTURE_UM).sqrt()
}

/// Nodes about [`SPACING_MM`] apart, those nearest to the edges that a gauge can still read among them.
fn is_considered(grid: &lastmicron_film::grid::Grid, n: usize) -> bool {
    let along = |i: usize, count: usize, step: f64| {
        let every = (SPACING_MM / step).round().max(1.0) as usize;
        i == 1 || i + 2 == count || i.is_multiple_of(every)
    };
    let [i, j] = [n % grid.nx, n / grid.nx];
    grid.on_panel(n) && grid.edge_mm[n] >= LEAST_EDGE_MM && along(i, grid.nx, grid.step_mm[0]) && along(j, grid.ny, grid.step_mm[1])
}

/// What the plan is expected to gain by reading `place`, given all that was chosen before it.
fn expected_gain(place: &Place, rooms: &[Room]) -> f64 {
    let variance = product(&place.rest_um, &place.rest_um) + product(&place.noise_um, &place.noise_um);
    let gain: f64 = rooms
        .iter()
        .filter(|r| r.variance > 1e-9 && (place.layer == Layer::Undercoat || r.panel == place.panel))
        .map(|r| {
            let with = product(&r.rest_um, &place.rest_um);
            let explained = with * with / variance / r.variance;
            r.at(r.explained + explained) - r.at(r.explained)
        })
        .sum();
    if place.layer == Layer::Undercoat { COMPLETE * gain } else { gain }
}

impl Room {
    /// Worth when the share `explained` of the variance is known, between the shares worked out.
    fn at(&self, explained: f64) -> f64 {
        let at = explained.clamp(0.0, 1.0) * SHARES as f64;
        let low = (at.floor() as usize).min(SHARES - 1);
        self.worth[low] + (at - low as f64) * (self.worth[low + 1] - self.worth[low])
    }
}

/// Takes what `place` would tell out of everything still in doubt.
fn condition(place: &Place, rooms: &mut [Room], places: &mut [Place]) {
    let seen: Vec<f32> = place.rest_um.iter().zip(&place.noise_um).map(|(a, b)| a + b).collect();
    let variance = product(&seen, &seen).max(1e-12);
    let everywhere = place.layer == Layer::Undercoat;
    let without = |rest: &mut Vec<f32>| {
        let slope = (product(rest, &seen) / variance) as f32;
        rest.iter_mut().zip(&seen).for_each(|(r, s)| *r -= slope * s);
    };
    rooms.par_iter_mut().filter(|r| everywhere || r.panel == place.panel).for_each(|room| {
        without(&mut room.rest_um);
        room.explained = 1.0 - product(&room.rest_um, &room.rest_um) / room.variance.max(1e-12);
    });
    places.par_iter_mut().filter(|p| everywhere || p.panel == place.panel).for_each(|p| without(&mut p.rest_um));
}

fn told(car: &Car, place: &Place, gain: f64, rooms: &[Room]) -> Advice {
    let panel = &car.panels[place.panel].panel;
    let tiles = rooms.iter().filter(|r| r.panel == place.panel).count();
    let [x_mm, y_mm] = place.place_mm;
    let near = panel.edge_distance_mm(x_mm, y_mm);
    let why = match place.layer {
        Layer::Undercoat => format!(
            "find a place without topcoat but with this panel's primers: how much of the build is undercoat is the doubt that holds back most of {}",
            panel.name
        ),
        Layer::Total | Layer::Topcoat if near < NEAR_EDGE_MM => {
            format!("{near:.0} mm from the edge, where film may be thin: it decides how close to work on {}", panel.name)
        }
        Layer::Total | Layer::Topcoat => {
            let plural = if tiles == 1 { "its section" } else { "the sections round it" };
            format!("between the places read on {}: the lowest film of {plural} is in doubt here", panel.name)
        }
    };
    Advice { panel: place.panel, x_mm, y_mm, layer: place.layer, gain, why }
}
