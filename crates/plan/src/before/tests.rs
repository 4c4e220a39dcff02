use super::*;
use crate::car::Worked;
use crate::choose::plan;
use crate::example::{EFFORT, car, car_with_spend, with_made, worked, worked_as_told};
use crate::kept_off::KeptOff;
use crate::outcome::{KeepOff, Outcome, Plan, SectionPlan};
use crate::survey::survey_panel;
use crate::treatment::Treatment;
use expect_test::expect;
use lastmicron_polish::Belief;
use lastmicron_units::{Thickness, Unit};
use proptest::prelude::*;

const FINISH: usize = 0;
const CUT: usize = 1;
const BONNET: usize = 0;
const SILL: usize = 1;
const FLAP: usize = 2;

/// The example with so much film that the limit of risk doesn't hold a plan back.
fn thick(goal: f64) -> Car {
    let mut car = car();
    car.limits.floor = Thickness::from_micrometres(5.0).unwrap();
    car.goal.correction = goal;
    car
}

fn with_spend(car: Car, um: f64) -> Car {
    Car { limits: crate::Limits { spend: car_with_spend(um).limits.spend, ..car.limits }, ..car }
}

fn planned(car: &Car) -> Outcome {
    plan(car, EFFORT, Unit::Micrometre).unwrap()
}

fn steps(sets: &[(usize, u32)]) -> Vec<Step> {
    sets.iter().map(|&(process, sets)| Step { process, sets }).collect()
}

fn rectangle([x_mm, y_mm, width_mm, height_mm]: [f64; 4], sets: &[(usize, u32)]) -> Worked {
    Worked { panel: BONNET, x_mm, y_mm, width_mm, height_mm, after: steps(sets), kept_off: KeptOff::default() }
}

/// What was done before on the bonnet's tiles, from the lower left.
fn on_bonnet(worked: Vec<Worked>) -> Vec<Vec<Step>> {
    let car = Car { worked, ..car() };
    with_made(&car, EFFORT, |made| made.rooms[BONNET].as_ref().unwrap().tiles.iter().map(|tile| tile.before.steps.clone()).collect())
}

fn sections(plan: &Plan) -> impl Iterator<Item = (usize, &SectionPlan)> {
    plan.panels.iter().flat_map(|p| p.sections.iter().map(|s| (p.panel, s)))
}

/// Whether the middle of `s` lies within a rectangle that was worked.
fn is_on_worked(car: &Car, panel: usize, s: &SectionPlan) -> bool {
    let [x, y] = [s.x_mm + 0.5 * s.width_mm, s.y_mm + 0.5 * s.height_mm];
    let holds = |w: &Worked| (w.x_mm..w.x_mm + w.width_mm).contains(&x) && (w.y_mm..w.y_mm + w.height_mm).contains(&y);
    car.worked.iter().any(|w| w.panel == panel && holds(w))
}

/// Mean film that a plan takes of a panel, um.
fn film_um(plan: &Plan, panel: usize) -> f64 {
    let area = |s: &SectionPlan| s.width_mm * s.height_mm;
    let of = &plan.panels[panel].sections;
    of.iter().map(|s| area(s) * s.removal_um.mean).sum::<f64>() / of.iter().map(area).sum::<f64>()
}

// The bonnet of 1000 by 800 mm has tiles of 250 by 266.7 mm.
#[test]
fn a_spot_within_a_tile_is_not_the_tile() {
    assert!(on_bonnet(vec![rectangle([50.0, 50.0, 150.0, 150.0], &[(CUT, 4)])]).iter().all(Vec::is_empty));
    let with_spot = vec![rectangle([0.0, 0.0, 250.0, 266.7], &[(CUT, 1)]), rectangle([50.0, 50.0, 150.0, 150.0], &[(CUT, 4)])];
    assert_eq!(on_bonnet(with_spot)[0], steps(&[(CUT, 1)]));
}

