//! What the trial does not ask of a plan: hours, spend, going through, visibility, marks, patchwork, panels left alone or not measured.

use lastmicron_film::gauge::Substrate;
use lastmicron_plan::{Car, Effort, PanelPlan, Plan, plan};
use lastmicron_polish::Belief;
use lastmicron_rehearsal::{History, Panels, Range, Rehearsal, Scenario, Sketch, families, orders_of, rehearse, work};
use lastmicron_units::Unit;

fn sketch(name: &str) -> Sketch {
    Sketch {
        name: name.to_owned(),
        width_mm: 900.0,
        height_mm: 600.0,
        substrate: Substrate::Steel,
        visibility: 1.0,
        work: true,
        history: History::Original,
    }
}

/// Two like panels of modern clear with film to spare, so that only what a test adds can bind.
fn roomy() -> Scenario {
    let mut scenario = families::modern_clear();
    scenario.panels = Panels::Named(vec![sketch("left door"), sketch("right door")]);
    scenario.truth.build_um = Range::between(140.0, 150.0);
    scenario.truth.thin_edge = 0.0;
    scenario
}

fn planned(scenario: &Scenario, seed: u64) -> (Rehearsal, Plan) {
    let rehearsal = rehearse(scenario, seed).unwrap();
    let outcome = plan(&rehearsal.car, Effort { draws: 500, seed: 1 }, Unit::Micrometre).unwrap();
    (rehearsal, outcome.plan)
}

fn correction(panel: &PanelPlan) -> f64 {
    let area = |s: &lastmicron_plan::SectionPlan| s.width_mm * s.height_mm;
    panel.sections.iter().map(|s| area(s) * s.correction.mean).sum::<f64>() / panel.sections.iter().map(area).sum::<f64>()
}

fn sets(panel: &PanelPlan) -> u32 {
    panel.sections.iter().flat_map(|s| &s.steps).map(|s| s.sets).sum()
}

#[test]
fn a_plan_uses_the_hours_there_are_and_no_more_and_gives_up_correction_for_it() {
    let (_, free) = planned(&roomy(), 1);
    let mut scenario = roomy();
    scenario.goal.hours = free.hours / 4.0; // with half of them a stronger process still reaches the goal, for more film
    let (rehearsal, hurried) = planned(&scenario, 1);
    assert!(hurried.hours <= scenario.goal.hours + 1e-9, "{} of {} hours", hurried.hours, scenario.goal.hours);
    assert!(hurried.hours > 0.7 * scenario.goal.hours, "{} of {} hours", hurried.hours, scenario.goal.hours);
    let (least, most) = (0.2 * free.correction.mean, free.correction.mean);
    assert!(hurried.correction.mean < most && hurried.correction.mean > least, "{} of {most}", hurried.correction.mean);
    let worked = work(&rehearsal, &orders_of(&hurried)).unwrap();
    assert!(
        (worked.hours - hurried.hours).abs() < 0.02 * hurried.hours,
        "the plan says {} hours, its sets take {}",
        hurried.hours,
        worked.hours
    );
}

#[test]
fn where_hours_are_short_the_panel_that_the_eye_sees_comes_first() {
    let mut scenario = roomy();
    scenario.panels = Panels::Named(vec![Sketch { visibility: 0.2, ..sketch("sill") }, Sketch { visibility: 1.0, ..sketch("bonnet") }]);
    scenario.goal.hours = 0.5;
    for seed in 1..=3 {
        let (_, plan) = planned(&scenario, seed);
        let [sill, bonnet] = [correction(&plan.panels[0]), correction(&plan.panels[1])];
        assert!(bonnet > sill, "seed {seed}: bonnet {bonnet}, sill {sill}");
    }
}

#[test]
fn no_place_is_expected_to_lose_more_than_the_spend() {
    let mut scenario = roomy();
    scenario.truth.defect_scale_um = Range::exactly(4.0);
    scenario.limits.spend_um = Some(2.5);
    let (rehearsal, plan) = planned(&scenario, 2);
    assert!(plan.correction.mean > 0.05, "the spend leaves room for something");
    for (panel, of_car) in plan.panels.iter().zip(&rehearsal.car.panels) {
        for section in panel.sections.iter().filter(|s| !s.steps.is_empty()) {
            let worst = 1.0 + nearest_edge_gain(&rehearsal.car, panel, of_car.panel.size_mm(), section);
            let most_um = section.removal_um.mean * worst;
            assert!(most_um <= 2.5 * 1.02, "{}: {most_um} um expected at the edge", panel.name);
        }
    }
}

