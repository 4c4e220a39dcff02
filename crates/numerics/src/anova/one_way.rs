//! One factor.

use super::{AnovaError, Ratio, Squares, at_least, finite, mean_about, number, ratio};

/// Analysis of variance of one factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OneWay {
    /// Mean of all values.
    pub mean: f64,
    /// Between groups.
    pub between: Squares,
    /// Within groups.
    pub within: Squares,
    /// Between over within; `None` when nothing varies within.
    pub ratio: Option<Ratio>,
    /// Share of the total sum of squares that lies between groups.
    pub r_squared: f64,
}

impl OneWay {
    /// Standard deviation within groups, pooled.
    #[must_use]
    pub fn residual_sd(&self) -> f64 {
        self.within.mean().sqrt()
    }
}

/// Analysis of variance of `groups` of values; groups may differ in size.
///
/// Source: Fisher, "Statistical Methods for Research Workers" (1925), chapter 7.
///
/// # Errors
/// [`AnovaError`] with fewer than two groups, an empty group, no group of two, or a value that is not finite.
pub fn one_way<G: AsRef<[f64]>>(groups: &[G]) -> Result<OneWay, AnovaError> {
    let groups: Vec<&[f64]> = groups.iter().map(AsRef::as_ref).collect();
    at_least("groups", groups.len(), 2)?;
    for group in &groups {
        at_least("values in a group", group.len(), 1)?;
        finite(group.iter().copied())?;
    }
    let count: usize = groups.iter().map(|group| group.len()).sum();
    at_least("values in all groups", count, groups.len() + 1)?;
    let origin = groups[0][0];
    let means: Vec<f64> = groups.iter().map(|group| mean_about(origin, group.iter().copied())).collect();
    let weighted = groups.iter().zip(&means).map(|(group, mean)| number(group.len()) * mean).sum::<f64>();
    let grand = weighted / number(count);
    let between = groups.iter().zip(&means).map(|(group, mean)| number(group.len()) * (mean - grand).powi(2)).sum();
    let within = groups.iter().zip(&means).flat_map(|(group, mean)| group.iter().map(move |value| ((value - origin) - mean).powi(2))).sum();
    let between = Squares { sum: between, df: number(groups.len() - 1) };
    let within = Squares { sum: within, df: number(count - groups.len()) };
    let r_squared = between.sum / (between.sum + within.sum);
    let r_squared = if r_squared.is_nan() { 0.0 } else { r_squared };
    Ok(OneWay { mean: origin + grand, between, within, ratio: ratio(between, within), r_squared })
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIRSTV: &str = include_str!("../../../../checks/nist-sirstv.csv");

    const YOUDEN: &str = include_str!("../../../../checks/nist-youden31.csv");

    /// Groups by the first field, counted from 1; values in the last.
    fn groups(csv: &str, count: usize) -> Vec<Vec<f64>> {
        let mut groups = vec![Vec::new(); count];
        for line in csv.lines().filter(|line| !line.starts_with('#')).skip(1) {
            let fields: Vec<&str> = line.split(',').collect();
            groups[fields[0].parse::<usize>().unwrap() - 1].push(fields[fields.len() - 1].parse().unwrap());
        }
        groups
    }

    #[test]
    fn operators_who_measure_paper_have_their_components() {
        // data [S] NIST YOUDEN31, results [C]
        let got = one_way(&groups(YOUDEN, 24)).unwrap();
        let close = |got: f64, want: f64, tolerance: f64| assert!((got - want).abs() <= tolerance, "{got} {want}");
        close(got.mean, 0.076_776_0, 0.51e-7);
        close(got.between.mean(), 5.085_554e-5, 0.51e-11);
        close(got.within.mean(), 1.510_302e-5, 0.51e-11);
        close(got.ratio.unwrap().f, 3.367_24, 0.51e-5);
        close(got.residual_sd(), 0.003_886_3, 0.51e-7);
        close(((got.between.mean() - got.within.mean()) / 4.0).sqrt(), 0.002_989_7, 0.51e-7);
        assert_eq!((got.between.df, got.within.df), (23.0, 72.0));
    }

    #[test]
    fn nist_certified_values_are_met_to_twelve_digits() {
        // [S] NIST StRD SiRstv
        let got = one_way(&groups(SIRSTV, 5)).unwrap();
        let close = |got: f64, want: f64| assert!((got / want - 1.0).abs() < 1e-12, "{got} {want}");
        close(got.between.sum, 5.114_626_16e-2);
        close(got.between.mean(), 1.278_656_54e-2);
        close(got.within.sum, 2.166_365_6e-1);
        close(got.within.mean(), 1.083_182_8e-2);
        close(got.ratio.unwrap().f, 1.180_462_374_402_55);
        close(got.r_squared, 1.909_990_390_511_29e-1);
        close(got.residual_sd(), 1.040_760_683_346_56e-1);
        assert_eq!((got.between.df, got.within.df), (4.0, 20.0));
    }

    #[test]
    fn twelve_constant_leading_digits_cost_none_of_the_others() {
        // multiples of 1/64 stay exact beside 2^40
        let near = [vec![1.0 / 64.0, 3.0 / 64.0, 2.0 / 64.0], vec![7.0 / 64.0, 4.0 / 64.0, 4.0 / 64.0]];
        let far: Vec<Vec<f64>> = near.iter().map(|group| group.iter().map(|value| value + 1_099_511_627_776.0).collect()).collect();
        let (near, far) = (one_way(&near).unwrap(), one_way(&far).unwrap());
        assert!((near.ratio.unwrap().f / far.ratio.unwrap().f - 1.0).abs() < 1e-14);
    }

    #[test]
    fn groups_may_differ_in_size() {
        // by hand [D]: grand mean 3, between 3 x 1 + 1 x 9 = 12, within 2
        let got = one_way(&[vec![1.0, 2.0, 3.0], vec![6.0]]).unwrap();
        assert!((got.between.sum - 12.0).abs() < 1e-14 && (got.within.sum - 2.0).abs() < 1e-14);
        assert!((got.mean - 3.0).abs() < 1e-14 && (got.ratio.unwrap().f - 12.0).abs() < 1e-13);
    }

    #[test]
    fn values_that_never_vary_have_no_ratio() {
        let got = one_way(&[vec![1.0, 1.0], vec![1.0, 1.0]]).unwrap();
        assert_eq!((got.ratio, got.r_squared), (None, 0.0));
    }

    #[test]
    fn too_little_is_said() {
        assert!(matches!(one_way(&[vec![1.0, 2.0]]), Err(AnovaError::TooFew { what: "groups", found: 1, needed: 2 })));
        assert!(one_way(&[vec![1.0], vec![]]).is_err());
        assert!(one_way(&[vec![1.0], vec![2.0]]).is_err());
        assert!(matches!(one_way(&[vec![1.0, f64::NAN], vec![2.0]]), Err(AnovaError::NotFinite(_))));
    }
}
