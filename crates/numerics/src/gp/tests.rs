use super::*;
use crate::kernel::Family;

fn readings(rows: &[(f64, f64, f64)], sd: f64) -> Vec<Reading> {
    rows.iter().map(|(x_mm, y_mm, value)| Reading { x_mm: *x_mm, y_mm: *y_mm, value: *value, sd }).collect()
}

fn one(readings: &[Reading], kernel: Kernel, mean: Mean, place: [f64; 2]) -> (f64, f64) {
    let estimates = Field::new(readings, kernel, mean).unwrap().at(&[place]).unwrap();
    (estimates.mean[0], estimates.sd[0] * estimates.sd[0])
}

fn near(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{got} is not {want}");
}

/// Isaaks & Srivastava, Applied Geostatistics (1989), chapter 12: seven samples about (65, 137).
const SAMPLES: [(f64, f64, f64); 7] = [
    (61.0, 139.0, 477.0),
    (63.0, 140.0, 696.0),
    (64.0, 129.0, 227.0),
    (68.0, 128.0, 646.0),
    (71.0, 140.0, 606.0),
    (73.0, 141.0, 791.0),
    (75.0, 128.0, 783.0),
];
const TARGET: [f64; 2] = [65.0, 137.0];

/// Turns places so that the axis of azimuth `azimuth_deg` (clockwise from north) becomes y, and stretches x by `ratio`.
fn stretched(azimuth_deg: f64, ratio: f64, [x, y]: [f64; 2]) -> [f64; 2] {
    let (sin, cos) = azimuth_deg.to_radians().sin_cos();
    [(x * cos - y * sin) * ratio, x * sin + y * cos]
}

#[test]
fn the_seven_sample_kriging_example_is_reproduced() {
    // [S] published estimate and variance (rounded), [C] full precision. Columns: figure, nugget, family, length, sill, azimuth and ratio.
    // A practical range a is the length 3 h / a for the exponential and 3 (h / a)^2 for the Gaussian. Variances are of a new sample.
    let gaussian = 10.0 / 6f64.sqrt();
    let table = [
        ("12.3", 0.0, Family::Exponential, 10.0 / 3.0, 10.0, 0.0, 1.0, [593.0, 8.96], [592.728_942_797_74, 8.956_052_788_66]),
        ("12.6", 0.0, Family::Exponential, 10.0 / 3.0, 20.0, 0.0, 1.0, [593.0, 17.91], [592.728_942_797_74, 17.912_105_577_32]),
        ("12.8", 0.0, Family::Gaussian, gaussian, 10.0, 0.0, 1.0, [559.0, 4.78], [559.370_023_200_68, 4.780_597_383_21]),
        ("12.10", 5.0, Family::Exponential, 10.0 / 3.0, 5.0, 0.0, 1.0, [597.0, 10.31], [596.777_006_872_61, 10.305_852_219_10]),
        ("12.12", 0.0, Family::Exponential, 20.0 / 3.0, 10.0, 0.0, 1.0, [572.0, 5.76], [572.389_873_521_38, 5.758_499_723_97]),
        ("12.16", 0.0, Family::Exponential, 20.0 / 3.0, 10.0, 135.0, 2.0, [620.0, 6.30], [619.808_314_35, 6.298_589_75]),
        ("12.18", 0.0, Family::Exponential, 20.0 / 3.0, 10.0, 45.0, 2.0, [574.0, 8.16], [574.048_620_20, 8.156_293_40]),
        ("12.20", 0.0, Family::Exponential, 100.0 / 3.0, 10.0, 135.0, 10.0, [654.0, 2.83], [653.737_786_85, 2.829_965_01]),
    ];
    for (figure, nugget, family, length, sill, azimuth, ratio, published, computed) in table {
        let turned: Vec<(f64, f64, f64)> = SAMPLES
            .iter()
            .map(|(x, y, value)| {
                let [x, y] = stretched(azimuth, ratio, [*x, *y]);
                (x, y, *value)
            })
            .collect();
        let kernel = Kernel::new(family, f64::sqrt(sill), length).unwrap();
        let (estimate, variance) = one(&readings(&turned, f64::sqrt(nugget)), kernel, Mean::Constant, stretched(azimuth, ratio, TARGET));
        let variance = variance + nugget;
        assert!((estimate - published[0]).abs() < 0.6 && (variance - published[1]).abs() < 0.006, "figure {figure}: {estimate} {variance}");
        assert!((estimate - computed[0]).abs() < 2e-8 && (variance - computed[1]).abs() < 2e-8, "figure {figure}: {estimate} {variance}");
    }
}

