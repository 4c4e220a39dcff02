//! The risk of places that were worked before.

use crate::car::{Car, Reading, Worked};
use crate::choose::plan;
use crate::chosen::Chosen;
use crate::drawn::Drawn;
use crate::example::{EFFORT, car, with_made, worked, worked_as_told};
use crate::outcome::{Outcome, PanelPlan, Plan};
use crate::room::Part;
use expect_test::expect;
use lastmicron_polish::Step;
use lastmicron_units::{Thickness, Unit};
use proptest::prelude::*;

const CUT: usize = 1;
const BONNET: usize = 0;
const SILL: usize = 1;

/// Twice the standard error of a chance of 1 in 20 that is counted on the films of one half.
const NOISE: f64 = 0.015;

fn um(um: f64) -> Thickness {
    Thickness::from_micrometres(um).unwrap()
}

fn planned(car: &Car) -> Outcome {
    plan(car, EFFORT, Unit::Micrometre).unwrap()
}

/// The plan with no minute left for work.
fn standing(car: &Car) -> Plan {
    let mut car = car.clone();
    car.goal.hours = 0.0;
    let plan = planned(&car).plan;
    assert!(!plan.panels.iter().any(PanelPlan::is_worked));
    plan
}

fn taken_up(outcome: &Outcome) -> Vec<&str> {
    outcome.findings.iter().map(|f| f.sentence.as_str()).filter(|said| said.starts_with("what was worked already takes up")).collect()
}

/// The example with a floor that the bonnet hardly bears once it has had `sets` of cut.
fn bonnet_worked(sets: u32) -> Car {
    let mut car = car();
    car.limits.floor = um(18.0);
    let after = vec![Step { process: CUT, sets }];
    car.worked = vec![Worked {
        panel: BONNET,
        x_mm: 0.0,
        y_mm: 0.0,
        width_mm: 1000.0,
        height_mm: 800.0,
        after,
        kept_off: crate::KeptOff::default(),
    }];
    car
}

/// The same with so much on the sill that work there endangers nothing.
fn with_thick_sill(mut car: Car) -> Car {
    car.readings.iter_mut().filter(|r| r.panel == SILL).for_each(|r| r.value = um(r.value.micrometres() + 40.0));
    car
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]

    #[test]
    fn two_plans_in_a_row_spend_one_limit(goal in 0.4..0.93f64, floor_um in 13.0..20.0f64, wider in 1.0..3.0f64) {
        let mut car = car();
        car.goal.correction = goal;
        car.limits.floor = um(floor_um);
        let first = planned(&car).plan;
        let mut done = worked(&car, &first, |s| s.steps.clone());
        // So that there may be more to gain and to endanger.
        done.goal.correction = 0.95;
        done.limits.risk *= wider;
        let (stands, anew) = (standing(&done), planned(&done).plan);
        prop_assert!(stands.risk > first.risk - NOISE, "{} after {}", stands.risk, first.risk);
        prop_assert!(anew.risk <= done.limits.risk.max(stands.risk), "{} where {} stands", anew.risk, stands.risk);
        // Nothing that is done can take back what stands, edges kept off or not.
        for (anew, stands) in anew.panels.iter().zip(&stands.panels) {
            prop_assert!(anew.risk >= stands.risk);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(6))]

    #[test]
    fn what_was_kept_off_stands_no_worse_than_the_plan_told(goal in 0.8..0.93f64, floor_um in 15.0..20.0f64) {
        let mut car = car();
        car.goal.correction = goal;
        car.limits.floor = um(floor_um);
        let first = planned(&car).plan;
        prop_assume!(first.panels.iter().any(|p| p.measured && !p.keep_off.is_empty()));
        let done = worked_as_told(&car, &first);
        let (stands, anew) = (standing(&done), planned(&done).plan);
        prop_assert!((stands.risk - first.risk).abs() < NOISE, "{} after {}", stands.risk, first.risk);
        prop_assert!(anew.risk <= done.limits.risk.max(stands.risk), "{} where {} stands", anew.risk, stands.risk);
        for (told, now) in first.panels.iter().zip(&stands.panels) {
            prop_assert!((told.gone() - now.gone()).abs() < 0.04, "{} {}", told.gone(), now.gone());
        }
    }
}

#[test]
fn where_edges_are_kept_off_the_other_half_is_advised_in_mid_work() {
    let mut car = car();
    car.goal.correction = 0.85;
    car.limits.floor = um(16.0);
    let first = planned(&car).plan;
    assert!(!first.panels[BONNET].keep_off.is_empty());
    let mut done = worked_as_told(&car, &first);
    done.worked.retain(|w| w.x_mm < 400.0);
    let anew = planned(&done);
    let right = |plan: &Plan| plan.panels[BONNET].sections.iter().filter(|s| s.x_mm > 400.0 && !s.steps.is_empty()).count();
    assert!(right(&first) > 0 && right(&anew.plan) > 0);
    assert!(anew.plan.risk <= car.limits.risk && taken_up(&anew).is_empty());
    let gone = standing(&done).correction.mean;
    assert!(anew.plan.correction.mean > gone + 0.05, "{} where {gone} is gone", anew.plan.correction.mean);
}

