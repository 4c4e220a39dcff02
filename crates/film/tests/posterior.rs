//! The posterior of a film against surveys whose truth is known.

use lastmicron_film::gauge::{Gauge, Layer, Substrate};
use lastmicron_film::panel::Panel;
use lastmicron_film::survey::{Observation, PanelUndercoat, Surface, Survey, Unknown};
use lastmicron_film::{Draws, Posterior, UNDERCOATS};
use lastmicron_numerics::mixture::Prior;

const SEED: u64 = 11;

fn gauge() -> Gauge {
    Gauge { name: String::new(), fixed_um: 1.0, percent: 1.0, repeatability_um: 0.8, resolution_um: 0.1, through_um: 0.0 }
}

fn total(panel: usize, x: f64, y: f64, value_um: f64) -> Observation {
    Observation { panel, place_mm: [x, y], value_um, layer: Layer::Total, gauge: 0, session: 0, removed: Vec::new() }
}

/// A few tenths of a micrometre up or down, from the place: texture that is the same each time.
fn ripple(x: f64, y: f64) -> f64 {
    0.6 * (x * 0.013).sin() + 0.6 * (y * 0.017).cos()
}

/// `levels.len()` panels of 800 by 600 mm, each read at twelve places about its level.
fn survey(levels: &[f64]) -> Survey {
    let panel = |k: usize| Panel::rectangle(&format!("panel {k}"), 800.0, 600.0, Substrate::Steel);
    let surfaces = (0..levels.len()).map(|k| Surface { panel: panel(k), undercoat: PanelUndercoat::About { sd_um: 1.6 } }).collect();
    let mut observations = Vec::new();
    for (k, level) in levels.iter().enumerate() {
        for i in 0..12 {
            let (x, y) = (100.0 + 200.0 * f64::from(i % 4), 100.0 + 200.0 * f64::from(i / 4));
            observations.push(total(k, x, y, level + ripple(x, y)));
        }
    }
    Survey { surfaces, undercoat: Prior::student4(30.0, 3.0), gauges: vec![gauge()], unknowns: Vec::new(), observations }
}

fn moments(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let all: Vec<f64> = values.collect();
    let mean = all.iter().sum::<f64>() / all.len() as f64;
    (mean, (all.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / all.len() as f64).sqrt())
}

fn undercoat(draws: &Draws, panel: usize) -> (f64, f64) {
    moments((0..draws.count()).map(|d| draws.undercoat_um(d, 0, panel)))
}

#[test]
fn a_panel_far_above_the_others_is_recognised_as_resprayed_and_its_undercoat_is_in_doubt() {
    let posterior = Posterior::of(survey(&[60.0, 62.0, 59.0, 150.0, 61.0])).unwrap();
    assert!(posterior.respray_probability(3) > 0.95);
    assert!((0..3).all(|k| posterior.respray_probability(k) < 0.05));
    let draws = posterior.draw(1000, SEED).unwrap();
    let (original, resprayed) = (undercoat(&draws, 0), undercoat(&draws, 3));
    assert!(resprayed.0 > original.0 + 30.0 && resprayed.1 > 3.0 * original.1, "{original:?} {resprayed:?}");
}

#[test]
fn a_wild_reading_is_named_and_moves_neither_its_panel_nor_the_field_however_far_off() {
    let clean = Posterior::of(survey(&[60.0, 62.0, 59.0])).unwrap();
    assert!(clean.wild_readings().is_empty());
    let level = |p: &Posterior| {
        let draws = p.draw(500, SEED).unwrap();
        let film = draws.film(1, 0..draws.count()).unwrap();
        moments(film.build_um.iter().map(|v| f64::from(*v))).0
    };
    // A lifted probe, a doubled number, a slipped decimal point, and a number of another thing.
    for slip_um in [18.0, -40.0, 60.0, 560.0, 640.0, 5_000.0] {
        let mut survey = survey(&[60.0, 62.0, 59.0]);
        survey.observations[17].value_um += slip_um;
        let posterior = Posterior::of(survey).unwrap();
        assert_eq!(posterior.wild_readings().iter().map(|w| w.observation).collect::<Vec<_>>(), vec![17], "{slip_um}");
        assert!((level(&clean) - level(&posterior)).abs() < 1.0, "{slip_um}: {} {}", level(&clean), level(&posterior));
        let sd = posterior.field_sd_um().mean / clean.field_sd_um().mean;
        assert!((0.8..1.25).contains(&sd), "{slip_um}: the field's sd is {sd} times what it was");
        assert!(posterior.respray_probability(1) < 0.2, "{slip_um}: {}", posterior.respray_probability(1));
    }
}