#[test]
fn the_seven_sample_weights_are_reproduced() {
    // [S] weights of figure 12.3, four decimals; [C] -0.2884 among those of the Gaussian figure 12.8
    let weights = |kernel: Kernel| -> Vec<f64> {
        (0..7)
            .map(|i| {
                let mut samples = SAMPLES;
                samples.iter_mut().enumerate().for_each(|(k, sample)| sample.2 = if k == i { 1.0 } else { 0.0 });
                one(&readings(&samples, 0.0), kernel, Mean::Constant, TARGET).0
            })
            .collect()
    };
    let got = weights(Kernel::new(Family::Exponential, 10f64.sqrt(), 10.0 / 3.0).unwrap());
    for (got, want) in got.iter().zip([0.1729, 0.3178, 0.1287, 0.0864, 0.1511, 0.0572, 0.0858]) {
        near(*got, want, 6e-5);
    }
    near(got.iter().sum(), 1.0, 1e-12);
    let gaussian = weights(Kernel::new(Family::Gaussian, 10f64.sqrt(), 10.0 / 6f64.sqrt()).unwrap());
    near(gaussian.iter().copied().fold(f64::INFINITY, f64::min), -0.2884, 6e-5);
}

#[test]
fn a_field_of_pure_noise_is_the_mean_of_the_samples() {
    // [D] equal weights 1/7; the variance of a new sample is 10 + 10/7. A field of almost no spread stands for none.
    let kernel = Kernel::new(Family::Exponential, 1e-6, 3.0).unwrap();
    let (estimate, variance) = one(&readings(&SAMPLES, 10f64.sqrt()), kernel, Mean::Constant, TARGET);
    near(estimate, 603.714_286, 1e-6);
    near(variance + 10.0, 11.428_571, 1e-6);
}

#[test]
fn the_three_point_regression_is_reproduced() {
    // [C] R&W eqs 2.25, 2.26, 2.30, confirmed by scikit-learn
    let three = readings(&[(0.0, 0.0, 1.0), (1.0, 0.0, 0.5), (3.0, 0.0, -0.5)], 0.1f64.sqrt());
    let kernel = Kernel::new(Family::Gaussian, 1.0, 1.0).unwrap();
    let field = Field::new(&three, kernel, Mean::Known(0.0)).unwrap();
    near(field.log_likelihood(), -3.281_369_693_626, 1e-12);
    let got = field.at(&[[0.0, 0.0], [2.0, 0.0], [5.0, 0.0]]).unwrap();
    let want = [(0.909_248_178_888, 0.086_873_893_120), (-0.152_387_105_851, 0.367_395_293_389), (-0.062_938_537_481, 0.983_024_863_217)];
    for ((mean, sd), want) in got.mean.iter().zip(&got.sd).zip(want) {
        near(*mean, want.0, 1e-12);
        near(sd * sd, want.1, 1e-12);
    }
}

#[test]
fn noise_is_the_readings_and_not_the_places() {
    // [C] five readings about (10, 20) cm, noise variance 4; at (15, 15), a place read, the field stays uncertain
    let five = readings(&[(0.0, 0.0, 112.0), (30.0, 0.0, 108.0), (0.0, 30.0, 118.0), (30.0, 30.0, 104.0), (15.0, 15.0, 109.0)], 2.0);
    let kernel = Kernel::new(Family::Exponential, 4.0, 20.0).unwrap();
    let (mean, variance) = one(&five, kernel, Mean::Constant, [10.0, 20.0]);
    // (the source book has 111.142946912, 3e-9 less; numpy gives what stands here)
    near(mean, 111.142_946_915_512, 1e-9);
    near(variance, 8.289_538_458, 1e-9);
    let (mean, variance) = one(&five, kernel, Mean::Constant, [15.0, 15.0]);
    near(mean, 109.370_707_554, 1e-9);
    near(variance, 3.011_446_522, 1e-9);
}

#[test]
fn one_reading_leaves_what_it_cannot_tell() {
    // [D] with an estimated constant, the mean is the reading everywhere; far away the variance is twice the field's plus the noise
    let kernel = Kernel::new(Family::Matern52, 3.0, 50.0).unwrap();
    let single = readings(&[(10.0, 10.0, 104.0)], 2.0);
    let (mean, variance) = one(&single, kernel, Mean::Constant, [1e6, 0.0]);
    near(mean, 104.0, 1e-9);
    near(variance, 2.0 * 9.0 + 4.0, 1e-9);
    let (mean, variance) = one(&single, kernel, Mean::Constant, [10.0, 10.0]);
    near(mean, 104.0, 1e-9);
    near(variance, 4.0, 1e-9);
    near(Field::new(&single, kernel, Mean::Constant).unwrap().log_likelihood(), 0.0, 1e-12);
}

