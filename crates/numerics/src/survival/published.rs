//! Published survival data, and fits by independent implementations.

use super::{Censored, SurvivalError, exponential, nonparametric, weibull};

const COSMESIS: &str = include_str!("../../../../checks/breast-cosmesis.csv");
const PARTS: &str = include_str!("../../../../checks/turbine-parts.csv");
const INPUTS: &str = include_str!("../../../../checks/survival-inputs.csv");
const REFERENCE: &str = include_str!("../../../../checks/survival-reference.csv");
const WHEELS: &str = include_str!("../../../../checks/turbine-wheels.csv");

fn fields(csv: &str) -> impl Iterator<Item = Vec<&str>> {
    csv.lines().filter(|line| !line.starts_with('#')).skip(1).map(|line| line.split(',').collect())
}

fn row(low: &str, high: &str, count: f64) -> Censored {
    Censored::new(low.parse().unwrap(), high.parse().ok(), count).unwrap()
}

fn cosmesis(group: &str) -> Vec<Censored> {
    fields(COSMESIS).filter(|f| f[0] == group).map(|f| row(f[1], f[2], 1.0)).collect()
}

fn parts() -> Vec<Censored> {
    fields(PARTS).map(|f| row(f[0], f[1], f[2].parse().unwrap())).collect()
}

fn wheels() -> Vec<Censored> {
    fields(WHEELS).flat_map(|f| [row("0", f[0], f[1].parse().unwrap()), row(f[0], "", f[2].parse().unwrap())]).collect()
}

#[track_caller]
fn close(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{got} instead of {want}");
}

/// Low, high (infinite when open), mass.
type Line = (f64, f64, f64);

#[track_caller]
fn masses_are(data: &[Censored], printed: &[Line], tolerance: f64) {
    let fit = nonparametric(data).unwrap();
    assert!(fit.gap < 1e-12, "{}", fit.gap);
    let got: Vec<Line> = fit.masses.iter().map(|m| (m.low, m.high.unwrap_or(f64::INFINITY), m.mass)).collect();
    assert_eq!(got.len(), printed.len(), "{got:?}");
    for (got, printed) in got.iter().zip(printed) {
        assert_eq!((got.0, got.1), (printed.0, printed.1));
        close(got.2, printed.2, tolerance);
    }
    close(fit.masses.iter().map(|m| m.mass).sum(), 1.0, 1e-14);
}

#[test]
fn cosmesis_after_radiation_has_its_published_masses() {
    let data = cosmesis("radiation");
    assert_eq!(data.len(), 46);
    // [S] vignette of R package interval 1.1-1.0
    let printed = [
        (4.0, 5.0, 0.0463),
        (6.0, 7.0, 0.0334),
        (7.0, 8.0, 0.0887),
        (11.0, 12.0, 0.0708),
        (24.0, 25.0, 0.0926),
        (33.0, 34.0, 0.0818),
        (38.0, 40.0, 0.1209),
        (46.0, 48.0, 0.4656),
    ];
    masses_are(&data, &printed, 0.5e-4 + 1e-9);
    // [C] self-consistency to 1e-12
    let fine = [0.046_346_77, 0.033_363_37, 0.088_667_37, 0.070_752_92, 0.092_645_84, 0.081_785_76, 0.120_879_83, 0.465_558_14];
    let full: Vec<Line> = printed.iter().zip(fine).map(|(line, mass)| (line.0, line.1, mass)).collect();
    masses_are(&data, &full, 0.5e-8 + 1e-12);
    close(nonparametric(&data).unwrap().log_likelihood, -58.060_021_95, 0.5e-8);
}