#[test]
fn an_undercoat_reading_settles_the_undercoat_and_one_far_too_low_is_not_taken_at_its_word() {
    let with = |value_um: f64| {
        let mut survey = survey(&[60.0, 62.0, 59.0]);
        survey.observations.push(Observation { layer: Layer::Undercoat, ..total(0, 0.0, 0.0, value_um) });
        let posterior = Posterior::of(survey).unwrap();
        let draws = posterior.draw(2000, SEED).unwrap();
        undercoat(&draws, 0)
    };
    let without = undercoat(&Posterior::of(survey(&[60.0, 62.0, 59.0])).unwrap().draw(2000, SEED).unwrap(), 0);
    let near = with(33.0);
    assert!((near.0 - 32.6).abs() < 1.0 && near.1 < 0.6 * without.1, "{near:?} {without:?}");
    // 17 um where 30 +- 3 is stated: most likely a hidden place that lacks primers, perhaps a statement that is wrong. Believed, it would say
    // 13 um of topcoat more than there is; honest is to be less sure than before.
    let low = with(17.0);
    assert!(low.0 > 26.0 && low.1 > without.1, "{low:?} {without:?}");
}

#[test]
fn offset_and_gain_of_the_gauge_cancel_in_a_removal() {
    // [D] eight places read before and after: noise sqrt(2 (0.8^2 + texture^2) / 8), about 0.5 um, and no trace of the +-1 um +-1 % of the gauge.
    let mut survey = survey(&[60.0, 62.0, 59.0]);
    survey.unknowns = vec![Unknown { name: "rate".into(), prior: Prior::normal(2.0, 5.0) }];
    for i in 0..8 {
        let (x, y) = (300.0 + 20.0 * f64::from(i), 310.0);
        survey.observations.push(total(1, x, y, 62.0 + ripple(x, y)));
        survey.observations.push(Observation { removed: vec![(0, 1.0)], ..total(1, x, y, 62.0 + ripple(x, y) - 2.5) });
    }
    let posterior = Posterior::of(survey).unwrap();
    let draws = posterior.draw(2000, SEED).unwrap();
    let (mean, sd) = moments((0..draws.count()).map(|d| draws.named(d, 0)));
    assert!((mean - 2.5).abs() < 0.15 && sd > 0.3 && sd < 0.75, "{mean} {sd}");
}

/// Adds six readings of the topcoat of panel 0 by another gauge, at nodes 75 mm apart.
fn read_topcoat(survey: &mut Survey) {
    survey.gauges.push(Gauge { name: "ultrasonic".into(), ..gauge() });
    for i in 0..6 {
        let x = 150.0 + 75.0 * f64::from(i);
        survey.observations.push(Observation { layer: Layer::Topcoat, gauge: 1, ..total(0, x, 300.0, 35.0 + ripple(x, 300.0)) });
    }
}

#[test]
fn readings_of_the_topcoat_alone_tell_the_undercoat_apart() {
    let mut survey = survey(&[60.0, 62.0, 59.0]);
    read_topcoat(&mut survey);
    let posterior = Posterior::of(survey).unwrap();
    let (mean, sd) = undercoat(&posterior.draw(2000, SEED).unwrap(), 0);
    assert!((mean - 25.5).abs() < 1.5 && sd < 1.6, "{mean} {sd}");
}