#[test]
fn rectangles_on_a_tile_add_up_in_the_order_of_the_car() {
    let tile = |sets: &[(usize, u32)]| rectangle([0.0, 0.0, 250.0, 266.7], sets);
    let before = on_bonnet(vec![tile(&[(CUT, 1), (FINISH, 1)]), tile(&[(FINISH, 2)]), tile(&[(CUT, 1)])]);
    assert_eq!(before[0], steps(&[(CUT, 1), (FINISH, 3), (CUT, 1)]));
    assert!(before[1..].iter().all(Vec::is_empty), "what ends at its border is another's");
}

#[test]
fn a_set_counts_from_when_half_of_the_tile_has_had_it() {
    let left = |sets: &[(usize, u32)]| rectangle([0.0, 0.0, 75.0, 266.7], sets);
    let right = |sets: &[(usize, u32)]| rectangle([75.0, 0.0, 175.0, 266.7], sets);
    assert!(on_bonnet(vec![left(&[(CUT, 2)])])[0].is_empty());
    // Three tenths of its places and seven tenths: what counts is what the larger part has had.
    assert_eq!(on_bonnet(vec![left(&[(CUT, 2)]), right(&[(CUT, 3)])])[0], steps(&[(CUT, 3)]));
    assert_eq!(on_bonnet(vec![left(&[(CUT, 3)]), right(&[(CUT, 2)])])[0], steps(&[(CUT, 2)]));
    // Strips of a quarter each.
    let strip = |i: u32| rectangle([f64::from(i) * 62.5, 0.0, 62.5, 266.7], &[(FINISH, 1)]);
    assert_eq!(on_bonnet((0..4).map(strip).collect())[0], steps(&[(FINISH, 1)]));
}

