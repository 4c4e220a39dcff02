//! Every operator reads every part several times.

use lastmicron_numerics::anova::{self, AnovaError, Crossed, Ratio, Squares};

/// A variance component that came out below 0 and was set to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// Between parts.
    Parts,
    /// Between operators.
    Operators,
    /// Operators who differ from part to part.
    Interaction,
}

/// Variances under one model, in the readings' unit squared.
#[derive(Clone, Debug, PartialEq)]
pub struct Components {
    /// Of one operator's repeats at one part: the equipment.
    pub repeatability: f64,
    /// Between operators, the interaction aside.
    pub operators: f64,
    /// Of operators who differ from part to part; 0 in the model without it.
    pub interaction: f64,
    /// Between parts.
    pub parts: f64,
    /// Components that came out below 0 and were set to it, with what they came out as.
    pub clamped: Vec<(Part, f64)>,
}

impl Components {
    /// Between operators, interaction and all: the appraisers.
    #[must_use]
    pub fn reproducibility(&self) -> f64 {
        self.operators + self.interaction
    }

    /// Repeatability and reproducibility together.
    #[must_use]
    pub fn gauge(&self) -> f64 {
        self.repeatability + self.reproducibility()
    }

    /// Everything.
    #[must_use]
    pub fn total(&self) -> f64 {
        self.gauge() + self.parts
    }

    /// A variance as a share of the total standard deviation, percent: these add up in quadrature. `None` when nothing varies.
    #[must_use]
    pub fn percent_study_variation(&self, variance: f64) -> Option<f64> {
        (self.total() > 0.0).then(|| 100.0 * (variance / self.total()).sqrt())
    }

    /// A variance as a share of the total variance, percent: these add up. `None` when nothing varies.
    #[must_use]
    pub fn percent_contribution(&self, variance: f64) -> Option<f64> {
        (self.total() > 0.0).then(|| 100.0 * variance / self.total())
    }

    /// How many classes of part the gauge tells apart: sqrt(2) x sd of parts / sd of the gauge, truncated, at least 1.
    /// `None` when the gauge has no variance.
    #[must_use]
    pub fn distinct_categories(&self) -> Option<f64> {
        (self.gauge() > 0.0).then(|| (2.0 * self.parts / self.gauge()).sqrt().floor().max(1.0))
    }
}

/// A crossed gauge study.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    /// Sums of squares: rows are parts, columns operators.
    pub squares: Crossed,
    /// Parts against the interaction; `None` when that is 0.
    pub parts: Option<Ratio>,
    /// Operators against the interaction; `None` when that is 0.
    pub operators: Option<Ratio>,
    /// Interaction against the repeats; `None` when those are 0. Above p = 0.25 the model without it is the usual choice.
    pub interaction: Option<Ratio>,
    /// Components where operators may differ from part to part.
    pub with_interaction: Components,
    /// Components with interaction and repeats pooled.
    pub without_interaction: Components,
}

/// Analysis of `readings[part][operator]` = trials.
///
/// Source: Burdick, Borror and Montgomery, "Design and Analysis of Gauge R&R Studies" (2005), two-factor random model.
///
/// # Errors
/// [`AnovaError`] with fewer than two parts, operators or trials, cells of different size, or a value that is not finite.
pub fn crossed(readings: &[Vec<Vec<f64>>]) -> Result<Study, AnovaError> {
    let squares = anova::crossed(readings)?;
    Ok(Study {
        parts: anova::ratio(squares.rows, squares.interaction),
        operators: anova::ratio(squares.columns, squares.interaction),
        interaction: anova::ratio(squares.interaction, squares.repeats),
        with_interaction: components(&squares, squares.repeats, Some(squares.interaction)),
        without_interaction: components(&squares, squares.pooled(), None),
        squares,
    })
}