#[test]
fn what_the_limit_leaves_is_used() {
    let car = bonnet_worked(1);
    let with_limit = |risk: f64| planned(&Car { limits: crate::Limits { risk, ..car.limits }, ..car.clone() });
    let stands = standing(&car).risk;
    let wide = with_limit(2.0 * stands);
    assert!(wide.plan.panels[BONNET].is_worked() && wide.plan.risk > 1.5 * stands && wide.plan.risk <= 2.0 * stands, "{}", wide.plan.risk);
    assert!(taken_up(&wide).is_empty());
}

#[test]
fn beyond_the_limit_only_what_endangers_nothing_follows_and_that_is_said() {
    let mut said = String::new();
    for sets in [1, 3] {
        let car = with_thick_sill(bonnet_worked(sets));
        let (stands, anew) = (standing(&car).risk, planned(&car));
        assert!(stands > car.limits.risk && anew.plan.risk <= stands, "{} where {stands} stands", anew.plan.risk);
        assert!(!anew.plan.panels[BONNET].is_worked() && anew.plan.panels[SILL].is_worked());
        said += &format!("{sets}: {}\n", taken_up(&anew).join("\n"));
        said += &format!("   {}\n", anew.plan.panels[BONNET].sections[0].why);
    }
    let mut deep = bonnet_worked(6);
    deep.limits = crate::Limits { floor: um(1.0), risk: 0.5, through_risk: Some(0.001), ..deep.limits };
    for reading in &mut deep.readings {
        reading.value = um(reading.value.micrometres() - 12.0);
    }
    let anew = planned(&deep);
    assert!(!anew.plan.panels[BONNET].is_worked() && anew.plan.through_risk > 0.001);
    said += &format!("deep: {}\n", taken_up(&anew).join("\n"));
    expect![[r#"
        1: what was worked already takes up the allowed risk: 1 chance in 10 that some place of it is below the floor; a reading there would tell more
           worked already: the next step would gain 9 % for 0.5 um, with 1 chance in 13 of going below the floor there: more than the vehicle's limit leaves
        3: what was worked already takes up the allowed risk: 24 chances in 100 that some place of it is below the floor; a reading there would tell more
           worked already: the goal is reached
        deep: what was worked already takes up the allowed risk: 39 chances in 100 that some place of it has reached the undercoat; a reading there would tell more
    "#]].assert_eq(&said);
}

#[test]
fn a_reading_after_work_that_shows_plenty_frees_the_risk_again() {
    let car = bonnet_worked(2);
    assert!(!planned(&car).plan.panels[BONNET].is_worked());
    let mut read = car.clone();
    let after =
        |x_mm: f64, y_mm: f64| Reading { x_mm, y_mm, value: um(70.0), after: car.worked[0].after.clone(), ..car.readings[0].clone() };
    let places = [60.0, 350.0, 650.0, 940.0].into_iter().flat_map(|x_mm| [60.0, 400.0, 740.0].map(|y_mm| (x_mm, y_mm)));
    read.readings.extend(places.map(|(x_mm, y_mm)| after(x_mm, y_mm)));
    let (stands, anew) = (standing(&read).risk, planned(&read));
    assert!(stands < 0.2 * car.limits.risk && stands < 0.1 * standing(&car).risk, "{stands}");
    assert!(anew.plan.panels[BONNET].is_worked() && anew.plan.risk <= car.limits.risk);
    assert!(taken_up(&anew).is_empty());
}

#[test]
fn a_spot_within_a_tile_and_a_panel_that_is_to_stay_add_nothing() {
    let mut spot = bonnet_worked(4);
    (spot.worked[0].width_mm, spot.worked[0].height_mm) = (150.0, 150.0);
    let mut stays = bonnet_worked(4);
    stays.panels[BONNET].work = false;
    for car in [spot, stays] {
        assert!(standing(&car).risk.abs() < 1e-12);
    }
}

#[test]
fn the_draws_that_stand_below_are_those_with_a_place_below_now() {
    with_made(&bonnet_worked(3), EFFORT, |made| {
        let half = made.drawn.first_half();
        let chosen = Chosen::nothing(made.problem);
        let mut any = vec![false; half.len()];
        for tile in &made.problem.tiles {
            let panel = made.problem.panels[tile.panel].panel;
            let parts = &made.rooms[panel].as_ref().unwrap().tiles[tile.number].parts;
            let left_um = |d: usize, part: &Part| f64::from(part.least_um[Drawn::film_of(d)]) - made.drawn.undercoat_um(d, panel);
            let is_below = |d: usize| panel == BONNET && parts.iter().any(|part| left_um(d, part) < 18.0 - 1e-4);
            half.clone().filter(|&d| is_below(d)).for_each(|d| any[d] = true);
        }
        let below = any.iter().filter(|below| **below).count() as f64 / half.len() as f64;
        assert!(below > 0.1 && (chosen.risk() - below).abs() < 1.5 / half.len() as f64, "{below} {}", chosen.risk());
    });
}