#[test]
fn cosmesis_after_radiation_and_chemotherapy_has_its_published_masses() {
    let data = cosmesis("radiation-chemotherapy");
    assert_eq!(data.len(), 48);
    // [S] vignette of R package interval 1.1-1.0
    let printed = [
        (4.0, 5.0, 0.0433),
        (5.0, 8.0, 0.0433),
        (11.0, 12.0, 0.0692),
        (16.0, 17.0, 0.1454),
        (18.0, 19.0, 0.1411),
        (19.0, 20.0, 0.1157),
        (24.0, 25.0, 0.0999),
        (30.0, 31.0, 0.0709),
        (35.0, 36.0, 0.1608),
        (44.0, 48.0, 0.0552),
        (48.0, 60.0, 0.0552),
    ];
    masses_are(&data, &printed, 0.5e-4 + 1e-9);
    let fit = nonparametric(&data).unwrap();
    // [C] self-consistency to 1e-12, from the third place on
    let fine = [0.069_205_58, 0.145_397_72, 0.141_094_90, 0.115_745_93, 0.099_865_31, 0.070_881_38, 0.160_831_11];
    for (mass, want) in fit.masses[2..9].iter().zip(fine) {
        close(mass.mass, want, 0.5e-8 + 1e-12);
    }
    close(fit.masses[10].mass, 0.055_206_41, 0.5e-8 + 1e-12);
    close(fit.log_likelihood, -65.636_964_91, 0.5e-8);
}

#[test]
fn cosmesis_has_the_parametric_fits_of_r() {
    // [C] R survival::survreg: shape, scale, log-likelihood; exponential mean, log-likelihood
    let table = [
        ("radiation", 1.121_613, 57.5131, -64.731_47, 61.470_65, -64.869_45),
        ("radiation-chemotherapy", 2.030_238, 28.042_47, -75.715_07, 29.282_16, -84.996_91),
    ];
    for (group, shape, scale, log_likelihood, mean, exponential_log_likelihood) in table {
        let data = cosmesis(group);
        let fit = weibull(&data).unwrap();
        close(fit.shape, shape, 0.5e-6);
        close(fit.scale, scale, 0.5e-4);
        close(fit.log_likelihood, log_likelihood, 0.5e-5);
        let fit = exponential(&data).unwrap();
        close(fit.mean, mean, 0.5e-5);
        close(fit.log_likelihood, exponential_log_likelihood, 0.5e-5);
    }
}

#[test]
fn turbine_parts_have_the_fits_of_r_with_their_standard_errors() {
    // [C] R survival::survreg; the manual prints 71.6904 and 1.4854 [M]
    let fit = weibull(&parts()).unwrap();
    close(fit.shape, 1.485_367_37, 0.5e-8);
    close(fit.scale, 71.690_405_6, 0.5e-7);
    close(fit.log_likelihood, -309.668_408_9, 0.5e-7);
    close(fit.scale.ln(), 4.272_356_93, 0.5e-8);
    close(fit.log_covariance[1][1].sqrt(), 0.074_396_14, 0.5e-8);
    close(fit.log_covariance[0][0].sqrt(), 0.098_656_4, 0.5e-7);
    let fit = exponential(&parts()).unwrap();
    close(fit.mean, 82.665_53, 0.5e-5);
    close(fit.log_likelihood, -316.670_548_4, 0.5e-7);
}

#[test]
fn counts_in_intervals_that_do_not_overlap_are_shares() {
    let fit = nonparametric(&parts()).unwrap();
    for (mass, count) in fit.masses.iter().zip([5.0, 16.0, 12.0, 18.0, 18.0, 2.0, 6.0, 17.0, 73.0]) {
        close(mass.mass, count / 167.0, 1e-15);
    }
    assert_eq!(fit.masses[8].high, None);
}

#[test]
fn wheels_looked_at_once_have_the_pooled_shares() {
    let fit = nonparametric(&wheels()).unwrap();
    // [C] isotonic regression by pooling neighbours: hundreds of hours, share cracked
    let pooled = [
        (4.0, 0.0),
        (10.0, 6.0 / 86.0),
        (14.0, 6.0 / 86.0),
        (18.0, 7.0 / 73.0),
        (22.0, 5.0 / 30.0),
        (26.0, 18.0 / 81.0),
        (30.0, 18.0 / 81.0),
        (34.0, 6.0 / 13.0),
        (38.0, 43.0 / 74.0),
        (42.0, 43.0 / 74.0),
        (46.0, 21.0 / 36.0),
    ];
    for (t, cracked) in pooled {
        let [low, high] = fit.survival_between(t);
        close(low, 1.0 - cracked, 1e-11);
        close(high, 1.0 - cracked, 1e-11);
    }
    close(fit.log_likelihood, -184.9882, 0.5e-4);
}

