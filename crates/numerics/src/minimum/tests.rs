use super::conditional::Conditional;
use super::*;
use crate::gp::{Mean, Reading};
use crate::kernel::{Family, Kernel};
use crate::normal;
use proptest::prelude::*;

fn field(family: Family, length_mm: f64, mean: Mean, readings: &[[f64; 4]]) -> Field {
    let readings: Vec<Reading> =
        readings.iter().map(|[x_mm, y_mm, value, sd]| Reading { x_mm: *x_mm, y_mm: *y_mm, value: *value, sd: *sd }).collect();
    Field::new(&readings, Kernel::new(family, 6.0, length_mm).unwrap(), mean).unwrap()
}

/// On nodes, between nodes, beside the grid, twice at a place, and two within a step.
const READINGS: [[f64; 4]; 7] = [
    [50.0, 50.0, 104.0, 0.8],
    [131.0, 77.0, 96.0, 1.2],
    [131.0, 77.0, 97.5, 1.2],
    [140.0, 70.0, 95.0, 0.3],
    [212.0, 190.0, 110.0, 0.5],
    [-20.0, 160.0, 101.0, 1.0],
    [30.5, 201.5, 99.0, 0.0],
];

/// Checks draws' means, variances and covariances between all nodes against kriging's, in standard errors.
fn worst_z(field: &Field, grid: Grid) -> [f64; 2] {
    let conditional = Conditional::new(field, grid).unwrap();
    let (places, pairs) = (grid.places(), 6000_u32);
    let n = places.len();
    let (mut sums, mut products) = (vec![0.0; n], vec![0.0; n * n]);
    let kriged = field.on(grid);
    for pair in 0..pairs {
        for draw in conditional.pair(seed_of(9, u64::from(pair))) {
            let rest: Vec<f64> = draw.iter().zip(&kriged.mean).map(|(value, mean)| f64::from(*value) - mean).collect();
            for i in 0..n {
                sums[i] += rest[i];
                for j in 0..=i {
                    products[i * n + j] += rest[i] * rest[j];
                }
            }
        }
    }
    let (given, draws) = (field.conditioned(), f64::from(2 * pairs));
    let whitened: Vec<(Vec<f64>, f64)> = places.iter().map(|place| given.whitened(*place)).collect();
    let covariance = |i: usize, j: usize| {
        let prior = given.kernel.covariance(f64::hypot(places[i][0] - places[j][0], places[i][1] - places[j][1]));
        let explained: f64 = whitened[i].0.iter().zip(&whitened[j].0).map(|(a, b)| a * b).sum();
        prior - explained + whitened[i].1 * whitened[j].1 * given.level_variance
    };
    let (mut mean_z, mut covariance_z) = (0.0_f64, 0.0_f64);
    for i in 0..n {
        mean_z = mean_z.max((sums[i] / draws).abs() / (kriged.sd[i] / draws.sqrt()).max(1e-4));
        for j in 0..=i {
            let (want, both) = (covariance(i, j), covariance(i, i) * covariance(j, j));
            // 1e-4 of the prior variance is allowed for what the embedding and the stencils leave.
            let error = ((want * want + both) / draws).sqrt() + 36.0 * 1e-4;
            covariance_z = covariance_z.max((products[i * n + j] / draws - want).abs() / error);
        }
    }
    [mean_z, covariance_z]
}

#[test]
fn draws_have_the_kriging_mean_and_the_posteriors_covariance_between_all_nodes() {
    for family in Family::ALL {
        for mean in [Mean::Constant, Mean::Known(105.0)] {
            let [mean_z, covariance_z] = worst_z(&field(family, 90.0, mean, &READINGS), Grid::over(225.0, 200.0, 25.0).unwrap());
            assert!(mean_z < 4.5 && covariance_z < 4.8, "{family:?} {mean:?}: {mean_z} {covariance_z} standard errors");
        }
    }
}

#[test]
fn the_two_ways_of_drawing_agree_on_the_smallest_value() {
    let field = field(Family::Matern32, 120.0, Mean::Constant, &READINGS);
    let grid = Grid::over(300.0, 250.0, 25.0).unwrap();
    let (on, at) = (Minimum::on(&field, grid, 20_000, 1).unwrap(), Minimum::at(&field, &grid.places(), 20_000, 2).unwrap());
    for share in [0.01, 0.05, 0.5, 0.95] {
        // Kolmogorov: shares of 20,000 draws differ by less than 0.02 in all but one of 1,000 pairs of samples.
        let below = |m: &Minimum, value: f64| m.ascending().iter().filter(|x| **x < value).count() as f64 / 20_000.0;
        let (a, b) = (below(&on, at.quantile(share).unwrap()), below(&at, on.quantile(share).unwrap()));
        assert!((a - share).abs() < 0.02 && (b - share).abs() < 0.02, "{share}: {a} {b}");
    }
    assert!((on.mean() - at.mean()).abs() < 0.08);
}