/// Believed gain at the section's worked place that is nearest to an outer edge.
fn nearest_edge_gain(car: &Car, panel: &PanelPlan, [w, h]: [f64; 2], section: &lastmicron_plan::SectionPlan) -> f64 {
    let edge = car.edge.unwrap();
    let off = |e: usize| panel.keep_off.iter().find(|k| k.edge == e).map_or(0.0, |k| k.mm);
    let from_edges = [section.y_mm, w - section.x_mm - section.width_mm, h - section.y_mm - section.height_mm, section.x_mm];
    let nearest_mm = from_edges.into_iter().enumerate().map(|(e, mm)| f64::max(mm, off(e))).fold(f64::INFINITY, f64::min);
    edge.gain.mean * (-nearest_mm / (edge.reach_mm / 2.0)).exp()
}

#[test]
fn the_chance_of_going_through_stays_within_its_limit() {
    let mut scenario = families::thin_single_stage().with_risk(0.5);
    scenario.limits.floor_um = 2.0;
    scenario.truth.build_um = Range::between(38.0, 44.0);
    scenario.limits.through_risk = Some(0.01);
    let (_, plan) = planned(&scenario, 1);
    assert!(plan.through_risk <= 0.01, "{}", plan.through_risk);
    assert!(plan.through_risk <= plan.risk, "through is below the floor too");
}

#[test]
fn no_section_is_worked_to_be_worse_than_it_was() {
    let mut scenario = roomy();
    for process in &mut scenario.processes {
        process.marks = Some(Belief { mean: 0.25, sd: 0.05 });
    }
    for seed in 1..=3 {
        let (_, plan) = planned(&scenario, seed);
        for section in plan.panels.iter().flat_map(|p| &p.sections).filter(|s| !s.steps.is_empty()) {
            assert!(section.correction.mean > 0.0, "seed {seed}: {section:?}");
        }
    }
}

#[test]
fn soft_paint_that_marks_gets_no_more_sets_than_paint_that_does_not() {
    let (_, clean) = planned(&roomy(), 1);
    let mut scenario = roomy();
    for process in &mut scenario.processes {
        process.marks = Some(Belief { mean: 0.1, sd: 0.02 });
    }
    let (_, marked) = planned(&scenario, 1);
    let all = |p: &Plan| p.panels.iter().map(sets).sum::<u32>();
    assert!(all(&marked) <= all(&clean), "{} against {}", all(&marked), all(&clean));
}

#[test]
fn an_even_panel_with_film_to_spare_is_worked_the_same_all_over() {
    let mut scenario = roomy();
    scenario.truth.field_sd_um = Range::exactly(0.5);
    let (_, plan) = planned(&scenario, 1);
    for panel in &plan.panels {
        let first = &panel.sections[0].steps;
        assert!(!first.is_empty() && panel.sections.iter().all(|s| s.steps == *first), "{panel:?}");
    }
}

#[test]
fn what_must_stay_is_listed_and_not_worked() {
    let mut scenario = roomy();
    scenario.panels = Panels::Named(vec![sketch("door"), Sketch { work: false, ..sketch("scuttle") }]);
    let (rehearsal, plan) = planned(&scenario, 1);
    assert_eq!(plan.panels[1].name, "scuttle");
    assert_eq!(sets(&plan.panels[1]), 0);
    assert!(work(&rehearsal, &orders_of(&plan)).is_ok());
}

#[test]
fn plastic_is_planned_by_the_spend_and_the_mildest_process_and_said_to_be_not_measured() {
    let mut scenario = roomy();
    scenario.panels = Panels::Named(vec![sketch("door"), Sketch { substrate: Substrate::Plastic, ..sketch("deflector") }]);
    scenario.limits.spend_um = Some(2.0);
    let (_, plan) = planned(&scenario, 1);
    let deflector = &plan.panels[1];
    assert!(plan.panels[0].measured && !deflector.measured);
    assert!(deflector.sections.iter().flat_map(|s| &s.steps).all(|s| s.process == 0), "{deflector:?}");
    assert!(deflector.sections.iter().all(|s| s.removal_um.mean <= 2.0));
}

#[test]
fn panels_that_are_not_measured_keep_to_the_hours_too() {
    let mut scenario = roomy();
    scenario.panels = Panels::Named(vec![sketch("door"), Sketch { substrate: Substrate::Plastic, ..sketch("bumper") }]);
    scenario.limits.spend_um = Some(2.5);
    scenario.goal.hours = 0.05;
    let (_, plan) = planned(&scenario, 1);
    assert!(plan.hours <= 0.05, "{} hours", plan.hours);
    assert_eq!(sets(&plan.panels[1]), 0);
}