#[test]
fn places_that_were_kept_off_count_neither_way() {
    let off = |edges: &[(usize, f64)]| KeptOff { edges: edges.iter().map(|&(edge, mm)| KeepOff { edge, mm }).collect(), lines: Vec::new() };
    let on_sill = |of: &[(KeptOff, &[(usize, u32)])]| {
        let one = |(kept_off, sets): &(KeptOff, &[(usize, u32)])| Worked {
            panel: SILL,
            kept_off: kept_off.clone(),
            ..rectangle([0.0, 0.0, 900.0, 160.0], sets)
        };
        let car = Car { worked: of.iter().map(one).collect(), ..car() };
        with_made(&car, EFFORT, |made| {
            let tiles = &made.rooms[SILL].as_ref().unwrap().tiles;
            let untouched: f64 = tiles.iter().flat_map(|tile| &tile.parts).filter(|part| part.is_untouched).map(|part| part.count()).sum();
            (tiles.iter().map(|tile| tile.before.steps.clone()).collect::<Vec<_>>(), untouched)
        })
    };
    // [D] The sill of 900 by 160 mm has 37 by 7 nodes, 26.7 mm apart: off both long edges by 75 mm the middle row of them is left.
    let long = off(&[(0, 75.0), (2, 75.0)]);
    let (before, untouched) = on_sill(&[(long.clone(), &[(CUT, 2)])]);
    assert!(before.iter().all(|before| *before == steps(&[(CUT, 2)])), "{before:?}");
    assert!((untouched - 37.0 * 6.0).abs() < 1e-9, "{untouched}");
    // What all of it had is told with what its middle had, and nothing of it is untouched.
    let (before, untouched) = on_sill(&[(long, &[(CUT, 2)]), (KeptOff::default(), &[(FINISH, 1)])]);
    assert!(before.iter().all(|before| *before == steps(&[(CUT, 2), (FINISH, 1)])), "{before:?}");
    assert!(untouched.abs() < 1e-9);
    // Where no place is left nothing was done.
    let (before, untouched) = on_sill(&[(off(&[(0, 100.0), (2, 100.0)]), &[(CUT, 2)])]);
    assert!(before.iter().all(Vec::is_empty) && (untouched - 37.0 * 7.0).abs() < 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]

    #[test]
    fn a_plan_that_was_worked_advises_nothing_more_and_tells_what_it_told(
        goal in 0.4..0.93f64, marks in prop::option::of(0.01..0.06f64),
    ) {
        let mut car = with_spend(thick(goal), 9.0);
        car.processes[CUT].marks = marks.map(|mean| Belief { mean, sd: 0.2 * mean });
        let first = planned(&car).plan;
        let done = worked(&car, &first, |s| s.steps.clone());
        let anew = planned(&done).plan;
        // Where a judgement was close another draw of the same may go the other way, by no more than the mildest set on a part of a panel.
        for panel in [BONNET, SILL, FLAP] {
            prop_assert!(film_um(&anew, panel) < 0.3, "{:?}", anew.panels[panel]);
        }
        // Recorded as worked whole: where nothing was kept off, all is as it was told.
        for (told, now) in first.panels.iter().zip(&anew.panels).filter(|(told, _)| told.keep_off.is_empty()) {
            prop_assert!((told.gone() - now.gone()).abs() < 0.04, "{} {}: {now:?}", told.gone(), now.gone());
        }
        prop_assert!(anew.correction.mean > first.correction.mean - 0.04);
    }

    #[test]
    fn where_half_of_the_sets_are_done_the_other_half_is_advised(goal in 0.75..0.93f64) {
        let car = thick(goal);
        let first = planned(&car).plan;
        let half = |s: &SectionPlan| s.steps.iter().map(|s| Step { sets: s.sets / 2, ..*s }).filter(|s| s.sets > 0).collect();
        let done = worked(&car, &first, half);
        prop_assume!(!done.worked.is_empty());
        let (anew, rates) = (planned(&done).plan, crate::rates(&done, EFFORT).unwrap());
        for panel in [BONNET, SILL] {
            let taken = |w: &Worked| w.after.iter().map(|s| f64::from(s.sets) * rates[s.process].posterior_um.mean).sum::<f64>() * w.width_mm * w.height_mm;
            let area: f64 = first.panels[panel].sections.iter().map(|s| s.width_mm * s.height_mm).sum();
            let taken_um = done.worked.iter().filter(|w| w.panel == panel).map(taken).sum::<f64>() / area;
            let [all, rest] = [&first, &anew].map(|plan| film_um(plan, panel));
            prop_assert!((taken_um + rest - all).abs() < 0.6, "{taken_um} and {rest} for {all}");
            prop_assert!((anew.panels[panel].gone() - first.panels[panel].gone()).abs() < 0.04);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3))]

    #[test]
    fn a_plan_that_was_worked_with_its_edges_kept_off_advises_nothing_more(goal in 0.7..0.93f64, spend_um in 2.5..5.0f64) {
        // The spend has edges kept off: more is taken there than in the middle.
        let car = with_spend(thick(goal), spend_um);
        let first = planned(&car).plan;
        prop_assume!(first.panels.iter().any(|p| p.measured && !p.keep_off.is_empty()));
        let anew = planned(&worked_as_told(&car, &first)).plan;
        for panel in [BONNET, SILL, FLAP] {
            prop_assert!(film_um(&anew, panel) < 0.3, "{:?}", anew.panels[panel]);
        }
        for (told, now) in first.panels.iter().zip(&anew.panels) {
            prop_assert!((told.gone() - now.gone()).abs() < 0.04, "{} {}: {now:?}", told.gone(), now.gone());
        }
    }
}

#[test]
fn where_half_of_the_sections_are_done_the_others_are_advised() {
    let car = thick(0.9);
    let first = planned(&car).plan;
    let left = |s: &SectionPlan| if s.x_mm < 400.0 { s.steps.clone() } else { Vec::new() };
    let done = worked(&car, &first, left);
    let anew = planned(&done).plan;
    let measured = || sections(&anew).filter(|(panel, _)| *panel != FLAP);
    assert!(measured().any(|(panel, s)| is_on_worked(&done, panel, s)) && measured().any(|(panel, s)| !is_on_worked(&done, panel, s)));
    for (panel, s) in measured() {
        assert_eq!(s.steps.is_empty(), is_on_worked(&done, panel, s), "{s:?}");
        assert!(s.correction.mean > 0.88, "what was gone before is told: {s:?}");
    }
    assert!(anew.panels[BONNET].notes.is_empty(), "in all they are worked alike, and no border shows: {:?}", anew.panels[BONNET].notes);
}