#[test]
fn repeats_at_one_place_are_worth_their_mean() {
    // [D] three readings of noise 1.5 at a place are one of noise 1.5 / sqrt 3
    let kernel = Kernel::new(Family::Exponential, 4.0, 200.0).unwrap();
    let mut three = readings(&[(10.0, 10.0, 100.0), (10.0, 10.0, 103.0), (10.0, 10.0, 106.0)], 1.5);
    let mut single = readings(&[(10.0, 10.0, 103.0)], 1.5 / 3f64.sqrt());
    for list in [&mut three, &mut single] {
        list.push(Reading { x_mm: 90.0, y_mm: 40.0, value: 110.0, sd: 0.7 });
    }
    let (a, b) = (one(&three, kernel, Mean::Constant, [50.0, 0.0]), one(&single, kernel, Mean::Constant, [50.0, 0.0]));
    near(a.0, b.0, 1e-11);
    near(a.1, b.1, 1e-11);
}

#[test]
fn many_places_are_estimated_as_one_by_one_whatever_their_number() {
    let kernel = Kernel::new(Family::Matern32, 6.0, 400.0).unwrap();
    let many: Vec<Reading> = (0..37)
        .map(|i| Reading {
            x_mm: f64::from(i * 131 % 1500),
            y_mm: f64::from(i * 77 % 1200),
            value: 100.0 + f64::from(i % 7),
            sd: 0.5 + f64::from(i % 3),
        })
        .collect();
    let field = Field::new(&many, kernel, Mean::Constant).unwrap();
    let grid = Grid::over(1000.0, 700.0, 25.0).unwrap();
    let all = field.on(grid);
    for (at, place) in grid.places().into_iter().enumerate().step_by(97) {
        // [D] the formulas, by K^-1 k
        let (whitened, unexplained) = field.conditioned().whitened(place);
        let variance = 36.0 - whitened.iter().map(|v| v * v).sum::<f64>() + unexplained * unexplained * field.conditioned().level_variance;
        let alone = field.at(&[place]).unwrap();
        near(all.sd[at], variance.sqrt(), 1e-12);
        near(all.sd[at], alone.sd[0], 1e-13);
        near(all.mean[at], alone.mean[0], 1e-12);
    }
}

#[test]
fn slopes_of_the_likelihood_are_its_changes() {
    let seven = readings(&SAMPLES, 30.0);
    for family in Family::ALL {
        for mean in [Mean::Known(600.0), Mean::Constant] {
            let value =
                |sd: f64, length: f64| Conditioned::new(&seven, Kernel::new(family, sd.exp(), length.exp()).unwrap(), mean).unwrap();
            let (sd, length, h) = (5.0, 1.3, 1e-5);
            let slopes = value(sd, length).slopes();
            let by = |a: Conditioned, b: Conditioned| (a.log_likelihood - b.log_likelihood) / (2.0 * h);
            near(slopes[0], by(value(sd + h, length), value(sd - h, length)), 1e-7);
            near(slopes[1], by(value(sd, length + h), value(sd, length - h)), 1e-7);
        }
    }
}

#[test]
fn no_kernel_nearby_is_likelier_than_the_fitted_one() {
    let many: Vec<Reading> = (0..40)
        .map(|i| {
            let (x, y) = (f64::from(i * 37 % 101) * 10.0, f64::from(i * 53 % 97) * 10.0);
            Reading { x_mm: x, y_mm: y, value: 100.0 + 6.0 * (x / 170.0).sin() * (y / 210.0).cos(), sd: 0.8 }
        })
        .collect();
    for family in Family::ALL {
        let fit = fit(&many, family, Mean::Constant).unwrap();
        assert!(!fit.at_bound, "{family:?}");
        let best = fit.field.kernel();
        for (sd, length) in [(1.01, 1.0), (0.99, 1.0), (1.0, 1.01), (1.0, 0.99), (3.0, 1.0), (1.0, 3.0), (0.3, 0.3), (1.0, 0.2)] {
            let other = Kernel::new(family, best.sd() * sd, best.length_mm() * length).unwrap();
            let other = Field::new(&many, other, Mean::Constant).map_or(f64::NEG_INFINITY, |field| field.log_likelihood());
            assert!(other < fit.field.log_likelihood(), "{family:?} {sd} {length}");
        }
    }
}

#[test]
fn readings_of_noise_alone_are_fitted_at_the_end_of_the_range() {
    let noise: Vec<Reading> =
        (0..30).map(|i| Reading { x_mm: f64::from(i) * 50.0, y_mm: 0.0, value: 100.0 + f64::from(i % 2) * 0.1, sd: 2.0 }).collect();
    assert!(fit(&noise, Family::Exponential, Mean::Constant).unwrap().at_bound);
}

