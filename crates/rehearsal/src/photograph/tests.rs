//! Photographs as wholes, against closed forms.

use super::*;

/// Judgement: the smallest that can be drawn, so that closed forms can be met in the mean of many.
const MEGAPIXELS: f64 = 0.1;

fn dark_solid() -> Scene {
    scenes::usual().remove(0)
}

/// Scratches that nothing stands in the way of.
fn plain(depth_shape: f64, taken: f64) -> Scene {
    Scene { depth_shape: Range::exactly(depth_shape), taken: Range::exactly(taken), ..dark_solid() }
}

fn mean_truth(scene: &Scene, draw: impl Fn(&Scene, u64) -> Shares) -> Shares {
    let all: Vec<Shares> = (0..40).map(|seed| draw(scene, seed)).collect();
    let mean = |of: fn(&Shares) -> f64| all.iter().map(of).sum::<f64>() / all.len() as f64;
    Shares { gone: mean(|shares| shares.gone), visible: mean(|shares| shares.visible) }
}

#[test]
fn as_much_is_gone_as_a_weibull_law_has_it() {
    let split = |scene: &Scene, seed| split(scene, MEGAPIXELS, seed).unwrap().truth;
    let pair = |scene: &Scene, seed| pair(scene, MEGAPIXELS, seed).unwrap().truth;
    for (shape, taken) in [(1.0, 0.7), (1.4, 0.7), (1.4, 1.3_f64)] {
        let scene = plain(shape, taken);
        let expected = 1.0 - (-taken.powf(shape)).exp(); // [D] 1 - exp(-(d / scale)^shape)
        for truth in [mean_truth(&scene, split), mean_truth(&scene, pair)] {
            // 40 pictures, the worked side lit as if it had some hundred scratches: a standard error of about 0.007.
            assert!((truth.gone - expected).abs() < 0.025, "shape {shape}, {taken}: {truth:?}, not {expected}");
        }
    }
}

#[test]
fn of_exponential_depths_as_much_light_is_gone_as_length() {
    let truth = mean_truth(&plain(1.0, 1.0), |scene, seed| pair(scene, MEGAPIXELS, seed).unwrap().truth);
    let expected = 1.0 - (-1.0_f64).exp(); // [D] what is left of an exponential law is the same law
    assert!((truth.visible - expected).abs() < 0.025, "{truth:?}");
}

#[test]
fn nothing_taken_leaves_all_and_much_taken_leaves_nothing() {
    assert_eq!(split(&plain(1.2, 0.0), MEGAPIXELS, 4).unwrap().truth, Shares { gone: 0.0, visible: 0.0 });
    assert_eq!(pair(&plain(1.2, 30.0), MEGAPIXELS, 4).unwrap().truth, Shares { gone: 1.0, visible: 1.0 });
}

#[test]
fn a_seed_is_a_photograph_and_another_seed_another() {
    for scene in scenes::all() {
        let drawn = [7, 7, 8].map(|seed| pair(&scene, MEGAPIXELS, seed).unwrap());
        assert!(drawn[0] == drawn[1], "{}", scene.name);
        assert!(drawn[0].before != drawn[2].before && drawn[0].after != drawn[2].after, "{}", scene.name);
    }
}

#[test]
fn the_lamp_is_clipped_and_little_else() {
    for scene in scenes::all() {
        let Exposed { light, clipped } = split(&scene, MEGAPIXELS, 11).unwrap().exposed;
        let share = clipped.count() as f64 / light.values().len() as f64;
        assert!(share > 0.0 && share < 0.05, "{}: {share}", scene.name);
        assert!(light.values().iter().all(|value| (0.0..=255.0).contains(value)), "{}", scene.name);
    }
}

#[test]
fn a_side_from_which_all_is_taken_shows_paint_alone() {
    // Paint of 20 without glow or noise, seen in red, green and blue by 0.95, 0.97 and 1: [D] luma 0.886 x 19 + 0.114 x 20.
    let nothing = Range::exactly(0.0);
    let paint = Range::exactly(20.0);
    let scene = Scene { paint, glow: nothing, shot: nothing, read: nothing, lamp_px: Range::exactly(25.0), ..plain(1.0, 40.0) };
    for seed in 0..4 {
        let Split { exposed: Exposed { light, .. }, line: [a, b], untouched, .. } = split(&scene, MEGAPIXELS, seed).unwrap();
        let length = (b[0] - a[0]).hypot(b[1] - a[1]);
        let away = |p: [f64; 2]| ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / length;
        let middle = [0.5 * light.width() as f64, 0.5 * light.height() as f64];
        let mut brighter = [0, 0];
        for (y, row) in light.rows().enumerate() {
            for (x, value) in row.iter().enumerate() {
                let place = [x as f64, y as f64];
                // Not near the lamp, which is somewhere in the middle, nor the tape.
                if away(place).abs() > 12.0 && (place[0] - middle[0]).hypot(place[1] - middle[1]) > 70.0 {
                    let is_untouched = away(place) * away(untouched) > 0.0;
                    brighter[usize::from(is_untouched)] += usize::from((f64::from(*value) - 19.114).abs() > 1e-4);
                }
            }
        }
        assert!(brighter[0] == 0 && brighter[1] > 1000, "seed {seed}: {brighter:?}");
    }
}

#[test]
fn sizes_that_no_camera_has_are_refused() {
    for megapixels in [f64::NAN, -1.0, 0.0, 0.09, 51.0, f64::INFINITY] {
        let refused = split(&dark_solid(), megapixels, 1);
        assert!(matches!(refused, Err(PhotographError::Megapixels(_))), "{megapixels}");
    }
    assert_eq!(PhotographError::Megapixels(51.0).to_string(), "51 megapixels can't be drawn: ask for 0.1 to 50");
}
