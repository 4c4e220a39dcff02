//! Readings of a gauge that is wrong in the ways that gauges are.

use lastmicron_film::gauge::{Layer, Substrate};
use lastmicron_plan::{Car, Reading};
use lastmicron_units::Thickness;
use rand::RngExt;
use rand::seq::SliceRandom;
use rand_pcg::Pcg64;

use crate::Range;
use crate::chance::{Stream, dice, happens, normal, whole_between};
use crate::scenario::Scenario;
use crate::truth::{GaugeTruth, PanelTruth, Rehearsal, Truth};

/// How near the outer edge a probe can be set down flat, mm. Judgement: a probe of 15 mm with a little to spare.
const PROBE_MARGIN_MM: f64 = 12.0;

/// How far a person's hand is from the place meant, mm (sd). Judgement.
const HAND_MM: f64 = 8.0;

/// A place to measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Index of the panel.
    pub panel: usize,
    /// Place, mm.
    pub x_mm: f64,
    /// Place, mm.
    pub y_mm: f64,
    /// What to read.
    pub layer: Layer,
}

/// The survey: places spread over each panel, and the undercoat where a bare place was found.
pub(crate) fn survey(scenario: &Scenario, truth: &Truth, car: &mut Car, dice: &mut Pcg64) {
    for k in 0..car.panels.len() {
        if car.panels[k].panel.substrate == Substrate::Plastic {
            continue;
        }
        let count = whole_between(dice, scenario.readings);
        for [x_mm, y_mm] in spread_places(car.panels[k].panel.size_mm(), count, dice) {
            let place = Place { panel: k, x_mm, y_mm, layer: Layer::Total };
            let film_um = total_um(&truth.panels[k], x_mm, y_mm);
            let value_um = read(&truth.gauge, film_um, dice);
            push(car, place, value_um, Vec::new());
        }
        if happens(dice, scenario.truth.bare) {
            let film_um = bare_um(truth.panels[k].undercoat_um, truth.bare_low, dice);
            let value_um = read(&truth.gauge, film_um, dice);
            push(car, Place { panel: k, x_mm: 0.0, y_mm: 0.0, layer: Layer::Undercoat }, value_um, Vec::new());
        }
    }
}

/// Measures more places of a car with the same gauge on the same day, and appends the readings. `round` makes another day's luck.
///
/// Places on a test spot are measured as they are now. A panel has one place without topcoat: measuring it again tells nothing new of the primers that it may lack.
pub fn measure_again(rehearsal: &mut Rehearsal, places: &[Place], round: u64) {
    let mut chance = dice(rehearsal.seed ^ round.rotate_left(32), Stream::Again);
    let truth = &rehearsal.truth;
    for place in places {
        let panel = &truth.panels[place.panel];
        let film_um = match place.layer {
            Layer::Total => total_um(panel, place.x_mm, place.y_mm),
            Layer::Topcoat => panel.topcoat_at_um(place.x_mm, place.y_mm),
            Layer::Undercoat => {
                let mut hidden = dice(rehearsal.seed.wrapping_add(place.panel as u64), Stream::HiddenPlace);
                bare_um(panel.undercoat_um, truth.bare_low, &mut hidden)
            }
        };
        let value_um = read(&truth.gauge, film_um, &mut chance);
        let after = if place.layer == Layer::Undercoat { Vec::new() } else { done_at(&rehearsal.car, place) };
        push(&mut rehearsal.car, *place, value_um, after);
    }
}

fn done_at(car: &Car, place: &Place) -> Vec<lastmicron_polish::Step> {
    let within = |at: f64, low: f64, size: f64| (low..=low + size).contains(&at);
    let worked = car
        .worked
        .iter()
        .find(|w| w.panel == place.panel && within(place.x_mm, w.x_mm, w.width_mm) && within(place.y_mm, w.y_mm, w.height_mm));
    worked.map(|w| w.after.clone()).unwrap_or_default()
}

/// What a gauge shows for a true film: texture under the probe, gain, offset, repeatability, now and then a wild reading, the display's step.
pub(crate) fn read(gauge: &GaugeTruth, film_um: f64, dice: &mut Pcg64) -> f64 {
    let under_probe_um = normal(dice, film_um, gauge.texture_um);
    let mut shown_um = normal(dice, under_probe_um * (1.0 + gauge.gain) + gauge.offset_um, gauge.repeat_um);
    if happens(dice, gauge.wild) {
        let slip_um = Range::between(8.0, 25.0).draw(dice);
        shown_um += if happens(dice, 0.5) { slip_um } else { -slip_um };
    }
    let stepped_um = if gauge.step_um > 0.0 { (shown_um / gauge.step_um).round() * gauge.step_um } else { shown_um };
    ((stepped_um * 1000.0).round() / 1000.0).max(0.0)
}

pub(crate) fn total_um(panel: &PanelTruth, x_mm: f64, y_mm: f64) -> f64 {
    panel.undercoat_um + panel.topcoat_at_um(x_mm, y_mm)
}

/// What lies on the metal where there is no topcoat: the panel's undercoat, or a half to four fifths of it where a hidden place was spared some primer.
fn bare_um(undercoat_um: f64, low_chance: f64, dice: &mut Pcg64) -> f64 {
    let kept = Range::between(0.5, 0.8).draw(dice);
    if happens(dice, low_chance) { undercoat_um * kept } else { undercoat_um }
}