#[test]
fn where_the_topcoat_was_read_it_is_known_as_well_with_every_undercoat_that_goes_with_a_film() {
    for is_total_read_too in [false, true] {
        let mut survey = survey(&[60.0, 62.0, 59.0]);
        survey.observations.retain(|o| o.panel != 0 || is_total_read_too);
        read_topcoat(&mut survey);
        let posterior = Posterior::of(survey).unwrap();
        let draws = posterior.draw(1000, SEED).unwrap();
        let film = draws.film(0, 0..draws.count()).unwrap();
        let node = film.grid.between(300.0, 300.0)[0].0;
        let topcoat = |again: usize| {
            let builds = film.build_um.chunks_exact(film.grid.nodes()).map(|row| f64::from(row[node]));
            moments(builds.enumerate().map(|(draw, build_um)| build_um - draws.undercoat_um(draw, again, 0)))
        };
        let (mean, sd) = topcoat(0);
        // [D] the gauge's +-1 um +-1 % are 0.61 um as a deviation; its repeatability is 0.8 um, texture apart.
        assert!((mean - 35.0 - ripple(300.0, 300.0)).abs() < 0.8 && sd > 0.5 && sd < 1.1, "{mean} {sd}");
        for again in 1..UNDERCOATS {
            let other = topcoat(again);
            assert!(
                (other.0 - mean).abs() < 0.1 && (other.1 / sd - 1.0).abs() < 0.05,
                "{is_total_read_too} {again}: {other:?} {mean} {sd}"
            );
        }
    }
}

#[test]
fn where_no_topcoat_was_read_the_undercoats_that_go_with_a_film_differ() {
    let mut undercoat_read = survey(&[60.0, 62.0, 59.0]);
    undercoat_read.observations.push(Observation { layer: Layer::Undercoat, ..total(0, 0.0, 0.0, 31.0) });
    for survey in [survey(&[60.0, 62.0, 59.0]), undercoat_read] {
        let posterior = Posterior::of(survey).unwrap();
        let draws = posterior.draw(64, SEED).unwrap();
        for (draw, panel) in (0..draws.count()).flat_map(|draw| (0..3).map(move |panel| (draw, panel))) {
            let mut drawn: Vec<f64> = (0..UNDERCOATS).map(|again| draws.undercoat_um(draw, again, panel)).collect();
            drawn.sort_by(f64::total_cmp);
            assert!(drawn.windows(2).all(|pair| pair[0] < pair[1]), "{draw} {panel}: {drawn:?}");
        }
    }
}

#[test]
fn where_it_was_read_the_film_is_known_better_than_far_away() {
    let posterior = Posterior::of(survey(&[60.0, 62.0, 59.0])).unwrap();
    let draws = posterior.draw(1000, SEED).unwrap();
    let film = draws.film(0, draws.first_half()).unwrap();
    let at = |x: f64, y: f64| {
        let node = film.grid.between(x, y)[0].0;
        moments(film.build_um.chunks_exact(film.grid.nodes()).map(|row| f64::from(row[node])))
    };
    let (read, corner) = (at(300.0, 300.0), at(0.0, 0.0));
    assert!((read.0 - (60.0 + ripple(300.0, 300.0))).abs() < 0.8, "{read:?}");
    assert!(read.1 < corner.1, "{read:?} {corner:?}");
}

#[test]
fn the_same_seed_gives_the_same_draws_and_another_seed_others() {
    let posterior = Posterior::of(survey(&[60.0, 62.0, 59.0])).unwrap();
    let film = |seed: u64| posterior.draw(64, seed).unwrap().film(2, 0..128).unwrap().build_um;
    assert_eq!(film(1), film(1));
    assert_ne!(film(1), film(2));
}

#[test]
fn a_panel_without_readings_has_no_film_and_no_reading_at_all_no_posterior() {
    let mut one = survey(&[60.0, 62.0]);
    one.observations.retain(|o| o.panel == 0);
    let posterior = Posterior::of(one).unwrap();
    assert!(posterior.is_measured(0) && !posterior.is_measured(1));
    assert!(posterior.draw(64, SEED).unwrap().film(1, 0..10).is_none());
    let mut none = survey(&[60.0]);
    none.observations.clear();
    assert!(Posterior::of(none).is_err());
}

#[test]
fn one_reading_leaves_the_film_in_doubt_by_more_than_many() {
    let sd = |keep: usize| {
        let mut survey = survey(&[60.0]);
        survey.observations.truncate(keep);
        let posterior = Posterior::of(survey).unwrap();
        let draws = posterior.draw(500, SEED).unwrap();
        let film = draws.film(0, draws.first_half()).unwrap();
        let smallest =
            film.build_um.chunks_exact(film.grid.nodes()).map(|row| f64::from(row.iter().copied().fold(f32::INFINITY, f32::min)));
        moments(smallest).1
    };
    assert!(sd(1) > 1.3 * sd(12));
}