#[test]
fn the_smaller_of_two_places_has_its_closed_form_mean() {
    // [D] E[min] = mu - sd sqrt((1 - rho) / pi) for two places of a field with known mean, its reading too far and too noisy to matter
    let far = field(Family::Exponential, 100.0, Mean::Known(100.0), &[[1e6, 0.0, 100.0, 1e6]]);
    let minimum = Minimum::at(&far, &[[0.0, 0.0], [50.0, 0.0]], 200_000, 3).unwrap();
    let want = 100.0 - 6.0 * ((1.0 - (-0.5_f64).exp()) / std::f64::consts::PI).sqrt();
    assert!((minimum.mean() - want).abs() < 4.5 * 6.0 / 200_000_f64.sqrt(), "{} {want}", minimum.mean());
}

/// Shares of draws in which all places lie above the mean.
fn all_above(rho: [f64; 3], places: &[[f64; 2]]) -> f64 {
    let far = field(Family::Exponential, 100.0, Mean::Known(0.0), &[[1e6, 0.0, 0.0, 1e6]]);
    for (pair, rho) in [(0, 1), (1, 2), (0, 2)].into_iter().zip(rho).take(places.len() * (places.len() - 1) / 2) {
        let (a, b) = (places[pair.0], places[pair.1]);
        assert!(((-f64::hypot(a[0] - b[0], a[1] - b[1]) / 100.0).exp() - rho).abs() < 1e-12);
    }
    let minimum = Minimum::at(&far, places, 200_000, 4).unwrap();
    minimum.ascending().iter().filter(|value| **value > 0.0).count() as f64 / 200_000.0
}

#[test]
fn two_and_three_places_lie_above_the_mean_as_often_as_orthants_say() {
    // [C/D] P(both > 0) = 1/4 + asin(rho) / 2 pi: 1/3 at 0.5; three: 1/8 + sum of asin / 4 pi: 1/4 at 0.5, 0.19576083418 at (e^-1, e^-1, e^-2)
    let half = 100.0 * 2f64.ln();
    let e = (-1.0_f64).exp();
    let cases = [
        (1.0 / 3.0, all_above([0.5; 3], &[[0.0, 0.0], [half, 0.0]])),
        (0.25, all_above([0.5; 3], &[[0.0, 0.0], [half, 0.0], [half / 2.0, half * 0.75_f64.sqrt()]])),
        (0.195_760_834_18, all_above([e, e, e * e], &[[0.0, 0.0], [100.0, 0.0], [200.0, 0.0]])),
    ];
    for (want, got) in cases {
        assert!((got - want).abs() < 4.5 * (want * (1.0 - want) / 200_000.0).sqrt(), "{got} {want}");
    }
}

/// P(all of n equicorrelated standard normals < t): a shared normal and n of their own, integrated over the shared one by Simpson's rule.
fn all_below(n: i32, t: f64, rho: f64) -> f64 {
    let steps = 4000;
    let h = 20.0 / f64::from(steps);
    let at = |k: i32| {
        let z = -10.0 + f64::from(k) * h;
        let weight = if k == 0 || k == steps {
            1.0
        } else if k % 2 == 1 {
            4.0
        } else {
            2.0
        };
        weight * normal::density(z) * normal::cumulative((t - rho.sqrt() * z) / (1.0 - rho).sqrt()).powi(n)
    };
    (0..=steps).map(at).sum::<f64>() * h / 3.0
}