#[test]
fn wheels_looked_at_once_have_the_parametric_fits_of_r() {
    let fit = weibull(&wheels()).unwrap();
    close(fit.shape, 2.175_779_91, 0.5e-8);
    close(fit.scale, 46.777_230_25, 0.5e-8);
    close(fit.log_likelihood, -189.287_193, 0.5e-6);
    let fit = exponential(&wheels()).unwrap();
    close(fit.mean.ln(), 4.381_178_86, 0.5e-8);
    close(fit.log_likelihood, -201.123_726, 0.5e-6);
}

#[test]
fn fits_agree_with_independent_implementations() {
    // [C] checks/reference/survival.py: mpmath is exact; lifelines' likelihoods are flat where its parameters stop short
    for reference in fields(REFERENCE) {
        let [set, quantity, value, by] = reference[..] else { panic!("{reference:?}") };
        let data: Vec<Censored> = fields(INPUTS).filter(|f| f[0] == set).map(|f| row(f[1], f[2], f[3].parse().unwrap())).collect();
        let best = nonparametric(&data).unwrap();
        let got = match quantity {
            "exponential_mean" => exponential(&data).unwrap().mean,
            "exponential_log_likelihood" => exponential(&data).unwrap().log_likelihood,
            "weibull_shape" => weibull(&data).unwrap().shape,
            "weibull_scale" => weibull(&data).unwrap().scale,
            "weibull_log_likelihood" => weibull(&data).unwrap().log_likelihood,
            "npmle_log_likelihood" => best.log_likelihood,
            mass => {
                let mut ends = mass.split(' ').skip(1).map(|end| end.parse::<f64>().unwrap());
                let (low, high) = (ends.next().unwrap(), ends.next());
                let same = |m: &&super::Mass| m.low.to_bits() == low.to_bits() && m.high.map(f64::to_bits) == high.map(f64::to_bits);
                best.masses.iter().find(same).unwrap().mass
            }
        };
        let want: f64 = value.parse().unwrap();
        let tolerance = if by == "lifelines" { 1e-8 } else { 1e-10 };
        assert!((got / want - 1.0).abs() < tolerance, "{set} {quantity}: {got} instead of {want} by {by}");
    }
}

#[test]
fn shapes_without_a_largest_likelihood_are_said() {
    let rows = |data: &[(f64, Option<f64>)]| -> Vec<Censored> { data.iter().map(|&(l, h)| Censored::new(l, h, 2.0).unwrap()).collect() };
    assert_eq!(weibull(&rows(&[(0.0, Some(1.0)), (0.0, Some(2.0))])), Err(SurvivalError::ShapeUnbounded { at: 1.0 }));
    assert_eq!(weibull(&rows(&[(3.0, Some(5.0))])), Err(SurvivalError::ShapeUnbounded { at: 5.0 }));
    assert_eq!(weibull(&rows(&[(3.0, Some(5.0)), (5.0, None)])), Err(SurvivalError::ShapeUnbounded { at: 5.0 }));
    assert_eq!(weibull(&rows(&[(0.0, Some(1.0)), (2.0, None)])), Err(SurvivalError::ShapeVanishes));
    assert_eq!(weibull(&rows(&[(0.0, None), (2.0, None)])), Err(SurvivalError::NoneEnded));
    assert_eq!(weibull(&rows(&[(0.0, Some(0.0)), (2.0, Some(3.0))])), Err(SurvivalError::ExactZero));
    assert_eq!(weibull(&[]), Err(SurvivalError::Empty));
}

#[test]
fn one_interval_holds_all_mass() {
    let fit = nonparametric(&[Censored::new(3.0, Some(5.0), 1e15).unwrap()]).unwrap();
    assert_eq!((fit.masses[0].low, fit.masses[0].high, fit.masses[0].mass), (3.0, Some(5.0), 1.0));
    let fit = nonparametric(&[Censored::new(3.0, None, 2.0).unwrap(), Censored::new(4.0, None, 2.0).unwrap()]).unwrap();
    assert_eq!((fit.masses[0].low, fit.masses[0].high), (4.0, None));
    let [least, most] = fit.survival_between(4.0);
    close(least, 1.0, 0.0);
    close(most, 1.0, 0.0);
    let [least, most] = fit.survival_between(5.0);
    close(least, 0.0, 0.0);
    close(most, 1.0, 0.0);
}
