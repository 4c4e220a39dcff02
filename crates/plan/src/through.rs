//! Where the topcoat was gone through.
//!
//! It is no reading: a pad goes through at the highest spot, on an edge or where it stood too long, and what it took there is not what it takes in the mean.
//! So no estimate learns from it. A panel is not planned until somebody said to go on in spite of it, and nothing near the place is planned even then.

use crate::car::{Car, CarPanel};
use crate::outcome::Finding;

/// A place where the topcoat was gone through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GoneThrough {
    /// Place, mm from the panel's lower left.
    pub place_mm: [f64; 2],
    /// Whether work on the panel went on, or may go on, in spite of it.
    pub despite: bool,
}

/// Why a tile near such a place is left alone, work on the panel going on.
const NEAR: &str = "the topcoat was gone through here or just beside";

/// A tile nearer to the place than this is left alone, mm. Judgement: a large pad with its middle at the tile's border must not reach the place. What was
/// worked there before counts for the risk as it does anywhere.
const KEPT_AWAY_MM: f64 = 100.0;

impl CarPanel {
    /// Whether anything on it may be planned: it is not to stay as it is, and was gone through nowhere, or work goes on in spite of that.
    #[must_use]
    pub fn may_be_worked(&self) -> bool {
        self.work && self.gone_through.iter().all(|through| through.despite)
    }

    /// Where it was gone through, in a sentence of places in mm; none where it was not.
    #[must_use]
    pub fn gone_through_in_words(&self) -> Option<String> {
        let places: Vec<String> = self.gone_through.iter().map(|through| place(&through.place_mm)).collect();
        (!places.is_empty()).then(|| format!("the topcoat was gone through at {} mm", places.join(" and ")))
    }

    /// Whether a rectangle of it is left alone because it was gone through there or just beside: its corner and size, mm.
    #[must_use]
    pub fn is_gone_through_near(&self, corner_mm: [f64; 2], size_mm: [f64; 2]) -> bool {
        self.gone_through.iter().any(|through| off_mm(corner_mm, size_mm, through.place_mm) < KEPT_AWAY_MM)
    }
}

fn place([x_mm, y_mm]: &[f64; 2]) -> String {
    format!("({x_mm:.0}, {y_mm:.0})")
}

/// How far a place lies off a rectangle, mm; 0 within.
fn off_mm(corner_mm: [f64; 2], size_mm: [f64; 2], place_mm: [f64; 2]) -> f64 {
    let beyond = |axis: usize| (corner_mm[axis] - place_mm[axis]).max(place_mm[axis] - corner_mm[axis] - size_mm[axis]).max(0.0);
    f64::hypot(beyond(0), beyond(1))
}

/// Why a tile of a panel that was gone through is left alone.
pub(crate) fn why(panel: &CarPanel) -> String {
    if panel.may_be_worked() { NEAR.to_owned() } else { why_left(panel) }
}

/// Why a panel that was gone through is left alone.
pub(crate) fn why_left(panel: &CarPanel) -> String {
    let where_it_was = panel.gone_through_in_words().unwrap_or_default();
    format!("{where_it_was}; nothing more is planned on it until somebody decides to go on in spite of that")
}