#[test]
fn equicorrelated_places_stay_below_a_level_as_often_as_the_table_says() {
    // [C/D] correlations 0, 0.25, 0.5, 0.75, 0.9, 0.99
    let table = [
        (10, 2.0, [0.794_431_04, 0.827_503_08, 0.866_908_86, 0.910_572_96, 0.941_198_87, 0.967_999_49]),
        (10, 3.0, [0.986_582_73, 0.987_182_47, 0.989_013_32, 0.992_398_47, 0.995_299_67, 0.997_850_86]),
        (100, 2.0, [0.100_129_50, 0.398_553_28, 0.618_416_72, 0.798_697_30, 0.896_043_61, 0.960_489_91]),
        (100, 3.0, [0.873_645_15, 0.906_427_21, 0.943_529_32, 0.974_571_99, 0.989_319_40, 0.997_114_01]),
    ];
    for (n, t, row) in table {
        for (rho, want) in [0.0, 0.25, 0.5, 0.75, 0.9, 0.99].into_iter().zip(row) {
            let got = all_below(n, t, rho);
            assert!((got - want).abs() < 6e-9, "{n} {t} {rho}: {got}");
        }
    }
    // [C] levels that 100 places stay below with 95 %: independent 3.28341, correlation 0.5 3.04711, 0.9 2.36982
    for (rho, t) in [(0.0, 3.283_41), (0.5, 3.047_11), (0.9, 2.369_82)] {
        assert!((all_below(100, t, rho) - 0.95).abs() < 2e-6);
    }
}

#[test]
fn draws_of_places_with_one_correlation_stay_below_levels_as_often_as_the_quadrature_says() {
    // An unknown mean known to the noise of one far reading is a shared normal: correlation 36 / (36 + 36) = 0.5 between places far apart.
    let shared = field(Family::Exponential, 1.0, Mean::Constant, &[[-1e6, 0.0, 0.0, 0.0]]);
    let places: Vec<[f64; 2]> = (0..10).map(|i| [f64::from(i) * 1000.0, 0.0]).collect();
    let minimum = Minimum::at(&shared, &places, 100_000, 5).unwrap();
    let sd = 72f64.sqrt();
    for t in [2.0, 3.0] {
        let got = minimum.ascending().iter().filter(|value| **value > -t * sd).count() as f64 / 100_000.0;
        let want = all_below(10, t, 0.5);
        assert!((got - want).abs() < 4.5 * (want * (1.0 - want) / 100_000.0).sqrt(), "{t}: {got} {want}");
    }
}

#[test]
fn the_largest_of_independent_places_has_the_tabled_mean_and_spread() {
    // [C] mean and sd of the largest of n standard normals; the smallest mirrors it
    let table = [
        (2_i32, 0.564_190, 0.825_645),
        (5, 1.162_964, 0.668_980),
        (10, 1.538_753, 0.586_808),
        (100, 2.507_594, 0.429_424),
        (1000, 3.241_436, 0.351_362),
    ];
    let draws = 40_000;
    for (n, mean, sd) in table {
        let alone = field(Family::Exponential, 1.0, Mean::Known(0.0), &[[-1e6, 0.0, 0.0, 1e6]]);
        let minimum = if n <= 10 {
            let places: Vec<[f64; 2]> = (0..n).map(|i| [f64::from(i) * 1000.0, 0.0]).collect();
            Minimum::at(&alone, &places, draws, 6).unwrap()
        } else {
            Minimum::on(
                &field(Family::Exponential, 1.0, Mean::Known(0.0), &[[0.0, 0.0, 0.0, 1e6]]),
                Grid::over(9000.0, f64::from(n / 10 - 1) * 1000.0, 1000.0).unwrap(),
                draws,
                6,
            )
            .unwrap()
        };
        let got = -minimum.mean() / 6.0;
        let spread = (minimum.ascending().iter().map(|x| (x / 6.0 + got).powi(2)).sum::<f64>() / draws as f64).sqrt();
        assert!((got - mean).abs() < 4.5 * sd / f64::sqrt(draws as f64), "{n}: mean {got}");
        assert!((spread / sd - 1.0).abs() < 0.03, "{n}: sd {spread}");
    }
}

#[test]
fn a_smooth_field_exceeds_a_level_as_often_as_simulated() {
    // [C] Gaussian kernel, 10 x 10 lengths on a grid of an eighth: P(max > u) 0.2133 +- 0.0026 (u = 3), 0.0508 +- 0.0014 (3.5), 0.5763 (2.5);
    // [D] the expected Euler characteristic gives 0.2199 for the continuous field at u = 3.
    let kernel = Kernel::new(Family::Gaussian, 1.0, 80.0).unwrap();
    let nothing = Field::new(&[Reading { x_mm: 0.0, y_mm: 0.0, value: 0.0, sd: 1e6 }], kernel, Mean::Known(0.0)).unwrap();
    let draws = 8000;
    let minimum = Minimum::on(&nothing, Grid::over(800.0, 800.0, 10.0).unwrap(), draws, 7).unwrap();
    for (u, want, error) in [(2.5, 0.5763, 0.0032), (3.0, 0.2133, 0.0026), (3.5, 0.0508, 0.0014)] {
        let got = minimum.ascending().iter().filter(|value| **value < -u).count() as f64 / draws as f64;
        let both = f64::hypot(error, (want * (1.0 - want) / draws as f64).sqrt());
        assert!((got - want).abs() < 4.0 * both, "{u}: {got}");
    }
}

