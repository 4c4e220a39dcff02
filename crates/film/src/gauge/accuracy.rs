//! From a maker's accuracy statement to a standard uncertainty.

use lastmicron_numerics::special::student_t_quantile;

use super::Gauge;

/// How the two parts of +-(fixed + percent of the reading) are taken to go together. The readings differ by 30 to 40 %.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parts {
    /// One rectangle as wide as both: the conservative one.
    Added,
    /// Offset and gain each a rectangle, independent of each other: what this tool's film model takes.
    Independent,
}

/// How a stated half-width is distributed within itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// Equally likely everywhere: half-width / sqrt(3).
    Rectangle,
    /// Likeliest in the middle: half-width / sqrt(6).
    Triangle,
    /// A normal distribution's central 95 %: half-width / 1.960.
    Normal95,
    /// A normal distribution's central 99 %: half-width / 2.576.
    Normal99,
    /// As likely inside as outside: half-width x 1.48.
    Evens,
}

/// One standard uncertainty's contribution to a combined one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contribution {
    /// Standard uncertainty x sensitivity.
    pub u: f64,
    /// Degrees of freedom behind it; infinite when it is taken as known.
    pub df: f64,
}

/// A combined standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Combined {
    /// Root of the sum of squares.
    pub u: f64,
    /// Effective degrees of freedom (Welch and Satterthwaite); infinite when all contributions are known.
    pub df: f64,
}

/// What is known of two visits' readings at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// Readings averaged at each visit.
    pub readings: f64,
    /// Standard deviation of re-placing the probe: texture and place; 0 when the very spot is found again.
    pub replacing_um: f64,
    /// Standard uncertainty of an adjustment made anew at each visit; 0 when the gauge was not touched between.
    pub adjustment_um: f64,
}

/// Standard uncertainty of a stated half-width.
///
/// Source: JCGM 100:2008 (GUM) 4.3.7 and 4.3.9; Taylor and Kuyatt, NIST Technical Note 1297 (1994), 4.3 to 4.6.
#[must_use]
pub fn standard_uncertainty(half_width: f64, shape: Shape) -> f64 {
    match shape {
        Shape::Rectangle => half_width / 3f64.sqrt(),
        Shape::Triangle => half_width / 6f64.sqrt(),
        Shape::Normal95 => half_width / 1.960,
        Shape::Normal99 => half_width / 2.576,
        Shape::Evens => half_width * 1.48,
    }
}

/// Standard uncertainty, um, of the gauge's offset and gain at a film of `thickness_um`: what more readings don't shrink.
#[must_use]
pub fn systematic_um(gauge: &Gauge, thickness_um: f64, parts: Parts) -> f64 {
    let gain_um = gauge.percent / 100.0 * thickness_um;
    match parts {
        Parts::Added => standard_uncertainty(gauge.fixed_um + gain_um, Shape::Rectangle),
        Parts::Independent => {
            f64::hypot(standard_uncertainty(gauge.fixed_um, Shape::Rectangle), standard_uncertainty(gain_um, Shape::Rectangle))
        }
    }
}

/// Standard uncertainty, um, of the mean of `readings` readings of a film of `thickness_um`.
///
/// The display's step counts as a rectangle of half a step either way, once: rounding that repeats doesn't average out.
#[must_use]
pub fn mean_um(gauge: &Gauge, thickness_um: f64, readings: f64, parts: Parts) -> f64 {
    let display_um = standard_uncertainty(gauge.resolution_um / 2.0, Shape::Rectangle);
    let systematic_um = systematic_um(gauge, thickness_um, parts);
    (systematic_um.powi(2) + gauge.repeatability_um.powi(2) / readings + display_um.powi(2)).sqrt()
}

/// Standard uncertainty, um, of a removal read as the difference of two visits with one gauge.
///
/// The offset cancels, and the gain acts on the difference only. Valid while the gauge was not adjusted between the visits and
/// the probe returned to the same spots; else say so in `difference`.
#[must_use]
pub fn removal_um(gauge: &Gauge, removal_um: f64, difference: Difference) -> f64 {
    let gain_um = standard_uncertainty(gauge.percent / 100.0 * removal_um, Shape::Rectangle);
    let each = (gauge.repeatability_um.powi(2) + difference.replacing_um.powi(2)) / difference.readings + difference.adjustment_um.powi(2);
    (2.0 * each + gain_um.powi(2)).sqrt()
}

/// Contributions combined in quadrature, with their effective degrees of freedom.
///
/// Source: JCGM 100:2008 (GUM) 5.1.2 and G.4.1 (Welch and Satterthwaite).
#[must_use]
pub fn combine(contributions: &[Contribution]) -> Combined {
    let variance: f64 = contributions.iter().map(|part| part.u.powi(2)).sum();
    let spread: f64 = contributions.iter().map(|part| part.u.powi(4) / part.df).sum();
    Combined { u: variance.sqrt(), df: if spread > 0.0 { variance.powi(2) / spread } else { f64::INFINITY } }
}