#[test]
fn more_done_than_the_goal_asks_for_gains_and_loses_nothing() {
    let mut car = thick(0.6);
    car.worked = vec![rectangle([0.0, 0.0, 1000.0, 800.0], &[(CUT, 4)])];
    with_made(&car, EFFORT, |made| {
        let of_bonnet = made.problem.tiles.iter().filter(|tile| made.problem.panels[tile.panel].panel == BONNET);
        let values: Vec<f64> = of_bonnet.flat_map(|tile| &tile.options).flatten().map(|choice| choice.value).collect();
        assert!(!values.is_empty() && values.iter().all(|value| value.abs() < 1e-12));
    });
    let bonnet = planned(&car).plan.panels.remove(BONNET);
    assert!(!bonnet.is_worked() && bonnet.gone() > 0.8, "{}", bonnet.gone());
}

#[test]
fn marks_of_what_was_done_before_are_worn_by_what_follows() {
    let mut car = car();
    car.processes[CUT].marks = Some(Belief { mean: 0.2, sd: 0.02 });
    with_made(&car, EFFORT, |made| {
        let before = Treatment::of(steps(&[(CUT, 1)]));
        let follows = Treatment::of(steps(&[(FINISH, 3)]));
        let both = Treatment::of(steps(&[(CUT, 1), (FINISH, 3)]));
        for draw in 0..made.drawn.count() {
            let done = Done { steps: &before.steps, factor: 1.1 };
            let gone = |t: &Treatment, before: Done| t.correction(made.drawn, draw, 1.1, before);
            let in_all = gone(&follows, done);
            assert!((in_all - gone(&both, Done::NOTHING)).abs() < 1e-12);
            // [D] one set's marks, worn by three sets of what marks nothing
            let law = made.drawn.law(draw);
            let [cut, finish] = [CUT, FINISH].map(|process| 1.1 * made.drawn.rate_um(draw, process));
            let marks = made.drawn.mark(draw, CUT);
            let by_hand = 1.0 - law.survival(cut + 3.0 * finish) - marks * law.survival(3.0 * finish);
            assert!((in_all - by_hand).abs() < 1e-12);
            assert!((gone(&Treatment::nothing(), done) - (1.0 - law.survival(cut) - marks)).abs() < 1e-12);
        }
    });
}

#[test]
fn what_was_taken_before_counts_against_the_spend() {
    // Edges take more than the middle: in the mean a set of finish 0.5 um and half as much again, a set of cut 1.6.
    for (spend_um, worked_um, is_more) in [(3.0, 0.0, true), (3.0, 1.6, true), (2.5, 1.6, false)] {
        let mut car = with_spend(thick(0.93), spend_um);
        if worked_um > 0.0 {
            car.worked = vec![rectangle([0.0, 0.0, 1000.0, 800.0], &[(CUT, 1)])];
        }
        let bonnet = planned(&car).plan.panels.remove(BONNET);
        assert_eq!(bonnet.is_worked(), is_more, "{spend_um} {worked_um}");
        for s in &bonnet.sections {
            assert!(worked_um + s.removal_um.mean < spend_um, "{s:?}");
            assert!(s.why.starts_with("the spend is used: "), "{}", s.why);
        }
    }
}

#[test]
fn a_panel_that_nobody_read_is_given_what_the_spend_has_left() {
    let car = car_with_spend(2.5);
    let sets = |car: &Car| {
        let flap = planned(car).plan.panels.remove(FLAP);
        let sets: Vec<u32> = flap.sections.iter().map(|s| s.steps.iter().map(|s| s.sets).sum()).collect();
        (sets, flap.sections.iter().map(|s| s.why.clone()).collect::<Vec<_>>())
    };
    let done = |count: u32, width_mm: f64| {
        let worked = Worked { panel: FLAP, ..rectangle([0.0, 0.0, width_mm, 700.0], &[(FINISH, count)]) };
        Car { worked: vec![worked], ..car.clone() }
    };
    let (first, _) = sets(&car);
    let all = first[0];
    assert!(all >= 3 && first.iter().all(|s| *s == all), "{first:?}");
    let (rest, _) = sets(&done(1, 900.0));
    assert!(rest.iter().all(|s| *s == all - 1), "{rest:?}");
    let (none, why) = sets(&done(all, 900.0));
    assert!(none.iter().all(|s| *s == 0));
    assert!(why.iter().all(|w| w == "not measured; worked already: one more set would go beyond the spend"), "{why:?}");
    let (some, _) = sets(&done(all, 600.0));
    assert!(some.contains(&0) && some.contains(&all), "{some:?}");
}