/// Expected Euler characteristic of the set where a standard field of squared-exponential covariance exceeds `u`, over a rectangle whose
/// sides are `a` and `b` times the length: Adler & Taylor, "Random fields and geometry" (2007), chapter 12 [M].
fn euler_characteristic(u: f64, a: f64, b: f64) -> f64 {
    let tail = (-u * u / 2.0).exp();
    let two_pi = 2.0 * std::f64::consts::PI;
    normal::cumulative(-u) + (a + b) / two_pi * tail + a * b / two_pi.powf(1.5) * u * tail
}

#[test]
fn the_expected_euler_characteristic_is_the_tabled_one() {
    // [C] 10 x 10 lengths, and a line of 10 lengths
    for (u, b, want, last) in
        [(3.0, 10.0, 0.248_316, 5e-7), (3.5, 10.0, 0.055_808, 5e-7), (4.0, 10.0, 0.009_619_4, 5e-8), (3.0, 0.0, 0.019_030_4, 5e-8)]
    {
        let got = euler_characteristic(u, 10.0, b);
        assert!((got - want).abs() <= last, "{u} {b}: {got}");
    }
}

#[test]
fn a_smooth_line_exceeds_a_level_as_often_as_its_expected_euler_characteristic() {
    // [D] P(max > u) = 1 - exp(-EEC(u)) as u grows; places an eighth of a length apart miss of a crossing at most what u^2 / (8 x 64) says.
    let nothing = Field::new(
        &[Reading { x_mm: 0.0, y_mm: 0.0, value: 0.0, sd: 1e6 }],
        Kernel::new(Family::Gaussian, 1.0, 80.0).unwrap(),
        Mean::Known(0.0),
    )
    .unwrap();
    let draws = 100_000;
    let minimum = Minimum::on(&nothing, Grid::over(800.0, 10.0, 10.0).unwrap(), draws, 8).unwrap();
    for u in [2.5, 3.0, 3.5] {
        let want = 1.0 - (-euler_characteristic(u, 10.0, 0.125)).exp();
        let got = minimum.ascending().iter().filter(|value| **value < -u).count() as f64 / draws as f64;
        let error = (want * (1.0 - want) / draws as f64).sqrt();
        assert!(got < want + 4.0 * error && got > want * (1.0 - u * u / 512.0 - 0.02) - 4.0 * error, "{u}: {got}, {want}");
    }
}

/// Mean of the largest of n standard normals, by Simpson's rule.
fn mean_of_largest(n: i32) -> f64 {
    let steps = 4000;
    let h = 20.0 / f64::from(steps);
    let at = |k: i32| {
        let z = -10.0 + f64::from(k) * h;
        let weight = if k % 2 == 1 { 4.0 } else { 2.0 };
        weight * z * f64::from(n) * normal::density(z) * normal::cumulative(z).powi(n - 1)
    };
    (1..steps).map(at).sum::<f64>() * h / 3.0
}

#[test]
fn the_largest_of_independent_places_has_the_tabled_means_and_gumbels_lies_above() {
    // [C] n, mean of the largest of n
    let table = [
        (2, 0.564_190),
        (3, 0.846_284),
        (4, 1.029_375),
        (5, 1.162_964),
        (10, 1.538_753),
        (20, 1.867_475),
        (30, 2.042_761),
        (50, 2.249_074),
        (100, 2.507_594),
        (200, 2.746_042),
        (500, 3.036_699),
        (1000, 3.241_436),
    ];
    for (n, want) in table {
        assert!((mean_of_largest(n) - want).abs() < 5.1e-7, "{n}: {}", mean_of_largest(n));
    }
    // [C] Gumbel's limit: b = quantile(1 - 1/n), a = 1 / (n density(b)), mean b + 0.5772 a: too high by 4.7, 1.4 and 0.6 %
    for (n, want, over) in [(10, 1.6105, 0.047), (100, 2.5429, 0.014), (1000, 3.2617, 0.006)] {
        let b = normal::quantile(1.0 - 1.0 / f64::from(n));
        let gumbel = b + 0.577_215_664_901_532_9 / (f64::from(n) * normal::density(b));
        assert!((gumbel - want).abs() < 0.5e-4, "{n}: {gumbel}");
        assert!((gumbel / mean_of_largest(n) - 1.0 - over).abs() < 0.5e-3, "{n}: {gumbel}");
    }
}