/// A finding for every panel that was gone through.
pub(crate) fn findings(car: &Car) -> impl Iterator<Item = Finding> {
    let of_panel = |(k, panel): (usize, &CarPanel)| {
        let said = panel.gone_through_in_words().filter(|_| panel.work)?;
        let now =
            if panel.may_be_worked() { "nothing within a pad's reach of it is planned" } else { "nothing more is planned on this panel" };
        let sentence = format!(
            "{said}: {now}; the vehicle's chances don't count that place, and no estimate learns from it. Something took more there, or there was less than the readings say: \
             read again before more of the same is done elsewhere"
        );
        Some(Finding { panel: Some(k), line: None, sentence })
    };
    car.panels.iter().enumerate().filter_map(of_panel)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::car::Worked;
    use crate::choose::plan;
    use crate::example::{EFFORT, car_with_spend};
    use crate::kept_off::KeptOff;
    use crate::outcome::{Outcome, SectionPlan};
    use crate::survey::{Word, survey};
    use lastmicron_polish::Step;
    use lastmicron_units::{Thickness, Unit};
    use proptest::prelude::*;

    const BONNET: usize = 0;
    const FLAP: usize = 2;

    /// The example, of which even the flap that nobody read is worked, gone through on a panel.
    fn gone_through(panel: usize, place_mm: [f64; 2], despite: bool) -> Car {
        let mut car = car_with_spend(4.0);
        car.panels[panel].gone_through.push(GoneThrough { place_mm, despite });
        car
    }

    fn planned(car: &Car) -> Outcome {
        plan(car, EFFORT, Unit::Micrometre).unwrap()
    }

    #[test]
    fn nothing_is_planned_on_it_and_why_is_told_wherever_it_is_asked() {
        for panel in [BONNET, FLAP] {
            assert!(planned(&car_with_spend(4.0)).plan.panels[panel].is_worked());
            let car = gone_through(panel, [120.0, 90.0], false);
            let outcome = planned(&car);
            let of = &outcome.plan.panels[panel];
            assert!(!of.is_worked() && of.keep_off.is_empty() && (of.risk - 1.0).abs() < 1e-12);
            let why = "the topcoat was gone through at (120, 90) mm; nothing more is planned on it until somebody decides to go on in spite of that";
            assert!(of.sections.iter().all(|section| section.why == why));
            let said = outcome.findings.iter().filter(|finding| finding.panel == Some(panel)).map(|finding| finding.sentence.as_str());
            assert_eq!(said.filter(|said| said.starts_with("the topcoat was gone through at (120, 90) mm: nothing more")).count(), 1);
            let surveyed = &survey(&car, EFFORT, Unit::Micrometre).unwrap()[panel];
            assert_eq!((surveyed.verdict.word, surveyed.verdict.why.as_str()), (Word::LeaveAlone, why));
        }
    }

    #[test]
    fn what_was_worked_on_it_goes_on_counting_for_the_risk() {
        let mut car = car_with_spend(4.0);
        car.limits.floor = Thickness::from_micrometres(18.0).unwrap();
        let after = vec![Step { process: 1, sets: 1 }];
        car.worked =
            vec![Worked { panel: BONNET, x_mm: 0.0, y_mm: 0.0, width_mm: 1000.0, height_mm: 800.0, after, kept_off: KeptOff::default() }];
        let before = planned(&car);
        let taken_up = |outcome: &Outcome| outcome.findings.iter().any(|f| f.sentence.starts_with("what was worked already takes up"));
        assert!(taken_up(&before));
        car.panels[BONNET].gone_through.push(GoneThrough { place_mm: [500.0, 400.0], despite: false });
        let after = planned(&car);
        assert!(taken_up(&after) && after.plan.risk > car.limits.risk);
        for (was, is) in before.plan.panels.iter().zip(&after.plan.panels) {
            assert!(is.gone() <= was.gone() + 1e-9, "{}: {} where {} was", is.name, is.gone(), was.gone());
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(6))]

        #[test]
        fn in_spite_of_it_the_rest_is_planned_and_nothing_within_reach(x in 0.0..1.0f64, y in 0.0..1.0f64, panel in prop_oneof![Just(BONNET), Just(FLAP)]) {
            let place_mm = if panel == BONNET { [1000.0 * x, 800.0 * y] } else { [800.0 * x, 600.0 * y * (1.0 - x)] };
            let car = gone_through(panel, place_mm, true);
            let outcome = planned(&car);
            let of = &outcome.plan.panels[panel];
            let off = |s: &SectionPlan| off_mm([s.x_mm, s.y_mm], [s.width_mm, s.height_mm], place_mm);
            prop_assert!(of.sections.iter().filter(|s| !s.steps.is_empty()).all(|s| off(s) >= KEPT_AWAY_MM));
            prop_assert!(of.sections.iter().any(|s| s.why == NEAR));
            if panel == BONNET {
                prop_assert!(of.is_worked());
            }
        }
    }
}