/// Half-width of the interval that holds the value with `level` (0 to 1): Student's t at the effective degrees of freedom,
/// truncated downwards (GUM G.4.1), x the combined uncertainty. `None` outside that range or below one degree of freedom.
#[must_use]
pub fn expanded(combined: Combined, level: f64) -> Option<f64> {
    let upper = 0.5 + level / 2.0;
    let factor = if combined.df.is_finite() {
        student_t_quantile(upper, combined.df.floor()).ok()?
    } else {
        lastmicron_numerics::normal::quantile(upper)
    };
    (level > 0.0 && factor.is_finite()).then_some(factor * combined.u)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gauge(fixed_um: f64, percent: f64) -> Gauge {
        Gauge { name: String::new(), fixed_um, percent, repeatability_um: 0.8, resolution_um: 0.1, through_um: 0.0 }
    }

    #[test]
    fn half_widths_become_standard_uncertainties() {
        // GUM 4.3.7, 4.3.9 [M]; Technical Note 1297 4.3, 4.4 [S]; Eurachem E.1, 7 to 10 [S]
        let table = [
            (1.0, Shape::Rectangle, 0.577_350),
            (1.0, Shape::Triangle, 0.408_248),
            (1.96, Shape::Normal95, 1.0),
            (2.576, Shape::Normal99, 1.0),
            (1.0, Shape::Evens, 1.48),
        ];
        for (half_width, shape, u) in table {
            assert!((standard_uncertainty(half_width, shape) - u).abs() < 0.5e-6, "{shape:?}");
        }
        assert!((standard_uncertainty(1.5, Shape::Rectangle) - 0.87).abs() < 0.5e-2);
    }

    #[test]
    fn an_accuracy_statement_is_read_both_ways() {
        // [C] fixed um, percent, film um, one rectangle, two rectangles
        let table = [
            (1.0, 1.0, 100.0, 1.154_70, 0.816_50),
            (1.0, 2.0, 120.0, 1.962_99, 1.501_11),
            (1.5, 2.0, 120.0, 2.251_67, 1.634_01),
            (2.5, 2.0, 300.0, 4.907_48, 3.752_78),
        ];
        for (fixed_um, percent, thickness_um, sum, independent) in table {
            let gauge = gauge(fixed_um, percent);
            assert!((systematic_um(&gauge, thickness_um, Parts::Added) - sum).abs() < 0.5e-5);
            assert!((systematic_um(&gauge, thickness_um, Parts::Independent) - independent).abs() < 0.5e-5);
        }
    }

    #[test]
    fn a_mean_of_three_has_its_combined_uncertainty() {
        // [C]: u 2.01680, U(k = 2) 4.03361
        let u = mean_um(&gauge(1.0, 2.0), 120.0, 3.0, Parts::Added);
        assert!((u - 2.016_80).abs() < 0.5e-5 && (2.0 * u - 4.033_61).abs() < 0.5e-5);
    }

    #[test]
    fn a_removal_is_surer_than_either_of_its_readings() {
        // [C]: 0.65574, and 2.8522 when both absolute uncertainties are taken as independent
        let gauge = gauge(1.0, 2.0);
        let same = Difference { readings: 3.0, replacing_um: 0.0, adjustment_um: 0.0 };
        assert!((removal_um(&gauge, 5.0, same) - 0.655_74).abs() < 0.5e-5);
        let independent = 2f64.sqrt() * mean_um(&gauge, 120.0, 3.0, Parts::Added);
        assert!((independent - 2.8522).abs() < 0.5e-4);
        // [D] an adjustment at each visit adds u sqrt(2) in quadrature
        let adjusted = Difference { adjustment_um: 0.5, ..same };
        assert!((removal_um(&gauge, 5.0, adjusted) - (0.655_744_6f64.powi(2) + 0.5).sqrt()).abs() < 1e-6);
    }

    #[test]
    fn the_guides_end_gauge_has_its_published_uncertainty() {
        // GUM H.1, inputs [S] from an R data set, results published (32 nm, 16, 93 nm) and unrounded [C]
        let difference = combine(&[Contribution { u: 5.8, df: 24.0 }, Contribution { u: 3.9, df: 5.0 }, Contribution { u: 6.7, df: 8.0 }]);
        assert!((difference.u - 9.6819).abs() < 0.5e-4);
        let combined = combine(&[
            Contribution { u: 25.0, df: 18.0 },
            difference_as_part(difference),
            Contribution { u: 50_000_623.0 * 0.1 * 0.58e-6, df: 50.0 },
            Contribution { u: 50_000_623.0 * 11.5e-6 * 0.029, df: 2.0 },
        ]);
        assert!((combined.u - 31.705).abs() < 1e-3, "{combined:?}");
        assert!((combined.df - 16.64).abs() < 0.1, "{combined:?}");
        let expanded = expanded(combined, 0.99).unwrap();
        assert!((expanded - 92.6).abs() < 0.05, "{expanded}");
        assert!((2.920_78 * 32.0 - 93.0f64).abs() < 0.5);
        // With the guide's second-order terms, of 0.58e-6 with 0.41 degrees C and of 1.2e-6 with 0.029 [D]: 34 nm published, 33.906 [C].
        let [mixed_expansion, mixed_temperature] = [(0.58e-6, 0.41), (1.2e-6, 0.029)].map(|(per_c, c)| 50_000_623.0 * per_c * c);
        assert!((mixed_expansion - 11.890f64).abs() < 0.5e-3 && (mixed_temperature - 1.740f64).abs() < 0.5e-3);
        let more = [combined.u, mixed_expansion, mixed_temperature].map(|u| Contribution { u, df: f64::INFINITY });
        assert!((combine(&more).u - 33.906).abs() < 1e-3);
    }

    fn difference_as_part(combined: Combined) -> Contribution {
        Contribution { u: combined.u, df: combined.df }
    }

    #[test]
    fn known_contributions_have_endless_degrees_of_freedom() {
        let combined = combine(&[Contribution { u: 3.0, df: f64::INFINITY }, Contribution { u: 4.0, df: f64::INFINITY }]);
        assert!((combined.u - 5.0).abs() < 1e-15 && combined.df.is_infinite());
        assert!((expanded(combined, 0.95).unwrap() - 9.799_82).abs() < 1e-5);
        assert_eq!(expanded(combined, 1.0), None);
        assert_eq!(expanded(Combined { u: 1.0, df: 0.5 }, 0.95), None);
    }
}