fn components(squares: &Crossed, error: Squares, interaction: Option<Squares>) -> Components {
    let mut clamped = Vec::new();
    let mut from_0 = |part, variance: f64| {
        if variance < 0.0 {
            clamped.push((part, variance));
        }
        variance.max(0.0)
    };
    let below = interaction.unwrap_or(error).mean();
    let (p, o, r) = (squares.row_count, squares.column_count, squares.repeat_count);
    let together = interaction.map_or(0.0, |together| from_0(Part::Interaction, (together.mean() - error.mean()) / r));
    let operators = from_0(Part::Operators, (squares.columns.mean() - below) / (p * r));
    let parts = from_0(Part::Parts, (squares.rows.mean() - below) / (o * r));
    Components { repeatability: error.mean(), operators, interaction: together, parts, clamped }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STUDY: &str = include_str!("../../../../../checks/gauge-study-10x3x3.csv");

    fn readings() -> Vec<Vec<Vec<f64>>> {
        let mut cells = vec![vec![Vec::new(); 3]; 10];
        for line in STUDY.lines().filter(|line| !line.starts_with('#')).skip(1) {
            let f: Vec<&str> = line.split(',').collect();
            cells[f[0].parse::<usize>().unwrap() - 1]["ABC".find(f[1]).unwrap()].push(f[3].parse().unwrap());
        }
        cells
    }

    #[test]
    fn the_classic_study_without_interaction_has_its_published_components() {
        // [S] values of a commercial statistics package as asserted by a public test suite
        let got = crossed(&readings()).unwrap().without_interaction;
        let printed = [
            (got.repeatability, 0.039_97, 3.39, 18.42),
            (got.reproducibility(), 0.051_46, 4.37, 20.90),
            (got.gauge(), 0.091_43, 7.76, 27.86),
            (got.parts, 1.086_447, 92.24, 96.04),
        ];
        for (variance, printed, contribution, study_variation) in printed {
            assert!((variance - printed).abs() < 0.5e-5, "{variance} {printed}");
            assert!((got.percent_contribution(variance).unwrap() - contribution).abs() < 0.5e-2);
            assert!((got.percent_study_variation(variance).unwrap() - study_variation).abs() < 0.5e-2);
        }
        assert!((got.total() - 1.177_88).abs() < 0.5e-5);
        assert_eq!(got.distinct_categories(), Some(4.0));
        assert!(((2.0 * got.parts / got.gauge()).sqrt() - 4.875).abs() < 0.5e-3);
        assert_eq!(got.clamped, []);
    }

    #[test]
    fn a_component_below_0_is_set_to_it_and_said() {
        // [C] the interaction's component is -0.00868
        let got = crossed(&readings()).unwrap().with_interaction;
        let [(Part::Interaction, value)] = got.clamped[..] else { panic!("{:?}", got.clamped) };
        assert!((value + 0.008_68).abs() < 0.5e-5);
        assert!(got.interaction.abs() < 1e-300);
        // [D] mean squares .04598, (1.58363 - .01994) / 30, (9.81799 - .01994) / 9
        assert!((got.repeatability - 0.045_98).abs() < 0.5e-5);
        assert!((got.operators - 0.052_12).abs() < 1e-5 && (got.parts - 1.088_67).abs() < 1e-5);
    }

    #[test]
    fn contributions_add_up_and_study_variations_add_in_quadrature() {
        let study = crossed(&readings()).unwrap();
        for model in [&study.with_interaction, &study.without_interaction] {
            let variances = [model.repeatability, model.operators, model.interaction, model.parts];
            let sum: f64 = variances.iter().filter_map(|v| model.percent_contribution(*v)).sum();
            let quadrature: f64 = variances.iter().filter_map(|v| model.percent_study_variation(*v)).map(|v| v * v).sum();
            assert!((sum - 100.0).abs() < 1e-10 && (quadrature.sqrt() - 100.0).abs() < 1e-10);
        }
    }

    #[test]
    fn a_gauge_without_variance_has_no_categories() {
        let readings = vec![vec![vec![1.0, 1.0], vec![1.0, 1.0]], vec![vec![2.0, 2.0], vec![2.0, 2.0]]];
        let study = crossed(&readings).unwrap();
        assert_eq!((study.without_interaction.distinct_categories(), study.interaction), (None, None));
        assert!((study.without_interaction.parts - 0.5).abs() < 1e-15);
    }

    #[test]
    fn a_gauge_that_tells_nothing_apart_has_one_category() {
        let readings = vec![vec![vec![1.0, 3.0], vec![2.0, 2.0]], vec![vec![3.0, 1.0], vec![2.0, 2.0]]];
        assert_eq!(crossed(&readings).unwrap().without_interaction.distinct_categories(), Some(1.0));
    }
}