pub(crate) fn push(car: &mut Car, place: Place, value_um: f64, after: Vec<lastmicron_polish::Step>) {
    // A gauge shows a finite number below 100 mm, so that the reading is always kept.
    if let Ok(value) = Thickness::from_micrometres(value_um) {
        let Place { panel, x_mm, y_mm, layer } = place;
        let line = Some(car.readings.len() + 2);
        car.readings.push(Reading { panel, x_mm, y_mm, value, layer, after, gauge: 0, session: String::new(), line });
    }
}

/// `count` places spread over a panel as a person would: one in each cell of a lattice, a hand's width off, in whole mm.
fn spread_places([width_mm, height_mm]: [f64; 2], count: usize, dice: &mut Pcg64) -> Vec<[f64; 2]> {
    let columns = ((count as f64 * width_mm / height_mm).sqrt().round() as usize).clamp(1, count.max(1));
    let rows = count.div_ceil(columns);
    let mut cells: Vec<(usize, usize)> = (0..rows).flat_map(|j| (0..columns).map(move |i| (i, j))).collect();
    cells.shuffle(dice);
    cells.truncate(count);
    cells.sort_by_key(|(i, j)| (*j, *i));
    let along = |i: usize, cells: usize, size_mm: f64, dice: &mut Pcg64| {
        let meant = (i as f64 + 0.5) * size_mm / cells as f64;
        normal(dice, meant, HAND_MM).clamp(PROBE_MARGIN_MM, size_mm - PROBE_MARGIN_MM).round()
    };
    cells.into_iter().map(|(i, j)| [along(i, columns, width_mm, dice), along(j, rows, height_mm, dice)]).collect()
}

/// `count` places anywhere on the panels that a gauge reads and that may be worked, even by area: what an unadvised hand would measure.
#[must_use]
pub fn anywhere(car: &Car, count: usize, seed: u64) -> Vec<Place> {
    let readable = |k: &usize| car.panels[*k].panel.substrate != Substrate::Plastic && car.panels[*k].work;
    let panels: Vec<(usize, f64)> = (0..car.panels.len()).filter(readable).map(|k| (k, car.panels[k].panel.area_m2())).collect();
    let mut chance = dice(seed, Stream::Again);
    (0..count).filter_map(|_| Some(place_on(car, by_area(&panels, &mut chance)?, &mut chance))).collect()
}

fn by_area(panels: &[(usize, f64)], dice: &mut Pcg64) -> Option<usize> {
    let mut at = dice.random::<f64>() * panels.iter().map(|(_, area)| area).sum::<f64>();
    let chosen = panels.iter().find(|(_, area)| {
        at -= area;
        at <= 0.0
    });
    chosen.map(|(k, _)| *k)
}

fn place_on(car: &Car, panel: usize, dice: &mut Pcg64) -> Place {
    let [w, h] = car.panels[panel].panel.size_mm();
    let along = |size_mm: f64, dice: &mut Pcg64| Range::between(PROBE_MARGIN_MM, size_mm - PROBE_MARGIN_MM).draw(dice).round();
    Place { panel, x_mm: along(w, dice), y_mm: along(h, dice), layer: Layer::Total }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{families, rehearse};

    const TRUE_GAUGE: GaugeTruth = GaugeTruth { offset_um: 0.0, gain: 0.0, repeat_um: 0.0, texture_um: 0.0, step_um: 0.0, wild: 0.0 };

    #[test]
    fn a_gauge_without_errors_shows_the_film() {
        assert!((read(&TRUE_GAUGE, 61.234, &mut dice(1, Stream::Measuring)) - 61.234).abs() < 1e-9);
    }

    #[test]
    fn offset_gain_and_step_come_in_the_order_of_the_instrument() {
        let gauge = GaugeTruth { offset_um: 1.0, gain: 0.02, step_um: 0.5, ..TRUE_GAUGE };
        // [D] 50 * 1.02 + 1 = 52; 61 * 1.02 + 1 = 63.22, shown as 63.0
        assert!((read(&gauge, 50.0, &mut dice(1, Stream::Measuring)) - 52.0).abs() < 1e-9);
        assert!((read(&gauge, 61.0, &mut dice(1, Stream::Measuring)) - 63.0).abs() < 1e-9);
    }

    #[test]
    fn a_survey_takes_as_many_readings_as_asked_all_on_the_panel() {
        for count in 1..40 {
            let places = spread_places([1400.0, 500.0], count, &mut dice(count as u64, Stream::Measuring));
            assert_eq!(places.len(), count);
            assert!(places.iter().all(|[x, y]| (12.0..=1388.0).contains(x) && (12.0..=488.0).contains(y)));
        }
    }

    #[test]
    fn measuring_again_adds_readings_and_leaves_the_old_ones() {
        let mut rehearsal = rehearse(&families::all()[1], 5).unwrap();
        let before = rehearsal.car.readings.clone();
        let place = Place { panel: 0, x_mm: 200.0, y_mm: 200.0, layer: Layer::Total };
        measure_again(&mut rehearsal, &[place, place], 0);
        assert_eq!(rehearsal.car.readings[..before.len()], before);
        assert_eq!(rehearsal.car.readings.len(), before.len() + 2);
    }
}