#[test]
fn readings_that_make_no_sense_are_refused() {
    let kernel = Kernel::new(Family::Gaussian, 1.0, 100.0).unwrap();
    let refused = |list: &[Reading], mean: Mean| Field::new(list, kernel, mean).err();
    assert_eq!(refused(&[], Mean::Constant), Some(GpError::Empty));
    assert_eq!(refused(&readings(&[(0.0, 0.0, 1.0); 5001], 1.0), Mean::Constant), Some(GpError::TooMany { readings: 5001, most: 5000 }));
    assert!(matches!(
        refused(&readings(&[(0.0, 0.0, 1.0), (0.0, f64::NAN, 1.0)], 1.0), Mean::Constant),
        Some(GpError::Reading { reading: 2, .. })
    ));
    assert!(matches!(refused(&readings(&[(0.0, 0.0, 1.0)], -1.0), Mean::Constant), Some(GpError::Reading { reading: 1, .. })));
    assert!(matches!(refused(&readings(&[(0.0, 0.0, 1.0)], 1.0), Mean::Known(f64::INFINITY)), Some(GpError::Mean(_))));
    let twice = readings(&[(0.0, 3.0, 1.0), (5.0, 0.0, 1.0), (-0.0, 3.0, 2.0)], 0.0);
    assert_eq!(refused(&twice, Mean::Constant), Some(GpError::Repeated { first: 1, second: 3 }));
    let smooth: Vec<Reading> = (0..40).map(|i| Reading { x_mm: f64::from(i), y_mm: 0.0, value: 1.0, sd: 0.0 }).collect();
    assert!(matches!(refused(&smooth, Mean::Constant), Some(GpError::Singular { .. })));
    let field = Field::new(&twice[..2], kernel, Mean::Constant).unwrap();
    assert!(matches!(field.at(&[[0.0, 0.0], [f64::NAN, 1.0]]), Err(GpError::Place { place: 2, .. })));
    let fits = |list: &[Reading]| fit(list, Family::Matern32, Mean::Constant).err();
    assert_eq!(fits(&twice[..2]), Some(GpError::TooFewToFit { places: 2, least: 3 }));
    assert_eq!(fits(&readings(&[(0.0, 0.0, 1.0), (1.0, 0.0, 1.0), (2.0, 0.0, 1.0)], 0.0)), Some(GpError::NothingToFit));
}

/// Rows of checks/field-scikit-learn.csv, made by checks/reference/field.py: [C] scikit-learn for a known mean, scipy for a constant.
fn reference() -> Vec<Vec<&'static str>> {
    let text = include_str!("../../../../checks/field-scikit-learn.csv");
    text.lines().skip(2).map(|line| line.split(',').collect()).collect()
}

fn numbers(row: &[&str]) -> Vec<f64> {
    row[3..].iter().filter(|field| !field.is_empty()).map(|field| field.parse().unwrap()).collect()
}

fn reference_readings() -> Vec<Reading> {
    let rows = reference().into_iter().filter(|row| row[0] == "reading").map(|row| numbers(&row));
    rows.map(|row| Reading { x_mm: row[0], y_mm: row[1], value: row[2], sd: row[3] }).collect()
}

fn named(row: &[&str]) -> (Family, Mean) {
    let family = ["exponential", "matern32", "matern52", "gaussian"].iter().position(|name| *name == row[1]).unwrap();
    (Family::ALL[family], if row[2] == "known" { Mean::Known(105.0) } else { Mean::Constant })
}

#[test]
fn estimates_and_likelihoods_agree_with_scikit_learn_and_scipy_to_eight_digits() {
    let readings = reference_readings();
    let mut compared = 0;
    for row in reference() {
        let wanted = ["estimate", "likelihood"].iter().position(|kind| *kind == row[0]);
        let Some(kind) = wanted else { continue };
        let (family, mean) = named(&row);
        let field = Field::new(&readings, Kernel::new(family, 6.0, 320.0).unwrap(), mean).unwrap();
        let want = numbers(&row);
        if kind == 0 {
            let got = field.at(&[[want[0], want[1]]]).unwrap();
            near(got.mean[0], want[2], 1e-8 * want[2].abs());
            near(got.sd[0], want[3], 1e-8 * want[3].abs());
        } else {
            near(field.log_likelihood(), want[0], 1e-8 * want[0].abs());
        }
        compared += 1;
    }
    assert_eq!(compared, 2 * 4 * 7);
}

#[test]
fn fitted_kernels_agree_with_a_search_of_scikit_learns_likelihood() {
    let readings = reference_readings();
    for row in reference().into_iter().filter(|row| row[0] == "fit") {
        let (family, mean) = named(&row);
        let fit = fit(&readings, family, mean).unwrap();
        let want = numbers(&row);
        // The likelihood is flat at its top: half its digits are left for the kernel.
        near(fit.field.kernel().sd(), want[0], 1e-5 * want[0]);
        near(fit.field.kernel().length_mm(), want[1], 1e-5 * want[1]);
        near(fit.field.log_likelihood(), want[2], 1e-10 * want[2].abs());
    }
}