#[test]
fn a_panel_that_stays_as_it_is_tells_what_was_gone_already() {
    let mut car = thick(0.9);
    car.panels[BONNET].work = false;
    car.worked = vec![rectangle([0.0, 0.0, 500.0, 800.0], &[(CUT, 2)])];
    let bonnet = planned(&car).plan.panels.remove(BONNET);
    let gone: Vec<f64> = bonnet.sections.iter().map(|s| s.correction.mean).collect();
    assert!(gone.iter().any(|g| *g > 0.7) && gone.iter().any(|g| g.abs() < 1e-12), "{gone:?}");
}

#[test]
fn sections_that_were_worked_say_so() {
    let worked_with = |goal: f64, sets: &[(usize, u32)]| Car { worked: vec![rectangle([0.0, 0.0, 1000.0, 800.0], sets)], ..thick(goal) };
    let thin = || {
        let mut car = worked_with(0.9, &[(FINISH, 1)]);
        car.limits.floor = Thickness::from_micrometres(24.0).unwrap();
        car
    };
    let flap = |goal: f64, count: u32| {
        let mut car = with_spend(thick(goal), 9.0);
        car.worked = vec![Worked { panel: FLAP, ..rectangle([0.0, 0.0, 900.0, 700.0], &[(FINISH, count)]) }];
        car
    };
    let cars = [
        ("goal 0.6 after two of cut", worked_with(0.6, &[(CUT, 2)]), BONNET),
        ("goal 0.9 after one of cut", worked_with(0.9, &[(CUT, 1)]), BONNET),
        ("goal 0.95 after six of finish", worked_with(0.95, &[(FINISH, 6)]), BONNET),
        ("spend 2.5 after one of cut", with_spend(worked_with(0.93, &[(CUT, 1)]), 2.5), BONNET),
        ("floor 24 after one of finish", thin(), BONNET),
        ("flap, goal 0.6, after five of finish", flap(0.6, 5), FLAP),
        ("flap, goal 0.95, after six of finish", flap(0.95, 6), FLAP),
    ];
    let mut said = String::new();
    for (name, car, panel) in &cars {
        said += &format!("{name}: {}\n", planned(car).plan.panels[*panel].sections[0].why);
    }
    expect![[r#"
        goal 0.6 after two of cut: worked already: the goal is reached
        goal 0.9 after one of cut: goal reached
        goal 0.95 after six of finish: worked already: no section is given more than 6 sets in all
        spend 2.5 after one of cut: the spend is used: the next step would gain 9 % for 0.5 um and go beyond it where most is taken, which is nearest the edges
        floor 24 after one of finish: worked already: the next step would gain 20 % for 0.5 um, with 26 chances in 100 of going below the floor there: more than the vehicle's limit leaves
        flap, goal 0.6, after five of finish: not measured; worked already: the goal is reached
        flap, goal 0.95, after six of finish: not measured; worked already: no section is given more sets
    "#]].assert_eq(&said);
}

#[test]
fn a_survey_counts_what_was_taken_already_against_the_spend() {
    let mut car = car_with_spend(2.5);
    car.limits.floor = Thickness::from_micrometres(5.0).unwrap();
    let why = |car: &Car| survey_panel(car, BONNET, EFFORT, Unit::Micrometre).unwrap().unwrap().verdict.why;
    assert!(!why(&car).contains("spend"), "{}", why(&car));
    car.worked = vec![rectangle([0.0, 0.0, 1000.0, 800.0], &[(CUT, 1)])];
    assert!(why(&car).starts_with("one set of cut takes with what was taken already more than the spend of 2.5 um"), "{}", why(&car));
}