#[test]
fn a_seed_gives_the_same_draws_on_any_number_of_threads() {
    let field = field(Family::Matern52, 120.0, Mean::Constant, &READINGS);
    let grid = Grid::over(300.0, 250.0, 25.0).unwrap();
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| (Minimum::on(&field, grid, 51, 11).unwrap(), Minimum::at(&field, &grid.places(), 51, 11).unwrap()))
    };
    assert_eq!(with(1), with(3));
    assert_ne!(Minimum::on(&field, grid, 51, 11).unwrap(), Minimum::on(&field, grid, 51, 12).unwrap());
    assert_eq!(Minimum::on(&field, grid, 51, 11).unwrap().ascending().len(), 51);
}

#[test]
fn readings_far_off_a_small_grid_are_drawn_the_direct_way() {
    let field = field(Family::Exponential, 100.0, Mean::Constant, &[[1e7, 0.0, 100.0, 1.0], [30.0, 10.0, 90.0, 1.0]]);
    let minimum = Minimum::on(&field, Grid::over(50.0, 50.0, 25.0).unwrap(), 100, 1).unwrap();
    assert!(minimum.quantile(0.5).unwrap() < 92.0);
    assert_eq!(
        Minimum::on(&field, Grid::over(2000.0, 2000.0, 25.0).unwrap(), 100, 1).err(),
        Some(MinimumError::FarReadings { nodes: 6561 })
    );
}

#[test]
fn quantiles_interpolate_between_draws() {
    let minimum = Minimum::of(vec![4.0, 1.0, 2.0]);
    let got: Vec<f64> = [0.0, 0.25, 0.5, 0.75, 1.0].into_iter().map(|share| minimum.quantile(share).unwrap()).collect();
    assert_eq!(got, [1.0, 1.5, 2.0, 3.0, 4.0]);
    assert!(matches!(minimum.quantile(1.1), Err(MinimumError::Share(_))));
}

#[test]
fn questions_that_make_no_sense_are_refused() {
    let field = field(Family::Exponential, 100.0, Mean::Constant, &READINGS);
    assert_eq!(Minimum::at(&field, &[], 10, 1), Err(MinimumError::NoPlaces));
    assert_eq!(Minimum::at(&field, &[[0.0, 0.0]; 3001], 10, 1), Err(MinimumError::TooManyPlaces { places: 3001, most: 3000 }));
    assert_eq!(Minimum::at(&field, &[[0.0, 0.0]], 0, 1), Err(MinimumError::Draws { draws: 0, most: MOST_DRAWS }));
    assert!(matches!(Minimum::at(&field, &[[f64::NAN, 0.0]], 10, 1), Err(MinimumError::Field(GpError::Place { place: 1, .. }))));
    assert!(Minimum::at(&field, &[[10.0, 10.0]; 5], 10, 1).is_ok(), "one place five times");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn bonferroni_is_below_independence_below_the_truth_below_one_place(n in 2..200_i32, t in 0.5..5.0_f64, rho in 0.01..0.99_f64) {
        let single = normal::cumulative(t);
        let (bonferroni, independent, truth) = (1.0 - f64::from(n) * (1.0 - single), single.powi(n), all_below(n, t, rho));
        prop_assert!(bonferroni <= independent + 1e-12);
        prop_assert!(independent <= truth + 1e-9, "{independent} {truth}");
        prop_assert!(truth <= single + 1e-9, "{truth} {single}");
    }

    #[test]
    fn the_smallest_drawn_value_keeps_the_same_order(length_mm in 20.0..200.0_f64, below in 0.5..3.0_f64, seed in 0..1000_u64) {
        let nothing = field(Family::Matern32, length_mm, Mean::Known(0.0), &[[0.0, 0.0, 0.0, 1e6]]);
        let (grid, draws) = (Grid::over(200.0, 100.0, 25.0).unwrap(), 2000);
        let minimum = Minimum::on(&nothing, grid, draws, seed).unwrap();
        let got = minimum.ascending().iter().filter(|value| **value > -below * 6.0).count() as f64 / draws as f64;
        let (single, n) = (normal::cumulative(below), 45);
        let slack = 4.5 * (0.25 / draws as f64).sqrt();
        prop_assert!(single.powi(n) - slack <= got && got <= single + slack, "{got}");
    }
}
